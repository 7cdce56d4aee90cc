//! One stretch of an outline: a straight line, a circular arc or a cubic Bézier.

use kurbo::{CubicBez, Line, ParamCurve, ParamCurveArea, Point, Rect, Shape, Vec2};

use crate::arc::Arc;
use crate::cubic::Cubic;

/// One stretch of an outline, travelled with the body on its left.
#[derive(Debug, Clone, PartialEq)]
pub enum Segment {
    /// A straight line.
    Line(Line),
    /// A stretch of a circle.
    Arc(Arc),
    /// A cubic Bézier.
    Cubic(Cubic),
}

impl Segment {
    /// A straight line from `from` to `to`.
    pub fn line(from: Point, to: Point) -> Segment {
        Segment::Line(Line::new(from, to))
    }

    /// A cubic Bézier, or the straight line it really is.
    pub fn cubic(bez: CubicBez) -> Segment {
        let chord = bez.p3 - bez.p0;
        let length = chord.hypot();
        let straight = |control: Point| {
            let arm = control - bez.p0;
            let along = arm.dot(chord);
            chord.cross(arm).abs() <= 1e-13 * length * length
                && along >= 0.0
                && along <= length * length
        };
        let ordered = (bez.p1 - bez.p0).dot(chord) <= (bez.p2 - bez.p0).dot(chord);
        if length > 0.0 && straight(bez.p1) && straight(bez.p2) && ordered {
            Segment::line(bez.p0, bez.p3)
        } else {
            Segment::Cubic(Cubic::new(bez))
        }
    }

    /// Where it starts.
    pub fn start(&self) -> Point {
        match self {
            Segment::Line(line) => line.p0,
            Segment::Arc(arc) => arc.at_angle(arc.start),
            Segment::Cubic(cubic) => cubic.bez().p0,
        }
    }

    /// Where it ends.
    pub fn end(&self) -> Point {
        match self {
            Segment::Line(line) => line.p1,
            Segment::Arc(arc) => arc.at_angle(arc.start + arc.sweep),
            Segment::Cubic(cubic) => cubic.bez().p3,
        }
    }

    /// True for a straight line.
    pub fn is_line(&self) -> bool {
        matches!(self, Segment::Line(_))
    }

    /// Arc length.
    pub fn length(&self) -> f64 {
        match self {
            Segment::Line(line) => (line.p1 - line.p0).hypot(),
            Segment::Arc(arc) => arc.length(),
            Segment::Cubic(cubic) => cubic.length(),
        }
    }

    /// The point at the arc length `s` from the start.
    pub fn point_at(&self, s: f64) -> Point {
        match self {
            Segment::Line(line) => line.eval(fraction(s, self.length())),
            Segment::Arc(arc) => arc.at_angle(arc.angle_at(s)),
            Segment::Cubic(cubic) => cubic.bez().eval(cubic.parameter_at(s)),
        }
    }

    /// Unit vector of travel at the arc length `s` from the start.
    pub fn tangent_at(&self, s: f64) -> Vec2 {
        match self {
            Segment::Line(line) => {
                let along = line.p1 - line.p0;
                let length = along.hypot();
                if length > 0.0 { along / length } else { Vec2::new(1.0, 0.0) }
            }
            Segment::Arc(arc) => arc.tangent_at_angle(arc.angle_at(s)),
            Segment::Cubic(cubic) => cubic.tangent_at_parameter(cubic.parameter_at(s)),
        }
    }

    /// Curvature at the arc length `s` from the start, positive where travel turns left (a convex
    /// stretch of the body).
    pub fn curvature_at(&self, s: f64) -> f64 {
        match self {
            Segment::Line(_) => 0.0,
            Segment::Arc(arc) => arc.sign() / arc.radius,
            Segment::Cubic(cubic) => cubic.curvature_at_parameter(cubic.parameter_at(s)),
        }
    }

    /// The same stretch, travelled the other way.
    pub fn reversed(&self) -> Segment {
        match self {
            Segment::Line(line) => Segment::line(line.p1, line.p0),
            Segment::Arc(arc) => Segment::Arc(arc.reversed()),
            Segment::Cubic(cubic) => Segment::Cubic(cubic.reversed()),
        }
    }

    /// The part of it between two arc lengths.
    pub fn piece(&self, from: f64, to: f64) -> Segment {
        match self {
            Segment::Line(_) => Segment::line(self.point_at(from), self.point_at(to)),
            Segment::Arc(arc) => {
                let sweep = arc.sign() * (to - from) / arc.radius;
                Segment::Arc(Arc { start: arc.angle_at(from), sweep, ..*arc })
            }
            Segment::Cubic(cubic) => {
                let range = cubic.parameter_at(from)..cubic.parameter_at(to);
                Segment::Cubic(Cubic::new(cubic.bez().subsegment(range)))
            }
        }
    }

    /// The smallest upright box around it.
    pub fn bounds(&self) -> Rect {
        match self {
            Segment::Line(line) => Rect::from_points(line.p0, line.p1),
            Segment::Arc(arc) => arc.bounds(),
            Segment::Cubic(cubic) => cubic.bez().bounding_box(),
        }
    }

    /// Area swept by the line from `origin` to a point travelling along it, positive to the left.
    pub(crate) fn area_about(&self, origin: Point) -> f64 {
        match self {
            Segment::Line(line) => 0.5 * (line.p0 - origin).cross(line.p1 - origin),
            Segment::Arc(arc) => arc.area_about(origin),
            Segment::Cubic(cubic) => {
                let CubicBez { p0, p1, p2, p3 } = cubic.bez();
                let shift = |p: Point| (p - origin).to_point();
                CubicBez::new(shift(p0), shift(p1), shift(p2), shift(p3)).signed_area()
            }
        }
    }

    pub(crate) fn is_finite(&self) -> bool {
        match self {
            Segment::Line(line) => line.is_finite(),
            Segment::Arc(arc) => {
                arc.centre.is_finite()
                    && arc.radius.is_finite()
                    && arc.start.is_finite()
                    && arc.sweep.is_finite()
            }
            Segment::Cubic(cubic) => cubic.bez().is_finite() && cubic.length().is_finite(),
        }
    }
}

fn fraction(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_straight_cubic_becomes_a_line() {
        let bez = CubicBez::new((0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0));
        assert!(Segment::cubic(bez).is_line());
        let back_and_forth = CubicBez::new((0.0, 0.0), (4.0, 4.0), (2.0, 2.0), (3.0, 3.0));
        assert!(!Segment::cubic(back_and_forth).is_line());
    }

    #[test]
    fn pieces_add_up_to_the_whole() {
        let curves = [
            Segment::line(Point::new(0.0, 1.0), Point::new(3.0, 5.0)),
            Segment::Arc(Arc { centre: Point::new(1.0, 1.0), radius: 2.0, start: 0.3, sweep: -PI }),
            Segment::cubic(CubicBez::new((0.0, 0.0), (3.0, 4.0), (-1.0, 5.0), (4.0, 1.0))),
        ];
        let origin = Point::new(0.7, -0.2);
        for curve in &curves {
            let cut = 0.37 * curve.length();
            let (first, second) = (curve.piece(0.0, cut), curve.piece(cut, curve.length()));
            assert!((first.length() + second.length() - curve.length()).abs() < 1e-12);
            let sum = first.area_about(origin) + second.area_about(origin);
            assert!((sum - curve.area_about(origin)).abs() < 1e-12);
            assert!((curve.reversed().area_about(origin) + curve.area_about(origin)).abs() < 1e-12);
            assert!((first.end() - second.start()).hypot() < 1e-12);
        }
    }
}
