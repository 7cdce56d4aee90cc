//! Metal potentials: which are fixed, which follow from a current.
//!
//! The cathode bus is the reference, 0 V. A supply by current leaves the anode bus free, with the
//! supply's current as its condition; a floating body's potential is free, with no net current.
//! Potentials enter the energy like the field does, so the joint problem stays convex.

use crate::kinetics::{Direction, LawError, Surface};
use crate::layout::{Layout, Role, Supply};

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
        let anode = match layout.supply {
            Supply::Voltage(v) => Terminal::Fixed(v.si()),
            Supply::Current(i) => {
                injected.push(i.si() / layout.depth.si());
                Terminal::Free(0)
            }
            // set once the wetted length of the parts is known
            Supply::MeanDensity(_) => {
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
