//! Heat that the current sets free in the bath.
//!
//! Each electrode with current `I` out of its metal and rest potential `E` turns `I (V − E)` into
//! heat, by overpotential and by the bath's resistance; the sum over all electrodes is the heat.
//! What goes into chemistry (`Σ I E`, as with insoluble anodes) is not counted, nor is the heat of
//! reaction that goes with the entropy. Losses of the tank to the room are not counted either, so
//! the warming is that of a well-lagged tank without cooling: an upper bound.

use shapes::boolean::{Ring, area, difference};
use shapes::{Loop, Outline, Point};

use super::Evidence;
use crate::layout::{Body, Layout, Role, Symmetry};
use crate::solution::BodyResult;

/// Heat capacity of the bath by volume, J/(m³ K): that of water at 40 °C, from memory of the CRC
/// Handbook; salt baths hold up to about a tenth less.
const HEAT_CAPACITY_J_M3_K: f64 = 4.15e6;

/// Heat set free in the bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heat {
    /// Power that ends as heat in the bath, W.
    pub power_w: f64,
    /// Bath in the section as drawn, m³.
    pub volume_m3: f64,
    /// How fast that volume warms if nothing cools it, K/h.
    pub warming_k_h: f64,
}

pub(super) fn heat(evidence: &Evidence<'_>) -> Heat {
    let Evidence { layout, solution, .. } = evidence;
    let share = |(result, body): (&BodyResult, &Body)| {
        let volts = result.metal_potential_v? - body.law.rest.si();
        Some(-result.current_a * volts)
    };
    let power_w: f64 = solution.bodies.iter().zip(&layout.bodies).filter_map(share).sum();
    let volume_m3 = volume_m3(layout);
    let warming_k_h =
        if volume_m3 > 0.0 { power_w * 3600.0 / (volume_m3 * HEAT_CAPACITY_J_M3_K) } else { 0.0 };
    Heat { power_w, volume_m3, warming_k_h }
}

/// Chords for volumes keep this close to the curve, m.
const FLAT_M: f64 = 1e-5;

/// Bath in the section: the tank less the bodies in it, screens not counted.
fn volume_m3(layout: &Layout) -> f64 {
    let solids = layout.bodies.iter().filter(|b| !matches!(b.role, Role::Screen { .. }));
    let solids: Vec<Ring> = solids.flat_map(|body| rings(&body.outline)).collect();
    let bath = difference(&rings(&layout.tank), &solids);
    match layout.symmetry {
        Symmetry::Planar => area(&bath) * layout.depth.si(),
        Symmetry::Axial => bath.iter().map(|ring| turned_m3(ring)).sum(),
    }
}

fn rings(outline: &Outline) -> Vec<Ring> {
    let ring = |l: &Loop| l.flatten(&[], FLAT_M).iter().map(|vertex| vertex.at).collect();
    outline.loops().iter().map(ring).collect()
}

/// Volume that a ring sweeps around x = 0, m³: ∮ π x² dy; what lies at x < 0 is not there.
fn turned_m3(ring: &[Point]) -> f64 {
    let lap = ring.iter().zip(ring.iter().skip(1).chain(ring.first()));
    let piece = |(a, b): (&Point, &Point)| {
        let (p, q) = (a.x.max(0.0), b.x.max(0.0));
        std::f64::consts::PI / 3.0 * (p * p + p * q + q * q) * (b.y - a.y)
    };
    lap.map(piece).sum()
}
