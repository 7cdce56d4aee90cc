//! The region of a conforming outline, and its boundary out of offset lines and arcs.

use kurbo::{Point, Rect};

use super::arcs::lines_and_arcs;
use super::brush::{Cell, Chain};
use super::{Distances, FollowError, Followed, Following, Missed, Room};
use crate::arc::Arc;
use crate::atoms::Atom;
use crate::closed_loop::Loop;
use crate::error::ShapeError;
use crate::gap::box_gap;
use crate::import::{DrawingError, chains};
use crate::outline::Outline;
use crate::segment::Segment;

/// Béziers become arcs within this share of the gap; the near face is that close to even.
const STRAY: f64 = 1e-5;
/// Curves that come this near to each other meet, as a share of the drawing's size.
const HAIR: f64 = 1e-11;
/// How far beside a piece of the boundary it is asked whether the region is there, as such a share:
/// well above a hair, well below anything a drawing shows.
const ASIDE: f64 = 1e-8;
/// Ends this many times as far apart belong together; where there are pieces as short, those that are
/// closer.
const JOINED: f64 = 20.0;
const CLOSER: [f64; 4] = [5.0, 1.0, 0.2, 0.05];
/// Pieces this small, as a share of the largest, are crumbs.
const CRUMB: f64 = 0.01;
/// A stretch farther than this many gaps from the outline is missed; a nook of 90° is at √2.
const MISSED: f64 = 1.75;
/// Metal thinner than this share of the way to the outline does not hide it.
const LEAST_STEP: f64 = 1e-3;

pub(super) struct Region<'a> {
    /// The followed body, of lines and arcs only.
    body: Outline,
    stretches: Vec<Chain>,
    cells: Vec<Cell>,
    by: Distances,
    /// What it may come near to.
    others: Vec<&'a Outline>,
    tank: &'a Outline,
    /// The tank's walls; without what lies on the axis of a round one.
    walls: Vec<Segment>,
    axis: bool,
    /// Box around all that the brush passes over.
    reach: Rect,
    size: f64,
}

impl<'a> Region<'a> {
    pub(super) fn new(
        body: &Outline,
        stretches: &[Followed],
        by: Distances,
        room: Room<'a>,
    ) -> Result<Self, FollowError> {
        let tolerance = STRAY * by.gap;
        let (mut loops, mut parts) = (Vec::new(), Vec::new());
        for (index, curve) in body.loops().iter().enumerate() {
            let cuts: Vec<_> = stretches.iter().filter(|s| s.loop_index == index).collect();
            let mut add = |segments: Vec<Segment>, closed: bool| {
                parts.push(Chain { segments, closed });
            };
            for cut in &cuts {
                match cut.between {
                    None => add(lines_and_arcs(curve.segments(), tolerance), true),
                    Some((from, to)) => {
                        let mut pieces = curve.stretch(from, to);
                        // an end on a corner up to rounding leaves a crumb of any direction
                        pieces.retain(|piece| piece.length() > 1e-9 * curve.length());
                        add(lines_and_arcs(&pieces, tolerance), false);
                    }
                }
            }
            loops.push(Loop::close(lines_and_arcs(curve.segments(), tolerance))?);
        }
        let length = by.gap + by.thickness;
        let bounds = parts.iter().filter_map(Chain::bounds).reduce(|a, b| a.union(b));
        let Some(bounds) = bounds else { return Err(ShapeError::NoArea.into()) };
        let reach = bounds.inflate(length, length);
        let far =
            |r: Rect| [r.x0, r.x1, r.y0, r.y1].into_iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let size = far(reach.union(body.bounds()));
        if !size.is_finite() {
            return Err(ShapeError::NotFinite { what: "every coordinate of an outline" }.into());
        }
        let on_axis = |s: &Segment| {
            room.axis
                && [s.start(), s.end()].iter().all(|p| p.x.abs() <= ASIDE * size)
                && s.is_line()
        };
        let tank = room.tank;
        let walls = tank.loops().iter().flat_map(|l| lines_and_arcs(l.segments(), tolerance));
        let near = |other: &&Outline| box_gap(other.bounds(), reach) <= by.clearance;
        Ok(Self {
            body: Outline::of_loops(loops),
            cells: parts.iter().flat_map(|chain| chain.cells(length)).collect(),
            stretches: parts,
            by,
            others: room.others.iter().copied().filter(near).collect(),
            tank,
            walls: walls.filter(|s| !on_axis(s)).collect(),
            axis: room.axis,
            reach,
            size,
        })
    }

    /// True where the tank and the other bodies leave room.
    fn free(&self, p: Point) -> bool {
        let clear = |other: &&Outline| {
            box_gap(other.bounds(), Rect::from_points(p, p))
                >= self.by.clearance.max(ASIDE * self.size)
                || other.signed_distance(p) >= self.by.clearance
        };
        (!self.axis || p.x >= 0.0)
            && self.tank.contains(p)
            && self.walls.iter().all(|wall| {
                let nearest = crate::distance::nearest_on(wall, wall.start(), wall.end(), p).1;
                (nearest - p).hypot() >= self.by.clearance
            })
            && self.others.iter().all(clear)
    }

    fn holds(&self, p: Point) -> bool {
        let hair = HAIR * self.size;
        self.cells.iter().any(|cell| cell.holds(p, hair))
            && self.body.signed_distance(p) >= self.by.gap
            && self.free(p)
    }

    /// Every curve that may bound the region.
    fn curves(&self) -> Vec<Atom> {
        let Distances { gap, thickness, clearance } = self.by;
        let whole = |curve: &Loop, tolerance: f64| Chain {
            segments: lines_and_arcs(curve.segments(), tolerance),
            closed: true,
        };
        let mut all: Vec<Segment> = Vec::new();
        for curve in self.body.loops() {
            all.extend(whole(curve, 1.0).offset(gap));
        }
        for chain in &self.stretches {
            all.extend(chain.offset(gap + thickness));
            all.extend(chain.edges(gap + thickness));
        }
        let tolerance = STRAY * gap;
        for curve in self.others.iter().flat_map(|other| other.loops()) {
            all.extend(whole(curve, tolerance).offset(clearance));
        }
        for curve in self.tank.loops() {
            all.extend(whole(&curve.reversed(), tolerance).offset(clearance));
        }
        if self.axis {
            let Rect { y0, y1, .. } = self.reach;
            all.push(Segment::line(Point::new(0.0, y0), Point::new(0.0, y1)));
        }
        let near = |s: &Segment| box_gap(s.bounds(), self.reach) <= ASIDE * self.size;
        all.into_iter().filter(|s| near(s) && s.length() > ASIDE * self.size).map(atom).collect()
    }

    pub(super) fn outline(&self) -> Result<Following, FollowError> {
        let pieces = self.boundary();
        if pieces.is_empty() {
            return Err(self.no_room());
        }
        let joined = |near: f64| chains(pieces.clone(), near * ASIDE * self.size);
        let closer = |why| CLOSER.into_iter().find_map(|near| joined(near).ok()).ok_or(why);
        let closed = joined(JOINED).or_else(closer).map_err(|error| match error {
            DrawingError::Open { at, .. }
            | DrawingError::Branch { at, .. }
            | DrawingError::Duplicate { at } => FollowError::Tangled { at },
            _ => FollowError::Tangled { at: self.reach.center() },
        })?;
        let merged =
            closed.into_iter().map(|chain| merged(chain, 1e3 * HAIR * self.size)).collect();
        self.told(&Outline::from_segments(merged)?)
    }

    /// The pieces of the curves that have the region on exactly one side.
    fn boundary(&self) -> Vec<Segment> {
        let curves = self.curves();
        let aside = ASIDE * self.size;
        let mut kept: Vec<Segment> = Vec::new();
        for (curve, mut stops) in curves.iter().zip(self.stops(&curves)) {
            let length = curve.segment.length();
            stops.extend([0.0, length]);
            stops.sort_by(f64::total_cmp);
            stops.dedup_by(|next, last| *next - *last <= aside);
            if let (Some(last), true) = (stops.last_mut(), length > aside) {
                *last = length;
            }
            for pair in stops.windows(2) {
                let middle = 0.5 * (pair[0] + pair[1]);
                let (at, along) =
                    (curve.segment.point_at(middle), curve.segment.tangent_at(middle));
                let side = kurbo::Vec2::new(-along.y, along.x) * aside;
                if self.holds(at + side) != self.holds(at - side) {
                    kept.push(curve.segment.piece(pair[0], pair[1]));
                }
            }
        }
        // offsets of sides that meet at nearly no angle cross at nearly none: behind the crossing they
        // are nearer to each other than what can be told apart, as far as this
        let farthest = (self.by.gap + self.by.thickness).max(self.by.clearance);
        let stub = 2.0 * (farthest * aside).sqrt();
        trimmed(once(kept, 4.0 * aside), 4.0 * aside, stub)
    }

    /// Arc lengths at which each curve meets another.
    fn stops(&self, curves: &[Atom]) -> Vec<Vec<f64>> {
        let hair = HAIR * self.size;
        let mut stops = vec![Vec::new(); curves.len()];
        let mut order: Vec<usize> = (0..curves.len()).collect();
        order.sort_by(|a, b| curves[*a].bounds.x0.total_cmp(&curves[*b].bounds.x0));
        let mut open: Vec<usize> = Vec::new();
        let mut found = Vec::new();
        for current in order {
            let a = &curves[current];
            open.retain(|other| curves[*other].bounds.x1 >= a.bounds.x0 - hair);
            for &other in &open {
                let b = &curves[other];
                if b.bounds.y0 > a.bounds.y1 + hair || b.bounds.y1 < a.bounds.y0 - hair {
                    continue;
                }
                found.clear();
                a.meets(b, hair, &mut found);
                for &p in &found {
                    stops[current].push(a.nearest(p).0);
                    stops[other].push(b.nearest(p).0);
                }
            }
            open.push(current);
        }
        stops
    }

    /// Without crumbs, and with what the planner should know.
    fn told(&self, outline: &Outline) -> Result<Following, FollowError> {
        let gap = self.by.gap;
        let at_gap = |s: &Segment| {
            let middle = s.point_at(0.5 * s.length());
            self.stretches.iter().any(|chain| chain.distance(middle) <= gap * (1.0 + 10.0 * STRAY))
        };
        let (holes, outer): (Vec<&Loop>, Vec<&Loop>) =
            outline.loops().iter().partition(|l| l.is_hole());
        let inside = |hole: &Loop, outer: &Loop| outer.encloses(hole.point_at(0.0));
        let mut islands: Vec<(f64, Vec<&Loop>)> = Vec::new();
        for edge in outer {
            let mut loops = vec![edge];
            loops.extend(holes.iter().copied().filter(|hole| inside(hole, edge)));
            // what lies beyond a wall without a face of its own is no part of it
            if loops.iter().flat_map(|l| l.segments()).any(at_gap) {
                islands.push((loops.iter().map(|l| l.area()).sum(), loops));
            }
        }
        let most = islands.iter().map(|(area, _)| *area).fold(0.0, f64::max);
        if most <= 0.0 {
            return Err(self.no_room());
        }
        let all = islands.len();
        islands.retain(|(area, _)| *area >= CRUMB * most);
        let pieces = islands.len();
        let loops = islands.into_iter().flat_map(|(_, loops)| loops).cloned().collect();
        let outline = Outline::of_loops(loops);
        let missed = self.missed(&outline);
        Ok(Following { outline, pieces, crumbs: all - pieces, missed })
    }

    fn missed(&self, outline: &Outline) -> Option<Missed> {
        let gap = self.by.gap;
        let faces: Vec<Point> = outline.loops().iter().flat_map(looks).collect();
        let places = self.stretches.iter().flat_map(Chain::places);
        let far: Vec<_> = places
            .map(|(at, out)| (self.in_sight(at, outline, &faces), at, out))
            .filter(|far| far.0 > MISSED * gap)
            .collect();
        let &(distance, at, _) = far.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        let room = |at: Point, out: kurbo::Vec2| {
            let clear = |r: f64| self.body.signed_distance(at + out * r) >= r * (1.0 - 1e-9);
            if clear(gap) { gap } else { bisect(0.0, gap, clear) }
        };
        // beside a nook there is little room in any recess: the widest place counts
        let fits = far.iter().map(|(_, at, out)| room(*at, *out)).fold(0.0, f64::max);
        Some(Missed { at, distance, fits: (fits < gap).then_some(fits) })
    }

    /// Distance from a place of the body to the outline, not counting what lies behind the body.
    fn in_sight(&self, from: Point, outline: &Outline, faces: &[Point]) -> f64 {
        let seen = |to: Point| {
            let length = (to - from).hypot();
            let least = LEAST_STEP * length;
            // from step to step as far as there is surely no metal
            let mut along = least;
            while along < length {
                let clear = self.body.signed_distance(from.lerp(to, along / length));
                if clear < 0.0 {
                    return false;
                }
                along += clear.max(least);
            }
            true
        };
        let nearest = outline.nearest(from).2;
        if seen(nearest) {
            return (nearest - from).hypot();
        }
        let mut by_distance: Vec<(f64, Point)> =
            faces.iter().map(|face| ((*face - from).hypot(), *face)).collect();
        by_distance.sort_by(|a, b| a.0.total_cmp(&b.0));
        by_distance.into_iter().find(|(_, face)| seen(*face)).map_or(f64::INFINITY, |found| found.0)
    }

    /// The greatest smaller gap at which a face has room anywhere along the stretch.
    fn no_room(&self) -> FollowError {
        const STEPS: i32 = 40;
        let gap = self.by.gap;
        let mut best: Option<(f64, Point)> = None;
        for (at, out) in self.stretches.iter().flat_map(Chain::places) {
            let clear = |r: f64| {
                let p = at + out * r;
                self.body.signed_distance(p) >= r * (1.0 - 1e-9) && self.free(p)
            };
            let above = |k: i32| gap * f64::from(k) / f64::from(STEPS);
            let least = best.map_or(0.0, |(fits, _)| fits);
            let step = (1..STEPS).rev().find(|k| above(*k + 1) > least && clear(above(*k)));
            if let Some(k) = step {
                let fits = bisect(above(k), above(k + 1), clear);
                if fits > least {
                    best = Some((fits, at));
                }
            }
        }
        FollowError::NoRoom { gap, fits: best }
    }
}

/// Joints of a loop and a few places between them.
fn looks(curve: &Loop) -> Vec<Point> {
    const ON_EACH: usize = 8;
    let on = |s: &Segment| {
        let length = s.length();
        (0..ON_EACH).map(|k| s.point_at(length * k as f64 / ON_EACH as f64)).collect::<Vec<_>>()
    };
    curve.segments().iter().flat_map(on).collect()
}

/// The end of what is `true` between a number for which it is and one for which it is not.
fn bisect(mut yes: f64, mut no: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..50 {
        let middle = 0.5 * (yes + no);
        if holds(middle) { yes = middle } else { no = middle }
    }
    yes
}

fn atom(segment: Segment) -> Atom {
    let (from, to, bounds) = (segment.start(), segment.end(), segment.bounds());
    let s = (0.0, segment.length());
    Atom { segment, from, to, bounds, on: 0, order: 0, count: 1, s, is_chord: false }
}

/// The pieces, each place once: of two that lie on each other one is left.
fn once(pieces: Vec<Segment>, near: f64) -> Vec<Segment> {
    let ends = |s: &Segment| [s.start(), s.end(), s.point_at(0.5 * s.length())];
    let mut kept: Vec<([Point; 3], Segment)> = Vec::new();
    let same = |a: Point, b: Point| (a - b).hypot() <= near;
    for piece in pieces {
        let [from, to, middle] = ends(&piece);
        let known = kept.iter().any(|([f, t, m], _)| {
            same(*m, middle)
                && ((same(*f, from) && same(*t, to)) || (same(*f, to) && same(*t, from)))
        });
        if !known {
            kept.push(([from, to, middle], piece));
        }
    }
    kept.into_iter().map(|(_, piece)| piece).collect()
}

/// The pieces without those no longer than `stub` of which an end meets nothing.
fn trimmed(mut pieces: Vec<Segment>, near: f64, stub: f64) -> Vec<Segment> {
    let ends = |s: &Segment| [s.start(), s.end()];
    loop {
        let meets = |k: usize, p: Point| {
            let others = pieces.iter().enumerate().filter(|(j, _)| *j != k);
            others.flat_map(|(_, s)| ends(s)).any(|q| (p - q).hypot() <= near)
        };
        let loose = |k: &usize| {
            let piece = &pieces[*k];
            piece.length() <= stub && ends(piece).into_iter().any(|p| !meets(*k, p))
        };
        let Some(k) = (0..pieces.len()).find(loose) else { return pieces };
        pieces.remove(k);
    }
}

/// The chain with neighbours of one line or one circle made one.
fn merged(chain: Vec<Segment>, near: f64) -> Vec<Segment> {
    let mut out: Vec<Segment> = Vec::new();
    for segment in chain {
        match out.last().and_then(|last| joined(last, &segment, near)) {
            Some(whole) => *out.last_mut().expect("there is a last one") = whole,
            None => out.push(segment),
        }
    }
    // around the end
    while out.len() > 1 {
        let Some(whole) = joined(&out[out.len() - 1], &out[0], near) else { break };
        out[0] = whole;
        out.pop();
    }
    out
}

fn joined(a: &Segment, b: &Segment, near: f64) -> Option<Segment> {
    match (a, b) {
        (Segment::Line(p), Segment::Line(q)) => {
            let (along, on) = (p.p1 - p.p0, q.p1 - p.p0);
            let off = along.cross(on).abs() / along.hypot();
            let straight = off <= near && (q.p1 - q.p0).dot(along) > 0.0;
            straight.then(|| Segment::line(p.p0, q.p1))
        }
        (Segment::Arc(p), Segment::Arc(q)) => {
            let same = (p.centre - q.centre).hypot() <= near
                && (p.radius - q.radius).abs() <= near
                && p.sign() == q.sign();
            let sweep = p.sweep + q.sweep;
            let full = std::f64::consts::TAU;
            (same && sweep.abs() <= full * (1.0 + 1e-9)).then(|| {
                let sweep = if sweep.abs() > full * (1.0 - 1e-9) { p.sign() * full } else { sweep };
                Segment::Arc(Arc { sweep, ..*p })
            })
        }
        _ => None,
    }
}
