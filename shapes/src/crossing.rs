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
                if let Some(at) = found.iter().find(|at| !at_joint(a, b, **at, hair)) {
                    return Some(*at);
                }
            }
            open.push(current);
        }
        None
    }
}

/// True where `at` is the joint at which one of the two runs into the other.
fn at_joint(a: &Atom, b: &Atom, at: Point, hair: f64) -> bool {
    let near = |joint: Point| (at - joint).hypot() <= joint_reach(a, b, hair);
    (a.runs_into(b) && near(a.to)) || (b.runs_into(a) && near(b.to))
}

/// How far from a joint two pieces may seem to meet.
///
/// Curves that touch part like κd²/2 for a difference of curvature κ, so they are within the
/// rounding errors of each other up to d = √(2 · rounding / κ).
fn joint_reach(a: &Atom, b: &Atom, hair: f64) -> f64 {
    let is_arc = |atom: &Atom| matches!(atom.segment, Segment::Arc(_));
    let shorter = a.segment.length().min(b.segment.length());
    let reach = if is_arc(a) || is_arc(b) {
        let difference = (a.curvature() - b.curvature()).abs();
        10.0 * hair + 4.0 * (2.0 * hair / difference.max(hair)).sqrt().min(0.1 * shorter)
    } else {
        10.0 * hair
    };
    reach.min(0.3 * shorter)
}
