//! How evenly something lies on a surface: mean, least, greatest, and the usual ratios.
use shapes::Point;

use crate::solution::Spread;

impl Spread {
    /// Mean, least and greatest of `values` over stretches of the given areas, with the places
    /// where they are and the uncertainties they carry.
    ///
    /// The uncertainty of the mean is the mean uncertainty: neighbouring stretches err alike, so
    /// nothing is gained by averaging. Of equal values the first along the outline is named.
    ///
    /// `None` where there is no stretch of positive area. The four slices are read together and
    /// must have the same number of entries; the shortest rules.
    pub fn of(
        values: &[f64],
        areas: &[f64],
        places: &[Point],
        uncertainties: &[f64],
    ) -> Option<Self> {
        let rows = values.iter().zip(areas).zip(places).zip(uncertainties);
        let rows: Vec<(f64, f64, Point, f64)> =
            rows.map(|(((&v, &a), &p), &u)| (v, a, p, u)).filter(|row| row.1 > 0.0).collect();
        let total: f64 = rows.iter().map(|row| row.1).sum();
        let first = *rows.first()?;
        let (mut least, mut greatest) = (first, first);
        for &row in &rows {
            if row.0 < least.0 {
                least = row;
            }
            if row.0 > greatest.0 {
                greatest = row;
            }
        }
        // rounding must not put the mean of equal values outside them
        let mean = rows.iter().map(|row| row.0 * row.1).sum::<f64>() / total;
        Some(Self {
            mean: mean.clamp(least.0, greatest.0),
            min: least.0,
            max: greatest.0,
            min_at: least.2,
            max_at: greatest.2,
            mean_uncertainty: rows.iter().map(|row| row.3 * row.1).sum::<f64>() / total,
            min_uncertainty: least.3,
            max_uncertainty: greatest.3,
        })
    }
}

/// How even a distribution is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evenness {
    /// Least over mean; 1 when even, 0 or below where some places get nothing.
    pub min_over_mean: f64,
    /// Greatest over least; `None` where some place gets nothing.
    pub max_over_min: Option<f64>,
    /// Standard deviation over the surface against the mean; 0 when even.
    pub coefficient_of_variation: f64,
}

impl Evenness {
    /// Measures of `values` over stretches of the given areas.
    ///
    /// `None` where nothing has an area or the mean is not above zero.
    pub fn of(values: &[f64], areas: &[f64]) -> Option<Self> {
        let rows = || values.iter().zip(areas).filter(|row| *row.1 > 0.0);
        let total: f64 = rows().map(|row| row.1).sum();
        let mean = rows().map(|row| row.0 * row.1).sum::<f64>() / total;
        let positive = mean > 0.0 && mean.is_finite();
        if !positive {
            return None;
        }
        let min = rows().fold(f64::INFINITY, |least, row| least.min(*row.0));
        let max = rows().fold(f64::NEG_INFINITY, |most, row| most.max(*row.0));
        let variance =
            rows().map(|row| row.1 * (row.0 - mean) * (row.0 - mean)).sum::<f64>() / total;
        Some(Self {
            min_over_mean: min / mean,
            max_over_min: (min > 0.0).then(|| max / min),
            coefficient_of_variation: variance.sqrt() / mean,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn places(n: usize) -> Vec<Point> {
        (0..n).map(|k| Point::new(k as f64, 0.0)).collect()
    }

    #[test]
    fn large_stretches_weigh_more() {
        // by hand: (1·3 + 5·1) / 4 = 2; variance (3·1 + 1·9) / 4 = 3
        let spread = Spread::of(&[1.0, 5.0], &[3.0, 1.0], &places(2), &[0.1, 0.5]);
        let spread = spread.expect("two stretches");
        assert_eq!((spread.mean, spread.min, spread.max), (2.0, 1.0, 5.0));
        assert_eq!((spread.min_at.x, spread.max_at.x), (0.0, 1.0));
        assert_eq!((spread.min_uncertainty, spread.max_uncertainty), (0.1, 0.5));
        assert!((spread.mean_uncertainty - 0.2).abs() < 1e-16);
        let even = Evenness::of(&[1.0, 5.0], &[3.0, 1.0]).expect("a mean above zero");
        assert_eq!((even.min_over_mean, even.max_over_min), (0.5, Some(5.0)));
        assert!((even.coefficient_of_variation - 3f64.sqrt() / 2.0).abs() < 1e-15);
    }

    #[test]
    fn nothing_has_no_spread() {
        assert_eq!(Spread::of(&[], &[], &[], &[]), None);
        assert_eq!(Spread::of(&[1.0], &[0.0], &places(1), &[0.0]), None);
        assert_eq!(Evenness::of(&[], &[]), None);
        assert_eq!(Evenness::of(&[0.0, 0.0], &[1.0, 1.0]), None);
    }

    #[test]
    fn a_bare_place_has_no_ratio() {
        let even = Evenness::of(&[0.0, 2.0], &[1.0, 1.0]).expect("a mean above zero");
        assert_eq!((even.min_over_mean, even.max_over_min), (0.0, None));
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

        #[test]
        fn cutting_a_stretch_in_two_changes_nothing(
            rows in prop::collection::vec((0.1..10.0f64, 0.01..5.0f64), 1..20),
            at in 0usize..20, share in 0.1..0.9f64,
        ) {
            let (mut values, mut areas): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let before = Evenness::of(&values, &areas).expect("positive");
            let at = at % values.len();
            values.insert(at, values[at]);
            areas.insert(at, areas[at] * share);
            areas[at + 1] *= 1.0 - share;
            let after = Evenness::of(&values, &areas).expect("positive");
            prop_assert!((before.min_over_mean - after.min_over_mean).abs() < 1e-12);
            prop_assert_eq!(before.max_over_min, after.max_over_min);
            let moved = before.coefficient_of_variation - after.coefficient_of_variation;
            prop_assert!(moved.abs() < 1e-7);
            let n = values.len();
            let spread = Spread::of(&values, &areas, &places(n), &vec![0.0; n]).expect("stretches");
            prop_assert!(spread.min <= spread.mean && spread.mean <= spread.max);
        }
    }
}
