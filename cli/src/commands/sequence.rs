//! `throwmap run` and `check` on a sequence: several baths one after the other.

use std::io;
use std::sync::{Mutex, PoisonError};

use rayon::prelude::*;
use solver::quantity::{Length, Time};
use solver::{Coat, Deposit, Role, Stack, StackError};

use crate::args::{CheckOptions, RunOptions};
use crate::diagnostic::Diagnostic;
use crate::exit::ExitStatus;
use crate::job::{Demand, LayerJob, Limit, Resolved, Sequence};
use crate::output::{
    Context, Findings, LayerRun, PartStack, SourcedValue, StackContext, Want, judge_stack, pdf,
    stack_csv, stack_drawing, stack_json, stack_verdict,
};
use crate::outputs::{Content, Format, Output, Picture};
use crate::progress::ProgressLine;
use crate::terminal::Streams;

use super::report::{Files, Solved, Wanted};
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
    let wanted = Wanted::new(
        &options.job,
        options.results.out_dir.as_deref(),
        &options.output,
        options.results.force,
    );
    if let Some(fault) = wanted.named.iter().find_map(|output| fault(output, sequence)) {
        writeln!(streams.err, "error: {fault}")?;
        return Ok(ExitStatus::BadInput);
    }
    let names = file_names(sequence);
    let paths = wanted.paths(names.iter().map(String::as_str));
    if let Err(error) = wanted.destination.check(&paths) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let show = streams.terminal.progress && !options.results.quiet;
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
    let contents = contents(&context, &wanted).map_err(io::Error::other)?;
    let files: Files = paths.into_iter().zip(contents).collect();
    let written = match wanted.destination.write(files) {
        Ok(written) => written,
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    };
    let shown =
        written.iter().filter(|_| !options.results.quiet).map(|path| path.display().to_string());
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

/// Contents of the usual files, in the same order, and of those asked for by name; the error is a
/// fault of this program.
fn contents(context: &StackContext, wanted: &Wanted<'_>) -> Result<Vec<Vec<u8>>, String> {
    let mut out = Vec::new();
    if wanted.usual {
        let whole = [
            Content::Picture(Some(Picture::Deposit), Format::Png),
            Content::Surface,
            Content::Summary,
        ];
        for content in whole {
            out.push(of_whole(context, content)?);
        }
        let of_layers: Result<Vec<Vec<Vec<u8>>>, String> = context
            .layers
            .par_iter()
            .map(|layer| {
                let each = report::KINDS.iter().map(|kind| report::usual(&layer.context, kind));
                each.collect::<Result<_, _>>().map_err(|error| error.to_string())
            })
            .collect();
        out.extend(of_layers?.into_iter().flatten());
    }
    for output in wanted.named {
        out.push(match layer_of(output, context.layers.iter().map(|layer| layer.file_name)) {
            Some(k) => report::content(&context.layers[k].context, output.content)
                .map_err(|error| error.to_string())?,
            None => of_whole(context, output.content)?,
        });
    }
    Ok(out)
}

/// The content of a file about the whole sequence.
fn of_whole(context: &StackContext, content: Content) -> Result<Vec<u8>, String> {
    let failed = |error: &dyn std::fmt::Display| error.to_string();
    match content {
        Content::Surface => stack_csv(context).map_err(|error| failed(&error)),
        Content::Summary => {
            stack_json(context).map(String::into_bytes).map_err(|error| failed(&error))
        }
        Content::Picture(_, format) => {
            report::stored(&stack_drawing(context), format).map_err(|error| failed(&error))
        }
        Content::AllPictures => {
            let mut drawings = vec![stack_drawing(context)];
            for layer in context.layers {
                let all = [Picture::Map, Picture::Deposit, Picture::Profile, Picture::Layout];
                drawings.extend(all.map(|picture| report::drawing(&layer.context, picture)));
            }
            let pages: Vec<&_> = drawings.iter().collect();
            pdf(&pages).map_err(|error| failed(&error))
        }
        Content::Field | Content::FieldVti | Content::SurfaceVtu | Content::Report => {
            Err("a sequence has this for each layer only".into())
        }
    }
}

/// Which layer a file asked for by name is about; none for the whole sequence.
fn layer_of<'a>(output: &Output, mut layers: impl Iterator<Item = &'a str>) -> Option<usize> {
    let before = output.before.as_deref()?;
    layers.position(|name| name == before)
}

/// Why a file cannot be had from a sequence.
fn fault(output: &Output, sequence: &Sequence) -> Option<String> {
    let names = || sequence.layers.iter().map(|layer| layer.file_name.as_str());
    if output.content == Content::Report {
        return Some(format!(
            "a report page holds one bath, and this job has {} layers: give a job of its own to each bath that the page is to be about",
            sequence.layers.len()
        ));
    }
    let whole = matches!(
        output.content,
        Content::Picture(None | Some(Picture::Deposit), _)
            | Content::AllPictures
            | Content::Surface
            | Content::Summary
    );
    if whole || layer_of(output, names()).is_some() {
        return None;
    }
    let first = names().next().unwrap_or_default();
    Some(format!(
        "`{}`: a job of several layers has that for each layer only; put the layer's name before it, as in {first}.map.svg (layers: {})",
        output.path.display(),
        names().collect::<Vec<_>>().join(", ")
    ))
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
    let drawings: Vec<_> = sequence
        .layers
        .iter()
        .map(|layer| (format!("{}.{}", layer.file_name, check::LAYOUT), check::draw(&layer.job)))
        .collect();
    check::write(&drawings, options, streams)
}
