//! Loads a job and prints what is wrong with it.

use std::io;

use crate::diagnostic::{Diagnostic, Source};
use crate::job::{self, Resolved};
use crate::terminal::Streams;

/// More messages than this help nobody.
const MAX_MESSAGES: usize = 25;

/// The job of this name; `None` after its faults have been printed.
///
/// # Errors
/// If the messages cannot be written.
pub fn job(
    name: &str,
    quiet: bool,
    streams: &mut Streams<'_>,
) -> io::Result<Option<(Source, Resolved)>> {
    let source = match job::load(name) {
        Ok(source) => source,
        Err(fault) => {
            let source = Source { name: name.to_owned(), text: String::new() };
            print(&[*fault], &source, streams)?;
            return Ok(None);
        }
    };
    match job::resolve(&source) {
        Ok(resolved) => {
            if !quiet {
                print(&resolved.warnings, &source, streams)?;
            }
            Ok(Some((source, resolved)))
        }
        Err(faults) => {
            print(&faults, &source, streams)?;
            let plural = if faults.len() == 1 { "" } else { "s" };
            writeln!(
                streams.err,
                "{} error{plural} in `{}`; nothing was written",
                faults.len(),
                source.name
            )?;
            Ok(None)
        }
    }
}

fn print(messages: &[Diagnostic], source: &Source, streams: &mut Streams<'_>) -> io::Result<()> {
    for message in messages.iter().take(MAX_MESSAGES) {
        writeln!(streams.err, "{}\n", message.render(source, streams.terminal.colour))?;
    }
    if messages.len() > MAX_MESSAGES {
        writeln!(streams.err, "... and {} more\n", messages.len() - MAX_MESSAGES)?;
    }
    Ok(())
}
