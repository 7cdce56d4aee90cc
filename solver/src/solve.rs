//! The one entry: a layout in, a solution out.
//!
//! Grids are refined until the estimated error of the local current density is below the wanted
//! accuracy; each grid starts from the answer of the one before.

use crate::estimate::{self, Errors};
use crate::field::Field;
use crate::layout::{Layout, Role};
use crate::level::Level;
use crate::mark::mark;
use crate::newton::Stalled;
use crate::problem::Problem;
use crate::results::Parts;
use crate::solution::{Solution, SolveStats};

/// How to solve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolveSettings {
    /// Wanted relative accuracy of the local current density on the parts.
    pub accuracy: f64,
    /// Largest number of unknowns that may be used.
    pub max_unknowns: usize,
    /// How the linear systems are solved.
    pub method: Method,
}

/// How linear systems are solved; the answers agree far below any error that is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Method {
    /// What is quicker for the number of unknowns.
    #[default]
    Automatic,
    /// Sparse Cholesky factorization.
    Direct,
    /// Conjugate gradients preconditioned by multigrid; a factorization where they do not converge.
    Multigrid,
}

impl Default for SolveSettings {
    fn default() -> Self {
        Self { accuracy: 0.01, max_unknowns: 400_000, method: Method::Automatic }
    }
}

/// Why a checked layout could not be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// The layout does not make sense.
    #[error("{0}")]
    Layout(String),
    /// The supply asks for more than the limiting current densities allow.
    #[error(
        "{wanted_a:.4} A wanted, but the limiting current density of the {side} lets through at most {possible_a:.4} A"
    )]
    BeyondLimit {
        /// Current asked for, A.
        wanted_a: f64,
        /// Largest possible current, A.
        possible_a: f64,
        /// "cathodes" or "anodes".
        side: &'static str,
    },
    /// A thief dissolves and plates the parts: no supply can bring them down to what is asked.
    #[error(
        "{wanted_a:.4} A wanted on the parts, but a thief gives them {least_a:.4} A even when the anodes give nothing"
    )]
    ThiefFeeds {
        /// Current asked for on the parts, A.
        wanted_a: f64,
        /// What they get without any current from the anodes, A.
        least_a: f64,
    },
    /// A part that no current reaches.
    #[error("no path for current from any anode to part `{part}`")]
    NoPath {
        /// Its name.
        part: String,
    },
    /// The grid needed exceeds the budget.
    #[error("accuracy {asked} needs more than {max_unknowns} unknowns; {reached:.4} would fit")]
    TooLarge {
        /// Accuracy asked for.
        asked: f64,
        /// Budget.
        max_unknowns: usize,
        /// Accuracy estimated on the largest grid that fits.
        reached: f64,
    },
    /// Newton's iteration stalled.
    #[error("the solution did not converge on grid {grid} after {steps} Newton steps")]
    NotConverged {
        /// Which grid.
        grid: usize,
        /// Steps taken.
        steps: usize,
    },
}

/// One solved grid, reported while the work goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Grid number, from 1.
    pub grid: usize,
    /// Unknowns on it.
    pub unknowns: usize,
    /// Estimated relative error so far.
    pub estimated_error: f64,
    /// Most conjugate gradient iterations that a linear solve has taken; 0 where all were factored.
    pub iterations: usize,
}

/// Most grids that are tried: each adds a level where it matters.
const MAX_GRIDS: usize = 14;

/// Solves `layout` to the accuracy of `settings`.
///
/// `progress` is called after every grid.
///
/// # Errors
/// [`SolveError`], see its variants.
pub fn solve(
    layout: &Layout,
    settings: &SolveSettings,
    progress: &mut dyn FnMut(Progress),
) -> Result<Solution, SolveError> {
    let (mut problem, mut tree, mesh) = Problem::new(layout, settings)?;
    let mut mesh = Some(mesh);
    let mut before: Option<Level> = None;
    let mut halved = vec![false; problem.plan.stretches.len()];
    let mut steps = 0;
    for grid in 1..=MAX_GRIDS {
        let level = Level::solve(&mut problem, tree, mesh.take(), before.as_ref())
            .map_err(|why| refusal(&problem, why, grid, steps))?;
        steps += level.steps();
        let errors = estimate::errors(&problem, &level, before.as_ref(), &halved);
        let unknowns = level.system.size();
        let (estimated_error, iterations) = (errors.typical, level.solved.joint.iterations());
        progress(Progress { grid, unknowns, estimated_error, iterations });
        let met = good_enough(&errors, settings.accuracy);
        let full = unknowns > settings.max_unknowns;
        if full && !met {
            return Err(SolveError::TooLarge {
                asked: settings.accuracy,
                max_unknowns: settings.max_unknowns,
                reached: errors.typical.max(errors.worst / WORST),
            });
        }
        if met || grid == MAX_GRIDS {
            return Ok(finish(&problem, &level, &errors, grid, steps));
        }
        let (weight, open) = {
            let known = before.is_some();
            estimate::goal(&problem, &level, &errors, settings.accuracy, known)
        };
        let marked = mark(&level, &problem.circuit, &weight, &open);
        tree = level.tree.refine(problem.domain(), &problem.wanted, &marked);
        before = Some(level);
        halved = open.iter().map(|&n| n > 0).collect();
    }
    Err(SolveError::NotConverged { grid: MAX_GRIDS, steps })
}

fn refusal(problem: &Problem, why: Stalled, grid: usize, steps: usize) -> SolveError {
    let depth = problem.layout.depth_m();
    match why {
        Stalled::Starved { wanted } => {
            let possible_a = depth * problem.capacity(&|r| r == Role::Anode);
            SolveError::BeyondLimit { wanted_a: depth * wanted, possible_a, side: "anodes" }
        }
        Stalled::Overfed { least } => {
            let wanted_a = depth * problem.parts_target().unwrap_or(0.0);
            SolveError::ThiefFeeds { wanted_a, least_a: depth * least }
        }
        Stalled::NotPositive | Stalled::Slow => SolveError::NotConverged { grid, steps },
    }
}

/// The worst stretch may be this many times worse than the accuracy asked for.
const WORST: f64 = 3.0;

fn good_enough(errors: &Errors, accuracy: f64) -> bool {
    let met = |typical: f64, worst: f64, slack: f64| {
        typical <= slack * accuracy && worst <= WORST * slack * accuracy
    };
    met(errors.typical, errors.worst, 1.0)
        && met(errors.anodes_typical, errors.anodes_worst, estimate::ANODES)
}

fn finish(
    problem: &Problem,
    level: &Level,
    errors: &Errors,
    grids: usize,
    newton_steps: usize,
) -> Solution {
    let domain = problem.domain();
    let levels = level.tree.leaves.iter().map(|l| l.cell.level).max().unwrap_or(0);
    let stats = SolveStats {
        unknowns: level.system.size(),
        cells: level.tree.leaves.len(),
        newton_steps,
        grids,
        levels: usize::from(levels),
        finest_cell_m: domain.lattice.cell_m(levels),
        estimated_error: errors.typical,
        worst_error: errors.worst,
    };
    let field = Field::new(domain, level);
    Parts { problem, measured: &level.fine, errors, field, stats }.solution()
}
