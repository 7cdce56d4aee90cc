//! `throwmap run`: the whole job, from the file to pictures, tables and the verdict.

use std::io;

use solver::SolveError;

use crate::args::RunOptions;
use crate::diagnostic::Diagnostic;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::progress::ProgressLine;
use crate::terminal::Streams;

use super::load;

/// The results of a run, in the order in which they are listed.
const KINDS: [&str; 5] = ["map.png", "deposit.png", "surface.csv", "field.csv", "summary.json"];

/// Solves the job and writes its results.
pub fn run(options: &RunOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let Some((source, resolved)) = load::job(&options.job, options.quiet, streams)? else {
        return Ok(ExitStatus::BadInput);
    };
    let destination = Destination::new(&options.job, options.out_dir.as_deref(), options.force);
    if let Err(error) = destination.check(&KINDS) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let show = streams.terminal.progress && !options.quiet;
    let mut line = ProgressLine::new(show, resolved.settings.accuracy);
    let solved = solver::solve(&resolved.layout, &resolved.settings, &mut |p| line.update(&p));
    line.finish();
    let _solution = match solved {
        Ok(solution) => solution,
        Err(error) => {
            let message = refusal(&error);
            writeln!(streams.err, "{}", message.render(&source, streams.terminal.colour))?;
            return Ok(status(&error));
        }
    };
    Ok(ExitStatus::Done)
}

fn status(error: &SolveError) -> ExitStatus {
    match error {
        SolveError::Layout(_) | SolveError::BeyondLimit { .. } => ExitStatus::BadInput,
        _ => ExitStatus::NotSolved,
    }
}

/// What the solver's refusal means for the planner.
fn refusal(error: &SolveError) -> Diagnostic {
    let message = Diagnostic::error("E020", error.to_string());
    match error {
        SolveError::BeyondLimit { possible_a, .. } => {
            message.help(format!("ask for less than {possible_a:.4} A, or raise `limiting` if the bath is agitated more"))
        }
        SolveError::TooLarge { reached, .. } => {
            message.help(format!("ask for less: [solve] accuracy = \"{:.2} %\"", 100.0 * reached))
        }
        SolveError::NotConverged { .. } => {
            message.help("please report this job: the method is meant to converge for every one")
        }
        SolveError::Layout(_) => message,
    }
}
