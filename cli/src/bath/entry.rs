//! One bath of the library, as it is written in its file: key by key, each value with its source.

use solver::quantity::{AreaResistance, Conductivity, CurrentDensity, Potential, Temperature};

use super::sourced::Sourced;
use crate::job::cell::{At, Slot};
use crate::job::forms::{Efficiency, Share};
use crate::job::metal_form::MetalForm;
use crate::job::table::table;

table! {
    /// One bath.
    Entry, "a bath" {
        /// Another bath whose values hold wherever this one states none.
        based_on: String,
        /// What people call it.
        title: String,
        /// Typical composition.
        composition: String,
        /// Dangers, by the keys of the list of cautions.
        cautions: Vec<At<String>>,
        /// What to know about this bath.
        notes: Vec<At<String>>,
        /// "soluble" (anodes feed the bath) or "insoluble" (they make oxygen).
        anode_kind: String,
        /// Deposited metal.
        metal: Sourced<MetalForm>,
        /// Working temperature; its range is the window in which the bath works.
        temperature: Sourced<Temperature>,
        /// Conductivity at `conductivity_at`.
        conductivity: Sourced<Conductivity>,
        /// Temperature at which the conductivity holds (default: `temperature`).
        conductivity_at: Temperature,
        /// Growth of the conductivity with each kelvin, as a share of it.
        conductivity_per_kelvin: Sourced<Share>,
        /// Law of parts and thieves.
        cathode: LawEntry,
        /// Law of anodes.
        anode: LawEntry,
        /// Good current densities.
        window: WindowEntry,
        /// Covering threshold: below it the metal stays bare.
        threshold: Sourced<CurrentDensity>,
        /// Cathode efficiency.
        efficiency: Sourced<Efficiency>,
        /// What the anodes are made of.
        anode_material: Sourced<String>,
        /// Largest good current density on the anodes.
        anode_limit: Sourced<CurrentDensity>,
        /// Anode area over cathode area; its range is what is usual.
        area_ratio: Sourced<f64>,
        /// Share of the current that deposits no metal which makes hydrogen.
        hydrogen_share: Sourced<Share>,
        /// Typical tank voltage; its range is what is usual.
        tank_voltage: Sourced<Potential>,
    }
    later {}
}

table! {
    /// A polarization law, value by value.
    LawEntry, "a bath's law" {
        /// "linear" or "tafel".
        law: String,
        /// linear: polarization resistance.
        resistance: Sourced<AreaResistance>,
        /// tafel: exchange current density.
        exchange: Sourced<CurrentDensity>,
        /// tafel: potential per decade.
        slope: Sourced<Potential>,
        /// Rest potential against the standard hydrogen electrode.
        rest: Sourced<Potential>,
        /// Limiting current density.
        limiting: Sourced<CurrentDensity>,
    }
    later {}
}

table! {
    /// Good current densities, value by value.
    WindowEntry, "a bath's window" {
        /// Least.
        min: Sourced<CurrentDensity>,
        /// What to begin with.
        default: Sourced<CurrentDensity>,
        /// Greatest.
        max: Sourced<CurrentDensity>,
    }
    later {}
}

impl Entry {
    /// This entry, with the values of `parent` wherever it states none.
    #[must_use]
    pub fn based(self, parent: &Self) -> Self {
        let conductivity_at = match (&self.conductivity_at, &self.conductivity) {
            (Slot::Missing, Slot::Missing) => or(&parent.conductivity_at, &parent.at()),
            _ => self.conductivity_at,
        };
        Self {
            based_on: self.based_on,
            title: or(&self.title, &parent.title),
            composition: or(&self.composition, &parent.composition),
            cautions: or(&self.cautions, &parent.cautions),
            notes: or(&self.notes, &parent.notes),
            anode_kind: or(&self.anode_kind, &parent.anode_kind),
            metal: or(&self.metal, &parent.metal),
            temperature: ranged(&self.temperature, &parent.temperature),
            conductivity: or(&self.conductivity, &parent.conductivity),
            conductivity_at,
            conductivity_per_kelvin: or(
                &self.conductivity_per_kelvin,
                &parent.conductivity_per_kelvin,
            ),
            cathode: law(&self.cathode, &parent.cathode),
            anode: law(&self.anode, &parent.anode),
            window: window(&self.window, &parent.window),
            threshold: or(&self.threshold, &parent.threshold),
            efficiency: or(&self.efficiency, &parent.efficiency),
            anode_material: or(&self.anode_material, &parent.anode_material),
            anode_limit: or(&self.anode_limit, &parent.anode_limit),
            area_ratio: ranged(&self.area_ratio, &parent.area_ratio),
            hydrogen_share: or(&self.hydrogen_share, &parent.hydrogen_share),
            tank_voltage: ranged(&self.tank_voltage, &parent.tank_voltage),
        }
    }

    /// The temperature at which the conductivity holds.
    pub fn at(&self) -> Slot<Temperature> {
        match (&self.conductivity_at, &self.temperature) {
            (Slot::Missing, Slot::Given(at)) => {
                Slot::Given(At { value: at.value.value, span: at.span.clone() })
            }
            (stated, _) => stated.clone(),
        }
    }
}

/// The first, if it is there; else the second.
fn or<T: Clone>(own: &Slot<T>, parent: &Slot<T>) -> Slot<T> {
    if own.is_missing() { parent.clone() } else { own.clone() }
}

/// As [`or`], and a value that states no range keeps its parent's.
fn ranged<T: Clone>(own: &Slot<Sourced<T>>, parent: &Slot<Sourced<T>>) -> Slot<Sourced<T>> {
    let mut slot = or(own, parent);
    if let (Slot::Given(at), Slot::Given(parent)) = (&mut slot, parent)
        && at.value.range.is_none()
    {
        at.value.range = parent.value.range.clone();
        at.value.written_range = parent.value.written_range.clone();
    }
    slot
}

/// A law that is named anew stands alone; otherwise it changes single values of its parent.
fn law(own: &Slot<LawEntry>, parent: &Slot<LawEntry>) -> Slot<LawEntry> {
    let (Slot::Given(at), Slot::Given(parent)) = (own, parent) else {
        return or(own, parent);
    };
    if !at.value.law.is_missing() {
        return own.clone();
    }
    let (own, parent) = (&at.value, &parent.value);
    let value = LawEntry {
        law: parent.law.clone(),
        resistance: or(&own.resistance, &parent.resistance),
        exchange: or(&own.exchange, &parent.exchange),
        slope: or(&own.slope, &parent.slope),
        rest: or(&own.rest, &parent.rest),
        limiting: or(&own.limiting, &parent.limiting),
    };
    Slot::Given(At { value, span: at.span.clone() })
}

fn window(own: &Slot<WindowEntry>, parent: &Slot<WindowEntry>) -> Slot<WindowEntry> {
    let (Slot::Given(at), Slot::Given(parent)) = (own, parent) else {
        return or(own, parent);
    };
    let (own, parent) = (&at.value, &parent.value);
    let value = WindowEntry {
        min: or(&own.min, &parent.min),
        default: or(&own.default, &parent.default),
        max: or(&own.max, &parent.max),
    };
    Slot::Given(At { value, span: at.span.clone() })
}
