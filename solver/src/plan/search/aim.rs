//! What a search is after and what it must keep to: the order in which layouts are better.
use std::cmp::Ordering;

use crate::plan::figure::{Figure, Measured};
use crate::plan::model::Task;
use crate::plan::outcome::{BURNING_SHARE, Outcome};

/// Which way a figure is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// The less, the better.
    Less,
    /// The more, the better.
    More,
}

impl Better {
    fn sign(self) -> f64 {
        match self {
            Self::Less => 1.0,
            Self::More => -1.0,
        }
    }
}

/// One figure of an aim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// Which figure.
    pub figure: Figure,
    /// Which way it is better.
    pub better: Better,
    /// What one unit of it counts.
    pub weight: f64,
    /// The unit, SI; `None` for its value at the layout as it is.
    pub unit: Option<f64>,
}

/// What is to become least: a weighted sum of figures, each in its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim(pub Vec<Term>);

impl Aim {
    /// The least of one figure.
    pub fn least(figure: Figure) -> Self {
        Self(vec![Term { figure, better: Better::Less, weight: 1.0, unit: None }])
    }

    /// The most of one figure.
    pub fn most(figure: Figure) -> Self {
        Self(vec![Term { figure, better: Better::More, weight: 1.0, unit: None }])
    }
}

/// A bound, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// No more than this.
    AtMost(f64),
    /// No less than this.
    AtLeast(f64),
}

/// What a figure must keep to.
///
/// A layout that lacks the figure because the job states nothing to judge it by (a bath without an
/// upper end cannot burn) keeps to it; one that lacks it because a place stays bare does not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Which figure.
    pub figure: Figure,
    /// Its bound.
    pub bound: Bound,
}

impl Limit {
    /// What every layout of a task should keep to: no more than [`BURNING_SHARE`] burns where the
    /// bath has an upper end, and the thickest place stays below what is allowed when the thinnest
    /// has what is wanted.
    pub fn usual(task: &Task) -> Vec<Self> {
        let burning = task
            .demands
            .burns_above
            .map(|_| Self { figure: Figure::Burning, bound: Bound::AtMost(BURNING_SHARE) });
        let thick = task.demands.most.zip(task.case.want).map(|(most, want)| Self {
            figure: Figure::GreatestOverLeast,
            bound: Bound::AtMost(most.si() / want.si()),
        });
        burning.into_iter().chain(thick).collect()
    }

    /// True if an outcome keeps to it.
    pub fn is_kept(&self, outcome: &Outcome) -> bool {
        self.violation(outcome, 0.0) <= 0.0
    }

    /// How far an outcome is beyond it: 0 where it is kept, else about the excess as a share of the
    /// bound, or its logarithm where that is large.
    pub(super) fn violation(&self, outcome: &Outcome, margin: f64) -> f64 {
        let Some(Measured { value, .. }) = self.figure.of(outcome) else {
            return if bare(self.figure, outcome) { NO_VALUE } else { 0.0 };
        };
        let (excess, bound) = match self.bound {
            Bound::AtMost(most) => (value - (most - margin), most),
            Bound::AtLeast(least) => (least + margin - value, least),
        };
        let share = if bound == 0.0 { excess } else { excess / bound.abs() };
        if share > 0.0 { libm::log1p(share) } else { 0.0 }
    }

    /// By how much a figure is beyond the bound; negative within it.
    pub(super) fn excess(&self, value: f64) -> f64 {
        match self.bound {
            Bound::AtMost(most) => value - most,
            Bound::AtLeast(least) => least - value,
        }
    }
}

/// A thinnest place that is uncertain by this share of its thickness may as well be bare: it lies
/// about the covering threshold.
const SHAKY: f64 = 0.5;

/// Violation of a figure without a value: more than any other.
const NO_VALUE: f64 = 50.0;

/// True if an outcome lacks a figure because a significant place gets no metal.
fn bare(figure: Figure, outcome: &Outcome) -> bool {
    figure.of(outcome).is_none()
        && outcome.growth.as_ref().is_none_or(|g| g.least.value <= 0.0)
        && !matches!(figure, Figure::Burning | Figure::Low | Figure::Bare | Figure::AnodeUse)
}

/// How good a layout is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Merit {
    /// It keeps to all limits, and this is its aim: the less, the better.
    Good(f64),
    /// It is beyond limits by this much, or its aim has no value.
    Beyond(f64),
    /// It makes no layout, or one without an answer; this is how far it is from one.
    Blocked(f64),
}

impl Merit {
    /// The better one first.
    pub fn order(&self, other: &Self) -> Ordering {
        let key = |merit: &Self| match *merit {
            Self::Good(aim) => (0, aim),
            Self::Beyond(by) => (1, by),
            Self::Blocked(by) => (2, by),
        };
        let ((a, x), (b, y)) = (key(self), key(other));
        u8::cmp(&a, &b).then(x.total_cmp(&y))
    }

    /// True if it keeps to all limits.
    pub fn is_good(&self) -> bool {
        matches!(self, Self::Good(_))
    }
}

/// Weighs outcomes.
#[derive(Debug, Clone)]
pub(super) struct Judge {
    pub aim: Aim,
    pub limits: Vec<Limit>,
    /// Of each term.
    pub units: Vec<f64>,
    /// By how much each limit is tightened for loose solves, SI.
    pub margins: Vec<f64>,
}

impl Judge {
    /// Units that are not stated come from the first of `known` outcomes that has the figure.
    pub fn new<'a>(
        aim: &Aim,
        limits: &[Limit],
        known: impl Iterator<Item = &'a Outcome> + Clone,
    ) -> Self {
        let unit = |term: &Term| {
            let own = || known.clone().find_map(|o| Some(term.figure.of(o)?.value.abs()));
            let unit = term.unit.or_else(own).filter(|u| *u > 0.0 && u.is_finite());
            unit.unwrap_or(1.0)
        };
        Self {
            units: aim.0.iter().map(unit).collect(),
            margins: vec![0.0; limits.len()],
            aim: aim.clone(),
            limits: limits.to_vec(),
        }
    }

    /// The aim's value; `None` where a figure has none.
    pub fn aim(&self, outcome: &Outcome) -> Option<f64> {
        let terms = self.aim.0.iter().zip(&self.units);
        terms
            .map(|(t, unit)| {
                let value = t.figure.of(outcome)?.value;
                Some(t.weight * t.better.sign() * value / unit).filter(|v| v.is_finite())
            })
            .sum()
    }

    /// How good an outcome is; one that is `close` needs no margins.
    pub fn merit(&self, outcome: &Outcome, close: bool) -> Merit {
        let beyond: f64 = self
            .limits
            .iter()
            .zip(&self.margins)
            .map(|(limit, margin)| limit.violation(outcome, if close { 0.0 } else { *margin }))
            .sum();
        match self.aim(outcome) {
            // the more of it is bare, the worse
            Some(_) | None if self.is_bare(outcome) => {
                let none = outcome.growth.as_ref().map_or(1.0, |g| g.none);
                Merit::Beyond(beyond + NO_VALUE + none)
            }
            None => Merit::Beyond(beyond + NO_VALUE + 1.0),
            Some(aim) if beyond <= 0.0 => Merit::Good(aim),
            Some(_) => Merit::Beyond(beyond),
        }
    }

    /// True if a figure aimed at hangs on a thinnest place that stays bare, or may do so within its
    /// numerical uncertainty.
    pub fn is_bare(&self, outcome: &Outcome) -> bool {
        let hangs = |t: &Term| {
            matches!(
                t.figure,
                Figure::Least | Figure::TimeToWanted | Figure::GreatestOverLeast | Figure::Wasted
            )
        };
        self.aim.0.iter().any(hangs)
            && outcome.growth.as_ref().is_some_and(|g| g.least.doubt >= SHAKY * g.least.value)
    }
}
