//! Where the hot edges are, and in which direction each points.
use shapes::{Point, Vec2};

use crate::remedy::diagnosis::Reason;
use crate::remedy::proposal::{Scene, tidy, unit};

/// Edges helped at once at most.
const EDGES: usize = 4;

/// The hottest edges: their tips, and the directions in which they point, degrees.
pub(super) fn hot(scene: &Scene<'_>) -> Vec<(Point, f64)> {
    let is_edge = |reasons: &[Reason]| reasons.iter().any(|r| matches!(r, Reason::Edge { .. }));
    let edges = scene.diagnosis.thick.iter().filter(|spot| is_edge(&spot.reasons));
    edges.take(EDGES).map(|spot| (spot.tip, tidy(spot.outward))).collect()
}

/// Largest extent of a part, m.
pub(super) fn size(scene: &Scene<'_>) -> f64 {
    let parts = scene.parts().map(|b| scene.layout.bodies[b].outline.diagonal());
    parts.fold(0.0, f64::max)
}

/// The point `far` before an edge.
pub(super) fn before((tip, degrees): (Point, f64), far: f64) -> Point {
    let way: Vec2 = unit(degrees);
    tip + way * far
}
