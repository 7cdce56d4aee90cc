//! `throwmap check`: is the job right, and does the drawing show what was meant?

use std::io;

use crate::args::CheckOptions;
use crate::exit::ExitStatus;
use crate::terminal::Streams;

use super::load;

/// Checks the job and draws its layout.
pub fn run(options: &CheckOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let Some((_source, resolved)) = load::job(&options.job, false, streams)? else {
        return Ok(ExitStatus::BadInput);
    };
    if options.quiet {
        return Ok(ExitStatus::Done);
    }
    let bodies = resolved.layout.bodies.len();
    writeln!(streams.out, "{}: {bodies} bodies, no errors", resolved.title)?;
    for value in &resolved.provenance {
        writeln!(streams.out, "  {} = {} ({})", value.key, value.value, value.origin.words())?;
    }
    Ok(ExitStatus::Done)
}
