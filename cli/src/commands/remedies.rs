//! `throwmap remedies`: what would help this job, and by how much.

use std::io;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;
use solver::remedy::{Outcome, Rank, Remedies, RemedyError, remedies};

use crate::args::RemediesOptions;
use crate::diagnostic::{Diagnostic, Source};
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::job::Resolved;
use crate::output::{deposit_png, map_png};
use crate::remedy::{called, job_text, remedies_csv, remedies_json, report as words, subject};
use crate::terminal::Streams;

use super::{load, report, run};

/// The tables that are always written.
const TABLES: [&str; 2] = ["remedies.csv", "remedies.json"];
/// Shorter work than this shows no progress.
const PATIENCE: Duration = Duration::from_millis(300);

/// Tries what the trade would try, prints what helps and writes a job file and pictures for each.
pub fn run(options: &RemediesOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let loaded = load::one(&options.job, "remedies", options.results.quiet, streams)?;
    let Some((source, job)) = loaded else { return Ok(ExitStatus::BadInput) };
    let destination =
        Destination::new(&options.job, options.results.out_dir.as_deref(), options.results.force);
    if let Err(error) = destination.check(&TABLES.map(|kind| destination.path(kind))) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let subject = match subject(&source, &job, &options.baths) {
        Ok(subject) => subject,
        Err(faults) => {
            for fault in faults {
                writeln!(streams.err, "{}\n", fault.render(&source, streams.terminal.colour))?;
            }
            return Ok(ExitStatus::BadInput);
        }
    };
    let bar = Bar::new(streams.terminal.progress && !options.results.quiet);
    let found = remedies(&subject, &|step| bar.show(step.done, step.of));
    bar.finish();
    let found = match found {
        Ok(found) => found,
        Err(RemedyError::Solve(error)) => {
            let message = run::refusal(&error, &job);
            writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
            return Ok(run::status(&error));
        }
        Err(error) => {
            let message = Diagnostic::error("E024", error.to_string())
                .help("state [want] min_thickness = \"12 um\" or [run] time = \"25 min\", and the bath's metal");
            writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let units = report::display_units(&job);
    let made = files(&source, &job, &found, options.most)?;
    let names: Vec<Option<String>> = made
        .iter()
        .map(|row| row.first().map(|(kind, _)| destination.path(kind).display().to_string()))
        .collect();
    let csv = remedies_csv(&found, units, &names).map_err(|e| io::Error::other(e.to_string()))?;
    let json = remedies_json(&job.title, &found, &names);
    let mut all = vec![(destination.path(TABLES[0]), csv), (destination.path(TABLES[1]), json)];
    all.extend(made.iter().flatten().map(|(kind, bytes)| (destination.path(kind), bytes.clone())));
    let written = match destination.write(all) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    for line in words(&job.title, &job.layout, &found, units, &names) {
        writeln!(streams.out, "{line}")?;
    }
    if !options.results.quiet {
        for path in written {
            writeln!(streams.out, "written: {}", path.display())?;
        }
    }
    Ok(match found.outcome {
        Outcome::NothingNeeded | Outcome::Rescued => ExitStatus::Done,
        Outcome::NotEnough | Outcome::NoHelp => ExitStatus::WantMissed,
    })
}

/// Kind and content of files.
type Named = Vec<(String, Vec<u8>)>;

/// For each row that helps, `most` at most, the job file and its pictures; for others none.
fn files(source: &Source, job: &Resolved, found: &Remedies, most: usize) -> io::Result<Vec<Named>> {
    let rows = found.rows.par_iter().enumerate().map(|(k, row)| {
        if k >= most || row.rank == Rank::NoGain {
            return Ok(Vec::new());
        }
        let title = called(row);
        // what cannot be written into this file is told in words alone
        let Some((text, job)) = job_text(source, job, row, &title) else { return Ok(Vec::new()) };
        let stem = format!("{}-{}", k + 1, title.replace(' ', "-"));
        let line = Mutex::new(crate::progress::ProgressLine::new(false, job.settings.accuracy));
        let mut out = vec![(format!("{stem}.toml"), text.into_bytes())];
        if let Ok(solved) = run::solve_showing(&job, &line)
            && let Ok(deposit) = report::deposit(&job, &solved)
        {
            let findings = report::findings(&job, &solved, None);
            let sources = report::sources(&job.provenance);
            let context =
                report::context(&job, &solved, deposit.as_ref(), &sources, &findings, 0.0);
            let fail = |error: crate::output::PictureError| io::Error::other(error.to_string());
            out.push((format!("{stem}.deposit.png"), deposit_png(&context).map_err(fail)?));
            out.push((format!("{stem}.map.png"), map_png(&context).map_err(fail)?));
        }
        Ok(out)
    });
    rows.collect()
}

/// Solves done, of how many.
pub(super) struct Bar {
    started: Instant,
    bar: Option<ProgressBar>,
}

impl Bar {
    pub(super) fn new(wanted: bool) -> Self {
        let bar = wanted.then(|| {
            let bar = ProgressBar::with_draw_target(Some(1), ProgressDrawTarget::hidden());
            let style =
                ProgressStyle::with_template("{bar:30} {pos} of at most {len} layouts, {eta} left");
            if let Ok(style) = style {
                bar.set_style(style);
            }
            bar
        });
        Self { started: Instant::now(), bar }
    }

    pub(super) fn show(&self, done: usize, of: usize) {
        if let Some(bar) = &self.bar
            && self.started.elapsed() > PATIENCE
        {
            if bar.is_hidden() {
                bar.set_draw_target(ProgressDrawTarget::stderr());
            }
            bar.set_length(of as u64);
            bar.set_position(done as u64);
        }
    }

    pub(super) fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
