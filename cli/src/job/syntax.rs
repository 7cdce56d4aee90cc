//! Text that is not TOML: finds its breaks one after the other and still checks the rest.
//!
//! A parser that has stumbled reports its own stumbling for the rest of the file. So only its
//! first complaint is believed: that line is blanked out and the text is parsed again, which keeps
//! every place in the file where it was. When that no longer helps, the search ends.

use toml::de::{DeTable, Error};

use super::cell::Reading;
use super::table;
use super::tables::JobTable;
use crate::diagnostic::Diagnostic;

/// Breaks that are looked for before the search ends.
const MAX_BREAKS: usize = 10;

/// Messages for a text that is not TOML; empty if it is.
pub fn faults(text: &str) -> Vec<Diagnostic> {
    let mut repaired = text.to_owned();
    let mut faults = Vec::new();
    let mut last: Option<usize> = None;
    for _ in 0..MAX_BREAKS {
        let errors = DeTable::parse_recoverable(&repaired).1;
        let Some((error, start)) = first(&errors) else {
            if !faults.is_empty() {
                faults.extend(words(text, &repaired));
            }
            return faults;
        };
        let line_start = repaired[..start].rfind('\n').map_or(0, |at| at + 1);
        // a complaint right below the blanked line is the same break seen again
        let again = last
            .is_some_and(|end| repaired.get(end..line_start).is_none_or(|t| t.trim().is_empty()));
        if again {
            return faults;
        }
        faults.push(message(error));
        let line_end = repaired[start..].find('\n').map_or(repaired.len(), |at| start + at);
        let blank = " ".repeat(line_end - line_start);
        repaired.replace_range(line_start..line_end, &blank);
        last = Some(line_end);
    }
    faults
}

/// The first complaint in the order of the text, with a place on a character border.
fn first(errors: &[Error]) -> Option<(&Error, usize)> {
    errors
        .iter()
        .map(|error| (error, error.span().map_or(0, |span| span.start)))
        .min_by_key(|(_, start)| *start)
}

fn message(error: &Error) -> Diagnostic {
    let text = error.message().replace('\n', " ");
    let fault = Diagnostic::error("E002", format!("this is not TOML: {text}")).help(
        "text stands in double quotes, lists in [ ] with commas between, inline tables in { }, one key on a line",
    );
    let fault = match text.contains("array") {
        true => fault.help("has a list above lost its closing bracket `]`?"),
        false => fault,
    };
    match error.span() {
        Some(span) => fault.at(span, "cannot be read"),
        None => fault,
    }
}

/// Unknown keys and misspelt quantities in what is left of the file.
fn words(text: &str, repaired: &str) -> Vec<Diagnostic> {
    let parsed = DeTable::parse_recoverable(repaired).0;
    let mut reading = Reading { text, faults: Vec::new() };
    let _: JobTable = table::read(parsed.get_ref(), &mut reading);
    reading.faults
}
