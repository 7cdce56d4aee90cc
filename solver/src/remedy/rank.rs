//! Tries the proposals, finds their dimensions, solves the best closely and ranks them.
use rayon::prelude::*;

use super::diagnosis::{Diagnosis, diagnose};
use super::edit::Edit;
use super::judge::{Fair, Goal, Standing};
use super::proposal::{Dim, Kind, Scene};
use super::trial::{Found, Trials};
use super::{Subject, proposals};
use crate::plan::Answer;
use crate::plan::room::clearance;
use crate::quantity::{Length, Time};
use crate::sensitivity::Case;
use crate::solve::SolveError;
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
    /// Everything that is wanted is met, and no anode carries more than [`OVERLOAD`] times what it
    /// stands.
    Enough,
    /// What is wanted is reached some time, and it is better by more than the uncertainty and by a
    /// twentieth at least.
    Helps,
    /// It is no better.
    NoGain,
}

/// Mean current density of an anode over what it stands from which a remedy is not called enough:
/// a soluble anode turns passive there (common practice, no source).
pub const OVERLOAD: f64 = 2.0;

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
    /// Its answer; of a remedy that is no better, a loose one.
    pub answer: Answer,
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

/// A gain below this is none worth a fixture (in the logarithm of minutes).
pub(super) const WORTH: f64 = 0.05;

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
    let Start { goal, assumed, solved, stated } = start(subject)?;
    let begun = Fair {
        case: subject.case.clone(),
        factor: 1.0,
        answer: solved.clone(),
        standing: stated.clone(),
    };
    let solve = |case: &Case| Answer::new(case, &subject.settings, None);
    let fair = begun.turned_down(&goal, &solve)?.ok_or(RemedyError::NoThickness)?;
    let (base_factor, base) = (fair.factor, fair.standing);
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
    let scene = Scene {
        subject,
        layout,
        diagnosis: &diagnosis,
        solved: &solved,
        base: &stated,
        clearance: clearance(layout),
    };
    let rows = rows(&Trials::new(&scene, goal, &base, progress));
    let outcome = match rows.first().map(|r| r.rank) {
        Some(Rank::Enough) => Outcome::Rescued,
        Some(Rank::Helps) => Outcome::NotEnough,
        _ => Outcome::NoHelp,
    };
    Ok(done(rows, outcome, diagnosis))
}

/// What was tried, ranked.
fn rows(trials: &Trials<'_>) -> Vec<Remedy> {
    let proposals = proposals::all(trials.scene);
    trials.expect(&proposals);
    let found: Vec<(usize, Found)> =
        proposals.par_iter().enumerate().filter_map(|(k, p)| Some((k, trials.best(p)?))).collect();
    let single = |&(k, ref found): &(usize, Found)| trials.close(&[&proposals[k]], found);
    let mut rows: Vec<Remedy> = found.par_iter().filter_map(single).collect();
    if let Some((pair, start)) = trials.two_best(&proposals, &found)
        && let Some(best) = trials.best_together(pair, &start)
    {
        rows.extend(trials.close(&pair, &best));
    }
    let (goal, base) = (&trials.goal, trials.base);
    let loose = |row: &Remedy| {
        let doubt = libm::hypot(row.standing.uncertainty, base.uncertainty);
        WORTH.max(2.0 * doubt)
    };
    let before = base.cost(goal);
    for row in &mut rows {
        let helps = row.cost < before - loose(row) && row.standing.seconds.is_some();
        let passive = row.standing.anode_use > OVERLOAD;
        row.rank = match (row.standing.meets(goal), helps) {
            (true, true) if !passive => Rank::Enough,
            (true, false) if !passive && !base.meets(goal) => Rank::Enough,
            (_, true) => Rank::Helps,
            _ => Rank::NoGain,
        };
    }
    drop_idle_pair(&mut rows);
    rows.sort_by(|a, b| {
        a.rank.cmp(&b.rank).then(a.cost.total_cmp(&b.cost)).then(a.parts.cmp(&b.parts))
    });
    rows
}

/// Two together stay only where they are worth more than either alone.
fn drop_idle_pair(rows: &mut Vec<Remedy>) {
    let Some(at) = rows.iter().position(|r| r.kinds.len() > 1) else { return };
    let pair = &rows[at];
    let beats = |one: &Remedy| {
        pair.rank < one.rank || (pair.rank == one.rank && pair.cost < one.cost - WORTH)
    };
    let mut halves = rows.iter().filter(|r| r.kinds.len() == 1 && pair.kinds.contains(&r.kinds[0]));
    if !halves.all(beats) {
        rows.remove(at);
    }
}

/// What the search begins with.
struct Start {
    goal: Goal,
    assumed: bool,
    solved: Answer,
    /// How the job stands at its own current.
    stated: Standing,
}

fn start(subject: &Subject) -> Result<Start, RemedyError> {
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
    Ok(Start { goal, assumed: least.is_none(), solved, stated })
}
