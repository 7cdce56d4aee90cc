//! `throwmap lesson`: a page on why recesses plate thin, and an animation.

use std::io;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::args::LessonOptions;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::lesson::{animation, job_names, lesson};
use crate::terminal::Streams;

/// Shorter work than this shows no progress.
const PATIENCE: Duration = Duration::from_millis(500);

/// Writes the page, and what else is asked for.
pub fn run(options: &LessonOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    if let Some(path) = &options.animate {
        let suffix = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        if !matches!(suffix.as_deref(), Some("png" | "apng")) {
            writeln!(
                streams.err,
                "error: `--animate {}`: the animation is a PNG; name it .png or .apng",
                path.display()
            )?;
            return Ok(ExitStatus::BadInput);
        }
    }
    let destination = Destination::new("-", None, options.force);
    let mut wanted = vec![options.output.clone()];
    wanted.extend(options.animate.clone());
    if let Some(folder) = &options.jobs {
        wanted.extend(job_names().map(|name| folder.join(name)));
    }
    if let Err(error) = destination.check(&wanted) {
        writeln!(streams.err, "error: {error}")?;
        return Ok(ExitStatus::Io);
    }
    let show = streams.terminal.progress;
    let made =
        with_progress(show, "jobs solved", &|step| lesson(step)).map_err(io::Error::other)?;
    let mut files = vec![(options.output.clone(), made.page.into_bytes())];
    if let Some(path) = &options.animate {
        let bytes = with_progress(show, "frames drawn", &|step| animation(step));
        files.push((path.clone(), bytes.map_err(io::Error::other)?));
    }
    if let Some(folder) = &options.jobs {
        let jobs = made.jobs.into_iter();
        files.extend(jobs.map(|(name, text)| (folder.join(name), text.into_bytes())));
    }
    match destination.write(files) {
        Ok(paths) => {
            for path in paths {
                writeln!(streams.out, "written: {}", path.display())?;
            }
            Ok(ExitStatus::Done)
        }
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            Ok(ExitStatus::Io)
        }
    }
}

/// Told how many of how many things are done.
type Step<'a> = dyn Fn(usize, usize) + Sync + 'a;

fn with_progress<T>(show: bool, what: &str, work: &dyn Fn(&Step<'_>) -> T) -> T {
    let started = Instant::now();
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    bar.set_style(ProgressStyle::default_spinner());
    let out = work(&|done, of| {
        if show && started.elapsed() > PATIENCE {
            bar.set_message(format!("{done} of {of} {what}"));
            bar.tick();
        }
    });
    bar.finish_and_clear();
    out
}
