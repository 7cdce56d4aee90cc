//! Finds good values of a few dimensions with a small budget: points spread evenly first, then the
//! simplex method of Nelder and Mead (*Computer J.* 7 (1965) 308) from the best of them.
//!
//! Deterministic: points come from an additive recurrence, ties go to the earlier point, and the
//! simplex takes one step after the other.
use std::collections::BTreeMap;

use rayon::prelude::*;

use super::proposal::Dim;
use crate::plan::sample::even_point;

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
    let found = if dims.is_empty() { (best, cost) } else { simplex((best, cost), &mut ask) };
    Some(Best { values: values(&found.0), cost: found.1 })
}

/// First steps of the simplex, as a share of the range.
const FIRST: f64 = 0.12;
/// Rounds without a smaller simplex being worth it.
const SMALL: f64 = 0.004;

fn simplex(start: (Vec<f64>, f64), ask: &mut dyn FnMut(&[f64]) -> Option<f64>) -> (Vec<f64>, f64) {
    let n = start.0.len();
    let mut corners = vec![start.clone()];
    for d in 0..n {
        let mut place = start.0.clone();
        place[d] += if place[d] > 0.5 { -FIRST } else { FIRST };
        let Some(cost) = ask(&place) else { return start };
        corners.push((place, cost));
    }
    let clamp =
        |place: Vec<f64>| -> Vec<f64> { place.into_iter().map(|x| x.clamp(0.0, 1.0)).collect() };
    loop {
        corners.sort_by(|a, b| a.1.total_cmp(&b.1));
        let size = corners
            .iter()
            .flat_map(|c| c.0.iter().zip(&corners[0].0).map(|(a, b)| (a - b).abs()))
            .fold(0.0, f64::max);
        if size < SMALL {
            return corners.swap_remove(0);
        }
        let worst = corners[n].clone();
        let centre: Vec<f64> =
            (0..n).map(|d| corners[..n].iter().map(|c| c.0[d]).sum::<f64>() / n as f64).collect();
        let along = |share: f64| -> Vec<f64> {
            clamp(centre.iter().zip(&worst.0).map(|(c, w)| c + share * (c - w)).collect())
        };
        let reflected = along(1.0);
        let Some(cost) = ask(&reflected) else { return corners.swap_remove(0) };
        if cost < corners[0].1 {
            let farther = along(2.0);
            let Some(more) = ask(&farther) else {
                return (reflected, cost);
            };
            corners[n] = if more < cost { (farther, more) } else { (reflected, cost) };
        } else if cost < corners[n - 1].1 {
            corners[n] = (reflected, cost);
        } else {
            let nearer = along(if cost < worst.1 { 0.5 } else { -0.5 });
            let Some(less) = ask(&nearer) else { return corners.swap_remove(0) };
            if less < worst.1.min(cost) {
                corners[n] = (nearer, less);
            } else {
                let best = corners[0].0.clone();
                for corner in &mut corners[1..] {
                    let place: Vec<f64> =
                        corner.0.iter().zip(&best).map(|(x, b)| 0.5 * (x + b)).collect();
                    let Some(cost) = ask(&place) else {
                        corners.sort_by(|a, b| a.1.total_cmp(&b.1));
                        return corners.swap_remove(0);
                    };
                    *corner = (place, cost);
                }
            }
        }
    }
}

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
