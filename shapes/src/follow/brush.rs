//! What a brush held square to a chain of lines and arcs passes over, on its right.

use std::f64::consts::TAU;

use kurbo::{Point, Rect, Vec2};

use crate::arc::Arc;
use crate::distance::nearest_on;
use crate::segment::Segment;

/// Joints that turn by less (radians) are smooth for the brush.
const STRAIGHT: f64 = 1e-9;

/// A chain of lines and arcs with the body on its left.
#[derive(Debug, Clone)]
pub(super) struct Chain {
    pub(super) segments: Vec<Segment>,
    pub(super) closed: bool,
}

fn outward(along: Vec2) -> Vec2 {
    Vec2::new(along.y, -along.x)
}

impl Chain {
    /// Neighbouring segments with the turn from one to the next, left positive.
    fn joints(&self) -> impl Iterator<Item = (&Segment, &Segment, f64)> {
        let count = self.segments.len();
        let last = if self.closed { count } else { count.saturating_sub(1) };
        (0..last).map(move |k| {
            let (before, after) = (&self.segments[k], &self.segments[(k + 1) % count]);
            let (a, b) = (before.tangent_at(before.length()), after.tangent_at(0.0));
            (before, after, a.cross(b).atan2(a.dot(b)))
        })
    }

    /// The curves at `distance` to the right: offsets of the segments, and arcs about the corners
    /// that stick out. Parts of them may be nearer to another segment.
    pub(super) fn offset(&self, distance: f64) -> Vec<Segment> {
        let mut out: Vec<Segment> =
            self.segments.iter().filter_map(|s| shifted(s, distance)).collect();
        if distance > 0.0 {
            let corners = self.joints().filter(|(_, _, turn)| *turn > STRAIGHT);
            out.extend(corners.map(|(before, after, sweep)| {
                let start = outward(before.tangent_at(before.length())).atan2();
                Segment::Arc(Arc { centre: after.start(), radius: distance, start, sweep })
            }));
        }
        out
    }

    /// Edges of the brush where what it passes over may end: at the ends of the chain, in nooks,
    /// and beside hollows tighter than it is long.
    pub(super) fn edges(&self, length: f64) -> Vec<Segment> {
        let edge = |at: Point, along: Vec2| Segment::line(at, at + outward(along) * length);
        let mut out = Vec::new();
        let tight =
            |s: &Segment| matches!(s, Segment::Arc(arc) if arc.sweep < 0.0 && arc.radius <= length);
        for (before, after, turn) in self.joints() {
            if turn < -STRAIGHT || tight(before) || tight(after) {
                out.push(edge(before.end(), before.tangent_at(before.length())));
                out.push(edge(after.start(), after.tangent_at(0.0)));
            }
        }
        if let (false, Some(first), Some(last)) =
            (self.closed, self.segments.first(), self.segments.last())
        {
            out.push(edge(first.start(), first.tangent_at(0.0)));
            out.push(edge(last.end(), last.tangent_at(last.length())));
        }
        out
    }

    /// What the brush passes over, as cells that may overlap.
    pub(super) fn cells(&self, length: f64) -> Vec<Cell> {
        let mut out: Vec<Cell> = self.segments.iter().map(|s| Cell::of(s, length)).collect();
        let corners = self.joints().filter(|(_, _, turn)| *turn > STRAIGHT);
        out.extend(corners.map(|(before, after, sweep)| {
            let start = outward(before.tangent_at(before.length())).atan2();
            Cell::Fan { centre: after.start(), start, sweep, radii: (0.0, length) }
        }));
        out
    }

    /// Distance from a point.
    pub(super) fn distance(&self, p: Point) -> f64 {
        let from = |s: &Segment| (nearest_on(s, s.start(), s.end(), p).1 - p).hypot();
        self.segments.iter().map(from).fold(f64::INFINITY, f64::min)
    }

    pub(super) fn bounds(&self) -> Option<Rect> {
        self.segments.iter().map(Segment::bounds).reduce(|a, b| a.union(b))
    }

    /// Places to look at: a few on every segment, each with the direction out of the body.
    pub(super) fn places(&self) -> impl Iterator<Item = (Point, Vec2)> {
        const ON_EACH: usize = 5;
        self.segments.iter().flat_map(|segment| {
            (0..ON_EACH).map(move |k| {
                let s = segment.length() * (k as f64 + 0.5) / ON_EACH as f64;
                (segment.point_at(s), outward(segment.tangent_at(s)))
            })
        })
    }
}

/// The segment at `distance` to its right; none where a hollow is tighter than that.
fn shifted(segment: &Segment, distance: f64) -> Option<Segment> {
    match segment {
        Segment::Arc(arc) => {
            let radius = arc.radius + arc.sign() * distance;
            (radius > 1e-9 * arc.radius).then_some(Segment::Arc(Arc { radius, ..*arc }))
        }
        _ => {
            let by = outward(segment.tangent_at(0.0)) * distance;
            Some(Segment::line(segment.start() + by, segment.end() + by))
        }
    }
}

/// What the brush passes over along one segment or around one corner.
#[derive(Debug, Clone)]
pub(super) enum Cell {
    /// Along a line.
    Strip { from: Point, along: Vec2, size: (f64, f64) },
    /// Along an arc, or around a corner.
    Fan { centre: Point, start: f64, sweep: f64, radii: (f64, f64) },
}

impl Cell {
    fn of(segment: &Segment, reach: f64) -> Cell {
        match segment {
            Segment::Arc(arc) => {
                let other = (arc.radius + arc.sign() * reach).max(0.0);
                let radii = (arc.radius.min(other), arc.radius.max(other));
                Cell::Fan { centre: arc.centre, start: arc.start, sweep: arc.sweep, radii }
            }
            _ => Cell::Strip {
                from: segment.start(),
                along: segment.tangent_at(0.0),
                size: (segment.length(), reach),
            },
        }
    }

    /// True for points inside or within a hair of it.
    pub(super) fn holds(&self, p: Point, hair: f64) -> bool {
        match *self {
            Cell::Strip { from, along, size } => {
                let (s, out) = ((p - from).dot(along), (p - from).dot(outward(along)));
                s >= -hair && s <= size.0 + hair && out >= -hair && out <= size.1 + hair
            }
            Cell::Fan { centre, start, sweep, radii } => {
                let away = p - centre;
                let size = away.hypot();
                if size < radii.0 - hair || size > radii.1 + hair {
                    return false;
                }
                let sign = if sweep < 0.0 { -1.0 } else { 1.0 };
                let angle = ((away.atan2() - start) * sign).rem_euclid(TAU);
                let slack = hair / size.max(hair);
                angle <= sweep.abs() + slack || angle >= TAU - slack
            }
        }
    }
}
