//! Loads a job and prints what is wrong with it.

use std::io;

use crate::diagnostic::{Diagnostic, Source};
use crate::job::{self, Resolved, Sequence};
use crate::terminal::Streams;

/// More messages than this help nobody.
const MAX_MESSAGES: usize = 25;

/// What a job file asks for.
pub enum Work {
    /// One bath.
    One(Source, Box<Resolved>),
    /// Several baths, one after the other.
    Layers(Sequence),
}

/// The job of this name; `None` after its faults have been printed.
///
/// # Errors
/// If the messages cannot be written.
pub fn work(name: &str, quiet: bool, streams: &mut Streams<'_>) -> io::Result<Option<Work>> {
    let source = match job::load(name) {
        Ok(source) => source,
        Err(fault) => {
            let source = Source { name: name.to_owned(), text: String::new() };
            print(&[*fault], &source, streams)?;
            return Ok(None);
        }
    };
    if job::is_sequence(&source) {
        return layers(&source, quiet, streams);
    }
    match job::resolve(&source) {
        Ok(resolved) => {
            if !quiet {
                print(&resolved.warnings, &source, streams)?;
            }
            Ok(Some(Work::One(source, Box::new(resolved))))
        }
        Err(faults) => {
            refuse(&faults, &source, streams)?;
            Ok(None)
        }
    }
}

/// The job of this name, which must be of one bath; `None` after its faults have been printed.
/// `command` is who cannot do several.
///
/// # Errors
/// If the messages cannot be written.
pub fn one(
    name: &str,
    command: &str,
    quiet: bool,
    streams: &mut Streams<'_>,
) -> io::Result<Option<(Source, Resolved)>> {
    match work(name, quiet, streams)? {
        None => Ok(None),
        Some(Work::One(source, job)) => Ok(Some((source, *job))),
        Some(Work::Layers(_)) => {
            writeln!(
                streams.err,
                "error: `{name}` is a sequence, and {command} is for one bath: name the job file of one layer"
            )?;
            Ok(None)
        }
    }
}

/// The sequence in `source`, with all the files that it names.
fn layers(source: &Source, quiet: bool, streams: &mut Streams<'_>) -> io::Result<Option<Work>> {
    match job::resolve_sequence(source, &job::load) {
        Ok(sequence) => {
            if !quiet {
                print(&sequence.warnings, source, streams)?;
                let mut said: Vec<&Diagnostic> = Vec::new();
                for layer in &sequence.layers {
                    for warning in &layer.job.warnings {
                        // what layers share is said once
                        if !said.contains(&warning) {
                            print(std::slice::from_ref(warning), &layer.source, streams)?;
                            said.push(warning);
                        }
                    }
                }
            }
            Ok(Some(Work::Layers(sequence)))
        }
        Err(files) => {
            for faults in &files {
                refuse(&faults.messages, &faults.source, streams)?;
            }
            Ok(None)
        }
    }
}

fn refuse(faults: &[Diagnostic], source: &Source, streams: &mut Streams<'_>) -> io::Result<()> {
    print(faults, source, streams)?;
    let plural = if faults.len() == 1 { "" } else { "s" };
    writeln!(
        streams.err,
        "{} error{plural} in `{}`; nothing was written",
        faults.len(),
        source.name
    )
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
