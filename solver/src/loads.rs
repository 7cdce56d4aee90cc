//! What each supply delivers, and where its voltage goes.

use crate::circuit::Source;
use crate::layout::{Drive, Role};
use crate::measure::Measured;
use crate::problem::Problem;
use crate::solution::{BodyResult, SupplyResult, SupplyState};

/// Current and voltages of one supply, per m of depth.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Load {
    /// A/m.
    pub(crate) current: f64,
    /// At the terminals, V.
    pub(crate) terminals: f64,
    /// Between the buses, V.
    pub(crate) bath: f64,
}

/// The loads at a measured state.
///
/// A supply that alone feeds one of its buses delivers the current of the bodies there. Where
/// supplies share both buses, their sources tell; what is left follows from the currents' balance.
pub(crate) fn loads(problem: &Problem, m: &Measured) -> Vec<Load> {
    let wiring = &problem.wiring;
    let n = wiring.poles.len();
    // what the bodies on a bus take from the supplies there, counted out of the positive poles
    let mut demand = vec![0.0; wiring.buses];
    for (bus, current) in wiring.bus_of.iter().zip(&m.bodies) {
        if let Some(bus) = bus {
            demand[*bus] += current;
        }
    }
    let mut known: Vec<Option<f64>> = vec![None; n];
    let settle = |s: usize, current: f64, known: &mut Vec<Option<f64>>, demand: &mut Vec<f64>| {
        known[s] = Some(current);
        let [plus, minus] = wiring.poles[s];
        demand[plus] += current;
        demand[minus] -= current;
    };
    while known.iter().any(Option::is_none) {
        let open = |bus: usize, pole: usize| -> Vec<usize> {
            wiring.supplies_on(bus, pole).filter(|&s| known[s].is_none()).collect()
        };
        let alone = (0..n).filter(|&s| known[s].is_none()).find_map(|s| {
            let [plus, minus] = wiring.poles[s];
            if open(plus, 0).len() == 1 {
                Some((s, -demand[plus]))
            } else if open(minus, 1).len() == 1 {
                Some((s, demand[minus]))
            } else {
                None
            }
        });
        let told =
            || (0..n).filter(|&s| known[s].is_none()).find_map(|s| Some((s, m.supplies[s]?)));
        // rigid voltages never close a loop: some supply is always alone or tells
        let Some((s, current)) = alone.or_else(told) else { break };
        settle(s, current, &mut known, &mut demand);
    }
    let depth = problem.layout.depth_m();
    let load = |(s, current): (usize, Option<f64>)| {
        let current = current.unwrap_or(0.0);
        let supply = &problem.layout.supplies[s];
        let line = &problem.circuit.lines[s];
        let leads = supply.lead.si() * current * depth;
        match (supply.drive, &line.source) {
            (Drive::Voltage(v), Source::Leads(_)) => {
                Load { current, terminals: v.si(), bath: v.si() - leads }
            }
            (Drive::Voltage(v), _) => Load { current, terminals: v.si(), bath: v.si() },
            _ => {
                let bath = line.volts(&m.free);
                Load { current, terminals: bath + leads, bath }
            }
        }
    };
    known.into_iter().enumerate().map(load).collect()
}

/// Currents below this share of all current, and voltages below this share of all voltages, have
/// no direction.
const NOTHING: f64 = 1e-9;

/// The results of all supplies.
pub(crate) fn results(
    problem: &Problem,
    m: &Measured,
    errors: &[Load],
    bodies: &[BodyResult],
) -> Vec<SupplyResult> {
    let depth = problem.layout.depth_m();
    let loads = loads(problem, m);
    let traffic: f64 = m.bodies.iter().map(|i| i.abs()).sum();
    let volts = loads.iter().map(|l| l.bath.abs()).fold(0.0, f64::max);
    loads
        .iter()
        .zip(errors)
        .zip(&problem.layout.supplies)
        .enumerate()
        .map(|(s, ((load, error), supply))| {
            let [plus, minus] = problem.wiring.poles[s];
            let (anode_v, above) = side(problem, m, bodies, plus, 1.0);
            let (cathode_v, below) = side(problem, m, bodies, minus, -1.0);
            let (current_a, error_a) = (load.current * depth, error.current * depth);
            let contacts_v = above + below;
            let state = if load.current < -NOTHING * traffic {
                SupplyState::CurrentReversed
            } else if load.terminals < -NOTHING * volts {
                SupplyState::VoltageReversed
            } else {
                SupplyState::Delivers
            };
            SupplyResult {
                name: supply.name.clone(),
                current_a,
                current_uncertainty_a: error_a,
                voltage_v: load.terminals,
                voltage_uncertainty_v: error.terminals,
                bath_voltage_v: load.bath,
                bath_voltage_uncertainty_v: error.bath,
                anode_v,
                solution_v: load.bath - anode_v - cathode_v - contacts_v,
                cathode_v,
                leads_v: load.terminals - load.bath,
                contacts_v,
                power_w: current_a * load.terminals,
                // errors of current and voltage have the same cause: they add up
                power_uncertainty_w: (current_a * error.terminals).abs()
                    + (load.terminals * error_a).abs(),
                current_use: supply.rating.current.map(|most| current_a / most.si()),
                voltage_use: supply.rating.voltage.map(|most| load.terminals / most.si()),
                state,
            }
        })
        .collect()
}

/// Means over the surfaces on a bus of the drop between metal and bath, and of that in contacts,
/// V; `sign` is 1 for anodes, −1 for cathodes. A thief's offset counts as a drop at its surface.
fn side(
    problem: &Problem,
    m: &Measured,
    bodies: &[BodyResult],
    bus: usize,
    sign: f64,
) -> (f64, f64) {
    let bus_v = problem.circuit.buses[bus].volts(&m.free);
    let (mut surface, mut contacts, mut sum) = (0.0, 0.0, 0.0);
    let here = bodies.iter().zip(&problem.wiring.bus_of).filter(|(_, on)| **on == Some(bus));
    for (b, _) in here {
        for s in &b.stretches {
            let i = (s.current_density_a_m2 * s.area_m2).abs();
            surface += i * (sign * (bus_v - s.potential_v) - b.contact_v);
            contacts += i * b.contact_v;
            sum += i;
        }
    }
    if sum > 0.0 { (surface / sum, contacts / sum) } else { (0.0, 0.0) }
}

/// Voltage lost in a body's contact, V, positive where the body works as its role says.
pub(crate) fn contact(problem: &Problem, m: &Measured, body: usize) -> f64 {
    let given = &problem.layout.bodies[body];
    let working = match given.role {
        Role::Anode => -m.bodies[body],
        Role::Part | Role::Thief { .. } => m.bodies[body],
        Role::Floating | Role::Shield | Role::Screen { .. } => 0.0,
    };
    given.contact.si() * working * problem.layout.depth_m()
}

#[cfg(test)]
mod tests;
