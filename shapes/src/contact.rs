//! Where two outlines touch.

use kurbo::Point;

use crate::atoms::{Atom, atoms};
use crate::gap::{box_gap, nearest_places};
use crate::outline::Outline;

/// A place on an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Which closed loop (0 = outer).
    pub loop_index: usize,
    /// Arc length along it.
    pub s: f64,
    /// The point itself.
    pub at: Point,
}

impl Outline {
    /// Places where the outlines come within `tolerance` of each other, on this one and on the
    /// other: ends of one on the other, crossings, and where curves are nearest. Where they run
    /// along each other, the ends of that stretch.
    ///
    /// Places nearer to each other than `tolerance` on both outlines are one. O(n m) boxes.
    pub fn contacts(&self, other: &Outline, tolerance: f64) -> Vec<[Place; 2]> {
        let mut places: Vec<[Place; 2]> = Vec::new();
        if box_gap(self.bounds(), other.bounds()) > tolerance {
            return places;
        }
        let near = |a: &Atom, b: &Atom| box_gap(a.bounds, b.bounds) <= tolerance;
        let second = atoms(other);
        let mut found = Vec::new();
        for a in &atoms(self) {
            if box_gap(a.bounds, other.bounds()) > tolerance {
                continue;
            }
            for b in second.iter().filter(|b| near(a, b)) {
                found.clear();
                a.meets(b, tolerance, &mut found);
                found.extend(nearest_places(a, b).into_iter().flatten());
                found.extend(nearest_places(b, a).into_iter().flatten());
                for &p in &found {
                    // from the one to the other and back: the nearest pair around there
                    let on_a = place(a, place(b, p).at);
                    let pair = [on_a, place(b, on_a.at)];
                    let apart = (pair[0].at - pair[1].at).hypot();
                    let known = |known: &[Place; 2]| {
                        (0..2).all(|k| {
                            known[k].loop_index == pair[k].loop_index
                                && (known[k].at - pair[k].at).hypot() <= tolerance
                        })
                    };
                    if apart <= tolerance && !places.iter().any(known) {
                        places.push(pair);
                    }
                }
            }
        }
        places
    }
}

fn place(atom: &Atom, p: Point) -> Place {
    let (s, at) = atom.nearest(p);
    Place { loop_index: atom.on, s, at }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Outline {
        let centre = Point::new(0.5 * (x0 + x1), 0.5 * (y0 + y1));
        Outline::rect(centre, (x1 - x0, y1 - y0), 0.0).expect("a rectangle")
    }

    /// Middles of the pairs of places, sorted.
    fn middles(a: &Outline, b: &Outline) -> Vec<(f64, f64)> {
        let mut out: Vec<(f64, f64)> = a
            .contacts(b, 1e-6)
            .iter()
            .map(|[p, q]| {
                for (place, outline) in [(p, a), (q, b)] {
                    let on = outline.loops()[place.loop_index].point_at(place.s);
                    assert!((on - place.at).hypot() < 1e-9, "{place:?}");
                }
                let m = p.at.midpoint(q.at);
                ((m.x * 1e5).round() / 1e5, (m.y * 1e5).round() / 1e5)
            })
            .collect();
        out.sort_by(|a, b| a.partial_cmp(b).expect("numbers"));
        out
    }

    #[test]
    fn a_disc_touches_a_plate_and_another_disc_at_one_place() {
        let disc = |x: f64, y: f64, r: f64| Outline::disc(Point::new(x, y), r).expect("a disc");
        assert_eq!(middles(&disc(0.0, 1.0, 1.0), &rect(-3.0, -1.0, 3.0, 0.0)), [(0.0, 0.0)]);
        assert_eq!(middles(&disc(0.0, 0.0, 2.0), &disc(3.0, 0.0, 1.0)), [(2.0, 0.0)]);
        // from inside
        assert_eq!(middles(&disc(0.0, 0.0, 2.0), &disc(1.0, 0.0, 1.0)), [(2.0, 0.0)]);
        assert_eq!(middles(&disc(0.0, 1.1, 1.0), &rect(-3.0, -1.0, 3.0, 0.0)), []);
    }

    #[test]
    fn sides_that_run_along_each_other_touch_at_the_ends_of_the_common_stretch() {
        let (a, b) = (rect(0.0, 0.0, 1.0, 3.0), rect(1.0, 1.0, 2.0, 5.0));
        assert_eq!(middles(&a, &b), [(1.0, 1.0), (1.0, 3.0)]);
        assert_eq!(middles(&a, &rect(1.0 + 5e-7, 1.0, 2.0, 5.0)), [(1.0, 1.0), (1.0, 3.0)]);
        assert_eq!(middles(&a, &rect(1.0 + 2e-6, 1.0, 2.0, 5.0)), []);
    }

    #[test]
    fn a_tip_touches_a_side_and_corners_touch_each_other() {
        let tip = [Point::new(1.0, 1.0), Point::new(2.0, 0.9), Point::new(2.0, 1.1)];
        let tip = Outline::polygon(&tip, 0.0).expect("a wedge");
        assert_eq!(middles(&rect(0.0, 0.0, 1.0, 3.0), &tip), [(1.0, 1.0)]);
        assert_eq!(middles(&rect(0.0, 0.0, 1.0, 1.0), &rect(1.0, 1.0, 2.0, 2.0)), [(1.0, 1.0)]);
    }
}
