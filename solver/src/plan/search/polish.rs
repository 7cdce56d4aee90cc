//! The last bit of the way: the simplex method from the best, then each discrete variable alone.
use super::aim::{Judge, Merit};
use super::islands::{place_of, values_at};
use super::ledger::{Lab, Ledger};
use crate::plan::simplex::{Size, simplex};
use crate::plan::variable::{Values, Variable};

/// Edges of the simplexes, one after the other, as shares of the range.
const SIZES: [Size; 2] = [Size { first: 0.06, last: 0.004 }, Size { first: 0.02, last: 0.001 }];
/// Alternatives of a choice tried for themselves; of more of them the nearest.
const ALTERNATIVES: usize = 8;

/// Betters the best trial within the quota.
pub(super) fn run<L: Lab>(ledger: &mut Ledger<'_, L>, judge: &Judge, variables: &[Variable]) {
    let free: Vec<usize> =
        (0..variables.len()).filter(|&d| !variables[d].values.is_discrete()).collect();
    for size in SIZES {
        let Some(best) = ledger.best(judge) else { return };
        let place = place_of(variables, &ledger.trials[best].values);
        let with = |free_place: &[f64]| {
            let mut place = place.clone();
            for (&d, x) in free.iter().zip(free_place) {
                place[d] = *x;
            }
            values_at(variables, &place)
        };
        let start: Vec<f64> = free.iter().map(|&d| place[d]).collect();
        let merit = ledger.merit(best, judge);
        let mut ask = |x: &[f64]| {
            let tried = ledger.try_all(&[with(x)])[0]?;
            Some(ledger.merit(tried, judge))
        };
        simplex((start, merit), size, &Merit::order, &mut ask);
        while neighbours(ledger, judge, variables) {}
    }
}

/// Tries the neighbours of the best trial in each discrete variable. True if one is better.
fn neighbours<L: Lab>(ledger: &mut Ledger<'_, L>, judge: &Judge, variables: &[Variable]) -> bool {
    let Some(best) = ledger.best(judge) else { return false };
    let values = ledger.trials[best].values.clone();
    let mut points = Vec::new();
    for (d, variable) in variables.iter().enumerate() {
        let all = match &variable.values {
            Values::Between { .. } => continue,
            discrete => discrete.grid(1),
        };
        let own = all.iter().position(|v| *v == values[d]).unwrap_or(0);
        let choice = matches!(variable.values, Values::Choice(n) if n <= ALTERNATIVES);
        let others = (0..all.len()).filter(|&k| k != own && (choice || k.abs_diff(own) == 1));
        points.extend(others.map(|k| {
            let mut values = values.clone();
            values[d] = all[k];
            values
        }));
    }
    ledger.try_all(&points);
    ledger.best(judge) != Some(best)
}
