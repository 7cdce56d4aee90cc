//! What is in the tank: bodies with their roles and laws, the bath and the supply.
//!
//! A [`Layout`] is a plain value in SI units. [`Layout::check`] is the border: after it, nobody
//! asks again whether a length is negative or an outline crosses itself.

use shapes::Outline;

use crate::kinetics::Law;
use crate::quantity::{Conductivity, Current, CurrentDensity, Length, Potential, Temperature};

/// A section through a plating tank, ready to be solved. Coordinates in metres.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Inside of the tank section.
    pub tank: Outline,
    /// How far the section extends out of the page; turns A/m into A.
    pub depth: Length,
    /// Conductivity of the bath.
    pub conductivity: Conductivity,
    /// Temperature of the bath; sets RT/F of Butler-Volmer laws.
    pub temperature: Temperature,
    /// Everything in the tank, in the order of the job file.
    pub bodies: Vec<Body>,
    /// What drives the current.
    pub supply: Supply,
}

/// One thing in the tank.
#[derive(Debug, Clone)]
pub struct Body {
    /// Unique name.
    pub name: String,
    /// What it does electrically.
    pub role: Role,
    /// Its outline; may stick through the tank wall (only the wetted stretch counts).
    pub outline: Outline,
    /// Polarization law of its surface; not used by shields and screens.
    pub law: Law,
}

/// What a body does electrically.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Role {
    /// The work: a cathode whose deposit is wanted.
    Part,
    /// A positive electrode.
    Anode,
    /// An insulator.
    Shield,
    /// A cathode that takes surplus current; its metal sits at `offset` against the cathode bus.
    Thief {
        /// Potential of its metal against the cathode bus.
        offset: Potential,
    },
    /// Metal without a wire: its net current is zero.
    Floating,
    /// Lets current through in part: a region of reduced conductivity.
    Screen {
        /// Conductivity inside the region.
        conductivity: Conductivity,
    },
}

impl Role {
    /// The word of the job file for this role.
    pub fn word(self) -> &'static str {
        match self {
            Role::Part => "part",
            Role::Anode => "anode",
            Role::Shield => "shield",
            Role::Thief { .. } => "thief",
            Role::Floating => "floating",
            Role::Screen { .. } => "screen",
        }
    }

    /// True for bodies with a metal surface in the bath.
    pub fn is_metal(self) -> bool {
        matches!(self, Role::Part | Role::Anode | Role::Thief { .. } | Role::Floating)
    }
}

/// The one supply of a layout: it feeds all anodes and the cathode bus (parts and thieves).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Supply {
    /// Total current through the anodes.
    Current(Current),
    /// Mean current density over the wetted parts (thieves not counted).
    MeanDensity(CurrentDensity),
    /// Anode bus against cathode bus.
    Voltage(Potential),
}
