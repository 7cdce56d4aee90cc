//! All baths that a job may name: those that are compiled in from `cli/baths/*.toml`, and those of
//! a user's own file, which come first.

use std::sync::Arc;

use toml::de::DeTable;

use super::entry::Entry;
use super::own::OwnFile;
use crate::diagnostic::Source;
use crate::job::cell::Reading;
use crate::job::table::read;

const FILES: [(&str, &str); 15] = [
    ("watts-nickel", include_str!("../../baths/watts-nickel.toml")),
    ("nickel-sulfamate", include_str!("../../baths/nickel-sulfamate.toml")),
    ("acid-copper", include_str!("../../baths/acid-copper.toml")),
    ("acid-copper-high-throw", include_str!("../../baths/acid-copper-high-throw.toml")),
    ("cyanide-copper-strike", include_str!("../../baths/cyanide-copper-strike.toml")),
    ("cyanide-copper", include_str!("../../baths/cyanide-copper.toml")),
    ("chromium-decorative", include_str!("../../baths/chromium-decorative.toml")),
    ("chromium-hard", include_str!("../../baths/chromium-hard.toml")),
    ("chromium-trivalent", include_str!("../../baths/chromium-trivalent.toml")),
    ("chloride-zinc", include_str!("../../baths/chloride-zinc.toml")),
    ("alkaline-zinc", include_str!("../../baths/alkaline-zinc.toml")),
    ("cyanide-zinc", include_str!("../../baths/cyanide-zinc.toml")),
    ("cyanide-silver", include_str!("../../baths/cyanide-silver.toml")),
    ("acid-tin", include_str!("../../baths/acid-tin.toml")),
    ("cadmium", include_str!("../../baths/cadmium.toml")),
];

/// A bath with its name and the user's file it stands in.
#[derive(Debug, Clone)]
pub struct Found {
    /// Its name.
    pub name: String,
    /// Its values.
    pub entry: Entry,
    /// The user's own file; `None` for a bath that is compiled in.
    pub file: Option<Arc<Source>>,
}

/// The baths that can be named.
#[derive(Debug, Clone, Default)]
pub struct Library {
    own: Option<OwnFile>,
}

impl Library {
    /// The compiled-in baths, and those of a user's own file.
    pub fn new(own: Option<OwnFile>) -> Self {
        Self { own }
    }

    /// The names of all baths, the user's own first.
    pub fn names(&self) -> Vec<String> {
        let own = self.own.iter().flat_map(OwnFile::names).map(str::to_owned);
        let mut names: Vec<String> = own.collect();
        for (name, _) in FILES {
            if !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
        names
    }

    /// The bath of this name.
    pub fn find(&self, name: &str) -> Option<Found> {
        if let Some(own) = &self.own
            && let Some(entry) = own.find(name)
        {
            let file = Some(Arc::clone(&own.source));
            return Some(Found { name: name.to_owned(), entry: entry.clone(), file });
        }
        built_in(name).map(|entry| Found { name: name.to_owned(), entry, file: None })
    }
}

/// The compiled-in bath of this name.
pub(super) fn built_in(name: &str) -> Option<Entry> {
    let (_, text) = FILES.iter().find(|(known, _)| *known == name)?;
    let table = DeTable::parse(text).ok()?;
    let mut reading = Reading { text, faults: Vec::new() };
    let entry = read(table.get_ref(), &mut reading);
    reading.faults.is_empty().then_some(entry)
}

/// The names of the compiled-in baths.
pub(super) fn built_in_names<'a>() -> impl Iterator<Item = &'a str> {
    FILES.iter().map(|(name, _)| *name)
}
