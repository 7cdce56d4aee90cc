//! From numbers to colours and back: ranges, round ticks, the colour maps.
//!
//! Colour maps are viridis and cividis: even steps in the number look like even steps, also to
//! colour-blind eyes and in grey print.

use colorous::Gradient;

/// A range of values and how it is spread over colours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Value of the first colour.
    pub low: f64,
    /// Value of the last colour.
    pub high: f64,
    /// Even steps are ratios rather than differences.
    pub logarithmic: bool,
    /// Some values lie below `low`.
    pub more_below: bool,
    /// Some values lie above `high`.
    pub more_above: bool,
}

/// A linear scale whose lowest colours, this share of all, would hold half of the values shows
/// little: then even steps are ratios.
const DARK: f64 = 0.2;
/// A linear scale that would start below this share of its top starts at zero.
const NEAR_ZERO: f64 = 0.1;
/// Longest range of ratios: below a thirtieth of the top, "hardly any" says it all.
const LONGEST_RATIO: f64 = 30.0;

impl Scale {
    /// A scale for positive values between the `from` and `to` quantiles (0 to 1), so that a
    /// corner's peak does not wash out the picture; the top reaches at least `at_least`.
    ///
    /// Values need no order; those that are not finite are left out.
    pub fn robust(mut values: Vec<f64>, from: f64, to: f64, at_least: f64) -> Self {
        values.retain(|v| v.is_finite());
        values.sort_by(f64::total_cmp);
        let (Some(&least), Some(&most)) = (values.first(), values.last()) else {
            return Self::between(0.0, 1.0);
        };
        let pick = |q: f64| values[((values.len() - 1) as f64 * q).round() as usize];
        let high = pick(to).max(at_least.min(most));
        let low = pick(from).min(high);
        if high <= 0.0 {
            return Self::between(0.0, 1.0);
        }
        let ends = |low: f64, logarithmic: bool| Self {
            logarithmic,
            more_below: least < low,
            more_above: most > high,
            low,
            high,
        };
        if pick(0.5) < low + DARK * (high - low) {
            return ends(pick(0.1).max(high / LONGEST_RATIO), true);
        }
        // nearly even: leave room, or rounding noise would fill the whole range of colours
        if high - low < 0.05 * high {
            return Self::between((low * 0.9).min(low), high * 1.1);
        }
        ends(if low < NEAR_ZERO * high { 0.0 } else { low }, false)
    }

    /// A linear scale that holds every value.
    pub fn between(low: f64, high: f64) -> Self {
        Self { low, high, logarithmic: false, more_below: false, more_above: false }
    }

    /// Where a value sits, 0 at the first colour, 1 at the last.
    pub fn fraction(&self, value: f64) -> f64 {
        let t = if self.logarithmic {
            (value.max(f64::MIN_POSITIVE) / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        if t.is_finite() { t.clamp(0.0, 1.0) } else { 0.0 }
    }

    /// The value at a fraction of the range.
    #[cfg(test)]
    pub fn value(&self, fraction: f64) -> f64 {
        if self.logarithmic {
            self.low * (self.high / self.low).powf(fraction)
        } else {
            self.low + (self.high - self.low) * fraction
        }
    }

    /// The same scale in other units.
    pub fn times(&self, factor: f64) -> Self {
        Self { low: self.low * factor, high: self.high * factor, ..*self }
    }

    /// Round values inside the range, rising: 1, 2, 5 of each decade or even steps.
    pub fn ticks(&self, about: usize) -> Vec<f64> {
        if !self.logarithmic {
            return linear_ticks(self.low, self.high, about);
        }
        let decades = (self.high / self.low).log10();
        let factors: &[f64] = match decades {
            d if d > 2.2 => &[1.0, 3.0],
            d if d > 1.2 => &[1.0, 2.0, 5.0],
            _ => &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0],
        };
        let (first, last) = (self.low.log10().floor() as i32, self.high.log10().ceil() as i32);
        (first..=last)
            .flat_map(|e| factors.iter().map(move |f| f * 10f64.powi(e)))
            .filter(|v| *v >= self.low && *v <= self.high)
            .collect()
    }
}

/// Round values in `low..=high`, about so many.
pub fn linear_ticks(low: f64, high: f64, about: usize) -> Vec<f64> {
    if low.partial_cmp(&high) != Some(std::cmp::Ordering::Less) {
        return Vec::new();
    }
    let step = nice_step((high - low) / about.max(1) as f64);
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last).map(|k| k as f64 * step).collect()
}

/// The smallest of 1, 2, 5 times a power of ten that is not below `at_least`.
pub fn nice_step(at_least: f64) -> f64 {
    let decade = 10f64.powf(at_least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|f| f * decade)
        .find(|s| *s >= at_least * (1.0 - 1e-9))
        .unwrap_or(10.0 * decade)
}

/// The largest of 1, 2, 5 times a power of ten that is not above `at_most`.
pub fn nice_below(at_most: f64) -> f64 {
    let decade = 10f64.powf(at_most.log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|f| f * decade)
        .find(|s| *s <= at_most * (1.0 + 1e-9))
        .unwrap_or(decade)
}

/// The largest of 1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten that is not above
/// `at_most`.
pub fn fine_below(at_most: f64) -> f64 {
    let decade = 10f64.powf(at_most.log10().floor());
    [8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.25, 1.0]
        .into_iter()
        .map(|f| f * decade)
        .find(|s| *s <= at_most * (1.0 + 1e-9))
        .unwrap_or(decade)
}

/// Colour of a fraction of a map, as bytes.
pub fn rgb(map: Gradient, fraction: f64) -> [u8; 3] {
    let c = map.eval_continuous(fraction);
    [c.r, c.g, c.b]
}

/// Colour of a fraction of a map, as SVG text.
pub fn hex(map: Gradient, fraction: f64) -> String {
    let [r, g, b] = rgb(map, fraction);
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1000 values from 1 to 2 and one peak of 500: the peak is marked and does not set the range.
    #[test]
    fn a_peak_does_not_wash_out_the_range() {
        let mut values: Vec<f64> = (0..1000).map(|k| 1.0 + f64::from(k) / 1000.0).collect();
        values.push(500.0);
        let scale = Scale::robust(values, 0.02, 0.98, 0.0);
        assert!(!scale.logarithmic && scale.more_above && scale.more_below);
        assert!((scale.low - 1.02).abs() < 0.002 && (scale.high - 1.98).abs() < 0.002);
    }

    #[test]
    fn wide_ranges_are_logarithmic_and_even_ones_keep_room() {
        let wide = Scale::robust(
            (0..100).map(|k| 10f64.powf(f64::from(k) / 50.0)).collect(),
            0.0,
            1.0,
            0.0,
        );
        assert!(wide.logarithmic);
        assert!((wide.fraction(wide.value(0.3)) - 0.3).abs() < 1e-12);
        assert_eq!(wide.ticks(6), [5.0, 10.0, 20.0, 50.0]);
        let even = Scale::robust(vec![200.0; 50], 0.02, 0.98, 0.0);
        assert!((even.fraction(200.0) - 0.5).abs() < 1e-9 && !even.more_above);
    }

    #[test]
    fn odd_input_gives_a_usable_scale() {
        for values in [vec![], vec![0.0; 4], vec![f64::NAN, f64::INFINITY]] {
            let scale = Scale::robust(values, 0.02, 0.98, 0.0);
            assert_eq!((scale.low, scale.high), (0.0, 1.0));
        }
        assert_eq!(Scale::between(0.0, 10.0).fraction(f64::NAN), 0.0);
    }

    /// Relative luminance (Recommendation ITU-R BT.709, from linear sRGB) rises along both maps, so
    /// a grey print keeps the order.
    #[test]
    fn lightness_rises_along_every_colour_map() {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        for map in [super::super::map::COLOURS, super::super::profile::COLOURS] {
            let luminance: Vec<f64> = (0..=100)
                .map(|k| {
                    let [r, g, b] = rgb(map, f64::from(k) / 100.0).map(linear);
                    0.2126 * r + 0.7152 * g + 0.0722 * b
                })
                .collect();
            assert!(luminance.windows(2).all(|pair| pair[1] > pair[0]), "{luminance:?}");
            assert!(luminance[100] > 15.0 * luminance[0]);
        }
    }

    #[test]
    fn ticks_and_steps_are_round() {
        assert_eq!(linear_ticks(0.0, 600.0, 6), [0.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0]);
        assert_eq!(nice_step(0.3), 0.5);
        assert_eq!(nice_below(870.0), 500.0);
        assert!(linear_ticks(1.0, 1.0, 5).is_empty());
    }
}
