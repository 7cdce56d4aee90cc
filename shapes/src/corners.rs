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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::Outline;

    #[test]
    fn nooks_have_more_than_half_a_turn() {
        let angle = Outline::path("M0 0H10V2H2V10H0Z").expect("an angle section");
        let corners = angle.loops()[0].corners();
        let sum: f64 = corners.iter().map(|corner| corner.interior_angle_rad).sum();
        assert_eq!(corners.len(), 6);
        assert!((sum - 4.0 * PI).abs() < 1e-12);
        let nook = corners.iter().find(|c| c.at == Point::new(2.0, 2.0)).expect("the nook");
        assert!((nook.interior_angle_rad - 1.5 * PI).abs() < 1e-12);
        assert!((nook.s - 20.0).abs() < 1e-12);
    }

    #[test]
    fn corners_of_a_hole_are_nooks_of_the_body() {
        let frame = Outline::path("M0 0H10V10H0Z M2 2H8V8H2Z").expect("a frame");
        let hole = frame.loops().iter().find(|curve| curve.is_hole()).expect("a hole");
        assert!(hole.corners().iter().all(|c| (c.interior_angle_rad - 1.5 * PI).abs() < 1e-12));
    }

    #[test]
    fn half_a_degree_is_smooth_and_a_whole_one_is_not() {
        for (degrees, count) in [(0.4f64, 3), (1.0, 4)] {
            let rise = 5.0 * degrees.to_radians().tan();
            let data = format!("M0 0L5 0L10 {rise}L5 8Z");
            let outline = Outline::path(&data).expect("nearly a triangle");
            assert_eq!(outline.loops()[0].corners().len(), count, "{degrees}");
        }
    }

    #[test]
    fn cusps_are_told_from_clefts() {
        // two circles of radius 1 touch at the origin from both sides of the body between them
        let tip = Outline::path("M0 0A1 1 0 0 0 1 -1L1 1A1 1 0 0 0 0 0Z").expect("a tip");
        let corners = tip.loops()[0].corners();
        let at = |c: &&Corner| c.at.to_vec2().hypot() < 1e-12;
        assert!(corners.iter().find(at).expect("the tip").interior_angle_rad < 1e-6);
        let cleft =
            Outline::path("M0 0A1 1 0 0 1 1 1V3H-3V-3H1V-1A1 1 0 0 1 0 0Z").expect("a cleft");
        let corners = cleft.loops()[0].corners();
        let angle = corners.iter().find(at).expect("the cleft").interior_angle_rad;
        assert!((angle - TAU).abs() < 1e-6, "{angle}");
    }
}
