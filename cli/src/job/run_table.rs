//! `[run]`: how long the part is plated, and the positions it takes in turn.

use std::ops::Range;

use shapes::{Point, Vec2};
use solver::quantity::Time;
use solver::{Layout, Placement, Role, RunLength, Symmetry};

use super::body::{Bodies, BodyPlace};
use super::cell::{At, Slot};
use super::context::Context;
use super::layout_faults;
use super::resolved::{DrawingUnit, Positions};
use super::tables::{JobTable, PositionsTable, RunTable};
use crate::diagnostic::Diagnostic;
use crate::output::three;
use crate::units::nearest;

/// More positions than this are a slip: a solve is made for each.
const MOST_POSITIONS: usize = 360;

/// How long the run is; `None` if the job does not say, or after a fault.
pub fn length(job: &JobTable, cx: &mut Context<'_>) -> Option<RunLength> {
    let table = job.run.get()?;
    let t = &table.value;
    let stated: [(&str, bool, Option<Range<usize>>); 3] = [
        ("time", t.time.is_missing(), t.time.span()),
        ("until", t.until.is_missing(), t.until.span()),
        ("ampere_hours", t.ampere_hours.is_missing(), t.ampere_hours.span()),
    ];
    let named: Vec<_> = stated.iter().filter(|(_, missing, _)| !missing).collect();
    if let [first, second, ..] = named.as_slice() {
        let message = format!("the run states both `{}` and `{}`", first.0, second.0);
        let fault = Diagnostic::error("E016", message);
        let fault = match (&first.2, &second.2) {
            (Some(a), Some(b)) => fault.at(b.clone(), "the second").and(a.clone(), "the first"),
            _ => fault.at(table.span.clone(), "needs one of them"),
        };
        return cx.fault(fault.help("keep one; the others follow from the solve"));
    }
    if let Some(at) = t.time.get() {
        cx.note_job("run.time", &at.span);
        return cx.positive(at, "the plating time").map(RunLength::Time);
    }
    if let Some(at) = t.until.get() {
        cx.note_job("run.until", &at.span);
        return cx.positive(at, "the thickness to reach").map(RunLength::Thickness);
    }
    let at = t.ampere_hours.get()?;
    cx.note_job("run.ampere_hours", &at.span);
    cx.positive(at, "the charge").map(RunLength::Charge)
}

/// True if the job says how long the run is, rightly or wrongly.
pub fn is_stated(t: &RunTable) -> bool {
    !(t.time.is_missing() && t.until.is_missing() && t.ampere_hours.is_missing())
}

/// The time, where it is stated as such.
pub fn stated_time(length: Option<RunLength>) -> Option<Time> {
    match length {
        Some(RunLength::Time(time)) => Some(time),
        _ => None,
    }
}

/// The positions; `Some(None)` if the part rests, `None` after a fault.
pub fn positions(
    job: &JobTable,
    unit_m: f64,
    bodies: &Bodies,
    cx: &mut Context<'_>,
) -> Option<Option<Positions>> {
    let slot = job.run.get().map_or(&Slot::Missing, |run| &run.value.positions);
    let at = match slot {
        Slot::Missing => return Some(None),
        Slot::Bad => return None,
        Slot::Given(at) => at,
    };
    let before = cx.faults.len();
    let t = &at.value;
    cx.note_job("run.positions", &at.span);
    let about = about(t, &at.span, cx).unwrap_or((0.0, 0.0));
    let counts = [
        ("angles", t.angles.get().map(|a| (a.value.len(), a.span.clone()))),
        ("shifts", t.shifts.get().map(|a| (a.value.len(), a.span.clone()))),
        ("shares", t.shares.get().map(|a| (a.value.len(), a.span.clone()))),
    ];
    let lists: Vec<_> = counts.iter().filter_map(|(k, c)| c.clone().map(|c| (*k, c))).collect();
    let Some((leader, (count, first))) = lists.iter().find(|(key, _)| *key != "shares") else {
        if t.angles.is_missing() && t.shifts.is_missing() {
            let fault = Diagnostic::error("E006", "the positions state neither angles nor shifts");
            cx.faults.push(fault.at(at.span.clone(), "needs one of them, or both").help(
                "a part that turns: { turn_about = [x, y], angles = [0, 90, 180, 270] }; one that swings: { shifts = [[-20, 0], [20, 0]] }",
            ));
        }
        return None;
    };
    for (key, (other, span)) in &lists {
        if other != count {
            let message = format!("`{key}` has {other} entries and `{leader}` {count}");
            let fault =
                Diagnostic::error("E011", message).at(span.clone(), "one for each position");
            cx.faults.push(fault.and(first.clone(), "these"));
        }
    }
    if !(1..=MOST_POSITIONS).contains(count) {
        cx.out_of_range::<()>(first.clone(), "the number of positions", "from 1 to 360");
    }
    let shares = shares(t, *count, cx);
    let moving = moving(t, bodies, cx);
    if cx.faults.len() > before {
        return None;
    }
    let place = |k: usize| {
        let angle = t.angles.get().and_then(|a| a.value.get(k)).map_or(0.0, |at| at.value);
        let shift = t.shifts.get().and_then(|s| s.value.get(k)).map(|at| &at.value);
        let shift = shift.map_or((0.0, 0.0), |(x, y)| (x.value, y.value));
        Placement {
            turn_deg: angle,
            about: Point::new(about.0 * unit_m, about.1 * unit_m),
            shift: Vec2::new(shift.0 * unit_m, shift.1 * unit_m),
            share: shares[k],
        }
    };
    let places = (0..*count).map(place).collect();
    Some(Some(Positions { places, moving, written: at.span.clone() }))
}

fn about(t: &PositionsTable, span: &Range<usize>, cx: &mut Context<'_>) -> Option<(f64, f64)> {
    if t.angles.is_missing() {
        return None;
    }
    let how = "the point that it turns about, like turn_about = [300, 200]";
    let at = cx.required(&t.turn_about, "turn_about", "`positions`", Some(span.clone()), how)?;
    Some((at.value.0.value, at.value.1.value))
}

/// Shares of the time, adding up to one.
fn shares(t: &PositionsTable, count: usize, cx: &mut Context<'_>) -> Vec<f64> {
    let Some(stated) = t.shares.get() else {
        return vec![1.0 / count as f64; count];
    };
    for at in &stated.value {
        cx.positive_number(at, "a share of the time");
    }
    let sum: f64 = stated.value.iter().map(|at| at.value).sum();
    stated.value.iter().map(|at| at.value / sum).collect()
}

/// Indices of the bodies that move: those named, else all parts.
fn moving(t: &PositionsTable, bodies: &Bodies, cx: &mut Context<'_>) -> Vec<usize> {
    let indices =
        |wanted: &dyn Fn(usize) -> bool| (0..bodies.len()).filter(|&k| wanted(k)).collect();
    let Some(list) = t.bodies.get() else {
        return indices(&|k| bodies[k].0.role == Role::Part);
    };
    let is = |k: usize, name: &At<String>| {
        let (body, place) = &bodies[k];
        name.value == body.name || name.value == place.base
    };
    for name in &list.value {
        if !(0..bodies.len()).any(|k| is(k, name)) {
            let known: Vec<&str> = bodies.iter().map(|(body, _)| body.name.as_str()).collect();
            let near = nearest(&name.value, known.iter().copied());
            let all = format!("bodies: {}", known.join(", "));
            let fault = Diagnostic::error("E016", format!("no body is called `{}`", name.value))
                .at(name.span.clone(), "expected the name of a body");
            cx.faults.push(
                fault.help(near.map_or(all.clone(), |n| format!("did you mean `{n}`? {all}"))),
            );
        }
    }
    indices(&|k| list.value.iter().any(|name| is(k, name)))
}

/// Checks the layout of every position after the first, which is not the drawn one either.
pub fn check(
    layout: &Layout,
    positions: &Positions,
    places: &[BodyPlace],
    tank: &Range<usize>,
    unit: DrawingUnit,
) -> Vec<Diagnostic> {
    let about_the_axis = layout.symmetry == Symmetry::Axial;
    for (k, place) in positions.places.iter().enumerate() {
        if about_the_axis && (place.turn_deg != 0.0 || place.shift.x != 0.0) {
            let message = "a part around an axis can only be shifted along it";
            let fault = Diagnostic::error("E011", message);
            return vec![fault.at(positions.written.clone(), "these positions")];
        }
        let moved = place.apply(layout, &positions.moving);
        let mut faults = layout_faults::check(&moved, places, tank, unit);
        if !faults.is_empty() {
            let shift = [place.shift.x, place.shift.y].map(|v| three(v / unit.metres));
            for fault in &mut faults {
                fault.message = format!(
                    "in position {} (turned {} degrees, shifted [{}] {}): {}",
                    k + 1,
                    three(place.turn_deg),
                    shift.join(", "),
                    unit.name,
                    fault.message
                );
            }
            // the others fail in the same way more often than not
            return faults;
        }
    }
    Vec::new()
}
