//! The one entry: a layout in, a solution out.
use crate::layout::Layout;
use crate::solution::Solution;

/// How to solve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolveSettings {
    /// Wanted relative accuracy of the local current density on the parts.
    pub accuracy: f64,
    /// Largest number of unknowns that may be used.
    pub max_unknowns: usize,
}

impl Default for SolveSettings {
    fn default() -> Self {
        Self { accuracy: 0.01, max_unknowns: 400_000 }
    }
}

/// Why a checked layout could not be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// The layout does not make sense.
    #[error("{0}")]
    Layout(String),
    /// The supply asks for more than the limiting current densities allow.
    #[error("{wanted_a:.4} A wanted, but the limiting current density of the {side} lets through at most {possible_a:.4} A")]
    BeyondLimit {
        /// Current asked for, A.
        wanted_a: f64,
        /// Largest possible current, A.
        possible_a: f64,
        /// "cathodes" or "anodes".
        side: &'static str,
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
}

/// Solves `layout` to the accuracy of `settings`.
pub fn solve(
    layout: &Layout,
    settings: &SolveSettings,
    progress: &mut dyn FnMut(Progress),
) -> Result<Solution, SolveError> {
    let _ = (layout, settings, progress);
    Err(SolveError::Layout("the solver is not wired up yet".into()))
}
