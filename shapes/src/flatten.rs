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
    /// every chord within `tolerance` and its turn within 45°.
    ///
    /// Vertices on curves lie beside the curve by κc²/12 (chord `c`, curvature κ), on the convex
    /// side, at most two thirds of `tolerance`: the polygon then keeps the curve's mean radius
    /// and encloses its area to fourth order in `c`. Where two chords of different length meet,
    /// and at smooth joints of two curves, it is the mean of what both ask for; corners, joints
    /// with straight lines and points on them stay in place.
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
            while let Some(s) = breaks.next_if(|s| *s < end || s.is_nan()) {
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
        let mut next = t0;
        for k in 0..chords as usize {
            let (s, t) = (pair[0] + step * k as f64, next);
            next = if k + 1 == chords as usize { t1 } else { cubic.parameter_at(s + step) };
            let tangent = cubic.tangent_at_parameter(t);
            let middle = cubic.curvature_at_parameter(0.5 * (t + next));
            let bulge = (middle * step * step).max(-8.0 * tolerance).min(8.0 * tolerance);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::boolean::ring_area;
    use crate::outline::Outline;
    use std::f64::consts::PI;

    fn disc() -> Outline {
        Outline::disc(Point::new(3.0, -1.0), 2.0).expect("a disc")
    }

    fn ring(flat: &[FlatVertex]) -> Vec<Point> {
        flat.iter().map(|vertex| vertex.at).collect()
    }

    #[test]
    fn a_disc_is_a_regular_polygon_of_the_right_mean_radius() {
        let flat = disc().loops()[0].flatten(&[], 0.01);
        let count = flat.len() as f64;
        // sagitta r (1 - cos(π/n)) ≤ 0.01 needs n = 32
        assert_eq!(flat.len(), 32);
        let chord = 4.0 * (PI / count).sin();
        for (k, vertex) in flat.iter().enumerate() {
            let radius = (vertex.at - Point::new(3.0, -1.0)).hypot();
            assert!((radius - (2.0 + chord * chord / 24.0)).abs() < 1e-12);
            assert!((vertex.s - 4.0 * PI * k as f64 / count).abs() < 1e-12);
        }
    }

    #[test]
    fn the_error_in_area_is_of_fourth_order_in_the_chord() {
        // a sixteenth of the tolerance quarters the chord
        let error = |tolerance: f64| {
            let flat = disc().loops()[0].flatten(&[], tolerance);
            ((ring_area(&ring(&flat)) / (4.0 * PI) - 1.0).abs(), flat.len() as f64)
        };
        let ((coarse, few), (fine, many)) = (error(0.02), error(0.02 / 16.0));
        let order = (coarse / fine).ln() / (many / few).ln();
        assert!((order - 4.0).abs() < 0.1, "order {order}, {coarse:e} {fine:e}");
        // and without the offset it would be 2π²/3n²
        assert!(coarse < 0.02 * 2.0 * PI * PI / (3.0 * few * few));
    }

    #[test]
    fn two_half_arcs_flatten_like_one_whole_one() {
        let halves = Outline::path("M5 -1A2 2 0 0 1 1 -1A2 2 0 0 1 5 -1Z").expect("two halves");
        let (a, b) = (halves.loops()[0].flatten(&[], 0.01), disc().loops()[0].flatten(&[], 0.01));
        assert_eq!(a.len(), b.len());
        for (a, b) in a.iter().zip(&b) {
            assert!((a.at - b.at).hypot() < 1e-12 && (a.s - b.s).abs() < 1e-12);
        }
    }

    #[test]
    fn breaks_become_vertices_with_equal_chords_between() {
        let breaks = [0.5, 0.75, 6.0, 6.5];
        let flat = disc().loops()[0].flatten(&breaks, 0.003);
        let stops = [0.0, 0.5, 0.75, 6.0, 6.5, 4.0 * PI];
        for s in breaks {
            assert!(flat.iter().any(|vertex| vertex.s == s), "{s}");
        }
        for pair in stops.windows(2) {
            let within: Vec<f64> = flat
                .iter()
                .map(|vertex| vertex.s)
                .filter(|s| *s >= pair[0] && *s < pair[1])
                .chain([pair[1]])
                .collect();
            let step = (pair[1] - pair[0]) / (within.len() - 1) as f64;
            assert!(within.windows(2).all(|w| (w[1] - w[0] - step).abs() < 1e-12));
            assert!(2.0 * (1.0 - (step / 4.0).cos()) <= 0.003 * (1.0 + 1e-9), "sagitta");
        }
        assert!(flat.windows(2).all(|w| w[0].s < w[1].s));
    }

    #[test]
    fn straight_stretches_and_their_ends_stay_in_place() {
        let plate = Outline::rect(Point::ORIGIN, (8.0, 4.0), 1.0).expect("a plate");
        let curve = &plate.loops()[0];
        let breaks: Vec<f64> = (0..40).map(|k| curve.length() * f64::from(k) / 40.0).collect();
        let flat = curve.flatten(&breaks, 0.01);
        let mut moved = 0;
        for vertex in &flat {
            let off = (vertex.at - curve.point_at(vertex.s)).hypot();
            let (index, along) = curve.segment_at(vertex.s);
            if curve.segments()[index].is_line() || along == 0.0 {
                assert!(off < 1e-12, "{vertex:?}");
            } else {
                let out = (vertex.at - curve.point_at(vertex.s)).dot(curve.outward_at(vertex.s));
                assert!(out > 0.0 && out < 0.01 * 2.0 / 3.0, "{vertex:?}");
                moved += 1;
            }
        }
        assert!(moved >= 16);
    }

    #[test]
    fn hollows_move_into_the_body_and_holes_keep_their_mean_radius() {
        let tube = Outline::ring(Point::ORIGIN, 3.0, 2.0).expect("a tube");
        let hole = tube.loops().iter().find(|curve| curve.is_hole()).expect("a hole");
        let flat = hole.flatten(&[], 1e-3);
        assert!(flat.iter().all(|vertex| vertex.at.to_vec2().hypot() > 2.0));
        assert!((ring_area(&ring(&flat)) / (-4.0 * PI) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_bezier_keeps_its_area_and_its_tolerance() {
        let drop = Outline::path("M0 0C6 -1 5 6 0 5C-5 6 -6 -1 0 0Z").expect("a drop");
        let curve = &drop.loops()[0];
        for tolerance in [1e-2, 1e-3, 1e-4] {
            let flat = curve.flatten(&[1.0, 2.5], tolerance);
            let farthest = flat.iter().map(|v| drop.distance(v.at)).fold(0.0, f64::max);
            assert!(farthest <= tolerance && farthest > 0.0, "{farthest} at {tolerance}");
            let mean_gap = (ring_area(&ring(&flat)) - drop.area()).abs() / drop.perimeter();
            assert!(mean_gap < 0.05 * tolerance, "{mean_gap} at {tolerance}");
        }
    }

    #[test]
    fn tiny_and_senseless_tolerances_still_give_a_polygon() {
        for tolerance in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300] {
            let flat = disc().loops()[0].flatten(&[f64::NAN, 1.0, 1.0, -3.0, 99.0], tolerance);
            assert!(flat.len() >= 8 && flat.len() <= 200_000);
        }
        let square = Outline::rect(Point::ORIGIN, (1.0, 1.0), 0.0).expect("a square");
        assert_eq!(square.loops()[0].flatten(&[], 1e-3).len(), 4);
    }
}
