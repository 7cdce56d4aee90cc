//! An outline as a polygon that a grid can be cut with.
//!
//! A chord polygon inscribed in a curve is too small: along a chord of length `c` on a curvature
//! κ it lies inside the curve by κc²/12 in the mean, so its area is that of a smaller body, and a
//! field around it is off by as much. Vertices are therefore moved out by κc²/12, towards the
//! convex side: the polygon then weaves about the curve with mean distance zero, and what is left
//! of the error in area is of fourth order in the chord (computed: see the tests). Real corners
//! and joints with straight lines stay where they are; the chord next to such an end keeps half
//! of its own gap.

use std::f64::consts::FRAC_PI_4;

use kurbo::{ParamCurve, Point, Vec2};

use crate::closed_loop::Loop;
use crate::segment::Segment;

/// A vertex of a flattened loop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlatVertex {
    /// True arc length on the loop.
    pub s: f64,
    /// Where the vertex is put; beside the curve by κc²/12 on smooth curves.
    pub at: Point,
}

/// Chords on one curve between two stops at most: a guard against a tolerance of nothing.
const MOST_CHORDS: f64 = 65_536.0;

/// A vertex on its way.
struct Draft {
    vertex: FlatVertex,
    /// Right of travel, out of the body.
    outward: Vec2,
    /// κc² of the chord that starts here; zero on straight lines.
    bulge: f64,
    movable: bool,
}

impl Loop {
    /// The loop as a closed polygon; its first vertex is not repeated.
    ///
    /// There is a vertex at every joint, at every arc length in `breaks` (sorted, in
    /// `[0, length)`; others are passed over, and so are those within 1e-12 of the length of a
    /// joint or of each other), and as many between them, equally spaced, as keep the sagitta of
    /// every chord within `tolerance` and its turn within 45°. The vertices on curves lie outside
    /// by κc²/12, see the module's head; those at a smooth joint of two curves by the mean of
    /// what its two chords ask for.
    ///
    /// O(vertices).
    pub fn flatten(&self, breaks: &[f64], tolerance: f64) -> Vec<FlatVertex> {
        let hair = 1e-12 * self.length();
        let tolerance = if tolerance > 0.0 { tolerance } else { hair };
        let mut drafts: Vec<Draft> = Vec::with_capacity(self.segments().len() + breaks.len() + 8);
        let mut stops = Vec::new();
        let mut breaks = breaks.iter().copied().peekable();
        for (index, segment) in self.segments().iter().enumerate() {
            let (start, end) = (self.joint_positions()[index], self.joint_positions()[index + 1]);
            stops.clear();
            stops.push(0.0);
            while let Some(s) = breaks.next_if(|s| !(*s >= end)) {
                let last = stops.last().copied().unwrap_or(0.0);
                if s - start - last > hair && end - s > hair {
                    stops.push(s - start);
                }
            }
            stops.push(end - start);
            let first = drafts.len();
            match segment {
                Segment::Line(_) => flatten_line(segment, &stops, &mut drafts),
                Segment::Arc(_) => flatten_arc(segment, &stops, tolerance, &mut drafts),
                Segment::Cubic(_) => flatten_cubic(segment, &stops, tolerance, &mut drafts),
            }
            for draft in &mut drafts[first..] {
                draft.vertex.s += start;
            }
            if let Some(joint) = drafts.get_mut(first) {
                let count = self.segments().len();
                let before = &self.segments()[(index + count - 1) % count];
                joint.vertex = FlatVertex { s: start, at: self.joints()[index] };
                joint.movable = !segment.is_line() && !before.is_line() && self.is_smooth(index);
            }
        }
        let count = drafts.len();
        (0..count)
            .map(|k| {
                let Draft { vertex, outward, bulge, movable } = drafts[k];
                let before = drafts[(k + count - 1) % count].bulge;
                let out = if movable { (before + bulge) / 24.0 } else { 0.0 };
                FlatVertex { s: vertex.s, at: vertex.at + outward * out }
            })
            .collect()
    }
}

fn flatten_line(segment: &Segment, stops: &[f64], drafts: &mut Vec<Draft>) {
    for &s in &stops[..stops.len() - 1] {
        let vertex = FlatVertex { s, at: segment.point_at(s) };
        drafts.push(Draft { vertex, outward: Vec2::ZERO, bulge: 0.0, movable: false });
    }
}

fn flatten_arc(segment: &Segment, stops: &[f64], tolerance: f64, drafts: &mut Vec<Draft>) {
    let Segment::Arc(arc) = segment else { return };
    // sagitta = r (1 - cos(turn/2)), written so that small turns keep their digits
    let widest = (4.0 * (tolerance / (2.0 * arc.radius)).sqrt().min(1.0).asin()).min(FRAC_PI_4);
    for pair in stops.windows(2) {
        let turn = (pair[1] - pair[0]) / arc.radius;
        let chords = chord_count(turn / widest);
        let step = (pair[1] - pair[0]) / chords;
        let chord = 2.0 * arc.radius * (0.5 * turn / chords).sin();
        let bulge = arc.sign() * chord * chord / arc.radius;
        for k in 0..chords as usize {
            let s = pair[0] + step * k as f64;
            let (sin, cos) = arc.angle_at(s).sin_cos();
            let radial = Vec2::new(cos, sin);
            let vertex = FlatVertex { s, at: arc.centre + radial * arc.radius };
            drafts.push(Draft { vertex, outward: radial * arc.sign(), bulge, movable: true });
        }
    }
}

fn flatten_cubic(segment: &Segment, stops: &[f64], tolerance: f64, drafts: &mut Vec<Draft>) {
    /// Places at which the curvature of a stretch is looked up to find its largest.
    const LOOKS: usize = 17;
    let Segment::Cubic(cubic) = segment else {
        return;
    };
    for pair in stops.windows(2) {
        let length = pair[1] - pair[0];
        let (t0, t1) = (cubic.parameter_at(pair[0]), cubic.parameter_at(pair[1]));
        let at = |k: usize| t0 + (t1 - t0) * k as f64 / (LOOKS - 1) as f64;
        let sharpest =
            (0..LOOKS).map(|k| cubic.curvature_at_parameter(at(k)).abs()).fold(0.0, f64::max);
        let turn: f64 = (1..LOOKS)
            .map(|k| {
                let (a, b) =
                    (cubic.tangent_at_parameter(at(k - 1)), cubic.tangent_at_parameter(at(k)));
                a.cross(b).atan2(a.dot(b)).abs()
            })
            .sum();
        // however sharp the curve, a stretch of it as long as 2 tolerances cannot stray further
        let longest = (8.0 * tolerance / sharpest).sqrt().max(2.0 * tolerance);
        let chords = chord_count((length / longest).max(turn / FRAC_PI_4));
        let step = length / chords;
        for k in 0..chords as usize {
            let s = pair[0] + step * k as f64;
            let t = if k == 0 { t0 } else { cubic.parameter_at(s) };
            let tangent = cubic.tangent_at_parameter(t);
            let middle = segment.curvature_at(s + 0.5 * step);
            let bulge = (middle * step * step).clamp(-8.0 * tolerance, 8.0 * tolerance);
            let vertex = FlatVertex { s, at: cubic.bez().eval(t) };
            let outward = Vec2::new(tangent.y, -tangent.x);
            drafts.push(Draft { vertex, outward, bulge, movable: true });
        }
    }
}

/// At least one chord, at most [`MOST_CHORDS`], and NaN counts as one.
fn chord_count(wanted: f64) -> f64 {
    // a hair less, so that an exact fit does not take one chord more on rounding
    (wanted * (1.0 - 1e-12)).ceil().clamp(1.0, MOST_CHORDS).max(1.0)
}
