//! Mirroring, turning, moving, scaling and repeating a body.

use std::f64::consts::PI;

use kurbo::{CubicBez, Point, Vec2};

use crate::arc::Arc;
use crate::closed_loop::Loop;
use crate::cubic::Cubic;
use crate::outline::Outline;
use crate::segment::Segment;

/// Which coordinate a mirror flips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// Left and right change places (`mirror = "x"`).
    X,
    /// Top and bottom change places (`mirror = "y"`).
    Y,
}

/// Scaling, turning and moving, after an optional flip of `x`: what keeps circles circles.
#[derive(Clone, Copy)]
struct Similarity {
    flip_x: bool,
    /// Turn, radians; its cosine and sine times the scale.
    turn: f64,
    cos: f64,
    sin: f64,
    scale: f64,
    shift: Vec2,
}

impl Similarity {
    const NONE: Similarity =
        Similarity { flip_x: false, turn: 0.0, cos: 1.0, sin: 0.0, scale: 1.0, shift: Vec2::ZERO };

    /// Moved so that `centre` stays where it is.
    fn about(self, centre: Point) -> Similarity {
        let moved = self.point(centre);
        Similarity { shift: self.shift + (centre - moved), ..self }
    }

    fn point(self, p: Point) -> Point {
        let x = if self.flip_x { -p.x } else { p.x };
        let turned = Point::new(self.cos * x - self.sin * p.y, self.sin * x + self.cos * p.y);
        turned + self.shift
    }

    fn segment(self, segment: &Segment) -> Segment {
        match segment {
            Segment::Line(line) => Segment::line(self.point(line.p0), self.point(line.p1)),
            Segment::Arc(arc) => {
                let (start, sweep) =
                    if self.flip_x { (PI - arc.start, -arc.sweep) } else { (arc.start, arc.sweep) };
                let (centre, radius) = (self.point(arc.centre), arc.radius * self.scale);
                Segment::Arc(Arc { centre, radius, start: start + self.turn, sweep })
            }
            Segment::Cubic(cubic) => {
                let CubicBez { p0, p1, p2, p3 } = cubic.bez();
                let [p0, p1, p2, p3] = [p0, p1, p2, p3].map(|p| self.point(p));
                Segment::Cubic(Cubic::new(CubicBez::new(p0, p1, p2, p3)))
            }
        }
    }

    fn outline(self, outline: &Outline) -> Outline {
        let loops = outline.loops().iter().map(|curve| {
            let segments: Vec<Segment> =
                curve.segments().iter().map(|segment| self.segment(segment)).collect();
            let moved = Loop::measured(segments);
            // a flip puts the body on the right: travel the other way
            if self.flip_x { moved.reversed() } else { moved }
        });
        Outline::of_loops(loops.collect())
    }
}

impl Outline {
    /// Mirrored in place: [`Axis::X`] flips left and right about the centre of the body's own
    /// bounding box, [`Axis::Y`] top and bottom.
    #[must_use]
    pub fn mirrored(&self, axis: Axis) -> Outline {
        let flipped = match axis {
            Axis::X => Similarity { flip_x: true, ..Similarity::NONE },
            // flipping y is flipping x and half a turn
            Axis::Y => {
                Similarity { flip_x: true, turn: PI, cos: -1.0, sin: 0.0, ..Similarity::NONE }
            }
        };
        flipped.about(self.bounds().center()).outline(self)
    }

    /// Turned counter-clockwise about the centre of the body's own bounding box.
    #[must_use]
    pub fn turned(&self, degrees: f64) -> Outline {
        self.turned_about(degrees, self.bounds().center())
    }

    /// Turned counter-clockwise about `centre`. Quarter turns are exact.
    #[must_use]
    pub fn turned_about(&self, degrees: f64, centre: Point) -> Outline {
        let degrees = degrees % 360.0;
        let turn = degrees.to_radians();
        let (sin, cos) = if degrees % 90.0 == 0.0 {
            match (degrees / 90.0).rem_euclid(4.0) as u8 {
                0 => (0.0, 1.0),
                1 => (1.0, 0.0),
                2 => (0.0, -1.0),
                _ => (-1.0, 0.0),
            }
        } else {
            turn.sin_cos()
        };
        Similarity { turn, cos, sin, ..Similarity::NONE }.about(centre).outline(self)
    }

    /// Moved by `by`.
    #[must_use]
    pub fn moved(&self, by: Vec2) -> Outline {
        Similarity { shift: by, ..Similarity::NONE }.outline(self)
    }

    /// Every coordinate multiplied by `factor` (above zero), as when the unit of the drawing
    /// changes; the origin stays. The caller answers for a sensible factor, see
    /// [`Outline::is_finite`]; a negative one counts as its magnitude.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Outline {
        let factor = factor.abs();
        Similarity { cos: factor, scale: factor, ..Similarity::NONE }.outline(self)
    }

    /// `count` copies, the first in place and each next one `step` further.
    pub fn repeated(&self, count: usize, step: Vec2) -> Vec<Outline> {
        (0..count).map(|k| self.moved(step * k as f64)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner(outline: &Outline, x: f64, y: f64) -> bool {
        let at = Point::new(x, y);
        outline.loops()[0].corners().iter().any(|corner| (corner.at - at).hypot() < 1e-12)
    }

    /// An L with its nook at (2, 1).
    fn angle() -> Outline {
        Outline::path("M0 0H6V1H2V4H0Z").expect("an angle")
    }

    #[test]
    fn mirrors_flip_one_coordinate_about_the_middle() {
        assert!(corner(&angle(), 2.0, 1.0));
        assert!(corner(&angle().mirrored(Axis::X), 4.0, 1.0));
        assert!(corner(&angle().mirrored(Axis::Y), 2.0, 3.0));
        assert!(corner(&angle().mirrored(Axis::X).mirrored(Axis::Y), 4.0, 3.0));
        assert_eq!(angle().mirrored(Axis::X).bounds(), angle().bounds());
        assert!(angle().mirrored(Axis::X).area() > 0.0);
    }

    #[test]
    fn turns_are_counter_clockwise() {
        let turned = angle().turned(90.0);
        // (2,1) is (-1,-1) from the middle (3,2): a quarter turn makes it (1,-1)
        assert!(corner(&turned, 4.0, 1.0));
        let origin = angle().turned_about(90.0, Point::ORIGIN);
        assert_eq!(origin.bounds(), kurbo::Rect::new(-4.0, 0.0, 0.0, 6.0));
        assert_eq!(angle().turned_about(-270.0, Point::ORIGIN).bounds(), origin.bounds());
        assert_eq!(angle().turned_about(810.0, Point::ORIGIN).bounds(), origin.bounds());
    }

    #[test]
    fn copies_stand_one_step_apart() {
        let row = angle().repeated(3, Vec2::new(10.0, -1.0));
        assert_eq!(row.len(), 3);
        assert_eq!(row[0], angle());
        assert!(corner(&row[2], 22.0, -1.0));
        assert!(angle().repeated(0, Vec2::ZERO).is_empty());
    }

    #[test]
    fn millimetres_become_metres() {
        let metres = angle().scaled(1e-3);
        assert!((metres.area() - angle().area() * 1e-6).abs() < 1e-18);
        assert!(corner(&metres, 2e-3, 1e-3));
        assert!(metres.is_finite() && !angle().scaled(f64::NAN).is_finite());
    }
}
