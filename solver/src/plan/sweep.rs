//! Many combinations of values, all solved.
use rayon::prelude::*;

use super::model::{Blocked, Model};
use super::outcome::Outcome;
use crate::solve::SolveError;
use crate::warm::Warm;

/// What became of one combination of values.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// It is solved.
    Solved(Box<Outcome>),
    /// The values make no layout.
    Blocked(Blocked),
    /// The layout has no answer.
    Failed(SolveError),
}

impl Found {
    /// The outcome, if there is one.
    pub fn outcome(&self) -> Option<&Outcome> {
        match self {
            Self::Solved(outcome) => Some(outcome),
            Self::Blocked(_) | Self::Failed(_) => None,
        }
    }
}

/// Builds and solves one combination of values.
pub fn try_values(model: &dyn Model, values: &[f64], warm: Option<&Warm>) -> Found {
    match model.task(values) {
        Err(blocked) => Found::Blocked(blocked),
        Ok(task) => match Outcome::solve(&task, warm) {
            Ok(outcome) => Found::Solved(Box::new(outcome)),
            Err(error) => Found::Failed(error),
        },
    }
}

/// Solves all `points`, on all threads of rayon's pool; the answers stand in the order of the
/// points, and do not depend on the number of threads.
///
/// All start from `warm`, the answer of a layout like them: the same for all, so that no answer
/// depends on which was solved first. `done` is told of each as soon as it is there, from any
/// thread. When `stop` turns true no further one is begun; those left have `None`.
pub fn sweep(
    model: &dyn Model,
    points: &[Vec<f64>],
    warm: Option<&Warm>,
    stop: &(dyn Fn() -> bool + Sync),
    done: &(dyn Fn(usize, &Found) + Sync),
) -> Vec<Option<Found>> {
    let one = |(k, values): (usize, &Vec<f64>)| {
        if stop() {
            return None;
        }
        let found = try_values(model, values, warm);
        done(k, &found);
        Some(found)
    };
    // one at a time: neighbours of a long row of slow layouts are not left to one thread
    points.par_iter().enumerate().with_max_len(1).map(one).collect()
}

/// Numbers of the points that are part `part` of `parts`, from 1: every `parts`-th.
pub fn shard(count: usize, part: usize, parts: usize) -> impl Iterator<Item = usize> {
    (0..count).skip(part.saturating_sub(1)).step_by(parts.max(1))
}
