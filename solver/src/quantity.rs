//! Physical quantities as types: a number cannot be taken for another kind of number.
//!
//! Each type holds one SI value; constructors and readers name the unit. Inner loops of the
//! solver read the SI value once (`.si()`) and then work on plain `f64` with the unit in the name.

use std::fmt;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $si:literal, { $($(#[$udoc:meta])* $new:ident / $get:ident = $factor:expr;)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a value in ", $si, ".")]
            pub const fn new(si: f64) -> Self {
                Self(si)
            }

            #[doc = concat!("The value in ", $si, ".")]
            pub const fn si(self) -> f64 {
                self.0
            }

            $(
                $(#[$udoc])*
                pub fn $new(value: f64) -> Self {
                    Self(value * $factor)
                }

                $(#[$udoc])*
                pub fn $get(self) -> f64 {
                    self.0 / $factor
                }
            )*
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", self.0, $si)
            }
        }
    };
}

quantity! {
    /// A length, coordinate or thickness.
    Length, "m", {
        /// Millimetres.
        mm / to_mm = 1e-3;
        /// Micrometres.
        um / to_um = 1e-6;
    }
}
quantity! {
    /// Electric potential or voltage.
    Potential, "V", {
        /// Millivolts.
        mv / to_mv = 1e-3;
    }
}
quantity! {
    /// Electric current.
    Current, "A", {}
}
quantity! {
    /// Current per area of electrode.
    CurrentDensity, "A/m2", {
        /// Amperes per square decimetre, the metric shop unit.
        a_dm2 / to_a_dm2 = 100.0;
        /// Amperes per square foot, the US shop unit (1 ft = 0.3048 m exactly).
        a_ft2 / to_a_ft2 = 1.0 / (0.3048 * 0.3048);
    }
}
quantity! {
    /// Electrical conductivity of the bath.
    Conductivity, "S/m", {}
}
quantity! {
    /// Polarization resistance of a unit of electrode area.
    AreaResistance, "ohm m2", {}
}
quantity! {
    /// Absolute temperature.
    Temperature, "K", {
        /// Kelvin.
        kelvin / to_kelvin = 1.0;
    }
}
quantity! {
    /// A span of time.
    Time, "s", {
        /// Minutes.
        minutes / to_minutes = 60.0;
    }
}

impl Temperature {
    /// From degrees Celsius.
    pub const fn celsius(value: f64) -> Self {
        Self(value + 273.15)
    }

    /// In degrees Celsius.
    pub const fn to_celsius(self) -> f64 {
        self.0 - 273.15
    }
}
quantity! {
    /// Electrical resistance of a lead, hook or contact.
    Resistance, "ohm", {}
}
quantity! {
    /// Electric charge.
    Charge, "A s", {
        /// Ampere-hours.
        ampere_hours / to_ampere_hours = 3600.0;
    }
}
quantity! {
    /// A share of a whole: efficiency, accuracy.
    Fraction, "", {
        /// Hundredths.
        percent / to_percent = 0.01;
    }
}
quantity! {
    /// Mass of one mole of the deposited metal.
    MolarMass, "kg/mol", {
        /// Grams per mole.
        g_mol / to_g_mol = 1e-3;
    }
}
quantity! {
    /// Mass per volume of the deposited metal.
    Density, "kg/m3", {
        /// Grams per cubic centimetre.
        g_cm3 / to_g_cm3 = 1000.0;
    }
}
