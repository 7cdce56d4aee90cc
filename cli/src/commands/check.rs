//! `throwmap check`: is the job right, and does the drawing show what was meant?

use std::io;

use crate::args::CheckOptions;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::job::Resolved;
use crate::output::layout_png;
use crate::terminal::Streams;

use super::load::Work;
use super::{load, report, run, sequence};

/// The drawing.
pub(super) const LAYOUT: &str = "layout.png";

/// Checks the job and draws its layout.
pub fn run(options: &CheckOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let (source, job) = match load::work(&options.job, options.quiet, streams)? {
        None => return Ok(ExitStatus::BadInput),
        Some(Work::Layers(work)) => return sequence::check(options, &work, streams),
        Some(Work::One(source, job)) => (source, *job),
    };
    for (position, (layout, _)) in job.positions().iter().enumerate() {
        if let Err(error) = solver::preflight(layout, &job.settings) {
            let message = run::in_position(run::refusal(&error, &job), &job, position);
            writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
            return Ok(run::status(&error));
        }
    }
    if !options.quiet {
        writeln!(streams.out, "{}: no errors, {} bodies", job.title, job.layout.bodies.len())?;
        for value in &job.provenance {
            writeln!(streams.out, "  {} = {} ({})", value.key, value.value, value.origin.words())?;
        }
    }
    if options.no_drawing {
        return Ok(ExitStatus::Done);
    }
    write(&[(LAYOUT, draw(&job)?)], options, streams)
}

/// The layout of a job as a picture.
pub(super) fn draw(job: &Resolved) -> io::Result<Vec<u8>> {
    layout_png(&job.title, &job.layout, report::display_units(job))
        .map_err(|error| io::Error::other(error.to_string()))
}

/// Writes drawings and says where they are.
pub(super) fn write(
    files: &[(&str, Vec<u8>)],
    options: &CheckOptions,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    let destination = Destination::new(&options.job, options.out_dir.as_deref(), options.force);
    match destination.write(files) {
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
