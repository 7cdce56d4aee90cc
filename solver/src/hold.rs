//! Supplies that hold a mean current density on their parts.
//!
//! The energy knows supplies by current only. Where a supply feeds nothing but its parts its
//! current is that of the parts; where thieves or other supplies share their bus it is adjusted
//! until the parts get what they should: Newton's method on nearly straight lines.

use nalgebra::{DMatrix, DVector};

use crate::circuit::{Circuit, Source};
use crate::layout::Drive;
use crate::measure::respond;
use crate::newton::{Aim, Solved, Stalled, State, linear_step, minimise};
use crate::problem::Problem;
use crate::system::assemble::System;
use crate::system::joint::Joint;

/// Most adjustments.
const MOST: usize = 60;

/// How far from its limits a first setting stays, as a share of the range.
const ROOM: f64 = 0.1;

/// How exactly the parts' current is met, as a share of all current (a thief may pass on far more
/// than the parts get): looser than the minimisation, which leaves about the root of its decrement.
fn slack(aim: Aim) -> f64 {
    if aim == Aim::Balance { 1e-9 } else { 1e-5 }
}

/// Parts that answer to a thousandth of their supply's current at least tell what that current is.
const TELLING: f64 = 1e-3;

/// When a supply is set well enough.
struct Enough {
    aim: Aim,
    /// What the parts were short of one setting before, A/m.
    last: f64,
}

impl Enough {
    fn new(aim: Aim) -> Self {
        Self { aim, last: f64::INFINITY }
    }

    /// True if parts short of `short` are all right while `gross` passes, and so is a supply that is off by
    /// `off`; or no other setting brings them nearer.
    fn is(&mut self, short: f64, off: f64, gross: f64) -> bool {
        let room = slack(self.aim) * gross;
        let better = short <= 0.1 * self.last;
        self.last = short;
        let telling = self.aim == Aim::Balance && off > room && TELLING * off <= room;
        short <= room && !(telling && better)
    }
}

/// Minimises the energy with every supply at what it holds.
pub(crate) fn at_supplies(
    problem: &Problem,
    circuit: &mut Circuit,
    system: &System,
    start: State,
    joint: Joint,
    aim: Aim,
) -> Result<Solved, Stalled> {
    let solved = minimise(system, circuit, start, joint, aim)?;
    match problem.adjusted().as_slice() {
        [] => Ok(solved),
        [only] => one(problem, circuit, system, solved, aim, *only),
        several => many(problem, circuit, system, solved, aim, several),
    }
}

/// Nearly minimises the energy from a start close by: the linear answer to what is out of balance there,
/// with supplies that hold a mean density adjusted by as much as that needs, where that will do.
pub(crate) fn near(
    problem: &Problem,
    system: &System,
    start: State,
    mut joint: Joint,
) -> Result<(Circuit, Solved), Stalled> {
    let mut circuit = problem.circuit.clone();
    let Some(state) = linear_step(system, &circuit, start.clone(), &mut joint, false)? else {
        let solved = at_supplies(problem, &mut circuit, system, start, joint, Aim::Start)?;
        return Ok((circuit, solved));
    };
    let solved = Solved { state, steps: 1, joint };
    let supplies = problem.adjusted();
    if supplies.is_empty() {
        return Ok((circuit, solved));
    }
    let groups: Vec<Vec<bool>> = supplies.iter().map(|&s| problem.parts_of(s)).collect();
    let r = respond(system, &circuit, &solved, &groups, &supplies);
    let target = |k: usize| problem.parts_target(supplies[k]).unwrap_or(0.0);
    let short = DVector::from_fn(supplies.len(), |k, _| target(k) - r.currents[k]);
    let slopes = DMatrix::from_fn(supplies.len(), supplies.len(), |a, b| r.slopes[a][b]);
    let change = slopes.lu().solve(&short).ok_or(Stalled::Slow)?;
    for (&s, change) in supplies.iter().zip(&change) {
        circuit.deliver(s, circuit.delivered(s) + change);
    }
    let Solved { state, mut joint, .. } = solved;
    if let Some(state) = linear_step(system, &circuit, state, &mut joint, true)? {
        return Ok((circuit, Solved { state, steps: 2, joint }));
    }
    circuit = problem.circuit.clone();
    let solved = at_supplies(problem, &mut circuit, system, start, joint, Aim::Start)?;
    Ok((circuit, solved))
}

/// Minimises again from what has been solved; steps add up.
fn again(circuit: &Circuit, system: &System, solved: Solved, aim: Aim) -> Result<Solved, Stalled> {
    let steps = solved.steps;
    let mut next = minimise(system, circuit, solved.state, solved.joint, aim)?;
    next.steps += steps;
    Ok(next)
}

/// One supply to adjust, its current kept in a bracket.
fn one(
    problem: &Problem,
    circuit: &mut Circuit,
    system: &System,
    mut solved: Solved,
    aim: Aim,
    supply: usize,
) -> Result<Solved, Stalled> {
    let Some(target) = problem.parts_target(supply) else { return Ok(solved) };
    let parts = problem.parts_of(supply);
    let (least, most) = problem.range(circuit, supply);
    let (mut low, mut high) = (least, most);
    let mut enough = Enough::new(aim);
    for _ in 0..MOST {
        let r = respond(system, circuit, &solved, std::slice::from_ref(&parts), &[supply]);
        let (current, slope, gross) = (r.currents[0], r.slopes[0][0], r.gross);
        let short = target - current;
        if enough.is(short.abs(), (short / slope).abs(), gross) {
            return Ok(solved);
        }
        let room = slack(aim) * gross;
        let now = circuit.delivered(supply);
        let wanted = now + short / slope;
        // an ampere more from the anodes brings the parts none to one more: what they get at the
        // ends of the range is known before the laws stiffen there
        if short < -(now - least) - room {
            let there = current - slope.clamp(0.0, 1.0) * (now - least);
            return Err(Stalled::Overfed { supply, least: there });
        }
        if short > most - now + room {
            let others = problem.sent_by_others(circuit, supply, 0).unwrap_or(0.0);
            return Err(Stalled::Starved { supply, wanted: wanted + others });
        }
        if short > 0.0 {
            low = now
        } else {
            high = now
        }
        let farthest = 3.0 * (now.abs() + target.abs());
        let next = wanted.clamp(now - farthest, now + farthest);
        let next = if next >= high {
            0.5 * (now + high)
        } else if next <= low {
            0.5 * (now + low)
        } else {
            next
        };
        circuit.deliver(supply, next);
        // where the anodes that reach the parts are at their limit, all else drives other metal only,
        // until some limit there stops it
        solved = again(circuit, system, solved, aim).map_err(|why| match why {
            Stalled::Blocked { .. } if short > 0.0 => Stalled::Short { supply, most: current },
            why => why,
        })?;
    }
    Err(Stalled::Slow)
}

/// Several supplies at once.
fn many(
    problem: &Problem,
    circuit: &mut Circuit,
    system: &System,
    mut solved: Solved,
    aim: Aim,
    supplies: &[usize],
) -> Result<Solved, Stalled> {
    let groups: Vec<Vec<bool>> = supplies.iter().map(|&s| problem.parts_of(s)).collect();
    let targets: Vec<f64> =
        supplies.iter().map(|&s| problem.parts_target(s).unwrap_or(0.0)).collect();
    let n = supplies.len();
    let mut enough = Enough::new(aim);
    for _ in 0..MOST {
        let r = respond(system, circuit, &solved, &groups, supplies);
        let short = DVector::from_fn(n, |k, _| targets[k] - r.currents[k]);
        let slopes = DMatrix::from_fn(n, n, |a, b| r.slopes[a][b]);
        let change = slopes.lu().solve(&short);
        let off = change.as_ref().map_or(f64::INFINITY, |c| c.amax());
        if enough.is(short.amax(), off, r.gross) {
            return Ok(solved);
        }
        let Some(change) = change else { return Err(Stalled::Slow) };
        let mut moved = false;
        for (k, &supply) in supplies.iter().enumerate() {
            let now = circuit.delivered(supply);
            let farthest = 3.0 * (now.abs() + targets[k].abs());
            let (least, most) = problem.range(circuit, supply);
            let width = if most.is_finite() { most - least } else { 0.0 };
            let wanted = now + change[k].clamp(-farthest, farthest);
            // close to a limit, but not at it: the laws have no answer there
            let next = wanted.max(least).min(most - 1e-7 * width);
            moved |= (next - now).abs() > 1e-12 * r.gross;
            circuit.deliver(supply, next);
            if next < wanted && now >= most - 1e-6 * width {
                let others = problem.sent_by_others(circuit, supply, 0).unwrap_or(0.0);
                return Err(Stalled::Starved { supply, wanted: wanted + others });
            }
        }
        if !moved {
            let k = short.imin();
            return Err(Stalled::Overfed { supply: supplies[k], least: r.currents[k] });
        }
        solved = again(circuit, system, solved, aim)?;
    }
    Err(Stalled::Slow)
}

impl Problem<'_> {
    /// Supplies whose current has to be adjusted for the parts to get their mean density.
    fn adjusted(&self) -> Vec<usize> {
        let shares = |&s: &usize| {
            let cathode_bus = self.wiring.poles[s][1];
            self.parts_target(s).is_some()
                && (self.wiring.supplies_on(cathode_bus, 1).count() > 1 || self.has_strangers(s))
        };
        (0..self.layout.supplies.len()).filter(shares).collect()
    }

    /// True if other metal hangs on the bus of a supply's parts.
    fn has_strangers(&self, supply: usize) -> bool {
        let cathode_bus = self.wiring.poles[supply][1];
        let parts = self.parts_of(supply);
        (0..parts.len()).any(|b| self.wiring.bus_of[b] == Some(cathode_bus) && !parts[b])
    }

    /// Least and greatest current that a supply can be set to, A/m, while all others stay: what anodes and
    /// cathodes let through either way, and nothing backwards where anodes only dissolve, less what others
    /// send through them. What a voltage sends is left out, and cathodes that it feeds set no upper limit.
    fn range(&self, circuit: &Circuit, supply: usize) -> (f64, f64) {
        let (mut least, mut most) = (f64::NEG_INFINITY, f64::INFINITY);
        for pole in [0, 1] {
            let bus = self.wiring.poles[supply][pole];
            let through = self.capacity(&|b| self.wiring.bus_of[b] == Some(bus));
            let back = if pole == 0 && self.work_one_way(bus) { 0.0 } else { through };
            let known = self.sent_by_others(circuit, supply, pole);
            let others = known.unwrap_or(0.0);
            least = least.max(-back - others);
            if pole == 0 || known.is_some() {
                most = most.min(through - others);
            }
        }
        (least, most)
    }

    /// What other supplies send through the anodes (`pole` 0) or cathodes (1) of one, A/m; `None` if a
    /// voltage tells.
    fn sent_by_others(&self, circuit: &Circuit, supply: usize, pole: usize) -> Option<f64> {
        let bus = self.wiring.poles[supply][pole];
        let others = self.wiring.supplies_on(bus, pole).filter(|&o| o != supply);
        others
            .map(|o| match circuit.lines[o].source {
                Source::Current(i) => Some(i),
                Source::Stiff | Source::Leads(_) => None,
            })
            .sum()
    }

    /// True if no metal on a bus works against its role, as with Tafel's law: no anode takes current in,
    /// no cathode gives any.
    pub(crate) fn work_one_way(&self, bus: usize) -> bool {
        let wired = self.wiring.bus_of.iter().zip(&self.circuit.electrodes);
        let mut bodies = wired.zip(&self.layout.bodies);
        bodies.all(|((of, e), body)| *of != Some(bus) || e.is_none() || body.law.is_one_way())
    }

    /// True if a supply can only send current forwards, whatever it is set to: metal at its other end (than
    /// `pole`) works one way, and no other supply is there.
    pub(crate) fn sends_forwards(&self, supply: usize, pole: usize) -> bool {
        let far = 1 - pole;
        let bus = self.wiring.poles[supply][far];
        self.wiring.supplies_on(bus, far).count() == 1 && self.work_one_way(bus)
    }

    /// What a supply that holds a mean density must send, A/m, if that is known beforehand: where nothing but
    /// its parts and given currents of others are on their bus.
    pub(crate) fn settled(&self, supply: usize) -> Option<f64> {
        let target = self.parts_target(supply)?;
        let others = self.given_by_others(supply, 1)?;
        (!self.has_strangers(supply)).then_some(target - others)
    }

    /// What other supplies send through the anodes (`pole` 0) or cathodes (1) of one, A/m, if all of them are
    /// set by current.
    pub(crate) fn given_by_others(&self, supply: usize, pole: usize) -> Option<f64> {
        let bus = self.wiring.poles[supply][pole];
        let others = self.wiring.supplies_on(bus, pole).filter(|&o| o != supply);
        let given = |o: usize| match self.layout.supplies[o].drive {
            Drive::Current(i) => Some(i.si() / self.layout.depth_m()),
            Drive::MeanDensity(_) | Drive::Voltage(_) => None,
        };
        others.map(given).sum()
    }

    /// First setting of supplies that hold a mean density: what the parts get, less what others
    /// send; where other metal or a voltage has a share in that some of it, well within the limits.
    pub(crate) fn first_currents(&mut self) {
        for s in 0..self.layout.supplies.len() {
            let Some(target) = self.parts_target(s) else { continue };
            let first = self.settled(s).unwrap_or_else(|| {
                let bus = self.wiring.poles[s][1];
                let others = self.wiring.supplies_on(bus, 1);
                let others = others.filter(|&o| o != s && self.parts_target(o).is_none());
                let left = target - others.map(|o| self.circuit.delivered(o)).sum::<f64>();
                let (least, most) = self.range(&self.circuit, s);
                let room = if most.is_finite() { ROOM * (most - least) } else { 0.0 };
                left.max(0.1 * target).max(least + room).min(most - room)
            });
            self.circuit.deliver(s, first);
        }
    }
}
