//! No text, however senseless, makes the reader of jobs, units, outlines or drawings panic.
//!
//! The same entries as the fuzz targets in `fuzz/`, on stable Rust and for a bounded time:
//! jobs that are right are broken at random places.
use std::fs;
use std::path::Path;

use checks::hostile;
use proptest::prelude::*;

/// Texts of the examples.
fn examples() -> Vec<String> {
    read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples"), &["toml"])
}

/// Texts of the drawings that the fuzz target begins from.
fn drawings() -> Vec<String> {
    read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/seeds/drawing"), &["dxf", "svg"])
}

/// Texts of the files of a folder with these endings, in order of their names.
fn read(folder: &Path, endings: &[&str]) -> Vec<String> {
    let mut paths: Vec<_> =
        fs::read_dir(folder).expect("a folder").map(|e| e.expect("an entry").path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| endings.iter().any(|known| e == *known)));
    paths.sort();
    assert!(!paths.is_empty(), "{}", folder.display());
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
        hostile::job(&text);
    }

    #[test]
    fn any_text_is_a_quantity_or_a_message(
        text in "[-+0-9.eE]{0,6}[ ]?[munkMGµ]?[AVSmsgCFhoz%/·^²2-]{0,6}[a-z/ ]{0,8}",
    ) {
        hostile::quantity(&text);
    }

    #[test]
    fn any_characters_are_a_quantity_or_a_message(text in "\\PC{0,24}") {
        hostile::quantity(&text);
    }

    #[test]
    fn path_data_is_an_outline_or_a_message(data in "([MmLlHhVvCcSsQqTtAaZz]|[-0-9.e, ]{0,12}){0,12}") {
        hostile::path(&data);
    }

    #[test]
    fn broken_drawings_are_outlines_or_messages(
        which in any::<prop::sample::Index>(),
        breaks in prop::collection::vec((any::<prop::sample::Index>(), 0..40usize, 0..32usize), 1..6),
    ) {
        let all = drawings();
        let text = broken(&all[which.index(all.len())], &breaks);
        hostile::drawing(text.as_bytes());
    }
}
