//! One closed curve of an outline, followed by its arc length.

use kurbo::{Point, Rect, Vec2};

use crate::corners::interior_angle;
use crate::error::ShapeError;
use crate::segment::Segment;

/// One closed curve, travelled with the body's interior on its left.
///
/// Positions on it are arc lengths `s` from its first joint; any number is taken around the loop.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop {
    segments: Vec<Segment>,
    /// Where each segment starts.
    joints: Vec<Point>,
    /// Arc length at which each segment starts, and the length of the loop.
    starts: Vec<f64>,
    /// Interior angle at each joint, radians.
    angles: Vec<f64>,
    /// Box around each segment.
    boxes: Vec<Rect>,
    bounds: Rect,
}

impl Loop {
    /// Closes a chain of segments, each starting where the one before ends.
    ///
    /// Segments shorter than 1e-12 of the loop's size are dropped.
    pub(crate) fn close(mut segments: Vec<Segment>) -> Result<Loop, ShapeError> {
        if !segments.iter().all(Segment::is_finite) {
            return Err(ShapeError::NotFinite { what: "every coordinate of an outline" });
        }
        let size = segments
            .iter()
            .map(Segment::bounds)
            .reduce(|a, b| a.union(b))
            .map_or(0.0, |bounds| bounds.size().to_vec2().hypot());
        segments.retain(|segment| segment.length() > 1e-12 * size);
        if segments.is_empty() || !size.is_finite() {
            return Err(ShapeError::NoArea);
        }
        Ok(Loop::measured(segments))
    }

    /// Measures segments already known to form a loop.
    pub(crate) fn measured(mut segments: Vec<Segment>) -> Loop {
        let count = segments.len();
        // lines and Béziers carry their ends outright, arcs compute them: trust the former
        let joints: Vec<Point> = (0..count)
            .map(|i| {
                let before = &segments[(i + count - 1) % count];
                match (&segments[i], before) {
                    (Segment::Arc(_), Segment::Line(_) | Segment::Cubic(_)) => before.end(),
                    (segment, _) => segment.start(),
                }
            })
            .collect();
        for (i, segment) in segments.iter_mut().enumerate() {
            if let Segment::Line(line) = segment {
                (line.p0, line.p1) = (joints[i], joints[(i + 1) % count]);
            }
        }
        let mut starts = Vec::with_capacity(count + 1);
        let mut length = 0.0;
        starts.push(0.0);
        for segment in &segments {
            length += segment.length();
            starts.push(length);
        }
        let boxes: Vec<Rect> = (0..count)
            .map(|i| segments[i].bounds().union_pt(joints[i]).union_pt(joints[(i + 1) % count]))
            .collect();
        let bounds = boxes.iter().copied().reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
        let angles = (0..count)
            .map(|i| interior_angle(&segments[(i + count - 1) % count], &segments[i]))
            .collect();
        Loop { segments, joints, starts, angles, boxes, bounds }
    }

    /// The segments in order of travel.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// Where each segment starts, in order.
    pub fn joints(&self) -> &[Point] {
        &self.joints
    }

    /// Arc length at which each segment starts, in order, and the length of the loop last.
    pub fn joint_positions(&self) -> &[f64] {
        &self.starts
    }

    /// Angle inside the body at each joint, radians.
    pub(crate) fn joint_angles(&self) -> &[f64] {
        &self.angles
    }

    pub(crate) fn boxes(&self) -> &[Rect] {
        &self.boxes
    }

    /// Where segment `index` ends.
    pub(crate) fn joint_after(&self, index: usize) -> Point {
        self.joints[(index + 1) % self.joints.len()]
    }

    /// The smallest upright box around the loop.
    pub fn bounds(&self) -> Rect {
        self.bounds
    }

    /// Arc length all around.
    pub fn length(&self) -> f64 {
        self.starts.last().copied().unwrap_or(0.0)
    }

    /// Area enclosed: positive for an outer loop, negative for a hole. Exact.
    pub fn area(&self) -> f64 {
        let origin = self.bounds.center();
        self.segments.iter().map(|segment| segment.area_about(origin)).sum()
    }

    /// True where the loop bounds a hole.
    pub fn is_hole(&self) -> bool {
        self.area() < 0.0
    }

    /// `s` taken around the loop into `[0, length)`.
    pub fn wrapped(&self, s: f64) -> f64 {
        let length = self.length();
        let s = s.rem_euclid(length);
        // a tiny negative number wraps to the length itself
        if s < length { s } else { 0.0 }
    }

    /// Index of the segment at `s`, and the arc length from its start.
    pub fn segment_at(&self, s: f64) -> (usize, f64) {
        let s = self.wrapped(s);
        let index = self.starts.partition_point(|start| *start <= s);
        let index = index.saturating_sub(1).min(self.segments.len() - 1);
        (index, s - self.starts[index])
    }

    /// The point at `s`.
    pub fn point_at(&self, s: f64) -> Point {
        let (index, along) = self.segment_at(s);
        if along == 0.0 { self.joints[index] } else { self.segments[index].point_at(along) }
    }

    /// Unit vector of travel at `s`; the body is to its left, its outward normal to its right.
    ///
    /// At a joint it is that of the segment that starts there.
    pub fn tangent_at(&self, s: f64) -> Vec2 {
        let (index, along) = self.segment_at(s);
        self.segments[index].tangent_at(along)
    }

    /// Unit normal at `s`, out of the body.
    pub fn outward_at(&self, s: f64) -> Vec2 {
        let tangent = self.tangent_at(s);
        Vec2::new(tangent.y, -tangent.x)
    }

    /// Curvature at `s`, positive where the body is convex.
    pub fn curvature_at(&self, s: f64) -> f64 {
        let (index, along) = self.segment_at(s);
        self.segments[index].curvature_at(along)
    }

    /// The segments and parts of segments from `from` onwards to `to`, both taken around the loop;
    /// all of it where the two are the same.
    pub fn stretch(&self, from: f64, to: f64) -> Vec<Segment> {
        let (first, along) = self.segment_at(from);
        let (last, until) = self.segment_at(to);
        if first == last && along < until {
            return vec![self.segments[first].piece(along, until)];
        }
        let count = self.segments.len();
        let mut pieces = vec![self.segments[first].piece(along, self.segments[first].length())];
        let mut index = (first + 1) % count;
        while index != last {
            pieces.push(self.segments[index].clone());
            index = (index + 1) % count;
        }
        pieces.push(self.segments[last].piece(0.0, until));
        pieces.retain(|piece| piece.length() > 0.0);
        pieces
    }

    /// The same curve, travelled the other way.
    pub(crate) fn reversed(&self) -> Loop {
        Loop::measured(self.segments.iter().rev().map(Segment::reversed).collect())
    }
}
