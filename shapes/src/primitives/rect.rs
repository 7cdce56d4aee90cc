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
