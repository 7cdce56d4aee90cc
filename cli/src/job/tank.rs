//! The tank section: its outline, its depth, and how it is seen.

use std::ops::Range;

use shapes::{Outline, Point};
use solver::Symmetry;
use solver::quantity::Length;

use super::cell::{At, Slot};
use super::context::Context;
use super::resolved::Section;
use super::shape;
use super::tables::TankTable;
use crate::diagnostic::Diagnostic;
use crate::output::three;
use crate::units::nearest;

/// Smallest and largest tank that is believed, m; outside, the drawing's unit is probably wrong.
const TANK_M: (f64, f64) = (1e-3, 200.0);
/// Same for the depth of the section.
const DEPTH_M: (f64, f64) = (1e-4, 200.0);

/// The tank as far as it is usable.
pub(super) struct Tank {
    pub(super) outline: Outline,
    /// Where the outline stands in the job.
    pub(super) span: Range<usize>,
    pub(super) symmetry: Symmetry,
    /// A stand-in where the section is axial.
    pub(super) depth: Option<Length>,
    pub(super) section: Section,
}

/// Resolves `[tank]`; `unit_known` is false if `unit_m` is only a stand-in.
pub(super) fn resolve(
    at: &At<TankTable>,
    unit_m: f64,
    unit_known: bool,
    cx: &mut Context<'_>,
) -> Option<Tank> {
    let t = &at.value;
    let section = choice(
        &t.section,
        "section",
        &[("plan", Section::Plan), ("elevation", Section::Elevation)],
        cx,
    );
    let symmetry = choice(
        &t.symmetry,
        "symmetry",
        &[("planar", Symmetry::Planar), ("axial", Symmetry::Axial)],
        cx,
    );
    let symmetry = symmetry.unwrap_or_default();
    let depth = match symmetry {
        Symmetry::Planar => depth(at, unit_m, cx),
        Symmetry::Axial => no_depth(t, cx),
    };
    let drawn = match (&t.size, &t.outline) {
        (Slot::Given(size), Slot::Missing) => {
            let (w, h) = (size.value.0.value, size.value.1.value);
            let made = Outline::rect(Point::new(w / 2.0, h / 2.0), (w, h), 0.0);
            match made {
                Ok(outline) => Some((outline, size.span.clone())),
                Err(error) => {
                    let fault = Diagnostic::error("E014", format!("this is no tank: {error}"));
                    cx.fault(fault.at(size.span.clone(), "expected [width, height]"))
                }
            }
        }
        (Slot::Missing, Slot::Given(outline)) => shape::tank(outline, unit_m, cx),
        (Slot::Missing, Slot::Missing) => {
            let fault = Diagnostic::error("E006", "the tank has neither `size` nor `outline`");
            let fault = fault.at(at.span.clone(), "needs one of them");
            cx.fault(fault.help("size = [600, 400], or outline = { polygon = [[0,0], ...] }"))
        }
        (Slot::Given(size), Slot::Given(outline)) => {
            let fault = Diagnostic::error("E014", "the tank has both `size` and `outline`")
                .at(outline.span.clone(), "the second shape")
                .and(size.span.clone(), "the first shape");
            cx.fault(fault.help("keep one of them"))
        }
        _ => None,
    };
    let (outline, span) = drawn?;
    cx.note_job("tank", &span);
    let outline = outline.scaled(unit_m);
    let bounds = outline.bounds();
    let (least, most) = (bounds.width().min(bounds.height()), bounds.width().max(bounds.height()));
    if unit_known && !(least >= TANK_M.0 && most <= TANK_M.1) {
        let message = format!(
            "the tank would be {} m by {} m",
            three(bounds.width()),
            three(bounds.height())
        );
        let fault = Diagnostic::error("E011", message).at(span, "expected between 1 mm and 200 m");
        return cx.fault(fault.help("check `unit`, the length unit of the drawing"));
    }
    let section = section.unwrap_or(match symmetry {
        Symmetry::Planar => Section::Plan,
        Symmetry::Axial => Section::Elevation,
    });
    Some(Tank { outline, span, symmetry, depth, section })
}

/// The depth of a planar section, within reason.
fn depth(at: &At<TankTable>, unit_m: f64, cx: &mut Context<'_>) -> Option<Length> {
    let how = "how far the section extends out of the page, in drawing units (depth = 300) or as text (\"12 in\")";
    let depth = cx.required(&at.value.depth, "depth", "[tank]", Some(at.span.clone()), how)?;
    cx.note_job("tank.depth", &depth.span);
    let metres = depth.value.metres(unit_m);
    if (DEPTH_M.0..=DEPTH_M.1).contains(&metres) {
        return Some(Length::new(metres));
    }
    cx.out_of_range(depth.span.clone(), "the depth", "between 0.1 mm and 200 m")
}

/// An axial section goes all around its axis, seen from the side: neither a depth nor a plan.
fn no_depth(t: &TankTable, cx: &mut Context<'_>) -> Option<Length> {
    if let Some(depth) = t.depth.get() {
        let fault = Diagnostic::error("E014", "an axial section has no depth")
            .at(depth.span.clone(), "it goes all around the axis x = 0");
        return cx.fault(fault.help("remove `depth`, or `symmetry = \"axial\"`"));
    }
    if let Some(section) = t.section.get().filter(|section| section.value == "plan") {
        let fault = Diagnostic::error("E014", "an axial section is not seen from above")
            .at(section.span.clone(), "a half section through the axis x = 0");
        return cx.fault(fault.help("remove `section`"));
    }
    Some(Length::new(1.0))
}

/// The value that a word stands for; unknown words are faults.
fn choice<T: Copy>(
    slot: &Slot<String>,
    key: &str,
    known: &[(&str, T)],
    cx: &mut Context<'_>,
) -> Option<T> {
    let at = slot.get()?;
    if let Some((_, value)) = known.iter().find(|(word, _)| *word == at.value) {
        return Some(*value);
    }
    let words: Vec<&str> = known.iter().map(|(word, _)| *word).collect();
    let near = nearest(&at.value, words.iter().copied());
    let fault = Diagnostic::error("E012", format!("unknown {key} `{}`", at.value))
        .at(at.span.clone(), format!("expected {}", words.join(" or ")));
    cx.fault(match near {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault,
    })
}
