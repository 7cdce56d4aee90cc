//! Upright rectangles: plates, tanks, flat bars.

use kurbo::{Point, Vec2};

use crate::error::{ShapeError, finite_point, not_negative, positive};
use crate::outline::Outline;

impl Outline {
    /// An upright rectangle around its centre `at`, `size` wide and high, its corners rounded
    /// with the radius `corner` (0 leaves them sharp).
    ///
    /// # Errors
    /// A number is not finite, a side not above zero, the radius negative or more than half the
    /// shorter side.
    pub fn rect(at: Point, size: (f64, f64), corner: f64) -> Result<Outline, ShapeError> {
        let at = finite_point("the centre of a rectangle", at)?;
        let width = positive("the width of a rectangle", size.0)?;
        let height = positive("the height of a rectangle", size.1)?;
        let corner = not_negative("the corner radius of a rectangle", corner)?;
        let half = Vec2::new(0.5 * width, 0.5 * height);
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(x, y)| at + Vec2::new(x * half.x, y * half.y));
        Outline::polygon(&corners, corner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_rectangle_stands_around_its_centre() {
        let plate = Outline::rect(Point::new(10.0, 20.0), (8.0, 2.0), 0.0).expect("a plate");
        assert_eq!(plate.bounds(), kurbo::Rect::new(6.0, 19.0, 14.0, 21.0));
        assert_eq!(plate.area(), 16.0);
        let round = Outline::rect(Point::new(10.0, 20.0), (8.0, 2.0), 0.5).expect("rounded");
        assert!((round.area() - (16.0 - 0.25 * (4.0 - PI))).abs() < 1e-12);
        assert!((round.perimeter() - (20.0 - 4.0 + PI)).abs() < 1e-12);
        assert!((round.bounds().width() - 8.0).abs() < 1e-12);
    }

    #[test]
    fn impossible_sizes_are_refused() {
        let text = |size: (f64, f64), corner: f64| {
            Outline::rect(Point::ORIGIN, size, corner).expect_err("impossible").to_string()
        };
        assert_eq!(
            text((-5.0, 2.0), 0.0),
            "the width of a rectangle must be greater than zero, not -5"
        );
        assert_eq!(
            text((5.0, 2.0), 1.2),
            "corner 2 at (2.5, -1) has no room for a radius of 1.2: at most 1 fits"
        );
        assert_eq!(
            text((5.0, f64::NAN), 0.0),
            "the height of a rectangle must be an ordinary number"
        );
    }
}
