//! Sentences of the lesson. Each is built from computed numbers, and says only what they say.

use solver::plan::Measured;

use super::reading::{PathTo, Place, Reading};
use crate::output::DisplayUnits::Metric;
use crate::output::{plus_minus, three};

/// How a row of numbers goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trend {
    /// Every one is greater than the one before, beyond the uncertainties.
    Rises,
    /// Every one is less.
    Falls,
    /// Neither.
    Mixed,
}

/// How a row of numbers goes, beyond what their uncertainties allow to tell.
pub fn trend(row: &[Measured]) -> Trend {
    let beyond = |a: &Measured, b: &Measured| b.value - a.value > a.doubt + b.doubt;
    if row.windows(2).all(|p| beyond(&p[0], &p[1])) {
        Trend::Rises
    } else if row.windows(2).all(|p| beyond(&p[1], &p[0])) {
        Trend::Falls
    } else {
        Trend::Mixed
    }
}

/// Thickness with its uncertainty.
pub fn um(f: Measured) -> String {
    if f.value == 0.0 { "nothing".into() } else { Metric.thickness_pm(f.value, f.doubt) }
}

/// A share with its uncertainty.
pub fn percent(f: Measured) -> String {
    format!("{} %", plus_minus(f.value * 100.0, f.doubt * 100.0))
}

/// What the paths of the current say.
pub fn paths(rows: &[PathTo]) -> Vec<String> {
    let find = |place| rows.iter().find(|r| r.place == place);
    let (Some(rim), Some(bottom)) = (find(Place::Rim), find(Place::Bottom)) else {
        return Vec::new();
    };
    let mut said = vec![format!(
        "Between the anode and one square centimetre at {} lie {} Ω of bath; at {} it is {} Ω, {} times as much. Behind both sits the resistance of the reaction on the surface, {} and {} Ω.",
        rim.place.word(),
        three(rim.bath_ohm_m2 * 1e4),
        bottom.place.word(),
        three(bottom.bath_ohm_m2 * 1e4),
        three(bottom.bath_ohm_m2 / rim.bath_ohm_m2),
        three(rim.surface_ohm_m2 * 1e4),
        three(bottom.surface_ohm_m2 * 1e4),
    )];
    said.push(format!(
        "All these paths hang on the same two bars like resistors in parallel: the current density is {} A/dm² at the rim and {} A/dm² at the bottom.",
        three(rim.density_a_m2 / 100.0),
        three(bottom.density_a_m2 / 100.0)
    ));
    said.push(match bottom.tubes {
        0 => format!(
            "Of {} equal shares of the current not one ends on the bottom; {} end on the rim.",
            super::reading::TUBES,
            rim.tubes
        ),
        n => format!(
            "Of {} equal shares of the current {n} end on the bottom and {} on the rim.",
            super::reading::TUBES,
            rim.tubes
        ),
    });
    said
}

/// What a row of recesses may say.
#[derive(Debug, Clone, Copy)]
pub struct Sayings {
    /// If the bottom gains on the rim from case to case.
    pub rises: &'static str,
    /// If it loses.
    pub falls: &'static str,
    /// If it neither gains nor loses throughout.
    pub mixed: &'static str,
    /// If all cases lie within [`HARDLY`] of each other.
    pub hardly: &'static str,
}

/// A spread between cases that a plater would not call a difference, as a share of the greatest.
const HARDLY: f64 = 0.1;

/// What a row of recesses says.
pub fn row(readings: &[Reading], sayings: Sayings) -> String {
    let shares: Vec<Measured> = readings.iter().map(Reading::evenness).collect();
    let (Some(first), Some(last)) = (shares.first(), shares.last()) else { return String::new() };
    let most = shares.iter().map(|f| f.value).fold(0.0, f64::max);
    let least = shares.iter().map(|f| f.value).fold(f64::INFINITY, f64::min);
    let say = match trend(&shares) {
        _ if most - least < HARDLY * most => sayings.hardly,
        Trend::Rises => sayings.rises,
        Trend::Falls => sayings.falls,
        Trend::Mixed => sayings.mixed,
    };
    format!(
        "{say} In these {} cases the bottom gets {} of the thickest place in the first and {} in the last.",
        shares.len(),
        percent(*first),
        percent(*last)
    )
}

/// What an aid does, beside the recess without it.
pub fn aid(what: &str, with: &Reading, without: &Reading) -> String {
    let (a, b) = (with.bottom, without.bottom);
    let bottom = if (a.value - b.value).abs() <= a.doubt + b.doubt {
        format!("leaves the bottom as it is ({})", um(a))
    } else {
        let how = if a.value > b.value { "raises" } else { "lowers" };
        format!("{how} the bottom from {} to {}", um(b), um(a))
    };
    let (a, b) = (with.rim, without.rim);
    let rim = if (a.value - b.value).abs() <= a.doubt + b.doubt {
        format!("leaves the thickest place at {}", um(a))
    } else {
        let how = if a.value > b.value { "raises" } else { "lowers" };
        format!("{how} the thickest place from {} to {}", um(b), um(a))
    };
    let (a, b) = (with.evenness(), without.evenness());
    let verdict = if a.value - b.value > a.doubt + b.doubt {
        "The deposit is evener"
    } else if b.value - a.value > a.doubt + b.doubt {
        "The deposit is less even"
    } else {
        "The evenness is the same within the numerical uncertainty"
    };
    format!(
        "{what} {bottom} and {rim}. {verdict}: the bottom has {} of the thickest place, {} without.",
        percent(a),
        percent(b)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(value: f64) -> Measured {
        Measured { value, doubt: 0.1 }
    }

    #[test]
    fn a_trend_is_only_what_exceeds_the_uncertainty() {
        let row = |v: &[f64]| trend(&v.iter().map(|v| figure(*v)).collect::<Vec<_>>());
        assert_eq!(row(&[1.0, 2.0, 3.0]), Trend::Rises);
        assert_eq!(row(&[3.0, 2.0, 1.0]), Trend::Falls);
        assert_eq!(row(&[3.0, 2.0, 1.9]), Trend::Mixed);
        assert_eq!(row(&[1.0, 3.0, 2.0]), Trend::Mixed);
    }
}
