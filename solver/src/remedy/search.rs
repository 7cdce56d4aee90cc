//! Finds good values of a few dimensions with a small budget: points spread evenly first, then the
//! simplex method from the best of them.
//!
//! Deterministic: points come from an additive recurrence, ties go to the earlier point, and the
//! simplex takes one step after the other.
use std::collections::BTreeMap;

use rayon::prelude::*;

use super::proposal::Dim;
use crate::plan::sample::even_point;
use crate::plan::simplex::{Size, simplex};

/// How much is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Budget {
    /// Points spread evenly.
    pub spread: usize,
    /// Points of the simplex method.
    pub steps: usize,
}

/// The best values found, with what they cost.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Best {
    pub values: Vec<f64>,
    pub cost: f64,
}

/// Points looked at for each one that must make sense.
const PATIENCE: usize = 12;

/// Values of `dims` with the least cost. `make` builds what values mean, `None` where they make no
/// sense; `price` is only asked about what was built. `near` is a place to begin at besides.
pub(super) fn search<T: Send>(
    dims: &[Dim],
    near: Option<&[f64]>,
    budget: Budget,
    make: &(dyn Fn(&[f64]) -> Option<T> + Sync),
    price: &(dyn Fn(&T) -> f64 + Sync),
) -> Option<Best> {
    let values = |place: &[f64]| -> Vec<f64> {
        dims.iter().zip(place).map(|(dim, place)| dim.value(*place)).collect()
    };
    let mut tried: BTreeMap<Vec<u64>, ()> = BTreeMap::new();
    let mut points: Vec<(Vec<f64>, T)> = Vec::new();
    let starts = near.map(<[f64]>::to_vec).into_iter();
    let spread =
        starts.chain((0..PATIENCE * budget.spread.max(1)).map(|k| even_point(k, dims.len())));
    for place in spread {
        if points.len() >= budget.spread.max(1) {
            break;
        }
        let values = values(&place);
        let key = values.iter().map(|v| v.to_bits()).collect();
        if tried.insert(key, ()).is_none()
            && let Some(made) = make(&values)
        {
            points.push((place, made));
        }
    }
    let mut priced: Vec<(Vec<f64>, f64)> =
        points.into_par_iter().map(|(place, made)| (place, price(&made))).collect();
    priced.retain(|(_, cost)| cost.is_finite());
    priced.sort_by(|a, b| a.1.total_cmp(&b.1));
    let (best, cost) = priced.first().cloned()?;
    let mut known = BTreeMap::new();
    let mut left = budget.steps;
    let mut ask = |place: &[f64]| -> Option<f64> {
        let values = values(place);
        let key: Vec<u64> = values.iter().map(|v| v.to_bits()).collect();
        if let Some(cost) = known.get(&key) {
            return Some(*cost);
        }
        let Some(made) = make(&values) else { return Some(f64::INFINITY) };
        left = left.checked_sub(1)?;
        let cost = price(&made);
        known.insert(key, cost);
        Some(cost)
    };
    let found = simplex((best, cost), SIZE, &f64::total_cmp, &mut ask);
    Some(Best { values: values(&found.0), cost: found.1 })
}

/// First steps of the simplex as a share of the range, and when a smaller one is not worth it.
const SIZE: Size = Size { first: 0.12, last: 0.004 };

#[cfg(test)]
mod tests {
    use super::*;
    use crate::remedy::proposal::Measure;

    fn dims() -> Vec<Dim> {
        let dim = |high| Dim::new("x", Measure::Length, 0.0, high, 1e-3).expect("a range");
        vec![dim(1.0), dim(2.0)]
    }

    /// The bottom of a bowl at (0.3, 1.4), with a corner of the range forbidden.
    #[test]
    fn the_bottom_of_a_bowl_is_found_within_the_steps() {
        let make = |x: &[f64]| (x[0] + x[1] > 0.5).then(|| x.to_vec());
        let bowl = |x: &Vec<f64>| (x[0] - 0.3).powi(2) + 4.0 * (x[1] - 1.4).powi(2);
        let budget = Budget { spread: 12, steps: 60 };
        let best = search(&dims(), None, budget, &make, &bowl).expect("a best");
        assert!((best.values[0] - 0.3).abs() < 0.02 && (best.values[1] - 1.4).abs() < 0.02);
        assert_eq!(Some(best), search(&dims(), None, budget, &make, &bowl));
    }

    #[test]
    fn without_a_place_that_makes_sense_nothing_is_found() {
        let never = |_: &[f64]| -> Option<()> { None };
        let budget = Budget { spread: 12, steps: 20 };
        assert_eq!(search(&dims(), None, budget, &never, &|()| 0.0), None);
        // what has no dimension has one value
        let once = search(&[], None, budget, &|_| Some(()), &|()| 7.0).expect("one");
        assert_eq!((once.values.len(), once.cost), (0, 7.0));
    }
}
