//! Currents through the stretches of the surface plan, from a converged state.

use shapes::{Loop, Point};

use crate::circuit::{Circuit, Terminal};
use crate::newton::State;
use crate::system::assemble::System;

/// Sums over one stretch.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct StretchSum {
    /// Wetted length, m (along the chords).
    pub(crate) length: f64,
    /// Current from the bath into the metal, A/m of depth.
    pub(crate) current: f64,
    /// ∫ η, V m.
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
pub(crate) fn measure(
    system: &System,
    circuit: &Circuit,
    state: &State,
    stretches: usize,
) -> Measured {
    let mut out = Measured {
        stretches: vec![StretchSum::default(); stretches],
        bodies: vec![0.0; circuit.electrodes.len()],
        free: state.free.clone(),
    };
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let u = map.gather(&state.u);
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let sum = &mut out.stretches[point.stretch as usize];
            sum.length += point.weight;
            sum.place[0] += point.weight * point.at.x;
            sum.place[1] += point.weight * point.at.y;
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
