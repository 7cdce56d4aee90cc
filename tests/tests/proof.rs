//! Every row of the table of proof, and the page that shows it.
use checks::proof::{page, sections};

#[test]
fn every_check_holds_and_the_page_says_so() {
    let sections = sections();
    let bad: Vec<String> = sections
        .iter()
        .flat_map(|s| s.rows.iter().map(move |r| (s.title, r)))
        .filter(|(_, r)| !r.holds())
        .map(|(title, r)| format!("{title}: {r:?}"))
        .collect();
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    let rows: usize = sections.iter().map(|s| s.rows.len()).sum();
    assert!(rows > 200, "only {rows} rows");
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/PROOF.md");
    let page = std::fs::read_to_string(path).expect("tests/PROOF.md");
    let old = page::stale(&page, &sections);
    assert!(
        old.is_empty(),
        "tests/PROOF.md is not what is measured; write it anew with \
         `cargo run --release -p throwmap-tests --bin proof > tests/PROOF.md`:\n{}",
        old.join("\n")
    );
}
