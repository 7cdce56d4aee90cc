//! Which metals hang on which bus: supplies that share an anode share their positive bus, supplies
//! that share a part or thief their negative one.

use crate::layout::{Drive, Layout, Role};
use crate::union::Sets;

/// The buses of a layout. Cathode buses come first; bus 0 is that of the first supply.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wiring {
    /// The bus of each body; `None` for floating metal and insulators.
    pub(crate) bus_of: Vec<Option<usize>>,
    /// Anode bus and cathode bus of each supply.
    pub(crate) poles: Vec<[usize; 2]>,
    /// How many buses there are.
    pub(crate) buses: usize,
}

impl Wiring {
    /// The buses of a layout; what is wrong with its lists is left out.
    pub(crate) fn new(layout: &Layout) -> Self {
        let (supplies, bodies) = (layout.supplies.len(), layout.bodies.len());
        // poles first: cathode sides, then anode sides
        let mut sets = Sets::new(2 * supplies + bodies);
        for (s, supply) in layout.supplies.iter().enumerate() {
            let sides = [(s, layout.cathodes_of(supply)), (supplies + s, layout.anodes_of(supply))];
            for (pole, list) in sides {
                list.into_iter().filter(|&b| b < bodies).for_each(|b| {
                    sets.join(pole, 2 * supplies + b);
                });
            }
        }
        let mut heads: Vec<usize> = (0..2 * supplies).map(|p| sets.find(p)).collect();
        heads.sort_unstable();
        heads.dedup();
        let mut bus = |node: usize| heads.binary_search(&sets.find(node)).ok();
        let bus_of = (0..bodies).map(|b| bus(2 * supplies + b)).collect();
        let pole = |p: usize| bus(p).unwrap_or(0);
        let mut pole = pole;
        let poles = (0..supplies).map(|s| [pole(supplies + s), pole(s)]).collect();
        Self { bus_of, poles, buses: heads.len() }
    }

    /// Supplies with their anode bus (`pole` 0) or cathode bus (1) there.
    pub(crate) fn supplies_on(&self, bus: usize, pole: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.poles.len()).filter(move |&s| self.poles[s][pole] == bus)
    }
}

/// One thing wrong with supplies and what they feed. Supplies and bodies are indices.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WiringFault {
    /// Nothing drives the current.
    #[error("there is no supply: no current can flow")]
    NoSupply,
    /// Two supplies have one name.
    #[error("two supplies are called {name:?}: give each a name of its own")]
    SameName {
        /// The two supplies, the earlier first.
        supplies: [usize; 2],
        /// The name.
        name: String,
    },
    /// A list names what is not there or has another role.
    #[error("supply {name:?} lists body {body} among its {side}, which is none")]
    NotThatRole {
        /// Which supply.
        supply: usize,
        /// Its name.
        name: String,
        /// The index in its list.
        body: usize,
        /// "anodes" or "cathodes".
        side: &'static str,
    },
    /// A body that needs a supply has none.
    #[error("{name:?} is on no supply: name it in the list of one")]
    Unfed {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// A resistance or rating makes no sense.
    #[error("the {what} must be {allowed}, not {value}")]
    Number {
        /// Which supply, if it is a supply's.
        supply: Option<usize>,
        /// Which body, if it is a body's.
        body: Option<usize>,
        /// "lead resistance", "contact resistance", "rated current" or "rated voltage".
        what: &'static str,
        /// What it may be.
        allowed: &'static str,
        /// As given, SI.
        value: f64,
    },
    /// Supplies set by voltage fix one potential twice.
    #[error(
        "supply {name:?} sets a voltage that other supplies without lead resistance have set already: nothing tells how they share the current"
    )]
    VoltageTwice {
        /// The last of them.
        supply: usize,
        /// Its name.
        name: String,
    },
    /// A mean density is to be held where the voltage is set already.
    #[error(
        "supply {name:?} cannot hold a mean current density: other supplies set the voltage between its anodes and its cathodes"
    )]
    MeanUnderVoltage {
        /// Which supply.
        supply: usize,
        /// Its name.
        name: String,
    },
    /// A mean density is to be held where others that are held leave nothing to adjust.
    #[error(
        "supply {name:?} cannot hold a mean current density of its own: its anodes and cathodes are already joined by supplies that hold one, and nothing tells how they would share the current; set it by current"
    )]
    MeansInLoop {
        /// Which supply.
        supply: usize,
        /// Its name.
        name: String,
    },
    /// Two supplies hold the mean density of one part.
    #[error("two supplies hold the mean current density of {part:?}: set one of them by current")]
    MeanTwice {
        /// The two supplies, the earlier first.
        supplies: [usize; 2],
        /// The part's name.
        part: String,
    },
    /// A mean density over no part.
    #[error("supply {name:?} holds a mean current density, but feeds no part")]
    MeanOfNothing {
        /// Which supply.
        supply: usize,
        /// Its name.
        name: String,
    },
    /// A thief with an offset has no part to be offset against.
    #[error(
        "the thief {name:?} has an offset against the parts' bus, but its supply feeds no part: leave the offset out"
    )]
    OffsetAlone {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
}

/// Everything wrong with the supplies of a layout and what they feed.
pub(crate) fn faults(layout: &Layout) -> Vec<WiringFault> {
    let mut out = Vec::new();
    if layout.supplies.is_empty() {
        return vec![WiringFault::NoSupply];
    }
    for (s, supply) in layout.supplies.iter().enumerate() {
        let name = || supply.name.clone();
        let twin = layout.supplies[..s].iter().position(|other| other.name == supply.name);
        if let Some(first) = twin {
            out.push(WiringFault::SameName { supplies: [first, s], name: name() });
        }
        let thief_or_part = |r: Role| matches!(r, Role::Part | Role::Thief { .. });
        for (list, side) in [(&supply.anodes, "anodes"), (&supply.cathodes, "cathodes")] {
            for &body in list {
                let role = layout.bodies.get(body).map(|b| b.role);
                let fits = role.is_some_and(|r| {
                    if side == "anodes" { r == Role::Anode } else { thief_or_part(r) }
                });
                if !fits {
                    out.push(WiringFault::NotThatRole { supply: s, name: name(), body, side });
                }
            }
        }
        let mut number = |what, value: f64, fits: bool, allowed| {
            if !fits {
                let fault =
                    WiringFault::Number { supply: Some(s), body: None, what, allowed, value };
                out.push(fault);
            }
        };
        let lead = supply.lead.si();
        number("lead resistance", lead, lead >= 0.0 && lead.is_finite(), NOT_NEGATIVE);
        if let Some(current) = supply.rating.current {
            number("rated current", current.si(), current.si() > 0.0, POSITIVE);
        }
        if let Some(voltage) = supply.rating.voltage {
            number("rated voltage", voltage.si(), voltage.si() > 0.0, POSITIVE);
        }
    }
    for (body, given) in layout.bodies.iter().enumerate() {
        let (value, what) = (given.contact.si(), "contact resistance");
        if !(value >= 0.0 && value.is_finite()) {
            let allowed = NOT_NEGATIVE;
            out.push(WiringFault::Number { supply: None, body: Some(body), what, allowed, value });
        }
    }
    if out.is_empty() {
        check_buses(layout, &mut out);
    }
    out
}

const NOT_NEGATIVE: &str = "zero or more ohm";
const POSITIVE: &str = "greater than zero";

fn check_buses(layout: &Layout, out: &mut Vec<WiringFault>) {
    let wiring = Wiring::new(layout);
    let of_body = |b: usize| (b, layout.bodies[b].name.clone());
    for (b, body) in layout.bodies.iter().enumerate() {
        let (body_index, name) = of_body(b);
        match (wiring.bus_of[b], body.role) {
            (None, Role::Part | Role::Anode | Role::Thief { .. }) => {
                out.push(WiringFault::Unfed { body: body_index, name });
            }
            (Some(bus), Role::Thief { offset }) if offset.si() != 0.0 => {
                let part =
                    |c: usize| layout.bodies[c].role == Role::Part && wiring.bus_of[c] == Some(bus);
                if !(0..layout.bodies.len()).any(part) {
                    out.push(WiringFault::OffsetAlone { body: body_index, name });
                }
            }
            _ => {}
        }
    }
    // voltages without leads tie buses together
    let mut tied = Sets::new(wiring.buses);
    for (s, supply) in layout.supplies.iter().enumerate() {
        if matches!(supply.drive, Drive::Voltage(_)) && supply.lead.si() == 0.0 {
            let [plus, minus] = wiring.poles[s];
            if tied.find(plus) == tied.find(minus) {
                let name = supply.name.clone();
                out.push(WiringFault::VoltageTwice { supply: s, name });
            }
            tied.join(plus, minus);
        }
    }
    // as many means can be held as there are currents to adjust; a loop has one less
    let mut adjusted = tied.clone();
    let mut held: Vec<(usize, Vec<usize>)> = Vec::new();
    for (s, supply) in layout.supplies.iter().enumerate() {
        let Drive::MeanDensity(_) = supply.drive else { continue };
        let name = || supply.name.clone();
        let [plus, minus] = wiring.poles[s];
        let under_voltage = tied.find(plus) == tied.find(minus);
        if under_voltage {
            out.push(WiringFault::MeanUnderVoltage { supply: s, name: name() });
        }
        let parts = layout.parts_of(supply);
        if parts.is_empty() && layout.bodies.iter().any(|b| b.role == Role::Part) {
            out.push(WiringFault::MeanOfNothing { supply: s, name: name() });
        }
        let mut twice = false;
        for (first, theirs) in &held {
            if let Some(&shared) = theirs.iter().find(|b| parts.contains(b)) {
                let part = layout.bodies[shared].name.clone();
                out.push(WiringFault::MeanTwice { supplies: [*first, s], part });
                twice = true;
            }
        }
        if !under_voltage && !twice && adjusted.find(plus) == adjusted.find(minus) {
            out.push(WiringFault::MeansInLoop { supply: s, name: name() });
        }
        adjusted.join(plus, minus);
        held.push((s, parts));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Supply;
    use crate::quantity::{Current, CurrentDensity, Potential, Resistance};
    use crate::sample::{body, ideal, layout, rect};

    /// Parts 0 and 1, thief 2, anodes 3 and 4, a shield.
    fn crowd() -> Layout {
        let thief = Role::Thief { offset: Potential::new(0.0) };
        let roles = [Role::Part, Role::Part, thief, Role::Anode, Role::Anode, Role::Shield];
        let at = |k: usize| 0.02 + 0.03 * k as f64;
        let block = |(k, &role): (usize, &Role)| {
            body(&format!("b{k}"), role, rect(at(k), 0.03, at(k) + 0.01, 0.05), ideal())
        };
        layout(roles.iter().enumerate().map(block).collect())
    }

    fn supply(name: &str, drive: Drive, anodes: &[usize], cathodes: &[usize]) -> Supply {
        let (anodes, cathodes) = (anodes.to_vec(), cathodes.to_vec());
        Supply { name: name.into(), anodes, cathodes, ..Supply::all(drive) }
    }

    const AMPS: Drive = Drive::Current(Current::new(2.0));
    const VOLTS: Drive = Drive::Voltage(Potential::new(2.0));
    const MEAN: Drive = Drive::MeanDensity(CurrentDensity::new(2.0));

    #[test]
    fn what_supplies_share_makes_their_buses_one() {
        let mut l = crowd();
        l.supplies = vec![supply("a", AMPS, &[3], &[0, 1]), supply("b", AMPS, &[4], &[1, 2])];
        let w = Wiring::new(&l);
        assert_eq!((w.poles.clone(), w.buses), (vec![[1, 0], [2, 0]], 3));
        assert_eq!(w.bus_of, [Some(0), Some(0), Some(0), Some(1), Some(2), None]);
        l.supplies = vec![supply("a", AMPS, &[3, 4], &[0, 1]), supply("b", AMPS, &[4], &[2])];
        let w = Wiring::new(&l);
        assert_eq!((w.poles.clone(), w.buses), (vec![[2, 0], [2, 1]], 3));
        assert_eq!(w.supplies_on(2, 0).collect::<Vec<_>>(), [0, 1]);
        assert_eq!(faults(&l), []);
    }

    #[test]
    fn every_fault_is_found() {
        let found = |supplies: Vec<Supply>| {
            let mut l = crowd();
            l.supplies = supplies;
            faults(&l)
        };
        assert_eq!(found(vec![]), [WiringFault::NoSupply]);
        let all = supply("a", AMPS, &[], &[]);
        assert!(matches!(
            found(vec![all.clone(), all.clone()])[..],
            [WiringFault::SameName { supplies: [0, 1], .. }]
        ));
        assert!(matches!(
            found(vec![supply("a", AMPS, &[0], &[9])])[..],
            [
                WiringFault::NotThatRole { body: 0, side: "anodes", .. },
                WiringFault::NotThatRole { body: 9, side: "cathodes", .. }
            ]
        ));
        let one = supply("a", AMPS, &[3], &[0, 1]);
        let unfed = found(vec![one.clone()]);
        assert!(matches!(
            unfed[..],
            [WiringFault::Unfed { body: 2, .. }, WiringFault::Unfed { body: 4, .. }]
        ));
        let mut lead = all.clone();
        lead.lead = Resistance::new(-1.0);
        lead.rating.voltage = Some(Potential::new(0.0));
        assert_eq!(found(vec![lead]).len(), 2);
        // a loop of voltages over three buses is one too many
        let volts =
            |name, anodes: &[usize], cathodes: &[usize]| supply(name, VOLTS, anodes, cathodes);
        assert!(matches!(
            found(vec![volts("a", &[3, 4], &[0, 1, 2]), volts("b", &[3], &[1])])[..],
            [WiringFault::VoltageTwice { supply: 1, .. }]
        ));
        let mean = supply("b", MEAN, &[3], &[1]);
        assert!(matches!(
            found(vec![volts("a", &[3, 4], &[0, 1, 2]), mean.clone()])[..],
            [WiringFault::MeanUnderVoltage { supply: 1, .. }]
        ));
        assert!(matches!(
            found(vec![supply("a", MEAN, &[4], &[0, 1, 2]), mean])[..],
            [WiringFault::MeanTwice { supplies: [0, 1], .. }]
        ));
        assert!(matches!(
            found(vec![one, supply("b", MEAN, &[4], &[2])])[..],
            [WiringFault::MeanOfNothing { supply: 1, .. }]
        ));
    }

    #[test]
    fn means_that_no_two_currents_tell_apart_are_refused() {
        let found = |supplies: Vec<Supply>| {
            let mut l = crowd();
            l.supplies = supplies;
            faults(&l)
        };
        let mean =
            |name, anodes: &[usize], cathodes: &[usize]| supply(name, MEAN, anodes, cathodes);
        // parts of one bus, anodes of one bus: one current for two means
        let all = supply("all", AMPS, &[], &[]);
        assert!(matches!(
            found(vec![mean("a", &[3], &[0]), mean("b", &[4], &[1]), all.clone()])[..],
            [WiringFault::MeansInLoop { supply: 1, .. }]
        ));
        // with an anode of its own each has a current of its own
        let thief = supply("thief", AMPS, &[4], &[0, 1, 2]);
        assert_eq!(found(vec![mean("a", &[3], &[0]), mean("b", &[4], &[1]), thief]), []);
        // voltages that join the cathodes of both do the same, unless a lead lies between
        let two = |lead: f64| {
            let lead = Resistance::new(lead);
            let first = Supply { lead, ..supply("c", VOLTS, &[4], &[0, 2]) };
            let second = supply("d", VOLTS, &[4], &[1]);
            vec![mean("a", &[3], &[0]), mean("b", &[3], &[1]), first, second]
        };
        assert!(matches!(found(two(0.0))[..], [WiringFault::MeansInLoop { supply: 1, .. }]));
        assert_eq!(found(two(1e-3)), []);
        // one mean alone is no loop
        assert_eq!(found(vec![mean("a", &[3], &[0]), all]), []);
    }

    #[test]
    fn an_offset_needs_a_part_on_the_bus() {
        let mut l = crowd();
        l.bodies[2].role = Role::Thief { offset: Potential::new(-0.1) };
        assert_eq!(faults(&l), []);
        l.supplies = vec![supply("a", AMPS, &[3], &[0, 1]), supply("b", AMPS, &[4], &[2])];
        assert!(matches!(faults(&l)[..], [WiringFault::OffsetAlone { body: 2, .. }]));
    }
}
