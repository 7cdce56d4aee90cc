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

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn areas_and_lengths_are_those_of_the_school_book() {
        let at = Point::new(-3.0, 7.0);
        let disc = Outline::disc(at, 2.5).expect("a disc");
        assert!((disc.area() - 6.25 * PI).abs() < 1e-13);
        assert!((disc.perimeter() - 5.0 * PI).abs() < 1e-13);
        let ring = Outline::ring(at, 2.5, 2.0).expect("a ring");
        assert!((ring.area() - 2.25 * PI).abs() < 1e-13);
        assert!((ring.perimeter() - 9.0 * PI).abs() < 1e-13);
        assert_eq!(ring.loops().iter().filter(|curve| curve.is_hole()).count(), 1);
        assert!(!ring.contains(at) && ring.contains(at + kurbo::Vec2::new(0.0, 2.2)));
    }

    #[test]
    fn impossible_sizes_are_refused() {
        let text = |made: Result<Outline, ShapeError>| made.expect_err("impossible").to_string();
        assert_eq!(
            text(Outline::disc(Point::ORIGIN, 0.0)),
            "the radius of a disc must be greater than zero, not 0"
        );
        assert_eq!(
            text(Outline::ring(Point::ORIGIN, 4.0, 5.0)),
            "the inner radius 5 must be smaller than the outer radius 4"
        );
        assert_eq!(
            text(Outline::disc(Point::new(f64::INFINITY, 0.0), 1.0)),
            "the centre of a disc must be an ordinary number"
        );
    }
}
