//! Which type of the solver holds which kind of quantity.

use solver::quantity as q;

use super::dimension::Kind;

/// A quantity type that can be read from text.
pub trait Quantity: Copy {
    /// What it measures.
    const KIND: Kind;

    /// From the SI value.
    fn from_si(si: f64) -> Self;

    /// The SI value.
    fn si(self) -> f64;
}

macro_rules! quantities {
    ($($name:ident)*) => {$(
        impl Quantity for q::$name {
            const KIND: Kind = Kind::$name;

            fn from_si(si: f64) -> Self {
                Self::new(si)
            }

            fn si(self) -> f64 {
                q::$name::si(self)
            }
        }
    )*};
}

quantities! {
    Current CurrentDensity Conductivity Potential AreaResistance Resistance Temperature Time
    Length Charge Fraction MolarMass Density
}
