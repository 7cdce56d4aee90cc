//! Metal potentials: which are fixed, which follow from a current.
//!
//! The cathode bus is the reference, 0 V. A supply by current leaves the anode bus free, with the
//! supply's current as its condition; a floating body's potential is free, with no net current.
//! Potentials enter the energy like the field does, so the joint problem stays convex.

use crate::kinetics::{Direction, LawError, Surface};
use crate::layout::{Drive, Layout, Role};

/// Potential of a body's metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Terminal {
    /// Known, V against the cathode bus.
    Fixed(f64),
    /// Unknown number k.
    Free(usize),
}

/// A body's metal surface.
#[derive(Debug, Clone)]
pub(crate) struct Electrode {
    pub(crate) surface: Surface,
    pub(crate) rest: f64,
    pub(crate) terminal: Terminal,
}

/// All metal of a layout and what drives it.
#[derive(Debug, Clone)]
pub(crate) struct Circuit {
    /// One entry per body; `None` for shields, screens and metal that no current reaches.
    pub(crate) electrodes: Vec<Option<Electrode>>,
    /// For every free potential the current into the bath that goes with it, A per m of depth.
    pub(crate) injected: Vec<f64>,
    /// Free potential of the anode bus, if its current is given.
    pub(crate) anode_bus: Option<usize>,
}

impl Circuit {
    /// The circuit of a layout; `live` tells which bodies current can reach.
    pub(crate) fn new(layout: &Layout, live: &[bool]) -> Result<Self, LawError> {
        let mut injected = Vec::new();
        let anode = match layout.supplies[0].drive {
            Drive::Voltage(v) => Terminal::Fixed(v.si()),
            Drive::Current(i) => {
                injected.push(i.si() / layout.depth_m());
                Terminal::Free(0)
            }
            // set once the wetted length of the parts is known
            Drive::MeanDensity(_) => {
                injected.push(0.0);
                Terminal::Free(0)
            }
        };
        let anode_bus = (anode == Terminal::Free(0)).then_some(0);
        let mut electrodes = Vec::with_capacity(layout.bodies.len());
        for (body, &live) in layout.bodies.iter().zip(live) {
            let (terminal, direction) = match body.role {
                Role::Part => (Terminal::Fixed(0.0), Direction::Cathode),
                Role::Thief { offset } => (Terminal::Fixed(offset.si()), Direction::Cathode),
                Role::Anode => (anode, Direction::Anode),
                Role::Floating => {
                    if live {
                        injected.push(0.0);
                    }
                    (Terminal::Free(injected.len().saturating_sub(1)), Direction::Both)
                }
                Role::Shield | Role::Screen { .. } => {
                    electrodes.push(None);
                    continue;
                }
            };
            let surface = Surface::new(&body.law, direction, layout.temperature)?;
            let electrode = Electrode { surface, rest: body.law.rest.si(), terminal };
            electrodes.push(live.then_some(electrode));
        }
        Ok(Self { electrodes, injected, anode_bus })
    }

    /// Potential of a body's metal, V.
    pub(crate) fn potential(&self, body: usize, free: &[f64]) -> Option<f64> {
        self.electrodes[body].as_ref().map(|e| match e.terminal {
            Terminal::Fixed(v) => v,
            Terminal::Free(k) => free[k],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Supply;
    use crate::quantity::{Current, CurrentDensity, Length, Potential};
    use crate::sample::{body, ideal, layout, rect, tafel};

    fn crowd() -> Layout {
        let roles = [
            Role::Part,
            Role::Anode,
            Role::Shield,
            Role::Thief { offset: Potential::new(-0.3) },
            Role::Floating,
            Role::Floating,
        ];
        let at = |k: usize| 0.02 + 0.03 * k as f64;
        let block = |(k, &role): (usize, &Role)| {
            let mut law = ideal();
            law.rest = Potential::new(0.01 * k as f64);
            body("block", role, rect(at(k), 0.03, at(k) + 0.01, 0.05), law)
        };
        let mut l = layout(roles.iter().enumerate().map(block).collect());
        l.depth = Length::new(0.25);
        l
    }

    #[test]
    fn a_voltage_fixes_both_buses_and_leaves_floating_metal_free() {
        let mut l = crowd();
        l.supplies = vec![Supply::all(Drive::Voltage(Potential::new(2.5)))];
        let c = Circuit::new(&l, &[true; 6]).unwrap();
        assert_eq!(c.injected, [0.0, 0.0]);
        assert_eq!(c.anode_bus, None);
        let free = [7.0, 8.0];
        let volts: Vec<Option<f64>> = (0..6).map(|b| c.potential(b, &free)).collect();
        assert_eq!(volts, [Some(0.0), Some(2.5), None, Some(-0.3), Some(7.0), Some(8.0)]);
        assert_eq!(c.electrodes[3].as_ref().map(|e| e.rest), Some(0.03));
    }

    #[test]
    fn a_current_leaves_the_anode_bus_free_and_counts_per_depth() {
        let mut l = crowd();
        l.supplies = vec![Supply::all(Drive::Current(Current::new(3.0)))];
        let c = Circuit::new(&l, &[true; 6]).unwrap();
        assert_eq!(c.injected, [12.0, 0.0, 0.0]);
        assert_eq!(c.anode_bus, Some(0));
        assert_eq!(c.potential(1, &[4.0, 7.0, 8.0]), Some(4.0));
        assert_eq!(c.potential(5, &[4.0, 7.0, 8.0]), Some(8.0));
    }

    #[test]
    fn metal_that_no_current_reaches_has_no_unknown() {
        let mut l = crowd();
        l.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(100.0)))];
        let c = Circuit::new(&l, &[true, true, false, false, false, true]).unwrap();
        assert_eq!(c.injected.len(), 2);
        assert!(c.electrodes[3].is_none() && c.electrodes[4].is_none());
        assert_eq!(c.potential(5, &[1.0, 2.0]), Some(2.0));
    }

    #[test]
    fn an_impossible_law_is_refused() {
        let mut l = crowd();
        l.bodies[0].law = tafel(-1.0, 0.1);
        assert!(Circuit::new(&l, &[true; 6]).is_err());
    }
}
