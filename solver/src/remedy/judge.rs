//! How a layout stands against what is wanted, by one rule for all of them.
//!
//! **The rule.** Every layout runs at the current that the job states, turned down as far as needed
//! that no more than [`BURNING_SHARE`] of the parts' area lies above the bath's good range. At that
//! current the time is taken until the thinnest significant place has what is wanted; thickest
//! place, metal beyond what is wanted and voltage are those of that run. A job that limits only the
//! greatest thickness is timed until the mean is that of its own run instead. No layout is given more
//! current than the job states, though an evener one might bear it.
use shapes::Point;

use crate::deposit::Deposit;
use crate::layout::{Layout, Role};
use crate::positions::{Position, averaged, peaks, solve_all};
use crate::quantity::{CurrentDensity, Length, Time};
use crate::sensitivity::Case;
use crate::solution::{Solution, Spread};
use crate::solve::{SolveError, SolveSettings};

use super::edit::Edit;

/// Share of the parts' area that may lie above the good range: corners and hems, which every shop
/// accepts (common practice, no source).
pub const BURNING_SHARE: f64 = 0.01;

/// What a layout must reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// Least thickness on the significant surface; where [`Self::by_mean`], the mean one.
    pub least: Length,
    /// True if the mean has to reach `least`: the job limits the greatest thickness alone.
    pub by_mean: bool,
    /// True if the deposit is to be even: the job states no thickness at all.
    pub even: bool,
    /// Greatest thickness there, if that is limited.
    pub most: Option<Length>,
    /// Longest time, if the job states one for its own least thickness.
    pub within: Option<Time>,
    /// Above this the deposit burns.
    pub burns_above: Option<CurrentDensity>,
    /// Greatest good mean current density of an anode.
    pub anode_max: Option<CurrentDensity>,
}

/// How a layout stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Time until the thinnest significant place has what is wanted, s; `None` if it stays bare.
    pub seconds: Option<f64>,
    /// Relative uncertainty of that time: that of the least (or mean) thickness.
    pub uncertainty: f64,
    /// Least over mean thickness of the significant surface.
    pub least_over_mean: f64,
    /// Growth of the thinnest significant place, m/s.
    pub least_m_s: f64,
    /// Mean growth of the significant surface, m/s.
    pub mean_m_s: f64,
    /// Growth of the thickest significant place, m/s.
    pub most_m_s: f64,
    /// Where it is thinnest.
    pub least_at: Point,
    /// Where it is thickest.
    pub most_at: Point,
    /// Thickest significant place after `seconds`, m.
    pub thickest_m: Option<f64>,
    /// Metal beyond what is wanted on the parts, and all on thieves, after `seconds`, kg.
    pub wasted_kg: Option<f64>,
    /// Voltage of the first supply.
    pub volts: f64,
    /// Its uncertainty.
    pub volts_uncertainty: f64,
    /// Current of all supplies, A.
    pub amps: f64,
    /// Share of the parts' area above the good range.
    pub burning: f64,
    /// By what the current would have to be multiplied for no more than [`BURNING_SHARE`] to burn.
    pub bearable: f64,
    /// Mean current density of the most loaded anode over what it stands; 0 if that is unknown.
    pub anode_use: f64,
    /// Share of the significant area that gets no metal.
    pub bare: f64,
}

impl Standing {
    /// True if nothing is left to be wished.
    pub fn meets(&self, goal: &Goal) -> bool {
        let in_time = |t: f64| goal.within.is_none_or(|most| t <= most.si() * (1.0 + 1e-9));
        let thin = |m: f64| goal.most.is_none_or(|most| m <= most.si());
        self.seconds.is_some_and(in_time)
            && self.thickest_m.is_some_and(thin)
            && self.burning <= BURNING_SHARE
            && (!goal.even || self.least_over_mean >= EVEN)
    }

    /// What is minimised: the logarithm of the time (at the bearable current), dearer by how far the
    /// thickest place exceeds what is allowed, by overloaded anodes and a little by wasted metal.
    pub fn cost(&self, goal: &Goal) -> f64 {
        let Some((seconds, thickest)) = self.seconds.zip(self.thickest_m) else {
            return BARE_COST + self.bare;
        };
        let over = |value: f64| libm::log(value.max(1.0));
        let time = libm::log(seconds / self.bearable.min(1.0));
        // the shortfall from even, where nothing else says how thin is too thin
        let even = match (goal.even, goal.by_mean) {
            (true, _) => over(EVEN / self.least_over_mean),
            (_, true) => 0.2 * over(1.0 / self.least_over_mean.max(1e-3)),
            _ => 0.0,
        };
        let thick = goal.most.map_or(0.0, |most| over(thickest / most.si()));
        let waste = self.wasted_kg.map_or(0.0, |kg| libm::log1p(1e3 * kg.max(0.0)));
        time + even + 2.0 * thick + 0.5 * over(self.anode_use) + 0.02 * waste
    }
}

/// Least over mean thickness from which a deposit counts as even where the job states no least
/// thickness (common practice, no source).
pub const EVEN: f64 = 0.5;

/// Cost of a layout with a bare place: above that of any time.
const BARE_COST: f64 = 100.0;

/// A solved case.
#[derive(Debug, Clone)]
pub struct Solved {
    /// Its answers, position by position.
    pub solutions: Vec<Solution>,
    /// Significant stretches of each body in the first.
    pub significant: Vec<Vec<bool>>,
    /// What one second deposits; `None` without a metal.
    pub second: Deposit,
}

impl Solved {
    /// Solves a case; `None` if it deposits nothing.
    ///
    /// # Errors
    /// As [`solve_all`].
    pub fn new(case: &Case, settings: &SolveSettings) -> Result<Option<Self>, SolveError> {
        let layouts: Vec<Layout> = case.positions.iter().map(|(l, _)| l.clone()).collect();
        let solutions = solve_all(&layouts, settings, &|_, _| ()).map_err(|(_, error)| error)?;
        let Some((metal, efficiency, _)) = &case.plating else { return Ok(None) };
        let Some((first, _)) = case.positions.first() else { return Ok(None) };
        let significant = first.significant_rows(&solutions[0]);
        let positions = places(case, &solutions);
        let second = averaged(&positions, metal, efficiency, Time::new(1.0));
        Ok(second.map(|second| Self { significant, second, solutions }))
    }

    /// How it stands; `None` without a significant surface.
    pub fn standing(&self, case: &Case, goal: &Goal) -> Option<Standing> {
        let first = self.solutions.first()?;
        let rows = self.rows();
        let (mut values, mut doubts) = (Vec::new(), Vec::new());
        let (mut areas, mut at) = (Vec::new(), Vec::new());
        for row in &rows {
            values.push(row.rate);
            doubts.push(row.doubt);
            areas.push(row.area_m2);
            at.push(row.at);
        }
        let spread = Spread::of(&values, &areas, &at, &doubts)?;
        let area: f64 = areas.iter().sum();
        let bare: f64 = rows.iter().filter(|r| r.rate <= 0.0).map(|r| r.area_m2).sum();
        let paced = if goal.by_mean { spread.mean } else { spread.min };
        let doubt = if goal.by_mean { spread.mean_uncertainty } else { spread.min_uncertainty };
        let seconds = (paced > 0.0).then(|| goal.least.si() / paced);
        let burn = self.burning(case, goal);
        let mean = |of: &dyn Fn(&Solution) -> f64| -> f64 {
            case.positions.iter().zip(&self.solutions).map(|((_, share), s)| share * of(s)).sum()
        };
        let anodes = first.bodies.iter().filter(|b| b.role == Role::Anode && b.area_m2 > 0.0);
        let anode = anodes.map(|b| -b.current_a / b.area_m2).fold(0.0, f64::max);
        Some(Standing {
            seconds,
            uncertainty: if paced > 0.0 { doubt / paced } else { 0.0 },
            least_over_mean: spread.min / spread.mean,
            least_m_s: spread.min,
            mean_m_s: spread.mean,
            most_m_s: spread.max,
            least_at: spread.min_at,
            most_at: spread.max_at,
            thickest_m: seconds.map(|t| t * spread.max),
            wasted_kg: seconds.map(|t| self.wasted(t, goal.least)),
            volts: mean(&|s| s.supplies.first().map_or(0.0, |s| s.voltage_v)),
            volts_uncertainty: mean(&|s| {
                s.supplies.first().map_or(0.0, |s| s.voltage_uncertainty_v)
            }),
            amps: mean(&|s| s.total_current_a()),
            burning: burn.0,
            bearable: burn.1,
            anode_use: goal.anode_max.map_or(0.0, |most| anode / most.si()),
            bare: bare / area,
        })
    }

    /// Significant stretches of all parts.
    pub(super) fn rows(&self) -> Vec<Row> {
        let bodies = &self.solutions[0].bodies;
        let parts = self.second.bodies.iter().filter(|d| bodies[d.body].role == Role::Part);
        parts
            .flat_map(|d| {
                let stretches = &bodies[d.body].stretches;
                let marks = &self.significant[d.body];
                let kept = (0..stretches.len()).filter(|k| marks.get(*k).copied().unwrap_or(true));
                kept.map(move |k| Row {
                    body: d.body,
                    at: stretches[k].at,
                    outward: shapes::Vec2::new(stretches[k].normal[0], stretches[k].normal[1]),
                    area_m2: stretches[k].area_m2,
                    rate: d.thickness_m[k],
                    doubt: d.uncertainty_m[k],
                })
            })
            .collect()
    }

    fn wasted(&self, seconds: f64, least: Length) -> f64 {
        let bodies = &self.solutions[0].bodies;
        let each = self.second.bodies.iter().map(|d| {
            let kg = seconds * d.mass_kg;
            let stretches = &bodies[d.body].stretches;
            let all: f64 = d.thickness_m.iter().zip(stretches).map(|(t, s)| t * s.area_m2).sum();
            match bodies[d.body].role {
                Role::Thief { .. } => kg,
                Role::Part if all > 0.0 => {
                    let beyond = |(t, s): (&f64, &crate::Stretch)| {
                        (seconds * t - least.si()).max(0.0) * s.area_m2
                    };
                    let beyond: f64 = d.thickness_m.iter().zip(stretches).map(beyond).sum();
                    kg * beyond / (seconds * all)
                }
                _ => 0.0,
            }
        });
        each.sum()
    }

    /// Share of the parts' area that burns, and the share of the current at which no more than
    /// [`BURNING_SHARE`] does, if densities follow the current in proportion.
    fn burning(&self, case: &Case, goal: &Goal) -> (f64, f64) {
        let Some(limit) = goal.burns_above.map(|i| i.si()) else { return (0.0, 1.0) };
        let peaks = peaks(&places(case, &self.solutions));
        let bodies = &self.solutions[0].bodies;
        let parts = bodies.iter().zip(&peaks).filter(|(b, _)| b.role == Role::Part);
        let mut rows: Vec<(f64, f64)> = parts
            .flat_map(|(b, peaks)| peaks.iter().zip(&b.stretches).map(|(i, s)| (*i, s.area_m2)))
            .collect();
        rows.sort_by(|a, b| b.0.total_cmp(&a.0));
        let area: f64 = rows.iter().map(|r| r.1).sum();
        let hot: f64 = rows.iter().take_while(|r| r.0 > limit).map(|r| r.1).sum();
        let mut sum = 0.0;
        let worst = rows.iter().find(|r| {
            sum += r.1;
            sum > BURNING_SHARE * area
        });
        // the next cooler stretch must stay below
        let bearable = worst.filter(|w| w.0 > 0.0).map_or(1.0, |w| (limit / w.0).min(1.0));
        (if area > 0.0 { hot / area } else { 0.0 }, bearable)
    }
}

/// A significant stretch of a part.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    pub body: usize,
    pub at: Point,
    pub outward: shapes::Vec2,
    pub area_m2: f64,
    /// Growth, m/s.
    pub rate: f64,
    pub doubt: f64,
}

fn places<'a>(case: &'a Case, solutions: &'a [Solution]) -> Vec<Position<'a>> {
    let rows = case.positions.iter().zip(solutions);
    rows.map(|((layout, share), solution)| Position { layout, solution, share: *share }).collect()
}

/// Most solves for the bearable current.
const ROUNDS: usize = 4;

/// Solves `case` at the bearable current: the case with that current, the share of the stated one,
/// and how it stands.
///
/// # Errors
/// As [`solve_all`].
pub fn fairly(
    case: &Case,
    goal: &Goal,
    settings: &SolveSettings,
) -> Result<Option<(Case, f64, Solved, Standing)>, SolveError> {
    let (mut factor, mut case) = (1.0, case.clone());
    for round in 1.. {
        let Some(solved) = Solved::new(&case, settings)? else { return Ok(None) };
        let Some(standing) = solved.standing(&case, goal) else { return Ok(None) };
        if standing.burning <= BURNING_SHARE || round == ROUNDS {
            return Ok(Some((case, factor, solved, standing)));
        }
        // a little further than proportion says, so that two rounds are enough; whole hundredths
        // of the stated current
        let step = 0.99 * standing.bearable;
        let next = ((100.0 * factor * step).floor() / 100.0).max(0.01);
        if next >= factor {
            return Ok(Some((case, factor, solved, standing)));
        }
        let Some(lower) = super::edited(&case, &[Edit::Drive { factor: next / factor }]) else {
            return Ok(None);
        };
        (case, factor) = (lower, next);
    }
    Ok(None)
}
