//! Lines and arcs in place of Béziers, tangent to each other where they meet.

use kurbo::{CubicBez, ParamCurve, Point, Vec2};

use crate::cubic::Cubic;
use crate::distance::nearest_on;
use crate::import::bulge;
use crate::segment::Segment;

/// Halvings of a Bézier at most; each makes it follow eight times as closely.
const MOST_HALVINGS: usize = 12;
/// Places at which two arcs are compared with their stretch of a Bézier.
const LOOKS: usize = 7;

/// The segments, with every Bézier as arcs within `tolerance`.
pub(super) fn lines_and_arcs(segments: &[Segment], tolerance: f64) -> Vec<Segment> {
    let mut out = Vec::new();
    for segment in segments {
        match segment {
            Segment::Cubic(cubic) => {
                let parameters: Vec<f64> = cubic.node_parameters().collect();
                for pair in parameters.windows(2) {
                    halve(cubic, (pair[0], pair[1]), tolerance, MOST_HALVINGS, &mut out);
                }
            }
            _ => out.push(segment.clone()),
        }
    }
    out
}

fn halve(cubic: &Cubic, t: (f64, f64), tolerance: f64, left: usize, out: &mut Vec<Segment>) {
    let pair = biarc(cubic, t);
    if left == 0 || strays(&cubic.bez(), t, &pair) <= tolerance {
        out.extend(pair.into_iter().filter(|arc| arc.length() > 0.0));
        return;
    }
    let middle = 0.5 * (t.0 + t.1);
    halve(cubic, (t.0, middle), tolerance, left - 1, out);
    halve(cubic, (middle, t.1), tolerance, left - 1, out);
}

/// Two arcs with the curve's ends and directions that run smoothly into each other, with equal
/// arms (K. M. Bolton, *Computer-Aided Design* 7 (1975) 89).
fn biarc(cubic: &Cubic, t: (f64, f64)) -> [Segment; 2] {
    let (from, to) = (cubic.bez().eval(t.0), cubic.bez().eval(t.1));
    let (first, last) = (cubic.tangent_at_parameter(t.0), cubic.tangent_at_parameter(t.1));
    let chord = to - from;
    let (along, slack) = (chord.dot(first + last), 2.0 * (1.0 - first.dot(last)));
    let arm = if slack > 1e-9 {
        ((along * along + slack * chord.hypot2()).sqrt() - along) / slack
    } else if along.abs() > 0.0 {
        // the limit for parallel ends
        0.5 * chord.hypot2() / along
    } else {
        0.0
    };
    let middle = from.midpoint(to) + 0.5 * arm * (first - last);
    [arc_from(from, middle, first), arc_from(to, middle, -last).reversed()]
}

/// The arc from one point to another that starts in a direction.
fn arc_from(from: Point, to: Point, along: Vec2) -> Segment {
    let chord = to - from;
    let half = along.cross(chord).atan2(along.dot(chord));
    bulge(from, to, (0.5 * half).tan())
}

/// How far the curve goes from the pair of arcs.
fn strays(bez: &CubicBez, t: (f64, f64), pair: &[Segment; 2]) -> f64 {
    (1..=LOOKS)
        .map(|k| bez.eval(t.0 + (t.1 - t.0) * k as f64 / (LOOKS + 1) as f64))
        .map(|p| {
            let from = |arc: &Segment| (nearest_on(arc, arc.start(), arc.end(), p).1 - p).hypot();
            from(&pair[0]).min(from(&pair[1]))
        })
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_follow_a_bezier_and_run_smoothly() {
        let wave = Segment::cubic(CubicBez::new((0.0, 0.0), (6.0, 8.0), (-2.0, 9.0), (7.0, 1.0)));
        for (tolerance, most) in [(1e-2, 40), (1e-4, 150), (1e-6, 700)] {
            let arcs = lines_and_arcs(std::slice::from_ref(&wave), tolerance);
            assert!(arcs.len() < most, "{} arcs at {tolerance}", arcs.len());
            for pair in arcs.windows(2) {
                assert!((pair[0].end() - pair[1].start()).hypot() < 1e-12);
                let (a, b) = (pair[0].tangent_at(pair[0].length()), pair[1].tangent_at(0.0));
                assert!(a.cross(b).abs() < 1e-6, "{a:?} {b:?}");
            }
            let length: f64 = arcs.iter().map(Segment::length).sum();
            assert!((length / wave.length() - 1.0).abs() < tolerance);
        }
    }
}
