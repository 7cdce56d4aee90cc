//! What a planner reads off a layout: one list of figures for comparing, sweeping and searching.
use shapes::Point;

use super::answer::{Answer, PartDensity, bearable};
use super::figure::Measured;
use super::model::{Demands, Task};
use crate::layout::Role;
use crate::quantity::CurrentDensity;
use crate::sensitivity::Case;
use crate::solution::Spread;
use crate::solve::SolveError;
use crate::spread::Evenness;
use crate::until::RunLength;
use crate::warm::Warm;

/// Share of the parts' area that may lie above the good range: corners and hems, which every shop
/// accepts (common practice, no source).
pub const BURNING_SHARE: f64 = 0.01;

/// What a task comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Growth on the significant surface of all parts; `None` without a metal or such a surface.
    pub growth: Option<Growth>,
    /// Length of the stated run, s; `None` where none is stated or it never ends.
    pub run_s: Option<f64>,
    /// Least thickness wanted, m.
    pub wanted_m: Option<f64>,
    /// Greatest thickness allowed, m.
    pub most_m: Option<f64>,
    /// Metal deposited on the parts in a second, kg/s.
    pub metal_kg_s: f64,
    /// Metal deposited on thieves in a second, kg/s.
    pub thief_kg_s: f64,
    /// Metal beyond what is wanted on the parts and all on thieves, after the stated run, kg.
    pub beyond_kg: Option<f64>,
    /// The same after the run that just reaches what is wanted, kg.
    pub wasted_kg: Option<f64>,
    /// Share of the parts' surface above the bath's good range; `None` if that has no upper end.
    pub burning: Option<Measured>,
    /// Share below its lower end.
    pub low: Option<Measured>,
    /// Share below the covering threshold.
    pub bare: Option<Measured>,
    /// By what the current would have to be multiplied for no more than [`BURNING_SHARE`] to burn,
    /// if densities followed it in proportion; 1 at most.
    pub bearable: f64,
    /// Mean current density on the parts, A/m².
    pub density_a_m2: Measured,
    /// Greatest current density on the parts, A/m².
    pub peak_a_m2: Measured,
    /// Every supply.
    pub feeds: Vec<Feed>,
    /// Power of all supplies, W.
    pub power_w: Measured,
    /// Mean current density of the most loaded anode, A/m².
    pub anode_a_m2: f64,
    /// The same as a share of what the anodes stand; `None` if that is unknown.
    pub anode_use: Option<f64>,
    /// Wagner number.
    pub wagner: f64,
    /// Estimated relative error of the local density at most places.
    pub estimated_error: f64,
}

/// Growth of the deposit on the significant surface, m/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// Thinnest place.
    pub least: Measured,
    /// Mean.
    pub mean: Measured,
    /// Thickest place.
    pub greatest: Measured,
    /// Where it is thinnest, m.
    pub least_at: Point,
    /// Where it is thickest, m.
    pub greatest_at: Point,
    /// Standard deviation over the mean.
    pub variation: f64,
    /// Share of the significant area that gets no metal.
    pub none: f64,
}

/// What a supply gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Feed {
    /// Its name.
    pub name: String,
    /// Current, A.
    pub amps: Measured,
    /// Voltage at its terminals, V.
    pub volts: Measured,
    /// Current or voltage over its rating, whichever is more; `None` without a rating.
    pub load: Option<f64>,
}

impl Outcome {
    /// Solves a task and reads off its figures.
    ///
    /// # Errors
    /// As [`Answer::new`].
    pub fn solve(task: &Task, warm: Option<&Warm>) -> Result<Self, SolveError> {
        let answer = Answer::new(&task.case, &task.settings, warm)?;
        Ok(Self::of(&task.case, &task.demands, &answer))
    }

    /// The figures of a case that has been solved.
    pub fn of(case: &Case, demands: &Demands, answer: &Answer) -> Self {
        let growth = growth(answer);
        let amps = answer.mean(case, &|s| s.total_current_a());
        let stated = case.plating.as_ref().and_then(|p| p.2);
        let run_s = stated.and_then(|run| match run {
            RunLength::Time(time) => Some(time.si()),
            RunLength::Charge(charge) => (amps > 0.0).then(|| charge.si() / amps),
            RunLength::Thickness(to) => until(growth.as_ref()?, to.si()),
        });
        let want = case.want;
        let reached = want.and_then(|want| until(growth.as_ref()?, want.si()));
        let beyond = |seconds: Option<f64>| {
            seconds
                .zip(want)
                .filter(|_| growth.is_some())
                .map(|(t, want)| answer.beyond_kg(t, want))
        };
        let rows = answer.densities(case);
        let (density, peak) = densities(&rows);
        let anode_a_m2 = answer.solutions.first().map_or(0.0, |s| {
            let anodes = s.bodies.iter().filter(|b| b.role == Role::Anode && b.area_m2 > 0.0);
            anodes.map(|b| -b.current_a / b.area_m2).fold(0.0, f64::max)
        });
        let measured = |of: &dyn Fn(&crate::Solution) -> [f64; 2]| Measured {
            value: answer.mean(case, &|s| of(s)[0]),
            doubt: answer.mean(case, &|s| of(s)[1]),
        };
        Self {
            growth,
            run_s,
            wanted_m: want.map(|m| m.si()),
            most_m: demands.most.map(|m| m.si()),
            metal_kg_s: answer.metal_kg_s(&|role| role == Role::Part),
            thief_kg_s: answer.metal_kg_s(&|role| matches!(role, Role::Thief { .. })),
            beyond_kg: beyond(run_s),
            wasted_kg: beyond(reached),
            burning: demands.burns_above.map(|end| share(&rows, &|i| i > end.si())),
            low: demands.low_below.map(|end| share(&rows, &|i| i < end.si())),
            bare: demands.covers_from.map(|end| share(&rows, &|i| i < end.si())),
            bearable: demands.burns_above.map_or(1.0, |i| bearable(&rows, i, BURNING_SHARE)),
            density_a_m2: density,
            peak_a_m2: peak,
            feeds: feeds(case, answer),
            power_w: measured(&|s| {
                let doubt = s.supplies.iter().map(|x| x.power_uncertainty_w).sum();
                [s.total_power_w(), doubt]
            }),
            anode_a_m2,
            anode_use: demands.anode_max.map(|most: CurrentDensity| anode_a_m2 / most.si()),
            wagner: answer.solutions.first().map_or(0.0, |s| s.wagner.number),
            estimated_error: answer
                .solutions
                .iter()
                .map(|s| s.stats.estimated_error)
                .fold(0.0, f64::max),
        }
    }

    /// Time until the thinnest significant place has what is wanted, s; `None` where nothing is
    /// wanted or that place stays bare.
    pub fn seconds_to_wanted(&self) -> Option<Measured> {
        let (growth, wanted) = self.growth.as_ref().zip(self.wanted_m)?;
        let value = until(growth, wanted)?;
        Some(Measured { value, doubt: value * growth.least.doubt / growth.least.value })
    }

    /// Greatest over least thickness; `None` where a significant place stays bare.
    pub fn greatest_over_least(&self) -> Option<Measured> {
        let growth = self.growth.as_ref().filter(|g| g.least.value > 0.0)?;
        let value = growth.greatest.value / growth.least.value;
        let share =
            growth.least.doubt / growth.least.value + growth.greatest.doubt / growth.greatest.value;
        Some(Measured { value, doubt: value * share })
    }

    /// Whether the stated run meets the stated thicknesses; `None` where nothing is stated.
    pub fn meets(&self) -> Option<bool> {
        let (growth, run) = (self.growth.as_ref()?, self.run_s);
        // until the wanted thickness: reached, but for rounding
        let least =
            self.wanted_m.map(|m| run.is_some_and(|t| t * growth.least.value >= m * (1.0 - 1e-12)));
        let most = self.most_m.map(|m| run.is_none_or(|t| t * growth.greatest.value <= m));
        match (least, most) {
            (None, None) => None,
            (least, most) => Some(least != Some(false) && most != Some(false)),
        }
    }
}

fn until(growth: &Growth, thickness_m: f64) -> Option<f64> {
    (growth.least.value > 0.0).then(|| thickness_m / growth.least.value)
}

fn growth(answer: &Answer) -> Option<Growth> {
    let rows = answer.rows();
    let values: Vec<f64> = rows.iter().map(|r| r.rate).collect();
    let doubts: Vec<f64> = rows.iter().map(|r| r.doubt).collect();
    let areas: Vec<f64> = rows.iter().map(|r| r.area_m2).collect();
    let places: Vec<Point> = rows.iter().map(|r| r.at).collect();
    let spread = Spread::of(&values, &areas, &places, &doubts)?;
    let none: f64 = rows.iter().filter(|r| r.rate <= 0.0).map(|r| r.area_m2).sum();
    let measured = |value, doubt| Measured { value, doubt };
    Some(Growth {
        least: measured(spread.min, spread.min_uncertainty),
        mean: measured(spread.mean, spread.mean_uncertainty),
        greatest: measured(spread.max, spread.max_uncertainty),
        least_at: spread.min_at,
        greatest_at: spread.max_at,
        variation: Evenness::of(&values, &areas).map_or(0.0, |e| e.coefficient_of_variation),
        none: none / areas.iter().sum::<f64>(),
    })
}

/// Share of the area whose density is `outside`. Its uncertainty is half of what changes sides when
/// all densities move to either end of theirs.
fn share(rows: &[PartDensity], outside: &dyn Fn(f64) -> bool) -> Measured {
    let area: f64 = rows.iter().map(|r| r.area_m2).sum();
    let moved = |by: f64| -> f64 {
        let found = rows.iter().filter(|r| outside(r.a_m2 + by * r.doubt_a_m2));
        found.map(|r| r.area_m2).sum::<f64>() / area
    };
    let nothing = Measured { value: 0.0, doubt: 0.0 };
    if area > 0.0 {
        Measured { value: moved(0.0), doubt: 0.5 * (moved(1.0) - moved(-1.0)).abs() }
    } else {
        nothing
    }
}

/// Mean and greatest density.
fn densities(rows: &[PartDensity]) -> (Measured, Measured) {
    let area: f64 = rows.iter().map(|r| r.area_m2).sum();
    let mean = |of: &dyn Fn(&PartDensity) -> f64| -> f64 {
        if area > 0.0 { rows.iter().map(|r| of(r) * r.area_m2).sum::<f64>() / area } else { 0.0 }
    };
    let peak = rows.iter().max_by(|a, b| a.a_m2.total_cmp(&b.a_m2));
    (
        Measured { value: mean(&|r| r.a_m2), doubt: mean(&|r| r.doubt_a_m2) },
        Measured { value: peak.map_or(0.0, |r| r.a_m2), doubt: peak.map_or(0.0, |r| r.doubt_a_m2) },
    )
}

fn feeds(case: &Case, answer: &Answer) -> Vec<Feed> {
    let Some(first) = answer.solutions.first() else { return Vec::new() };
    let feed = |k: usize| {
        let mean = |of: &dyn Fn(&crate::SupplyResult) -> f64| {
            answer.mean(case, &|s| s.supplies.get(k).map_or(0.0, of))
        };
        let load = first.supplies[k].current_use.into_iter().chain(first.supplies[k].voltage_use);
        Feed {
            name: first.supplies[k].name.clone(),
            amps: Measured {
                value: mean(&|s| s.current_a),
                doubt: mean(&|s| s.current_uncertainty_a),
            },
            volts: Measured {
                value: mean(&|s| s.voltage_v),
                doubt: mean(&|s| s.voltage_uncertainty_v),
            },
            load: load.reduce(f64::max),
        }
    };
    (0..first.supplies.len()).map(feed).collect()
}
