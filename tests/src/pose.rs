//! Turns and moves whole layouts: the truth moves along, the grid does not.
use std::sync::Arc;

use shapes::{Outline, Point, Vec2};
use solver::{Body, Layout, Stretch};

use crate::reference::Reference;

/// Where a case lies on the page: turned about the origin, then moved.
#[derive(Debug, Clone, Copy)]
pub struct Pose {
    /// Angle, rad.
    pub angle: f64,
    /// Shift, m.
    pub shift: Vec2,
}

impl Pose {
    /// From the case's own coordinates to the page.
    pub fn place(&self, p: Point) -> Point {
        let (s, c) = self.angle.sin_cos();
        Point::new(c * p.x - s * p.y, s * p.x + c * p.y) + self.shift
    }

    /// From the page back to the case's own coordinates.
    pub fn own(&self, p: Point) -> Point {
        let (s, c) = self.angle.sin_cos();
        let q = p - self.shift;
        Point::new(c * q.x + s * q.y, -s * q.x + c * q.y)
    }

    /// The outline at its place on the page.
    pub fn outline(&self, o: &Outline) -> Outline {
        o.turned_about(self.angle.to_degrees(), Point::ZERO).moved(self.shift)
    }
}

impl Reference {
    /// The same layout elsewhere on the page, so that the grid cuts it differently.
    pub fn placed(&self, pose: Pose) -> Reference {
        let body = |b: &Body| Body { outline: pose.outline(&b.outline), ..b.clone() };
        let layout = Layout {
            tank: pose.outline(&self.layout.tank),
            bodies: self.layout.bodies.iter().map(body).collect(),
            ..self.layout.clone()
        };
        let density = self.density.clone();
        Reference {
            name: self.name.clone(),
            layout,
            corners: self.corners.iter().map(|&c| pose.place(c)).collect(),
            density: Arc::new(move |k, s| {
                let back =
                    pose.own(Point::ORIGIN + Vec2::new(s.normal[0], s.normal[1]) + pose.shift);
                density(k, &Stretch { at: pose.own(s.at), normal: [back.x, back.y], ..*s })
            }),
            currents_a: self.currents_a.clone(),
            ..*self
        }
    }
}
