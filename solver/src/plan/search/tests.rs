//! Made-up hills whose optimum is known, then real layouts small enough for brute force.
mod hills;
mod tanks;

use super::*;
use crate::plan::figure::Measured;
use crate::plan::outcome::Outcome;
use crate::plan::variable::Scale;

pub(super) fn between(name: &str, low: f64, high: f64) -> Variable {
    let values = Values::Between { low, high, scale: Scale::Linear, step: None };
    Variable { name: name.into(), values }
}

/// A search for the least of a figure with nothing else asked.
pub(super) fn plain(variables: Vec<Variable>, figure: Figure, budget: usize) -> Search {
    let axis = |figure| Axis { figure, better: Better::Less };
    Search {
        variables,
        own: None,
        aim: Aim::least(figure),
        limits: Vec::new(),
        clearance: Length::new(0.0),
        front: [axis(Figure::Power), axis(Figure::Voltage)],
        budget,
        seed: 1,
        best: 3,
    }
}

/// An outcome that has a power, a mean density and a density of the anodes, and nothing else.
pub(super) fn made_up(power_w: f64, anode_a_m2: f64, density_a_m2: f64) -> Outcome {
    let exact = |value| Measured { value, doubt: 0.0 };
    Outcome {
        growth: None,
        run_s: None,
        wanted_m: None,
        most_m: None,
        metal_kg_s: 0.0,
        thief_kg_s: 0.0,
        beyond_kg: None,
        wasted_kg: None,
        burning: None,
        low: None,
        bare: None,
        bearable: 1.0,
        density_a_m2: exact(density_a_m2),
        peak_a_m2: exact(0.0),
        feeds: Vec::new(),
        power_w: exact(power_w),
        anode_a_m2,
        anode_use: None,
        wagner: 0.0,
        estimated_error: 0.0,
    }
}
