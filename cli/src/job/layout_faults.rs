//! What the solver's own check finds wrong with the whole layout, as messages at the bodies' shapes.

use std::ops::Range;

use shapes::Point;
use solver::{Layout, LayoutFault};

use super::body::BodyPlace;
use super::resolved::DrawingUnit;
use crate::diagnostic::Diagnostic;
use crate::output::three;

/// Checks `layout`, whose bodies stand at `places` and whose tank stands at `tank` in the file.
pub fn check(
    layout: &Layout,
    places: &[BodyPlace],
    tank: &Range<usize>,
    unit: DrawingUnit,
) -> Vec<Diagnostic> {
    let Err(faults) = layout.check() else {
        return Vec::new();
    };
    let mut out: Vec<Diagnostic> = Vec::new();
    // names have been compared while the bodies were read
    for fault in faults.iter().filter(|fault| !matches!(fault, LayoutFault::SameName { .. })) {
        let message = message(fault, places, tank, unit);
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
    places: &[BodyPlace],
    tank: &Range<usize>,
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
        _ => error,
    }
}

/// A place in drawing units.
fn place(at: Point, unit: DrawingUnit) -> String {
    format!("[{}, {}] {}", three(at.x / unit.metres), three(at.y / unit.metres), unit.name)
}
