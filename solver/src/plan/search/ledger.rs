//! Everything that was tried, each combination of values once.
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::aim::{Judge, Merit};
use super::{Step, Trial, Watch};
use crate::plan::model::Blocked;
use crate::plan::outcome::Outcome;
use crate::plan::sweep::Found;
use crate::solve::SolveError;

/// Makes layouts of values and solves them.
pub(super) trait Lab: Sync {
    /// What is solved.
    type Made: Send + Sync;
    /// Makes it of values.
    fn make(&self, values: &[f64]) -> Result<Self::Made, Obstacle>;
    /// Solves it: `close`, or as loosely as a search needs.
    fn solve(&self, made: &Self::Made, close: bool) -> Result<Outcome, SolveError>;
}

/// Why values make no layout, and how far they are from one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Obstacle {
    pub blocked: Blocked,
    /// In no unit: more is worse.
    pub by: f64,
}

/// Looks at values that are allowed for each solve: most of them may be blocked.
const LOOKS: usize = 40;

pub(super) struct Ledger<'a, L: Lab> {
    lab: &'a L,
    watch: &'a Watch<'a>,
    known: BTreeMap<Vec<u64>, usize>,
    pub trials: Vec<Trial>,
    budget: usize,
    solved: AtomicUsize,
    /// Solves that the present stage may still do.
    pub quota: usize,
    looks: usize,
    /// Values asked for again.
    pub again: usize,
    pub stopped: bool,
}

fn key(values: &[f64]) -> Vec<u64> {
    // minus zero is zero
    values.iter().map(|v| (v + 0.0).to_bits()).collect()
}

impl<'a, L: Lab> Ledger<'a, L> {
    /// `spent` solves of the budget are gone already.
    pub fn new(lab: &'a L, watch: &'a Watch<'a>, budget: usize, spent: usize) -> Self {
        Self {
            lab,
            watch,
            known: BTreeMap::new(),
            trials: Vec::new(),
            budget,
            solved: AtomicUsize::new(spent),
            quota: 0,
            looks: LOOKS * (budget + 10),
            again: 0,
            stopped: false,
        }
    }

    /// Outcomes so far, in the order of the trials.
    pub fn outcomes(&self) -> impl Iterator<Item = &Outcome> + Clone {
        self.trials.iter().filter_map(|t| t.found.outcome())
    }

    /// Solves done.
    pub fn solved(&self) -> usize {
        self.solved.load(Ordering::Relaxed)
    }

    /// Solves left of the budget.
    pub fn left(&self) -> usize {
        self.budget.saturating_sub(self.solved())
    }

    /// Tries points, each new one once, on all threads; their numbers in [`Self::trials`]. `None`
    /// where the quota is spent or all is to stop.
    pub fn try_all(&mut self, points: &[Vec<f64>]) -> Vec<Option<usize>> {
        let mut fresh: Vec<&Vec<f64>> = Vec::new();
        let mut new = std::collections::BTreeSet::new();
        for values in points {
            let key = key(values);
            if self.known.contains_key(&key) || !new.insert(key) {
                self.again += 1;
            } else if fresh.len() < self.looks {
                fresh.push(values);
            }
        }
        self.looks -= fresh.len();
        let made: Vec<_> = fresh.par_iter().map(|values| self.lab.make(values)).collect();
        let mut open = self.quota;
        let mut affordable = |made: &Result<L::Made, Obstacle>| {
            let enough = made.is_err() || open > 0;
            open -= usize::from(made.is_ok() && open > 0);
            enough
        };
        let jobs: Vec<_> = fresh.into_iter().zip(made).filter(|(_, m)| affordable(m)).collect();
        let one = |(values, made): (&Vec<f64>, Result<L::Made, Obstacle>)| {
            let (found, by) = match made {
                Err(obstacle) => (Found::Blocked(obstacle.blocked), obstacle.by),
                Ok(_) if (self.watch.stop)() => return None,
                Ok(made) => (self.solve(&made, false), 0.0),
            };
            Some(Trial { values: values.clone(), found, close: false, blocked_by: by })
        };
        // one at a time: a slow layout holds up no others
        let found: Vec<Option<Trial>> = jobs.into_par_iter().with_max_len(1).map(one).collect();
        for trial in found {
            let Some(trial) = trial else {
                self.stopped = true;
                continue;
            };
            self.quota -= usize::from(!matches!(trial.found, Found::Blocked(_)));
            self.known.insert(key(&trial.values), self.trials.len());
            self.trials.push(trial);
        }
        points.iter().map(|values| self.known.get(&key(values)).copied()).collect()
    }

    /// Solves trials again, closely, within the quota. Those without an answer then are `Failed`.
    pub fn close(&mut self, which: &[usize]) {
        let open: Vec<usize> =
            which.iter().copied().filter(|&k| !self.trials[k].close).take(self.quota).collect();
        let found: Vec<Found> = open
            .par_iter()
            .with_max_len(1)
            .map(|&k| match self.lab.make(&self.trials[k].values) {
                Ok(made) => self.solve(&made, true),
                Err(obstacle) => Found::Blocked(obstacle.blocked),
            })
            .collect();
        self.quota -= open.len();
        for (k, found) in open.into_iter().zip(found) {
            self.trials[k] = Trial { found, close: true, ..self.trials[k].clone() };
        }
    }

    fn solve(&self, made: &L::Made, close: bool) -> Found {
        let found = match self.lab.solve(made, close) {
            Ok(outcome) => Found::Solved(Box::new(outcome)),
            Err(error) => Found::Failed(error),
        };
        let solved = 1 + self.solved.fetch_add(1, Ordering::Relaxed);
        (self.watch.progress)(Step { solved, of: self.budget.max(solved) });
        found
    }

    /// How good a trial is.
    pub fn merit(&self, k: usize, judge: &Judge) -> Merit {
        self.trials[k].merit(judge)
    }

    /// The best trial of all.
    pub fn best(&self, judge: &Judge) -> Option<usize> {
        self.best_of(judge, &|_| true)
    }

    /// The best of some trials.
    pub fn best_of(&self, judge: &Judge, of: &dyn Fn(&Trial) -> bool) -> Option<usize> {
        let merit = |k: &usize| self.merit(*k, judge);
        let some = (0..self.trials.len()).filter(|k| of(&self.trials[*k]));
        some.min_by(|a, b| merit(a).order(&merit(b)))
    }
}
