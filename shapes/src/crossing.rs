//! Does an outline cross or touch itself?

use kurbo::Point;

use crate::atoms::{Atom, atoms};
use crate::outline::Outline;
use crate::segment::Segment;

/// Stretches nearer to each other than this part of the diagonal meet.
const HAIR: f64 = 1e-11;

impl Outline {
    /// A point where a loop crosses or touches itself or another loop of the outline.
    ///
    /// Exact for lines and arcs; Béziers are followed by chords within 1e-7 of the outline's
    /// diagonal, so two of them nearer than that may count as touching. The constructors refuse
    /// such outlines, so this is `None` for what they return.
    ///
    /// A sweep over the pieces sorted from left to right: O(n log n) for n pieces plus the pairs
    /// that lie one above the other.
    pub fn self_crossing(&self) -> Option<Point> {
        let hair = HAIR * self.diagonal();
        let pieces = atoms(self);
        let mut order: Vec<usize> = (0..pieces.len()).collect();
        order.sort_by(|a, b| pieces[*a].bounds.x0.total_cmp(&pieces[*b].bounds.x0));
        let mut open: Vec<usize> = Vec::new();
        let mut found = Vec::new();
        for current in order {
            let a = &pieces[current];
            open.retain(|other| pieces[*other].bounds.x1 >= a.bounds.x0 - hair);
            for other in &open {
                let b = &pieces[*other];
                if b.bounds.y0 > a.bounds.y1 + hair || b.bounds.y1 < a.bounds.y0 - hair {
                    continue;
                }
                found.clear();
                a.meets(b, hair, &mut found);
                if let Some(at) =
                    found.iter().find(|at| !run_on(a, b, **at, self.loops()[a.on].length(), hair))
                {
                    return Some(*at);
                }
            }
            open.push(current);
        }
        None
    }
}

/// True where the two meet at `at` only because the loop runs on from one into the other.
fn run_on(a: &Atom, b: &Atom, at: Point, length: f64, hair: f64) -> bool {
    if a.on != b.on {
        return false;
    }
    let apart = (a.nearest(at).0 - b.nearest(at).0).abs();
    apart.min(length - apart) <= reach(a, b, hair)
}

/// How much of the loop may lie between two places that seem to meet because it runs on.
///
/// Curves that part tangentially do so like κd²/2 for a difference of curvature κ, so they are
/// within a hair of each other up to d = √(2 hair / κ).
fn reach(a: &Atom, b: &Atom, hair: f64) -> f64 {
    let is_arc = |atom: &Atom| matches!(atom.segment, Segment::Arc(_));
    if !(is_arc(a) || is_arc(b)) || !(a.runs_into(b) || b.runs_into(a)) {
        return 20.0 * hair;
    }
    let shorter = a.segment.length().min(b.segment.length());
    let difference = (a.curvature() - b.curvature()).abs().max(f64::MIN_POSITIVE);
    20.0 * hair + (4.0 * (2.0 * hair / difference).sqrt()).min(0.3 * shorter)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::ShapeError;

    fn crossing(data: &str) -> Option<Point> {
        match Outline::path(data) {
            Ok(_) => None,
            Err(ShapeError::SelfCrossing { at }) => Some(at),
            Err(other) => panic!("{data}: {other}"),
        }
    }

    #[test]
    fn crossings_are_found_where_they_are() {
        for (data, x, y) in [
            ("M0 0L4 4L4 0L0 4Z", 2.0, 2.0),
            // a corner on the opposite edge
            ("M0 0H4V4L2 0L0 4Z", 2.0, 0.0),
            // an arc sagging to the opposite edge
            ("M0 0H6V3A3 3 0 0 0 0 3Z", 3.0, 0.0),
            // a loop within another, touching at one point
            ("M0 0H8V8H0Z M4 0L6 4L2 4Z", 4.0, 0.0),
            // discs that touch from inside
            ("M4 0A4 4 0 0 1 -4 0A4 4 0 0 1 4 0Z M4 0A2 2 0 0 1 0 0A2 2 0 0 1 4 0Z", 4.0, 0.0),
        ] {
            let at = crossing(data).expect(data);
            assert!((at - Point::new(x, y)).hypot() < 1e-6, "{data}: {at}");
        }
    }

    #[test]
    fn a_bezier_may_cross_itself() {
        // symmetric about x = 2, so the crossing is on it
        let at = crossing("M0 0C6 4 -2 4 4 0L4 -1H0Z").expect("a loop in the curve");
        assert!((at.x - 2.0).abs() < 1e-6);
    }

    #[test]
    fn a_spike_of_no_width_touches_itself() {
        assert!(crossing("M0 0H4V4H2V6V4H0Z").is_some());
        assert!(crossing("M0 0H4H2V4H0Z").is_some());
    }

    #[test]
    fn smooth_joints_of_every_kind_are_no_crossings() {
        for data in [
            // stadium, and one in a far corner of the drawing
            "M0 0H10A1 1 0 0 1 10 2H0A1 1 0 0 1 0 0Z",
            "M5000 7000h10a1 1 0 0 1 0 2h-10a1 1 0 0 1 0-2z",
            // arcs of growing radius, tangent to each other: an oval
            "M-4 0A4 4 0 0 1 4 0A8 8 0 0 1 -4 0Z",
            // Béziers tangent to lines and arcs
            "M0 0H4C6 0 6 2 4 2H0C-2 2 -2 0 0 0Z",
            "M0 0C1 0 2 0 3 1A2 2 0 0 1 0 3Z",
            // a cleft and a tip where circles touch
            "M0 0A1 1 0 0 1 1 1V3H-3V-3H1V-1A1 1 0 0 1 0 0Z",
            "M0 0A1 1 0 0 0 1 -1L1 1A1 1 0 0 0 0 0Z",
        ] {
            assert_eq!(crossing(data), None, "{data}");
        }
    }
}
