//! The line search: how far to go along a step.

use super::{Energy, Slope, State, dot, slope};
use crate::circuit::Circuit;

/// Slope of the energy left after a line search, as a share of the slope before. The loose one is
/// cheap; where hard limits bend the slope it may step across the minimum and back for ever, which
/// the nearly exact one cannot.
pub(super) const LOOSE: f64 = 0.5;
pub(super) const EXACT: f64 = 0.02;

/// Largest change of a potential in one step, as a multiple of the potentials there are.
const FARTHEST: f64 = 10.0;

/// The largest potential difference at hand, V: no less than one volt.
fn volts(circuit: &Circuit, state: &State) -> f64 {
    let fixed = circuit.electrodes.iter().flatten().flat_map(|e| {
        let metal = e.terminal.volts(&state.free);
        [metal, metal - e.rest]
    });
    let (low, high) = fixed
        .chain(state.u.iter().copied())
        .fold((0.0, 0.0), |(low, high): (f64, f64), v| (low.min(v), high.max(v)));
    (high - low).max(1.0)
}

/// Moves `state` along `(p, p_free)`: the whole step (as far as potentials may move) unless the energy's
/// slope there says that the minimum has been passed by far; then back to where the slope has fallen to
/// `slack` of what it was.
/// `product` follows the state; the slope at the new state is returned.
pub(super) fn line_search(
    energy: Energy,
    product: &mut [f64],
    state: &mut State,
    (p, p_free): (&[f64], &[f64]),
    decrement: f64,
    slack: f64,
) -> Slope {
    let mut along = vec![0.0; p.len()];
    energy.system.constant.exchange(p, &mut along);
    let (base, start) = (state.clone(), product.to_vec());
    let step_to = |t: f64, state: &mut State, product: &mut [f64]| -> (f64, Slope) {
        for (u, (b, d)) in state.u.iter_mut().zip(base.u.iter().zip(p)) {
            *u = b + t * d;
        }
        for (v, (b, d)) in state.free.iter_mut().zip(base.free.iter().zip(p_free)) {
            *v = b + t * d;
        }
        for (x, (a, b)) in product.iter_mut().zip(start.iter().zip(&along)) {
            *x = a + t * b;
        }
        let s = slope(energy, product, state);
        (dot(&s.field, p) + dot(&s.free, p_free), s)
    };
    let farthest = FARTHEST * volts(energy.circuit, &base);
    let longest = p.iter().chain(p_free).fold(0.0, |a: f64, v| a.max(v.abs()));
    // the slope is −decrement at 0 and rises with t
    let (mut low, mut high) = (0.0, (farthest / longest).min(1.0));
    let (mut rise, mut there) = step_to(high, state, product);
    if rise <= slack * decrement {
        return there;
    }
    let mut fall = -decrement;
    for _ in 0..30 {
        let secant = low + (high - low) * (-fall / (rise - fall));
        let t = secant.clamp(low + 0.1 * (high - low), high - 0.1 * (high - low));
        let s;
        (s, there) = step_to(t, state, product);
        if s.abs() <= slack * decrement {
            break;
        }
        if s > 0.0 {
            high = t;
            rise = s;
        } else {
            low = t;
            fall = s;
        }
    }
    there
}
