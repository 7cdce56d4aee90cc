//! What the solver's own check finds wrong with the whole layout, as messages at the bodies' shapes.

use std::ops::Range;

use shapes::Point;
use solver::{Layout, LayoutFault, WiringFault};

use super::body::BodyPlace;
use super::resolved::DrawingUnit;
use crate::diagnostic::Diagnostic;
use crate::output::three;

/// Checks `layout`; `stand` are the places of its bodies, supplies and tank in the file.
pub fn check(
    layout: &Layout,
    stand: (&[BodyPlace], &[Range<usize>], &Range<usize>),
    unit: DrawingUnit,
) -> Vec<Diagnostic> {
    let Err(faults) = layout.check() else {
        return Vec::new();
    };
    let mut out: Vec<Diagnostic> = Vec::new();
    // names have been compared while the bodies were read
    for fault in faults.iter().filter(|fault| !matches!(fault, LayoutFault::SameName { .. })) {
        let message = message(fault, stand, unit);
        // copies of one body, all outside, are one slip
        let told =
            out.iter().any(|told| told.place == message.place && told.related == message.related);
        if !told {
            out.push(message);
        }
    }
    out
}

fn message(
    fault: &LayoutFault,
    (places, supplies, tank): (&[BodyPlace], &[Range<usize>], &Range<usize>),
    unit: DrawingUnit,
) -> Diagnostic {
    let shape = |body: usize| places.get(body).map_or(tank.clone(), |place| place.shape.clone());
    let error = Diagnostic::error("E017", fault.to_string());
    match fault {
        LayoutFault::TankNotFinite
        | LayoutFault::TankEmpty
        | LayoutFault::TankBeyondAxis { .. } => error.at(tank.clone(), "the tank"),
        LayoutFault::TankCrossesItself { at } => {
            error.at(tank.clone(), format!("crosses itself at {}", place(*at, unit)))
        }
        LayoutFault::BodyNotFinite { body, .. }
        | LayoutFault::BodyEmpty { body, .. }
        | LayoutFault::Span { body, .. } => error.at(shape(*body), "this shape"),
        LayoutFault::AllMasked { body, .. } => error
            .at(shape(*body), "this shape")
            .help("leave some of it bare, or make a shield of it"),
        LayoutFault::BodyCrossesItself { body, at, .. } => {
            error.at(shape(*body), format!("crosses itself at {}", place(*at, unit)))
        }
        LayoutFault::BodyOutside { body, .. } => error
            .at(shape(*body), "no part of it is in the tank")
            .and(tank.clone(), "the tank")
            .help("coordinates count from the tank's lower left corner, x to the right, y up"),
        LayoutFault::BodyBeyondAxis { body, .. } => error.at(shape(*body), "has no x above 0"),
        LayoutFault::BodyFillsTank { body, .. } => error.at(shape(*body), "as large as the tank"),
        LayoutFault::Overlap { bodies: [first, second], at, .. } => {
            let error = error.at(shape(*second), format!("overlaps at {}", place(*at, unit)));
            if shape(*first) == shape(*second) {
                error
                    .help("the copies of `repeat` are closer than the body is wide: enlarge `step`")
            } else {
                error.and(shape(*first), "lies here").help("move one of them; touching is allowed")
            }
        }
        LayoutFault::Law { body, .. } => {
            let law = places.get(*body).and_then(|place| place.law.clone());
            error.at(law.unwrap_or_else(|| shape(*body)), "this law")
        }
        LayoutFault::ScreenConductivity { body, .. } | LayoutFault::ThiefOffset { body, .. } => {
            error.at(shape(*body), "this body")
        }
        LayoutFault::Wiring(fault) => {
            let (supply, body) = match fault {
                WiringFault::VoltageTwice { supply, .. }
                | WiringFault::MeanUnderVoltage { supply, .. }
                | WiringFault::MeansInLoop { supply, .. }
                | WiringFault::MeanOfNothing { supply, .. }
                | WiringFault::NotThatRole { supply, .. } => (Some(*supply), None),
                WiringFault::MeanTwice { supplies: [_, second], .. } => (Some(*second), None),
                WiringFault::OffsetAlone { body, .. } | WiringFault::Unfed { body, .. } => {
                    (None, Some(*body))
                }
                _ => (None, None),
            };
            let place = supply.and_then(|s| supplies.get(s).cloned()).or(body.map(shape));
            match place {
                Some(place) => {
                    error.at(place, if supply.is_some() { "this supply" } else { "this body" })
                }
                None => error,
            }
        }
        _ => error,
    }
}

/// A place in drawing units.
fn place(at: Point, unit: DrawingUnit) -> String {
    format!("[{}, {}] {}", three(at.x / unit.metres), three(at.y / unit.metres), unit.name)
}
