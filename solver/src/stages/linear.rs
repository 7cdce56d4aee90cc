//! The linear system of a grid by itself, so that what solves it can be timed and weighed.

use std::sync::Arc;

use super::FirstGrid;
use crate::estimate;
use crate::grid::fit::UNKNOWNS;
use crate::layout::Role;
use crate::level::{Before, Level};
use crate::mark::mark;
use crate::solve::{BULK, Method, SolveError};
use crate::system::joint::{Halves, Hessian, Joint};
use crate::system::linear::NotPositive;

/// The last Newton matrix of a grid and a right side.
pub struct LinearSystem {
    level: Level,
    free: usize,
    right: Halves,
}

/// What solves a linear system, with its last answer.
pub struct LinearSolve<'a> {
    of: &'a LinearSystem,
    joint: Joint,
    answer: Halves,
}

impl FirstGrid<'_> {
    /// Refines as a solve does that is never content, until a grid has about so many unknowns or more;
    /// the last time no more cells are halved than that takes.
    ///
    /// The right side sends unit current densities from the anodes through the bath to all other metal.
    ///
    /// # Errors
    /// [`SolveError::NotConverged`].
    pub fn linear_system(mut self, unknowns: usize) -> Result<LinearSystem, SolveError> {
        let problem = &mut self.problem;
        let stalled = |grid| SolveError::NotConverged { grid, steps: 0 };
        let mesh = Some(Arc::unwrap_or_clone(self.mesh));
        let mut level =
            Level::solve(problem, self.tree, mesh, Before::Nothing).map_err(|_| stalled(1))?;
        for grid in 2.. {
            // cells to split, each into three more
            let missing = unknowns.saturating_sub(level.system.size()) as f64 / UNKNOWNS / 3.0;
            if missing < ENOUGH * level.tree.leaves.len() as f64 {
                break;
            }
            let wishes = estimate::every_stretch(problem, &level);
            let mut marked = mark(&level, &problem.circuit, &wishes, BULK);
            let beyond = marked.iter_mut().filter(|m| **m > 0).skip(missing as usize);
            beyond.for_each(|m| *m = 0);
            let tree = level.tree.refine(problem.domain(), &problem.wanted, &marked);
            level.forget();
            level = Level::solve(problem, tree, None, Before::Grid(&level))
                .map_err(|_| stalled(grid))?;
        }
        let mut field = vec![0.0; level.system.size()];
        let metal = &level.system.boundary.metal;
        for (piece, map) in metal.iter().zip(&level.system.metal_maps) {
            for (q, trace) in (piece.first..piece.end).zip(map.traces()) {
                let point = &level.system.boundary.points[q];
                let anode = problem.layout.bodies[point.body as usize].role == Role::Anode;
                let current = if anode { point.weight } else { -point.weight };
                map.unknowns.iter().zip(trace).for_each(|(&i, t)| field[i as usize] += current * t);
            }
        }
        let free = problem.circuit.injected.len();
        Ok(LinearSystem { level, free, right: (field, vec![0.0; free]) })
    }
}

/// A grid with this share of its cells still to be halved has about as many unknowns as asked for.
const ENOUGH: f64 = 0.02;

impl LinearSystem {
    /// Unknowns of the field.
    pub fn unknowns(&self) -> usize {
        self.level.system.size()
    }

    /// Memory of the matrix: entries on and above the diagonal, in double precision.
    pub fn bytes(&self) -> usize {
        self.hessian().field.bytes()
    }

    /// Finds what serves all matrices on this grid: order of elimination and pattern of the factor,
    /// or coarser levels. `None` if memory does not do.
    pub fn prepared(&self, method: Method) -> Option<LinearSolve<'_>> {
        let joint = self.level.joint(self.free, method).ok()?;
        Some(LinearSolve { of: self, joint, answer: (Vec::new(), Vec::new()) })
    }

    fn hessian(&self) -> &Hessian {
        self.level.solved.joint.hessian()
    }
}

impl LinearSolve<'_> {
    /// Takes the matrix: a factorization, or the matrices of all levels; false if it is not positive
    /// definite.
    pub fn set_up(&mut self) -> bool {
        let from = self.of.hessian();
        self.joint.refresh(|hessian| hessian.clone_from(from)).is_ok()
    }

    /// Solves for the right side: exactly, or until the energy of the error is 1e-14 of that of the
    /// answer, seven digits; false if the matrix is not positive definite.
    pub fn solve(&mut self) -> bool {
        match self.solved(&self.of.right.0.clone(), &self.of.right.1.clone()) {
            Ok(answer) => {
                self.answer = answer;
                true
            }
            Err(NotPositive) => false,
        }
    }

    fn solved(&mut self, b: &[f64], b_free: &[f64]) -> Result<Halves, NotPositive> {
        self.joint.solve(b, b_free, |_| 0.0)
    }

    /// The energy norm of the error left by the last solve, as a share of that of the answer: found by
    /// solving for the residual.
    pub fn error(&mut self) -> Option<f64> {
        let (b, b_free) = &self.of.right;
        let (x, x_free) = &self.answer;
        let (r, r_free) = self.of.hessian().residual((b, b_free), (x, x_free));
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let energy = dot(b, x) + dot(b_free, x_free);
        let (e, e_free) = self.solved(&r, &r_free).ok()?;
        let left = dot(&r, &e) + dot(&r_free, &e_free);
        Some((left.max(0.0) / energy).sqrt())
    }

    /// Conjugate gradient iterations of the longest solve; 0 for a factorization.
    pub fn iterations(&self) -> usize {
        self.joint.iterations()
    }

    /// Memory held beside the matrix: factor or levels.
    pub fn bytes(&self) -> usize {
        self.joint.bytes()
    }
}
