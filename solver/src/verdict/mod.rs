//! What a plater decides by: does the thinnest significant spot reach its thickness, and when;
//! can anodes, leads and hooks carry it; what does it cost in metal, heat and hydrogen.
//!
//! Everything here is read off a [`Solution`] and its [`Deposit`]; nothing is solved again. At a
//! steady current every thickness grows in proportion to time, so times to a thickness are exact
//! for the currents found.

mod anodes;
mod conductors;
mod gas;
mod heat;
mod reach;
mod thickness;

pub use anodes::{AnodeLoad, AreaRatio};
pub use conductors::{CONDUCTORS, Conductor};
pub use gas::Hydrogen;
pub use heat::Heat;
pub use reach::Reach;
pub use thickness::PartThickness;

use crate::deposit::Deposit;
use crate::layout::{Layout, Role};
use crate::quantity::{CurrentDensity, Length, Time};
use crate::solution::Solution;

/// The thickness that is asked for on the significant surface of every part.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Specification {
    /// Least thickness.
    pub min_thickness: Option<Length>,
    /// Greatest thickness.
    pub max_thickness: Option<Length>,
}

/// What the bath and its anodes stand.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BathLimits {
    /// Greatest current density on anodes.
    pub anode_max: Option<CurrentDensity>,
    /// Good range of anode area over cathode area.
    pub area_ratio: Option<[f64; 2]>,
    /// Share of the current that deposits no metal which makes hydrogen.
    pub hydrogen_share: f64,
    /// Metal that an ampere-second takes off the anodes, kg/C; `None` if they do not dissolve.
    pub anode_kg_c: Option<f64>,
}

/// What the verdict is formed from.
#[derive(Debug, Clone, Copy)]
pub struct Evidence<'a> {
    /// What was solved.
    pub layout: &'a Layout,
    /// The answer.
    pub solution: &'a Solution,
    /// How long the run is and the metal after it.
    pub run: Option<(Time, &'a Deposit)>,
    /// For each body and each of its stretches whether it is significant; `None` for all.
    pub significant: Option<&'a [Vec<bool>]>,
    /// What is asked for.
    pub specification: Specification,
    /// What the bath stands.
    pub limits: BathLimits,
}

impl Evidence<'_> {
    /// Parts with a wetted outline, by their index.
    fn parts(&self) -> impl Iterator<Item = usize> + '_ {
        let bodies = &self.solution.bodies;
        (0..bodies.len())
            .filter(|&b| bodies[b].role == Role::Part && !bodies[b].stretches.is_empty())
    }

    /// Whether a stretch is significant.
    fn is_significant(&self, body: usize, stretch: usize) -> bool {
        self.significant.and_then(|all| all.get(body)?.get(stretch)).copied().unwrap_or(true)
    }
}

/// What a run comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Thickness on every part; empty without a run.
    pub parts: Vec<PartThickness>,
    /// When the thinnest significant spot reaches the least thickness asked for.
    pub reach: Option<Reach>,
    /// Current and wear of every anode.
    pub anodes: Vec<AnodeLoad>,
    /// Anode area over cathode area.
    pub area_ratio: Option<AreaRatio>,
    /// Heat set free in the bath.
    pub heat: Heat,
    /// Hydrogen that the cathodes give off; `None` without a run.
    pub hydrogen: Option<Hydrogen>,
}

impl Verdict {
    /// Forms the verdict. Never fails: what is not known is left out.
    pub fn new(evidence: &Evidence<'_>) -> Self {
        Self {
            parts: thickness::parts(evidence),
            reach: Reach::of(evidence),
            anodes: anodes::loads(evidence),
            area_ratio: anodes::ratio(evidence),
            heat: heat::heat(evidence),
            hydrogen: gas::hydrogen(evidence),
        }
    }
}

#[cfg(test)]
mod tests;
