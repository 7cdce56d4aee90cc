//! Newton's method on the convex energy, field and free potentials together.
//!
//! The energy is strictly convex, so Newton steps with a line search on its slope converge from
//! anywhere. Free potentials are eliminated by a Schur complement of their own small size; the
//! field's matrix stays symmetric positive definite.

use self::search::{EXACT, LOOSE, line_search};
use crate::circuit::{Circuit, Source};
use crate::kinetics::KNEE;
use crate::system::assemble::{System, rank_one};
use crate::system::joint::{Hessian, Joint};
use crate::system::linear::NotPositive;

/// Field and free potentials, with the overpotential at each metal point as memory.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub(crate) u: Vec<f64>,
    pub(crate) free: Vec<f64>,
    pub(crate) eta: Vec<f64>,
}

/// Why Newton's method gave up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Stalled {
    /// The matrix was not positive definite (thinner layers help).
    NotPositive,
    /// Too many steps.
    Slow,
    /// No potential drives the current asked for through the limiting current densities in its way.
    Blocked {
        /// Which supply.
        supply: usize,
        /// What passes the anodes at any potential, A/m.
        possible: f64,
    },
    /// The limiting current density of the anodes leaves the parts short of their current.
    Starved {
        /// Which supply.
        supply: usize,
        /// Current through the anodes at which the parts would have theirs, A/m.
        wanted: f64,
    },
    /// However much current its anodes give, no more than this reaches the parts.
    Short {
        /// Which supply.
        supply: usize,
        /// What the parts get, A/m.
        most: f64,
    },
    /// Even without current from its anodes the parts get more than they should.
    Overfed {
        /// Which supply.
        supply: usize,
        /// What the parts get then, A/m.
        least: f64,
    },
}

impl From<NotPositive> for Stalled {
    fn from(_: NotPositive) -> Self {
        Self::NotPositive
    }
}

/// Slope of the energy.
struct Slope {
    field: Vec<f64>,
    free: Vec<f64>,
    /// Sum of the magnitudes of all currents into the bath, A/m.
    traffic: f64,
    /// dj/ds times weight at each metal point, S/m.
    conductance: Vec<f64>,
}

impl Slope {
    /// Largest net current that is left over, in the bath or at a free potential, A/m.
    fn imbalance(&self) -> f64 {
        let net = self.field.iter().sum::<f64>().abs();
        self.free.iter().fold(net, |off, f| off.max(f.abs()))
    }
}

/// A surface without polarization up to a hard limit makes an obstacle problem: tens of steps to
/// find which points sit at the limit, a few at most elsewhere.
const MAX_STEPS: usize = 400;

/// Least slope of a surface in a Newton step, as a share of its secant.
///
/// At a limiting current density the true slope underflows and with it the matrix of the free
/// potentials; this much is far below any slope that matters at an answer, and enough to tell
/// which way the potentials must go. It shapes steps, never the answer.
const SATURATED: f64 = 1e-9;

/// The same as a share of the conductance of the layer in series: a one-sided law far on its idle
/// side carries no current to take a share of.
const DEAD: f64 = 1e-15;

/// A drop beyond which the secant falls no further, V: where volts run away because a limit lets no more
/// current through, the way back must not be lost.
const VOLT: f64 = 1.0;

/// What both are raised by at a time where rounding leaves a matrix that is not positive definite, as
/// where every law in reach is flat; and how far. A matrix raised so is not that of Newton's method,
/// but its steps still lead down.
const RAISE: f64 = 1e3;
const HIGHEST: f64 = 1e6;

/// A solved system at its solution, for further right sides.
pub(crate) struct Solved {
    pub(crate) state: State,
    pub(crate) steps: usize,
    pub(crate) joint: Joint,
}

impl Solved {
    /// Solves H z = b; returns the field part and the free part.
    pub(crate) fn back_solve(&self, b: &[f64], b_free: &[f64]) -> (Vec<f64>, Vec<f64>) {
        self.joint.solve_roughly(b, b_free)
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// What is minimised: one grid's energy, sharp knees of the laws bent by `bend`, the least slopes in a
/// step `raised` times the usual ones.
#[derive(Clone, Copy)]
struct Energy<'a> {
    system: &'a System,
    circuit: &'a Circuit,
    bend: f64,
    raised: f64,
}

/// Slope at a state; `product` is the constant matrix times `u`.
fn slope(energy: Energy, product: &[f64], state: &mut State) -> Slope {
    let Energy { system, circuit, bend, raised } = energy;
    let mut field = product.to_vec();
    let mut free: Vec<f64> = circuit.injected.iter().map(|i| -i).collect();
    let mut conductance = vec![0.0; system.boundary.points.len()];
    let mut traffic = 0.0;
    let metal = circuit.at_rest(&state.free);
    let mut into = vec![0.0; metal.len()];
    let (mut u, mut local) = (Vec::new(), Vec::new());
    // points of a piece share the layer, and mostly the body
    let mut known = (u32::MAX, f64::NAN, 0.0);
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        u.clear();
        u.extend(map.unknowns.iter().map(|&i| state.u[i as usize]));
        local.clear();
        local.resize(u.len(), 0.0);
        for (q, trace) in (piece.first..piece.end).zip(map.traces()) {
            let point = &system.boundary.points[q];
            let Some(e) = &circuit.electrodes[point.body as usize] else { continue };
            let s = metal[point.body as usize] - dot(trace, &u);
            if (known.0, known.1) != (point.body, point.series) {
                known = (point.body, point.series, e.surface.offset(point.series));
            }
            let series = e.surface.in_series_bent(s, point.series, known.2, state.eta[q], bend);
            state.eta[q] = series.eta;
            let secant = series.j.abs() / (s.abs().min(VOLT) + point.series * series.j.abs());
            let least = raised * (SATURATED * secant).max(DEAD / point.series);
            conductance[q] = point.weight * series.dj_ds.max(least);
            let current = point.weight * series.j;
            traffic += current.abs();
            for (l, m) in local.iter_mut().zip(trace) {
                *l -= current * m;
            }
            into[point.body as usize] += current;
        }
        for (&i, l) in map.unknowns.iter().zip(&local) {
            field[i as usize] += l;
        }
    }
    for (e, current) in circuit.electrodes.iter().zip(into) {
        let unknowns = e.iter().flat_map(|e| &e.terminal.free);
        unknowns.for_each(|&k| free[k] += current);
    }
    for spring in &circuit.springs {
        let current = spring.conductance * spring.drop(&state.free);
        spring.terms.iter().for_each(|&(k, c)| free[k] += c * current);
    }
    Slope { field, free, traffic, conductance }
}

/// Minimises the energy from `start`; `joint` may come from an earlier solve on this system.
///
/// Converged when the Newton decrement is a small share of the electrical power and the currents
/// balance, both as `aim` says, or when rounding stops the decrement. A factor serves as long as it brings the
/// decrement down fast: one for linear laws, about half the steps for steep ones.
///
/// Where surfaces without polarization stop dead at a limit, finding which points sit at it can
/// take Newton's method for ever. If it does not settle, the knee is bent much and less and less,
/// each answer the start of the next.
pub(crate) fn minimise(
    system: &System,
    circuit: &Circuit,
    start: State,
    mut joint: Joint,
    aim: Aim,
) -> Result<Solved, Stalled> {
    let energy = Energy { system, circuit, bend: KNEE, raised: 1.0 };
    let solved = |(state, steps): (State, usize), joint| Solved { state, steps, joint };
    if !circuit.electrodes.iter().flatten().any(|e| e.surface.has_knee()) {
        return Ok(solved(descend(energy, start, &mut joint, aim, MAX_STEPS)?, joint));
    }
    let again = start.clone();
    match descend(energy, start, &mut joint, aim, CYCLING) {
        Err(Stalled::Slow) => {}
        done => return Ok(solved(done?, joint)),
    }
    let mut state = again;
    let mut steps = CYCLING;
    for bend in BENDS {
        let bent = Energy { bend, ..energy };
        let more;
        (state, more) = descend(bent, state, &mut joint, Aim::Start, MAX_STEPS)?;
        steps += more;
    }
    let (state, more) = descend(energy, state, &mut joint, aim, MAX_STEPS)?;
    Ok(solved((state, steps + more), joint))
}

/// One Newton step from `start`, without a line search: the linear answer to what is out of balance there.
/// With `factored` the factor at hand serves. None where that is too far away for a linear answer.
pub(crate) fn linear_step(
    system: &System,
    circuit: &Circuit,
    start: State,
    joint: &mut Joint,
    factored: bool,
) -> Result<Option<State>, Stalled> {
    let energy = Energy { system, circuit, bend: KNEE, raised: 1.0 };
    let mut state = start;
    let mut product = vec![0.0; system.size()];
    system.constant.exchange(&state.u, &mut product);
    let now = slope(energy, &product, &mut state);
    let down: Vec<f64> = now.field.iter().map(|x| -x).collect();
    let down_free: Vec<f64> = now.free.iter().map(|x| -x).collect();
    if !factored {
        joint.refactor(|hessian| fill(system, circuit, &now, hessian))?;
    }
    let (p, p_free) = joint.solve(&down, &down_free, |energy| ROUGH * energy)?;
    let decrement = dot(&p, &down) + dot(&p_free, &down_free);
    if !(0.0..=CURVED * scale(&state, now.traffic)).contains(&decrement) {
        return Ok(None);
    }
    state.u.iter_mut().zip(&p).for_each(|(u, p)| *u += p);
    state.free.iter_mut().zip(&p_free).for_each(|(v, p)| *v += p);
    Ok(Some(state))
}

/// A step that gains more than this share of the power is none for a linear answer: where laws are all but
/// flat at their limits it may lead anywhere.
const CURVED: f64 = 1e-3;

/// Energy of the error that a linear step may leave, as a share of its own.
const ROUGH: f64 = 1e-4;

/// Bends of a knee on the way to a sharp one.
const BENDS: [f64; 4] = [1.0, 0.1, 0.03, 0.008];

/// Newton's method with a line search, at most `most` steps; how many it took.
fn descend(
    energy: Energy,
    start: State,
    joint: &mut Joint,
    aim: Aim,
    most: usize,
) -> Result<(State, usize), Stalled> {
    let mut energy = energy;
    let Energy { system, circuit, .. } = energy;
    let n = system.size();
    let mut state = start;
    let mut factored = false;
    let mut product = vec![0.0; n];
    system.constant.exchange(&state.u, &mut product);
    let mut now = slope(energy, &product, &mut state);
    let mut last = f64::INFINITY;
    let mut stalls = 0;
    let mut best: Option<(f64, State)> = None;
    for step in 1..=most {
        let down: Vec<f64> = now.field.iter().map(|x| -x).collect();
        let down_free: Vec<f64> = now.free.iter().map(|x| -x).collect();
        let power = scale(&state, now.traffic);
        let (slack, imbalance) = match aim {
            Aim::Balance => (1e-19, 5e-12),
            Aim::Start => (1e-12, 1e-6),
        };
        // the next step mends what is left, and has the curvature of the laws to mend anyway
        let enough = |energy: f64| {
            let curved = INEXACT * energy * (energy / power).min(1.0);
            curved.max(0.1 * slack * power)
        };
        let mut way = None;
        if factored && joint.keeps_its_factor() {
            let (p, p_free) = joint.solve(&down, &down_free, enough)?;
            let decrement = dot(&p, &down) + dot(&p_free, &down_free);
            let small = -UPHILL * power..=(STALE * power).min(0.02 * last);
            if small.contains(&decrement) {
                way = Some((p, p_free, decrement));
            }
        }
        let (p, p_free, decrement) = match way {
            Some(w) => w,
            None => {
                let found = joint
                    .refactor(|hessian| fill(system, circuit, &now, hessian))
                    .and_then(|()| joint.solve(&down, &down_free, enough));
                let found = found.map(|(p, p_free)| {
                    let decrement = dot(&p, &down) + dot(&p_free, &down_free);
                    (p, p_free, decrement)
                });
                // uphill: rounding has eaten a matrix whose laws are all but flat, and its factor is
                // not to be used again
                let found = found.ok().filter(|way| way.2 >= -UPHILL * power);
                factored = found.is_some();
                match found {
                    Some(way) => way,
                    _ if energy.raised < HIGHEST => {
                        energy.raised *= RAISE;
                        now = slope(energy, &product, &mut state);
                        continue;
                    }
                    _ => return Err(Stalled::NotPositive),
                }
            }
        };
        let flat = decrement <= slack * power;
        let off = now.imbalance();
        let still = step > 2 && decrement <= 1e-14 * power && (decrement > 0.5 * last || flat);
        stalls = if still { stalls + 1 } else { 0 };
        if flat && off <= imbalance * now.traffic {
            if aim == Aim::Balance {
                let enough = imbalance * now.traffic;
                last_step(energy, &mut product, &mut state, (&p, &p_free), enough);
            }
            return Ok((state, step));
        }
        // of states that rounding makes as good as each other the one that balances best
        if still && best.as_ref().is_none_or(|(least, _)| off < *least) {
            best = Some((off, state.clone()));
        }
        let near = best.as_ref().is_some_and(|(off, _)| *off <= BALANCED * now.traffic);
        if stalls >= if near { STUCK } else { PATIENT } {
            let off = best.as_ref().map_or(off, |(off, _)| *off);
            // currents that do not add up are no answer
            if matches!(aim, Aim::Balance) && off > ADRIFT * now.traffic {
                return Err(Stalled::Slow);
            }
            return Ok((best.map_or(state, |(_, state)| state), step));
        }
        if let Some(blocked) = blocked(circuit, &state, &now) {
            return Err(blocked);
        }
        let slack = if step < CYCLING && stalls == 0 { LOOSE } else { EXACT };
        now = line_search(energy, &mut product, &mut state, (&p, &p_free), decrement, slack);
        last = decrement;
    }
    Err(Stalled::Slow)
}

/// Takes the step that has shown a state to be good enough, if currents balance as well after it: what it
/// mends is all that tells the answers of two methods apart.
fn last_step(
    energy: Energy,
    product: &mut [f64],
    state: &mut State,
    (p, p_free): (&[f64], &[f64]),
    enough: f64,
) {
    let mut along = vec![0.0; p.len()];
    energy.system.constant.exchange(p, &mut along);
    let add = |to: &mut [f64], step: &[f64]| to.iter_mut().zip(step).for_each(|(t, s)| *t += s);
    let mut next = state.clone();
    add(&mut next.u, p);
    add(&mut next.free, p_free);
    add(product, &along);
    if slope(energy, product, &mut next).imbalance() <= enough {
        *state = next;
    }
}

/// A decrement this far below nothing, as a share of the power, is not that of a positive matrix.
const UPHILL: f64 = 1e-6;

/// A voltage of a supply that no answer has, V: the current asked for cannot be had.
const ENDLESS: f64 = 1e9;

/// The first supply whose voltage runs away, with the current that passes none the less.
fn blocked(circuit: &Circuit, state: &State, now: &Slope) -> Option<Stalled> {
    circuit.lines.iter().enumerate().find_map(|(supply, line)| {
        let Source::Current(wanted) = line.source else { return None };
        let &(k, factor) = line.terms.first()?;
        // what passes the anodes, and what all other metal takes of it: potentials that large are
        // rounded coarsely where no limit holds, and the lesser of the two is what there is a limit to
        let anodes = wanted + now.free[k] / factor;
        let others = anodes + now.field.iter().sum::<f64>();
        (line.volts(&state.free).abs() > ENDLESS)
            .then_some(Stalled::Blocked { supply, possible: anodes.min(others) })
    })
}

/// Steps in a row that bring a tiny decrement no further down before rounding is to blame: a point
/// that changes over at a hard limit can hold it up for a step or two, at a current that is not yet
/// balanced.
const STUCK: usize = 5;
/// The same where currents do not balance yet: hard limits can leave them so at a decrement of nothing.
const PATIENT: usize = 25;
/// Currents this far from balance, as a share of all that passes, are wrong.
const ADRIFT: f64 = 1e-6;
/// Currents balance as well as anybody asks, as a share of all that passes.
const BALANCED: f64 = 1e-11;

/// Steps after which to expect that a line search steps across the minimum and back for ever.
const CYCLING: usize = 40;

/// Below this decrement (of the power) a step with an old factor is as good as a new one.
const STALE: f64 = 1e-8;

/// Energy of the error that a solve within a Newton step may leave, as a share of what the step
/// itself leaves where the laws are curved.
const INEXACT: f64 = 1e-3;

/// How far to converge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Aim {
    /// Until currents balance to well below 1e-10: for answers.
    Balance,
    /// Far below the error of any grid: for a start and for error figures.
    Start,
}

/// The Hessian at the state of `now`.
fn fill(system: &System, circuit: &Circuit, now: &Slope, hessian: &mut Hessian) {
    hessian.reset(&system.constant, circuit.injected.len());
    for spring in &circuit.springs {
        for &(a, x) in &spring.terms {
            for &(b, y) in &spring.terms {
                hessian.own[(a, b)] += spring.conductance * x * y;
            }
        }
    }
    let mut k = Vec::new();
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        k.clear();
        k.resize(map.positions.len(), 0.0);
        for (q, trace) in (piece.first..piece.end).zip(map.traces()) {
            let Some(e) = &circuit.electrodes[system.boundary.points[q].body as usize] else {
                continue;
            };
            let conductance = now.conductance[q];
            rank_one(&mut k, trace, conductance);
            if e.terminal.free.is_empty() {
                add(&mut hessian.sum, &map.unknowns, trace, conductance);
            }
            for &f in &e.terminal.free {
                e.terminal.free.iter().for_each(|&g| hessian.own[(f, g)] += conductance);
                add(&mut hessian.border[f], &map.unknowns, trace, -conductance);
            }
        }
        hessian.add(&map.positions, &k);
    }
}

/// out += factor × values, at some unknowns.
fn add(out: &mut [f64], unknowns: &[u32], values: &[f64], factor: f64) {
    for (&i, v) in unknowns.iter().zip(values) {
        out[i as usize] += factor * v;
    }
}

/// A power to compare the decrement with, W/m: traffic times the spread of potentials.
fn scale(state: &State, traffic: f64) -> f64 {
    let spread = |v: &[f64]| {
        let low = v.iter().copied().fold(f64::INFINITY, f64::min);
        let high = v.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (high - low).max(0.0)
    };
    let volts = spread(&state.u).max(state.free.iter().fold(0.0, |a: f64, v| a.max(v.abs())));
    (traffic * volts.max(1e-6)).max(f64::MIN_POSITIVE)
}

mod search;
#[cfg(test)]
mod tests;
