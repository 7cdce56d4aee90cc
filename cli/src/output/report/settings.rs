//! What the person at the tank sets: amperes, volts, minutes, how the work hangs.

use solver::{Drive, Symmetry};

use super::Table;
use crate::output::Context;
use crate::output::format::{duration, plus_minus, three, trimmed};
use crate::output::round;

/// The bath in one line.
pub fn bath(context: &Context) -> String {
    let facts = &context.findings.bath;
    let name = facts.title.as_deref().or(facts.name.as_deref()).unwrap_or("A bath of its own");
    let layout = context.layout;
    let mut line = format!(
        "{name}, {} °C, {} S/m",
        trimmed(layout.temperature.to_celsius(), 1),
        three(layout.conductivity.si()),
    );
    let density = |value: solver::quantity::CurrentDensity| context.units.density_text(value.si());
    match (context.window.min, context.window.max) {
        (Some(low), Some(high)) => {
            line.push_str(&format!("; plates well from {} to {}", density(low), density(high)));
        }
        (None, Some(high)) => line.push_str(&format!("; plates well up to {}", density(high))),
        (Some(low), None) => line.push_str(&format!("; plates well from {} up", density(low))),
        (None, None) => {}
    }
    line
}

/// One row for each rectifier.
pub fn supplies(context: &Context) -> Table {
    let mut table = Table::new(
        "What to set on each rectifier",
        &["Rectifier", "Hold", "Amperes", "Volts", "Time", "Ampere-hours", "Feeds"],
    );
    let layout = context.layout;
    let names = |indices: &[usize]| {
        let all: Vec<&str> = indices.iter().map(|i| layout.bodies[*i].name.as_str()).collect();
        if all.len() > 6 { format!("{} of them", all.len()) } else { all.join(", ") }
    };
    for (k, result) in context.solution.supplies.iter().enumerate() {
        let Some(supply) = layout.supplies.get(k) else { continue };
        let time = context.deposit.map(|run| run.time.si());
        // over positions the current is that of each for its share of the time
        let positions = &context.findings.positions;
        let mean = if positions.is_empty() {
            result.current_a
        } else {
            let of = |p: &crate::output::PositionResult| {
                p.place.share * p.supplies.get(k).map_or(0.0, |s| s.current_a)
            };
            positions.iter().map(of).sum()
        };
        table.push(vec![
            result.name.clone(),
            match supply.drive {
                Drive::Current(_) | Drive::MeanDensity(_) => "the current".into(),
                Drive::Voltage(_) => "the voltage".into(),
            },
            format!("{} A", plus_minus(result.current_a, result.current_uncertainty_a)),
            format!("{} V", plus_minus(result.voltage_v, result.voltage_uncertainty_v)),
            time.map_or("not stated".into(), duration),
            time.map_or("-".into(), |s| format!("{} A h", three(mean * s / 3600.0))),
            format!(
                "anodes: {}; cathodes: {}",
                names(&layout.anodes_of(supply)),
                names(&layout.cathodes_of(supply))
            ),
        ]);
    }
    table
}

/// What else to mind: positions, the section, the work's depth.
pub fn orders(context: &Context) -> Vec<String> {
    let layout = context.layout;
    let mut out = vec![match layout.symmetry {
        Symmetry::Planar => format!(
            "All amperes are for work and anodes that are {} high or long behind the section.",
            context.units.size_text(layout.depth.si())
        ),
        Symmetry::Axial => {
            "Everything is round about the axis; amperes are those of the whole part.".into()
        }
    }];
    let positions = &context.findings.positions;
    if !positions.is_empty() {
        let units = context.units;
        let each = positions.iter().enumerate().map(|(k, p)| {
            format!(
                "{}. turned by {}°, shifted by {} and {}, for {} % of the time, {} A",
                k + 1,
                trimmed(p.place.turn_deg, 1),
                units.size_text(p.place.shift.x),
                units.size_text(p.place.shift.y),
                trimmed(100.0 * p.place.share, 1),
                three(p.current_a()),
            )
        });
        out.push(format!("Positions in turn: {}.", each.collect::<Vec<_>>().join("; ")));
    }
    out
}

/// One row for each body: where it hangs.
pub fn hanging(context: &Context) -> Table {
    let units = context.units;
    let mut table =
        Table::new("Where everything hangs", &["Body", "What it is", "Size across × up", "Middle"])
            .of_class("long");
    for body in &context.layout.bodies {
        let bounds = body.outline.bounds();
        table.push(vec![
            body.name.clone(),
            body.role.word().into(),
            round::extent(context.layout.symmetry, &body.outline, units),
            units.place_text(bounds.center()),
        ]);
    }
    table
}
