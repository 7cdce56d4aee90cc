//! The shape `follow`: an outline at an even gap from another body.
//!
//! Bodies with a shape of their own come first, whatever their place in the file; then those that
//! follow, each once the body it follows is drawn. A following body stays clear of all that are
//! drawn before it.

use std::ops::Range;

use shapes::{Distances, Followed, Following, Outline, Room};

use super::cell::{At, Slot};
use super::context::Context;
use super::forms::DrawnLength;
use super::marks::{self, Ends};
use super::shape::{self, Drawn, Shaped};
use super::tables::{BodyTable, FollowTable};
use crate::diagnostic::Diagnostic;
use crate::output::three;
use crate::units::nearest;

/// Clearance from walls and other bodies unless stated, m; the gap, where that is less.
const CLEARANCE_M: f64 = 5e-3;
const HOW: &str = "`follow` takes: { body = \"cup\", gap = 40, thickness = 8 } and, for a stretch of the outline, from = [x, y] and to = [x, y], or from_corner and to_corner; hole, clearance optional";

/// The tank as a following outline sees it.
pub(super) struct Hall {
    /// In drawing units.
    pub(super) tank: Outline,
    /// True if `x = 0` is the axis of a round tank.
    pub(super) axis: bool,
    /// Metres in a drawing unit.
    pub(super) unit_m: f64,
}

/// What is known of a body of the file.
enum Known {
    Waiting,
    Faulty,
    Drawn(Shaped),
}

/// A body by its table, with what is known of its shape.
pub(super) struct Neighbour<'t> {
    table: &'t BodyTable,
    known: Known,
}

impl Neighbour<'_> {
    fn name(&self) -> Option<&str> {
        self.table.name.get().map(|at| at.value.as_str())
    }

    /// Which copy of this body a name means.
    fn copy(&self, wanted: &str) -> Option<usize> {
        let base = self.name()?;
        let Some(repeat) = self.table.repeat.get() else { return (base == wanted).then_some(0) };
        let number = wanted.strip_prefix(base)?.strip_prefix('-')?.parse::<usize>().ok()?;
        let count = repeat.value.count.get().map_or(0.0, |at| at.value);
        (number >= 1 && number as f64 <= count).then(|| number - 1)
    }
}

/// The shapes of all bodies, in the order of `tables`; `None` where a fault is noted.
pub(super) fn shapes(
    tables: &[(&str, &At<BodyTable>)],
    hall: Option<&Hall>,
    unit_m: f64,
    cx: &mut Context<'_>,
) -> Vec<Option<Shaped>> {
    let mut all: Vec<Neighbour<'_>> = tables
        .iter()
        .map(|(_, at)| Neighbour { table: &at.value, known: Known::Waiting })
        .collect();
    let called = |k: usize| {
        let (word, at) = &tables[k];
        at.value.name.get().map_or_else(|| format!("unnamed {word}"), |name| name.value.clone())
    };
    let mut draw = |k: usize, all: &mut Vec<Neighbour<'_>>| {
        let shaped = shape::body(tables[k].1, &called(k), unit_m, hall, all, cx);
        all[k].known = shaped.map_or(Known::Faulty, Known::Drawn);
    };
    for k in 0..all.len() {
        if all[k].table.follow.is_missing() {
            draw(k, &mut all);
        }
    }
    loop {
        let next = (0..all.len()).find(|k| {
            let waiting = matches!(all[*k].known, Known::Waiting);
            waiting
                && leader(all[*k].table, &all)
                    .is_none_or(|l| !matches!(all[l].known, Known::Waiting))
        });
        let Some(k) = next else { break };
        draw(k, &mut all);
    }
    for (k, neighbour) in all.iter().enumerate() {
        if let (Known::Waiting, Some(at)) = (&neighbour.known, neighbour.table.follow.get()) {
            let whom = at.value.body.get().map_or("", |body| body.value.as_str());
            let message =
                format!("`{}` follows `{whom}`, which follows `{}`", called(k), called(k));
            let message =
                if whom == called(k) { format!("`{whom}` follows itself") } else { message };
            let place = at.value.body.span().unwrap_or(at.span.clone());
            let fault = Diagnostic::error("E026", message).at(place, "goes round in a circle");
            cx.faults.push(fault.help("give one of them a shape of its own"));
        }
    }
    let shaped = |neighbour: Neighbour<'_>| match neighbour.known {
        Known::Drawn(shaped) => Some(shaped),
        _ => None,
    };
    all.into_iter().map(shaped).collect()
}

/// The body that this one follows, if there is one of that name.
fn leader(table: &BodyTable, all: &[Neighbour<'_>]) -> Option<usize> {
    let wanted = table.follow.get()?.value.body.get()?;
    all.iter().position(|other| other.copy(&wanted.value).is_some())
}

/// The outline that a `follow` table asks for, in drawing units.
pub(super) fn outline(
    at: &At<FollowTable>,
    called: &str,
    hall: Option<&Hall>,
    all: &[Neighbour<'_>],
    cx: &mut Context<'_>,
) -> Option<Drawn> {
    let t = &at.value;
    let whole = Some(at.span.clone());
    let body = cx.required(&t.body, "body", "`follow`", whole.clone(), HOW);
    let gap = cx.required(&t.gap, "gap", "`follow`", whole.clone(), HOW);
    let thickness = cx.required(&t.thickness, "thickness", "`follow`", whole, HOW);
    let body = body?;
    let Some((leader, copy)) =
        all.iter().enumerate().find_map(|(k, other)| Some((k, other.copy(&body.value)?)))
    else {
        return cx.fault(unknown(body, all));
    };
    // faults of the other body and of the tank have been told
    let (Known::Drawn(followed), Some(hall)) = (&all[leader].known, hall) else { return None };
    let length = |slot: &At<DrawnLength>, what: &str, zero: bool, cx: &mut Context<'_>| {
        let value = slot.value.metres(hall.unit_m) / hall.unit_m;
        let allowed = if zero { "zero or more" } else { "greater than zero" };
        if value > 0.0 || (zero && value == 0.0) {
            return Some(value);
        }
        cx.out_of_range(slot.span.clone(), what, allowed)
    };
    let gap = length(gap?, "the gap", false, cx);
    let thickness = length(thickness?, "the thickness", false, cx);
    let clearance = match &t.clearance {
        Slot::Missing => gap.map(|gap| gap.min(CLEARANCE_M / hall.unit_m)),
        Slot::Bad => None,
        Slot::Given(stated) => length(stated, "the clearance", true, cx),
    };
    let target = followed.outlines.get(copy)?;
    let stretches = stretches(at, followed, copy, target, cx)?;
    let others: Vec<&Outline> = all
        .iter()
        .enumerate()
        .filter_map(|(k, other)| match &other.known {
            Known::Drawn(shaped) => Some((k, shaped)),
            _ => None,
        })
        .flat_map(|(k, shaped)| shaped.outlines.iter().enumerate().map(move |(c, o)| (k, c, o)))
        .filter(|(k, c, _)| (*k, *c) != (leader, copy))
        .map(|(_, _, outline)| outline)
        .collect();
    let by = Distances { gap: gap?, thickness: thickness?, clearance: clearance? };
    let room = Room { tank: &hall.tank, others: &others, axis: hall.axis };
    match target.following(&stretches, by, room) {
        Ok(found) => {
            notes(&found, by, called, &body.value, &at.span, cx);
            Some((found.outline, at.span.clone()))
        }
        Err(error) => {
            let message = format!("`{called}` cannot follow `{}`: {error}", body.value);
            let fault = Diagnostic::error("E026", message).at(at.span.clone(), "this shape");
            cx.fault(fault.help("a smaller gap or clearance, or another stretch of the outline"))
        }
    }
}

fn unknown(body: &At<String>, all: &[Neighbour<'_>]) -> Diagnostic {
    let names: Vec<String> = all
        .iter()
        .filter_map(|other| {
            let base = other.name()?;
            let repeated = !other.table.repeat.is_missing();
            Some(if repeated { format!("{base}-1") } else { base.to_owned() })
        })
        .collect();
    let fault = Diagnostic::error("E026", format!("there is no body `{}` to follow", body.value));
    let fault = fault.at(body.span.clone(), "expected the name of another body");
    let near = nearest(&body.value, names.iter().map(String::as_str));
    match near {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault.help(format!(
            "bodies: {}; copies by `repeat` are called name-1, name-2, ...",
            names.join(", ")
        )),
    }
}

/// What of the outline is followed: a stretch, all around, or the edge of its hole.
fn stretches(
    at: &At<FollowTable>,
    followed: &Shaped,
    copy: usize,
    target: &Outline,
    cx: &mut Context<'_>,
) -> Option<Vec<Followed>> {
    let t = &at.value;
    let ends =
        Ends { from: &t.from, to: &t.to, from_corner: &t.from_corner, to_corner: &t.to_corner };
    let hole = t.hole.get().filter(|hole| hole.value);
    if ends.any() {
        if let Some(hole) = hole {
            let fault = Diagnostic::error("E026", "`hole` stands beside the ends of a stretch");
            let fault = fault.at(hole.span.clone(), "take one of them out");
            return cx.fault(fault.help("ends on the edge of a hole follow that hole"));
        }
        let (loop_index, from, to) = marks::stretch(&ends, &at.span, followed, copy, cx)?;
        return Some(vec![Followed { loop_index, between: Some((from, to)) }]);
    }
    let loops: Vec<Followed> = target
        .loops()
        .iter()
        .enumerate()
        .filter(|(_, curve)| curve.is_hole() == hole.is_some())
        .map(|(loop_index, _)| Followed { loop_index, between: None })
        .collect();
    match (hole, loops.len()) {
        (Some(hole), 0) => {
            let fault = Diagnostic::error("E026", "the followed body has no hole");
            cx.fault(fault.at(hole.span.clone(), "take it out"))
        }
        (Some(hole), 2..) => {
            let fault = Diagnostic::error("E026", "the followed body has several holes");
            let fault = fault.at(hole.span.clone(), "which one?");
            cx.fault(
                fault.help(
                    "give from = [x, y] and to = [x, y] on the edge of the one that is meant",
                ),
            )
        }
        _ => Some(loops),
    }
}

/// What the planner should know about the outline that was found.
fn notes(
    found: &Following,
    by: Distances,
    called: &str,
    whom: &str,
    span: &Range<usize>,
    cx: &mut Context<'_>,
) {
    if let Some(missed) = found.missed {
        let place = format!("[{}, {}]", three(missed.at.x), three(missed.at.y));
        let message = format!(
            "`{called}` does not reach `{whom}` at {place}: it is {} away there, at a gap of {}",
            three(missed.distance),
            three(by.gap)
        );
        let help = match missed.fits {
            Some(fits) => {
                format!("`{whom}` leaves room for a gap of at most {} there", three(fits))
            }
            None => "a wall or another body is in the way".to_owned(),
        };
        let warning = Diagnostic::warning("W026", message).at(span.clone(), "this shape");
        cx.warnings.push(warning.help(help));
    }
    if found.pieces > 1 || found.crumbs > 0 {
        let crumbs = match found.crumbs {
            0 => String::new(),
            n => format!(", {n} more below a hundredth of the largest are left out"),
        };
        let pieces = found.pieces;
        let plural = if pieces == 1 { "piece" } else { "pieces" };
        let message = format!("`{called}` is cut into {pieces} {plural}{crumbs}");
        let warning = Diagnostic::warning("W026", message).at(span.clone(), "this shape");
        cx.warnings.push(warning.help("pieces are one body at one potential; for pieces of their own follow one stretch by each of several bodies"));
    }
}
