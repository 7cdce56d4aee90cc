//! Hollows of a part: stretches of its outline that lie inside its convex hull, and bores.
use shapes::{Point, Vec2};

use super::sight;
use crate::layout::Body;

/// A hollow. A bore has no mouth in the section.
#[derive(Debug, Clone, PartialEq)]
pub struct Pocket {
    /// Which body.
    pub body: usize,
    /// Middle of its mouth; of a bore, its own middle.
    pub mouth: Point,
    /// Width of the mouth, m; `None` for a bore.
    pub mouth_m: Option<f64>,
    /// Middle of its deepest stretch.
    pub bottom: Point,
    /// From the mouth to the bottom, m; of a bore, half its largest extent.
    pub depth_m: f64,
    /// Mean width: area over depth, m.
    pub width_m: f64,
    /// Its outline, from one side of the mouth to the other.
    pub outline: Vec<Point>,
}

/// A pocket shallower than this share of the part's size is a dent.
const DENT: f64 = 0.03;

impl Pocket {
    /// Depth over mean width.
    pub fn aspect(&self) -> f64 {
        self.depth_m / self.width_m
    }

    /// How far a place lies behind the mouth, m.
    pub fn depth_of(&self, at: Point) -> f64 {
        let inward = self.inward();
        (at - self.mouth).dot(inward).max(0.0)
    }

    /// Unit vector from the mouth to the bottom.
    pub fn inward(&self) -> Vec2 {
        let way = self.bottom - self.mouth;
        if way.hypot() > 0.0 { way / way.hypot() } else { Vec2::new(1.0, 0.0) }
    }

    /// How near the outline of the hollow a place lies, m.
    pub fn distance(&self, at: Point) -> f64 {
        let chords = self.outline.windows(2);
        chords.map(|c| to_chord(at, c[0], c[1])).fold(f64::INFINITY, f64::min)
    }
}

fn to_chord(p: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let t = if along.hypot2() > 0.0 { (p - a).dot(along) / along.hypot2() } else { 0.0 };
    (a + along * t.clamp(0.0, 1.0) - p).hypot()
}

/// The hollows of a body, the deepest against its width first.
pub fn pockets(index: usize, body: &Body) -> Vec<Pocket> {
    let size = body.outline.diagonal();
    let mut out = Vec::new();
    for (points, curve) in sight::points(&body.outline).iter().zip(body.outline.loops()) {
        if curve.is_hole() {
            out.extend(bore(index, points));
        } else {
            out.extend(open(index, points).filter(|p| p.depth_m > DENT * size));
        }
    }
    out.sort_by(|a, b| b.aspect().total_cmp(&a.aspect()));
    out
}

fn bore(body: usize, points: &[Point]) -> Option<Pocket> {
    let bounds = points
        .iter()
        .fold(shapes::Rect::from_points(*points.first()?, points[0]), |r, p| r.union_pt(*p));
    let middle = bounds.center();
    let (long, short) = (bounds.width().max(bounds.height()), bounds.width().min(bounds.height()));
    let mut outline = points.to_vec();
    outline.push(points[0]);
    Some(Pocket {
        body,
        mouth: middle,
        mouth_m: None,
        bottom: middle,
        depth_m: 0.5 * long,
        width_m: short,
        outline,
    })
}

fn open(body: usize, points: &[Point]) -> impl Iterator<Item = Pocket> {
    let mut hull = shapes::hull(points);
    // in the order of the loop
    hull.sort_unstable();
    let n = points.len();
    let mut out = Vec::new();
    for (k, &from) in hull.iter().enumerate() {
        let to = hull[(k + 1) % hull.len()];
        let count = (to + n - from) % n;
        if count < 2 {
            continue;
        }
        let outline: Vec<Point> = (0..=count).map(|j| points[(from + j) % n]).collect();
        out.extend(pocket(body, outline));
    }
    out.into_iter()
}

fn pocket(body: usize, outline: Vec<Point>) -> Option<Pocket> {
    let (a, b) = (*outline.first()?, *outline.last()?);
    let lid = b - a;
    let inward = Vec2::new(-lid.y, lid.x) / lid.hypot();
    let depth = |p: Point| (p - a).dot(inward);
    let depth_m = outline.iter().map(|p| depth(*p)).fold(0.0, f64::max);
    // flats beside the mouth lie on the hull without being corners of it
    let flat = |p: &Point| depth(*p) <= 1e-6 * depth_m;
    let first = outline.iter().take_while(|p| flat(p)).count().saturating_sub(1);
    let last = outline.len() - outline.iter().rev().take_while(|p| flat(p)).count().max(1);
    let outline = outline.get(first..=last)?.to_vec();
    let (a, b) = (*outline.first()?, *outline.last()?);
    let lid = b - a;
    let twice: f64 = outline.windows(2).map(|c| (c[0] - a).cross(c[1] - a)).sum();
    let deep: Vec<Point> = outline.iter().copied().filter(|p| depth(*p) > 0.98 * depth_m).collect();
    let (sum, count) = deep.iter().fold((Vec2::ZERO, 0.0), |(s, n), p| (s + p.to_vec2(), n + 1.0));
    (depth_m > 0.0 && lid.hypot() > 0.0).then(|| Pocket {
        body,
        mouth: a.midpoint(b),
        mouth_m: Some(lid.hypot()),
        bottom: (sum / count).to_point(),
        depth_m,
        width_m: 0.5 * twice.abs() / depth_m,
        outline,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Role;
    use crate::sample::{body, linear, polygon, rect};

    /// A slot of 4 mm by 30 mm into a block: depth 30, width 4 mm, mouth 4 mm.
    #[test]
    fn a_slot_is_a_pocket_of_its_depth_and_width() {
        let slotted = polygon(&[
            [0.02, 0.02],
            [0.08, 0.02],
            [0.08, 0.06],
            [0.052, 0.06],
            [0.052, 0.03],
            [0.048, 0.03],
            [0.048, 0.06],
            [0.02, 0.06],
        ]);
        let found = pockets(0, &body("slot", Role::Part, slotted, linear(1e-3)));
        let [slot] = &found[..] else { panic!("{found:?}") };
        assert!((slot.depth_m - 0.03).abs() < 1e-12 && (slot.width_m - 0.004).abs() < 1e-12);
        assert!((slot.mouth_m.expect("open") - 0.004).abs() < 1e-12);
        assert!((slot.bottom - Point::new(0.05, 0.03)).hypot() < 1e-12);
        assert!((slot.aspect() - 7.5).abs() < 1e-9);
        assert!((slot.depth_of(Point::new(0.048, 0.05)) - 0.01).abs() < 1e-12);
    }

    #[test]
    fn a_plate_has_no_pocket_and_a_tube_has_its_bore() {
        let plate = body("plate", Role::Part, rect(0.02, 0.02, 0.08, 0.03), linear(1e-3));
        assert!(pockets(0, &plate).is_empty());
        let ring = shapes::Outline::ring(Point::new(0.1, 0.05), 0.02, 0.015).expect("a ring");
        let found = pockets(3, &body("tube", Role::Part, ring, linear(1e-3)));
        let [bore] = &found[..] else { panic!("{found:?}") };
        assert_eq!((bore.body, bore.mouth_m), (3, None));
        assert!((bore.width_m - 0.03).abs() < 1e-3);
    }
}
