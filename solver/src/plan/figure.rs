//! The figures of an [`Outcome`] by name: columns of tables, axes of charts, aims and limits.
use super::outcome::Outcome;

/// A figure with its numerical uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The figure.
    pub value: f64,
    /// Its uncertainty in the same unit.
    pub doubt: f64,
}

impl Measured {
    /// A figure whose uncertainty follows that of another in proportion.
    fn like(value: f64, other: Measured) -> Self {
        let share = if other.value == 0.0 { 0.0 } else { other.doubt / other.value };
        Self { value, doubt: (value * share).abs() }
    }

    /// True if the difference to another exceeds the uncertainties of both.
    pub fn differs(&self, other: &Self) -> bool {
        (self.value - other.value).abs() > self.doubt + other.doubt
    }
}

/// What a figure measures; its SI unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// m.
    Thickness,
    /// s.
    Time,
    /// kg.
    Mass,
    /// A share of a whole, 0 to 1.
    Share,
    /// A plain number.
    Number,
    /// V.
    Potential,
    /// A.
    Current,
    /// A/m².
    CurrentDensity,
    /// W.
    Power,
}

/// A figure of an outcome.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Figure {
    /// Least thickness on the significant surface after the stated run.
    Least,
    /// Mean thickness there.
    Mean,
    /// Greatest thickness there.
    Greatest,
    /// Length of the stated run.
    Run,
    /// Time until the thinnest significant place has what is wanted.
    TimeToWanted,
    /// Greatest over least thickness on the significant surface.
    GreatestOverLeast,
    /// Standard deviation over mean thickness on the significant surface.
    Variation,
    /// Metal on the parts after the stated run.
    Metal,
    /// Metal on thieves after the stated run.
    ThiefMetal,
    /// Metal beyond what is wanted on the parts and all on thieves, after the stated run.
    Beyond,
    /// The same after the run that just reaches what is wanted.
    Wasted,
    /// Share of the parts' surface above the bath's good range.
    Burning,
    /// Share of the parts' surface below the bath's good range.
    Low,
    /// Share of the parts' surface below the covering threshold.
    Bare,
    /// Mean current density on the parts.
    Density,
    /// Greatest current density on the parts.
    PeakDensity,
    /// Current of all supplies.
    Current,
    /// Voltage of the first supply.
    Voltage,
    /// Power of all supplies.
    Power,
    /// Mean current density of the most loaded anode.
    AnodeDensity,
    /// The same over what anodes stand.
    AnodeUse,
    /// Wagner number.
    Wagner,
}

impl Figure {
    /// All of them, in the order of tables.
    pub const ALL: [Self; 22] = [
        Self::Least,
        Self::Mean,
        Self::Greatest,
        Self::Run,
        Self::TimeToWanted,
        Self::GreatestOverLeast,
        Self::Variation,
        Self::Metal,
        Self::ThiefMetal,
        Self::Beyond,
        Self::Wasted,
        Self::Burning,
        Self::Low,
        Self::Bare,
        Self::Density,
        Self::PeakDensity,
        Self::Current,
        Self::Voltage,
        Self::Power,
        Self::AnodeDensity,
        Self::AnodeUse,
        Self::Wagner,
    ];

    /// Its name in commands and columns.
    pub fn name(self) -> &'static str {
        match self {
            Self::Least => "least",
            Self::Mean => "mean",
            Self::Greatest => "greatest",
            Self::Run => "run",
            Self::TimeToWanted => "time-to-wanted",
            Self::GreatestOverLeast => "greatest-over-least",
            Self::Variation => "variation",
            Self::Metal => "metal",
            Self::ThiefMetal => "thief-metal",
            Self::Beyond => "beyond",
            Self::Wasted => "wasted",
            Self::Burning => "burning",
            Self::Low => "low",
            Self::Bare => "bare",
            Self::Density => "density",
            Self::PeakDensity => "peak-density",
            Self::Current => "current",
            Self::Voltage => "voltage",
            Self::Power => "power",
            Self::AnodeDensity => "anode-density",
            Self::AnodeUse => "anode-use",
            Self::Wagner => "wagner",
        }
    }

    /// What it is, in a few words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Least => "least thickness",
            Self::Mean => "mean thickness",
            Self::Greatest => "greatest thickness",
            Self::Run => "length of the run",
            Self::TimeToWanted => "time to the least wanted",
            Self::GreatestOverLeast => "greatest over least thickness",
            Self::Variation => "standard deviation over mean thickness",
            Self::Metal => "metal on the parts",
            Self::ThiefMetal => "metal on thieves",
            Self::Beyond => "metal beyond what is wanted",
            Self::Wasted => "metal beyond what is wanted when it is reached",
            Self::Burning => "surface that burns",
            Self::Low => "surface below the good range",
            Self::Bare => "surface that stays bare",
            Self::Density => "mean current density on the parts",
            Self::PeakDensity => "greatest current density on the parts",
            Self::Current => "current",
            Self::Voltage => "voltage",
            Self::Power => "power",
            Self::AnodeDensity => "current density of the busiest anode",
            Self::AnodeUse => "load of the busiest anode, of what it stands",
            Self::Wagner => "Wagner number",
        }
    }

    /// What it measures.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Least | Self::Mean | Self::Greatest => Dimension::Thickness,
            Self::Run | Self::TimeToWanted => Dimension::Time,
            Self::GreatestOverLeast | Self::Wagner => Dimension::Number,
            Self::Variation | Self::Burning | Self::Low | Self::Bare | Self::AnodeUse => {
                Dimension::Share
            }
            Self::Metal | Self::ThiefMetal | Self::Beyond | Self::Wasted => Dimension::Mass,
            Self::Density | Self::PeakDensity | Self::AnodeDensity => Dimension::CurrentDensity,
            Self::Current => Dimension::Current,
            Self::Voltage => Dimension::Potential,
            Self::Power => Dimension::Power,
        }
    }

    /// The figure of an outcome in SI units; `None` where it has none: no metal, no run, nothing
    /// wanted, a place that stays bare.
    pub fn of(self, outcome: &Outcome) -> Option<Measured> {
        let growth = outcome.growth.as_ref();
        let mean = growth.map(|g| g.mean);
        let grown = |rate: Measured| {
            outcome.run_s.map(|t| Measured { value: t * rate.value, doubt: t * rate.doubt })
        };
        // metal is as uncertain as the mean thickness
        let metal = |kg: f64| mean.map(|mean| Measured::like(kg, mean));
        let exact = |value: f64| Measured { value, doubt: 0.0 };
        let near = |value: f64| Measured { value, doubt: value.abs() * outcome.estimated_error };
        match self {
            Self::Least => grown(growth?.least),
            Self::Mean => grown(growth?.mean),
            Self::Greatest => grown(growth?.greatest),
            Self::Run => outcome.run_s.map(exact),
            Self::TimeToWanted => outcome.seconds_to_wanted(),
            Self::GreatestOverLeast => outcome.greatest_over_least(),
            Self::Variation => growth.map(|g| near(g.variation)),
            Self::Metal => outcome.run_s.and_then(|t| metal(t * outcome.metal_kg_s)),
            Self::ThiefMetal => outcome.run_s.and_then(|t| metal(t * outcome.thief_kg_s)),
            Self::Beyond => outcome.beyond_kg.and_then(metal),
            Self::Wasted => outcome.wasted_kg.and_then(metal),
            Self::Burning => outcome.burning,
            Self::Low => outcome.low,
            Self::Bare => outcome.bare,
            Self::Density => Some(outcome.density_a_m2),
            Self::PeakDensity => Some(outcome.peak_a_m2),
            Self::Current => (!outcome.feeds.is_empty()).then(|| Measured {
                value: outcome.feeds.iter().map(|f| f.amps.value).sum(),
                doubt: outcome.feeds.iter().map(|f| f.amps.doubt).sum(),
            }),
            Self::Voltage => outcome.feeds.first().map(|f| f.volts),
            Self::Power => Some(outcome.power_w),
            Self::AnodeDensity => Some(near(outcome.anode_a_m2)),
            Self::AnodeUse => outcome.anode_use.map(near),
            Self::Wagner => Some(exact(outcome.wagner)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_has_a_name_of_its_own() {
        let mut names: Vec<&str> = Figure::ALL.iter().map(|f| f.name()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Figure::ALL.len());
    }

    #[test]
    fn a_difference_within_both_uncertainties_is_none() {
        let a = Measured { value: 10.0, doubt: 0.2 };
        assert!(!a.differs(&Measured { value: 10.3, doubt: 0.2 }));
        assert!(a.differs(&Measured { value: 10.5, doubt: 0.2 }));
    }
}
