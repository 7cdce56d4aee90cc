//! What a unit measures: powers of ampere, volt, metre, second, kelvin, kilogram and mole.
//!
//! Volt stands beside ampere as a base here (instead of the kilogram of mechanics), because every
//! electrical unit of a plating shop is then a product of small powers: ohm = V/A, S = A/V.

use std::ops::{Mul, Neg, Sub};

/// Powers of the base units, in the order A, V, m, s, K, kg, mol.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dimension(pub [i8; 7]);

impl Dimension {
    /// A plain number.
    pub const NONE: Self = Self([0; 7]);

    /// Product of powers of A, V and m; the other powers are zero.
    pub const fn electrical(ampere: i8, volt: i8, metre: i8) -> Self {
        Self([ampere, volt, metre, 0, 0, 0, 0])
    }

    /// This dimension to a small whole power; powers beyond an `i8` stay at its limit.
    pub fn powi(self, power: i8) -> Self {
        Self(self.0.map(|p| p.saturating_mul(power)))
    }
}

impl Mul for Dimension {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        Self(std::array::from_fn(|k| self.0[k].saturating_add(other.0[k])))
    }
}

impl Neg for Dimension {
    type Output = Self;

    fn neg(self) -> Self {
        self.powi(-1)
    }
}

impl Sub for Dimension {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self * -other
    }
}

/// A kind of quantity that a job file may state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Electric current.
    Current,
    /// Current per electrode area.
    CurrentDensity,
    /// Conductivity of the bath.
    Conductivity,
    /// Potential or voltage.
    Potential,
    /// Resistance times area.
    AreaResistance,
    /// Resistance of a lead.
    Resistance,
    /// Absolute temperature.
    Temperature,
    /// Span of time.
    Time,
    /// Length or thickness.
    Length,
    /// Electric charge.
    Charge,
    /// Share of a whole.
    Fraction,
    /// Mass per amount of substance.
    MolarMass,
    /// Mass per volume.
    Density,
}

impl Kind {
    /// Every kind, in the order in which error messages try them.
    pub const ALL: [Self; 13] = [
        Self::Current,
        Self::CurrentDensity,
        Self::Conductivity,
        Self::Potential,
        Self::AreaResistance,
        Self::Resistance,
        Self::Temperature,
        Self::Time,
        Self::Length,
        Self::Charge,
        Self::Fraction,
        Self::MolarMass,
        Self::Density,
    ];

    /// The kind in words, with its article.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Current => "a current",
            Self::CurrentDensity => "a current density",
            Self::Conductivity => "a conductivity",
            Self::Potential => "a potential",
            Self::AreaResistance => "a polarization resistance (resistance times area)",
            Self::Resistance => "a resistance",
            Self::Temperature => "a temperature",
            Self::Time => "a time",
            Self::Length => "a length",
            Self::Charge => "a charge",
            Self::Fraction => "a share in percent",
            Self::MolarMass => "a molar mass",
            Self::Density => "a density of metal",
        }
    }

    /// The units to name in messages, the commonest first.
    pub const fn units(self) -> &'static [&'static str] {
        match self {
            Self::Current => &["A", "mA", "kA"],
            Self::CurrentDensity => {
                &["A/dm2", "A/m2", "A/cm2", "mA/cm2", "A/ft2", "A/in2", "ASD", "ASF", "ASI"]
            }
            Self::Conductivity => &["S/m", "S/cm", "mS/cm", "1/(ohm m)"],
            Self::Potential => &["V", "mV", "uV"],
            Self::AreaResistance => {
                &["ohm m2", "ohm cm2", "mohm m2", "mV/(A/dm2)", "V/(A/m2)", "mV/(A/ft2)"]
            }
            Self::Resistance => &["ohm", "mohm", "uohm"],
            Self::Temperature => &["degC", "degF", "K"],
            Self::Time => &["min", "s", "h"],
            Self::Length => &["mm", "um", "cm", "m", "nm", "in", "mil", "thou", "ft"],
            Self::Charge => &["A h", "Ah", "A min", "A s"],
            Self::Fraction => &["%"],
            Self::MolarMass => &["g/mol", "kg/mol"],
            Self::Density => &["g/cm3", "kg/m3"],
        }
    }

    /// A value of this kind as it is written in a job file.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Current => "30 A",
            Self::CurrentDensity => "4 A/dm2",
            Self::Conductivity => "12 S/m",
            Self::Potential => "120 mV",
            Self::AreaResistance => "2 mV/(A/dm2)",
            Self::Resistance => "2 mohm",
            Self::Temperature => "55 degC",
            Self::Time => "25 min",
            Self::Length => "20 um",
            Self::Charge => "12 A h",
            Self::Fraction => "1 %",
            Self::MolarMass => "58.69 g/mol",
            Self::Density => "8.9 g/cm3",
        }
    }

    /// Its powers of the base units.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Current => Dimension::electrical(1, 0, 0),
            Self::CurrentDensity => Dimension::electrical(1, 0, -2),
            Self::Conductivity => Dimension::electrical(1, -1, -1),
            Self::Potential => Dimension::electrical(0, 1, 0),
            Self::AreaResistance => Dimension::electrical(-1, 1, 2),
            Self::Resistance => Dimension::electrical(-1, 1, 0),
            Self::Length => Dimension::electrical(0, 0, 1),
            Self::Temperature => Dimension([0, 0, 0, 0, 1, 0, 0]),
            Self::Time => Dimension([0, 0, 0, 1, 0, 0, 0]),
            Self::Charge => Dimension([1, 0, 0, 1, 0, 0, 0]),
            Self::Fraction => Dimension::NONE,
            Self::MolarMass => Dimension([0, 0, 0, 0, 0, 1, -1]),
            Self::Density => Dimension([0, 0, -3, 0, 0, 1, 0]),
        }
    }

    /// The kind with this dimension.
    pub fn of(dimension: Dimension) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.dimension() == dimension)
    }
}
