//! Outlines of parts, anodes and tanks.
pub use kurbo::{Point, Vec2};

/// A body's outline: one outer closed loop and any number of holes or further loops.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    loops: Vec<Loop>,
}

impl Outline {
    /// The closed loops; metal is on the left of each.
    pub fn loops(&self) -> &[Loop] {
        &self.loops
    }
}

/// One closed curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop;
