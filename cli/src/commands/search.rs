//! `throwmap search`: the values of a job that serve an aim best and keep to limits.

use std::io;
use std::path::Path;
use std::sync::Mutex;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;
use solver::plan::search::{Limit, Search, Searched, Step, Watch};
use solver::plan::{Model, Outcome, search as find};
use solver::quantity::Length;

use crate::args::SearchOptions;
use crate::diagnostic::{Diagnostic, Source};
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::interrupt;
use crate::job::{Resolved, resolve};
use crate::output::{Front, deposit_png, front_drawing, map_png};
use crate::progress::ProgressLine;
use crate::search::{
    Said, aims, axes, run_minutes, runs_until_wanted, search_csv, searched, with_run, with_title,
};
use crate::terminal::Streams;
use crate::vary::Varied;

use super::{load, report, run};

/// The files that are always written.
const KINDS: [&str; 2] = ["search.csv", "front.png"];

/// Searches, prints what is found, and writes it with a job file and pictures for each of the best.
pub fn run(options: &SearchOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let loaded = load::one(&options.job, "search", options.results.quiet, streams)?;
    let Some((source, job)) = loaded else { return Ok(ExitStatus::BadInput) };
    let (varied, what) = match wanted(options, &source, &job) {
        Ok(wanted) => wanted,
        Err(faults) => {
            for fault in &faults {
                writeln!(streams.err, "{}\n", fault.render(&source, streams.terminal.colour))?;
            }
            let plural = if faults.len() == 1 { "" } else { "s" };
            writeln!(streams.err, "{} error{plural}; nothing was written", faults.len())?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let destination =
        Destination::new(&options.job, options.results.out_dir.as_deref(), options.results.force);
    let names = KINDS.map(str::to_owned).into_iter().chain((1..=what.best).flat_map(names_of));
    if let Err(error) = destination.check(&names.map(|n| destination.path(&n)).collect::<Vec<_>>())
    {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    interrupt::listen();
    let bar = bar(streams.terminal.progress && !options.results.quiet, what.budget);
    let progress = |step: Step| {
        if let Some(bar) = &bar {
            bar.set_length(step.of as u64);
            bar.set_position(step.solved as u64);
        }
    };
    let found = find(&varied, &what, &Watch { progress: &progress, stop: &interrupt::is_stopped });
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    let found = match found {
        Ok(found) => found,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let units = report::display_units(&job);
    let figures: Vec<_> = what.aim.0.iter().map(|t| t.figure).collect();
    let said = Said {
        varied: &varied,
        figures: figures.iter().copied().chain(what.limits.iter().map(|l| l.figure)).collect(),
        limits: &what.limits,
        title: &job.title,
        units,
    };
    let until_wanted = runs_until_wanted(&said.figures) && !varies_run(&varied);
    let folder = destination.path("job.toml").parent().map(Path::to_path_buf).unwrap_or_default();
    let made = layouts(&varied, &found, &folder, until_wanted)?;
    let fail = |error: &dyn std::fmt::Display| io::Error::other(error.to_string());
    let csv = search_csv(&varied, &found).map_err(|e| fail(&e))?;
    let front = front_drawing(&front(&job, &what, &found, options.seed), units);
    let mut all = vec![(destination.path(KINDS[0]), csv)];
    // without a layout that keeps to the limits there is no trade-off to show
    if !found.front.is_empty() {
        all.push((destination.path(KINDS[1]), front.png().map_err(|e| fail(&e))?));
    }
    let files: Vec<String> =
        (1..=made.len()).map(|k| destination.path(&names_of(k)[0]).display().to_string()).collect();
    for (k, contents) in made.into_iter().enumerate() {
        let names = names_of(k + 1).into_iter();
        all.extend(names.zip(contents).filter_map(|(n, c)| Some((destination.path(&n), c?))));
    }
    let written = match destination.write(all) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    for line in said.lines(&found, &files) {
        writeln!(streams.out, "{line}")?;
    }
    if !found.best.is_empty() && until_wanted {
        writeln!(streams.out, "The job files run until the least wanted is there.")?;
    }
    for path in written.iter().filter(|_| !options.results.quiet) {
        writeln!(streams.out, "written: {}", path.display())?;
    }
    let met = |o: &Outcome| until_wanted || o.meets() != Some(false);
    let best = found.best.first().and_then(|&k| found.trials[k].found.outcome());
    Ok(if best.is_some_and(met) { ExitStatus::Done } else { ExitStatus::WantMissed })
}

fn bar(wanted: bool, count: usize) -> Option<ProgressBar> {
    wanted.then(|| {
        let bar = ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::stderr());
        if let Ok(style) =
            ProgressStyle::with_template("{bar:30} {pos} of at most {len} layouts, {eta} left")
        {
            bar.set_style(style);
        }
        // from the start: the first answer may take a while
        bar.tick();
        bar
    })
}

/// Names of the files of the k-th best: job, map, deposit.
fn names_of(k: usize) -> [String; 3] {
    [format!("best-{k}.toml"), format!("best-{k}.map.png"), format!("best-{k}.deposit.png")]
}

/// The job with its variables, and what is searched for.
fn wanted(
    options: &SearchOptions,
    source: &Source,
    job: &Resolved,
) -> Result<(Varied, Search), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    if options.vary.is_empty() {
        let fault = Diagnostic::error("E030", "nothing may be varied: --vary is missing");
        faults.push(fault.help("like --vary anode.left.move.x=-40..40mm; more of them may follow"));
    }
    let mut kept = |found: Result<(), Vec<Diagnostic>>| {
        if let Err(wrong) = found {
            faults.extend(wrong);
        }
    };
    let mut varied = None;
    kept(Varied::new(source, job, &options.vary).map(|v| varied = Some(v)));
    let mut aim = None;
    kept(aims::aim(&options.aim, job).map(|a| aim = Some(a)));
    let usual = Limit::usual(&job.task());
    let mut limits = None;
    kept(aims::limits(&options.limit, usual, job).map(|l| limits = Some(l)));
    let mut clearance = Length::new(0.0);
    kept(aims::clearance(options.clearance.as_deref()).map(|c| clearance = c));
    let mut front = None;
    if let Some(aim) = &aim {
        kept(aims::front(options.front.as_deref(), aim, job).map(|f| front = Some(f)));
    }
    let (Some(varied), Some(aim), Some(limits), Some(front), true) =
        (varied, aim, limits, front, faults.is_empty())
    else {
        return Err(faults);
    };
    // without all values the job as it is is not among those that the model makes
    let own: Option<Vec<f64>> = varied.varying.iter().map(|v| v.stated).collect();
    let own = own.filter(|values| varied.task(values).is_ok());
    let search = Search {
        variables: varied.varying.iter().map(searched).collect(),
        own,
        aim,
        limits,
        clearance,
        front: axes(front),
        budget: options.budget,
        seed: options.seed,
        best: options.best,
    };
    Ok((varied, search))
}

/// True if the length of the run is itself varied.
fn varies_run(varied: &Varied) -> bool {
    varied.varying.iter().any(|v| v.variable.name.trim_start().starts_with("run"))
}

/// Job file, map and deposit of each of the best.
fn layouts(
    varied: &Varied,
    found: &Searched,
    folder: &Path,
    until_wanted: bool,
) -> io::Result<Vec<[Option<Vec<u8>>; 3]>> {
    let one = |(k, &trial): (usize, &usize)| {
        let trial = &found.trials[trial];
        let minutes = trial.found.outcome().filter(|_| until_wanted).and_then(run_minutes);
        let timed = |text: String| minutes.map_or_else(|| text.clone(), |m| with_run(&text, m));
        let text = timed(varied.job_text(&trial.values, folder));
        let here = varied.at(&trial.values);
        let title = format!("{}: best {}", varied.title(), k + 1);
        let here = Source { text: with_title(&timed(here.text), &title), ..here };
        let mut out = [Some(text.into_bytes()), None, None];
        let Ok(job) = resolve(&here) else { return Ok(out) };
        let line = Mutex::new(ProgressLine::new(false, job.settings.accuracy));
        if let Ok(solved) = run::solve_showing(&job, &line)
            && let Ok(deposit) = report::deposit(&job, &solved)
        {
            let findings = report::findings(&job, &solved, None);
            let sources = report::sources(&job.provenance);
            let context =
                report::context(&job, &solved, deposit.as_ref(), &sources, &findings, 0.0);
            let fail = |error: crate::output::PictureError| io::Error::other(error.to_string());
            out[1] = Some(map_png(&context).map_err(fail)?);
            out[2] = Some(deposit_png(&context).map_err(fail)?);
        }
        Ok(out)
    };
    found.best.par_iter().enumerate().map(one).collect()
}

fn front<'a>(job: &'a Resolved, what: &Search, found: &Searched, seed: u64) -> Front<'a> {
    let figures = what.front.map(|axis| axis.figure);
    let place = |k: usize| {
        let outcome = found.trials[k].found.outcome()?;
        let [x, y] = figures.map(|figure| figure.of(outcome).map(|m| m.value));
        Some([x?, y?])
    };
    let good = |k: &usize| found.merit(*k).is_good();
    let numbered = found.best.iter().enumerate();
    Front {
        title: &job.title,
        figures,
        good: (0..found.trials.len()).filter(good).filter_map(place).collect(),
        front: found.front.iter().copied().filter_map(place).collect(),
        best: numbered.filter_map(|(k, &trial)| Some((k + 1, place(trial)?))).collect(),
        own: found.own.and_then(|own| Some((place(own)?, good(&own)))),
        notes: vec![format!(
            "{} layouts solved, seed {seed}. The best are solved to {} %, all others to 3 % or that; \
             dots may move by as much.",
            found.counts.solved,
            crate::output::three(100.0 * job.settings.accuracy)
        )],
    }
}
