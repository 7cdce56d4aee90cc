//! How far apart two outlines are.

use kurbo::{Point, Rect};

use crate::atoms::{Atom, atoms};
use crate::outline::Outline;
use crate::segment::Segment;

impl Outline {
    /// True where the outlines come within `tolerance` of each other or cross.
    pub fn touches(&self, other: &Outline, tolerance: f64) -> bool {
        if box_gap(self.bounds(), other.bounds()) > tolerance {
            return false;
        }
        self.gap(other) <= tolerance
    }

    /// Least distance between the two outlines, zero where they cross. A body wholly inside the
    /// other has a gap too.
    ///
    /// Exact for lines and arcs, Béziers within 1e-7 of their outline's diagonal. O(n m) boxes.
    pub fn gap(&self, other: &Outline) -> f64 {
        let (first, second) = (atoms(self), atoms(other));
        let hair = 1e-12 * self.diagonal().max(other.diagonal());
        let mut least = f64::INFINITY;
        let mut found = Vec::new();
        for a in &first {
            if box_gap(a.bounds, other.bounds()) >= least {
                continue;
            }
            for b in &second {
                if box_gap(a.bounds, b.bounds) >= least {
                    continue;
                }
                found.clear();
                a.meets(b, hair, &mut found);
                if !found.is_empty() {
                    return 0.0;
                }
                least = least.min(reach(a, b)).min(reach(b, a));
            }
        }
        least
    }
}

/// Least distance from a few places of `a` to `b`.
fn reach(a: &Atom, b: &Atom) -> f64 {
    nearest_places(a, b).into_iter().flatten().map(|p| b.distance(p)).fold(f64::INFINITY, f64::min)
}

/// Places of `a` of which one is the nearest to `b`, if it lies on `a` at all: its ends, and where
/// it is an arc the points nearest to and farthest from the other's centre or foot.
pub(crate) fn nearest_places(a: &Atom, b: &Atom) -> [Option<Point>; 4] {
    let ask = |place: Point| Some(a.nearest(place).1);
    let (third, fourth) = match (&a.segment, &b.segment) {
        (Segment::Arc(arc), Segment::Arc(other)) => (
            ask(other.centre),
            // the far side of the circle, for one inside the other
            ask(arc.centre + (arc.centre - other.centre)),
        ),
        (Segment::Arc(arc), _) => (ask(b.nearest(arc.centre).1), None),
        (_, Segment::Arc(other)) => (ask(other.centre), None),
        _ => (None, None),
    };
    [Some(a.from), Some(a.to), third, fourth]
}

/// Distance between two boxes; zero where they overlap.
pub(crate) fn box_gap(a: Rect, b: Rect) -> f64 {
    let dx = (a.x0 - b.x1).max(b.x0 - a.x1).max(0.0);
    let dy = (a.y0 - b.y1).max(b.y0 - a.y1).max(0.0);
    dx.hypot(dy)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(x: f64, y: f64, radius: f64) -> Outline {
        Outline::disc(Point::new(x, y), radius).expect("a disc")
    }

    #[test]
    fn gaps_between_discs_and_plates_are_the_obvious_ones() {
        assert!((disc(0.0, 0.0, 2.0).gap(&disc(3.0, 4.0, 1.0)) - 2.0).abs() < 1e-12);
        assert!((disc(0.0, 0.0, 5.0).gap(&disc(1.0, 0.0, 1.0)) - 3.0).abs() < 1e-12);
        assert!((disc(0.0, 0.0, 1.0).gap(&disc(1.0, 0.0, 5.0)) - 3.0).abs() < 1e-12);
        let plate = Outline::rect(Point::new(0.0, 5.0), (6.0, 2.0), 0.0).expect("a plate");
        assert!((disc(1.0, 0.0, 1.0).gap(&plate) - 3.0).abs() < 1e-12);
        assert!((plate.gap(&disc(1.0, 0.0, 1.0)) - 3.0).abs() < 1e-12);
        assert!((disc(6.0, 0.0, 1.0).gap(&plate) - 4.0).abs() < 1e-12);
        assert_eq!(disc(0.0, 4.0, 1.0).gap(&plate), 0.0);
    }

    #[test]
    fn touching_needs_no_crossing() {
        let (a, b) = (disc(0.0, 0.0, 2.0), disc(3.0, 0.0, 1.0));
        assert!(a.touches(&b, 0.0));
        assert!(!a.touches(&disc(3.001, 0.0, 1.0), 0.0005));
        assert!(a.touches(&disc(3.001, 0.0, 1.0), 0.0011));
        assert!(!a.touches(&disc(0.0, 0.0, 1.0), 0.5), "a body inside has a gap");
    }

    #[test]
    fn the_gap_between_turned_rectangles_is_a_sampled_one() {
        let a = Outline::rect(Point::ORIGIN, (4.0, 2.0), 0.5).expect("a").turned(31.0);
        let b = Outline::rect(Point::new(4.0, 3.0), (3.0, 1.0), 0.3).expect("b").turned(-12.0);
        let curve = &a.loops()[0];
        let sampled = (0..20_000)
            .map(|k| b.distance(curve.point_at(curve.length() * f64::from(k) / 20_000.0)))
            .fold(f64::INFINITY, f64::min);
        let found = a.gap(&b);
        assert!(found <= sampled && sampled - found < 1e-6, "{found} {sampled}");
    }
}
