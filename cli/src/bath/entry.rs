//! The entries of the library, read from `cli/baths/*.toml`, which are compiled in.

use solver::quantity::{AreaResistance, Conductivity, CurrentDensity, Potential, Temperature};
use toml::de::DeTable;

use super::sourced::Sourced;
use crate::job::cell::{At, Reading};
use crate::job::forms::Efficiency;
use crate::job::metal_form::MetalForm;
use crate::job::table::{read, table};

const FILES: &[(&str, &str)] = &[
    ("watts-nickel", include_str!("../../baths/watts-nickel.toml")),
    ("acid-copper", include_str!("../../baths/acid-copper.toml")),
    ("acid-copper-high-throw", include_str!("../../baths/acid-copper-high-throw.toml")),
    ("cyanide-copper-strike", include_str!("../../baths/cyanide-copper-strike.toml")),
    ("chromium-decorative", include_str!("../../baths/chromium-decorative.toml")),
    ("alkaline-zinc", include_str!("../../baths/alkaline-zinc.toml")),
];

table! {
    /// One bath of the library.
    Entry, "a library bath" {
        /// What people call it.
        title: String,
        /// Typical composition.
        composition: String,
        /// What to look out for.
        cautions: Vec<At<String>>,
        /// Deposited metal.
        metal: Sourced<MetalForm>,
        /// Temperature.
        temperature: Sourced<Temperature>,
        /// Conductivity at that temperature.
        conductivity: Sourced<Conductivity>,
        /// Law of parts and thieves.
        cathode: LawEntry,
        /// Law of anodes.
        anode: LawEntry,
        /// Good current densities.
        window: WindowEntry,
        /// Cathode efficiency.
        efficiency: Sourced<Efficiency>,
    }
    later {}
}

table! {
    /// A polarization law, value by value.
    LawEntry, "a library law" {
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
    WindowEntry, "a library window" {
        /// Least.
        min: Sourced<CurrentDensity>,
        /// Greatest.
        max: Sourced<CurrentDensity>,
    }
    later {}
}

/// The names of all entries.
pub fn names() -> impl Iterator<Item = &'static str> {
    FILES.iter().map(|(name, _)| *name)
}

/// The entry of this name.
pub fn find(name: &str) -> Option<Entry> {
    let (_, text) = FILES.iter().find(|(known, _)| *known == name)?;
    let table = DeTable::parse(text).ok()?;
    let mut reading = Reading { text, faults: Vec::new() };
    let entry = read(table.get_ref(), &mut reading);
    reading.faults.is_empty().then_some(entry)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::cell::Slot;

    #[test]
    fn every_entry_is_complete() {
        for name in names() {
            let entry = find(name).unwrap_or_else(|| panic!("{name} cannot be read"));
            let given = [
                entry.title.get().is_some(),
                entry.metal.get().is_some(),
                entry.temperature.get().is_some(),
                entry.conductivity.get().is_some(),
                entry.efficiency.get().is_some(),
            ];
            assert_eq!(given, [true; 5], "{name}: {entry:?}");
            for slot in [&entry.cathode, &entry.anode] {
                let Slot::Given(law) = slot else { panic!("{name}: a law is missing") };
                let law = &law.value;
                match law.law.get().map(|at| at.value.as_str()) {
                    Some("tafel") => {
                        assert!(law.exchange.get().is_some() && law.slope.get().is_some())
                    }
                    Some("linear") => assert!(law.resistance.get().is_some()),
                    other => panic!("{name}: law {other:?}"),
                }
                assert!(law.rest.get().is_some(), "{name}");
            }
            let window = &entry.window.get().expect("checked above").value;
            let (min, max) = (window.min.get(), window.max.get());
            assert!(min.zip(max).is_some_and(|(a, b)| a.value.value < b.value.value), "{name}");
        }
    }
}
