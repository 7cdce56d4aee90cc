//! The simplex method of Nelder and Mead (*Computer J.* 7 (1965) 308) in the unit cube: the last bit
//! of the way to an optimum that is near.
//!
//! Only the order of costs counts, so they may be of any kind, and places without sense may be the
//! dearest of all. One step follows the other; ties go to the earlier point.
use std::cmp::Ordering;

/// Where the simplex begins and when it is small enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Size {
    /// Length of its first edges, as a share of the range.
    pub first: f64,
    /// Below this it has come to rest.
    pub last: f64,
}

/// The best place found from `start`, with its cost. `ask` says what a place costs, `None` once no
/// more may be asked.
pub(crate) fn simplex<C: Copy>(
    start: (Vec<f64>, C),
    size: Size,
    order: &dyn Fn(&C, &C) -> Ordering,
    ask: &mut dyn FnMut(&[f64]) -> Option<C>,
) -> (Vec<f64>, C) {
    let n = start.0.len();
    if n == 0 {
        return start;
    }
    let mut corners = vec![start];
    // what it comes to when asking ends
    let best = |mut corners: Vec<(Vec<f64>, C)>| {
        corners.sort_by(|a, b| order(&a.1, &b.1));
        corners.swap_remove(0)
    };
    let below = |a: &C, b: &C| order(a, b) == Ordering::Less;
    for d in 0..n {
        let mut place = corners[0].0.clone();
        place[d] += if place[d] > 0.5 { -size.first } else { size.first };
        let Some(cost) = ask(&place) else { return best(corners) };
        corners.push((place, cost));
    }
    let clamp =
        |place: Vec<f64>| -> Vec<f64> { place.into_iter().map(|x| x.clamp(0.0, 1.0)).collect() };
    loop {
        corners.sort_by(|a, b| order(&a.1, &b.1));
        let widest = corners
            .iter()
            .flat_map(|c| c.0.iter().zip(&corners[0].0).map(|(a, b)| (a - b).abs()))
            .fold(0.0, f64::max);
        if widest < size.last {
            return best(corners);
        }
        let worst = corners[n].clone();
        let centre: Vec<f64> =
            (0..n).map(|d| corners[..n].iter().map(|c| c.0[d]).sum::<f64>() / n as f64).collect();
        let along = |share: f64| -> Vec<f64> {
            clamp(centre.iter().zip(&worst.0).map(|(c, w)| c + share * (c - w)).collect())
        };
        let reflected = along(1.0);
        let Some(cost) = ask(&reflected) else { return best(corners) };
        if below(&cost, &corners[0].1) {
            let farther = along(2.0);
            let Some(more) = ask(&farther) else {
                return (reflected, cost);
            };
            corners[n] = if below(&more, &cost) { (farther, more) } else { (reflected, cost) };
        } else if below(&cost, &corners[n - 1].1) {
            corners[n] = (reflected, cost);
        } else {
            let nearer = along(if below(&cost, &worst.1) { 0.5 } else { -0.5 });
            let Some(less) = ask(&nearer) else { return best(corners) };
            if below(&less, &worst.1) && below(&less, &cost) {
                corners[n] = (nearer, less);
            } else {
                let middle = corners[0].0.clone();
                for k in 1..=n {
                    let place: Vec<f64> =
                        corners[k].0.iter().zip(&middle).map(|(x, b)| 0.5 * (x + b)).collect();
                    let Some(cost) = ask(&place) else { return best(corners) };
                    corners[k] = (place, cost);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bowl(x: &[f64]) -> f64 {
        (x[0] - 0.3).powi(2) + 4.0 * (x[1] - 0.7).powi(2)
    }

    fn run(steps: usize, f: &dyn Fn(&[f64]) -> f64) -> (Vec<f64>, f64, usize) {
        let start = vec![0.5, 0.5];
        let mut left = steps;
        let mut ask = |x: &[f64]| {
            left = left.checked_sub(1)?;
            Some(f(x))
        };
        let size = Size { first: 0.12, last: 0.004 };
        let (place, cost) = simplex((start.clone(), f(&start)), size, &f64::total_cmp, &mut ask);
        (place, cost, steps - left)
    }

    #[test]
    fn the_bottom_of_a_bowl_is_found() {
        let (place, cost, asked) = run(100, &bowl);
        assert!((place[0] - 0.3).abs() < 0.01 && (place[1] - 0.7).abs() < 0.01, "{place:?}");
        assert!(asked < 60 && cost == bowl(&place));
    }

    /// The least of x + y where x + y may not fall below 0.4 is 0.4, on a whole line.
    #[test]
    fn a_wall_is_followed_and_not_crossed() {
        let walled = |x: &[f64]| if x[0] + x[1] < 0.4 { f64::INFINITY } else { x[0] + x[1] };
        let (_, cost, _) = run(200, &walled);
        assert!((0.4..0.42).contains(&cost), "{cost}");
    }

    #[test]
    fn it_is_never_worse_than_its_start_however_few_steps_it_has() {
        for steps in 0..30 {
            let (place, cost, _) = run(steps, &bowl);
            assert!(cost <= bowl(&[0.5, 0.5]) && cost == bowl(&place), "{steps}");
        }
    }
}
