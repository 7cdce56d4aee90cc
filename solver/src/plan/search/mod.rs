//! Finds the layout that serves an aim best and keeps to its limits.
//!
//! [`search`] varies what a [`Model`] offers: continuous values by CMA-ES from several starts, side
//! by side, lists and choices by every combination where they are few; then the simplex method
//! betters the best. All that is loose is quick: layouts are solved to a few per cent while
//! searching, and the best few again to the accuracy of their tasks. What makes no layout costs no
//! solve.
//!
//! The same search has the same answer on any number of threads, unless it is stopped.
//!
//! Limits: a search of some dozens of solves finds a good layout and does not prove that there is no
//! better one; another seed is the test of that.
mod aim;
mod finish;
mod islands;
mod lab;
mod ledger;
mod polish;
#[cfg(test)]
mod tests;

pub use aim::{Aim, Better, Bound, Limit, Merit, Term};

use super::figure::{Figure, Measured};
use super::model::Model;
use super::sample::even_point;
use super::sweep::Found;
use super::variable::{Values, Variable};
use crate::quantity::Length;
use crate::solve::SolveError;
use aim::Judge;
use islands::{place_of, values_at};
use lab::Bench;
use ledger::{Lab, Ledger};

/// What is searched for.
#[derive(Debug, Clone, PartialEq)]
pub struct Search {
    /// What may be varied, in the order of the model's values.
    pub variables: Vec<Variable>,
    /// Values of the layout as it is; it is where the search begins. They may lie outside what may
    /// be varied.
    pub own: Option<Vec<f64>>,
    /// What is to become least.
    pub aim: Aim,
    /// What must be kept to; [`Limit::usual`] are those of every job.
    pub limits: Vec<Limit>,
    /// Least distance of every body that is moved or made anew from the wall and from other bodies;
    /// what is nearer in the layout as it is may stay as near. Zero: they may touch.
    pub clearance: Length,
    /// The two figures of the trade-off front.
    pub front: [Axis; 2],
    /// Solves in all.
    pub budget: usize,
    /// Another seed searches along other ways.
    pub seed: u64,
    /// How many layouts, well apart, are reported at most.
    pub best: usize,
}

/// A figure of the trade-off front.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// Which.
    pub figure: Figure,
    /// Which way it is better.
    pub better: Better,
}

/// How far a search is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Solves done.
    pub solved: usize,
    /// Solves in all, about.
    pub of: usize,
}

/// Who follows a search.
pub struct Watch<'a> {
    /// Called after every solve, from any thread.
    pub progress: &'a (dyn Fn(Step) + Sync),
    /// When it turns true no further layout is tried; what is best by then is still solved closely.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

impl Watch<'_> {
    /// Nobody.
    pub const NOBODY: Watch<'static> = Watch { progress: &|_| (), stop: &|| false };
}

/// One combination of values, with what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// The values.
    pub values: Vec<f64>,
    /// What became of them.
    pub found: Found,
    /// True if it is solved to the accuracy of its task, from nothing.
    pub close: bool,
    /// How far it is from a layout where it makes none.
    blocked_by: f64,
}

/// A limit that stands in the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Which.
    pub limit: Limit,
    /// How many solved layouts miss it.
    pub missed: usize,
    /// The nearest to it, or the farthest within, that any layout came.
    pub best: Option<Measured>,
    /// What the layout has that is beyond the limits by the least.
    pub nearest: Option<Measured>,
}

/// What was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Layouts solved, those solved again included.
    pub solved: usize,
    /// Of them, those solved to the accuracy of their tasks.
    pub close: usize,
    /// Combinations that make no layout.
    pub blocked: usize,
    /// Layouts without an answer.
    pub failed: usize,
    /// Combinations asked for again, and known.
    pub again: usize,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct Searched {
    /// Every combination that was tried, in that order.
    pub trials: Vec<Trial>,
    /// The layout as it is, if it has an answer.
    pub own: Option<usize>,
    /// The best that keep to all limits, well apart from each other, the best first, solved closely.
    pub best: Vec<usize>,
    /// The one that is beyond limits by the least, solved closely, where none keeps to them.
    pub nearest: Option<usize>,
    /// Those that no other one beats in both figures of the front, by the first of them.
    pub front: Vec<usize>,
    /// Why combinations make no layout or have no answer, with how many, the most first.
    pub reasons: Vec<(String, usize)>,
    /// Limits that layouts miss, the one missed most often first.
    pub blocks: Vec<Block>,
    /// How many solved layouts leave a significant place bare, or may do so, where the aim hangs on
    /// the thinnest one.
    pub bare: usize,
    /// What was done.
    pub counts: Counts,
    /// True if it was stopped early.
    pub stopped: bool,
    judge: Judge,
}

impl Searched {
    /// How good a trial is.
    pub fn merit(&self, trial: usize) -> Merit {
        self.trials[trial].merit(&self.judge)
    }
}

/// Why there is nothing to search.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SearchError {
    /// Nothing may be varied.
    #[error("nothing may be varied")]
    NoVariable,
    /// Nothing is aimed at.
    #[error("there is no aim")]
    NoAim,
    /// A variable without values, or with an end that is no number.
    #[error("`{0}` has no values to try")]
    NoValues(String),
    /// Values of the layout as it is that do not match the variables.
    #[error("{found} values of the layout as it is for {wanted} variables")]
    Own {
        /// How many were given.
        found: usize,
        /// How many there should be.
        wanted: usize,
    },
}

/// Share of the budget that betters the best.
const POLISH: usize = 4;
/// Evenly spread points looked at until one has an answer.
const FIRST_LOOKS: usize = 40;
/// Solves for those of the best few that miss a limit when solved closely.
const SPARE: usize = 3;

/// Searches.
///
/// # Errors
/// [`SearchError`] where there is nothing to search. Finding nothing is no error:
/// [`Searched::best`] is empty then, and [`Searched::reasons`] and [`Searched::blocks`] say why.
///
/// # Examples
/// See [`plan`](super).
pub fn search(
    model: &dyn Model,
    search: &Search,
    watch: &Watch<'_>,
) -> Result<Searched, SearchError> {
    sound(search)?;
    let (bench, spent) =
        Bench::new(model, &search.variables, search.own.as_deref(), search.clearance.si());
    Ok(run(&bench, search, watch, spent))
}

fn sound(search: &Search) -> Result<(), SearchError> {
    if search.variables.is_empty() {
        return Err(SearchError::NoVariable);
    }
    if search.aim.0.is_empty() {
        return Err(SearchError::NoAim);
    }
    for variable in &search.variables {
        let fine = match &variable.values {
            Values::Between { low, high, .. } => low.is_finite() && high.is_finite() && low <= high,
            Values::Listed(values) => !values.is_empty() && values.iter().all(|v| v.is_finite()),
            Values::Choice(count) => *count > 0,
        };
        if !fine {
            return Err(SearchError::NoValues(variable.name.clone()));
        }
    }
    let wanted = search.variables.len();
    match &search.own {
        Some(own) if own.len() != wanted => Err(SearchError::Own { found: own.len(), wanted }),
        _ => Ok(()),
    }
}

fn run<L: Lab>(lab: &L, search: &Search, watch: &Watch<'_>, spent: usize) -> Searched {
    let variables = &search.variables;
    let mut ledger = Ledger::new(lab, watch, search.budget, spent);
    // the layout as it is, solved again at the end, and the best few
    let closing = (search.best.max(1) + 1 + SPARE).min(search.budget / 2);
    let polishing = search.budget.saturating_sub(closing) / POLISH;
    let middle = vec![0.5; variables.len()];
    let place = search.own.as_ref().map_or(middle, |own| place_of(variables, own));
    let own = search.own.as_ref().and_then(|own| {
        ledger.quota = 1;
        ledger.try_all(std::slice::from_ref(own))[0]
    });
    ledger.quota = ledger.left().saturating_sub(closing + polishing);
    // figures are weighed by their values at the layout as it is, or else at the first that there is
    for k in 0..FIRST_LOOKS {
        if ledger.outcomes().next().is_some() {
            break;
        }
        ledger.try_all(&[values_at(variables, &even_point(k, variables.len()))]);
    }
    let mut judge = Judge::new(&search.aim, &search.limits, ledger.outcomes());
    islands::run(&mut ledger, &judge, variables, &place, search.seed);
    ledger.quota = ledger.left().saturating_sub(closing);
    polish::run(&mut ledger, &judge, variables);

    ledger.quota = ledger.left().clamp(1, closing);
    let own = own.filter(|&k| ledger.trials[k].found.outcome().is_some());
    ledger.close(own.as_slice());
    let mut again = |ledger: &mut Ledger<'_, L>, judge: &Judge| {
        // half of what is left, so that there is enough to solve closely
        let all = ledger.quota;
        ledger.quota = all / 2;
        polish::run(ledger, judge, variables);
        ledger.quota += all - all / 2;
    };
    let best = finish::close(&mut ledger, &mut judge, variables, search.best.max(1), &mut again);
    judge.margins.fill(0.0);
    let nearest = match best.is_empty() {
        true => ledger
            .best_of(&judge, &|t| t.found.outcome().is_some() && finish::allowed(variables, t)),
        false => None,
    };
    ledger.quota = ledger.quota.max(1);
    ledger.close(nearest.as_slice());
    let trials = std::mem::take(&mut ledger.trials);
    let (reasons, blocks) = finish::blocks(&trials, &judge);
    let count = |of: &dyn Fn(&Trial) -> bool| trials.iter().filter(|t| of(t)).count();
    let bare = |t: &Trial| t.found.outcome().is_some_and(|o| judge.is_bare(o));
    Searched {
        own,
        best,
        bare: count(&bare),
        nearest,
        front: finish::front(&trials, &judge, variables, &search.front),
        reasons,
        blocks,
        counts: Counts {
            solved: ledger.solved(),
            close: count(&|t| t.close),
            blocked: count(&|t| matches!(t.found, Found::Blocked(_))),
            failed: count(&|t| matches!(t.found, Found::Failed(_))),
            again: ledger.again,
        },
        stopped: ledger.stopped,
        judge,
        trials,
    }
}

/// Why a layout has no answer, in words without measures.
fn failed(error: &SolveError) -> String {
    match error {
        SolveError::BeyondLimit { side, .. } => {
            format!("more current is wanted than the limiting current density of the {side} allows")
        }
        SolveError::ThiefFeeds { .. } => {
            "thieves or another supply give the parts more than they should get".to_owned()
        }
        SolveError::NoPath { part } => format!("no current reaches `{part}`"),
        SolveError::ShortCircuit { bodies: [a, b], .. } => {
            format!("`{a}` touches `{b}`: a short circuit")
        }
        SolveError::TooLarge { .. } => "the grid would have too many unknowns".to_owned(),
        SolveError::NotConverged { .. } => "the solution did not converge".to_owned(),
        other => other.to_string(),
    }
}
