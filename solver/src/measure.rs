//! Currents through the stretches of the surface plan, from a converged state.

use shapes::{Loop, Point};

use crate::circuit::Circuit;
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
    /// Current of each supply where its source tells, A/m.
    pub(crate) supplies: Vec<Option<f64>>,
}

/// Sums the boundary points.
pub(crate) fn measure(
    system: &System,
    problem: &Problem,
    circuit: &Circuit,
    state: &State,
) -> Measured {
    let mut out = Measured {
        stretches: vec![StretchSum::default(); problem.plan.stretches.len()],
        bodies: vec![0.0; circuit.electrodes.len()],
        free: state.free.clone(),
        supplies: circuit.lines.iter().map(|line| line.current(&state.free)).collect(),
    };
    let metal = circuit.at_rest(&state.free);
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let u = map.gather(&state.u);
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let sum = &mut out.stretches[point.stretch as usize];
            sum.length += point.length;
            sum.surface += point.weight;
            sum.place[0] += point.length * point.at.x;
            sum.place[1] += point.length * point.at.y;
            let Some(e) = &circuit.electrodes[point.body as usize] else { continue };
            let mu: f64 = point.m.iter().zip(&u).map(|(m, u)| m * u).sum();
            let s = metal[point.body as usize] - mu;
            let series = e.surface.in_series(s, point.series, state.eta[q]);
            sum.current -= point.weight * series.j;
            sum.eta += point.weight * series.eta;
            out.bodies[point.body as usize] -= point.weight * series.j;
        }
    }
    out
}

/// What parts get, and how that answers to the currents of supplies.
pub(crate) struct Response {
    /// Current into each group of bodies, A/m.
    pub(crate) currents: Vec<f64>,
    /// Its derivative by the current of each supply: row for row of `currents`.
    pub(crate) slopes: Vec<Vec<f64>>,
    /// All current that passes the bath, A/m.
    pub(crate) gross: f64,
}

/// Currents into groups of bodies, with their derivatives by the currents of some supplies.
pub(crate) fn respond(
    system: &System,
    circuit: &Circuit,
    solved: &Solved,
    groups: &[Vec<bool>],
    supplies: &[usize],
) -> Response {
    let state = &solved.state;
    let metal = circuit.at_rest(&state.free);
    // field and metals answer to one more ampere of each supply
    let answers: Vec<(Vec<f64>, Vec<f64>)> = supplies
        .iter()
        .map(|&s| {
            let mut unit = vec![0.0; circuit.injected.len()];
            circuit.lines[s].terms.iter().for_each(|&(k, c)| unit[k] = c);
            let (du, dfree) = solved.back_solve(&vec![0.0; system.size()], &unit);
            let dmetal = circuit
                .electrodes
                .iter()
                .map(|e| e.iter().flat_map(|e| &e.terminal.free).map(|&k| dfree[k]).sum());
            (du, dmetal.collect())
        })
        .collect();
    let mut out = Response {
        currents: vec![0.0; groups.len()],
        slopes: vec![vec![0.0; supplies.len()]; groups.len()],
        gross: 0.0,
    };
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let u = map.gather(&state.u);
        let du: Vec<_> = answers.iter().map(|(du, _)| map.gather(du)).collect();
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let b = point.body as usize;
            let Some(e) = circuit.electrodes[b].as_ref() else { continue };
            let sum = |v: &[f64]| -> f64 { point.m.iter().zip(v).map(|(m, u)| m * u).sum() };
            let series = e.surface.in_series(metal[b] - sum(&u), point.series, state.eta[q]);
            out.gross += 0.5 * point.weight * series.j.abs();
            for (g, _) in groups.iter().enumerate().filter(|(_, group)| group[b]) {
                out.currents[g] -= point.weight * series.j;
                for (k, (du, (_, dmetal))) in du.iter().zip(&answers).enumerate() {
                    out.slopes[g][k] -= point.weight * series.dj_ds * (dmetal[b] - sum(du));
                }
            }
        }
    }
    out
}
