//! `throwmap remedies`: what would help this job, and by how much.

use std::io;
use std::path::Path;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;
use solver::plan::Answer;
use solver::remedy::{Outcome, Rank, Remedies, RemedyError, Step, remedies};

use crate::args::RemediesOptions;
use crate::diagnostic::{Diagnostic, Source};
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::job::Resolved;
use crate::output::{deposit_png, map_png};
use crate::remedy::{
    Written, called, job_text, remedies_csv, remedies_json, report as words, subject,
};
use crate::terminal::Streams;

use super::report::Solved;
use super::{load, report, run};

/// The tables that are always written.
const TABLES: [&str; 2] = ["remedies.csv", "remedies.json"];
/// The line is drawn anew this often.
const TICK: Duration = Duration::from_millis(200);

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
    let found = remedies(&subject, &|step| bar.show(step));
    if found.is_err() {
        bar.clear();
    }
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
    bar.say("drawing what helps");
    let made = files(&source, &job, &found, (options.most, &destination));
    bar.clear();
    let made = made?;
    let path = |kind: &String| destination.path(kind).display().to_string();
    let written_of = |row: &Named| {
        let ((job, _), pictures) = row.split_first()?;
        let pictures = pictures.iter().map(|(kind, _)| path(kind)).collect();
        Some(Written { job: path(job), pictures })
    };
    let names: Vec<Option<Written>> = made.iter().map(written_of).collect();
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
fn files(
    source: &Source,
    job: &Resolved,
    found: &Remedies,
    (most, destination): (usize, &Destination),
) -> io::Result<Vec<Named>> {
    let rows = found.rows.par_iter().enumerate().map(|(k, row)| {
        if k >= most || row.rank == Rank::NoGain {
            return Ok(Vec::new());
        }
        let title = called(row);
        // what cannot be written into this file is told in words alone
        let stem = format!("{}-{}", k + 1, title.replace(' ', "-"));
        let path = destination.path(&format!("{stem}.toml"));
        let to = path.parent().unwrap_or(Path::new(""));
        let Some((text, mut job)) = job_text(source, job, row, &title, to) else {
            return Ok(Vec::new());
        };
        let mut out = vec![(format!("{stem}.toml"), text.into_bytes())];
        // the file draws what has been solved; bodies stand in the order of the answer
        job.layout.clone_from(&row.case.positions[0].0);
        let Answer { solutions, significant, .. } = row.answer.clone();
        let solved = Solved { positions: row.case.positions.clone(), solutions, significant };
        if let Ok(deposit) = report::deposit(&job, &solved) {
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

/// How far the search is, from its first moment on: the job itself may take a while.
struct Bar(Option<ProgressBar>);

/// Until it is known how much there is to do.
const BEGIN: &str = "{spinner} {msg}";
const SEARCH: &str = "{spinner} {bar:30} {pos} of at most {len} layouts";
const LEFT: &str = "{spinner} {bar:30} {pos} of at most {len} layouts, {eta} left";
/// After so many layouts the time that is left can be told.
const TOLD_FROM: usize = 5;

impl Bar {
    fn new(wanted: bool) -> Self {
        let bar = wanted.then(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
            restyle(&bar, BEGIN);
            bar.set_message("solving the job as it is");
            bar.enable_steady_tick(TICK);
            bar
        });
        Self(bar)
    }

    fn show(&self, step: Step) {
        let Some(bar) = &self.0 else { return };
        bar.set_length(step.of as u64);
        bar.set_position(step.done as u64);
        match step.done {
            // what is left is reckoned from here
            0 => {
                restyle(bar, SEARCH);
                bar.reset_eta();
            }
            TOLD_FROM => restyle(bar, LEFT),
            _ => {}
        }
    }

    fn clear(&self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }

    fn say(&self, message: &'static str) {
        if let Some(bar) = &self.0 {
            restyle(bar, BEGIN);
            bar.set_message(message);
        }
    }
}

fn restyle(bar: &ProgressBar, template: &str) {
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
}
