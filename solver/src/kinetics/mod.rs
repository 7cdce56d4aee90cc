//! Polarization laws: the current density that an overpotential drives through a surface.
//!
//! A [`Law`] is what the job says; a [`Surface`] is the same law checked and made ready for the
//! solver. Inside the solver the overpotential is η = metal potential − bath potential at the
//! surface − rest potential, and j is the current density *from the metal into the bath*: positive
//! on anodes, negative on cathodes. j never falls when η rises, so every law is the slope of a
//! convex energy.
//!
//! The workhorse is [`Surface::in_series`]: the surface in series with a thin sheet of bath. It is
//! solved in closed form where there is one, and otherwise by Newton steps that cannot leave a
//! bracket, so no law and no potential can make it fail.
mod exponential;
mod linear;
mod omega;
mod surface;
mod table;

pub(crate) use surface::KNEE;
pub use surface::{Direction, LawError, Series, Surface};

use crate::quantity::{AreaResistance, CurrentDensity, Potential};

/// Polarization law of one electrode surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Law {
    /// Shape of the curve.
    pub kinetics: Kinetics,
    /// Limiting current density: `i = i_kin / (1 + |i_kin| / limiting)`.
    pub limiting: Option<CurrentDensity>,
    /// Rest potential: η = metal potential − bath potential at the surface − rest.
    pub rest: Potential,
}

impl Law {
    /// True if current crosses in the working direction of the role only, where the role has one.
    pub(crate) fn is_one_way(&self) -> bool {
        matches!(self.kinetics, Kinetics::Tafel { .. })
    }
}

/// Shape of a polarization curve, magnitudes in the electrode's working direction.
#[derive(Debug, Clone, PartialEq)]
pub enum Kinetics {
    /// No polarization, η = 0: primary distribution.
    None,
    /// i = η / resistance.
    Linear {
        /// Polarization resistance.
        resistance: AreaResistance,
    },
    /// |i| = exchange · 10^(|η| / slope).
    Tafel {
        /// Exchange current density.
        exchange: CurrentDensity,
        /// Overpotential per decade of current density.
        slope: Potential,
    },
    /// i = exchange · (exp(α_a η F/RT) − exp(−α_c η F/RT)).
    ButlerVolmer {
        /// Exchange current density.
        exchange: CurrentDensity,
        /// Anodic transfer coefficient.
        alpha_anodic: f64,
        /// Cathodic transfer coefficient.
        alpha_cathodic: f64,
    },
    /// Monotone curve through measured points (|η|, |i|).
    Table {
        /// Points of rising overpotential and current density.
        points: Vec<(Potential, CurrentDensity)>,
    },
}
