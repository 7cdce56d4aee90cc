//! `throwmap run` and `check` on a sequence: several baths one after the other.

use std::io;
use std::sync::{Mutex, PoisonError};

use rayon::prelude::*;
use solver::quantity::{Length, Time};
use solver::{Coat, Deposit, Role, Stack, StackError};

use crate::args::{CheckOptions, RunOptions};
use crate::diagnostic::Diagnostic;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::job::{Demand, LayerJob, Limit, Resolved, Sequence};
use crate::output::{
    Context, Findings, LayerRun, PartStack, SourcedValue, StackContext, Want, judge_stack,
    stack_csv, stack_json, stack_png, stack_verdict,
};
use crate::progress::ProgressLine;
use crate::terminal::Streams;

use super::report::Solved;
use super::{check, report, run};

/// Result files of the whole, in the order in which they are listed; those of the layers follow.
const KINDS: [&str; 3] = ["deposit.png", "surface.csv", "summary.json"];

/// A solved layer.
struct Answer {
    solved: Solved,
    deposit: Option<(Time, Deposit)>,
    sources: Vec<SourcedValue>,
    findings: Findings,
    seconds: f64,
}

/// Solves all layers and writes their results and those of the whole.
pub fn run(
    options: &RunOptions,
    sequence: &Sequence,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    if options.report().is_some() {
        writeln!(
            streams.err,
            "error: a report page holds one bath, and this job has {} layers: state a folder, or give a job of its own to each bath that the page is to be about",
            sequence.layers.len()
        )?;
        return Ok(ExitStatus::BadInput);
    }
    let destination = Destination::new(&options.job, options.out_dir.as_deref(), options.force);
    let names = file_names(sequence);
    let refs: Vec<&str> = names.iter().map(String::as_str).collect();
    if let Err(error) = destination.check(&refs) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let show = streams.terminal.progress && !options.quiet;
    let accuracy = sequence.layers.iter().map(|l| l.job.settings.accuracy).fold(1.0, f64::min);
    let line = Mutex::new(ProgressLine::new(show, accuracy));
    let solved: Vec<_> = sequence.layers.par_iter().map(|layer| solve(layer, &line)).collect();
    line.into_inner().unwrap_or_else(PoisonError::into_inner).finish();
    let mut answers = Vec::with_capacity(solved.len());
    let mut failed = None;
    for (layer, answer) in sequence.layers.iter().zip(solved) {
        match answer {
            Ok(answer) => answers.push(answer),
            Err(refused) => {
                let (message, status) = *refused;
                let message = in_layer(message, layer);
                writeln!(
                    streams.err,
                    "{}\n",
                    message.render(&layer.source, streams.terminal.colour)
                )?;
                failed.get_or_insert(status);
            }
        }
    }
    if let Some(status) = failed {
        return Ok(status);
    }
    let layers: Vec<LayerRun<'_>> = sequence
        .layers
        .iter()
        .zip(&answers)
        .enumerate()
        .map(|(k, (layer, answer))| layer_run(layer, answer, want(&sequence.demands, k)))
        .collect();
    let parts = match parts(&layers) {
        Ok(parts) => parts,
        Err(message) => {
            writeln!(streams.err, "error: {message}; nothing was written")?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let context = StackContext {
        title: &sequence.title,
        layers: &layers,
        parts: &parts,
        demands: &sequence.demands,
        units: layers[0].context.units,
    };
    let contents = contents(&context).map_err(io::Error::other)?;
    let files: Vec<(&str, Vec<u8>)> = refs.into_iter().zip(contents).collect();
    let written = match destination.write(&files) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    let shown = written.iter().filter(|_| !options.quiet).map(|path| path.display().to_string());
    for line in stack_verdict(&context, &shown.collect::<Vec<_>>()) {
        writeln!(streams.out, "{line}")?;
    }
    let met = judge_stack(&context).iter().all(|standing| standing.met());
    Ok(if met { ExitStatus::Done } else { ExitStatus::WantMissed })
}

/// Names of all result files.
fn file_names(sequence: &Sequence) -> Vec<String> {
    let whole = KINDS.iter().map(|kind| (*kind).to_owned());
    let of_layer = |layer: &LayerJob| {
        let begin = layer.file_name.clone();
        report::KINDS.iter().map(move |kind| format!("{begin}.{kind}"))
    };
    whole.chain(sequence.layers.iter().flat_map(of_layer)).collect()
}

/// Their contents, in the same order; the error is a fault of this program.
fn contents(context: &StackContext) -> Result<Vec<Vec<u8>>, String> {
    let mut out = vec![
        stack_png(context).map_err(|error| error.to_string())?,
        stack_csv(context).map_err(|error| error.to_string())?,
        stack_json(context).map_err(|error| error.to_string())?.into_bytes(),
    ];
    let of_layers: Result<Vec<report::Files>, String> = context
        .layers
        .par_iter()
        .map(|layer| report::files(&layer.context).map_err(|error| error.to_string()))
        .collect();
    out.extend(of_layers?.into_iter().flatten().map(|(_, content)| content));
    Ok(out)
}

/// A layer's answer, or why there is none.
fn solve(
    layer: &LayerJob,
    line: &Mutex<ProgressLine>,
) -> Result<Answer, Box<(Diagnostic, ExitStatus)>> {
    let started = std::time::Instant::now();
    let job: &Resolved = &layer.job;
    let solved = run::solve_showing(job, line).map_err(|(position, error)| {
        let message = run::in_position(run::refusal(&error, job), job, position);
        Box::new((message, run::status(&error)))
    })?;
    let deposit = report::deposit(job, &solved)
        .map_err(|error| Box::new((run::never(error, job), ExitStatus::BadInput)))?;
    Ok(Answer {
        deposit,
        sources: report::sources(&job.provenance),
        findings: report::findings(job, &solved, None),
        seconds: started.elapsed().as_secs_f64(),
        solved,
    })
}

fn layer_run<'a>(layer: &'a LayerJob, answer: &'a Answer, want: Want) -> LayerRun<'a> {
    let Answer { solved, deposit, sources, findings, seconds } = answer;
    let deposit = deposit.as_ref();
    let context = report::context(&layer.job, solved, deposit, sources, findings, *seconds);
    LayerRun {
        name: &layer.name,
        file_name: &layer.file_name,
        symbol: layer.job.plating.as_ref().map_or("", |plating| &plating.metal.symbol),
        context: Context { want, ..context },
    }
}

/// What is wanted of one layer alone, for its own pictures.
fn want(demands: &[Demand], layer: usize) -> Want {
    let mut want = Want::default();
    for demand in demands.iter().filter(|demand| demand.layers == [layer]) {
        let keep = |old: Option<Length>, new: Length, pick: fn(f64, f64) -> f64| {
            Some(Length::new(old.map_or(new.si(), |old| pick(old.si(), new.si()))))
        };
        match demand.limit {
            Limit::Least(length) => {
                want.min_thickness = keep(want.min_thickness, length, f64::max);
            }
            Limit::Most(length) => {
                want.max_thickness = keep(want.max_thickness, length, f64::min);
            }
            Limit::LowestShare(_) => {}
        }
    }
    want
}

/// Every part with its layers one over the other.
fn parts<'a>(layers: &[LayerRun<'a>]) -> Result<Vec<PartStack<'a>>, String> {
    let first = layers.first().ok_or("a sequence without layers")?;
    let bodies = first.context.layout.bodies.iter().filter(|body| body.role == Role::Part);
    bodies
        .map(|body| {
            let stack = stack(layers, &body.name)?;
            Ok(PartStack { name: &body.name, outline: &body.outline, stack })
        })
        .collect()
}

fn stack(layers: &[LayerRun<'_>], part: &str) -> Result<Stack, String> {
    let coats: Vec<Coat<'_>> =
        layers.iter().map(|layer| coat(layer, part)).collect::<Result<_, String>>()?;
    solver::stack(&coats).map_err(|error| match error {
        StackError::Nothing => format!("part `{part}` is in no bath"),
        StackError::Shape { .. } => format!("part `{part}`: {error}"),
    })
}

/// What a layer leaves on a part.
fn coat<'a>(layer: &LayerRun<'a>, part: &str) -> Result<Coat<'a>, String> {
    let dry = || format!("part `{part}` is not in the bath in layer `{}`", layer.name);
    let Context { layout, solution, significant, deposit, .. } = layer.context;
    let index = layout.bodies.iter().position(|body| body.name == part).ok_or_else(dry)?;
    let run = deposit.ok_or_else(|| format!("layer `{}` leaves no thickness", layer.name))?;
    Ok(Coat {
        outline: &layout.bodies[index].outline,
        result: solution.bodies.get(index).ok_or_else(dry)?,
        deposit: run.deposit.of_body(index).ok_or_else(dry)?,
        significant: significant.and_then(|mask| mask.get(index)).map(Vec::as_slice),
    })
}

/// The same message with the layer that it is about.
fn in_layer(message: Diagnostic, layer: &LayerJob) -> Diagnostic {
    Diagnostic { message: format!("layer `{}`: {}", layer.name, message.message), ..message }
}

/// Says what is in the sequence and draws the layout of every layer.
pub fn check(
    options: &CheckOptions,
    sequence: &Sequence,
    streams: &mut Streams<'_>,
) -> io::Result<ExitStatus> {
    if !options.quiet {
        let count = sequence.layers.len();
        writeln!(streams.out, "{}: no errors, {count} layers", sequence.title)?;
        for (k, layer) in sequence.layers.iter().enumerate() {
            let bodies = layer.job.layout.bodies.len();
            writeln!(streams.out, "{}. {}: {bodies} bodies", k + 1, layer.name)?;
            for value in &layer.job.provenance {
                let words = value.origin.words();
                writeln!(streams.out, "  {} = {} ({words})", value.key, value.value)?;
            }
        }
        for demand in &sequence.demands {
            let limit = match demand.limit {
                Limit::Least(length) => format!("at least {} um", length.to_um()),
                Limit::Most(length) => format!("at most {} um", length.to_um()),
                Limit::LowestShare(share) => format!("at least {:.0} %", 100.0 * share),
            };
            writeln!(streams.out, "wanted of {}: {limit} ({})", demand.what, demand.from)?;
        }
    }
    if options.no_drawing {
        return Ok(ExitStatus::Done);
    }
    let mut names = Vec::with_capacity(sequence.layers.len());
    let mut drawings = Vec::with_capacity(sequence.layers.len());
    for layer in &sequence.layers {
        names.push(format!("{}.{}", layer.file_name, check::LAYOUT));
        drawings.push(check::draw(&layer.job)?);
    }
    let files: Vec<(&str, Vec<u8>)> = names.iter().map(String::as_str).zip(drawings).collect();
    check::write(&files, options, streams)
}
