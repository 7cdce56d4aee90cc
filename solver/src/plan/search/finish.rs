//! What is reported: the best few solved closely, the trade-off front, and what blocks.
use std::collections::BTreeMap;

use super::aim::{Better, Bound, Judge, Limit, Merit};
use super::islands::place_of;
use super::ledger::{Lab, Ledger};
use super::{Axis, Block, Trial};
use crate::plan::figure::Measured;
use crate::plan::sweep::Found;
use crate::plan::variable::{Values, Variable};

/// The best few stand this far apart in at least one variable, as a share of its range; another
/// alternative of a choice is always apart.
pub(super) const APART: f64 = 0.1;

/// False for the layout as it is where its values lie outside what may be varied.
pub(super) fn allowed(variables: &[Variable], trial: &Trial) -> bool {
    variables.iter().zip(&trial.values).all(|(v, value)| v.values.holds(*value))
}

/// Greatest difference of two places in the unit cube, over the variables.
fn distance(variables: &[Variable], a: &[f64], b: &[f64]) -> f64 {
    let each = variables.iter().zip(a.iter().zip(b)).map(|(v, (a, b))| match v.values {
        Values::Choice(_) if a != b => 1.0,
        _ => (v.values.place(*a) - v.values.place(*b)).abs(),
    });
    each.fold(0.0, f64::max)
}

/// Up to `count` good trials besides `taken`, the best first, all well apart.
fn apart<L: Lab>(
    ledger: &Ledger<'_, L>,
    judge: &Judge,
    variables: &[Variable],
    taken: &[usize],
    count: usize,
) -> Vec<usize> {
    let merit = |k: usize| ledger.merit(k, judge);
    let mut order: Vec<usize> = (0..ledger.trials.len())
        .filter(|&k| merit(k).is_good() && allowed(variables, &ledger.trials[k]))
        .collect();
    order.sort_by(|a, b| merit(*a).order(&merit(*b)));
    let mut out = taken.to_vec();
    for k in order {
        if out.len() >= count {
            break;
        }
        let values = &ledger.trials[k].values;
        let far =
            |o: &usize| distance(variables, values, &ledger.trials[*o].values) >= APART - 1e-9;
        if out.iter().all(far) {
            out.push(k);
        }
    }
    out.split_off(taken.len())
}

/// Solves the best few closely, within the quota. What a limit was missed by then is kept as a
/// margin for loose solves, and the search goes on from the next best (`polish`).
pub(super) fn close<L: Lab>(
    ledger: &mut Ledger<'_, L>,
    judge: &mut Judge,
    variables: &[Variable],
    count: usize,
    polish: &mut dyn FnMut(&mut Ledger<'_, L>, &Judge),
) -> Vec<usize> {
    let mut kept: Vec<usize> = Vec::new();
    loop {
        let next = apart(ledger, judge, variables, &kept, count);
        if next.is_empty() || ledger.quota == 0 {
            break;
        }
        let loose: Vec<Trial> = next.iter().map(|&k| ledger.trials[k].clone()).collect();
        ledger.close(&next);
        let mut missed = false;
        for (&k, loose) in next.iter().zip(&loose) {
            if ledger.trials[k].close && ledger.merit(k, judge).is_good() {
                kept.push(k);
            } else {
                missed |= widen(judge, loose, &ledger.trials[k]);
            }
        }
        if missed && kept.is_empty() {
            polish(ledger, judge);
        }
    }
    kept.sort_by(|a, b| ledger.merit(*a, judge).order(&ledger.merit(*b, judge)));
    kept
}

/// Takes what a close solve missed limits by into their margins. True if it missed any.
fn widen(judge: &mut Judge, loose: &Trial, close: &Trial) -> bool {
    let (Found::Solved(loose), Found::Solved(close)) = (&loose.found, &close.found) else {
        return false;
    };
    let mut missed = false;
    for (limit, margin) in judge.limits.iter().zip(&mut judge.margins) {
        let (Some(before), Some(now)) = (limit.figure.of(loose), limit.figure.of(close)) else {
            continue;
        };
        if limit.excess(now.value) > 0.0 {
            // a little more than was missed
            *margin = margin.max(1.2 * (limit.excess(now.value) - limit.excess(before.value)));
            missed = true;
        }
    }
    missed
}

/// Trials that keep to all limits and that no other one beats in both figures, by the first.
pub(super) fn front(
    trials: &[Trial],
    judge: &Judge,
    variables: &[Variable],
    axes: &[Axis; 2],
) -> Vec<usize> {
    let sign = |axis: &Axis| match axis.better {
        Better::Less => 1.0,
        Better::More => -1.0,
    };
    let point = |t: &Trial| {
        let outcome = t.found.outcome()?;
        let [x, y] = axes.each_ref().map(|a| Some(sign(a) * a.figure.of(outcome)?.value));
        Some([x?, y?])
    };
    let good = |k: &usize| trials[*k].merit(judge).is_good() && allowed(variables, &trials[*k]);
    let mut points: Vec<(usize, [f64; 2])> =
        (0..trials.len()).filter(good).filter_map(|k| Some((k, point(&trials[k])?))).collect();
    points.sort_by(|(_, a), (_, b)| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let mut least = f64::INFINITY;
    points.retain(|(_, p)| {
        let better = p[1] < least;
        least = least.min(p[1]);
        better
    });
    points.into_iter().map(|(k, _)| k).collect()
}

/// What stands in the way, most often first: obstacles counted, then limits that solved layouts
/// missed, with the nearest that any came and what the least violating one has.
pub(super) fn blocks(trials: &[Trial], judge: &Judge) -> (Vec<(String, usize)>, Vec<Block>) {
    let mut reasons: BTreeMap<String, usize> = BTreeMap::new();
    for trial in trials {
        let reason = match &trial.found {
            Found::Blocked(blocked) => blocked.reason.clone(),
            Found::Failed(error) => super::failed(error),
            Found::Solved(_) => continue,
        };
        *reasons.entry(reason).or_default() += 1;
    }
    let mut reasons: Vec<(String, usize)> = reasons.into_iter().collect();
    reasons.sort_by_key(|r| std::cmp::Reverse(r.1));
    let merit = |t: &Trial| t.merit(judge);
    let solved = || trials.iter().filter(|t| t.found.outcome().is_some());
    let nearest = solved().min_by(|a, b| merit(a).order(&merit(b)));
    let block = |limit: &Limit| {
        let of = |t: &Trial| limit.figure.of(t.found.outcome()?);
        let kept = |t: &Trial| t.found.outcome().is_some_and(|o| limit.is_kept(o));
        let by = |m: &Measured| limit.excess(m.value);
        Block {
            limit: *limit,
            missed: solved().filter(|t| !kept(t)).count(),
            best: solved().filter_map(of).min_by(|a, b| by(a).total_cmp(&by(b))),
            nearest: nearest.and_then(of),
        }
    };
    let mut limits: Vec<Block> = judge.limits.iter().map(block).filter(|b| b.missed > 0).collect();
    limits.sort_by_key(|b| std::cmp::Reverse(b.missed));
    (reasons, limits)
}

impl Trial {
    /// How good it is.
    pub(super) fn merit(&self, judge: &Judge) -> Merit {
        match &self.found {
            Found::Solved(outcome) => judge.merit(outcome, self.close),
            // a layout at least
            Found::Failed(_) => Merit::Blocked(0.0),
            Found::Blocked(_) => Merit::Blocked(1.0 + self.blocked_by),
        }
    }

    /// Where it lies in the unit cube.
    pub fn place(&self, variables: &[Variable]) -> Vec<f64> {
        place_of(variables, &self.values)
    }
}

impl Bound {
    /// Its value, SI.
    pub fn value(self) -> f64 {
        match self {
            Self::AtMost(value) | Self::AtLeast(value) => value,
        }
    }
}
