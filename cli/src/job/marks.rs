//! Masked and marked stretches of a body's outline: from two points or corner numbers to arc
//! lengths.
//!
//! Points are places of the shape as its key draws it, before `mirror`, `turn`, `move` and
//! `repeat`: the marks move with the body. Corner numbers are those that `throwmap check` draws,
//! on the outline where it hangs. Both run counter-clockwise along an outer outline and clockwise
//! along a hole (the body is on the left).

use std::ops::Range;

use shapes::{Outline, Point};
use solver::quantity::Length;
use solver::{Body, Layout, Role, Significance, Span, Symmetry};

use super::body::BodyPlace;
use super::cell::{At, Slot};
use super::context::Context;
use super::forms::{OneOrMany, Pair};
use super::shape::Shaped;
use super::tables::{BodyTable, SpanTable};
use crate::diagnostic::Diagnostic;
use crate::output::three;

/// A point farther from the outline than this share of the outline's diagonal is a slip.
const NEAR: f64 = 0.02;

/// The marks of one body.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Marks {
    /// Stopped-off stretches.
    pub masked: Vec<Span>,
    /// What the specification is about.
    pub significant: Significance,
    /// True where the ball decides what is significant.
    pub by_ball: bool,
}

/// The marks that a body's table makes on its outline; `None` if one of them is wrong.
pub fn resolve(
    word: &str,
    table: &At<BodyTable>,
    shaped: &Shaped,
    unit_m: f64,
    cx: &mut Context<'_>,
) -> Option<Marks> {
    let t = &table.value;
    if matches!(word, "shield" | "screen") {
        foreign("masked", word, "bodies with a metal surface", t.masked.span(), cx);
    }
    if word != "part" {
        foreign("significant", word, "[[part]]", t.significant.span(), cx);
        foreign("not_significant", word, "[[part]]", t.not_significant.span(), cx);
    }
    let mut spans = |slot: &Slot<OneOrMany<SpanTable>>| -> Option<Vec<Span>> {
        match slot {
            Slot::Missing => Some(Vec::new()),
            Slot::Bad => None,
            Slot::Given(list) => {
                if list.value.0.is_empty() {
                    let fault = Diagnostic::error("E019", "this list names no stretch");
                    return cx.fault(fault.at(list.span.clone(), "empty").help(FORMS));
                }
                // all of them, so that every slip is told at once
                let read: Vec<Option<Span>> =
                    list.value.0.iter().map(|at| span(at, shaped, unit_m, cx)).collect();
                read.into_iter().collect()
            }
        }
    };
    let (masked, only, except) =
        (spans(&t.masked), spans(&t.significant), spans(&t.not_significant));
    let given = !t.significant.is_missing();
    let only = only?;
    Some(Marks {
        masked: masked?,
        significant: Significance { only: given.then_some(only), except: except? },
        by_ball: word == "part" && !given,
    })
}

fn foreign(key: &str, word: &str, owner: &str, span: Option<Range<usize>>, cx: &mut Context<'_>) {
    if let Some(span) = span {
        let fault = Diagnostic::error(
            "E013",
            format!(
                "`{key}` does not belong to {} {word}",
                if word == "anode" { "an" } else { "a" }
            ),
        );
        cx.faults.push(fault.at(span, format!("a key of {owner}")));
    }
}

const FORMS: &str = "write { from = [x, y], to = [x, y] }, or { from_corner = 3, to_corner = 4 } with the numbers that `throwmap check` draws";

/// The ends of a stretch as a table states them.
pub(super) struct Ends<'t> {
    pub(super) from: &'t Slot<Pair>,
    pub(super) to: &'t Slot<Pair>,
    pub(super) from_corner: &'t Slot<f64>,
    pub(super) to_corner: &'t Slot<f64>,
}

impl Ends<'_> {
    fn points(&self) -> bool {
        !self.from.is_missing() || !self.to.is_missing()
    }

    fn corners(&self) -> bool {
        !self.from_corner.is_missing() || !self.to_corner.is_missing()
    }

    /// True if the table states any.
    pub(super) fn any(&self) -> bool {
        self.points() || self.corners()
    }
}

/// One stretch, in metres along the outline where it hangs.
fn span(at: &At<SpanTable>, shaped: &Shaped, unit_m: f64, cx: &mut Context<'_>) -> Option<Span> {
    let SpanTable { from, to, from_corner, to_corner } = &at.value;
    let ends = Ends { from, to, from_corner, to_corner };
    let (loop_index, from_s, to_s) = stretch(&ends, &at.span, shaped, 0, cx)?;
    let length = shaped.drawn.loops().get(loop_index)?.length();
    let from_m = from_s * unit_m;
    let along = (to_s - from_s).rem_euclid(length);
    Some(Span { loop_index, from_m, to_m: from_m + along * unit_m })
}

/// Loop and arc lengths of a stretch, in drawing units along the outline where copy `copy` hangs.
pub(super) fn stretch(
    t: &Ends<'_>,
    place_of_table: &Range<usize>,
    shaped: &Shaped,
    copy: usize,
    cx: &mut Context<'_>,
) -> Option<(usize, f64, f64)> {
    let points = t.points();
    if points == t.corners() {
        let what = if points { "has points and corners" } else { "has no ends" };
        let fault = Diagnostic::error("E019", format!("this stretch of the outline {what}"));
        return cx.fault(fault.at(place_of_table.clone(), "from where to where?").help(FORMS));
    }
    let whole = Some(place_of_table.clone());
    let outline = if points { &shaped.drawn } else { shaped.outlines.get(copy)? };
    let (from, to) = if points {
        let from = cx.required(t.from, "from", "a stretch", whole.clone(), FORMS);
        let to = cx.required(t.to, "to", "a stretch", whole, FORMS);
        let (from, to) = (from?, to?);
        (place(from, outline, cx), place(to, outline, cx))
    } else {
        let from = cx.required(t.from_corner, "from_corner", "a stretch", whole.clone(), FORMS);
        let to = cx.required(t.to_corner, "to_corner", "a stretch", whole, FORMS);
        let (from, to) = (from?, to?);
        (corner(from, outline, cx), corner(to, outline, cx))
    };
    let ((first, mut from_s), (last, mut to_s)) = (from?, to?);
    if first != last {
        let fault = Diagnostic::error("E019", "this stretch begins and ends on different outlines");
        let fault =
            fault.at(place_of_table.clone(), "one end is on a hole, the other is not on it");
        return cx
            .fault(fault.help("mark the outer outline and each hole by a stretch of its own"));
    }
    let length = outline.loops()[first].length();
    // a mirror turns the direction of travel round
    if points && shaped.mirrored {
        (from_s, to_s) = (length - to_s, length - from_s);
    }
    let along = (to_s - from_s).rem_euclid(length);
    if along.min(length - along) <= 1e-9 * length {
        let fault = Diagnostic::error("E019", "this stretch begins where it ends");
        let fault = fault.at(place_of_table.clone(), "no length");
        return cx.fault(
            fault.help("for the whole of an outline give two stretches, each the other's rest"),
        );
    }
    Some((first, from_s, to_s))
}

/// Loop and arc length of the place of the outline nearest to a point.
fn place(at: &At<Pair>, outline: &Outline, cx: &mut Context<'_>) -> Option<(usize, f64)> {
    let point = Point::new(at.value.0.value, at.value.1.value);
    let (index, s, nearest) = outline.nearest(point);
    let off = (nearest - point).hypot();
    if off <= NEAR * outline.diagonal() {
        return Some((index, s));
    }
    let fault = Diagnostic::error("E019", "this point is not on the outline");
    let fault = fault.at(at.span.clone(), format!("{} away from it", three(off)));
    cx.fault(fault.help(format!(
        "the nearest place is [{}, {}]; points are those of the shape as it is written, before mirror, turn and move",
        three(nearest.x),
        three(nearest.y)
    )))
}

/// Loop and arc length of a corner by its number.
fn corner(at: &At<f64>, outline: &Outline, cx: &mut Context<'_>) -> Option<(usize, f64)> {
    let all: Vec<(usize, f64)> = outline
        .loops()
        .iter()
        .enumerate()
        .flat_map(|(l, curve)| curve.corners().into_iter().map(move |corner| (l, corner.s)))
        .collect();
    if all.is_empty() {
        let fault = Diagnostic::error("E019", "this outline has no corners");
        return cx.fault(fault.at(at.span.clone(), "no such corner").help(FORMS));
    }
    let number = at.value;
    if number.fract() == 0.0 && number >= 1.0 && number <= all.len() as f64 {
        // whole and within the list
        return Some(all[number as usize - 1]);
    }
    let fault = Diagnostic::error("E019", format!("there is no corner {number} on this outline"));
    let fault = fault.at(at.span.clone(), format!("expected a number from 1 to {}", all.len()));
    cx.fault(fault.help("`throwmap check` draws the numbers"))
}

/// Lets a ball of this diameter decide what is significant on the parts that mark nothing;
/// a diameter of zero leaves the whole outline significant.
pub fn by_ball(layout: &mut Layout, places: &[BodyPlace], diameter: Length) {
    let radius = 0.5 * diameter.si();
    let round_axis = layout.symmetry == Symmetry::Axial;
    let mut last: Option<(&str, Vec<Span>)> = None;
    for (body, place) in layout.bodies.iter_mut().zip(places) {
        if !place.by_ball || body.role != Role::Part || radius <= 0.0 {
            continue;
        }
        // copies of one body are touched alike, unless the axis is in the way
        let known = last.take().filter(|(base, _)| *base == place.base && !round_axis);
        let spans = known.map_or_else(|| touched(body, radius, round_axis), |(_, spans)| spans);
        body.significant.only = Some(spans.clone());
        last = Some((&place.base, spans));
    }
}

fn touched(body: &Body, radius: f64, round_axis: bool) -> Vec<Span> {
    let reach = if round_axis {
        body.outline.touchable_round_axis(radius)
    } else {
        body.outline.touchable(radius)
    };
    let span = |r: shapes::Reach| Span { loop_index: r.loop_index, from_m: r.from, to_m: r.to };
    reach.into_iter().map(span).collect()
}
