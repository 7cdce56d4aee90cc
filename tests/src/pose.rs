//! Turns and moves whole layouts: the truth moves along, the grid does not.
use std::sync::Arc;

use shapes::{Axis, Outline, Point, Vec2};
use solver::{Body, Layout, Stretch, Symmetry};

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
    /// An axial layout stood on its head if `turned`, and moved along its axis by `shift_m`.
    pub fn along_axis(&self, turned: bool, shift_m: f64) -> Reference {
        let sign = if turned { -1.0 } else { 1.0 };
        // an outline is mirrored about its own middle: that middle goes to its image
        let outline = |o: &Outline| {
            let middle = o.bounds().center().y;
            let flipped = if turned { o.mirrored(Axis::Y) } else { o.clone() };
            flipped.moved(Vec2::new(0.0, sign * middle - middle + shift_m))
        };
        let body = |b: &Body| Body { outline: outline(&b.outline), ..b.clone() };
        let layout = Layout {
            tank: outline(&self.layout.tank),
            bodies: self.layout.bodies.iter().map(body).collect(),
            ..self.layout.clone()
        };
        let density = self.density.clone();
        Reference {
            name: format!("{} turned {turned} moved {shift_m}", self.name),
            layout,
            corners: self.corners.iter().map(|c| Point::new(c.x, sign * c.y + shift_m)).collect(),
            density: Arc::new(move |k, s| {
                let at = Point::new(s.at.x, sign * (s.at.y - shift_m));
                density(k, &Stretch { at, normal: [s.normal[0], sign * s.normal[1]], ..*s })
            }),
            currents_a: self.currents_a.clone(),
            ..*self
        }
    }

    /// The same layout elsewhere on the page, so that the grid cuts it differently. An axial one
    /// stays on its axis: turned by more than a quarter it stands on its head.
    pub fn placed(&self, pose: Pose) -> Reference {
        if self.layout.symmetry == Symmetry::Axial {
            return self.along_axis(pose.angle.cos() < 0.0, pose.shift.y);
        }
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
