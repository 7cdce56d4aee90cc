//! The way of a ball's centre while the ball rolls along one segment.

use std::f64::consts::TAU;

use kurbo::{ParamCurve, Point, Vec2};

use super::Obstacle;
use crate::arc::Arc;
use crate::cubic::Cubic;
use crate::segment::Segment;

/// Where the centre is, against the arc length rolled (Béziers: against their parameter).
pub(super) enum Path<'a> {
    /// Parallel to a line.
    Straight { start: Point, along: Vec2, length: f64 },
    /// Round the centre of an arc; the radius is the path's own.
    Round { arc: &'a Arc, radius: f64 },
    /// Beside a Bézier.
    Beside { cubic: &'a Cubic, radius: f64 },
}

impl<'a> Path<'a> {
    /// The path along `segment`, which starts at `from` and has the body on its left.
    pub(super) fn new(segment: &'a Segment, from: Point, radius: f64) -> Self {
        match segment {
            Segment::Line(_) => {
                let along = segment.tangent_at(0.0);
                let start = from + Vec2::new(along.y, -along.x) * radius;
                Path::Straight { start, along, length: segment.length() }
            }
            Segment::Arc(arc) => {
                Path::Round { arc, radius: (arc.radius + arc.sign() * radius).max(0.0) }
            }
            Segment::Cubic(cubic) => Path::Beside { cubic, radius },
        }
    }

    /// The centre at `u`.
    pub(super) fn at(&self, u: f64) -> Point {
        match self {
            Path::Straight { start, along, .. } => *start + *along * u,
            Path::Round { arc, radius } => arc.centre + Vec2::from_angle(arc.angle_at(u)) * *radius,
            Path::Beside { cubic, radius } => {
                let along = cubic.tangent_at_parameter(u);
                cubic.bez().eval(u) + Vec2::new(along.y, -along.x) * *radius
            }
        }
    }

    /// The last `u`; the first is 0.
    pub(super) fn end(&self) -> f64 {
        match self {
            Path::Straight { length, .. } => *length,
            Path::Round { arc, .. } => arc.length(),
            Path::Beside { .. } => 1.0,
        }
    }

    /// Arc length along the segment at `u`.
    pub(super) fn arc_length(&self, u: f64) -> f64 {
        match self {
            Path::Beside { cubic, .. } => cubic.s_at_parameter(u),
            _ => u,
        }
    }

    /// Half the centre's way, where it is plain.
    pub(super) fn half_length(&self) -> Option<f64> {
        match self {
            Path::Straight { length, .. } => Some(0.5 * length),
            Path::Round { arc, radius } => Some(0.5 * arc.sweep.abs() * radius),
            Path::Beside { .. } => None,
        }
    }

    /// Every `u` at which the centre may come within `reach` of the obstacle or leave it; `None`
    /// where there is no closed form.
    pub(super) fn entries(&self, obstacle: &Obstacle, reach: f64) -> Option<Vec<f64>> {
        let mut found = Vec::new();
        match (self, &obstacle.segment) {
            (Path::Beside { .. }, _) | (_, Segment::Cubic(_)) => return None,
            (_, Segment::Line(_)) => {
                let along = obstacle.segment.tangent_at(0.0);
                let across = Vec2::new(along.y, -along.x) * reach;
                self.meet_line(obstacle.from + across, along, &mut found);
                self.meet_line(obstacle.from - across, along, &mut found);
            }
            (_, Segment::Arc(arc)) => {
                self.meet_circle(arc.centre, arc.radius + reach, &mut found);
                self.meet_circle(arc.centre, (arc.radius - reach).abs(), &mut found);
            }
        }
        self.meet_circle(obstacle.from, reach, &mut found);
        self.meet_circle(obstacle.to, reach, &mut found);
        found.retain(|u| *u > 0.0 && *u < self.end());
        Some(found)
    }

    /// Where the path crosses the line through `through`.
    fn meet_line(&self, through: Point, along: Vec2, found: &mut Vec<f64>) {
        match self {
            Path::Straight { start, along: own, .. } => {
                let slope = along.cross(*own);
                if slope != 0.0 {
                    found.push(along.cross(through - *start) / slope);
                }
            }
            Path::Round { arc, radius } if *radius > 0.0 => {
                let across = Vec2::new(along.y, -along.x);
                let share = (through - arc.centre).dot(across) / radius;
                if share.abs() <= 1.0 {
                    self.at_angles(across.atan2(), share.acos(), found);
                }
            }
            _ => {}
        }
    }

    /// Where the path crosses a circle.
    fn meet_circle(&self, centre: Point, size: f64, found: &mut Vec<f64>) {
        match self {
            Path::Straight { start, along, .. } => {
                let to = centre - *start;
                let (foot, off) = (to.dot(*along), to.cross(*along));
                let left = (size - off) * (size + off);
                if left >= 0.0 {
                    found.extend([foot - left.sqrt(), foot + left.sqrt()]);
                }
            }
            Path::Round { arc, radius } if *radius > 0.0 => {
                let to = centre - arc.centre;
                let away = to.hypot();
                // law of cosines in the triangle of both centres and the crossing
                let cosine = (radius * radius + away * away - size * size) / (2.0 * radius * away);
                if cosine.abs() <= 1.0 {
                    self.at_angles(to.atan2(), cosine.acos(), found);
                }
            }
            _ => {}
        }
    }

    /// Arc lengths of the directions `middle ± half` from the centre of a round path.
    fn at_angles(&self, middle: f64, half: f64, found: &mut Vec<f64>) {
        if let Path::Round { arc, .. } = self {
            for angle in [middle - half, middle + half] {
                found.push(((angle - arc.start) * arc.sign()).rem_euclid(TAU) * arc.radius);
            }
        }
    }
}
