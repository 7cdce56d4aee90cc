//! A first guess of mean current densities and potentials, from areas and laws alone.

use crate::circuit::{Circuit, Terminal};
use crate::layout::{Layout, Role, Supply};
use crate::surface::SurfacePlan;

/// What is expected before anything is solved.
#[derive(Debug, Clone)]
pub(crate) struct Guess {
    /// Magnitude of each body's mean current density, A/m².
    pub(crate) density: Vec<f64>,
    /// Bath potential near the cathodes, V.
    pub(crate) bath_v: f64,
    /// Anode bus, V.
    pub(crate) anode_v: f64,
}

/// Metal outline of each body, m.
pub(crate) fn metal_lengths(layout: &Layout, plan: &SurfacePlan) -> Vec<f64> {
    let mut lengths = vec![0.0; layout.bodies.len()];
    for s in &plan.stretches {
        lengths[s.body] += s.to - s.from;
    }
    lengths
}

/// One-dimensional estimate: all anodes in one, all cathodes in one, the bath between them a
/// bar as wide as the smaller of the two and as long as their distance.
pub(crate) fn guess(layout: &Layout, circuit: &Circuit, lengths: &[f64]) -> Guess {
    let total = |want: &dyn Fn(Role) -> bool| -> f64 {
        layout.bodies.iter().zip(lengths).filter(|(b, _)| want(b.role)).map(|(_, l)| l).sum()
    };
    let cathode = |r: Role| matches!(r, Role::Part | Role::Thief { .. });
    let tiny = f64::MIN_POSITIVE;
    let (cathodes, anodes) = (total(&cathode).max(tiny), total(&|r| r == Role::Anode).max(tiny));
    let of = |want: &dyn Fn(Role) -> bool| {
        layout.bodies.iter().zip(&circuit.electrodes).find(|(b, e)| want(b.role) && e.is_some())
    };
    let centre = |b: &crate::layout::Body| b.outline.bounds().center();
    let (part, anode) = (of(&|r| r == Role::Part), of(&|r| r == Role::Anode));
    let distance = match (part, anode) {
        (Some((p, _)), Some((a, _))) => (centre(p) - centre(a)).hypot(),
        _ => layout.tank.bounds().width(),
    };
    let bath_ohm_m = distance / (layout.conductivity.si() * 0.5 * cathodes.min(anodes));
    // potential across an electrode at a current density into the bath
    let drop = |e: Option<(&crate::layout::Body, &Option<crate::circuit::Electrode>)>, j: f64| {
        e.and_then(|(_, e)| e.as_ref()).map_or(0.0, |e| {
            let j = match e.surface.limit() {
                Some(l) => j.clamp(-0.999 * l, 0.999 * l),
                None => j,
            };
            e.rest + e.surface.overpotential(j).unwrap_or(0.0)
        })
    };
    let volts = |i: f64| drop(anode, i / anodes) - drop(part, -i / cathodes) + i * bath_ohm_m;
    let current = match layout.supply {
        Supply::Current(i) => i.si() / layout.depth.si(),
        Supply::MeanDensity(j) => j.si() * cathodes,
        Supply::Voltage(v) => {
            let mut high = v.si().abs() / bath_ohm_m;
            let mut low = 0.0;
            for _ in 0..60 {
                let mid = 0.5 * (low + high);
                if volts(mid) > v.si() { high = mid } else { low = mid }
            }
            high.max(1e-12)
        }
    };
    let density = layout
        .bodies
        .iter()
        .map(|b| match b.role {
            Role::Anode => current / anodes,
            Role::Part | Role::Thief { .. } => current / cathodes,
            // a floating body passes on a share of what comes its way
            Role::Floating => 0.3 * current / cathodes,
            Role::Shield | Role::Screen { .. } => 0.0,
        })
        .collect();
    Guess { density, bath_v: -drop(part, -current / cathodes), anode_v: volts(current) }
}

/// Density at a sharp corner against the mean: what its cells must be fine enough for.
const PEAK: f64 = 2.5;

/// Polarization length κ dη/di of each body at the density to expect at its corners, m.
pub(crate) fn polarization_lengths(
    layout: &Layout,
    circuit: &Circuit,
    density: &[f64],
) -> Vec<f64> {
    let kappa = layout.conductivity.si();
    circuit
        .electrodes
        .iter()
        .zip(density)
        .zip(&layout.bodies)
        .map(|((e, &i), body)| {
            let sign = if body.role == Role::Anode { 1.0 } else { -1.0 };
            e.as_ref().map_or(f64::INFINITY, |e| {
                let peak = PEAK * i;
                let peak = e.surface.limit().map_or(peak, |l| peak.min(0.9 * l));
                kappa * e.surface.slope_at(sign * peak)
            })
        })
        .collect()
}

/// Start values of the free potentials.
pub(crate) fn free_potentials(layout: &Layout, circuit: &Circuit, guess: &Guess) -> Vec<f64> {
    let mut free = vec![0.0; circuit.injected.len()];
    for (e, body) in circuit.electrodes.iter().zip(&layout.bodies) {
        if let Some(e) = e
            && let Terminal::Free(k) = e.terminal
        {
            free[k] = if body.role == Role::Anode { guess.anode_v } else { guess.bath_v + e.rest };
        }
    }
    free
}
