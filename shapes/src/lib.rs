//! Outlines of parts, anodes and tanks: what shape each thing in the tank section has.
//!
//! An [`Outline`] is one body seen in section: a set of closed [`Loop`]s with the body's interior
//! on the **left** of every one (outer loops run counter-clockwise, holes clockwise). Loops are
//! made of straight lines, circular arcs and cubic Béziers ([`Segment`]); arcs stay arcs, so
//! areas, lengths, distances and inside tests of everything a plater draws with a compass are
//! exact. Positions along a loop are true arc lengths `s`, from its first joint onwards.
//!
//! Coordinates are plain numbers in whatever unit the caller draws in; [`Outline::scaled`] changes
//! the unit. `x` runs to the right, `y` upwards.
//!
//! ```
//! use shapes::{Outline, Point};
//!
//! let bar = Outline::disc(Point::new(0.0, 0.0), 5.0)?;
//! assert!((bar.area() - 25.0 * std::f64::consts::PI).abs() < 1e-12);
//! assert!(bar.contains(Point::new(3.0, 3.9)));
//! // the same bar, written as SVG path data
//! let drawn = Outline::path("M 5 0 A 5 5 0 0 1 -5 0 A 5 5 0 0 1 5 0 Z")?;
//! assert!((drawn.area() - bar.area()).abs() < 1e-12);
//! # Ok::<(), shapes::ShapeError>(())
//! ```
//!
//! Limits: inside tests and lengths of Béziers are good to about 1e-13 of the loop's size;
//! crossings between Béziers are found on chords that follow them to 1e-7 of the outline's size.

mod error;

mod arc;
mod cubic;
mod segment;

mod closed_loop;
mod corners;
mod flatten;

mod outline;
mod path;
mod primitives;
mod transform;

mod atoms;
pub mod boolean;
mod contact;
mod crossing;
mod distance;
pub mod export;
mod follow;
mod gap;
mod hull;
pub mod import;
mod landmarks;
mod overlap;
mod touch;

pub use arc::Arc;
pub use closed_loop::Loop;
pub use contact::Place;
pub use corners::{Corner, SMOOTH_TURN};
pub use cubic::Cubic;
pub use error::ShapeError;
pub use flatten::FlatVertex;
pub use follow::{Distances, FollowError, Followed, Following, Missed, Room};
pub use hull::hull;
pub use kurbo::{Point, Rect, Vec2};
pub use landmarks::{Bend, Compass, Landmarks, Region, Whereabouts};
pub use outline::Outline;
pub use overlap::Overlap;
pub use primitives::StripEnds;
pub use segment::Segment;
pub use touch::Reach;
pub use transform::Axis;
