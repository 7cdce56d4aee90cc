//! Loose lines end to end: closed chains out of pieces in any order and direction.

use std::collections::BTreeMap;

use kurbo::Point;

use super::error::DrawingError;
use super::piece::{Piece, between};
use crate::segment::Segment;

/// An end of an open piece.
type End = (usize, bool);

/// Closed chains of the pieces; ends within `tolerance` are the same.
pub(super) fn chains(pieces: &[&Piece], tolerance: f64) -> Result<Vec<Vec<Segment>>, DrawingError> {
    let mut done = Vec::new();
    let mut open: Vec<&[Segment]> = Vec::new();
    for piece in pieces {
        let (start, end) = ends(&piece.segments);
        let length: f64 = piece.segments.iter().map(Segment::length).sum();
        let gap = (end - start).hypot();
        if gap <= tolerance && length > 2.0 * tolerance {
            done.push(closed(piece.segments.clone()));
        } else if piece.closed {
            let mut segments = piece.segments.clone();
            segments.push(Segment::line(end, start));
            done.push(closed(segments));
        } else if length > tolerance {
            open.push(&piece.segments);
        }
    }
    duplicates(&done, &open, tolerance)?;
    done.extend(walk(&open, tolerance)?);
    Ok(done)
}

/// Closed chains of single segments; ends within `tolerance` are the same.
pub(crate) fn chains_of(
    segments: Vec<Segment>,
    tolerance: f64,
) -> Result<Vec<Vec<Segment>>, DrawingError> {
    let piece = |s| Piece { names: Vec::new(), segments: vec![s], closed: false };
    let pieces: Vec<Piece> = segments.into_iter().map(piece).collect();
    chains(&pieces.iter().collect::<Vec<_>>(), tolerance)
}

fn ends(segments: &[Segment]) -> (Point, Point) {
    let point = |s: Option<Point>| s.unwrap_or(Point::ORIGIN);
    (point(segments.first().map(Segment::start)), point(segments.last().map(Segment::end)))
}

/// A chain whose last end is pulled onto its first start, and every joint made exact.
fn closed(segments: Vec<Segment>) -> Vec<Segment> {
    let count = segments.len();
    if count == 1 {
        return segments;
    }
    let joint = |k: usize| {
        let (before, after) =
            (segments[(k + count - 1) % count].end(), segments[k % count].start());
        before.midpoint(after)
    };
    (0..count).map(|k| between(&segments[k], joint(k), joint(k + 1))).collect()
}

/// Refuses pieces that lie on each other: same ends and the same middle.
fn duplicates(
    closed: &[Vec<Segment>],
    open: &[&[Segment]],
    tolerance: f64,
) -> Result<(), DrawingError> {
    // nearly the same place falls into the same or a neighbouring cell
    let cell = (4.0 * tolerance).max(f64::MIN_POSITIVE);
    let mut seen: BTreeMap<[i64; 2], Vec<[Point; 3]>> = BTreeMap::new();
    let loops = closed.iter().filter(|chain| chain.len() > 1).flatten();
    let whole = closed.iter().filter(|chain| chain.len() == 1).flatten();
    let long = |s: &&Segment| s.length() > 4.0 * tolerance;
    for segment in loops.chain(open.iter().copied().flatten()).filter(long) {
        let middle = segment.point_at(0.5 * segment.length());
        meet(&mut seen, [middle, segment.start(), segment.end()], cell, tolerance)?;
    }
    // full circles: their centre is not on them, so they need a map of their own
    let mut centres: BTreeMap<[i64; 2], Vec<(Point, f64)>> = BTreeMap::new();
    for segment in whole {
        if let Segment::Arc(arc) = segment {
            let known = centres.entry(key(arc.centre, cell)).or_default();
            let same = |c: &(Point, f64)| {
                (c.0 - arc.centre).hypot() <= tolerance && (c.1 - arc.radius).abs() <= tolerance
            };
            if known.iter().any(same) {
                return Err(DrawingError::Duplicate { at: segment.start() });
            }
            known.push((arc.centre, arc.radius));
        }
    }
    Ok(())
}

fn key(p: Point, cell: f64) -> [i64; 2] {
    [(p.x / cell).floor() as i64, (p.y / cell).floor() as i64]
}

/// Remembers a segment by its middle and its ends; an earlier one with the same is an error.
fn meet(
    seen: &mut BTreeMap<[i64; 2], Vec<[Point; 3]>>,
    [middle, start, end]: [Point; 3],
    cell: f64,
    tolerance: f64,
) -> Result<(), DrawingError> {
    let near = |p: Point, q: Point| (p - q).hypot() <= tolerance;
    let same = |other: &[Point; 3]| {
        let [m, s, e] = *other;
        near(m, middle) && ((near(s, start) && near(e, end)) || (near(s, end) && near(e, start)))
    };
    let [i, j] = key(middle, cell);
    for (di, dj) in around() {
        let cell = seen.get(&[i.saturating_add(di), j.saturating_add(dj)]);
        if cell.into_iter().flatten().any(same) {
            return Err(DrawingError::Duplicate { at: middle });
        }
    }
    seen.entry([i, j]).or_default().push([middle, start, end]);
    Ok(())
}

fn around() -> impl Iterator<Item = (i64, i64)> {
    (-1..=1).flat_map(|i| (-1..=1).map(move |j| (i, j)))
}

/// Open pieces walked end to end.
fn walk(open: &[&[Segment]], tolerance: f64) -> Result<Vec<Vec<Segment>>, DrawingError> {
    let place = |(k, at_end): End| {
        let (start, end) = ends(open[k]);
        if at_end { end } else { start }
    };
    let cell = (2.0 * tolerance).max(f64::MIN_POSITIVE);
    let mut map: BTreeMap<[i64; 2], Vec<End>> = BTreeMap::new();
    for k in 0..open.len() {
        for end in [(k, false), (k, true)] {
            map.entry(key(place(end), cell)).or_default().push(end);
        }
    }
    let partner = |end: End| -> Result<End, DrawingError> {
        let at = place(end);
        let [i, j] = key(at, cell);
        let near: Vec<End> = around()
            .filter_map(|(di, dj)| map.get(&[i.saturating_add(di), j.saturating_add(dj)]))
            .flatten()
            .copied()
            .filter(|other| *other != end && (place(*other) - at).hypot() <= tolerance)
            .collect();
        match near.as_slice() {
            [one] => Ok(*one),
            [] => Err(gap(end, open.len(), &place, tolerance)),
            more => Err(DrawingError::Branch { at, count: more.len() + 1 }),
        }
    };
    let mut used = vec![false; open.len()];
    let mut out = Vec::new();
    for first in 0..open.len() {
        if used[first] {
            continue;
        }
        let (mut chain, mut at) = (Vec::new(), (first, false));
        loop {
            let (k, from_end) = at;
            used[k] = true;
            if from_end {
                chain.extend(open[k].iter().rev().map(Segment::reversed));
            } else {
                chain.extend(open[k].iter().cloned());
            }
            at = partner((k, !from_end))?;
            if used[at.0] {
                break;
            }
        }
        out.push(closed(chain));
    }
    Ok(out)
}

/// An end that nothing meets, with the nearest other end.
fn gap(end: End, pieces: usize, place: &dyn Fn(End) -> Point, tolerance: f64) -> DrawingError {
    let at = place(end);
    let others = (0..pieces).flat_map(|k| [(k, false), (k, true)]).filter(|other| *other != end);
    let nearest = others
        .map(place)
        .min_by(|a, b| (*a - at).hypot2().total_cmp(&(*b - at).hypot2()))
        .unwrap_or(at);
    DrawingError::Open { at, nearest, gap: (nearest - at).hypot(), tolerance }
}
