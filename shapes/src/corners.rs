//! Where an outline has corners, and how sharp they are.

use std::f64::consts::{PI, TAU};

use kurbo::Point;

use crate::closed_loop::Loop;
use crate::segment::Segment;

/// A corner of a body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Arc length at which it stands.
    pub s: f64,
    /// The corner.
    pub at: Point,
    /// Angle inside the body, radians: below π for a corner that sticks out, above for a nook.
    /// The bath beside it has 2π less this angle.
    pub interior_angle_rad: f64,
}

/// A joint that turns by less than this (0.5°, in radians) is smooth: drawings round coordinates,
/// and the field at so flat a corner differs from a smooth outline's only at distances that no
/// grid resolves.
pub const SMOOTH_TURN: f64 = 0.5 * PI / 180.0;

impl Loop {
    /// The corners in order of arc length. Joints that turn by less than [`SMOOTH_TURN`] are none.
    pub fn corners(&self) -> Vec<Corner> {
        (0..self.joints().len())
            .filter(|i| !self.is_smooth(*i))
            .map(|i| Corner {
                s: self.joint_positions()[i],
                at: self.joints()[i],
                interior_angle_rad: self.joint_angles()[i],
            })
            .collect()
    }

    /// True where the loop runs smoothly through the joint at the start of segment `index`.
    pub(crate) fn is_smooth(&self, index: usize) -> bool {
        (self.joint_angles()[index] - PI).abs() <= SMOOTH_TURN
    }
}

/// Angle inside the body where `before` runs into `after`, between 0 and 2π.
pub(crate) fn interior_angle(before: &Segment, after: &Segment) -> f64 {
    let incoming = before.tangent_at(before.length());
    let outgoing = after.tangent_at(0.0);
    let turn = incoming.cross(outgoing).atan2(incoming.dot(outgoing));
    if turn.abs() < PI - 1e-6 {
        return PI - turn;
    }
    // a cusp: the tangents run back on each other, so look a little way along both
    let step = 1e-3 * before.length().min(after.length());
    let tip = after.start();
    let back = before.point_at(before.length() - step) - tip;
    let ahead = after.point_at(step) - tip;
    if ahead.cross(back) >= 0.0 { (PI - turn.abs()).abs() } else { TAU - (PI - turn.abs()).abs() }
}
