//! The axis of a diagram: values to a share of its length, and the round numbers along it.

use crate::output::format::{three, trimmed};
use crate::output::scale::{Scale, linear_ticks};

/// Positive values that span more than this are shown on an axis of ratios.
const LONG_SPAN: f64 = 30.0;

/// An axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    scale: Scale,
    names: Vec<String>,
    /// What it shows, with the unit.
    pub heading: String,
}

impl Axis {
    /// Even steps are differences.
    pub fn linear(low: f64, high: f64, heading: &str) -> Self {
        let ends = low.is_finite() && high.is_finite() && low < high;
        let scale = match ends {
            true => Scale::between(low, high),
            // nothing to spread: one unit round the value
            false => {
                let middle = if low.is_finite() { low } else { 0.0 };
                Scale::between(middle - 0.5, middle + 0.5)
            }
        };
        Self { scale, names: Vec::new(), heading: heading.into() }
    }

    /// Even steps are ratios; both ends must be above zero, else the axis is linear.
    pub fn logarithmic(low: f64, high: f64, heading: &str) -> Self {
        let mut axis = Self::linear(low, high, heading);
        axis.scale.logarithmic = low > 0.0 && axis.scale.low == low;
        axis
    }

    /// From zero or, where positive values span more than thirtyfold, in ratios.
    ///
    /// `least` and `greatest` bound what must be told apart.
    pub fn fitting(least: f64, greatest: f64, heading: &str) -> Self {
        if least > 0.0 && greatest > LONG_SPAN * least {
            Self::logarithmic(0.8 * least, 1.2 * greatest, heading)
        } else {
            Self::linear(least.min(0.0), 1.06 * greatest, heading)
        }
    }

    /// One place for each name: the middle of number `k` is at `k + 0.5`.
    pub fn names(names: Vec<String>, heading: &str) -> Self {
        let mut axis = Self::linear(0.0, names.len() as f64, heading);
        axis.names = names;
        axis
    }

    /// Where a value is, 0 at the low end, 1 at the high one; never beyond them.
    pub fn fraction(&self, value: f64) -> f64 {
        self.scale.fraction(value)
    }

    /// True if a value lies on the axis.
    pub fn holds(&self, value: f64) -> bool {
        (self.scale.low..=self.scale.high).contains(&value)
    }

    /// True if even steps are ratios.
    pub fn is_logarithmic(&self) -> bool {
        self.scale.logarithmic
    }

    /// The ends.
    pub fn ends(&self) -> [f64; 2] {
        [self.scale.low, self.scale.high]
    }

    /// Round values with their words, about so many.
    pub fn ticks(&self, about: f64) -> Vec<(f64, String)> {
        if !self.names.is_empty() {
            let middles = self.names.iter().enumerate();
            return middles.map(|(k, name)| (k as f64 + 0.5, name.clone())).collect();
        }
        let about = (about as usize).max(2);
        let values = match self.scale.logarithmic {
            true => thinned(self.scale.ticks(about), about),
            false => linear_ticks(self.scale.low, self.scale.high, about),
        };
        values.into_iter().map(|value| (value, words(value))).collect()
    }
}

/// At most about so many of rising values: of a long range only the decades.
fn thinned(values: Vec<f64>, about: usize) -> Vec<f64> {
    if values.len() <= 2 * about {
        return values;
    }
    let decade = |v: &f64| (v.log10() - v.log10().round()).abs() < 1e-9;
    values.into_iter().filter(decade).collect()
}

/// A round value without trailing zeros.
fn words(value: f64) -> String {
    match value == 0.0 || (1e-3..1e6).contains(&value.abs()) {
        true => trimmed(value, 6),
        false => three(value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_span_is_shown_in_ratios_and_a_short_one_from_zero() {
        let short = Axis::fitting(2.0, 50.0, "µm");
        assert!(!short.is_logarithmic());
        assert_eq!(short.fraction(0.0), 0.0);
        let long = Axis::fitting(0.1, 50.0, "µm");
        assert!(long.is_logarithmic());
        // equal ratios are equal steps
        let step = long.fraction(1.0) - long.fraction(0.1);
        assert!((long.fraction(10.0) - long.fraction(1.0) - step).abs() < 1e-12);
        assert!(!Axis::fitting(0.0, 50.0, "µm").is_logarithmic());
    }

    #[test]
    fn ticks_are_round_and_lie_on_the_axis() {
        let texts = |axis: &Axis| axis.ticks(5.0).into_iter().map(|t| t.1).collect::<Vec<_>>();
        assert_eq!(texts(&Axis::linear(0.0, 24.0, "")), ["0", "5", "10", "15", "20"]);
        assert_eq!(
            texts(&Axis::logarithmic(0.5, 60.0, "")),
            ["0.5", "1", "2", "5", "10", "20", "50"]
        );
        assert_eq!(texts(&Axis::names(vec!["a".into(), "b".into()], "")), ["a", "b"]);
    }
}
