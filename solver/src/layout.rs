//! What is in the tank: bodies with their roles and laws, the bath and the supply.
//!
//! A [`Layout`] is a plain value in SI units. [`Layout::check`] is the border: after it, nobody
//! asks again whether a length is negative or an outline crosses itself.

use shapes::Outline;

use crate::kinetics::Law;
use crate::quantity::{
    Conductivity, Current, CurrentDensity, Length, Potential, Resistance, Temperature,
};
use crate::significant::Significance;

/// A section through a plating tank, ready to be solved. Coordinates in metres.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Inside of the tank section.
    pub tank: Outline,
    /// How the section goes on out of the page.
    pub symmetry: Symmetry,
    /// How far a planar section extends out of the page; turns A/m into A. Not used by axial ones.
    pub depth: Length,
    /// Conductivity of the bath.
    pub conductivity: Conductivity,
    /// Temperature of the bath; sets RT/F of Butler-Volmer laws.
    pub temperature: Temperature,
    /// Everything in the tank, in the order of the job file.
    pub bodies: Vec<Body>,
    /// What drives the current: at least one.
    pub supplies: Vec<Supply>,
}

impl Layout {
    /// Indices of the anodes that a supply feeds.
    pub fn anodes_of(&self, supply: &Supply) -> Vec<usize> {
        self.listed(&supply.anodes, |role| role == Role::Anode)
    }

    /// Indices of the parts and thieves that a supply feeds.
    pub fn cathodes_of(&self, supply: &Supply) -> Vec<usize> {
        self.listed(&supply.cathodes, |role| matches!(role, Role::Part | Role::Thief { .. }))
    }

    fn listed(&self, list: &[usize], of: impl Fn(Role) -> bool) -> Vec<usize> {
        if !list.is_empty() {
            return list.to_vec();
        }
        (0..self.bodies.len()).filter(|&b| of(self.bodies[b].role)).collect()
    }

    /// What turns sums over the section into amperes and square metres, m: the depth of a planar
    /// section; 1 for an axial one, whose sums run around the axis already.
    pub fn depth_m(&self) -> f64 {
        match self.symmetry {
            Symmetry::Planar => self.depth.si(),
            Symmetry::Axial => 1.0,
        }
    }
}

/// How a section goes on out of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Symmetry {
    /// The same for `depth`.
    #[default]
    Planar,
    /// Around the axis x = 0; x is the radius.
    Axial,
}

impl Symmetry {
    /// How far a section goes on out of the page at `x_m`: 1 (for each metre of depth) in a planar
    /// one, the circumference 2 π x in an axial one, m. Every integral over the section has this
    /// weight, so nothing is ever divided by the radius, and the axis needs no condition.
    pub(crate) fn breadth(self, x_m: f64) -> f64 {
        match self {
            Self::Planar => 1.0,
            Self::Axial => std::f64::consts::TAU * x_m.max(0.0),
        }
    }
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
    /// Stopped-off stretches of its outline: insulating. Not used by shields and screens.
    pub masked: Vec<Span>,
    /// Which stretches of its outline the specification is about. Judged on parts only.
    pub significant: Significance,
    /// Resistance between its metal and its bus: hook, tab or contact. Not used by floating metal.
    pub contact: Resistance,
}

impl Body {
    /// A body without masks and with a perfect contact.
    pub fn new(name: impl Into<String>, role: Role, outline: Outline, law: Law) -> Self {
        let (masked, contact) = (Vec::new(), Resistance::new(0.0));
        let significant = Significance::default();
        Self { name: name.into(), role, outline, law, masked, significant, contact }
    }
}

/// A stretch of a closed loop of an outline, in the direction of growing arc length; it may run
/// past the loop's start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Which closed loop of the outline (0 = outer).
    pub loop_index: usize,
    /// Arc length where it begins, m.
    pub from_m: f64,
    /// Arc length where it ends, m: above `from_m`, by no more than the loop's length.
    pub to_m: f64,
}

impl Span {
    /// True where arc length `s` of a loop of length `total` lies on the stretch.
    pub fn holds(&self, loop_index: usize, s: f64, total: f64) -> bool {
        self.loop_index == loop_index
            && (s - self.from_m).rem_euclid(total) <= self.to_m - self.from_m
    }
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

/// A rectifier with what it feeds.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub drive: Drive,
    /// Indices of its anodes; empty for all.
    pub anodes: Vec<usize>,
    /// Indices of its cathodes (parts and thieves); empty for all.
    pub cathodes: Vec<usize>,
    /// Resistance of its leads and bars, both poles together.
    pub lead: Resistance,
    /// What it can deliver.
    pub rating: Rating,
}

impl Supply {
    /// The only supply of a layout: it feeds all anodes and cathodes, through perfect leads.
    pub fn all(drive: Drive) -> Self {
        Self {
            name: "supply".to_owned(),
            drive,
            anodes: Vec::new(),
            cathodes: Vec::new(),
            lead: Resistance::new(0.0),
            rating: Rating::default(),
        }
    }
}

/// What a supply holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drive {
    /// Total current through its anodes.
    Current(Current),
    /// Mean current density over its wetted parts (thieves not counted).
    MeanDensity(CurrentDensity),
    /// Voltage at its terminals.
    Voltage(Potential),
}

/// The most that a rectifier delivers, as on its plate.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rating {
    /// Greatest current.
    pub current: Option<Current>,
    /// Greatest voltage.
    pub voltage: Option<Potential>,
}
