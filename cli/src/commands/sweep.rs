//! `throwmap sweep`: a job solved for many values of its numbers.

use std::io;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use solver::Warm;
use solver::plan::{Found, sweep as solve_all};

use crate::args::SweepOptions;
use crate::diagnostic::{Diagnostic, Source};
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::interrupt;
use crate::job::Resolved;
use crate::output::swept::{Status, Swept, cells_of, read_row, report as words};
use crate::sweep::{
    Journal, Record, Rows, Setup, read_journal, read_rows, record_path, table_bytes,
};
use crate::terminal::Streams;

use super::{load, report};

/// The job file of the best combination.
const BEST: &str = "sweep.best.toml";

/// Where one sweep, or a part of one, is kept.
struct Files {
    table: PathBuf,
    record: PathBuf,
    journal: PathBuf,
}

impl Files {
    /// What there is to go on with: of the sweep that was stopped, else of the one that was finished;
    /// nothing if that is not wanted.
    fn kept(
        &self,
        columns: usize,
        wanted: bool,
    ) -> Result<Option<(Record, Rows)>, (&PathBuf, io::Error)> {
        if !wanted {
            return Ok(None);
        }
        if let Some(begun) = read_journal(&self.journal, columns).map_err(|e| (&self.journal, e))? {
            return Ok(Some(begun));
        }
        let Some(record) = Record::read(&self.record).map_err(|e| (&self.record, e))? else {
            return Ok(None);
        };
        let rows = read_rows(&self.table, columns).map_err(|e| (&self.table, e))?;
        Ok(Some((record, rows)))
    }
}

/// Solves all combinations, or what is missing of them, and writes table and charts.
pub fn run(options: &SweepOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let loaded = load::one(&options.job, "sweep", options.results.quiet, streams)?;
    let Some((source, job)) = loaded else { return Ok(ExitStatus::BadInput) };
    if !options.merge.is_empty() {
        return merge(options, &source, &job, streams);
    }
    let setup = match Setup::new(&source, &job, &options.vary, options.sample) {
        Ok(setup) => setup,
        Err(faults) => return refuse(&faults, &source, streams),
    };
    let record = Record { part: options.shard.map(|(a, b)| [a, b]), ..setup.record.clone() };
    let force = options.results.force;
    let names = |force| Destination::new(&options.job, options.results.out_dir.as_deref(), force);
    let files = files(&names(force), options.shard);
    let there = match files.kept(setup.header().len(), options.resume) {
        Ok(there) => there,
        Err((path, error)) => return not_read(path, &error, streams),
    };
    let mut rows = Rows::new();
    match there {
        Some((of, kept)) => {
            if let Some(why) = record.differs(&of) {
                let message = format!("`{}` is of another sweep: {why}", files.table.display());
                let fault = Diagnostic::error("E029", message).help(
                    "take --resume out and add --force to begin anew, or write to another --out-dir",
                );
                return refuse(&[fault], &source, streams);
            }
            rows = kept;
        }
        None => {
            let mut paths = vec![files.table.clone(), files.record.clone(), files.journal.clone()];
            if options.shard.is_none() {
                paths.extend(pictures(&names(force), setup.axes.len()));
            }
            if let Err(error) = names(force).check(&paths) {
                writeln!(streams.err, "error: {error}")?;
                if files.journal.exists() {
                    writeln!(streams.err, "to go on with the sweep that was stopped: --resume")?;
                }
                return Ok(ExitStatus::Io);
            }
        }
    }
    let mine: Vec<usize> = match options.shard {
        Some((part, parts)) => {
            solver::plan::sweep::shard(setup.points.len(), part, parts).collect()
        }
        None => (0..setup.points.len()).collect(),
    };
    rows.retain(|number, cells| {
        mine.binary_search(&number.wrapping_sub(1)).is_ok()
            && read_row(cells, &setup.points).is_some()
    });
    let missing: Vec<usize> =
        mine.iter().copied().filter(|k| !rows.contains_key(&(k + 1))).collect();
    if !missing.is_empty() {
        let journal = match Journal::begin(&files.journal, &record, &rows) {
            Ok(journal) => journal,
            Err(error) => return not_written(&files.journal, &error, streams),
        };
        let show = streams.terminal.progress && !options.results.quiet;
        match solve(&setup, &job, &missing, journal, show) {
            Ok(new) => rows.extend(new),
            Err(error) => return not_written(&files.journal, &error, streams),
        }
    }
    if rows.len() < mine.len() {
        writeln!(
            streams.err,
            "stopped: {} of {} combinations are solved and kept in `{}`; the same command with --resume goes on",
            rows.len(),
            mine.len(),
            files.journal.display()
        )?;
        return Ok(ExitStatus::Interrupted);
    }
    let whole = options.shard.is_none();
    let status =
        finish(&setup, &job, &rows, &record, (&names(true), &files, whole), options, streams)?;
    if files.journal.exists() && status != ExitStatus::Io {
        std::fs::remove_file(&files.journal)?;
    }
    Ok(status)
}

fn files(names: &Destination, shard: Option<(usize, usize)>) -> Files {
    let stem = shard.map_or("sweep".to_owned(), |(part, parts)| format!("sweep.{part}of{parts}"));
    let table = names.path(&format!("{stem}.csv"));
    Files { record: record_path(&table), journal: names.path(&format!("{stem}.journal")), table }
}

/// The charts and the job file that will be written.
fn pictures(names: &Destination, axes: usize) -> Vec<PathBuf> {
    let middles: Vec<String> = match axes {
        0..=2 => vec![String::new()],
        n => (1..=n).flat_map(|a| (a + 1..=n).map(move |b| format!(".{a}-{b}"))).collect(),
    };
    let both =
        |middle: &String| ["png", "svg"].map(|kind| names.path(&format!("sweep{middle}.{kind}")));
    middles.iter().flat_map(both).chain([names.path(BEST)]).collect()
}

/// Solves the combinations `missing`, from 0, and notes each in the journal.
fn solve(
    setup: &Setup,
    job: &Resolved,
    missing: &[usize],
    journal: Journal,
    show: bool,
) -> io::Result<Rows> {
    interrupt::listen();
    let bar = bar(show, missing.len());
    let warm = base(job);
    let points: Vec<Vec<f64>> = missing.iter().map(|k| setup.points[*k].clone()).collect();
    let kept = Mutex::new((journal, Rows::new()));
    let broken = AtomicBool::new(false);
    let done = |k: usize, found: &Found| {
        let number = missing[k] + 1;
        let cells = cells_of(number, &setup.axes, &points[k], found);
        let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
        if !kept.0.add(&cells) {
            broken.store(true, Ordering::Relaxed);
        }
        kept.1.insert(number, cells);
        if let Some(bar) = &bar {
            bar.inc(1);
        }
    };
    let stop = || interrupt::is_stopped() || broken.load(Ordering::Relaxed);
    solve_all(&setup.varied, &points, warm.as_ref(), &stop, &done);
    if let Some(bar) = bar {
        bar.finish_and_clear();
    }
    let (journal, rows) = kept.into_inner().unwrap_or_else(PoisonError::into_inner);
    journal.end()?;
    Ok(rows)
}

/// The answer of the job as it stands, the start of all others: the same one for every part, so that
/// no answer depends on who solves it. A part that takes several positions starts afresh.
fn base(job: &Resolved) -> Option<Warm> {
    match job.positions().as_slice() {
        [(layout, _)] => solver::solve_warm(layout, &job.settings, None).ok().map(|(_, warm)| warm),
        _ => None,
    }
}

/// Writes table and charts and says what was found.
fn finish(
    setup: &Setup,
    job: &Resolved,
    rows: &Rows,
    record: &Record,
    (names, files, whole): (&Destination, &Files, bool),
    options: &SweepOptions,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    let read = rows.values().filter_map(|cells| read_row(cells, &setup.points)).collect();
    let varied =
        |key: &str| setup.axes.iter().any(|a| a.name.starts_with("want") && a.name.ends_with(key));
    let stated = |key: &str, length: Option<solver::quantity::Length>| {
        length.filter(|_| !varied(key)).map(|length| length.si())
    };
    let swept = Swept {
        title: &job.title,
        axes: setup.axes.clone(),
        rows: read,
        units: report::display_units(job),
        wanted_m: [
            stated("min_thickness", job.want.min_thickness),
            stated("max_thickness", job.want.max_thickness),
        ],
    };
    let mut results = vec![
        (files.table.clone(), table_bytes(&setup.header(), rows)?),
        (files.record.clone(), record.bytes()),
    ];
    if whole {
        let fail = |error: crate::output::PictureError| io::Error::other(error.to_string());
        for (middle, drawing) in swept.charts() {
            let path = |kind: &str| names.path(&format!("sweep{middle}.{kind}"));
            results.push((path("png"), drawing.png().map_err(fail)?));
            results.push((path("svg"), drawing.svg().map_err(fail)?.into_bytes()));
        }
        if let Some(best) = swept.best().first().filter(|_| !swept.aim().all) {
            let path = names.path(BEST);
            let folder = path.parent().unwrap_or(std::path::Path::new(""));
            let text = setup.varied.job_text(&best.values, folder);
            results.push((path, text.into_bytes()));
        }
    }
    let written = match names.write(results) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    for line in words(&swept) {
        writeln!(streams.out, "{line}")?;
    }
    if !options.results.quiet {
        for path in written {
            writeln!(streams.out, "written: {}", path.display())?;
        }
    }
    let any = |status| swept.rows.iter().any(|row| row.status == status);
    let judged = swept.rows.iter().any(|row| row.meets.is_some());
    Ok(match (any(Status::Solved), any(Status::Failed)) {
        // what a part comes to says nothing about the whole
        _ if !whole => ExitStatus::Done,
        (true, _) if judged && !swept.rows.iter().any(|row| row.meets == Some(true)) => {
            ExitStatus::WantMissed
        }
        (true, _) => ExitStatus::Done,
        (false, true) => ExitStatus::NotSolved,
        (false, false) => ExitStatus::BadInput,
    })
}

/// Joins the tables of all parts.
fn merge(
    options: &SweepOptions,
    source: &Source,
    job: &Resolved,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    let mut records: Vec<(&PathBuf, Record)> = Vec::new();
    for table in &options.merge {
        let path = record_path(table);
        match Record::read(&path) {
            Ok(Some(record)) => records.push((table, record)),
            Ok(None) => {
                let error =
                    io::Error::new(io::ErrorKind::NotFound, "it says which sweep the table is of");
                return not_read(&path, &error, streams);
            }
            Err(error) => return not_read(&path, &error, streams),
        }
    }
    let Some((_, first)) = records.first().cloned() else { return Ok(ExitStatus::BadInput) };
    let setup = match Setup::new(source, job, &first.vary, first.sample) {
        Ok(setup) => setup,
        Err(faults) => return refuse(&faults, source, streams),
    };
    let mut rows = Rows::new();
    for (table, record) in &records {
        if let Some(why) = setup.record.differs(record) {
            let message = format!("`{}` is of another sweep: {why}", table.display());
            let fault = Diagnostic::error("E029", message);
            return refuse(&[fault.help("only parts of one sweep can be joined")], source, streams);
        }
        match read_rows(table, setup.header().len()) {
            Ok(found) => rows.extend(found),
            Err(error) => return not_read(table, &error, streams),
        }
    }
    rows.retain(|_, cells| read_row(cells, &setup.points).is_some());
    let missing: Vec<usize> = (1..=setup.points.len()).filter(|k| !rows.contains_key(k)).collect();
    if !missing.is_empty() {
        let shown: Vec<String> = missing.iter().take(10).map(usize::to_string).collect();
        let more = if missing.len() > 10 {
            format!(" and {} more", missing.len() - 10)
        } else {
            String::new()
        };
        let message = format!(
            "{} of {} combinations are missing: points {}{more}",
            missing.len(),
            setup.points.len(),
            shown.join(", ")
        );
        let fault = Diagnostic::error("E029", message);
        return refuse(
            &[fault.help("name the tables of all parts, each solved to its end")],
            source,
            streams,
        );
    }
    let force = options.results.force;
    let names = Destination::new(&options.job, options.results.out_dir.as_deref(), force);
    let files = files(&names, None);
    let mut paths = vec![files.table.clone(), files.record.clone()];
    paths.extend(pictures(&names, setup.axes.len()));
    if let Err(error) = names.check(&paths) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    finish(&setup, job, &rows, &setup.record, (&names, &files, true), options, streams)
}

fn refuse(
    faults: &[Diagnostic],
    source: &Source,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    for fault in faults {
        writeln!(streams.err, "{}\n", fault.render(source, streams.terminal.colour))?;
    }
    Ok(ExitStatus::BadInput)
}

fn not_read(
    path: &std::path::Path,
    error: &io::Error,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    writeln!(streams.err, "error: cannot read `{}`: {error}", path.display())?;
    Ok(ExitStatus::BadInput)
}

fn not_written(
    path: &std::path::Path,
    error: &io::Error,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    writeln!(streams.err, "error: cannot write `{}`: {error}", path.display())?;
    Ok(ExitStatus::Io)
}

fn bar(wanted: bool, count: usize) -> Option<ProgressBar> {
    wanted.then(|| {
        let bar = ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::stderr());
        let style =
            ProgressStyle::with_template("{bar:30} {pos} of {len} combinations, {eta} left");
        if let Ok(style) = style {
            bar.set_style(style);
        }
        // from the start: the first answer may take a while
        bar.tick();
        bar
    })
}
