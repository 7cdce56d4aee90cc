//! Polarization laws: the current density that an overpotential drives through a surface.
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
