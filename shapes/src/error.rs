//! Why a shape cannot be drawn as asked.

use kurbo::Point;
use thiserror::Error;

/// Why a shape cannot be drawn as asked; the text names the number at fault and what would fit.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ShapeError {
    /// Fewer points than the shape needs.
    #[error("{shape} needs at least {needed} different points, not {got}")]
    TooFewPoints {
        /// The shape.
        shape: &'static str,
        /// How many it needs.
        needed: usize,
        /// How many different ones there are.
        got: usize,
    },
    /// A number is NaN or infinite.
    #[error("{what} must be an ordinary number")]
    NotFinite {
        /// What the number stands for.
        what: &'static str,
    },
    /// A length that must be greater than zero is not.
    #[error("{what} must be greater than zero, not {}", number(*.value))]
    NotPositive {
        /// What the number stands for.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// A length that must not be negative is.
    #[error("{what} must not be negative, but is {}", number(*.value))]
    Negative {
        /// What the number stands for.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// A rounded corner does not fit its edges.
    #[error(
        "corner {} at {} has no room for a radius of {}: at most {} fits",
        .corner + 1, place(*.at), number(*.radius), number(*.largest)
    )]
    CornerTooLarge {
        /// Index of the corner among the points given, from 0.
        corner: usize,
        /// The corner.
        at: Point,
        /// The radius asked for.
        radius: f64,
        /// The largest radius that fits at every corner.
        largest: f64,
    },
    /// A ring without a wall.
    #[error(
        "the inner radius {} must be smaller than the outer radius {}",
        number(*.inner), number(*.outer)
    )]
    InnerNotSmaller {
        /// Inner radius.
        inner: f64,
        /// Outer radius.
        outer: f64,
    },
    /// The outline meets itself.
    #[error("the outline crosses or touches itself at {}", place(*.at))]
    SelfCrossing {
        /// Where.
        at: Point,
    },
    /// The outline encloses nothing.
    #[error("the outline encloses no area")]
    NoArea,
    /// SVG path data that cannot be read.
    #[error("path data, character {}: expected {expected}", .position + 1)]
    PathSyntax {
        /// Byte offset in the path data, from 0.
        position: usize,
        /// What should stand there.
        expected: &'static str,
    },
    /// A strip too thick for its bends.
    #[error(
        "the strip folds over itself at its bend {} at {}: make it thinner, the bend gentler or the legs longer",
        .bend + 1, place(*.at)
    )]
    FoldsOver {
        /// Index of the bend among the points given, from 0.
        bend: usize,
        /// The bend.
        at: Point,
    },
}

/// A number as a person would write it: six significant digits at most.
pub(crate) fn number(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let magnitude = value.abs().log10().floor();
    if !(-5.0..6.0).contains(&magnitude) {
        return format!("{value:.5e}");
    }
    let decimals = (5.0 - magnitude).max(0.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

pub(crate) fn place(at: Point) -> String {
    format!("({}, {})", number(at.x), number(at.y))
}

/// `value` if it is an ordinary number.
pub(crate) fn finite(what: &'static str, value: f64) -> Result<f64, ShapeError> {
    if value.is_finite() { Ok(value) } else { Err(ShapeError::NotFinite { what }) }
}

/// `value` if it is an ordinary number above zero.
pub(crate) fn positive(what: &'static str, value: f64) -> Result<f64, ShapeError> {
    let value = finite(what, value)?;
    if value > 0.0 { Ok(value) } else { Err(ShapeError::NotPositive { what, value }) }
}

/// `value` if it is an ordinary number, zero or above.
pub(crate) fn not_negative(what: &'static str, value: f64) -> Result<f64, ShapeError> {
    let value = finite(what, value)?;
    if value >= 0.0 { Ok(value) } else { Err(ShapeError::Negative { what, value }) }
}

/// `at` if both coordinates are ordinary numbers.
pub(crate) fn finite_point(what: &'static str, at: Point) -> Result<Point, ShapeError> {
    if at.is_finite() { Ok(at) } else { Err(ShapeError::NotFinite { what }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_carry_short_numbers() {
        let error = ShapeError::CornerTooLarge {
            corner: 2,
            at: Point::new(0.1 + 0.2, -40.0),
            radius: 5.0,
            largest: 10.0 / 3.0,
        };
        assert_eq!(
            error.to_string(),
            "corner 3 at (0.3, -40) has no room for a radius of 5: at most 3.33333 fits"
        );
        let error = ShapeError::Negative { what: "the corner radius", value: -1e-9 };
        assert_eq!(error.to_string(), "the corner radius must not be negative, but is -1.00000e-9");
    }

    #[test]
    fn checks_refuse_what_their_names_say() {
        assert!(positive("x", f64::NAN).is_err());
        assert!(positive("x", 0.0).is_err());
        assert!(positive("x", 1e-300).is_ok());
        assert!(not_negative("x", 0.0).is_ok());
        assert!(not_negative("x", -1.0).is_err());
        assert!(finite_point("x", Point::new(1.0, f64::INFINITY)).is_err());
    }
}
