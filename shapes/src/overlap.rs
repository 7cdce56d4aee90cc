//! Do two bodies share room?
//!
//! Both outlines are cut where they meet; the stretches of each that run inside the other bound
//! the shared region, so its area is their line integral, exact for lines and arcs. Bodies that
//! only touch share nothing, however long the stretch they touch along.

use kurbo::{Point, Vec2};

use crate::atoms::{Atom, atoms};
use crate::closed_loop::Loop;
use crate::outline::Outline;

/// A region shared by two bodies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// A point within it or on its rim: the deepest one looked at.
    pub at: Point,
    /// Its area.
    pub area: f64,
}

/// Bodies less than this part of the smaller diagonal deep in each other only touch.
const HAIR: f64 = 1e-9;

impl Outline {
    /// The region shared with `other`, unless it is thinner than 1e-9 of the smaller diagonal or
    /// smaller than 1e-9 of the smaller area.
    pub fn overlap(&self, other: &Outline) -> Option<Overlap> {
        let hair = HAIR * self.diagonal().min(other.diagonal());
        let shared = self.bounds().intersect(other.bounds());
        if !(shared.width() > hair && shared.height() > hair) {
            return None;
        }
        let cuts = Cuts::between(self, other, hair);
        let mut rim =
            Rim { area: 0.0, deepest: (hair, None), along: None, origin: shared.center() };
        rim.collect(self, other, &cuts.first, hair, true);
        rim.collect(other, self, &cuts.second, hair, false);
        // nothing runs inside: bodies on the same side of a shared outline are the same body
        let at = rim.deepest.1.or(rim.along)?;
        let least = 1e-9 * self.area().min(other.area());
        (rim.area > least).then_some(Overlap { at, area: rim.area })
    }
}

/// Arc lengths at which each loop of two outlines meets the other outline.
struct Cuts {
    first: Vec<Vec<f64>>,
    second: Vec<Vec<f64>>,
}

impl Cuts {
    fn between(a: &Outline, b: &Outline, hair: f64) -> Cuts {
        let mut cuts = Cuts {
            first: vec![Vec::new(); a.loops().len()],
            second: vec![Vec::new(); b.loops().len()],
        };
        let room = a.bounds().intersect(b.bounds()).inflate(hair, hair);
        let near = |atom: &Atom| !atom.bounds.inflate(hair, hair).intersect(room).is_zero_area();
        let first: Vec<Atom> = atoms(a).into_iter().filter(near).collect();
        let mut second: Vec<Atom> = atoms(b).into_iter().filter(near).collect();
        second.sort_by(|p, q| p.bounds.x0.total_cmp(&q.bounds.x0));
        let widest = second.iter().map(|atom| atom.bounds.width()).fold(0.0, f64::max);
        let mut found = Vec::new();
        for p in &first {
            let begin = second.partition_point(|q| q.bounds.x0 < p.bounds.x0 - widest - hair);
            for q in &second[begin..] {
                if q.bounds.x0 > p.bounds.x1 + hair {
                    break;
                }
                if q.bounds.y0 > p.bounds.y1 + hair || q.bounds.y1 < p.bounds.y0 - hair {
                    continue;
                }
                found.clear();
                p.meets(q, hair, &mut found);
                for at in &found {
                    let (mut s, mut u) = (p.nearest(*at).0, q.nearest(*at).0);
                    if p.is_chord || q.is_chord {
                        (s, u) = refine(&a.loops()[p.on], s, &b.loops()[q.on], u);
                    }
                    cuts.first[p.on].push(s);
                    cuts.second[q.on].push(u);
                }
            }
        }
        for (list, curve) in
            cuts.first.iter_mut().zip(a.loops()).chain(cuts.second.iter_mut().zip(b.loops()))
        {
            list.iter_mut().for_each(|s| *s = curve.wrapped(*s));
            list.sort_by(f64::total_cmp);
            list.dedup_by(|next, kept| *next - *kept <= 1e-12 * curve.length());
        }
        cuts
    }
}

/// Newton from a crossing of chords to the crossing of the curves they follow.
fn refine(a: &Loop, s: f64, b: &Loop, u: f64) -> (f64, f64) {
    let gap = |s: f64, u: f64| b.point_at(u) - a.point_at(s);
    let (mut s, mut u) = (s, u);
    for _ in 0..3 {
        let miss = gap(s, u);
        let (along, across) = (a.tangent_at(s), b.tangent_at(u));
        let cross = along.cross(across);
        // curves that touch have no better-defined crossing
        if cross.abs() < 1e-3 {
            break;
        }
        let (next_s, next_u) = (s + miss.cross(across) / cross, u + miss.cross(along) / cross);
        if !(gap(next_s, next_u).hypot() < miss.hypot()) {
            break;
        }
        (s, u) = (next_s, next_u);
    }
    (s, u)
}

/// The rim of the shared region, as far as collected.
struct Rim {
    area: f64,
    /// How deep the deepest point found lies, and where.
    deepest: (f64, Option<Point>),
    /// A point where both outlines run along each other with the bodies on the same side.
    along: Option<Point>,
    origin: Point,
}

impl Rim {
    /// Adds the stretches of `body` inside `other`; with `shared`, also those they have in common.
    fn collect(
        &mut self,
        body: &Outline,
        other: &Outline,
        cuts: &[Vec<f64>],
        hair: f64,
        shared: bool,
    ) {
        for (curve, cuts) in body.loops().iter().zip(cuts) {
            for (from, to) in stretches(curve, cuts) {
                match side(curve, from, to, other, hair) {
                    Side::Inside(depth, at) => {
                        self.add(curve, from, to);
                        if depth > self.deepest.0 {
                            self.deepest = (depth, Some(at));
                        }
                    }
                    Side::Along(at) if shared => {
                        self.add(curve, from, to);
                        self.along = self.along.or(Some(at));
                    }
                    _ => {}
                }
            }
        }
    }

    fn add(&mut self, curve: &Loop, from: f64, to: f64) {
        let pieces = curve.stretch(from, to);
        self.area += pieces.iter().map(|piece| piece.area_about(self.origin)).sum::<f64>();
    }
}

/// The stretches between cuts, all around; the whole loop where there is no cut.
fn stretches(curve: &Loop, cuts: &[f64]) -> Vec<(f64, f64)> {
    match cuts {
        [] => vec![(0.0, curve.length())],
        [only] => vec![(*only, *only + curve.length())],
        _ => {
            let around = cuts[0] + curve.length();
            let next = cuts[1..].iter().copied().chain([around]);
            cuts.iter().copied().zip(next).collect()
        }
    }
}

/// Where a stretch of one outline runs with respect to another body.
enum Side {
    /// Inside, so deep, there.
    Inside(f64, Point),
    /// On its outline, both bodies on the same side.
    Along(Point),
    /// Outside, or on its outline with the bodies on opposite sides.
    Outside,
}

fn side(curve: &Loop, from: f64, to: f64, other: &Outline, hair: f64) -> Side {
    let mut farthest = (0.0, 0.0, Point::ORIGIN);
    for part in [0.5, 0.31, 0.73] {
        let s = from + part * (to - from);
        let at = curve.point_at(s);
        let distance = other.signed_distance(at);
        if distance.abs() > f64::abs(farthest.0) || part == 0.5 {
            farthest = (distance, s, at);
        }
    }
    let (distance, s, at) = farthest;
    if distance < -hair {
        Side::Inside(-distance, at)
    } else if distance <= hair {
        let (index, u, _) = other.nearest(at);
        let theirs: Vec2 = other.loops()[index].tangent_at(u);
        if curve.tangent_at(s).dot(theirs) > 0.0 { Side::Along(at) } else { Side::Outside }
    } else {
        Side::Outside
    }
}
