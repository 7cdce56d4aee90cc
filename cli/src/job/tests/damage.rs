//! Jobs damaged at random: never a panic, and every message has a place.
use super::*;

#[test]
fn no_damage_to_a_job_makes_the_reader_panic() {
    // every prefix, and every line taken out
    for (at, _) in GOOD.char_indices() {
        let _ = resolve(&source(&GOOD[..at]));
    }
    let lines: Vec<&str> = GOOD.lines().collect();
    for k in 0..lines.len() {
        let mut fewer = lines.clone();
        fewer.remove(k);
        let _ = resolve(&source(&fewer.join("\n")));
    }
    let strange = [
        "",
        "\u{feff}",
        "=",
        "[[[",
        "a = [[[[[[[[",
        "\"",
        "[bath]\nuse = \"\"\"",
        "x = 1979-05-27",
        "\u{1f529} = 1",
    ];
    for text in strange {
        let _ = resolve(&source(text));
    }
    let deep = format!("a = {}", "[".repeat(100_000));
    let _ = resolve(&source(&deep));
}

const TOKENS: &[&str] = &[
    "",
    "\"",
    "[",
    "]",
    "{",
    "}",
    "=",
    ",",
    "\n",
    "-",
    "1e999",
    "nan",
    "inf",
    "0",
    "-1",
    "1e308",
    "99999999999999999999",
    "true",
    "\"4 A/dm2\"",
    "\"mm\"",
    "[[part]]\n",
    "repeat = { count = 1000, step = [0, 0] }\n",
    "turn = 1e300\n",
    "polygon = [[0,0],[0,0],[0,0]]\n",
    "path = \"M0 0A1 1 0 0 1 1e308 0Z\"\n",
    "µ",
    "\u{0}",
    "1979-05-27",
];

proptest! {
    #[test]
    fn no_edit_of_a_job_makes_the_reader_panic(
        edits in proptest::collection::vec((0..GOOD.len(), 0..30_usize, 0..TOKENS.len()), 1..5),
    ) {
        let mut text = GOOD.to_owned();
        for (start, length, token) in edits {
            let start = start.min(text.len());
            let end = (start + length).min(text.len());
            if text.is_char_boundary(start) && text.is_char_boundary(end) {
                text.replace_range(start..end, TOKENS[token]);
            }
        }
        let source = source(&text);
        if let Err(faults) = resolve(&source) {
            prop_assert!(!faults.is_empty());
            for fault in faults {
                let shown = fault.render(&source, true);
                prop_assert!(shown.contains(fault.code));
            }
        }
    }
}

#[test]
fn every_message_has_a_place_or_names_what_is_missing() {
    let faults =
        resolve(&source("unit = \"mm\"\n[tank]\nsize = [1, 1]\n")).expect_err("incomplete");
    for fault in faults {
        assert!(fault.place.is_some() || fault.code == "E006", "{fault:?}");
    }
}
