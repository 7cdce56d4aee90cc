//! How wrong the answer can be, from answers of lower degree and on coarser grids.

mod claim;

use self::claim::claims;
use crate::layout::{Drive, Layout, Role};
use crate::level::Level;
use crate::loads::{Load, loads};
use crate::measure::Measured;
use crate::problem::Problem;
use crate::surface::SurfacePlan;

/// Absolute errors of everything that is reported.
#[derive(Debug, Clone)]
pub(crate) struct Errors {
    /// Of each stretch's mean current density, A/m², as stated.
    pub(crate) stretches: Vec<f64>,
    /// The same, pessimistic: says where to refine.
    pub(crate) local: Vec<f64>,
    /// Of each body's current, A/m.
    pub(crate) bodies: Vec<f64>,
    /// Of each supply's current and voltages.
    pub(crate) supplies: Vec<Load>,
    /// Relative errors on the work as stated.
    pub(crate) stated: Relative,
    /// Pessimistic ones, typical no less than stated: the accuracy is reached by these.
    pub(crate) work: Relative,
    /// Pessimistic ones on anodes.
    pub(crate) anodes: Relative,
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

/// Weight of the two-grid difference.
const GRIDS: f64 = 1.0;
/// Weight of the difference between degrees on the same grid.
const DEGREES: f64 = 0.25;
/// Relative error of chords for curves, lattice and rounding together.
const GEOMETRY: f64 = 3e-5;
/// Where cells were halved: what is kept of the difference between degrees in case the two grids
/// agree by luck. Each further grid that agrees makes that ten times less likely.
const REST: f64 = 0.1;
/// What is kept of an earlier figure where cells were halved for a stretch, but not those at it: these
/// are fine enough, and what is wrong comes from elsewhere.
const AFAR: f64 = 0.5;
/// Neighbouring stretches that share an error each way: where a difference crosses zero it says
/// nothing.
const REACH: usize = 3;

/// Errors of `fine` from the same grid's bilinear answer, the coarser grid's biquadratic one, and the
/// errors that the stretches had on that coarser grid; `left` is the share of these that what has been
/// refined since can have left ([`goal`]).
///
/// No stretch is farther from the truth than that share of what it was, plus what it has moved since:
/// what halving its cells has shown once stays known on grids that are refined elsewhere.
pub(crate) fn errors(
    problem: &Problem,
    level: &Level,
    before: Option<(&Level, &[f64])>,
    left: &[f64],
) -> Errors {
    let (layout, plan, lengths) = (problem.layout, &problem.plan, &problem.wet);
    let (fine, low) = (&level.fine, &level.low);
    let coarse = before.map(|(b, _)| &b.fine);
    let (traffic, metal) = throughput(fine, lengths);
    let raw: Vec<(f64, Option<f64>)> = (0..plan.stretches.len())
        .map(|i| {
            if lengths[i] <= 0.0 {
                return (0.0, None);
            }
            let density = |m: &Measured| m.stretches[i].current / lengths[i];
            let degrees = (density(fine) - density(low)).abs();
            let grids = coarse.map(|c| (density(fine) - density(c)).abs());
            (degrees, grids)
        })
        .collect();
    let degrees = spread_out(plan, &raw.iter().map(|r| r.0).collect::<Vec<f64>>());
    let grids = spread_out(plan, &raw.iter().map(|r| r.1.unwrap_or(0.0)).collect::<Vec<f64>>());
    let stretches: Vec<f64> = (0..raw.len())
        .map(|i| {
            let size =
                if lengths[i] > 0.0 { (fine.stretches[i].current / lengths[i]).abs() } else { 0.0 };
            let found = figure(degrees[i], coarse.map(|_| grids[i]), left[i] <= REST, size)
                + ROUNDING * traffic / metal;
            before.map_or(found, |(_, then)| found.min(left[i] * then[i] + GRIDS * grids[i]))
        })
        .collect();
    let difference = |f: &dyn Fn(&Measured) -> f64| {
        let degrees = (f(fine) - f(low)).abs();
        figure(degrees, coarse.map(|c| (f(fine) - f(c)).abs()), false, f(fine).abs())
    };
    let body = |b: usize| difference(&|m| m.bodies[b]) + ROUNDING * traffic;
    let bodies: Vec<f64> = (0..layout.bodies.len()).map(body).collect();
    let [now, lower] = [fine, low].map(|m| loads(problem, m));
    let earlier = coarse.map(|m| loads(problem, m));
    let supplies = (0..now.len())
        .map(|s| {
            let error = |f: &dyn Fn(&Load) -> f64| {
                let of = |all: &[Load]| f(&all[s]);
                let degrees = (of(&now) - of(&lower)).abs();
                let grids = earlier.as_ref().map(|c| (of(&now) - of(c)).abs());
                figure(degrees, grids, false, of(&now).abs())
            };
            // what a supply holds is exact
            let held = matches!(layout.supplies[s].drive, Drive::Voltage(_));
            let rigid = held && layout.supplies[s].lead.si() == 0.0;
            Load {
                current: error(&|l| l.current),
                terminals: if held { 0.0 } else { error(&|l| l.terminals) },
                bath: if rigid { 0.0 } else { error(&|l| l.bath) },
            }
        })
        .collect();
    let stated = claims(problem, fine, low, &grids);
    let of = |errors: &[f64], on_anodes| {
        Relative::of(&relative(layout, plan, lengths, fine, errors, on_anodes))
    };
    let (by_degrees, by_claims) = (of(&stretches, false), of(&stated, false));
    // the two differences of a current may both be small by chance; one that is held has none
    let shared = |(b, error): (usize, f64)| {
        let size = fine.bodies[b].abs();
        if error > HELD * size {
            let typical = by_degrees.typical.max(TRUSTED * problem.accuracy);
            error.max(CURRENTS * typical * size)
        } else {
            error
        }
    };
    let bodies = bodies.into_iter().enumerate().map(shared).collect();
    Errors {
        bodies,
        supplies,
        stated: by_claims,
        work: Relative {
            typical: by_degrees.typical.max(by_claims.typical),
            worst: by_degrees.worst,
        },
        anodes: of(&stretches, true),
        stretches: stated,
        local: stretches,
    }
}

/// A body's current claims no less than this share of what 95 % of all stretches claim.
const CURRENTS: f64 = 0.05;
/// Nor less than that share of this much of the accuracy asked for: a grid that happens to be better
/// than asked, the first one perhaps, is known to be so by two figures that may be small by chance.
/// Random layouts, turned, differed by up to a seventh of the accuracy where they claimed a twentieth.
const TRUSTED: f64 = 0.2;
/// Differences below this share of a current are those of a current that is held.
const HELD: f64 = 1e-8;

/// One error figure: the larger of the two differences, each with its weight.
///
/// Where the cells at the stretch itself have been halved, the difference between the grids tells
/// more than that between the degrees, which is far too large where the field is singular.
fn figure(degrees: f64, grids: Option<f64>, halved: bool, size: f64) -> f64 {
    let (degrees, grids) = (DEGREES * degrees, GRIDS * grids.unwrap_or(0.0));
    let cap = if halved { grids + REST * degrees } else { f64::INFINITY };
    degrees.min(cap).max(grids) + GEOMETRY * size
}

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
    /// How often cells at it should be halved because it is not yet good enough.
    pub(crate) halvings: u8,
    /// Cells at it this small or smaller are fine enough, m.
    pub(crate) enough: f64,
    /// What its error may keep of what it is, going by what is refined for it.
    pub(crate) left: f64,
}

impl Wish {
    /// Nothing: it is good enough.
    const NOTHING: Self = Self { weight: 0.0, halvings: 0, enough: 0.0, left: 1.0 };
}

/// Cells at a stretch that are this share of it have done their part: what is still wrong there
/// travels to it from elsewhere, and halving them on and on would never mend it.
const ENOUGH: f64 = 1.0 / 32.0;

/// What is asked of the next grid for each stretch.
///
/// Relative errors count; stretches with a larger estimated error count more.
pub(crate) fn goal(
    problem: &Problem,
    level: &Level,
    errors: &Errors,
    accuracy: f64,
    known: bool,
) -> Vec<Wish> {
    let (plan, lengths, m) = (&problem.plan, &problem.wet, &level.fine);
    let means = mean_magnitudes(problem.layout, plan, lengths, m);
    plan.stretches
        .iter()
        .enumerate()
        .map(|(i, s)| {
            if lengths[i] <= 0.0 || s.tip {
                return Wish::NOTHING;
            }
            let density = (m.stretches[i].current / lengths[i]).abs();
            let scale = density.max(FLOOR * means[s.body]).max(f64::MIN_POSITIVE);
            let relative = |error: f64| error / scale / slack(problem.layout, s.body);
            let local = relative(errors.local[i]);
            // what is stated can hold up the solve, too
            let most = local.max(relative(errors.stretches[i]));
            if most < 0.5 * accuracy {
                return Wish::NOTHING;
            }
            let halvings = u8::from(local > accuracy) + u8::from(known && local > FAR * accuracy);
            let enough = ENOUGH * problem.wet_m[i];
            let left = match halvings {
                0 => 1.0,
                _ if m.stretches[i].cell <= enough => AFAR,
                _ => REST,
            };
            // by length of outline, as errors are counted: near an axis there is hardly any surface
            let weight = libm::sqrt(most) / scale * problem.wet_m[i] / lengths[i];
            Wish { weight, halvings, enough, left }
        })
        .collect()
}

/// Beyond this many times the accuracy asked for, cells at a stretch are halved twice, once two
/// grids have been compared; the first figure, from the degrees alone, is too pessimistic for it.
const FAR: f64 = 4.0;

/// The accuracy asked for is that of the work; on anodes this many times as much will do.
pub(crate) const ANODES: f64 = 3.0;

fn slack(layout: &Layout, body: usize) -> f64 {
    if layout.bodies[body].role == Role::Anode { ANODES } else { 1.0 }
}

#[cfg(test)]
mod tests;
