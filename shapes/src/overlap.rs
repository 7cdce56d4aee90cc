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
                        let (on, across) = (&a.loops()[p.on], &b.loops()[q.on]);
                        if p.is_chord && q.is_chord && run_along(on, s, across, u) {
                            continue;
                        }
                        (s, u) = refine(on, s, across, u);
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

/// True where two curves followed by chords are parallel: running along each other, their chords
/// would meet thousands of times. A stretch that is not cut where it leaves the other is still
/// on one side of it.
fn run_along(a: &Loop, s: f64, b: &Loop, u: f64) -> bool {
    a.tangent_at(s).cross(b.tangent_at(u)).abs() < 1e-5
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
        if gap(next_s, next_u).hypot() >= miss.hypot() {
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

/// The stretches between cuts, all around; the whole loop where there is no cut, or only one: from a
/// cut once around to itself, rounding might leave nothing.
fn stretches(curve: &Loop, cuts: &[f64]) -> Vec<(f64, f64)> {
    match cuts {
        [] | [_] => vec![(0.0, curve.length())],
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

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(x: f64, radius: f64) -> Outline {
        Outline::disc(Point::new(x, 0.0), radius).expect("a disc")
    }

    fn rect(x: f64, y: f64, w: f64, h: f64) -> Outline {
        let centre = Point::new(x + 0.5 * w, y + 0.5 * h);
        Outline::rect(centre, (w, h), 0.0).expect("a rectangle")
    }

    #[test]
    fn the_lens_of_two_discs_has_its_closed_form() {
        // radii R, r at the distance d: R² acos((d²+R²-r²)/2dR) + ... - kite
        for depth in [1e-4, 0.1, 1.0, 2.0] {
            let (big, small) = (3.0f64, 2.0f64);
            let d = big + small - depth;
            let a = ((d * d + big * big - small * small) / (2.0 * d * big)).acos();
            let b = ((d * d + small * small - big * big) / (2.0 * d * small)).acos();
            let sector = |r: f64, angle: f64| r * r * (angle - angle.sin() * angle.cos());
            let exact = sector(big, a) + sector(small, b);
            let found = disc(0.0, big).overlap(&disc(d, small)).expect("they overlap");
            assert!(
                (found.area - exact).abs() < 1e-9 * exact.max(1e-5),
                "{depth}: {} {exact}",
                found.area
            );
            assert!(disc(0.0, big).distance(found.at) < depth + 1e-9);
        }
    }

    #[test]
    fn one_inside_the_other_shares_the_whole_of_it() {
        let found = disc(0.0, 3.0).overlap(&disc(0.5, 1.0)).expect("inside");
        assert!((found.area - std::f64::consts::PI).abs() < 1e-12);
        let found = disc(0.5, 1.0).overlap(&disc(0.0, 3.0)).expect("inside");
        assert!((found.area - std::f64::consts::PI).abs() < 1e-12);
        let same = disc(0.5, 1.0).overlap(&disc(0.5, 1.0)).expect("the same body");
        assert!((same.area - std::f64::consts::PI).abs() < 1e-12);
        // touching from inside
        let found = disc(0.0, 3.0).overlap(&disc(2.0, 1.0)).expect("inside");
        assert!((found.area - std::f64::consts::PI).abs() < 1e-9);
        let found = rect(0.0, 0.0, 4.0, 4.0).overlap(&rect(0.0, 1.0, 2.0, 1.0)).expect("inside");
        assert!((found.area - 2.0).abs() < 1e-12);
    }

    #[test]
    fn one_that_touches_the_rim_of_another_from_inside_anywhere_is_inside() {
        let room = rect(0.1, 0.2, 4.0, 3.0);
        for k in 0..200 {
            let (x, radius) = (1.0 + 0.01 * f64::from(k), 0.3 + 0.0031 * f64::from(k));
            let rod = Outline::disc(Point::new(x, 0.2 + radius), radius).expect("a disc");
            let exact = std::f64::consts::PI * radius * radius;
            // on its edge, and a square on its corner
            let square = Outline::rect(Point::ORIGIN, (radius, radius), 0.0).expect("a square");
            let square = square.turned(45.0).moved(Vec2::new(x, 0.2 + 0.5f64.sqrt() * radius));
            for (body, exact) in [(rod, exact), (square, radius * radius)] {
                for degrees in [0.0, 90.0, 17.3 + f64::from(k)] {
                    let turned = |o: &Outline| o.turned_about(degrees, Point::new(5.3, -2.7));
                    let found = turned(&room).overlap(&turned(&body)).map(|o| o.area);
                    let found = found.expect("inside");
                    assert!((found - exact).abs() < 1e-8 * exact, "{k} {degrees}: {found}");
                }
            }
        }
    }

    #[test]
    fn touching_is_not_overlapping() {
        assert_eq!(disc(0.0, 3.0).overlap(&disc(5.0, 2.0)), None);
        assert_eq!(rect(0.0, 0.0, 4.0, 4.0).overlap(&rect(4.0, -1.0, 3.0, 3.0)), None);
        assert_eq!(rect(0.0, 0.0, 4.0, 4.0).overlap(&rect(4.0, 4.0, 3.0, 3.0)), None);
        // turned by an angle that rounds, edge on edge
        let turned = |outline: Outline| outline.turned_about(17.3, Point::new(0.3, 0.1));
        let (a, b) = (turned(rect(0.0, 0.0, 4.0, 4.0)), turned(rect(4.0, -1.0, 3.0, 3.0)));
        assert_eq!(a.overlap(&b), None);
        // a rod that fills the bore of a tube
        let tube = Outline::ring(Point::ORIGIN, 3.0, 2.0).expect("a tube");
        assert_eq!(tube.overlap(&disc(0.0, 2.0)), None);
        assert_eq!(tube.overlap(&disc(0.0, 1.0)), None);
        let drawn = Outline::path("M2 0A2 2 0 0 1 -2 0A2 2 0 0 1 2 0Z").expect("the rod again");
        assert_eq!(tube.overlap(&drawn), None);
    }

    #[test]
    fn a_hair_of_overlap_in_a_large_drawing_is_found() {
        let (a, b) = (rect(0.0, 0.0, 2.0, 1.0), rect(2.0 - 1e-7, 0.0, 1.0, 1.0));
        let found = a.overlap(&b).expect("0.1 µm in metres");
        assert!((found.area - 1e-7).abs() < 1e-14);
    }

    #[test]
    fn crossing_bars_share_the_crossing() {
        let found = rect(0.0, 4.0, 10.0, 2.0).overlap(&rect(3.0, 0.0, 1.0, 10.0)).expect("a cross");
        assert!((found.area - 2.0).abs() < 1e-12);
        // U shape with its legs in one bar: two regions
        let u = Outline::path("M0 0H6V5H5V1H1V5H0Z").expect("a U");
        let found = u.overlap(&rect(-1.0, 3.0, 8.0, 1.0)).expect("both legs");
        assert!((found.area - 2.0).abs() < 1e-12);
    }

    #[test]
    fn beziers_overlap_too() {
        // under the parabola y = x (2 - x): below y = 1/2 the area left is 4/3 - cap
        let cap = Outline::path("M0 0Q1 2 2 0Z").expect("a cap");
        let found = cap.overlap(&rect(-1.0, 0.5, 4.0, 3.0)).expect("its top");
        // top above y = 1/2: half width √(1/2), height 1/2
        let exact = 4.0 / 3.0 * 0.5f64.sqrt() * 0.5;
        assert!((found.area - exact).abs() < 1e-10, "{} {exact}", found.area);
        assert_eq!(cap.overlap(&rect(-1.0, 1.0, 4.0, 3.0)), None);
        let same = cap.overlap(&cap.clone()).expect("itself");
        assert!((same.area - 4.0 / 3.0).abs() < 1e-9);
    }
}
