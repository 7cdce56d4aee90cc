//! What may be varied, and over which values.

/// Something that may take several values.
#[derive(Debug, Clone, PartialEq)]
pub struct Variable {
    /// Its name; what it means is up to the [`Model`](super::Model).
    pub name: String,
    /// Its values.
    pub values: Values,
}

/// The values of a variable.
#[derive(Debug, Clone, PartialEq)]
pub enum Values {
    /// Any between two ends.
    Between {
        /// One end.
        low: f64,
        /// The other; not below `low`.
        high: f64,
        /// Where the values between them lie.
        scale: Scale,
        /// Values are whole multiples of this where it is stated: what can be measured at the tank.
        step: Option<f64>,
    },
    /// One of these, in the order of their size.
    Listed(Vec<f64>),
    /// One of so many alternatives without an order; their values are 0, 1, 2, ...
    Choice(usize),
}

/// How values lie between two ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// At equal differences.
    #[default]
    Linear,
    /// At equal ratios; both ends are positive.
    Logarithmic,
}

impl Values {
    /// The value at a place between the ends, 0 to 1; of a list or choice each value has an equal
    /// share of the places.
    pub fn at(&self, place: f64) -> f64 {
        let place = place.clamp(0.0, 1.0);
        let nth = |count: usize| ((place * count as f64) as usize).min(count.saturating_sub(1));
        match self {
            Self::Between { low, high, scale, step } => {
                let value = match scale {
                    Scale::Linear => low + place * (high - low),
                    Scale::Logarithmic => low * libm::pow(high / low, place),
                };
                let value = match step {
                    Some(step) => whole(value, *step, *low, *high),
                    None => value,
                };
                value.clamp(*low, *high)
            }
            Self::Listed(values) => values.get(nth(values.len())).copied().unwrap_or(0.0),
            Self::Choice(count) => nth(*count) as f64,
        }
    }

    /// The place, 0 to 1, of a value: the middle of its share for lists and choices.
    pub fn place(&self, value: f64) -> f64 {
        let middle = |k: usize, count: usize| (k as f64 + 0.5) / count.max(1) as f64;
        match self {
            Self::Between { low, high, .. } if high <= low => 0.5,
            Self::Between { low, high, scale: Scale::Linear, .. } => {
                ((value - low) / (high - low)).clamp(0.0, 1.0)
            }
            Self::Between { low, high, scale: Scale::Logarithmic, .. } => {
                (libm::log(value / low) / libm::log(high / low)).clamp(0.0, 1.0)
            }
            Self::Listed(values) => {
                let apart = |k: &usize| (values[*k] - value).abs();
                let nearest = (0..values.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)));
                middle(nearest.unwrap_or(0), values.len())
            }
            Self::Choice(count) => middle(value.max(0.0) as usize, *count),
        }
    }

    /// `count` values from end to end; all of a list or choice.
    pub fn grid(&self, count: usize) -> Vec<f64> {
        match self {
            Self::Between { .. } if count <= 1 => vec![self.at(0.5)],
            Self::Between { .. } => {
                let mut out: Vec<f64> =
                    (0..count).map(|k| self.at(k as f64 / (count - 1) as f64)).collect();
                out.dedup();
                out
            }
            Self::Listed(values) => values.clone(),
            Self::Choice(count) => (0..*count).map(|k| k as f64).collect(),
        }
    }

    /// True if `value` is between the ends, on the list, or one of the alternatives; steps do not
    /// matter.
    pub fn holds(&self, value: f64) -> bool {
        match self {
            Self::Between { low, high, .. } => (*low..=*high).contains(&value),
            Self::Listed(values) => values.contains(&value),
            Self::Choice(count) => (0..*count).any(|k| k as f64 == value),
        }
    }

    /// True if the values have no order or are few: each is tried for itself.
    pub fn is_discrete(&self) -> bool {
        !matches!(self, Self::Between { .. })
    }
}

/// The whole multiple of `step` nearest to `value` among those between the ends; `value` itself
/// where there is none.
fn whole(value: f64, step: f64, low: f64, high: f64) -> f64 {
    let first = (low / step - 1e-9).ceil();
    let last = (high / step + 1e-9).floor();
    if first > last { value } else { (value / step).round().clamp(first, last) * step }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn between(low: f64, high: f64, scale: Scale, step: Option<f64>) -> Values {
        Values::Between { low, high, scale, step }
    }

    #[test]
    fn grids_run_from_end_to_end() {
        let linear = between(40.0, 160.0, Scale::Linear, None);
        assert_eq!(linear.grid(4), [40.0, 80.0, 120.0, 160.0]);
        let log = between(1.0, 100.0, Scale::Logarithmic, None).grid(3);
        assert!((log[1] - 10.0).abs() < 1e-12 && log[0] == 1.0 && (log[2] - 100.0).abs() < 1e-12);
        // a step coarser than the grid gives each value once
        assert_eq!(between(0.0, 1.0, Scale::Linear, Some(0.5)).grid(9), [0.0, 0.5, 1.0]);
        assert_eq!(Values::Choice(3).grid(9), [0.0, 1.0, 2.0]);
    }

    #[test]
    fn the_place_of_a_value_gives_the_value_back() {
        let all = [
            between(-3.0, 5.0, Scale::Linear, None),
            between(0.02, 7.0, Scale::Logarithmic, None),
            between(0.0, 1.0, Scale::Linear, Some(0.125)),
            Values::Listed(vec![1.0, 2.0, 4.0, 8.0]),
            Values::Choice(5),
        ];
        for values in all {
            for k in 0..=16 {
                let value = values.at(f64::from(k) / 16.0);
                let back = values.at(values.place(value));
                assert!((back - value).abs() <= 1e-12 * value.abs(), "{values:?} {value} {back}");
            }
        }
    }

    #[test]
    fn steps_stay_within_the_ends() {
        let values = between(0.013, 0.087, Scale::Linear, Some(0.005));
        assert!((values.at(0.0) - 0.015).abs() < 1e-12 && (values.at(1.0) - 0.085).abs() < 1e-12);
        // no multiple between the ends
        assert_eq!(between(0.011, 0.014, Scale::Linear, Some(0.005)).at(0.0), 0.011);
    }
}
