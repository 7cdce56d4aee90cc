//! Prints the table of proof as Markdown: `proof > tests/PROOF.md`. Exit code 1 if a check fails.
use std::process::ExitCode;

use checks::proof;

fn main() -> ExitCode {
    let sections = proof::sections();
    print!("{}", proof::page::render(&sections));
    let mut all = true;
    for row in sections.iter().flat_map(|s| &s.rows).filter(|r| !r.holds()) {
        eprintln!("fails: {row:?}");
        all = false;
    }
    if all { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
