//! Conforming outlines: an anode, shield or bag that keeps an even gap to a part.
//!
//! The region asked for is everything that a brush of the length `gap + thickness`, held square to
//! the stretch and drawn along it, passes over, less all that is nearer than `gap` to the followed
//! body, nearer than `clearance` to another body or to a wall of the tank. Its boundary is made of
//! offsets of lines and arcs, which are lines and arcs again: they are crossed with each other and
//! those pieces are kept that have the region on exactly one side. So the near face is at the gap
//! to the last digits, and round corners stay arcs.
//!
//! Limits: a Bézier of the followed body counts as arcs within a hundred-thousandth of the gap. A
//! stretch whose far side faces the brush over a wall thinner than the thickness may get a piece
//! beyond that wall where the pieces hang together; it keeps the gap and the clearances as well.

mod arcs;
mod brush;
mod region;

use kurbo::Point;
use thiserror::Error;

use crate::error::{ShapeError, not_negative, number, place, positive};
use crate::outline::Outline;

/// A stretch of an outline that is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Followed {
    /// Which closed loop.
    pub loop_index: usize,
    /// Arc lengths between which it runs in the direction of travel; the whole loop without.
    pub between: Option<(f64, f64)>,
}

/// How far a conforming outline stays away, and how thick it is; drawing units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distances {
    /// From the followed body to the near face.
    pub gap: f64,
    /// From the near face to the far one.
    pub thickness: f64,
    /// Least distance from the tank's walls and from all other bodies.
    pub clearance: f64,
}

/// Where a conforming outline may lie.
#[derive(Debug, Clone, Copy)]
pub struct Room<'a> {
    /// The tank; its outline is a wall all around.
    pub tank: &'a Outline,
    /// Bodies to stay away from, beside the followed one.
    pub others: &'a [&'a Outline],
    /// True where `x = 0` is the axis of a round tank: the outline ends there, and may reach it.
    pub axis: bool,
}

/// A conforming outline, with what the planner should know about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Following {
    /// One piece or several, all parts of one body.
    pub outline: Outline,
    /// How many pieces lie apart.
    pub pieces: usize,
    /// Crumbs left out: pieces below a hundredth of the largest.
    pub crumbs: usize,
    /// The place of the stretch that the outline keeps farthest away from, if that is more than
    /// twice the gap.
    pub missed: Option<Missed>,
}

/// A place of the stretch that no near face lies opposite to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Missed {
    /// On the followed outline.
    pub at: Point,
    /// From there to the conforming outline.
    pub distance: f64,
    /// The greatest gap that the followed body leaves free at any place so far away, if that is less
    /// than the gap: half the width of a recess.
    pub fits: Option<f64>,
}

/// Why there is no conforming outline.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum FollowError {
    /// A number that makes no sense, or a result that does not.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// Nothing is left.
    #[error(
        "nothing is left of it at a gap of {}{}", number(*.gap),
        match .fits {
            Some((fits, at)) => format!(": at most {} fits, beside {}", number(*fits), place(*at)),
            None => ", nor at any smaller one".to_owned(),
        }
    )]
    NoRoom {
        /// The gap asked for.
        gap: f64,
        /// The greatest gap with any room, and the place of the stretch beside it.
        fits: Option<(f64, Point)>,
    },
    /// The pieces of its boundary do not close; two distances that agree to many digits do this.
    #[error("its outline does not close at {}: change the gap or the thickness a little", place(*.at))]
    Tangled {
        /// Where.
        at: Point,
    },
}

impl Outline {
    /// The outline that follows stretches of this one at an even gap, outside the body (in a hole,
    /// where the stretch lies on the edge of one).
    ///
    /// Ends are cut square to the stretch. Where the body leaves no room, the near face passes by
    /// and [`Following::missed`] says so.
    ///
    /// # Errors
    /// [`FollowError`]: a distance that is not above zero (the clearance may be zero); no room at
    /// all; a boundary that does not close.
    ///
    /// O(n log n) for n lines and arcs, plus the pairs that lie one above the other, plus O(n) for
    /// every piece of the result.
    pub fn following(
        &self,
        stretches: &[Followed],
        distances: Distances,
        room: Room<'_>,
    ) -> Result<Following, FollowError> {
        positive("the gap", distances.gap)?;
        positive("the thickness", distances.thickness)?;
        not_negative("the clearance", distances.clearance)?;
        region::Region::new(self, stretches, distances, room)?.outline()
    }
}

#[cfg(test)]
mod tests;
