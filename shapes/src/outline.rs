//! A body seen in section: its closed loops.

use kurbo::{BezPath, Point, Rect};

use crate::closed_loop::Loop;
use crate::error::ShapeError;
use crate::segment::Segment;

/// A body's outline: closed loops with the body's interior on the left of each.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    loops: Vec<Loop>,
    bounds: Rect,
}

impl Outline {
    /// Builds an outline from chains of segments, each chain closed and each segment starting
    /// where the one before ends.
    ///
    /// Chains may run either way. A chain inside an odd number of others bounds a hole, inside an
    /// even number a body; each is turned so that the interior is on its left.
    ///
    /// # Errors
    /// [`ShapeError::NotFinite`], [`ShapeError::NoArea`], [`ShapeError::SelfCrossing`].
    pub fn from_segments(chains: Vec<Vec<Segment>>) -> Result<Outline, ShapeError> {
        let outline = Outline::unchecked(chains)?;
        match outline.self_crossing() {
            Some(at) => Err(ShapeError::SelfCrossing { at }),
            None => Ok(outline),
        }
    }

    /// As [`Outline::from_segments`], for chains known not to cross.
    pub(crate) fn unchecked(chains: Vec<Vec<Segment>>) -> Result<Outline, ShapeError> {
        let loops = chains.into_iter().map(Loop::close).collect::<Result<Vec<_>, _>>()?;
        if loops.is_empty() {
            return Err(ShapeError::NoArea);
        }
        let outline = Outline::of_loops(loops);
        let full = |curve: &Loop| curve.area().abs() > 1e-12 * curve.length() * curve.length();
        if !outline.loops.iter().all(full) {
            // crossing itself with equal lobes is the better explanation
            return match outline.self_crossing() {
                Some(at) => Err(ShapeError::SelfCrossing { at }),
                None => Err(ShapeError::NoArea),
            };
        }
        Ok(outline.oriented())
    }

    pub(crate) fn of_loops(loops: Vec<Loop>) -> Outline {
        let bounds = loops.iter().map(Loop::bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
        Outline { loops, bounds }
    }

    /// Turns every loop so that the body is on its left.
    fn oriented(self) -> Outline {
        let loops = (0..self.loops.len())
            .map(|i| {
                let depth = self
                    .loops
                    .iter()
                    .enumerate()
                    .filter(|(j, other)| *j != i && lies_inside(&self.loops[i], other))
                    .count();
                let is_hole = depth % 2 == 1;
                if self.loops[i].is_hole() == is_hole {
                    self.loops[i].clone()
                } else {
                    self.loops[i].reversed()
                }
            })
            .collect();
        Outline::of_loops(loops)
    }

    /// The closed loops; the body is on the left of each.
    pub fn loops(&self) -> &[Loop] {
        &self.loops
    }

    /// The smallest upright box around the outline.
    pub fn bounds(&self) -> Rect {
        self.bounds
    }

    /// Diagonal of the box around the outline: the measure for tolerances.
    pub fn diagonal(&self) -> f64 {
        self.bounds.size().to_vec2().hypot()
    }

    /// Area of the body, holes taken off. Exact for lines, arcs and Béziers.
    pub fn area(&self) -> f64 {
        self.loops.iter().map(Loop::area).sum()
    }

    /// Length of all loops together.
    pub fn perimeter(&self) -> f64 {
        self.loops.iter().map(Loop::length).sum()
    }

    /// True where every coordinate is an ordinary number; moving or scaling by NaN or infinity
    /// makes an outline for which it is false.
    pub fn is_finite(&self) -> bool {
        self.loops.iter().all(|curve| curve.segments().iter().all(Segment::is_finite))
    }

    /// The outline as a path for drawing; arcs become Béziers within `tolerance` (or 1e-8 of
    /// their radius, where that is more).
    pub fn to_path(&self, tolerance: f64) -> BezPath {
        let mut path = BezPath::new();
        for curve in &self.loops {
            path.move_to(curve.joints()[0]);
            for (index, segment) in curve.segments().iter().enumerate() {
                let end = curve.joint_after(index);
                match segment {
                    Segment::Line(_) => path.line_to(end),
                    Segment::Cubic(cubic) => path.curve_to(cubic.bez().p1, cubic.bez().p2, end),
                    Segment::Arc(arc) => {
                        let radii = (arc.radius, arc.radius);
                        let drawn = kurbo::Arc::new(arc.centre, radii, arc.start, arc.sweep, 0.0);
                        // at most 22 pieces for a full turn
                        let tolerance = tolerance.max(1e-8 * arc.radius).max(f64::MIN_POSITIVE);
                        drawn.to_cubic_beziers(tolerance, |p1, p2, p3| path.curve_to(p1, p2, p3));
                    }
                }
            }
            path.close_path();
        }
        path
    }
}

/// True where `curve` lies inside `other`; asked of loops that do not cross.
fn lies_inside(curve: &Loop, other: &Loop) -> bool {
    let (inner, outer) = (curve.bounds(), other.bounds());
    if inner.x0 < outer.x0 || inner.y0 < outer.y0 || inner.x1 > outer.x1 || inner.y1 > outer.y1 {
        return false;
    }
    // of several places on the curve, ask at the one least likely to lie on the other
    let mut places: Vec<Point> = curve.joints().to_vec();
    places.extend(curve.segments().iter().map(|s| s.point_at(0.5 * s.length())));
    places
        .into_iter()
        .map(|p| ((other.nearest(p).1 - p).hypot2(), p))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .is_some_and(|(_, p)| other.encloses(p))
}
