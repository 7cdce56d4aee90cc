//! The steps of a solve one at a time, on its first grid, so that each can be timed.
//!
//! [`solve`](crate::solve()) takes the same steps, and repeats all but the first on finer grids.

mod linear;

use std::sync::Arc;

use crate::estimate;
use crate::finer;
use crate::grid::mesh::Mesh;
use crate::grid::tree::Tree;
use crate::layout::Layout;
use crate::level::{Before, Level};
use crate::problem::Problem;
use crate::solve::{SolveError, SolveSettings};
use crate::system::assemble::{Cells, GAMMA, System};
use crate::system::numbering::Degree;

pub use linear::{LinearSolve, LinearSystem};

/// A layout on its first grid, its outlines clipped.
pub struct FirstGrid<'a> {
    problem: Problem<'a>,
    tree: Tree,
    mesh: Arc<Mesh>,
}

/// The first grid with its answers.
pub struct SolvedGrid(Level);

impl<'a> FirstGrid<'a> {
    /// Checks limits and contacts, divides the outlines, cuts and clips the grid.
    ///
    /// # Errors
    /// As [`preflight`](crate::preflight).
    pub fn new(layout: &'a Layout, settings: &SolveSettings) -> Result<Self, SolveError> {
        let (problem, tree, mesh) = Problem::new(layout, settings)?;
        Ok(Self { problem, tree, mesh: Arc::new(mesh) })
    }

    /// Assembles the biquadratic equations; their number.
    pub fn assemble(&self) -> usize {
        let cells = Cells::new(&self.mesh, self.problem.domain(), GAMMA);
        System::new(&cells, Degree::Two).size()
    }

    /// Assembles and minimises, bilinear first, then biquadratic.
    ///
    /// # Errors
    /// [`SolveError::NotConverged`].
    pub fn solve(&mut self) -> Result<SolvedGrid, SolveError> {
        let mesh = Some(Mesh::clone(&self.mesh));
        Level::solve(&mut self.problem, self.tree.clone(), mesh, Before::Nothing)
            .map(SolvedGrid)
            .map_err(|_| SolveError::NotConverged { grid: 1, steps: 0 })
    }

    /// Estimated relative error of the local density on the work.
    pub fn estimate(&self, solved: &SolvedGrid) -> f64 {
        let finer = finer::measured(&self.problem, &solved.0).ok();
        let errors = finer.map(|f| estimate::measured(&self.problem, &solved.0, &f, None));
        errors.or(estimate::guess(&self.problem, &solved.0)).map_or(f64::NAN, |e| e.work.typical)
    }
}

impl SolvedGrid {
    /// Factors the last Newton matrix anew, its symbolic part known; false if it is not positive
    /// definite.
    pub fn factor(&mut self) -> bool {
        self.0.factor()
    }

    /// Newton steps of both degrees.
    pub fn newton_steps(&self) -> usize {
        self.0.steps()
    }
}
