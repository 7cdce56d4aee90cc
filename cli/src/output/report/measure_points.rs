//! Where to put the thickness gauge after the run, and what it should read.
//!
//! The thinnest and the thickest significant place come first, then the middles of the longest flat
//! runs of outline, where a probe sits well. Of a rack the parts with the least, the greatest and
//! the middle mean are measured. The reading is what was computed there; the range beside it is
//! what a probe sees that covers [`SPOT`] along the outline or is set down a little beside.

use shapes::Point;
use solver::{BodyResult, Role, Stretch};

use super::Table;
use crate::output::Context;
use crate::output::places::{Places, stretch_at};

/// Length of outline that a probe sees, m: common practice for hand-held gauges, no source.
const SPOT: f64 = 3e-3;
/// Points on a single part; of several parts each gets fewer.
const MOST: usize = 6;
/// A flat run must be this long for a probe, m.
const FLAT: f64 = 5e-3;

/// A place for the gauge.
#[derive(Debug, Clone)]
pub struct GaugePoint {
    /// `A`, `B`, ...
    pub letter: char,
    /// The part.
    pub body: usize,
    /// Its stretch.
    pub row: usize,
    /// Where.
    pub at: Point,
    /// In words.
    pub place: String,
    /// Why it is chosen.
    pub why: &'static str,
    /// Computed thickness and its uncertainty, m.
    pub reading: (f64, f64),
    /// Least and greatest thickness under the probe, m.
    pub near: (f64, f64),
    /// Whether it is on the significant surface.
    pub significant: bool,
}

/// The places, lettered; none without a thickness.
pub fn choose(context: &Context, places: &Places) -> Vec<GaugePoint> {
    if context.deposit.is_none() {
        return Vec::new();
    }
    let parts = parts(context);
    let each = match parts.len() {
        0 => return Vec::new(),
        1 => MOST,
        2 => 4,
        _ => 3,
    };
    let mut all: Vec<GaugePoint> = Vec::new();
    for index in parts {
        let letters = ('A'..='Z').skip(all.len());
        let found = on_part(context, places, index, each);
        all.extend(letters.zip(found).map(|(letter, point)| GaugePoint { letter, ..point }));
    }
    all
}

/// The parts that are measured: all of a few, of a rack those that tell most.
fn parts(context: &Context) -> Vec<usize> {
    let bodies = context.solution.bodies.iter().enumerate();
    let mut all: Vec<(usize, f64, f64)> = bodies
        .filter(|(_, b)| b.role == Role::Part)
        .filter_map(|(k, _)| context.judged(k).map(|j| (k, j.spread.min, j.spread.mean)))
        .collect();
    if all.len() <= 3 {
        return all.into_iter().map(|part| part.0).collect();
    }
    let least = all.iter().min_by(|a, b| a.1.total_cmp(&b.1)).map(|part| part.0);
    all.sort_by(|a, b| a.2.total_cmp(&b.2));
    let mut picked = vec![all[all.len() / 2].0, all[all.len() - 1].0];
    picked.extend(least);
    picked.sort_unstable();
    picked.dedup();
    picked
}

fn on_part(context: &Context, places: &Places, index: usize, most: usize) -> Vec<GaugePoint> {
    let body = &context.solution.bodies[index];
    let Some(judged) = context.judged(index) else { return Vec::new() };
    let size = context.layout.bodies[index].outline.diagonal();
    let mut found: Vec<GaugePoint> = Vec::new();
    let mut add = |row: usize, why: &'static str, apart: f64| {
        if found.len() < most
            && let Some(point) = point(context, places, index, row, why)
            && found.iter().all(|other| (other.at - point.at).hypot() > apart * size)
        {
            found.push(point);
        }
    };
    let ends = [(judged.spread.min_at, "thinnest"), (judged.spread.max_at, "thickest")];
    for (at, why) in ends {
        if let Some((row, _)) = stretch_at(body, at) {
            add(row, why, 0.0);
        }
    }
    for row in flat_middles(context, places, index, body) {
        add(row, "flat", 0.08);
    }
    found
}

/// The middle stretches of flat runs with the same words, the longest run first, those on the
/// significant surface before others.
fn flat_middles(context: &Context, places: &Places, index: usize, body: &BodyResult) -> Vec<usize> {
    let marks = context.significant_on(index);
    let counts = |row: usize| marks.is_none_or(|m| m.get(row).is_some_and(|on| *on));
    let words: Vec<Option<String>> = body
        .stretches
        .iter()
        .map(|s| {
            let normal = shapes::Vec2::new(s.normal[0], s.normal[1]);
            let place = places.whereabouts(index, s.at, normal)?;
            let words = places.words(index, s).filter(|_| place.bend.is_none())?;
            // "the lower side, in the middle": one face, wherever along it
            words.split(", ").next().map(str::to_owned)
        })
        .collect();
    let mut runs: Vec<(usize, usize, f64)> = Vec::new();
    let mut start = 0;
    for end in 1..=words.len() {
        if end < words.len() && words[end] == words[start] && counts(end) == counts(start) {
            continue;
        }
        let length: f64 = body.stretches[start..end].iter().map(|s| s.length_m).sum();
        if words[start].is_some() && length >= FLAT {
            runs.push((start, end, length));
        }
        start = end;
    }
    runs.sort_by(|a, b| counts(b.0).cmp(&counts(a.0)).then(b.2.total_cmp(&a.2)));
    // every face once before any face twice
    let mut seen: Vec<&Option<String>> = Vec::new();
    let (first, again): (Vec<_>, Vec<_>) = runs.into_iter().partition(|run| {
        let face = &words[run.0];
        let new = !seen.contains(&face);
        seen.push(face);
        new
    });
    first.into_iter().chain(again).map(|run| middle(&body.stretches, run)).collect()
}

/// The stretch half way along a run.
fn middle(stretches: &[Stretch], (start, end, length): (usize, usize, f64)) -> usize {
    let mut passed = 0.0;
    (start..end)
        .find(|&row| {
            passed += stretches[row].length_m;
            passed >= 0.5 * length
        })
        .unwrap_or(start)
}

fn point(
    context: &Context,
    places: &Places,
    index: usize,
    row: usize,
    why: &'static str,
) -> Option<GaugePoint> {
    let body = &context.solution.bodies[index];
    let on = context.deposit_on(index)?;
    let stretch = body.stretches.get(row)?;
    let total: f64 = context.layout.bodies[index].outline.loops().get(stretch.loop_index)?.length();
    let under = |s: &Stretch| {
        let gap = (s.s_m - stretch.s_m).rem_euclid(total);
        s.loop_index == stretch.loop_index && gap.min(total - gap) <= 0.5 * (SPOT + s.length_m)
    };
    let rows = body.stretches.iter().zip(&on.thickness_m).filter(|(s, _)| under(s));
    let near = rows.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, t)| {
        (low.min(*t), high.max(*t))
    });
    Some(GaugePoint {
        letter: ' ',
        body: index,
        row,
        at: stretch.at,
        place: places.words(index, stretch)?,
        why,
        reading: (*on.thickness_m.get(row)?, *on.uncertainty_m.get(row)?),
        near,
        significant: context.significant_on(index).is_none_or(|m| m.get(row) == Some(&true)),
    })
}

/// The table for the gauge.
pub fn table(context: &Context, points: &[GaugePoint]) -> Table {
    let units = context.units;
    let mut table = Table::new(
        "± is the numerical uncertainty for the bath values taken; that of the bath values and of the gauge comes on top",
        &[
            "Point",
            "Where",
            "At",
            "Should read",
            &format!("Within {}", units.size_text(SPOT)),
            "Counts",
        ],
    );
    for p in points {
        let name = &context.solution.bodies[p.body].name;
        table.push(vec![
            p.letter.to_string(),
            format!("{name}: {} ({})", p.place, p.why),
            units.place_text(p.at),
            units.thickness_pm(p.reading.0, p.reading.1),
            match (units.thickness_text(p.near.0), units.thickness_text(p.near.1)) {
                (low, high) if low == high => low,
                (low, high) => format!("{low} to {high}"),
            },
            if p.significant { "yes".into() } else { "no, not significant".into() },
        ]);
    }
    table
}
