//! Screens: their conductivity outright, or from how open they are.

use shapes::Outline;
use solver::Openings;
use solver::quantity::{Conductivity, Length};

use super::cell::At;
use super::context::Context;
use super::resolved::Origin;
use super::tables::BodyTable;
use crate::diagnostic::Diagnostic;

/// Conductivity inside a screen of the shape `drawn` (drawing units of `unit_m` metres each).
pub(super) fn conductivity(
    at: &At<BodyTable>,
    called: &str,
    drawn: &Outline,
    unit_m: f64,
    bath: Option<Conductivity>,
    cx: &mut Context<'_>,
) -> Option<Conductivity> {
    let t = &at.value;
    let key = |key: &str| format!("screen.{called}.{key}");
    let openings = [("hole", &t.hole), ("slit", &t.slit)];
    if let Some(given) = t.conductivity.get() {
        let others = [
            ("open_fraction", t.open_fraction.span()),
            ("hole", t.hole.span()),
            ("slit", t.slit.span()),
            ("thickness", t.thickness.span()),
        ];
        if let Some((other, Some(span))) = others.into_iter().find(|(_, span)| span.is_some()) {
            let message = format!("the screen states both `conductivity` and `{other}`");
            let fault = Diagnostic::error("E013", message).at(span, "the second");
            return cx.fault(fault.and(given.span.clone(), "the first").help("take one out"));
        }
        cx.note_job(key("conductivity"), &given.span);
        return cx.positive(given, "a conductivity");
    }
    let how = "open_fraction = \"30 %\" (with hole = 3 or slit = 2 for a perforated sheet), or conductivity = \"3 S/m\"";
    let open =
        cx.required(&t.open_fraction, "open_fraction", "[[screen]]", Some(at.span.clone()), how)?;
    if !(open.value.0 > 0.0 && open.value.0 <= 1.0) {
        return cx.out_of_range(
            open.span.clone(),
            "`open_fraction`",
            "above 0 and at most 1 (100 %)",
        );
    }
    if let (Some(_), Some(second)) = (t.hole.get(), t.slit.get()) {
        let fault = Diagnostic::error("E013", "the screen states both `hole` and `slit`");
        return cx.fault(fault.at(second.span.clone(), "the second").help("take one out"));
    }
    let mut opening = None;
    for (name, slot) in openings {
        if let Some(size) = slot.get() {
            if !(size.value > 0.0 && size.value.is_finite()) {
                return cx.out_of_range(
                    size.span.clone(),
                    &format!("`{name}`"),
                    "greater than zero",
                );
            }
            cx.note_job(key(name), &size.span);
            opening = Some((name, Length::new(size.value * unit_m)));
        }
    }
    let openings = match opening {
        None => {
            if let Some(thickness) = t.thickness.get() {
                let fault = Diagnostic::error("E013", "`thickness` belongs to a perforated sheet");
                let help = "give `hole` or `slit`, or take it out: cloth has no use for it";
                return cx.fault(fault.at(thickness.span.clone(), "no openings").help(help));
            }
            Openings::Cloth
        }
        Some((name, size)) => {
            let thickness = match t.thickness.get() {
                Some(given) => {
                    cx.note_job(key("thickness"), &given.span);
                    let metres = given.value.metres(unit_m);
                    if metres.is_nan() || metres <= 0.0 {
                        let span = given.span.clone();
                        return cx.out_of_range(span, "`thickness`", "greater than zero");
                    }
                    Length::new(metres)
                }
                None => {
                    let metres = thickness(drawn) * unit_m;
                    let value = format!("{:.4} mm", 1e3 * metres);
                    cx.by_default(key("thickness"), value, "that of the shape as drawn");
                    Length::new(metres)
                }
            };
            match name {
                "hole" => Openings::Holes { diameter: size, thickness },
                _ => Openings::Slits { width: size, thickness },
            }
        }
    };
    cx.note_job(key("open_fraction"), &open.span);
    let inside = openings.conductivity(bath?, open.value.0);
    cx.provenance.push(super::resolved::Provenance {
        key: key("conductivity"),
        value: format!("{:.4} S/m", inside.si()),
        origin: Origin::Default { reason: openings.model() },
    });
    Some(inside)
}

/// Thickness of a sheet by its area and outline: the shorter side of the rectangle with both.
fn thickness(drawn: &Outline) -> f64 {
    let (area, half) = (drawn.area(), 0.5 * drawn.perimeter());
    0.5 * (half - (half * half - 4.0 * area).max(0.0).sqrt())
}
