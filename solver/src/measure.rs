//! Currents through the stretches of the surface plan, from a converged state.

use shapes::{Loop, Point};

use crate::circuit::{Circuit, Terminal};
use crate::newton::{Solved, State};
use crate::problem::Problem;
use crate::system::assemble::System;

/// Sums over one stretch.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct StretchSum {
    /// Wetted length, m.
    length: f64,
    /// Its surface, m² per m of depth (or m²).
    pub(crate) surface: f64,
    /// Current from the bath into the metal, A per m of depth (or A).
    pub(crate) current: f64,
    /// ∫ η over the surface.
    pub(crate) eta: f64,
    /// ∫ position, m².
    place: [f64; 2],
}

impl StretchSum {
    /// Arc length of the middle of the wetted part.
    pub(crate) fn middle(&self, curve: &Loop) -> f64 {
        curve.nearest(Point::new(self.place[0] / self.length, self.place[1] / self.length)).0
    }
}

/// All stretches and bodies at one state.
#[derive(Debug, Clone)]
pub(crate) struct Measured {
    pub(crate) stretches: Vec<StretchSum>,
    /// Current from the bath into each body, A/m.
    pub(crate) bodies: Vec<f64>,
    /// Free potentials, V.
    pub(crate) free: Vec<f64>,
}

/// Sums the boundary points.
pub(crate) fn measure(system: &System, problem: &Problem, state: &State) -> Measured {
    let circuit = &problem.circuit;
    let mut out = Measured {
        stretches: vec![StretchSum::default(); problem.plan.stretches.len()],
        bodies: vec![0.0; circuit.electrodes.len()],
        free: state.free.clone(),
    };
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let u = map.gather(&state.u);
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let sum = &mut out.stretches[point.stretch as usize];
            sum.length += point.length;
            sum.surface += point.weight;
            sum.place[0] += point.length * point.at.x;
            sum.place[1] += point.length * point.at.y;
            let Some(e) = &circuit.electrodes[point.body as usize] else { continue };
            let metal = match e.terminal {
                Terminal::Fixed(v) => v,
                Terminal::Free(n) => state.free[n],
            };
            let mu: f64 = point.m.iter().zip(&u).map(|(m, u)| m * u).sum();
            let series = e.surface.in_series(metal - e.rest - mu, point.series, state.eta[q]);
            sum.current -= point.weight * series.j;
            sum.eta += point.weight * series.eta;
            out.bodies[point.body as usize] -= point.weight * series.j;
        }
    }
    out
}

/// Current into the `wanted` bodies, A/m, its derivative by the anode bus's current, and all
/// current that passes the bath, A/m.
pub(crate) fn current_and_slope(
    system: &System,
    circuit: &Circuit,
    solved: &Solved,
    wanted: &[bool],
) -> (f64, f64, f64) {
    let mut unit = vec![0.0; circuit.injected.len()];
    if let Some(k) = circuit.anode_bus {
        unit[k] = 1.0;
    }
    let (du, dfree) = solved.back_solve(&vec![0.0; system.size()], &unit);
    let state = &solved.state;
    let (mut current, mut slope, mut gross) = (0.0, 0.0, 0.0);
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let (u, du) = (map.gather(&state.u), map.gather(&du));
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let Some(e) = circuit.electrodes[point.body as usize].as_ref() else { continue };
            let (metal, dmetal) = match e.terminal {
                Terminal::Fixed(v) => (v, 0.0),
                Terminal::Free(n) => (state.free[n], dfree[n]),
            };
            let sum = |v: &[f64]| -> f64 { point.m.iter().zip(v).map(|(m, u)| m * u).sum() };
            let s = metal - e.rest - sum(&u);
            let series = e.surface.in_series(s, point.series, state.eta[q]);
            gross += 0.5 * point.weight * series.j.abs();
            if !wanted[point.body as usize] {
                continue;
            }
            current -= point.weight * series.j;
            slope -= point.weight * series.dj_ds * (dmetal - sum(&du));
        }
    }
    (current, slope, gross)
}
