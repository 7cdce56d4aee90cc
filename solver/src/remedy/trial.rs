//! Tries proposals: finds the dimensions of each on loose solves, then solves the best closely.
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use super::edit::Edit;
use super::edited;
use super::judge::{Fair, Goal, Standing, bearable_share};
use super::proposal::{Dim, Kind, Proposal, Scene, changed};
use super::rank::{Rank, Remedy, Risk, Step, WORTH};
use super::search::{Best, Budget, search};
use crate::plan::room::fits;

use crate::plan::{Answer, BURNING_SHARE};
use crate::quantity::CurrentDensity;
use crate::sensitivity::Case;
use crate::solve::SolveSettings;

/// Accuracy of the solves that find dimensions: mostly one grid, whose true error is far less.
const LOOSE: f64 = 0.06;
/// Accuracy at which the best of a proposal is judged; what may help is then solved as the job asks.
const ROUGH: f64 = 0.03;
/// Solves for each proposal by its number of dimensions: spread, then simplex.
const BUDGETS: [Budget; 4] = [
    Budget { spread: 1, steps: 0 },
    Budget { spread: 10, steps: 8 },
    Budget { spread: 16, steps: 16 },
    Budget { spread: 24, steps: 24 },
];
/// For the two best together, from where they are.
const TOGETHER: Budget = Budget { spread: 1, steps: 16 };
/// Solves at the end of each proposal.
const CLOSING: usize = 1;
/// Where the best of the spread is this much dearer than the job as it is, no simplex is begun: the
/// steps between the spread's points are worth less (in the logarithm of minutes).
const HOPELESS: f64 = 0.25;
/// What a rough solve may be wrong by, twice over (in the logarithm of minutes).
const ROUGH_DOUBT: f64 = 0.06;

fn budget(proposal: &Proposal<'_>) -> Budget {
    BUDGETS[proposal.dims.len().min(BUDGETS.len() - 1)]
}

/// Everything that is tried for one job.
pub(super) struct Trials<'a> {
    pub scene: &'a Scene<'a>,
    pub goal: Goal,
    /// The job as it is, at the current that it bears.
    pub base: &'a Standing,
    done: AtomicUsize,
    of: AtomicUsize,
    progress: &'a (dyn Fn(Step) + Sync),
}

/// The best dimensions found, and how they stand at the job's own current.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub best: Best,
    standing: Standing,
}

/// Edits and case that some values make, with the values.
type Made = (Vec<f64>, Vec<Edit>, Case);
/// How values stood, by their bits.
type Known = Mutex<BTreeMap<Vec<u64>, Option<Standing>>>;

fn key(values: &[f64]) -> Vec<u64> {
    values.iter().map(|v| v.to_bits()).collect()
}

impl<'a> Trials<'a> {
    pub fn new(
        scene: &'a Scene<'a>,
        goal: Goal,
        base: &'a Standing,
        progress: &'a (dyn Fn(Step) + Sync),
    ) -> Self {
        let (done, of) = (AtomicUsize::new(0), AtomicUsize::new(0));
        Self { scene, goal, base, done, of, progress }
    }

    /// Reckons with the solves of these.
    pub fn expect(&self, proposals: &[Proposal<'_>]) {
        let each = proposals.iter().map(|p| budget(p).spread + budget(p).steps + CLOSING);
        let all = each.sum::<usize>() + TOGETHER.spread + TOGETHER.steps + CLOSING;
        self.of.store(all, Ordering::Relaxed);
        (self.progress)(Step { done: 0, of: all });
    }

    fn tick(&self) {
        let done = 1 + self.done.fetch_add(1, Ordering::Relaxed);
        let of = self.of.load(Ordering::Relaxed);
        (self.progress)(Step { done: done.min(of), of });
    }

    /// So many solves will not be needed.
    fn spare(&self, solves: usize) {
        self.of.fetch_sub(solves.min(self.of.load(Ordering::Relaxed)), Ordering::Relaxed);
    }

    /// The goal with the good range of the proposal's own bath.
    fn goal_of(&self, proposal: &Proposal<'_>) -> Goal {
        let bath = self.bath(proposal);
        Goal { burns_above: bath.map_or(self.goal.burns_above, |b| b.2), ..self.goal }
    }

    fn bath(&self, proposal: &Proposal<'_>) -> Option<&'a (String, Case, Option<CurrentDensity>)> {
        let case = proposal.case?;
        self.scene.subject.baths.iter().find(|(_, own, _)| std::ptr::eq(own, case))
    }

    /// The case that values of a proposal's dimensions make; `None` where bodies do not fit.
    fn make(&self, proposal: &Proposal<'_>, x: &[f64]) -> Option<Made> {
        let edits = (proposal.build)(x)?;
        let start = proposal.case.unwrap_or(&self.scene.subject.case);
        let case = edited(start, &edits)?;
        let moved = changed(self.scene.layout, &edits);
        let clear = self.scene.clearance;
        let fit = start.positions.iter().zip(&case.positions);
        let fit = fit.into_iter().all(|((b, _), (a, _))| fits(b, a, &moved, clear));
        // the border of the solver has the last word
        let good = fit && case.positions.iter().all(|(l, _)| l.check().is_ok());
        good.then(|| (x.to_vec(), edits, case))
    }

    fn to(&self, accuracy: f64) -> SolveSettings {
        let accuracy = self.scene.subject.settings.accuracy.max(accuracy);
        SolveSettings { accuracy, ..self.scene.subject.settings }
    }

    /// Solved as loosely as dimensions are found; every value once.
    fn known(&self, (x, _, case): &Made, goal: &Goal, known: &Known) -> Option<Standing> {
        let lock = || known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = lock().get(&key(x)) {
            return found.clone();
        }
        let solved = Answer::new(case, &self.to(LOOSE), None).ok();
        let standing = solved.and_then(|s| Standing::of(case, &s, goal));
        self.tick();
        lock().insert(key(x), standing.clone());
        standing
    }

    /// The best dimensions of a proposal.
    pub fn best(&self, proposal: &Proposal<'_>) -> Option<Found> {
        let (goal, known) = (self.goal_of(proposal), Known::default());
        let Budget { spread, steps } = budget(proposal);
        let price =
            |made: &Made| self.known(made, &goal, &known).map_or(f64::INFINITY, |s| s.cost(&goal));
        let make = |x: &[f64]| self.make(proposal, x);
        let first = Budget { spread, steps: 0 };
        let best = search(&proposal.dims, None, first, &make, &price);
        let solved = || known.lock().unwrap_or_else(PoisonError::into_inner).len();
        self.spare(spread.saturating_sub(solved()));
        let best = best?;
        // both at the job's own current, by the same rule
        if best.cost >= self.scene.base.cost(&self.goal) + HOPELESS {
            self.spare(steps);
            return found(best, &known);
        }
        let before = solved();
        let then = Budget { spread: 1, steps };
        let near = place(&proposal.dims, &best.values);
        let best = search(&proposal.dims, Some(&near), then, &make, &price).unwrap_or(best);
        self.spare(steps.saturating_sub(solved() - before));
        found(best, &known)
    }

    /// The best dimensions of two proposals together, from where they are.
    pub fn best_together(&self, pair: [&Proposal<'a>; 2], start: &[f64]) -> Option<Found> {
        let (both, known) = (joined(pair), Known::default());
        let goal = self.goal_of(&both);
        let price =
            |made: &Made| self.known(made, &goal, &known).map_or(f64::INFINITY, |s| s.cost(&goal));
        let make = |x: &[f64]| self.make(&both, x);
        found(search(&both.dims, Some(start), TOGETHER, &make, &price)?, &known)
    }

    /// The best of one or two proposals at the current that it bears: loosely, and closely if it
    /// may help.
    pub fn close(&self, from: &[&Proposal<'a>], found: &Found) -> Option<Remedy> {
        let both;
        let proposal = match from {
            [one] => *one,
            [a, b] => {
                both = joined([a, b]);
                &both
            }
            _ => return None,
        };
        let goal = self.goal_of(proposal);
        let values = &found.best.values;
        let (_, mut edits, case) = self.make(proposal, values)?;
        let fair = self.fair(&case, &goal, &found.standing)?;
        self.tick();
        let Fair { case, factor, answer, standing } = fair;
        if factor < 1.0 {
            edits.push(Edit::Drive { factor });
        }
        let case = match standing.seconds.filter(|t| t.is_finite()) {
            Some(seconds) => {
                // whole tenths of a minute, never less than it takes
                let run = Edit::Run { seconds: 6.0 * (seconds / 6.0).ceil() };
                let case = edited(&case, std::slice::from_ref(&run))?;
                edits.push(run);
                case
            }
            None => case,
        };
        let added = edits.iter().filter(|e| matches!(e, Edit::Add { .. })).count();
        let supplies = edits.iter().filter(|e| matches!(e, Edit::OwnSupply { .. })).count();
        Some(Remedy {
            kinds: from.iter().map(|p| p.kind).collect(),
            bath: self.bath(proposal).map(|b| b.0.clone()),
            values: proposal.dims.iter().copied().zip(values.iter().copied()).collect(),
            risks: self.risks(&case, &edits, &standing),
            cost: standing.cost(&goal),
            rank: Rank::NoGain,
            parts: added,
            edits,
            case,
            answer,
            factor,
            standing,
            supplies,
        })
    }

    /// A layout at the current that it bears, from how it stands at the job's own: loosely, and
    /// closely if it may help.
    fn fair(&self, case: &Case, goal: &Goal, standing: &Standing) -> Option<Fair> {
        let turned = |factor: f64, settings: SolveSettings| {
            let solve = |case: &Case| Answer::new(case, &settings, None);
            let at = Fair::at(case, factor, goal, &solve).ok().flatten()?;
            at.turned_down(goal, &solve).ok().flatten()
        };
        let (loose, close) = (self.to(ROUGH), self.scene.subject.settings);
        let limit = self.base.cost(&self.goal) - WORTH + ROUGH_DOUBT;
        let hopeful = |s: &Standing| s.cost(goal) < limit || s.meets(goal);
        let mut factor = bearable_share(1.0, standing);
        // what burns nowhere need not be solved loosely once more
        if factor < 1.0 || !hopeful(standing) {
            let rough = turned(factor, loose)?;
            if loose == close || !hopeful(&rough.standing) {
                return Some(rough);
            }
            factor = rough.factor;
        }
        turned(factor, close)
    }

    fn risks(&self, case: &Case, edits: &[Edit], standing: &Standing) -> Vec<Risk> {
        let mut out = Vec::new();
        if standing.anode_use > 1.0 {
            out.push(Risk::AnodeOverloaded { times: standing.anode_use });
        }
        if standing.burning > BURNING_SHARE {
            out.push(Risk::Burns { share: standing.burning });
        }
        let layout = &case.positions[0].0;
        let hung = changed(self.scene.layout, edits).into_iter();
        let hung = hung.filter(|&b| layout.bodies[b].role.is_metal());
        let gaps = hung.flat_map(|b| {
            self.scene
                .parts()
                .filter(move |p| *p != b)
                .map(move |p| layout.bodies[b].outline.gap(&layout.bodies[p].outline))
        });
        let least = gaps.fold(f64::INFINITY, f64::min);
        if least < 2.0 * self.scene.clearance {
            out.push(Risk::Near { gap_m: least });
        }
        out
    }

    /// The two best proposals of different kinds that can be had together, and where they are best.
    pub fn two_best<'b>(
        &self,
        proposals: &'b [Proposal<'b>],
        found: &[(usize, Found)],
    ) -> Option<([&'b Proposal<'b>; 2], Vec<f64>)> {
        let before = self.base.cost(&self.goal);
        let mut good: Vec<&(usize, Found)> =
            found.iter().filter(|f| f.1.best.cost < before - WORTH).collect();
        good.sort_by(|a, b| a.1.best.cost.total_cmp(&b.1.best.cost));
        let (first, rest) = good.split_first()?;
        let a = &proposals[first.0];
        rest.iter().find_map(|second| {
            let b = &proposals[second.0];
            // two anodes in the same hollow are one idea
            let same = family(a.kind) == family(b.kind) || (a.case.is_some() && b.case.is_some());
            let pair = [a, b];
            let values: Vec<f64> =
                first.1.best.values.iter().chain(&second.1.best.values).copied().collect();
            let both = joined(pair);
            let fit = !same && self.make(&both, &values).is_some();
            fit.then(|| (pair, place(&both.dims, &values)))
        })
    }
}

fn found(best: Best, known: &Known) -> Option<Found> {
    let known = known.lock().unwrap_or_else(PoisonError::into_inner);
    let standing = known.get(&key(&best.values)).cloned().flatten()?;
    Some(Found { best, standing })
}

/// Where values lie between the ends of their dimensions, 0 to 1.
fn place(dims: &[Dim], values: &[f64]) -> Vec<f64> {
    let place = |(dim, value): (&Dim, &f64)| {
        if dim.high > dim.low { (value - dim.low) / (dim.high - dim.low) } else { 0.0 }
    };
    dims.iter().zip(values).map(place).collect()
}

/// Two proposals as one.
fn joined<'a>(pair: [&'a Proposal<'a>; 2]) -> Proposal<'a> {
    let [a, b] = pair;
    let cut = a.dims.len();
    let build = move |x: &[f64]| {
        let mut edits = (a.build)(&x[..cut])?;
        edits.extend((b.build)(&x[cut..])?);
        Some(edits)
    };
    Proposal {
        kind: a.kind,
        dims: a.dims.iter().chain(&b.dims).copied().collect(),
        build: Box::new(build),
        case: a.case.or(b.case),
    }
}

/// Kinds that do the same in another way.
fn family(kind: Kind) -> u8 {
    match kind {
        Kind::InsideAnode | Kind::InsideOwnSupply | Kind::Conforming => 0,
        Kind::Shield | Kind::Thief => 1,
        Kind::Distance => 2,
        Kind::Length => 3,
        Kind::SecondAnode => 4,
        Kind::Turn => 5,
        Kind::LessCurrent => 6,
        Kind::Bath => 7,
    }
}
