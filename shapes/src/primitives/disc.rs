//! Round bars and tubes.

use std::f64::consts::TAU;

use kurbo::Point;

use crate::arc::Arc;
use crate::error::{ShapeError, finite_point, positive};
use crate::outline::Outline;
use crate::segment::Segment;

impl Outline {
    /// A round bar.
    ///
    /// # Errors
    /// The centre is not finite, or the radius not above zero.
    pub fn disc(at: Point, radius: f64) -> Result<Outline, ShapeError> {
        let at = finite_point("the centre of a disc", at)?;
        let radius = positive("the radius of a disc", radius)?;
        Outline::unchecked(vec![circle(at, radius)])
    }

    /// A tube: a disc of radius `outer` with a hole of radius `inner`.
    ///
    /// # Errors
    /// The centre is not finite, a radius not above zero, or `inner` not below `outer`.
    pub fn ring(at: Point, outer: f64, inner: f64) -> Result<Outline, ShapeError> {
        let at = finite_point("the centre of a ring", at)?;
        let outer = positive("the outer radius of a ring", outer)?;
        let inner = positive("the inner radius of a ring", inner)?;
        // a wall thinner than the tolerance of every other test is no wall
        if inner >= outer * (1.0 - 1e-9) {
            return Err(ShapeError::InnerNotSmaller { inner, outer });
        }
        Outline::unchecked(vec![circle(at, outer), circle(at, inner)])
    }
}

/// One full turn, from the rightmost point counter-clockwise.
fn circle(centre: Point, radius: f64) -> Vec<Segment> {
    vec![Segment::Arc(Arc { centre, radius, start: 0.0, sweep: TAU })]
}
