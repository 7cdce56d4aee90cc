//! `throwmap export`: the layout as a drawing, for the drawing office and the workshop.

use std::io;
use std::path::Path;

use shapes::{Outline, export};

use crate::args::ExportOptions;
use crate::exit::ExitStatus;
use crate::files;
use crate::job::Resolved;
use crate::terminal::Streams;

use super::load::{self, Work};

/// Writes the outlines of tank and bodies to a new DXF or SVG file.
pub fn run(options: &ExportOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let kind = options.file.extension().map(|e| e.to_string_lossy().to_lowercase());
    let is_svg = match kind.as_deref() {
        Some("dxf") => false,
        Some("svg") => true,
        _ => {
            let name = options.file.display();
            writeln!(
                streams.err,
                "error: `{name}` is neither .dxf nor .svg: its ending says which"
            )?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let job = match load::work(&options.job, true, streams)? {
        None => return Ok(ExitStatus::BadInput),
        Some(Work::One(_, job)) => job,
        Some(Work::Layers(_)) => {
            let message = "error: a sequence has a layout for each layer: export a job of one bath";
            writeln!(streams.err, "{message}")?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let text = drawing(&job, is_svg);
    match files::write_new(Path::new(&options.file), text.as_bytes()) {
        Ok(()) => {
            writeln!(streams.out, "drawing: {}", options.file.display())?;
            Ok(ExitStatus::Done)
        }
        Err(files::FileError::Exists(path)) => {
            let name = path.display();
            writeln!(
                streams.err,
                "error: `{name}` exists and is left as it is; name another file"
            )?;
            Ok(ExitStatus::Io)
        }
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            Ok(ExitStatus::Io)
        }
    }
}

/// The drawing, in the job's unit where the format knows it and in mm elsewhere.
fn drawing(job: &Resolved, is_svg: bool) -> String {
    let known = !is_svg || matches!(job.unit.name, "mm" | "cm" | "in");
    let (unit, metres) = if known { (job.unit.name, job.unit.metres) } else { ("mm", 1e-3) };
    let layout = &job.layout;
    let mut drawn: Vec<(&str, Outline)> = vec![("tank", layout.tank.scaled(metres.recip()))];
    let bodies = layout.bodies.iter();
    drawn.extend(bodies.map(|body| (body.name.as_str(), body.outline.scaled(metres.recip()))));
    let all: Vec<(&str, &Outline)> = drawn.iter().map(|(name, outline)| (*name, outline)).collect();
    if is_svg {
        let room = drawn[0].1.bounds();
        export::svg(&all, (room.x1, room.y1), unit)
    } else {
        export::dxf(&all, metres)
    }
}

#[cfg(test)]
mod tests {
    use shapes::import::Drawing;

    #[test]
    fn a_layout_comes_back_from_both_formats() {
        let folder = tempfile::tempdir().expect("a folder");
        let job = folder.path().join("bath.toml");
        std::fs::write(&job, crate::commands::init::STARTER).expect("writable");
        let source = crate::job::load(&job.display().to_string()).expect("readable");
        let layout = crate::job::resolve(&source).expect("the starter").layout;
        for kind in ["dxf", "svg", "png"] {
            let file = folder.path().join(format!("layout.{kind}"));
            let args =
                ["throwmap", "export", &job.display().to_string(), &file.display().to_string()]
                    .map(str::to_owned);
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let status = crate::run(args.clone(), &mut out, &mut err);
            if kind == "png" {
                assert_eq!(status, crate::ExitStatus::BadInput);
                assert!(!file.exists());
                continue;
            }
            assert_eq!(status, crate::ExitStatus::Done, "{}", String::from_utf8_lossy(&err));
            // a drawing is never written over
            assert_eq!(crate::run(args, &mut out, &mut err), crate::ExitStatus::Io);
            let bytes = std::fs::read(&file).expect("a drawing");
            let drawing = match kind {
                "dxf" => Drawing::dxf(&bytes),
                _ => Drawing::svg(&String::from_utf8_lossy(&bytes)),
            };
            let drawing = drawing.expect("readable");
            let metres = drawing.unit_m().expect("a unit");
            for body in &layout.bodies {
                let back = drawing.outline(Some(&body.name), None).expect("its outline");
                let back = back.scaled(metres);
                let size = body.outline.diagonal();
                assert!((back.area() - body.outline.area()).abs() < 1e-6 * size * size);
                assert!((back.bounds().x0 - body.outline.bounds().x0).abs() < 1e-6 * size);
            }
        }
    }
}
