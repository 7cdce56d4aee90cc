//! Tries the proposals, finds their dimensions, solves the best closely and ranks them.
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::diagnosis::{Diagnosis, diagnose};
use super::edit::Edit;
use super::judge::{Goal, Standing, fairly};
use super::proposal::{Dim, Kind, Proposal, Scene, changed};
use super::search::{Best, Budget, search};
use super::{Subject, edited, proposals};
use crate::layout::Layout;
use crate::plan::room::{clearance, fits};
use crate::plan::{Answer, BURNING_SHARE};
use crate::quantity::{Length, Time};
use crate::sensitivity::Case;
use crate::solve::{SolveError, SolveSettings};
use crate::until::RunLength;

/// Why there are no remedies to tell of.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RemedyError {
    /// The job itself has no answer.
    #[error("{0}")]
    Solve(#[from] SolveError),
    /// Without a metal, or without a significant surface, no thickness can be helped.
    #[error("the job deposits no metal on a significant surface: there is no thickness to help")]
    NoThickness,
    /// Nothing says what is wanted.
    #[error(
        "the job states neither a least thickness nor how long it runs: nothing says what is wanted"
    )]
    NothingWanted,
}

/// How far a remedy brings the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rank {
    /// Everything that is wanted is met.
    Enough,
    /// It is better by more than the uncertainty and by a twentieth at least.
    Helps,
    /// It is no better.
    NoGain,
}

/// What to look out for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Risk {
    /// An anode carries this multiple of what it stands: it passivates or makes oxygen.
    AnodeOverloaded {
        /// Mean current density over the greatest good one.
        times: f64,
    },
    /// A body that is hung by hand stands this near to a part: it may touch.
    Near {
        /// The gap, m.
        gap_m: f64,
    },
    /// This share of the parts' area still lies above the good range.
    Burns {
        /// The share.
        share: f64,
    },
}

/// One way to help.
#[derive(Debug, Clone)]
pub struct Remedy {
    /// What it is; several kinds where they are combined.
    pub kinds: Vec<Kind>,
    /// Name of the bath, if that is changed.
    pub bath: Option<String>,
    /// Free dimensions with the values found.
    pub values: Vec<(Dim, f64)>,
    /// What is changed, less current and length of the run included.
    pub edits: Vec<Edit>,
    /// The job with all of it.
    pub case: Case,
    /// Share of the stated current at which nothing burns.
    pub factor: f64,
    /// How it stands.
    pub standing: Standing,
    /// Bodies to be made.
    pub parts: usize,
    /// Rectifiers to be added.
    pub supplies: usize,
    /// What to look out for.
    pub risks: Vec<Risk>,
    /// How far it brings the job.
    pub rank: Rank,
    /// What is ranked by: see [`Standing::cost`].
    pub cost: f64,
}

/// What is to be said in one sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The job meets what is wanted as it is.
    NothingNeeded,
    /// The first row meets what is wanted.
    Rescued,
    /// Some rows help, none enough.
    NotEnough,
    /// No row helps.
    NoHelp,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct Remedies {
    /// What a layout must reach.
    pub goal: Goal,
    /// True if the job states no least thickness: half the mean of its run is taken, or that mean
    /// where it limits the greatest thickness.
    pub assumed: bool,
    /// The job as it is, at its own current.
    pub stated: Standing,
    /// The job as it is, turned down until nothing burns.
    pub base: Standing,
    /// By how much it is turned down.
    pub base_factor: f64,
    /// Where it is uneven, and why.
    pub diagnosis: Diagnosis,
    /// What was tried, the best first; empty where nothing is needed.
    pub rows: Vec<Remedy>,
    /// In one sentence.
    pub outcome: Outcome,
}

/// How far the work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Solves done.
    pub done: usize,
    /// Solves in all, at most.
    pub of: usize,
}

/// Accuracy of the solves that find dimensions.
const LOOSE: f64 = 0.03;
/// A gain below this is none worth a fixture (in the logarithm of minutes).
const WORTH: f64 = 0.05;
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
const CLOSING: usize = 2;

/// Tries what the trade would try.
///
/// `progress` is called after every solve, from any thread.
///
/// # Errors
/// [`RemedyError`] if the job itself cannot be judged. A proposal without an answer is left out.
pub fn remedies(
    subject: &Subject,
    progress: &(dyn Fn(Step) + Sync),
) -> Result<Remedies, RemedyError> {
    let (goal, assumed, solved, stated) = goal(subject)?;
    let fair = fairly(&subject.case, &goal, &subject.settings)?;
    let (_, base_factor, _, base) = fair.ok_or(RemedyError::NoThickness)?;
    let layout = &subject.case.positions[0].0;
    let diagnosis = diagnose(layout, &solved);
    let done = |rows: Vec<Remedy>, outcome: Outcome, diagnosis: Diagnosis| Remedies {
        goal,
        assumed,
        outcome,
        rows,
        base_factor,
        diagnosis,
        base: base.clone(),
        stated: stated.clone(),
    };
    if stated.meets(&goal) {
        return Ok(done(Vec::new(), Outcome::NothingNeeded, diagnosis));
    }
    let rows = rows(subject, layout, (&diagnosis, &solved, [&stated, &base]), goal, progress);
    let outcome = match rows.first().map(|r| r.rank) {
        Some(Rank::Enough) => Outcome::Rescued,
        Some(Rank::Helps) => Outcome::NotEnough,
        _ => Outcome::NoHelp,
    };
    Ok(done(rows, outcome, diagnosis))
}

/// What was tried, ranked.
fn rows(
    subject: &Subject,
    layout: &Layout,
    (diagnosis, solved, [stated, base]): (&Diagnosis, &Answer, [&Standing; 2]),
    goal: Goal,
    progress: &(dyn Fn(Step) + Sync),
) -> Vec<Remedy> {
    let scene =
        Scene { subject, layout, diagnosis, solved, base: stated, clearance: clearance(layout) };
    let proposals = proposals::all(&scene);
    let budget = |p: &Proposal<'_>| BUDGETS[p.dims.len().min(BUDGETS.len() - 1)];
    let all = proposals.iter().map(|p| budget(p).spread + budget(p).steps + CLOSING).sum::<usize>();
    let run = Run {
        scene: &scene,
        goal,
        before: base.cost(&goal),
        done: AtomicUsize::new(0),
        of: all + TOGETHER.spread + TOGETHER.steps + CLOSING,
        progress,
    };
    let found: Vec<(usize, Best)> = proposals
        .par_iter()
        .enumerate()
        .filter_map(|(k, p)| Some((k, run.best(p, None, budget(p))?)))
        .collect();
    let mut order: Vec<usize> = (0..found.len()).collect();
    order.sort_by(|&a, &b| found[a].1.cost.total_cmp(&found[b].1.cost));
    let single = |&(k, ref best): &(usize, Best)| run.close(&[&proposals[k]], best);
    let mut rows: Vec<Remedy> = found.par_iter().filter_map(single).collect();
    if let Some((pair, start)) = run.two_best(&proposals, &found, &order) {
        let both = joined(pair);
        if let Some(best) = run.best(&both, Some(&start), TOGETHER) {
            rows.extend(run.close(&pair, &best));
        }
    }
    let loose = |row: &Remedy| {
        let doubt = libm::hypot(row.standing.uncertainty, base.uncertainty);
        WORTH.max(2.0 * doubt)
    };
    let before = base.cost(&goal);
    for row in &mut rows {
        let helps = row.cost < before - loose(row);
        row.rank = match (row.standing.meets(&goal), helps) {
            (true, true) => Rank::Enough,
            (true, false) if !base.meets(&goal) => Rank::Enough,
            (false, true) => Rank::Helps,
            _ => Rank::NoGain,
        };
    }
    rows.sort_by(|a, b| {
        a.rank.cmp(&b.rank).then(a.cost.total_cmp(&b.cost)).then(a.parts.cmp(&b.parts))
    });
    rows
}

/// What is wanted, whether that is assumed, and how the job stands at its own current.
fn goal(subject: &Subject) -> Result<(Goal, bool, Answer, Standing), RemedyError> {
    let length = subject.case.plating.as_ref().and_then(|p| p.2);
    let least = match length {
        Some(RunLength::Thickness(until)) => Some(until),
        _ => subject.case.want,
    };
    let mut goal = Goal {
        least: least.unwrap_or(Length::um(1.0)),
        by_mean: least.is_none() && subject.most.is_some(),
        even: least.is_none() && subject.most.is_none(),
        most: subject.most,
        within: None,
        burns_above: subject.burns_above,
        anode_max: subject.anode_max,
    };
    let solved = Answer::new(&subject.case, &subject.settings, None)?;
    let stand =
        |goal: &Goal| Standing::of(&subject.case, &solved, goal).ok_or(RemedyError::NoThickness);
    let mut stated = stand(&goal)?;
    let time = match length {
        Some(RunLength::Time(time)) => Some(time.si()),
        Some(RunLength::Charge(charge)) if stated.amps > 0.0 => Some(charge.si() / stated.amps),
        _ => None,
    };
    match (least, time) {
        (Some(_), time) => goal.within = time.map(Time::new),
        (None, Some(time)) => {
            let share = if goal.by_mean { 1.0 } else { super::judge::EVEN };
            goal.least = Length::new(share * stated.mean_m_s * time);
            stated = stand(&goal)?;
        }
        (None, None) => return Err(RemedyError::NothingWanted),
    }
    Ok((goal, least.is_none(), solved, stated))
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

struct Run<'a> {
    scene: &'a Scene<'a>,
    goal: Goal,
    /// Cost of the job as it is, fairly.
    before: f64,
    done: AtomicUsize,
    of: usize,
    progress: &'a (dyn Fn(Step) + Sync),
}

impl<'a> Run<'a> {
    fn tick(&self) {
        let done = 1 + self.done.fetch_add(1, Ordering::Relaxed);
        (self.progress)(Step { done: done.min(self.of), of: self.of });
    }

    /// The goal with the good range of the proposal's own bath.
    fn goal_of(&self, proposal: &Proposal<'_>) -> Goal {
        let bath = self.bath(proposal);
        Goal { burns_above: bath.map_or(self.goal.burns_above, |b| b.2), ..self.goal }
    }

    fn bath(
        &self,
        proposal: &Proposal<'_>,
    ) -> Option<&'a (String, Case, Option<crate::quantity::CurrentDensity>)> {
        let case = proposal.case?;
        self.scene.subject.baths.iter().find(|(_, own, _)| std::ptr::eq(own, case))
    }

    /// The case that values of a proposal's dimensions make; `None` where bodies do not fit.
    fn make(&self, proposal: &Proposal<'_>, x: &[f64]) -> Option<(Vec<Edit>, Case)> {
        let edits = (proposal.build)(x)?;
        let start = proposal.case.unwrap_or(&self.scene.subject.case);
        let case = edited(start, &edits)?;
        let moved = changed(self.scene.layout, &edits);
        let clear = self.scene.clearance;
        let fit = start.positions.iter().zip(&case.positions);
        let fit = fit.into_iter().all(|((b, _), (a, _))| fits(b, a, &moved, clear));
        // the border of the solver has the last word
        (fit && case.positions.iter().all(|(l, _)| l.check().is_ok())).then_some((edits, case))
    }

    fn best(&self, proposal: &Proposal<'_>, near: Option<&[f64]>, budget: Budget) -> Option<Best> {
        let goal = self.goal_of(proposal);
        let accuracy = self.scene.subject.settings.accuracy.max(LOOSE);
        let settings = SolveSettings { accuracy, ..self.scene.subject.settings };
        let price = |(_, case): &(Vec<Edit>, Case)| {
            let solved = Answer::new(case, &settings, None).ok();
            let standing = solved.and_then(|s| Standing::of(case, &s, &goal));
            self.tick();
            standing.map_or(f64::INFINITY, |s| s.cost(&goal))
        };
        search(&proposal.dims, near, budget, &|x| self.make(proposal, x), &price)
    }

    /// Solves the best of one or two proposals closely.
    fn close(&self, from: &[&Proposal<'a>], best: &Best) -> Option<Remedy> {
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
        let (mut edits, case) = self.make(proposal, &best.values)?;
        let fair = fairly(&case, &goal, &self.scene.subject.settings).ok().flatten();
        self.tick();
        let (case, factor, _, standing) = fair?;
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
            values: proposal.dims.iter().copied().zip(best.values.iter().copied()).collect(),
            risks: self.risks(&case, &edits, &standing),
            cost: standing.cost(&goal),
            rank: Rank::NoGain,
            parts: added,
            edits,
            case,
            factor,
            standing,
            supplies,
        })
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
    fn two_best<'b>(
        &self,
        proposals: &'b [Proposal<'b>],
        found: &[(usize, Best)],
        order: &[usize],
    ) -> Option<([&'b Proposal<'b>; 2], Vec<f64>)> {
        let before = self.before;
        let good: Vec<&(usize, Best)> =
            order.iter().map(|&k| &found[k]).filter(|f| f.1.cost < before - WORTH).collect();
        let (first, rest) = good.split_first()?;
        let a = &proposals[first.0];
        rest.iter().find_map(|second| {
            let b = &proposals[second.0];
            // two anodes in the same hollow are one idea
            let same = family(a.kind) == family(b.kind) || (a.case.is_some() && b.case.is_some());
            let pair = [a, b];
            let values: Vec<f64> = first.1.values.iter().chain(&second.1.values).copied().collect();
            let dims = a.dims.iter().chain(&b.dims);
            let place = |(dim, value): (&Dim, &f64)| {
                if dim.high > dim.low { (value - dim.low) / (dim.high - dim.low) } else { 0.0 }
            };
            let start: Vec<f64> = dims.zip(&values).map(place).collect();
            let fit = !same && self.make(&joined(pair), &values).is_some();
            fit.then_some((pair, start))
        })
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
