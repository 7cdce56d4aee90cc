//! How wrong the answer can be: its difference to a finer one or, where there is none yet, to the one
//! of lower degree.

use crate::layout::{Drive, Layout, Role};
use crate::level::Level;
use crate::loads::{Load, loads};
use crate::measure::Measured;
use crate::problem::Problem;
use crate::surface::SurfacePlan;

/// Absolute errors of everything that is reported.
#[derive(Debug, Clone)]
pub(crate) struct Errors {
    /// Of each stretch's mean current density, A/m².
    pub(crate) stretches: Vec<f64>,
    /// Of each body's current, A/m.
    pub(crate) bodies: Vec<f64>,
    /// Of each supply's current and voltages.
    pub(crate) supplies: Vec<Load>,
    /// Relative errors on the work.
    pub(crate) work: Relative,
    /// Relative errors on anodes.
    pub(crate) anodes: Relative,
    /// True if they are against a finer answer.
    pub(crate) measured: bool,
}

impl Errors {
    /// The same errors, each so many times as large.
    pub(crate) fn times(mut self, factor: f64) -> Self {
        let grow = |error: &mut f64| *error *= factor;
        self.stretches.iter_mut().chain(&mut self.bodies).for_each(grow);
        for load in &mut self.supplies {
            [&mut load.current, &mut load.terminals, &mut load.bath].into_iter().for_each(grow);
        }
        for of in [&mut self.work, &mut self.anodes] {
            [&mut of.typical, &mut of.worst].into_iter().for_each(grow);
        }
        self
    }

    /// How many times a guess these errors are, and no less than that guess.
    pub(crate) fn over(&self, guess: &Self) -> f64 {
        let share = |a: f64, b: f64| if b > 0.0 { a / b } else { 1.0 };
        let typical = share(self.work.typical, guess.work.typical);
        typical.max(share(self.work.worst, guess.work.worst)).max(1.0)
    }
}

/// Relative errors over many stretches, tips left out.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Relative {
    /// 95th percentile.
    pub(crate) typical: f64,
    /// Largest.
    pub(crate) worst: f64,
}

impl Relative {
    fn of(sorted: &[f64]) -> Self {
        Self { typical: quantile(sorted, 0.95), worst: quantile(sorted, 1.0) }
    }
}

/// Relative errors are against the local density, but no less than this share of the mean.
pub(crate) const FLOOR: f64 = 0.05;

/// Metal that carries less than this share of the mean density over all metal is idle: its
/// densities need be no better than those of metal that carries as much. Behind a closed ring the
/// current is rounding, and relative to itself it never becomes right.
const IDLE: f64 = 1e-3;
/// Rounding of potentials, as a share of the mean density over all metal.
const ROUNDING: f64 = 1e-9;

/// Stated error over the difference to the finer answer.
///
/// Halving all cells leaves a tenth of an error (median), a third at one point in four; where both are
/// rounding there is no telling.
const FINER: f64 = 2.0;
/// The same over the difference to the answer of lower degree.
const DEGREES: f64 = 0.25;
/// Relative error of chords for curves, lattice and rounding together.
const GEOMETRY: f64 = 3e-5;
/// Neighbouring stretches that share an error each way: where a difference crosses zero it says
/// nothing.
const REACH: usize = 2;

/// Share of a grid's error that an answer on halved cells may have itself.
const REST: f64 = 0.15;

/// Errors of `level` from its difference to a finer answer.
///
/// `then` are the errors of the grid from which the finer answer was found, if that is another one.
pub(crate) fn measured(
    problem: &Problem,
    level: &Level,
    finer: &Measured,
    then: Option<&Errors>,
) -> Errors {
    errors(problem, level, (finer, FINER), then)
}

/// Errors of a first grid from its difference to its own answer of lower degree: a guess, mostly far
/// too large. None on other grids.
pub(crate) fn guess(problem: &Problem, level: &Level) -> Option<Errors> {
    let low = &level.low.as_ref()?.measured;
    Some(Errors { measured: false, ..errors(problem, level, (low, DEGREES), None) })
}

fn errors(
    problem: &Problem,
    level: &Level,
    (other, weight): (&Measured, f64),
    then: Option<&Errors>,
) -> Errors {
    let (layout, plan, lengths) = (problem.layout, &problem.plan, &problem.wet);
    let now = &level.fine;
    let (traffic, metal) = throughput(now, lengths);
    let apart: Vec<f64> = (0..plan.stretches.len())
        .map(|i| {
            let change = now.stretches[i].current - other.stretches[i].current;
            if lengths[i] > 0.0 { (change / lengths[i]).abs() } else { 0.0 }
        })
        .collect();
    let rest = |f: &dyn Fn(&Errors) -> f64| then.map_or(0.0, |then| REST * f(then));
    let size = |i: usize| {
        if lengths[i] > 0.0 { (now.stretches[i].current / lengths[i]).abs() } else { 0.0 }
    };
    let stretches: Vec<f64> = spread_out(plan, &apart)
        .iter()
        .enumerate()
        .map(|(i, apart)| {
            weight * apart
                + GEOMETRY * size(i)
                + ROUNDING * traffic / metal
                + rest(&|t| t.stretches[i])
        })
        .collect();
    let of = |on_anodes| Relative::of(&relative(layout, plan, lengths, now, &stretches, on_anodes));
    let work = of(false);
    // a difference of currents may be small by chance; one that is held has none
    let shared = |apart: f64, size: f64| {
        let error = weight * apart + GEOMETRY * size;
        if apart > HELD * size { error.max(CURRENTS * work.typical * size) } else { error }
    };
    let bodies = now.bodies.iter().zip(&other.bodies);
    let bodies = bodies.enumerate().map(|(k, (a, b))| {
        shared((a - b).abs(), a.abs()) + ROUNDING * traffic + rest(&|t| t.bodies[k])
    });
    let supplies = loads(problem, now).into_iter().zip(loads(problem, other)).enumerate();
    let supplies = supplies.map(|(s, (a, b))| {
        let error = |f: &dyn Fn(&Load) -> f64| {
            weight * (f(&a) - f(&b)).abs() + GEOMETRY * f(&a).abs() + rest(&|t| f(&t.supplies[s]))
        };
        // what a supply holds is exact
        let held = matches!(layout.supplies[s].drive, Drive::Voltage(_));
        let rigid = held && layout.supplies[s].lead.si() == 0.0;
        Load {
            current: error(&|l| l.current),
            terminals: if held { 0.0 } else { error(&|l| l.terminals) },
            bath: if rigid { 0.0 } else { error(&|l| l.bath) },
        }
    });
    Errors {
        bodies: bodies.collect(),
        supplies: supplies.collect(),
        work,
        anodes: of(true),
        measured: true,
        stretches,
    }
}

/// A body's current claims no less than this share of what 95 % of all stretches claim.
const CURRENTS: f64 = 0.05;
/// Differences below this share of a current are those of a current that is held.
const HELD: f64 = 1e-8;

/// Largest raw error among a stretch and its neighbours on the same loop.
fn spread_out(plan: &SurfacePlan, raw: &[f64]) -> Vec<f64> {
    let same = |i: usize, k: usize| {
        let (a, b) = (&plan.stretches[i], &plan.stretches[k]);
        // what happens at a corner's tip stays there
        a.body == b.body && a.loop_index == b.loop_index && (a.tip || !b.tip)
    };
    (0..raw.len())
        .map(|i| {
            let first = i.saturating_sub(REACH);
            let last = (i + REACH).min(raw.len() - 1);
            (first..=last).filter(|&k| same(i, k)).map(|k| raw[k]).fold(0.0, f64::max)
        })
        .collect()
}

/// Current through all metal, A/m, without sign, and its wetted length, m.
fn throughput(m: &Measured, lengths: &[f64]) -> (f64, f64) {
    let traffic = m.stretches.iter().map(|s| s.current.abs()).sum();
    (traffic, lengths.iter().sum::<f64>().max(f64::MIN_POSITIVE))
}

/// Mean magnitude of density of each body, no less than what counts as idle.
pub(crate) fn mean_magnitudes(
    layout: &Layout,
    plan: &SurfacePlan,
    lengths: &[f64],
    m: &Measured,
) -> Vec<f64> {
    let mut current = vec![0.0; layout.bodies.len()];
    let mut length = vec![0.0; layout.bodies.len()];
    for (i, s) in plan.stretches.iter().enumerate() {
        current[s.body] += m.stretches[i].current.abs();
        length[s.body] += lengths[i];
    }
    let (traffic, metal) = throughput(m, lengths);
    let idle = if metal > 0.0 { IDLE * traffic / metal } else { 0.0 };
    current
        .iter()
        .zip(&length)
        .map(|(c, l)| if *l > 0.0 { (c / l).max(idle) } else { 0.0 })
        .collect()
}

/// Sorted relative errors of all stretches on anodes or on all other metal, tips left out.
fn relative(
    layout: &Layout,
    plan: &SurfacePlan,
    lengths: &[f64],
    m: &Measured,
    errors: &[f64],
    on_anodes: bool,
) -> Vec<f64> {
    let means = mean_magnitudes(layout, plan, lengths, m);
    let mut out: Vec<f64> = plan
        .stretches
        .iter()
        .enumerate()
        .filter(|(i, s)| {
            let anode = layout.bodies[s.body].role == Role::Anode;
            lengths[*i] > 0.0 && !s.tip && anode == on_anodes
        })
        .map(|(i, s)| {
            let density = (m.stretches[i].current / lengths[i]).abs();
            errors[i] / density.max(FLOOR * means[s.body]).max(f64::MIN_POSITIVE)
        })
        .collect();
    out.sort_by(f64::total_cmp);
    out
}

fn quantile(sorted: &[f64], q: f64) -> f64 {
    match sorted.len() {
        0 => 0.0,
        n => sorted[((q * n as f64).ceil() as usize).clamp(1, n) - 1],
    }
}

/// What is asked of the next grid for one stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wish {
    /// How much its density counts when cells are chosen for halving: ∂goal/∂density per m of surface.
    pub(crate) weight: f64,
    /// How often cells at it should be halved.
    pub(crate) halvings: u8,
    /// Cells at it this small or smaller are fine enough, m.
    pub(crate) enough: f64,
}

impl Wish {
    /// Nothing: it is good enough.
    const NOTHING: Self = Self { weight: 0.0, halvings: 0, enough: 0.0 };
}

/// Cells at a stretch that are this share of it have done their part: what is still wrong there
/// travels to it from elsewhere, and halving them on and on would never mend it.
const ENOUGH: f64 = 1.0 / 32.0;

/// What is asked of the next grid for each stretch.
///
/// Relative errors count; stretches with a larger estimated error count more.
pub(crate) fn goal(problem: &Problem, level: &Level, errors: &Errors, accuracy: f64) -> Vec<Wish> {
    wishes(problem, level, |i, scale| {
        let s = &problem.plan.stretches[i];
        let error = errors.stretches[i] / scale / slack(problem.layout, s.body);
        if s.tip || error < 0.5 * accuracy {
            return (0.0, 0);
        }
        let far = errors.measured && error > FAR * accuracy;
        let halvings = u8::from(error > accuracy) + u8::from(far);
        (libm::sqrt(error), halvings)
    })
}

/// What a finer answer is asked for: every stretch alike.
pub(crate) fn every_stretch(problem: &Problem, level: &Level) -> Vec<Wish> {
    wishes(problem, level, |_, _| (1.0, 1))
}

/// Wishes for relative errors: weight and halvings as `wish` says of a stretch and its density.
fn wishes(problem: &Problem, level: &Level, wish: impl Fn(usize, f64) -> (f64, u8)) -> Vec<Wish> {
    let (plan, lengths, m) = (&problem.plan, &problem.wet, &level.fine);
    let means = mean_magnitudes(problem.layout, plan, lengths, m);
    plan.stretches
        .iter()
        .enumerate()
        .map(|(i, s)| {
            if lengths[i] <= 0.0 {
                return Wish::NOTHING;
            }
            let density = (m.stretches[i].current / lengths[i]).abs();
            let scale = density.max(FLOOR * means[s.body]).max(f64::MIN_POSITIVE);
            let (weight, halvings) = wish(i, scale);
            // by length of outline, as errors are counted: near an axis there is hardly any surface
            let weight = weight / scale * problem.wet_m[i] / lengths[i];
            Wish { weight, halvings, enough: ENOUGH * problem.wet_m[i] }
        })
        .collect()
}

/// Beyond this many times the accuracy asked for, cells at a stretch are halved twice, if its error is
/// known from a finer answer.
const FAR: f64 = 4.0;

/// The accuracy asked for is that of the work; on anodes this many times as much will do.
pub(crate) const ANODES: f64 = 3.0;

fn slack(layout: &Layout, body: usize) -> f64 {
    if layout.bodies[body].role == Role::Anode { ANODES } else { 1.0 }
}

#[cfg(test)]
mod tests;
