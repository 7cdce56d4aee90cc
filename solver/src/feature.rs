//! The smallest thing on a part that a deposit could bury or fill: a rounded corner, a wall, a
//! recess, the gap to a neighbour.
//!
//! A solve takes the outline as it is at the first moment. That holds as long as the deposit is
//! thin against every feature; [`THIN`] of the smallest one is taken as the end of it.
use shapes::{Loop, Outline, Point, Vec2};

use crate::layout::{Layout, Role};

/// Largest deposit, as a share of the smallest feature, that still counts as thin (common practice,
/// no source).
pub const THIN: f64 = 0.05;

/// What kind of thing is smallest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeatureKind {
    /// Radius of a rounded edge or of a fillet.
    Radius,
    /// Thickness of metal between two faces of the part.
    Wall,
    /// Width of bath between two faces of the part.
    Recess,
    /// Bath between the part and the body of this index.
    Gap(usize),
}

/// A feature with its size and place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feature {
    /// What it is.
    pub kind: FeatureKind,
    /// Its radius, thickness or width, m.
    pub size_m: f64,
    /// Where it is, m.
    pub at: Point,
}

/// Faces count as opposite if their normals differ by half a turn within this cosine (15 degrees):
/// the walls of a sharp corner are not a recess.
const OPPOSITE: f64 = -0.966;
/// Places looked at along a loop, at least.
const SAMPLES: f64 = 96.0;
/// Nearer than this bodies touch: no bath is between them, m.
const TOUCHING: f64 = 1e-9;
/// Places on a curved segment where its radius is taken: exact on arcs.
const BENDS: u32 = 8;

/// The smallest feature of a body; `None` if it has none (a single sharp outline without opposite
/// faces, and no neighbour).
///
/// O(n²) in the chords of its outline, and a distance to every neighbour that may be nearer.
pub fn smallest_feature(layout: &Layout, body: usize) -> Option<Feature> {
    let outline = &layout.bodies.get(body)?.outline;
    let mut best: Option<Feature> = None;
    let mut offer = |kind: FeatureKind, size_m: f64, at: Point| {
        if size_m > 0.0 && best.is_none_or(|b| size_m < b.size_m) {
            best = Some(Feature { kind, size_m, at });
        }
    };
    for curve in outline.loops() {
        radii(curve, &mut offer);
    }
    let samples = samples(outline);
    across(&samples, &mut offer);
    let bounds = outline.bounds();
    for (other, neighbour) in layout.bodies.iter().enumerate() {
        if other == body || matches!(neighbour.role, Role::Screen { .. }) {
            continue;
        }
        let gap = outline.gap(&neighbour.outline);
        if gap > TOUCHING && bounds.is_finite() {
            let nearest = samples.iter().min_by(|a, b| {
                let far = |s: &Sample| neighbour.outline.distance(s.at);
                far(a).total_cmp(&far(b))
            });
            offer(FeatureKind::Gap(other), gap, nearest.map_or(bounds.center(), |s| s.at));
        }
    }
    best
}

fn radii(curve: &Loop, offer: &mut dyn FnMut(FeatureKind, f64, Point)) {
    for segment in curve.segments().iter().filter(|segment| !segment.is_line()) {
        for k in 0..=BENDS {
            let s = segment.length() * f64::from(k) / f64::from(BENDS);
            let bend = segment.curvature_at(s).abs();
            if bend > 0.0 {
                offer(FeatureKind::Radius, 1.0 / bend, segment.point_at(s));
            }
        }
    }
}

/// A short chord of an outline.
#[derive(Debug, Clone, Copy)]
struct Sample {
    from: Point,
    to: Point,
    at: Point,
    outward: Vec2,
}

fn samples(outline: &Outline) -> Vec<Sample> {
    let mut out = Vec::new();
    for curve in outline.loops() {
        let step = curve.length() / SAMPLES;
        let mut start = 0.0;
        for segment in curve.segments() {
            let count =
                (segment.length() / step).ceil().max(if segment.is_line() { 1.0 } else { 8.0 });
            let at = |k: f64| curve.point_at(curve.wrapped(start + segment.length() * k / count));
            for k in 0..count as u32 {
                let k = f64::from(k);
                let middle = curve.wrapped(start + segment.length() * (k + 0.5) / count);
                out.push(Sample {
                    from: at(k),
                    to: at(k + 1.0),
                    at: curve.point_at(middle),
                    outward: curve.outward_at(middle),
                });
            }
            start += segment.length();
        }
    }
    out
}

/// Walls and recesses: from each place straight inward and outward to the opposite face.
fn across(samples: &[Sample], offer: &mut dyn FnMut(FeatureKind, f64, Point)) {
    for (k, place) in samples.iter().enumerate() {
        for (kind, way) in [(FeatureKind::Wall, -1.0), (FeatureKind::Recess, 1.0)] {
            let mut nearest: Option<(f64, Vec2)> = None;
            for (n, other) in samples.iter().enumerate() {
                if n != k
                    && let Some(far) = hit(place.at, place.outward * way, other)
                    && nearest.is_none_or(|(least, _)| far < least)
                {
                    nearest = Some((far, other.outward));
                }
            }
            if let Some((far, outward)) = nearest
                && outward.dot(place.outward) < OPPOSITE
            {
                offer(kind, far, place.at);
            }
        }
    }
}

/// How far a ray runs until it meets a chord.
fn hit(from: Point, way: Vec2, chord: &Sample) -> Option<f64> {
    let along = chord.to - chord.from;
    let across = way.cross(along);
    // rays along a chord graze it
    if across.abs() < 1e-12 * along.hypot() {
        return None;
    }
    let start = chord.from - from;
    let (far, share) = (start.cross(along) / across, start.cross(way) / across);
    (far > 1e-9 * along.hypot() && (0.0..=1.0).contains(&share)).then_some(far)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{body, layout, linear, polygon, rect};

    fn alone(outline: Outline) -> Feature {
        let layout = layout(vec![body("part", Role::Part, outline, linear(1e-3))]);
        smallest_feature(&layout, 0).expect("a feature")
    }

    #[test]
    fn the_smallest_of_a_rounded_plate_is_its_corner_and_of_a_sharp_one_its_thickness() {
        let centre = Point::new(0.1, 0.05);
        let round = alone(Outline::rect(centre, (0.06, 0.02), 0.003).expect("a plate"));
        assert_eq!(round.kind, FeatureKind::Radius);
        assert!((round.size_m - 0.003).abs() < 1e-12);
        let sharp = alone(rect(0.07, 0.04, 0.13, 0.06));
        assert_eq!(sharp.kind, FeatureKind::Wall);
        assert!((sharp.size_m - 0.02).abs() < 1e-12, "{sharp:?}");
    }

    /// A block of 60 mm by 40 mm with a slot of 4 mm between walls of 28 mm, 30 mm deep.
    #[test]
    fn a_slot_is_a_recess() {
        let slotted = polygon(&[
            [0.02, 0.02],
            [0.08, 0.02],
            [0.08, 0.06],
            [0.052, 0.06],
            [0.052, 0.03],
            [0.048, 0.03],
            [0.048, 0.06],
            [0.02, 0.06],
        ]);
        let slot = alone(slotted);
        assert_eq!(slot.kind, FeatureKind::Recess);
        assert!((slot.size_m - 0.004).abs() < 1e-9, "{slot:?}");
        assert!(slot.at.y > 0.03 && slot.at.y < 0.06);
    }

    #[test]
    fn a_near_neighbour_makes_a_gap_and_a_touching_one_does_not() {
        let part = rect(0.05, 0.03, 0.08, 0.06);
        let near = layout(vec![
            body("part", Role::Part, part.clone(), linear(1e-3)),
            body("anode", Role::Anode, rect(0.082, 0.03, 0.09, 0.06), linear(1e-3)),
        ]);
        let gap = smallest_feature(&near, 0).expect("a feature");
        assert_eq!(gap.kind, FeatureKind::Gap(1));
        assert!((gap.size_m - 0.002).abs() < 1e-9 && (gap.at.x - 0.08).abs() < 1e-9);
        let touching = layout(vec![
            body("part", Role::Part, part, linear(1e-3)),
            body("shield", Role::Shield, rect(0.08, 0.03, 0.09, 0.06), linear(1e-3)),
        ]);
        assert_eq!(smallest_feature(&touching, 0).map(|f| f.kind), Some(FeatureKind::Wall));
    }
}
