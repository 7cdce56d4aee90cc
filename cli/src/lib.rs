//! Shows an electroplater, before a part goes into the tank, where the metal will go.
//!
//! This crate talks to the world: job files and units, the bath library, commands, result files.
//! The physics is in `solver`, the outlines in `shapes`.
//!
//! ```text
//! job file -> job::Resolved -> solver::Layout -> solver::Solution -> pictures, tables, verdict
//! ```

mod args;
pub mod bath;
mod commands;
pub mod designation;
pub mod diagnostic;
mod document;
mod exit;
pub mod files;
mod interrupt;
pub mod job;
mod leaning;
mod lesson;
pub mod output;
mod outputs;
mod progress;
mod remedy;
mod search;
mod sweep;
mod terminal;
pub mod units;
mod vary;

use std::ffi::OsString;
use std::io::Write;

use clap::Parser;

pub use exit::ExitStatus;
pub use terminal::Terminal;

use args::{Arguments, Command};

/// Runs the command line `args` (the first is the program's name), writing results to `out` and
/// words for people to `err`, without colour or motion.
///
/// Returns the exit status; its numbers are part of the interface.
pub fn run(
    args: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> ExitStatus {
    run_on(args, out, err, Terminal::plain())
}

/// As [`run`], on a terminal with its colours and progress line.
pub fn run_on(
    args: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    out: &mut dyn Write,
    err: &mut dyn Write,
    terminal: Terminal,
) -> ExitStatus {
    let parsed = match Arguments::try_parse_from(args) {
        Ok(parsed) => parsed,
        Err(usage) => return refuse(&usage, out, err, terminal),
    };
    let terminal = terminal.with_colour(parsed.colour);
    let mut streams = terminal::Streams { out, err, terminal };
    let done = match &parsed.command {
        Command::Run(options) => commands::run::run(options, &mut streams),
        Command::Compare(options) => commands::compare::run(options, &mut streams),
        Command::Check(options) => commands::check::run(options, &mut streams),
        Command::Export(options) => commands::export::run(options, &mut streams),
        Command::Init(options) => commands::init::run(options, &mut streams),
        Command::Lesson(options) => commands::lesson::run(options, &mut streams),
        Command::Schema(options) => commands::schema::run(options, &mut streams),
        Command::Baths(options) => commands::baths::run(options, &mut streams),
        Command::Sensitivity(options) => commands::sensitivity::run(options, &mut streams),
        Command::Remedies(options) => commands::remedies::run(options, &mut streams),
        Command::Search(options) => commands::search::run(options, &mut streams),
        Command::Sweep(options) => commands::sweep::run(options, &mut streams),
        Command::Designation(options) => commands::designation::run(options, &mut streams),
    };
    match done.and_then(|status| streams.out.flush().map(|()| status)) {
        Ok(status) => status,
        // the reader of a pipe has seen enough
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => ExitStatus::Done,
        Err(error) => {
            // if stderr is gone as well, the exit status still tells
            let _ = writeln!(streams.err, "error: cannot write the results: {error}");
            ExitStatus::Io
        }
    }
}

/// Prints help and version on `out`, mistakes of usage on `err`.
fn refuse(
    usage: &clap::Error,
    out: &mut dyn Write,
    err: &mut dyn Write,
    terminal: Terminal,
) -> ExitStatus {
    let text = usage.render();
    let text = if terminal.colour { text.ansi().to_string() } else { text.to_string() };
    // a closed stream changes nothing about the exit status
    if usage.use_stderr() {
        let _ = err.write_all(text.as_bytes());
        ExitStatus::BadInput
    } else {
        let _ = out.write_all(text.as_bytes());
        ExitStatus::Done
    }
}
