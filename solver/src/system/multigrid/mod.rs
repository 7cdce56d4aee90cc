//! Conjugate gradients preconditioned by one multigrid cycle: for grids too large to factor.
//!
//! Levels: the biquadratic unknowns; the bilinear ones on the same cells; then bilinear ones on
//! coarser and coarser forests of merged cells, until few enough are left to factor. Every coarser
//! matrix is Pᵀ A P, so that no level needs to know of boundary terms, ghost penalties or laws.
//! Smoothing is symmetric Gauss-Seidel, on the finest level followed by exact solves where the matrix
//! is stiff. Free potentials are unknowns of every level, beside the field's.
//!
//! Iterations grow neither with the number of unknowns nor with the depth of grading; where they do
//! not converge in some tens, the caller falls back on a factorization.

use super::assemble::System;
use super::joint::{Halves, Hessian};
use super::linear::NotPositive;

mod cycle;
mod forest;
mod interpolation;
mod krylov;
mod levels;
mod order;
mod patches;
mod rows;

use cycle::Cycle;
use krylov::{Answer, balance, conjugate_gradients};
use levels::Levels;

#[cfg(test)]
mod tests;

/// The levels of a mesh and the cycle for some matrix on it.
pub(crate) struct Multigrid {
    levels: Levels,
    cycle: Option<Cycle>,
    /// Most iterations that a solve has taken.
    pub(crate) iterations: usize,
}

/// Energy of the error left by a solve, as a share of the energy found, in any case: two steps of
/// Newton's method then do what one exact one would.
const LEAST: f64 = 1e-14;
/// What the preconditioner sees of the energy of an error is less than there is, and currents of the
/// smallest stretches feel more of it than others: this share of what is wanted is sure to do.
const SURE: f64 = 0.01;
/// The same for weights and slopes.
const ROUGH: f64 = 1e-14;
/// Iterations after which something is wrong.
const MOST: usize = 60;
/// Iterations after which a new cycle is worth its cost.
const STALE: usize = 14;

impl Multigrid {
    pub(crate) fn new(system: &System, free: usize) -> Self {
        let levels = Levels::new(&system.mesh, &system.numbering, free);
        Self { levels, cycle: None, iterations: 0 }
    }

    /// Gives back its memory.
    pub(crate) fn forget(&mut self) {
        self.levels = Levels::default();
        self.cycle = None;
    }

    /// Makes the next matrix get a cycle of its own.
    pub(crate) fn outdate(&mut self) {
        self.cycle = None;
    }

    /// Memory held while it solves, bytes.
    pub(crate) fn bytes(&self) -> usize {
        self.levels.bytes()
            + self.cycle.as_ref().map_or(0, |c| c.bytes() + krylov::bytes(&c.work()))
    }

    /// Makes sure of a cycle that fits.
    pub(crate) fn factor(&mut self, hessian: &Hessian) -> Result<(), NotPositive> {
        if self.cycle.as_ref().is_none_or(|c| !c.fits(&self.levels, hessian)) {
            self.cycle = None;
            self.cycle = Some(Cycle::new(&self.levels, hessian)?);
        }
        Ok(())
    }

    /// Solves H z = b until the energy of the error is `enough` for the energy found; `None` if that
    /// takes too many iterations.
    pub(crate) fn solve(
        &mut self,
        hessian: &Hessian,
        b: &[f64],
        b_free: &[f64],
        enough: impl Fn(f64) -> f64,
    ) -> Result<Option<Halves>, NotPositive> {
        let both: Vec<f64> = b.iter().chain(b_free).copied().collect();
        let enough = |energy: f64| (SURE * enough(energy)).max(LEAST * energy);
        // an old cycle gets one chance
        for fresh in [false, true] {
            if fresh {
                self.cycle = None;
            }
            self.factor(hessian)?;
            let Some(cycle) = &self.cycle else { break };
            let mut work = cycle.work();
            let inverse = |r: &[f64], z: &mut Vec<f64>| cycle.apply(&self.levels, &mut work, r, z);
            let answer = conjugate_gradients(hessian, inverse, &both, enough, MOST)?;
            if answer.converged {
                self.iterations = self.iterations.max(answer.iterations);
                if answer.iterations > STALE {
                    self.cycle = None;
                }
                return Ok(Some(halves(hessian, &both, answer)));
            }
        }
        Ok(None)
    }

    /// The same to a few digits, as good as some tens of iterations get it.
    pub(crate) fn solve_roughly(&self, hessian: &Hessian, b: &[f64], b_free: &[f64]) -> Halves {
        let both: Vec<f64> = b.iter().chain(b_free).copied().collect();
        let made;
        let cycle = match &self.cycle {
            Some(c) => Some(c),
            None => {
                made = Cycle::new(&self.levels, hessian).ok();
                made.as_ref()
            }
        };
        let answer = cycle.and_then(|cycle| {
            let mut work = cycle.work();
            let inverse = |r: &[f64], z: &mut Vec<f64>| cycle.apply(&self.levels, &mut work, r, z);
            conjugate_gradients(hessian, inverse, &both, |energy| ROUGH * energy, MOST).ok()
        });
        match answer {
            Some(a) => halves(hessian, &both, a),
            None => (vec![0.0; b.len()], vec![0.0; b_free.len()]),
        }
    }
}

/// Balances the currents; field and free potentials apart.
fn halves(hessian: &Hessian, b: &[f64], answer: Answer) -> Halves {
    let mut x = answer.x;
    balance(hessian, b, &mut x);
    let free = x.split_off(hessian.field.size());
    (x, free)
}
