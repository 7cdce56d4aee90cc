//! The shape `file`: an outline out of a DXF or SVG drawing beside the job.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use shapes::Outline;
use shapes::import::{Drawing, DrawingError};

use super::cell::At;
use super::context::Context;
use super::shape::Drawn;
use super::tables::FileTable;
use crate::bath::path_beside;
use crate::diagnostic::Diagnostic;

/// Largest drawing that is read.
const MAX_BYTES: u64 = 32 << 20;

/// The outline that a `file` table names, in drawing units of the job.
pub(super) fn outline(at: &At<FileTable>, unit_m: f64, cx: &mut Context<'_>) -> Option<Drawn> {
    let t = &at.value;
    let how = "`file` takes: { name = \"bracket.dxf\", layer = \"cut\" }, or .svg with id; scale, join optional";
    let name = cx.required(&t.name, "name", "`file`", Some(at.span.clone()), how)?;
    let refuse = |cx: &mut Context<'_>, message: String, help: &str| {
        let fault = Diagnostic::error("E023", message).at(name.span.clone(), "this drawing");
        cx.fault(fault.help(help))
    };
    let kind = Path::new(&name.value).extension().map(|e| e.to_string_lossy().to_lowercase());
    let (pick, other) = match kind.as_deref() {
        Some("dxf") => (&t.layer, t.id.span().map(|span| ("id", "an SVG file", span))),
        Some("svg") => (&t.id, t.layer.span().map(|span| ("layer", "a DXF file", span))),
        _ => {
            let message = format!("`{}` is neither .dxf nor .svg", name.value);
            return refuse(cx, message, "save the drawing as DXF or SVG");
        }
    };
    if let Some((key, of, span)) = other {
        let fault = Diagnostic::error("E023", format!("`{key}` belongs to {of}"));
        return cx.fault(fault.at(span, "take it out"));
    }
    let numbers = [("scale", &t.scale), ("join", &t.join)];
    for (key, slot) in numbers {
        if let Some(number) = slot.get().filter(|n| !(n.value > 0.0 && n.value.is_finite())) {
            return cx.out_of_range(number.span.clone(), &format!("`{key}`"), "greater than zero");
        }
    }
    let bytes = match read(&path_beside(cx.name, &name.value)) {
        Ok(bytes) if bytes.len() as u64 <= MAX_BYTES => bytes,
        Ok(_) => {
            let message = format!("`{}` is larger than 32 MB", name.value);
            return refuse(cx, message, "export the outline alone");
        }
        Err(error) => {
            let message = format!("cannot read `{}`: {error}", name.value);
            return refuse(cx, message, "its name is taken from the folder of the job file");
        }
    };
    let drawing = if kind.as_deref() == Some("dxf") {
        Drawing::dxf(&bytes)
    } else {
        Drawing::svg(&String::from_utf8_lossy(&bytes))
    };
    let wanted = pick.get().map(|at| at.value.as_str());
    let join = t.join.get().map(|at| at.value);
    let made = drawing.and_then(|drawing| {
        let unit = t.scale.get().map(|at| at.value);
        let scale = unit.or(drawing.unit_m().map(|m| m / unit_m)).unwrap_or(1.0);
        Ok::<Outline, DrawingError>(drawing.outline(wanted, join)?.scaled(scale))
    });
    match made {
        Ok(outline) => Some((outline, at.span.clone())),
        Err(error) => {
            let place = match (&error, pick.span()) {
                (DrawingError::UnknownName { .. }, Some(span)) => span,
                _ => name.span.clone(),
            };
            let message = format!("no outline from `{}`: {error}", name.value);
            let fault = Diagnostic::error("E023", message).at(place, "this drawing");
            cx.fault(match help(&error) {
                Some(help) => fault.help(help),
                None => fault,
            })
        }
    }
}

fn read(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(MAX_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// What to do about it; places in messages are coordinates of the drawing.
fn help(error: &DrawingError) -> Option<&'static str> {
    Some(match error {
        DrawingError::Open { .. } => {
            "close the outline in the drawing, or let `join` (in the file's unit) bridge the gap"
        }
        DrawingError::Branch { .. } => {
            "keep the outline alone on its layer, without inner or construction lines"
        }
        DrawingError::Duplicate { .. } => "delete one of the two in the drawing",
        DrawingError::SeveralLayers { .. } => "name it: layer = \"...\"",
        DrawingError::Empty { .. } => "draw the outline with lines, arcs, polylines or splines",
        DrawingError::Damaged { .. } => "export the drawing again",
        _ => return None,
    })
}
