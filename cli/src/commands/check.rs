//! `throwmap check`: is the job right, and does the drawing show what was meant?

use std::io;

use crate::args::CheckOptions;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::output::layout_png;
use crate::terminal::Streams;

use super::load::Work;
use super::{load, report, sequence};

/// The drawing.
const LAYOUT: &str = "layout.png";

/// Checks the job and draws its layout.
pub fn run(options: &CheckOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let job = match load::work(&options.job, options.quiet, streams)? {
        None => return Ok(ExitStatus::BadInput),
        Some(Work::Layers(work)) => return sequence::check(options, &work, streams),
        Some(Work::One(_, job)) => *job,
    };
    if !options.quiet {
        writeln!(streams.out, "{}: no errors, {} bodies", job.title, job.layout.bodies.len())?;
        for value in &job.provenance {
            writeln!(streams.out, "  {} = {} ({})", value.key, value.value, value.origin.words())?;
        }
    }
    if options.no_drawing {
        return Ok(ExitStatus::Done);
    }
    let drawing = layout_png(&job.title, &job.layout, report::display_units(&job))
        .map_err(|error| io::Error::other(error.to_string()))?;
    let destination = Destination::new(&options.job, options.out_dir.as_deref(), options.force);
    match destination.write(&[(LAYOUT, drawing)]) {
        Ok(paths) => {
            for path in paths.iter().filter(|_| !options.quiet) {
                writeln!(streams.out, "drawing: {}", path.display())?;
            }
            Ok(ExitStatus::Done)
        }
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            Ok(ExitStatus::Io)
        }
    }
}
