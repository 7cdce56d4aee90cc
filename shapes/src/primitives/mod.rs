//! Outlines drawn from a few numbers.

mod disc;
mod polygon;
mod rect;
mod strip;

pub use strip::StripEnds;
