//! Numbers and units as a plater reads them: three significant digits, shop units.

use shapes::Point;
use solver::quantity::{CurrentDensity, Length};

/// Which shop units people read; files for machines are SI with the unit in the name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DisplayUnits {
    /// mm, µm, A/dm².
    #[default]
    Metric,
    /// inch, mil (with µm beside it), A/ft².
    Us,
}

/// Metres in an inch, exactly.
const INCH_M: f64 = 0.0254;
/// Cubic metres in a US gallon, exactly 231 cubic inches.
const GALLON_M3: f64 = 231.0 * INCH_M * INCH_M * INCH_M;

impl DisplayUnits {
    /// Unit of lengths and coordinates.
    pub fn length_unit(self) -> &'static str {
        match self {
            DisplayUnits::Metric => "mm",
            DisplayUnits::Us => "in",
        }
    }

    /// A length in metres as a number in [`Self::length_unit`].
    pub fn length(self, metres: f64) -> f64 {
        match self {
            DisplayUnits::Metric => Length::new(metres).to_mm(),
            DisplayUnits::Us => metres / INCH_M,
        }
    }

    /// Metres in one [`Self::length_unit`].
    pub fn length_unit_m(self) -> f64 {
        match self {
            DisplayUnits::Metric => 1e-3,
            DisplayUnits::Us => INCH_M,
        }
    }

    /// A length as drawn, to a hundredth of a millimetre or a thousandth of an inch.
    pub fn size(self, metres: f64) -> String {
        let decimals = match self {
            DisplayUnits::Metric => 2,
            DisplayUnits::Us => 3,
        };
        trimmed(self.length(metres), decimals)
    }

    /// The same with its unit.
    pub fn size_text(self, metres: f64) -> String {
        format!("{} {}", self.size(metres), self.length_unit())
    }

    /// A distance between bodies, to a tenth of a millimetre or a hundredth of an inch.
    pub fn clearance_text(self, metres: f64) -> String {
        self.coordinate_text(metres)
    }

    /// A place, as `x 340 mm, y 200 mm`.
    pub fn place_text(self, p: Point) -> String {
        format!("x {}, y {}", self.coordinate_text(p.x), self.coordinate_text(p.y))
    }

    /// A coordinate with its unit, to a tenth of a millimetre or a hundredth of an inch.
    fn coordinate_text(self, metres: f64) -> String {
        let decimals = match self {
            DisplayUnits::Metric => 1,
            DisplayUnits::Us => 2,
        };
        format!("{} {}", trimmed(self.length(metres), decimals), self.length_unit())
    }

    /// Unit of current densities.
    pub fn density_unit(self) -> &'static str {
        match self {
            DisplayUnits::Metric => "A/dm²",
            DisplayUnits::Us => "A/ft²",
        }
    }

    /// A current density in A/m² as a number in [`Self::density_unit`].
    pub fn density(self, a_m2: f64) -> f64 {
        match self {
            DisplayUnits::Metric => CurrentDensity::new(a_m2).to_a_dm2(),
            DisplayUnits::Us => CurrentDensity::new(a_m2).to_a_ft2(),
        }
    }

    /// A current density with its unit.
    pub fn density_text(self, a_m2: f64) -> String {
        format!("{} {}", three(self.density(a_m2)), self.density_unit())
    }

    /// A current density with its uncertainty and unit.
    pub fn density_pm(self, a_m2: f64, uncertainty: f64) -> String {
        let text = plus_minus(self.density(a_m2), self.density(uncertainty));
        format!("{text} {}", self.density_unit())
    }

    /// A thickness with its uncertainty and unit.
    pub fn thickness_pm(self, metres: f64, uncertainty: f64) -> String {
        let text = plus_minus(self.thickness(metres), self.thickness(uncertainty));
        match self {
            DisplayUnits::Metric => format!("{text} µm"),
            DisplayUnits::Us => {
                format!("{text} mil ({} µm)", three(Length::new(metres).to_um()))
            }
        }
    }

    /// A section of metal in m² with its unit.
    pub fn section_text(self, m2: f64) -> String {
        match self {
            DisplayUnits::Metric => format!("{} mm²", three(1e6 * m2)),
            DisplayUnits::Us => format!("{} in²", three(m2 / (INCH_M * INCH_M))),
        }
    }

    /// A volume of bath in m³ with its unit.
    pub fn volume_text(self, m3: f64) -> String {
        match self {
            DisplayUnits::Metric => format!("{} L", three(1e3 * m3)),
            DisplayUnits::Us => format!("{} gal", three(m3 / GALLON_M3)),
        }
    }

    /// A rate of warming in K/h with its unit.
    pub fn warming_text(self, k_h: f64) -> String {
        match self {
            DisplayUnits::Metric => format!("{} °C an hour", three(k_h)),
            DisplayUnits::Us => format!("{} °F an hour", three(1.8 * k_h)),
        }
    }

    /// Unit of thicknesses on axes and bars.
    pub fn thickness_unit(self) -> &'static str {
        match self {
            DisplayUnits::Metric => "µm",
            DisplayUnits::Us => "mil",
        }
    }

    /// A thickness in metres as a number in [`Self::thickness_unit`].
    pub fn thickness(self, metres: f64) -> f64 {
        match self {
            DisplayUnits::Metric => Length::new(metres).to_um(),
            DisplayUnits::Us => metres / (INCH_M * 1e-3),
        }
    }

    /// A thickness with its unit; US shops get micrometres beside their mils.
    pub fn thickness_text(self, metres: f64) -> String {
        let um = three(Length::new(metres).to_um());
        match self {
            DisplayUnits::Metric => format!("{um} µm"),
            DisplayUnits::Us => format!("{} mil ({um} µm)", three(self.thickness(metres))),
        }
    }
}

/// A value with its uncertainty, as `6.10 ± 0.06`; one digit of the uncertainty is enough.
pub fn plus_minus(value: f64, uncertainty: f64) -> String {
    let text = three(value);
    let uncertainty = uncertainty.abs();
    if !uncertainty.is_finite() {
        return text;
    }
    // not finer than the last digit shown of the value
    let last = 10f64.powi(value.abs().log10().floor().max(-4.0) as i32 - 2);
    let decimals = (-last.log10().round()).clamp(0.0, 9.0) as usize;
    let shown = (uncertainty / last).ceil().max(1.0) * last;
    if value == 0.0 { text } else { format!("{text} ± {}", trimmed(shown, decimals)) }
}

/// Three significant digits without an exponent where that stays readable.
pub fn three(value: f64) -> String {
    if !value.is_finite() {
        return "unknown".into();
    }
    let size = value.abs();
    if size == 0.0 {
        return "0".into();
    }
    if !(1e-4..1e7).contains(&size) {
        return format!("{value:.2e}");
    }
    // digits before the point after rounding to three: 9.996 is 10.0
    let rounded: f64 = format!("{size:.2e}").parse().unwrap_or(size);
    let whole = rounded.log10().floor() as i32;
    if whole >= 2 {
        let unit = 10f64.powi(whole - 2);
        format!("{:.0}", (value / unit).round() * unit)
    } else {
        format!("{value:.*}", (2 - whole) as usize)
    }
}

/// At most `decimals` decimals, without trailing zeros and without a negative zero.
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.into() }
}

/// A share between 0 and 1 in percent, never rounded to nothing.
pub fn percent(share: f64) -> String {
    let value = share * 100.0;
    if value > 0.0 && value < 0.1 {
        "under 0.1 %".into()
    } else if value >= 10.0 {
        format!("{value:.0} %")
    } else {
        format!("{} %", trimmed(value, 1))
    }
}

/// `1 minute`, `25 minutes`, `3 h 20 min` from seconds.
pub fn duration(seconds: f64) -> String {
    let minutes = seconds / 60.0;
    if !minutes.is_finite() {
        "unknown time".into()
    } else if minutes < 1.0 {
        format!("{} s", three(seconds))
    } else if minutes < 180.0 {
        format!("{} min", trimmed(minutes, if minutes < 10.0 { 1 } else { 0 }))
    } else {
        let whole = minutes.round();
        format!("{} h {} min", (whole / 60.0).floor(), whole % 60.0)
    }
}

/// The name of a bath value in words, for pictures; `bath.cathode.slope` is the Tafel slope at the
/// cathode. What has no words keeps its name.
pub fn bath_words(key: &str) -> String {
    let plain = match key {
        "bath.conductivity" => "conductivity",
        "bath.threshold" => "covering threshold",
        "bath.efficiency" => "current efficiency",
        "bath.limiting" => "limiting current density",
        "bath.anode_limit" => "limit of the anodes",
        "bath.tank_voltage" => "usual voltage",
        _ => "",
    };
    if !plain.is_empty() {
        return plain.into();
    }
    let law = key.strip_prefix("bath.").and_then(|rest| rest.split_once('.'));
    let what = match law.map(|(_, what)| what) {
        Some("exchange") => "exchange current density",
        Some("slope") => "Tafel slope",
        Some("limiting") => "limiting current density",
        Some("resistance") => "polarization resistance",
        Some("rest") => "rest potential",
        _ => return key.into(),
    };
    let pole = law.map_or("", |(pole, _)| pole);
    format!("{what} of the {pole}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_significant_digits_at_every_size() {
        let texts: Vec<_> = [
            6.0951,
            22.0,
            9.996,
            99.95,
            999.6,
            48.23,
            0.0123456,
            12345.0,
            -3.2579,
            0.0,
            1.0,
            2.5e-9,
            123456789.0,
        ]
        .into_iter()
        .map(three)
        .collect();
        assert_eq!(
            texts,
            [
                "6.10", "22.0", "10.0", "100", "1000", "48.2", "0.0123", "12300", "-3.26", "0",
                "1.00", "2.50e-9", "1.23e8"
            ]
        );
        assert_eq!(three(f64::NAN), "unknown");
    }

    #[test]
    fn an_uncertainty_is_rounded_up_and_never_finer_than_the_value() {
        assert_eq!(plus_minus(6.0951, 0.0512), "6.10 ± 0.06");
        assert_eq!(plus_minus(48.2, 0.001), "48.2 ± 0.1");
        assert_eq!(plus_minus(1234.0, 8.0), "1230 ± 10");
        assert_eq!(plus_minus(0.0, 0.1), "0");
        assert_eq!(plus_minus(22.0, f64::NAN), "22.0");
    }

    #[test]
    fn us_shops_read_mil_with_micrometres_beside_it() {
        // 1 mil = 25.4 µm and 1 in = 25.4 mm by definition
        assert_eq!(DisplayUnits::Us.thickness_text(25.4e-6), "1.00 mil (25.4 µm)");
        assert_eq!(DisplayUnits::Us.size_text(0.254), "10 in");
        assert_eq!(DisplayUnits::Metric.thickness_text(25.4e-6), "25.4 µm");
        // 1 A/ft² = 10.7639 A/m²
        assert_eq!(DisplayUnits::Us.density_text(107.639104), "10.0 A/ft²");
    }

    #[test]
    fn places_percents_and_times_read_naturally() {
        let p = Point::new(0.34, 0.2000004);
        assert_eq!(DisplayUnits::Metric.place_text(p), "x 340 mm, y 200 mm");
        assert_eq!(percent(0.00002), "under 0.1 %");
        assert_eq!(percent(0.034), "3.4 %");
        assert_eq!(percent(0.5), "50 %");
        assert_eq!(duration(1500.0), "25 min");
        assert_eq!(duration(12000.0), "3 h 20 min");
    }
}
