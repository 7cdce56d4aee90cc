//! Potential and current density anywhere in the bath.
use std::sync::Arc;

use shapes::Point;

/// The solved field; cheap to clone.
#[derive(Clone)]
pub struct Field {
    inner: Arc<dyn Fn(Point) -> Option<FieldPoint> + Send + Sync>,
}

/// Potential and current density at one point of the bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldPoint {
    /// Potential of the bath against the cathode bus, V.
    pub potential_v: f64,
    /// Current density along x and y, A/m².
    pub current_a_m2: [f64; 2],
}

impl Field {
    /// A field given by a function (closed forms, tests of pictures).
    pub fn from_fn(f: impl Fn(Point) -> Option<FieldPoint> + Send + Sync + 'static) -> Self {
        Self { inner: Arc::new(f) }
    }

    /// Value at a point, or `None` inside solids and outside the tank.
    pub fn at(&self, p: Point) -> Option<FieldPoint> {
        (self.inner)(p)
    }
}

impl std::fmt::Debug for Field {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Field")
    }
}
