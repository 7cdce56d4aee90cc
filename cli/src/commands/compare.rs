//! `throwmap compare`: several jobs solved, one table, one picture on one scale.

use std::collections::BTreeMap;
use std::io;
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use solver::Deposit;
use solver::quantity::Time;

use crate::args::CompareOptions;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::job::Resolved;
use crate::output::{
    Compared, Findings, MOST_COMPARED, Row, SourcedValue, compared_csv, comparison_drawing, judge,
    table,
};
use crate::progress::ProgressLine;
use crate::terminal::Streams;

use super::report::Solved;
use super::{load, report, run};

/// The files that are always written.
const KINDS: [&str; 3] = ["comparison.csv", "comparison.map.png", "comparison.deposit.png"];

/// A job with its answer.
struct Run {
    row: Row,
    job: Resolved,
    solved: Solved,
    deposit: Option<(Time, Deposit)>,
    sources: Vec<SourcedValue>,
    findings: Findings,
    seconds: f64,
}

/// Solves all jobs and lays them side by side.
pub fn run(options: &CompareOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let destination =
        Destination::new("-", options.results.out_dir.as_deref(), options.results.force);
    let folder = options.results.out_dir.clone().unwrap_or_default();
    let paths = KINDS.map(|kind| folder.join(kind));
    if let Err(error) = destination.check(&paths) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let mut jobs = Vec::new();
    for name in &options.jobs {
        match load::one(name, "compare", options.results.quiet, streams)? {
            None => return Ok(ExitStatus::BadInput),
            Some(loaded) => jobs.push(loaded),
        }
    }
    let names = names(&options.jobs);
    let mut runs = Vec::new();
    for ((source, job), name) in jobs.into_iter().zip(names) {
        let show = streams.terminal.progress && !options.results.quiet;
        let line = Mutex::new(ProgressLine::new(show, job.settings.accuracy));
        let started = Instant::now();
        let solved = run::solve_showing(&job, &line);
        line.into_inner().unwrap_or_else(PoisonError::into_inner).finish();
        let solved = match solved {
            Ok(solved) => solved,
            Err((position, error)) => {
                let message = run::in_position(run::refusal(&error, &job), &job, position);
                writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
                return Ok(run::status(&error));
            }
        };
        let (solved, outcome) = report::outcome(&job, solved);
        let deposit = match report::deposit(&job, &solved) {
            Ok(deposit) => deposit,
            Err(error) => {
                let message = run::never(error, &job);
                writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
                return Ok(ExitStatus::BadInput);
            }
        };
        runs.push(Run {
            findings: report::findings(&job, &solved, None),
            sources: report::sources(&job.provenance),
            seconds: started.elapsed().as_secs_f64(),
            row: Row { name, outcome },
            job,
            solved,
            deposit,
        });
    }
    let contexts: Vec<_> = runs
        .iter()
        .map(|r| {
            report::context(
                &r.job,
                &r.solved,
                r.deposit.as_ref(),
                &r.sources,
                &r.findings,
                r.seconds,
            )
        })
        .collect();
    let rows: Vec<Row> = runs.iter().map(|r| r.row.clone()).collect();
    let fail = |error: &dyn std::fmt::Display| io::Error::other(error.to_string());
    let title = format!("{} layouts on one scale", contexts.len().min(MOST_COMPARED));
    let picture = |what| comparison_drawing(&title, &contexts, what).png();
    let contents = [
        compared_csv(&rows).map_err(|e| fail(&e))?,
        picture(Compared::Map).map_err(|e| fail(&e))?,
        picture(Compared::Deposit).map_err(|e| fail(&e))?,
    ];
    let written = match destination.write(paths.into_iter().zip(contents).collect()) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    let units = runs.first().map(|r| report::display_units(&r.job)).unwrap_or_default();
    for line in table(&rows, units) {
        writeln!(streams.out, "{line}")?;
    }
    if !options.results.quiet {
        if contexts.len() > MOST_COMPARED {
            writeln!(streams.err, "note: the pictures show the first {MOST_COMPARED} jobs only")?;
        }
        for path in written {
            writeln!(streams.out, "written: {}", path.display())?;
        }
    }
    let met = contexts.iter().all(|context| judge(context).meets_specification());
    Ok(if met { ExitStatus::Done } else { ExitStatus::WantMissed })
}

/// What the jobs are called in the table: the stem, or the whole path where stems are the same.
fn names(jobs: &[String]) -> Vec<String> {
    let stem = |job: &String| {
        Path::new(job).file_stem().map_or_else(|| job.clone(), |s| s.to_string_lossy().into_owned())
    };
    let mut counts = BTreeMap::new();
    for job in jobs {
        *counts.entry(stem(job)).or_insert(0) += 1;
    }
    jobs.iter().map(|job| if counts[&stem(job)] > 1 { job.clone() } else { stem(job) }).collect()
}
