//! A stretch of a circle.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use kurbo::{Point, Rect, Vec2};

/// A stretch of a circle. Angles in radians, counter-clockwise from the `x` direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Centre of the circle.
    pub centre: Point,
    /// Its radius, above zero.
    pub radius: f64,
    /// Direction from the centre in which the arc starts.
    pub start: f64,
    /// How far it runs; negative runs clockwise. At most one full turn.
    pub sweep: f64,
}

impl Arc {
    /// Arc length.
    pub fn length(&self) -> f64 {
        self.radius * self.sweep.abs()
    }

    /// The point of the circle in the direction `angle` from the centre.
    pub fn at_angle(&self, angle: f64) -> Point {
        let (sin, cos) = angle.sin_cos();
        self.centre + Vec2::new(self.radius * cos, self.radius * sin)
    }

    /// Direction from the centre at the arc length `s`.
    pub fn angle_at(&self, s: f64) -> f64 {
        self.start + self.sign() * s / self.radius
    }

    /// Unit vector of travel in the direction `angle` from the centre.
    pub fn tangent_at_angle(&self, angle: f64) -> Vec2 {
        let (sin, cos) = angle.sin_cos();
        Vec2::new(-sin, cos) * self.sign()
    }

    /// +1 counter-clockwise, -1 clockwise.
    pub fn sign(&self) -> f64 {
        if self.sweep < 0.0 { -1.0 } else { 1.0 }
    }

    /// The same arc, travelled the other way.
    pub fn reversed(&self) -> Arc {
        Arc { start: self.start + self.sweep, sweep: -self.sweep, ..*self }
    }

    /// Arc length of the point in the direction of `at` from the centre, if the arc passes there.
    pub fn s_towards(&self, at: Point) -> Option<f64> {
        let angle = (at - self.centre).atan2();
        let along = ((angle - self.start) * self.sign()).rem_euclid(TAU);
        (along <= self.sweep.abs()).then_some(along * self.radius)
    }

    /// Angles at which the arc turns back in `y` (its highest and lowest points), in order of
    /// travel, its ends left out.
    pub(crate) fn y_turns(&self) -> impl Iterator<Item = f64> + use<> {
        self.turns(FRAC_PI_2)
    }

    /// Angles `offset + k pi` strictly inside the arc, in order of travel.
    fn turns(&self, offset: f64) -> impl Iterator<Item = f64> + use<> {
        let (start, end, sign) = (self.start, self.start + self.sweep, self.sign());
        // an end this close to a turn is the turn itself
        let slack = 1e-12;
        let first = ((start - offset) / PI * sign + slack).floor() + 1.0;
        // three, for a full turn that starts beside one
        (0..3)
            .map(move |k| offset + sign * (first + f64::from(k)) * PI)
            .take_while(move |angle| (end - angle) * sign > slack)
    }

    /// The smallest upright box around the arc.
    pub fn bounds(&self) -> Rect {
        let mut bounds =
            Rect::from_points(self.at_angle(self.start), self.at_angle(self.start + self.sweep));
        for angle in self.turns(0.0).chain(self.turns(FRAC_PI_2)) {
            bounds = bounds.union_pt(self.at_angle(angle));
        }
        bounds
    }

    /// Area between the arc and `origin`, counted positive to the left: `½ ∫ (x dy - y dx)`.
    pub(crate) fn area_about(&self, origin: Point) -> f64 {
        let to_centre = self.centre - origin;
        let chord = self.at_angle(self.start + self.sweep) - self.at_angle(self.start);
        0.5 * (self.radius * self.radius * self.sweep + to_centre.cross(chord))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arc(start: f64, sweep: f64) -> Arc {
        Arc { centre: Point::new(2.0, 1.0), radius: 3.0, start, sweep }
    }

    #[test]
    fn bounds_reach_the_extreme_points_passed() {
        let upper = arc(0.0, PI).bounds();
        assert!((upper.y1 - 4.0).abs() < 1e-12 && (upper.y0 - 1.0).abs() < 1e-12);
        assert!((upper.x0 + 1.0).abs() < 1e-12 && (upper.x1 - 5.0).abs() < 1e-12);
        let lower = arc(0.0, -PI).bounds();
        assert!((lower.y0 + 2.0).abs() < 1e-12 && (lower.y1 - 1.0).abs() < 1e-12);
        let round = arc(0.3, TAU).bounds();
        assert!((round.width() - 6.0).abs() < 1e-12 && (round.height() - 6.0).abs() < 1e-12);
    }

    #[test]
    fn turns_are_found_in_both_directions() {
        assert_eq!(arc(0.0, TAU).y_turns().count(), 2);
        assert_eq!(arc(0.1, -TAU).y_turns().count(), 2);
        assert_eq!(arc(FRAC_PI_2, PI).y_turns().count(), 0);
        assert_eq!(arc(-FRAC_PI_2, -PI).y_turns().count(), 0);
        assert_eq!(arc(0.0, -1.6).y_turns().count(), 1);
    }

    #[test]
    fn only_points_abreast_of_the_arc_have_an_arc_length() {
        let quarter = arc(0.0, FRAC_PI_2);
        let s = quarter.s_towards(Point::new(3.0, 2.0)).expect("within the quarter");
        assert!((s - 3.0 * FRAC_PI_2 / 2.0).abs() < 1e-12);
        assert!(quarter.s_towards(Point::new(1.0, 2.0)).is_none());
        let back = quarter.reversed();
        let s = back.s_towards(Point::new(3.0, 2.0)).expect("within the quarter");
        assert!((s - 3.0 * FRAC_PI_2 / 2.0).abs() < 1e-12);
    }
}
