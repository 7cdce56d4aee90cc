//! `throwmap sensitivity`: what must be held tightly at the tank, and what does not matter.

use std::io;

use solver::SolveSettings;
use solver::tolerance::{Tolerances, variations};

use crate::args::SensitivityOptions;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::remedy::{groups, tolerances};
use crate::terminal::Streams;

use super::{load, report, run};

const KINDS: [&str; 2] = ["sensitivity.png", "sensitivity.csv"];

/// Accuracy of these solves, at best: differences share most of their numerical error.
const LOOSE: f64 = 0.02;

/// Solves the job with every tolerance at both ends and ranks what it moves.
pub fn run(options: &SensitivityOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let mut held = Tolerances::default();
    for text in &options.tolerances {
        if let Err(message) = tolerances::set(&mut held, text) {
            writeln!(streams.err, "error: {message}")?;
            return Ok(ExitStatus::BadInput);
        }
    }
    let loaded = load::one(&options.job, "sensitivity", options.results.quiet, streams)?;
    let Some((source, job)) = loaded else { return Ok(ExitStatus::BadInput) };
    let destination =
        Destination::new(&options.job, options.results.out_dir.as_deref(), options.results.force);
    let paths = KINDS.map(|kind| destination.path(kind));
    if let Err(error) = destination.check(&paths) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let base = job.case();
    let (ends, left_out) = variations(&base, &held, &groups(&job));
    let accuracy = job.settings.accuracy.max(LOOSE);
    let settings = SolveSettings { accuracy, ..job.settings };
    let mut found = match solver::sensitivity_on_significant(&base, &ends, &settings) {
        Ok(found) => found,
        Err(error) => {
            let message = run::refusal(&error, &job);
            writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
            return Ok(run::status(&error));
        }
    };
    tolerances::ranked(&mut found);
    let fail = |error: &dyn std::fmt::Display| io::Error::other(error.to_string());
    let units = report::display_units(&job);
    let far = units.clearance_text(held.position.si());
    let picture = tolerances::png(&job.title, &found, accuracy, &far).map_err(|e| fail(&e))?;
    let table = tolerances::csv(&found).map_err(|e| fail(&e))?;
    let results = paths.into_iter().zip([picture, table]).collect();
    let written = match destination.write(results) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    for line in tolerances::words(&job.title, &found, &left_out, &held, accuracy, units) {
        writeln!(streams.out, "{line}")?;
    }
    for path in written.iter().filter(|_| !options.results.quiet) {
        writeln!(streams.out, "written: {}", path.display())?;
    }
    Ok(ExitStatus::Done)
}
