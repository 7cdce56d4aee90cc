//! `throwmap lesson`: a page on why recesses plate thin, and an animation.

use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::args::LessonOptions;
use crate::exit::ExitStatus;
use crate::files::Destination;
use crate::lesson::{animation, lesson};
use crate::terminal::Streams;

/// Shorter work than this shows no progress.
const PATIENCE: Duration = Duration::from_millis(500);

/// Writes the page, and what else is asked for.
pub fn run(options: &LessonOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    // name, folder and whether it is checked before any work
    let page = split(&options.output);
    let moving = options.animate.as_deref().map(split);
    let into = |folder: &Path| Destination::new("-", Some(folder), options.force);
    if let Some((_, name)) = &moving
        && !["png", "apng"].iter().any(|e| name.to_lowercase().ends_with(&format!(".{e}")))
    {
        writeln!(
            streams.err,
            "error: `--animate {name}`: the animation is a PNG; name it .png or .apng"
        )?;
        return Ok(ExitStatus::BadInput);
    }
    for (folder, name) in [Some(&page), moving.as_ref()].into_iter().flatten() {
        if let Err(error) = into(folder).check(&[name]) {
            writeln!(streams.err, "error: {error}")?;
            return Ok(ExitStatus::Io);
        }
    }
    let show = streams.terminal.progress;
    let made =
        with_progress(show, "jobs solved", &|step| lesson(step)).map_err(io::Error::other)?;
    let mut files = vec![(page, made.page.into_bytes())];
    if let Some(place) = moving {
        let bytes = with_progress(show, "frames drawn", &|step| animation(step));
        files.push((place, bytes.map_err(io::Error::other)?));
    }
    if let Some(folder) = &options.jobs {
        let jobs = made.jobs.into_iter();
        files.extend(jobs.map(|(name, text)| ((folder.clone(), name), text.into_bytes())));
    }
    for ((folder, name), content) in files {
        match into(&folder).write(&[(name.as_str(), content)]) {
            Ok(paths) => {
                for path in paths {
                    writeln!(streams.out, "written: {}", path.display())?;
                }
            }
            Err(error) => {
                writeln!(streams.err, "error: {error}")?;
                return Ok(ExitStatus::Io);
            }
        }
    }
    Ok(ExitStatus::Done)
}

/// Folder and name of a file.
fn split(path: &Path) -> (PathBuf, String) {
    let name = path.file_name().map_or("lesson.html".into(), |name| name.to_string_lossy());
    (path.parent().map(Path::to_owned).unwrap_or_default(), name.into_owned())
}

fn with_progress<T>(
    show: bool,
    what: &str,
    work: &dyn Fn(&(dyn Fn(usize, usize) + Sync)) -> T,
) -> T {
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
