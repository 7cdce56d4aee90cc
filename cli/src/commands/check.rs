//! `throwmap check`: is the job right, and does the drawing show what was meant?

use std::io;

use crate::args::CheckOptions;
use crate::exit::ExitStatus;
use crate::job::Resolved;
use crate::output::{Drawing, layout_drawing, pdf};
use crate::outputs::{Content, Format};
use crate::terminal::Streams;

use super::load::Work;
use super::report::{Files, Wanted};
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
    write(&[(LAYOUT.to_owned(), draw(&job))], options, streams)
}

/// The layout of a job as a picture.
pub(super) fn draw(job: &Resolved) -> Drawing {
    layout_drawing(&job.title, &job.layout, report::display_units(job))
}

/// Writes drawings (with their usual names) and says where they are. A file asked for by name gets
/// the first, or the one that its name mentions; a PDF gets all of them.
pub(super) fn write(
    drawings: &[(String, Drawing)],
    options: &CheckOptions,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    let wanted =
        Wanted::new(&options.job, options.out_dir.as_deref(), &options.output, options.force);
    let mut files = Files::new();
    let store = |drawing: &Drawing, format| {
        report::stored(drawing, format).map_err(|error| io::Error::other(error.to_string()))
    };
    for (kind, drawing) in drawings.iter().filter(|_| wanted.usual) {
        files.push((wanted.destination.path(kind), store(drawing, Format::Png)?));
    }
    for output in wanted.named {
        let Content::Picture(_, format) = output.content else { continue };
        let named = output.before.as_ref().and_then(|before| {
            drawings.iter().find(|(kind, _)| kind.split_once('.').is_some_and(|(k, _)| k == before))
        });
        let content = match (named, drawings, format) {
            (Some((_, drawing)), _, _) | (None, [(_, drawing)], _) => store(drawing, format)?,
            (None, several, Format::Pdf) => {
                let all: Vec<&Drawing> = several.iter().map(|(_, drawing)| drawing).collect();
                pdf(&all).map_err(|error| io::Error::other(error.to_string()))?
            }
            (None, several, _) => {
                let names: Vec<&str> =
                    several.iter().filter_map(|(kind, _)| kind.split('.').next()).collect();
                writeln!(
                    streams.err,
                    "error: `{}`: name the layer before the suffix ({}), or ask for .pdf",
                    output.path.display(),
                    names.join(", ")
                )?;
                return Ok(ExitStatus::BadInput);
            }
        };
        files.push((output.path.clone(), content));
    }
    match wanted.destination.write(files) {
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
