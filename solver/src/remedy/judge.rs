//! How a layout stands against what is wanted, by one rule for all of them.
//!
//! **The rule.** Every layout runs at the current that the job states, turned down as far as needed
//! that no more than [`BURNING_SHARE`] of the parts' area lies above the bath's good range. At that
//! current the time is taken until the thinnest significant place has what is wanted; thickest
//! place, metal beyond what is wanted and voltage are those of that run. A job that limits only the
//! greatest thickness is timed until the mean is that of its own run instead. No layout is given more
//! current than the job states, though an evener one might bear it.
use shapes::Point;

use crate::plan::{Answer, BURNING_SHARE, Demands, Measured, Outcome};
use crate::quantity::{CurrentDensity, Length, Time};
use crate::sensitivity::Case;
use crate::solve::SolveError;

use super::edit::Edit;

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
    /// Uncertainty of `least_over_mean`.
    pub least_over_mean_uncertainty: f64,
    /// Thickest significant place after `seconds`, m.
    pub thickest_m: Option<f64>,
    /// Its uncertainty, m; 0 if it is not known.
    pub thickest_uncertainty_m: f64,
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

impl Standing {
    /// How a solved case stands; `None` without a metal or a significant surface.
    pub fn of(case: &Case, answer: &Answer, goal: &Goal) -> Option<Self> {
        let demands = Demands {
            most: goal.most,
            burns_above: goal.burns_above,
            anode_max: goal.anode_max,
            ..Demands::default()
        };
        let outcome = Outcome::of(case, &demands, answer);
        let growth = outcome.growth?;
        let paced = if goal.by_mean { growth.mean } else { growth.least };
        let seconds = (paced.value > 0.0).then(|| goal.least.si() / paced.value);
        let share = |m: Measured| if m.value > 0.0 { m.doubt / m.value } else { 0.0 };
        let thickest_m = seconds.map(|t| t * growth.greatest.value);
        let least_over_mean = growth.least.value / growth.mean.value;
        let first = outcome.feeds.first();
        Some(Self {
            seconds,
            uncertainty: share(paced),
            least_over_mean,
            least_over_mean_uncertainty: least_over_mean
                * (share(growth.least) + share(growth.mean)),
            least_m_s: growth.least.value,
            mean_m_s: growth.mean.value,
            most_m_s: growth.greatest.value,
            least_at: growth.least_at,
            most_at: growth.greatest_at,
            thickest_m,
            thickest_uncertainty_m: thickest_m.unwrap_or(0.0)
                * (share(growth.greatest) + share(paced)),
            wasted_kg: seconds.map(|t| answer.beyond_kg(t, goal.least)),
            volts: first.map_or(0.0, |f| f.volts.value),
            volts_uncertainty: first.map_or(0.0, |f| f.volts.doubt),
            amps: outcome.feeds.iter().map(|f| f.amps.value).sum(),
            burning: outcome.burning.map_or(0.0, |share| share.value),
            bearable: outcome.bearable,
            anode_use: outcome.anode_use.unwrap_or(0.0),
            bare: growth.none,
        })
    }
}

/// Most solves for the bearable current.
const ROUNDS: usize = 4;

/// A layout at the current that it bears.
#[derive(Debug, Clone)]
pub struct Fair {
    /// The case with that current.
    pub case: Case,
    /// That current as a share of the stated one.
    pub factor: f64,
    /// Its answer.
    pub answer: Answer,
    /// How it stands.
    pub standing: Standing,
}

impl Fair {
    /// Solves `case`, whose current is to be that of `factor`; `None` without a thickness.
    ///
    /// # Errors
    /// As `solve`.
    pub fn at(
        case: &Case,
        factor: f64,
        goal: &Goal,
        solve: &dyn Fn(&Case) -> Result<Answer, SolveError>,
    ) -> Result<Option<Self>, SolveError> {
        let Some(case) = driven(case, factor) else { return Ok(None) };
        let answer = solve(&case)?;
        let standing = Standing::of(&case, &answer, goal);
        Ok(standing.map(|standing| Self { case, factor, answer, standing }))
    }

    /// The same turned down as far as needed that little enough burns.
    ///
    /// # Errors
    /// As `solve`.
    pub fn turned_down(
        self,
        goal: &Goal,
        solve: &dyn Fn(&Case) -> Result<Answer, SolveError>,
    ) -> Result<Option<Self>, SolveError> {
        let mut at = self;
        for _ in 1..ROUNDS {
            let next = bearable_share(at.factor, &at.standing);
            if next >= at.factor {
                break;
            }
            match Self::at(&at.case, next / at.factor, goal, solve)? {
                Some(lower) => at = Self { factor: next, ..lower },
                None => return Ok(None),
            }
        }
        Ok(Some(at))
    }
}

/// The share of the stated current at which a layout should not burn any more, if it stands like
/// this at the share `factor`.
pub fn bearable_share(factor: f64, standing: &Standing) -> f64 {
    if standing.burning <= BURNING_SHARE {
        return factor;
    }
    // a little further than proportion says, so that two rounds are enough; whole hundredths of
    // the stated current
    let next = ((100.0 * factor * 0.99 * standing.bearable).floor() / 100.0).max(0.01);
    next.min(factor)
}

fn driven(case: &Case, factor: f64) -> Option<Case> {
    if factor == 1.0 {
        return Some(case.clone());
    }
    super::edited(case, &[Edit::Drive { factor }])
}
