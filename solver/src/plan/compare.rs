//! Outcomes beside each other: what really differs.
use super::figure::{Figure, Measured};
use super::outcome::Outcome;

/// A figure of two outcomes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Which.
    pub figure: Figure,
    /// Of the first outcome.
    pub from: Measured,
    /// Of the other.
    pub to: Measured,
}

impl Difference {
    /// True if it exceeds the numerical uncertainty of both figures together.
    pub fn is_real(&self) -> bool {
        self.from.differs(&self.to)
    }

    /// Change as a share of the first; `None` from nothing.
    pub fn relative(&self) -> Option<f64> {
        (self.from.value > 0.0).then(|| self.to.value / self.from.value - 1.0)
    }
}

/// How `other` differs from `first` in those of `figures` that both have.
pub fn differences(first: &Outcome, other: &Outcome, figures: &[Figure]) -> Vec<Difference> {
    let one = |&figure: &Figure| {
        Some(Difference { figure, from: figure.of(first)?, to: figure.of(other)? })
    };
    figures.iter().filter_map(one).collect()
}
