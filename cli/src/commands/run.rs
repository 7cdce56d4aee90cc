//! `throwmap run`: the whole job, from the file to pictures, tables and the verdict.

use std::io;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use solver::{Layout, Progress, RunError, SolveError};

use crate::args::RunOptions;
use crate::diagnostic::Diagnostic;
use crate::exit::ExitStatus;
use crate::job::Resolved;
use crate::leaning::leaning;
use crate::output::{JobText, judge, three, verdict};
use crate::progress::ProgressLine;
use crate::terminal::Streams;

use super::load::Work;
use super::report::{Solved, Wanted};
use super::{load, report, sequence};

/// Solves the job and writes its results.
pub fn run(options: &RunOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let (source, job) = match load::work(&options.job, options.results.quiet, streams)? {
        None => return Ok(ExitStatus::BadInput),
        Some(Work::Layers(work)) => return sequence::run(options, &work, streams),
        Some(Work::One(source, job)) => (source, *job),
    };
    let wanted = Wanted::new(
        &options.job,
        options.results.out_dir.as_deref(),
        &options.output,
        options.results.force,
    );
    if let Err(error) = wanted.destination.check(&wanted.paths(report::KINDS)) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let show = streams.terminal.progress && !options.results.quiet;
    let started = Instant::now();
    let solved = match solve(&job, show) {
        Ok(solved) => solved,
        Err((position, error)) => {
            let message = in_position(refusal(&error, &job), &job, position);
            writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
            return Ok(status(&error));
        }
    };
    let seconds = started.elapsed().as_secs_f64();
    let deposit = match report::deposit(&job, &solved) {
        Ok(deposit) => deposit,
        Err(error) => {
            let message = never(error, &job);
            writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let leaning =
        if options.no_ranges { None } else { leaning(&source, &job, Some(&solved.significant)) };
    let findings = report::findings(&job, &solved, leaning);
    let sources = report::sources(&job.provenance);
    let context = report::context(&job, &solved, deposit.as_ref(), &sources, &findings, seconds);
    let text = JobText { name: &source.name, text: &source.text };
    let files = report::files(&context, &wanted, text)
        .map_err(|error| io::Error::other(error.to_string()))?;
    let written = match wanted.destination.write(files) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    let names = if options.results.quiet {
        Vec::new()
    } else {
        written.iter().map(|path| path.display().to_string()).collect()
    };
    for line in verdict(&context, &names) {
        writeln!(streams.out, "{line}")?;
    }
    if deposit.is_none() && !options.results.quiet {
        writeln!(
            streams.err,
            "note: no thickness, because the job states no plating time ([run] time = \"25 min\") or no metal"
        )?;
    }
    Ok(if judge(&context).meets_specification() {
        ExitStatus::Done
    } else {
        ExitStatus::WantMissed
    })
}

/// Solves the job, in all its positions; the index of the one that fails.
fn solve(job: &Resolved, show: bool) -> Result<Solved, (usize, SolveError)> {
    let line = Mutex::new(ProgressLine::new(show, job.settings.accuracy));
    let solved = solve_showing(job, &line);
    line.into_inner().unwrap_or_else(PoisonError::into_inner).finish();
    solved
}

/// The same, with a line of progress that may show other solves as well.
pub(super) fn solve_showing(
    job: &Resolved,
    line: &Mutex<ProgressLine>,
) -> Result<Solved, (usize, SolveError)> {
    let positions = job.positions();
    // a poisoned line has nothing to show; the solve goes on
    let show = |p: Progress| {
        if let Ok(mut line) = line.lock() {
            line.update(&p);
        }
    };
    let solutions = if let [(layout, _)] = positions.as_slice() {
        let solved = solver::solve(layout, &job.settings, &mut |p| show(p));
        solved.map(|solution| vec![solution]).map_err(|error| (0, error))
    } else {
        let layouts: Vec<Layout> = positions.iter().map(|(layout, _)| layout.clone()).collect();
        solver::solve_all(&layouts, &job.settings, &|_, p| show(p))
    };
    let solutions = solutions?;
    // marks move with the parts: those of the first position serve for all
    let marks = |(layout, _): &(Layout, f64)| layout.significant_rows(&solutions[0]);
    let significant = positions.first().map(marks).unwrap_or_default();
    Ok(Solved { positions, solutions, significant })
}

/// Says in which position a solve failed, where there are several.
pub(super) fn in_position(mut message: Diagnostic, job: &Resolved, position: usize) -> Diagnostic {
    if job.positions.is_some() {
        message.message = format!("in position {}: {}", position + 1, message.message);
    }
    message
}

/// What a run without an end means for the planner.
pub(super) fn never(error: RunError, job: &Resolved) -> Diagnostic {
    let message = Diagnostic::error("E021", error.to_string());
    let message = match &job.places.run {
        Some(place) => message.at(place.clone(), "how long the run is"),
        None => message,
    };
    match error {
        RunError::Bare => message
            .help("state [run] time instead: the pictures then show where it stays bare")
            .help("more current, an anode nearer to that place, or a bath that covers better"),
        RunError::NoCurrent => message.help("check the supply: it must drive current to the parts"),
    }
}

/// The exit status of a refusal.
pub(super) fn status(error: &SolveError) -> ExitStatus {
    match error {
        SolveError::Layout(_)
        | SolveError::BeyondLimit { .. }
        | SolveError::ThiefFeeds { .. }
        | SolveError::NoCircuit { .. }
        | SolveError::NoPath { .. }
        | SolveError::ShortCircuit { .. } => ExitStatus::BadInput,
        SolveError::TooLarge { .. } | SolveError::NotConverged { .. } => ExitStatus::NotSolved,
    }
}

/// What the solver's refusal means for the planner, at the place in the job that causes it.
pub(super) fn refusal(error: &SolveError, job: &Resolved) -> Diagnostic {
    let message = Diagnostic::error("E020", error.to_string());
    let supply = match error {
        SolveError::BeyondLimit { supply, .. } | SolveError::ThiefFeeds { supply, .. } => *supply,
        SolveError::NoCircuit { supply } => {
            job.layout.supplies.iter().position(|s| s.name == *supply).unwrap_or(0)
        }
        _ => 0,
    };
    let supply = job.places.supplies.get(supply).cloned().unwrap_or(0..0);
    match error {
        SolveError::BeyondLimit { possible_a, .. } => {
            message.at(supply, "asks for more than the bath can carry").help(format!(
                "ask for less than {} A, or raise `limiting` if the bath is agitated more",
                three(*possible_a)
            ))
        }
        SolveError::ThiefFeeds { .. } => message
            .at(supply, "asks for less than the thief alone gives")
            .help("check `rest` and `offset` of the thieves and what other supplies feed the parts with"),
        SolveError::NoCircuit { .. } => message
            .at(supply, "its anodes and its cathodes have no bath in common")
            .help("shields or the tank wall part the bath; or the lists name the wrong bodies"),
        SolveError::NoPath { part } => {
            let body = job.layout.bodies.iter().position(|body| body.name == *part);
            let place = body.and_then(|body| job.places.bodies.get(body));
            let message = match place {
                Some(place) => message.at(place.clone(), "no current can come here"),
                None => message,
            };
            message.help("shields, other parts or the tank wall close every way through the bath")
        }
        SolveError::ShortCircuit { bodies, .. } => {
            let place = |name: &String| {
                let body = job.layout.bodies.iter().position(|body| body.name == *name);
                body.and_then(|body| job.places.bodies.get(body)).cloned()
            };
            let message = match (place(&bodies[0]), place(&bodies[1])) {
                (Some(first), Some(second)) if first != second => {
                    message.at(second, "touches here").and(first, "lies here")
                }
                (_, Some(second)) => message.at(second, "touches here"),
                _ => message,
            };
            message.help(
                "move them apart, or give one of them a polarization law: without any, the current where they meet has no bound",
            )
        }
        SolveError::TooLarge { reached, .. } => message
            .help(format!("ask for less: [solve] accuracy = \"{} %\"", three(100.0 * reached))),
        SolveError::NotConverged { .. } => {
            message.help("please report this job: the method is meant to converge for every one")
        }
        SolveError::Layout(_) => message,
    }
}
