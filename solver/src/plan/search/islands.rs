//! Several CMA-ES searches side by side, the better half of them going on.
//!
//! Every combination of discrete values has searches of its own where there are few; where there
//! are many, discrete values are coordinates like others, rounded. Each search begins at the
//! layout's own values or at a good one of some evenly spread points, and keeps to the unit cube by
//! clamping. A point that makes no layout is drawn again, since looking costs little and solving
//! much.
//!
//! Halving: Jamieson and Talwalkar, "Non-stochastic best arm identification and hyperparameter
//! optimization", AISTATS 2016.
use super::aim::{Judge, Merit};
use super::ledger::{Lab, Ledger};
use crate::plan::cmaes::Cmaes;
use crate::plan::sample::{even_point, grid};
use crate::plan::sweep::Found;
use crate::plan::variable::Variable;

/// First steps of a search, as a share of the range.
const WIDE: f64 = 0.2;
/// A search with a spread below this has come to rest.
const REST: f64 = 0.004;
/// Draws for each point.
const PATIENCE: usize = 12;
/// Generations without anything new after which a search has come to rest as well: steps and lists
/// leave nothing between them.
const STALE: usize = 3;
/// Generations worth beginning a search for.
const WORTH: usize = 4;
/// Of many starts, this share of the solves is a first look around: one in so many.
const LOOK: usize = 5;
/// Searches begin this far apart in at least one coordinate, as a share of the range.
const STARTS_APART: f64 = 0.15;
/// Most starts for each combination.
const STARTS: usize = 4;
/// Evenly spread points looked at for a start that makes a layout.
const START_LOOKS: usize = 60;

/// A place in the unit cube of all variables, and which of its coordinates are searched.
#[derive(Debug, Clone)]
struct Frame {
    place: Vec<f64>,
    free: Vec<usize>,
}

impl Frame {
    fn with(&self, free: &[f64]) -> Vec<f64> {
        let mut place = self.place.clone();
        for (&d, x) in self.free.iter().zip(free) {
            place[d] = *x;
        }
        place
    }
}

struct Island {
    combination: usize,
    frame: Frame,
    search: Cmaes,
    population: usize,
    best: Option<Merit>,
    /// Generations in a row that tried nothing new.
    stale: usize,
    rested: bool,
}

/// Values at a place.
pub(super) fn values_at(variables: &[Variable], place: &[f64]) -> Vec<f64> {
    variables.iter().zip(place).map(|(v, x)| v.values.at(*x)).collect()
}

/// Place of values.
pub(super) fn place_of(variables: &[Variable], values: &[f64]) -> Vec<f64> {
    variables.iter().zip(values).map(|(v, x)| v.values.place(*x)).collect()
}

/// Which combinations are searched for themselves, and how often each.
struct Plan {
    free: Vec<usize>,
    /// Places of the discrete variables, at all variables' coordinates.
    combinations: Vec<Vec<f64>>,
    starts: usize,
}

impl Plan {
    fn new(variables: &[Variable], own: &[f64], budget: usize) -> Self {
        let all: Vec<usize> = (0..variables.len()).collect();
        let continuous: Vec<usize> =
            all.iter().copied().filter(|&d| !variables[d].values.is_discrete()).collect();
        let counts = variables.iter().filter(|v| v.values.is_discrete());
        let count =
            counts.map(|v| v.values.grid(1).len().max(1)).try_fold(1usize, usize::checked_mul);
        let each = |n: usize| if n == 0 { 1 } else { 1 + Cmaes::usual_population(n) };
        let few = count.filter(|c| c.saturating_mul(each(continuous.len())) <= budget * 2 / 3);
        let starts = |count: usize, n: usize| {
            let one = count * WORTH * Cmaes::usual_population(n);
            (budget / one.max(1)).clamp(1, STARTS)
        };
        match few {
            Some(count) => {
                let places = |(d, v): (usize, &Variable)| match v.values.is_discrete() {
                    true => v.values.grid(1).iter().map(|x| v.values.place(*x)).collect(),
                    false => vec![own[d]],
                };
                let places: Vec<Vec<f64>> = variables.iter().enumerate().map(places).collect();
                let starts =
                    if continuous.is_empty() { 1 } else { starts(count, continuous.len()) };
                Self { combinations: grid(&places), starts, free: continuous }
            }
            None => {
                Self { combinations: vec![own.to_vec()], starts: starts(1, all.len()), free: all }
            }
        }
    }
}

/// Searches until the quota is spent. `own` is where the first searches begin.
pub(super) fn run<L: Lab>(
    ledger: &mut Ledger<'_, L>,
    judge: &Judge,
    variables: &[Variable],
    own: &[f64],
    seed: u64,
) {
    let plan = Plan::new(variables, own, ledger.quota);
    let begin: Vec<Vec<f64>> = plan.combinations.iter().map(|p| values_at(variables, p)).collect();
    ledger.try_all(&begin);
    if plan.free.is_empty() {
        return;
    }
    let mut sea = Sea {
        ledger,
        judge,
        variables,
        plan,
        seed,
        begun: Vec::new(),
        even: 0,
        sample: Vec::new(),
    };
    if sea.plan.starts > 1 {
        sea.look_around();
    }
    let mut islands: Vec<Island> = Vec::new();
    for start in 0..sea.plan.starts {
        for combination in 0..sea.plan.combinations.len() {
            islands.push(sea.begin(combination, start == 0, 1));
        }
    }
    let mut tried = 0;
    let mut rounds = 1 + islands.len().next_power_of_two().trailing_zeros() as usize;
    while !islands.is_empty() && sea.ledger.quota > 0 && !sea.ledger.stopped {
        let floor = sea.ledger.quota - sea.ledger.quota / rounds.max(1);
        while sea.ledger.quota > floor && islands.iter().any(|i| !i.rested) {
            if !sea.generation(&mut islands) {
                return;
            }
        }
        islands.sort_by(|a, b| match (&a.best, &b.best) {
            (Some(a), Some(b)) => a.order(b),
            (a, b) => b.is_some().cmp(&a.is_some()),
        });
        rounds = rounds.saturating_sub(1);
        if islands.len() > 1 {
            islands.truncate(islands.len().div_ceil(2));
        } else if islands[0].rested {
            if sea.ledger.trials.len() == tried {
                return;
            }
            tried = sea.ledger.trials.len();
            // what is left over goes into new starts with more points at a time
            islands = vec![sea.begin(islands[0].combination, false, 2)];
            rounds = 1;
        }
    }
}

struct Sea<'a, 'b, L: Lab> {
    ledger: &'a mut Ledger<'b, L>,
    judge: &'a Judge,
    variables: &'a [Variable],
    plan: Plan,
    seed: u64,
    /// Where searches have begun: combination and place.
    begun: Vec<(usize, Vec<f64>)>,
    /// Evenly spread points used.
    even: usize,
    /// Evenly spread points of a first look around: combination, place, trial.
    sample: Vec<(usize, Vec<f64>, usize)>,
}

impl<L: Lab> Sea<'_, '_, L> {
    fn frame(&self, combination: usize) -> Frame {
        Frame { place: self.plan.combinations[combination].clone(), free: self.plan.free.clone() }
    }

    fn next_even(&mut self) -> Vec<f64> {
        self.even += 1;
        even_point(self.even - 1, self.plan.free.len())
    }

    /// Tries evenly spread points, so that searches begin where it looks good.
    fn look_around(&mut self) {
        let floor = self.ledger.quota - self.ledger.quota / LOOK;
        for _ in 0..START_LOOKS {
            let wanted = self.ledger.quota.saturating_sub(floor);
            if wanted == 0 {
                return;
            }
            let points: Vec<(usize, Vec<f64>)> = (0..wanted)
                .map(|_| (self.even % self.plan.combinations.len(), self.next_even()))
                .collect();
            let values: Vec<Vec<f64>> = points
                .iter()
                .map(|(c, free)| values_at(self.variables, &self.frame(*c).with(free)))
                .collect();
            let tried = self.ledger.try_all(&values);
            let known = points.into_iter().zip(tried);
            self.sample.extend(known.filter_map(|((c, free), trial)| Some((c, free, trial?))));
        }
    }

    /// A search that begins at the layout's own values, or at the best place of the first look
    /// that is far from where others began.
    fn begin(&mut self, combination: usize, at_own: bool, wider: usize) -> Island {
        let mut frame = self.frame(combination);
        if !at_own {
            let free = self.best_seen(combination).unwrap_or_else(|| self.even_start(&frame));
            frame.place = frame.with(&free);
        }
        let n = frame.free.len();
        let population = wider * Cmaes::usual_population(n);
        let mean: Vec<f64> = frame.free.iter().map(|&d| frame.place[d]).collect();
        self.begun.push((combination, mean.clone()));
        // any odd multiplier keeps seeds of neighbouring searches apart
        let number = self.begun.len() as u64;
        let seed = self.seed.wrapping_add(number.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let search = Cmaes::new(&mean, WIDE, population, seed);
        Island { combination, frame, search, population, best: None, stale: 0, rested: false }
    }

    fn best_seen(&self, combination: usize) -> Option<Vec<f64>> {
        let merit = |trial: usize| self.ledger.merit(trial, self.judge);
        let far = |place: &[f64]| {
            let begun = self.begun.iter().filter(|(c, _)| *c == combination);
            begun.into_iter().all(|(_, other)| {
                place.iter().zip(other).any(|(a, b)| (a - b).abs() >= STARTS_APART)
            })
        };
        let found = self.sample.iter().filter(|(c, place, trial)| {
            let layout = !matches!(merit(*trial), Merit::Blocked(_));
            *c == combination && layout && far(place)
        });
        found.min_by(|a, b| merit(a.2).order(&merit(b.2))).map(|(_, place, _)| place.clone())
    }

    /// The next evenly spread point at which a layout can be made; else just the next.
    fn even_start(&mut self, frame: &Frame) -> Vec<f64> {
        let first = self.next_even();
        let mut free = first.clone();
        for _ in 0..START_LOOKS {
            let values = values_at(self.variables, &frame.with(&free));
            let tried = self.ledger.try_all(&[values])[0];
            match tried.map(|k| &self.ledger.trials[k].found) {
                Some(Found::Blocked(_)) => free = self.next_even(),
                _ => return free,
            }
        }
        first
    }

    /// One generation of all searches that have not come to rest, side by side. False once nothing
    /// more may be tried.
    fn generation(&mut self, islands: &mut [Island]) -> bool {
        let mut drawn: Vec<(usize, Vec<f64>, Option<usize>)> = Vec::new();
        for (i, island) in islands.iter().enumerate().filter(|(_, i)| !i.rested) {
            drawn.extend((0..island.population).map(|_| (i, Vec::new(), None)));
        }
        let known = self.ledger.trials.len();
        let blocked = |found: &Found| matches!(found, Found::Blocked(_));
        for _ in 0..PATIENCE {
            let open: Vec<usize> = (0..drawn.len())
                .filter(|&k| drawn[k].2.is_none_or(|t| blocked(&self.ledger.trials[t].found)))
                .collect();
            if open.is_empty() {
                break;
            }
            let points: Vec<Vec<f64>> = open
                .iter()
                .map(|&k| {
                    let island = &mut islands[drawn[k].0];
                    let point = island.search.ask(1).swap_remove(0);
                    drawn[k].1 = point.into_iter().map(|x| x.clamp(0.0, 1.0)).collect();
                    values_at(self.variables, &island.frame.with(&drawn[k].1))
                })
                .collect();
            let tried = self.ledger.try_all(&points);
            for (k, tried) in open.into_iter().zip(&tried) {
                drawn[k].2 = *tried;
            }
            if tried.iter().any(Option::is_none) {
                return false;
            }
        }
        for (i, island) in islands.iter_mut().enumerate().filter(|(_, i)| !i.rested) {
            let own = drawn.iter().filter(|d| d.0 == i);
            let mut ranked: Vec<(Merit, &Vec<f64>)> = own
                .filter_map(|(_, point, trial)| {
                    Some((self.ledger.merit((*trial)?, self.judge), point))
                })
                .collect();
            ranked.sort_by(|a, b| a.0.order(&b.0));
            let points: Vec<Vec<f64>> = ranked.iter().map(|(_, p)| (*p).clone()).collect();
            island.search.tell(&points);
            let best = ranked.first().map(|(merit, _)| *merit);
            island.best = match (island.best, best) {
                (Some(old), Some(new)) if new.order(&old).is_ge() => Some(old),
                (old, new) => new.or(old),
            };
            let new = drawn.iter().any(|d| d.0 == i && d.2.is_some_and(|t| t >= known));
            island.stale = if new { 0 } else { island.stale + 1 };
            island.rested = island.search.spread() < REST || island.stale >= STALE;
        }
        true
    }
}
