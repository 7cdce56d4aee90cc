//! No text, however senseless, makes the reader of jobs, units or outlines panic.
//!
//! The same entries as the fuzz targets in `tests/fuzz`, on stable Rust and for a bounded time:
//! jobs that are right are broken at random places.
use std::fs;
use std::path::Path;

use proptest::prelude::*;
use solver::quantity::{
    AreaResistance, Conductivity, Current, CurrentDensity, Length, Potential, Temperature, Time,
};
use throwmap::diagnostic::Source;
use throwmap::units;

/// Texts of the examples.
fn examples() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let mut paths: Vec<_> =
        fs::read_dir(folder).expect("examples").map(|e| e.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "toml"));
    paths.sort();
    paths.iter().map(|path| fs::read_to_string(path).expect("readable")).collect()
}

/// Pieces of jobs that are likely to matter where they do not belong.
const WORDS: [&str; 24] = [
    "-1",
    "0",
    "1e308",
    "-1e-320",
    "nan",
    "inf",
    "99999999999",
    "\"",
    "'",
    "[",
    "]",
    "{ }",
    "=",
    "\n",
    "[[part]]\n",
    "rect = { at = [0, 0], size = [1, 1] }\n",
    "\"4 A/dm2\"",
    "\"1 km\"",
    "\"\"",
    "repeat = { count = 3, step = [1, 1] }\n",
    "mirror = \"x\"\n",
    "turn = 1e300\n",
    "path = \"M 0 0 A 1 1 0 0 1 2 2 Z\"\n",
    "µ²·",
];

/// One break of a text: where, how many characters go, what comes instead.
type Break = (prop::sample::Index, usize, usize);

fn broken(text: &str, breaks: &[Break]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for (at, gone, word) in breaks {
        let from = at.index(chars.len() + 1);
        let to = (from + gone).min(chars.len());
        let new = WORDS.get(*word).copied().unwrap_or("");
        chars.splice(from..to, new.chars());
    }
    chars.into_iter().collect()
}

/// As many as `PROPTEST_CASES` says, for a longer run than that of the test command.
fn cases() -> u32 {
    std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(300)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: cases(), failure_persistence: None, ..Default::default()
    })]

    #[test]
    fn broken_jobs_are_refused_in_words(
        which in any::<prop::sample::Index>(),
        breaks in prop::collection::vec((any::<prop::sample::Index>(), 0..40usize, 0..32usize), 1..6),
    ) {
        let all = examples();
        let text = broken(&all[which.index(all.len())], &breaks);
        let source = Source { name: "job.toml".into(), text };
        if let Err(faults) = throwmap::job::resolve(&source) {
            prop_assert!(!faults.is_empty());
            for fault in faults {
                prop_assert!(!fault.render(&source, false).is_empty());
            }
        }
    }

    #[test]
    fn any_text_is_a_quantity_or_a_message(
        text in "[-+0-9.eE]{0,6}[ ]?[munkMGµ]?[AVSmsgCFhoz%/·^²2-]{0,6}[a-z/ ]{0,8}",
    ) {
        quantities(&text);
    }

    #[test]
    fn any_characters_are_a_quantity_or_a_message(text in "\\PC{0,24}") {
        quantities(&text);
    }

    #[test]
    fn path_data_is_an_outline_or_a_message(data in "([MmLlHhVvCcSsQqTtAaZz]|[-0-9.e, ]{0,12}){0,12}") {
        if let Ok(outline) = shapes::Outline::path(&data) {
            prop_assert!(!outline.loops().is_empty());
        }
    }
}

fn quantities(text: &str) {
    fn one<Q: units::Quantity>(text: &str) {
        if let Err(error) = units::parse::<Q>(text) {
            assert!(!error.message().is_empty() && !error.label().is_empty());
            let _ = error.help();
        }
    }
    one::<Length>(text);
    one::<Current>(text);
    one::<CurrentDensity>(text);
    one::<Potential>(text);
    one::<Conductivity>(text);
    one::<AreaResistance>(text);
    one::<Temperature>(text);
    one::<Time>(text);
}
