//! The one entry: a layout in, a solution out.
//!
//! Grids are refined until the estimated error of the local current density is below the wanted
//! accuracy; each grid starts from the answer of the one before.

use std::sync::Arc;

use shapes::Point;

use crate::estimate::{self, Errors};
use crate::field::Field;
use crate::finer;
use crate::grid::fit::UNKNOWNS;
use crate::layout::Layout;
use crate::level::{Before, Grid, Level, Remains};
use crate::mark::mark;
use crate::measure::Measured;
use crate::newton::Stalled;
use crate::problem::Problem;
use crate::results::Parts;
use crate::solution::{Solution, SolveStats};
use crate::warm::Neighbour;

/// How to solve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolveSettings {
    /// Wanted relative accuracy of the local current density on the parts.
    pub accuracy: f64,
    /// Largest number of unknowns that may be used.
    pub max_unknowns: usize,
    /// How the linear systems are solved.
    pub method: Method,
}

/// How linear systems are solved; the answers agree far below any error that is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Method {
    /// What is quicker for the number of unknowns.
    #[default]
    Automatic,
    /// Sparse Cholesky factorization.
    Direct,
    /// Conjugate gradients preconditioned by multigrid; a factorization where they do not converge.
    Multigrid,
}

impl Default for SolveSettings {
    fn default() -> Self {
        Self { accuracy: 0.01, max_unknowns: 400_000, method: Method::Automatic }
    }
}

/// Why a checked layout could not be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// The layout does not make sense.
    #[error("{0}")]
    Layout(String),
    /// The supply asks for more than the limiting current densities allow.
    #[error(
        "{wanted_a:.4} A wanted, but the limiting current density of the {side} lets through at most {possible_a:.4} A"
    )]
    BeyondLimit {
        /// Which supply, as an index.
        supply: usize,
        /// Current asked for, A.
        wanted_a: f64,
        /// Largest possible current, A.
        possible_a: f64,
        /// "cathodes" or "anodes", and which of them.
        side: &'static str,
    },
    /// Thieves that dissolve, or other supplies, give the parts too much: the supply that should
    /// hold their mean density cannot bring them down to what is asked.
    #[error(
        "{wanted_a:.4} A wanted on the parts, but a thief or another supply gives them {least_a:.4} A even when the anodes give nothing"
    )]
    ThiefFeeds {
        /// Which supply, as an index.
        supply: usize,
        /// Current asked for on the parts, A.
        wanted_a: f64,
        /// What they get without any current from the anodes, A.
        least_a: f64,
    },
    /// A part that no current reaches.
    #[error("no path for current from any anode to part `{part}`")]
    NoPath {
        /// Its name.
        part: String,
    },
    /// Metals at different potentials meet without polarization between them.
    #[error(
        "short circuit: `{}` touches `{}` at ({:.4} mm, {:.4} mm) without polarization between them",
        .bodies[0], .bodies[1], 1e3 * .at.x, 1e3 * .at.y
    )]
    ShortCircuit {
        /// Names of the two bodies.
        bodies: [String; 2],
        /// Where they meet, m.
        at: Point,
    },
    /// A supply's current cannot flow in a circle: no bath joins its anodes and its cathodes.
    #[error("no closed way for the current of supply `{supply}` from its anodes to its cathodes")]
    NoCircuit {
        /// Its name.
        supply: String,
    },
    /// The grid needed exceeds the budget.
    #[error("accuracy {asked} needs more than {max_unknowns} unknowns; {reached:.4} would fit")]
    TooLarge {
        /// Accuracy asked for.
        asked: f64,
        /// Budget.
        max_unknowns: usize,
        /// Accuracy estimated on the largest grid that fits.
        reached: f64,
    },
    /// Newton's iteration stalled.
    #[error("the solution did not converge on grid {grid} after {steps} Newton steps")]
    NotConverged {
        /// Which grid.
        grid: usize,
        /// Steps taken.
        steps: usize,
    },
}

/// One solved grid, reported while the work goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Grid number, from 1.
    pub grid: usize,
    /// Unknowns on it.
    pub unknowns: usize,
    /// Estimated relative error so far.
    pub estimated_error: f64,
    /// Most conjugate gradient iterations that a linear solve has taken; 0 where all were factored.
    pub iterations: usize,
}

/// Most grids that are tried: each adds a level where it matters.
const MAX_GRIDS: usize = 14;

/// Says whether `layout` can be solved at all, without solving it: everything that [`solve`] would
/// refuse before its first grid.
///
/// # Errors
/// [`SolveError::NoPath`], [`SolveError::ShortCircuit`], [`SolveError::BeyondLimit`],
/// [`SolveError::Layout`].
///
/// Cuts the first grid: milliseconds for ordinary layouts.
pub fn preflight(layout: &Layout, settings: &SolveSettings) -> Result<(), SolveError> {
    Problem::new(layout, settings).map(|_| ())
}

/// Solves `layout` to the accuracy of `settings`.
///
/// `progress` is called after every grid.
///
/// # Errors
/// [`SolveError`], see its variants.
pub fn solve(
    layout: &Layout,
    settings: &SolveSettings,
    progress: &mut dyn FnMut(Progress),
) -> Result<Solution, SolveError> {
    run(layout, settings, None, false, progress).map(|(solution, _)| solution)
}

/// Solves `layout`, from the answer of a layout like it if there is one; its own answer keeps its
/// equations for others if `keep` says so.
pub(crate) fn run(
    layout: &Layout,
    settings: &SolveSettings,
    neighbour: Option<&Neighbour>,
    keep: bool,
    progress: &mut dyn FnMut(Progress),
) -> Result<(Solution, Option<Neighbour>), SolveError> {
    let (mut problem, mut tree, mesh) = Problem::new(layout, settings)?;
    if let Some(neighbour) = neighbour {
        neighbour.currents(&mut problem);
    }
    let mut mesh = Some(mesh);
    let known = neighbour.and_then(|n| n.grid_for(&problem));
    let mut before: Option<Level> = None;
    let mut first: Option<Grid> = None;
    // how many times a guess errors are
    let mut trust = neighbour.and_then(Neighbour::trust);
    // a finer answer, and the errors of the grid that it was found from
    let mut finer: Option<Measured> = None;
    let mut then: Option<Errors> = None;
    let mut steps = 0;
    for grid in 1..=MAX_GRIDS {
        let again = known.filter(|_| grid == 1).and_then(|k| Level::again(&mut problem, k).ok());
        let level = match again {
            Some(level) => level,
            None => {
                let start = match (&before, neighbour) {
                    (Some(level), _) => Before::Grid(level),
                    (None, Some(neighbour)) => Before::Neighbour(neighbour),
                    (None, None) => Before::Nothing,
                };
                let tree = std::mem::take(&mut tree);
                Level::solve(&mut problem, tree, mesh.take(), start)
                    .map_err(|why| refusal(&problem, why, grid, steps))?
            }
        };
        mesh = None;
        if keep && grid == 1 {
            first = level.grid();
        }
        steps += level.steps();
        let unknowns = level.system.size();
        let last = grid == MAX_GRIDS || unknowns > settings.max_unknowns;
        let against = |finer: &Option<Measured>, then: Option<&Errors>| {
            finer.as_ref().map(|finer| estimate::measured(&problem, &level, finer, then))
        };
        let good = |errors: &Errors| {
            work_is_good(errors, settings.accuracy) && anodes_are_good(errors, settings.accuracy)
        };
        let mut found = against(&finer, then.as_ref());
        if !found.as_ref().is_some_and(good) {
            let guess = estimate::guess(&problem, &level);
            let hopeless = |e: &Errors| e.work.typical > HOPELESS * settings.accuracy;
            // of many layouts alike a guess will do, grown by what it was short of for another one
            let grown = guess.clone().zip(trust).map(|(guess, trust)| guess.times(trust));
            let grown = grown.filter(good);
            if last || !(grown.is_some() || guess.as_ref().is_some_and(hopeless)) {
                finer = finer::measured(&problem, &level).ok();
                found = against(&finer, None).or(found);
                trust =
                    found.as_ref().zip(guess.as_ref()).map(|(e, guess)| e.over(guess)).or(trust);
            } else if grown.is_some() {
                found = grown;
            }
            // where no finer answer can be had a guess has to do
            found = found.or(guess);
        }
        let Some(errors) = found.or(then.take()) else {
            return Err(SolveError::NotConverged { grid, steps });
        };
        let (estimated_error, iterations) = (errors.work.typical, level.solved.joint.iterations());
        progress(Progress { grid, unknowns, estimated_error, iterations });
        let met = work_is_good(&errors, settings.accuracy);
        // what to say when the budget is spent
        let kept = |first: Option<Grid>| first.map(|grid| Neighbour::new(&problem, grid, trust));
        let spent = |level: Level, first| match met {
            true => Ok((finish(&problem, level, &errors, (grid, steps), true), kept(first))),
            false => Err(SolveError::TooLarge {
                asked: settings.accuracy,
                max_unknowns: settings.max_unknowns,
                reached: reached(&errors),
            }),
        };
        if good(&errors) || grid == MAX_GRIDS {
            return Ok((finish(&problem, level, &errors, (grid, steps), met), kept(first)));
        }
        if unknowns > settings.max_unknowns {
            return spent(level, first);
        }
        let wishes = estimate::goal(&problem, &level, &errors, settings.accuracy);
        let marked = mark(&level, &problem.circuit, &wishes, BULK);
        tree = level.tree.refine(problem.domain(), &problem.wanted, &marked);
        // a grid that is sure to exceed the budget is not solved: memory stays bounded
        if tree.leaves.len() as f64 * UNKNOWNS > SLACK * settings.max_unknowns as f64 {
            return spent(level, first);
        }
        then = Some(errors);
        let mut level = level;
        level.forget();
        before = Some(level);
    }
    Err(SolveError::NotConverged { grid: MAX_GRIDS, steps })
}

/// Share of the errors of all stretches that are not good enough, as cells contribute to them, that
/// halved cells carry.
pub(crate) const BULK: f64 = 0.7;

/// No finer answer is asked about a grid whose guessed error is this many times what is allowed.
const HOPELESS: f64 = 8.0;

/// How far beyond the budget a grid must look to be refused unsolved: unknowns are foretold from
/// the number of cells.
const SLACK: f64 = 1.2;

fn refusal(problem: &Problem, why: Stalled, grid: usize, steps: usize) -> SolveError {
    let depth = problem.layout.depth_m();
    match why {
        Stalled::Starved { supply, wanted } => {
            let anodes = problem.wiring.poles[supply][0];
            let possible_a =
                depth * problem.capacity(&|b| problem.wiring.bus_of[b] == Some(anodes));
            SolveError::BeyondLimit { supply, wanted_a: depth * wanted, possible_a, side: "anodes" }
        }
        Stalled::Short { supply, most } => {
            let wanted_a = depth * problem.parts_target(supply).unwrap_or(0.0);
            let side = "anodes that reach the parts";
            SolveError::BeyondLimit { supply, wanted_a, possible_a: depth * most, side }
        }
        Stalled::Overfed { supply, least } => {
            let wanted_a = depth * problem.parts_target(supply).unwrap_or(0.0);
            SolveError::ThiefFeeds { supply, wanted_a, least_a: depth * least }
        }
        Stalled::Blocked { supply, possible } => SolveError::BeyondLimit {
            supply,
            wanted_a: depth * problem.circuit.delivered(supply),
            possible_a: depth * possible,
            side: "cathodes that it can reach",
        },
        Stalled::NotPositive | Stalled::Slow => SolveError::NotConverged { grid, steps },
    }
}

/// The worst stretch may be this many times worse than the accuracy asked for.
const WORST: f64 = 3.0;

/// True if the work is good enough: that is what the accuracy asked for is about.
fn work_is_good(errors: &Errors, accuracy: f64) -> bool {
    reached(errors) <= accuracy
}

/// True if anodes are, too, as long as the budget lasts.
fn anodes_are_good(errors: &Errors, accuracy: f64) -> bool {
    errors.anodes.typical.max(errors.anodes.worst / WORST) <= estimate::ANODES * accuracy
}

/// The accuracy that a grid has reached on the work.
fn reached(errors: &Errors) -> f64 {
    errors.work.typical.max(errors.work.worst / WORST)
}

fn finish(
    problem: &Problem,
    level: Level,
    errors: &Errors,
    (grids, newton_steps): (usize, usize),
    accuracy_met: bool,
) -> Solution {
    let domain = problem.domain();
    let levels = level.tree.leaves.iter().map(|l| l.cell.level).max().unwrap_or(0);
    let stats = SolveStats {
        unknowns: level.system.size(),
        cells: level.tree.leaves.len(),
        newton_steps,
        grids,
        levels: usize::from(levels),
        finest_cell_m: domain.lattice.cell_m(levels),
        estimated_error: errors.work.typical,
        worst_error: errors.work.worst,
        accuracy_met,
    };
    let Remains { answer, measured } = level.keep(domain);
    let field = Field::new(&Arc::new(answer));
    Parts { problem, measured: &measured, errors, field, stats }.solution()
}
