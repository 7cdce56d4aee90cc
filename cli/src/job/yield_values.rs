//! How much metal the current brings: the metal in its state, and the cathode efficiency.

use std::ops::Range;

use solver::quantity::CurrentDensity;
use solver::{Efficiency as Curve, EfficiencyError, Metal};

use super::cell::Slot;
use super::context::Context;
use super::forms::Efficiency;
use super::metal_form::MetalForm;
use super::tables::{BathTable, MetalTable};
use crate::bath::Found;
use crate::diagnostic::Diagnostic;

/// The deposited metal: the job's, else the library's.
pub(super) fn metal(t: &BathTable, library: Option<&Found>, cx: &mut Context<'_>) -> Option<Metal> {
    let entry = library.and_then(|l| l.entry.metal.get().map(|at| (l, at)));
    let own = entry.and_then(|(found, at)| {
        let before = cx.faults.len();
        let metal = match &at.value.value {
            MetalForm::Known(metal) => Some(metal.clone()),
            MetalForm::Element(element) => which_state(element, at.span.clone(), cx),
            MetalForm::Stated(stated) => stated_metal(stated, &at.span, cx),
        };
        cx.blame(found, before);
        metal
    });
    match &t.metal {
        Slot::Bad => None,
        Slot::Missing => {
            let (found, at) = entry?;
            cx.library("bath.metal", found, &at.value);
            own
        }
        Slot::Given(at) => {
            cx.note_job("bath.metal", &at.span);
            match &at.value {
                MetalForm::Known(metal) => Some(metal.clone()),
                MetalForm::Element(element) => {
                    // "Cu" in a cyanide bath is that bath's copper(I)
                    let same = own.filter(|own| own.symbol.split('(').next() == Some(element));
                    same.or_else(|| which_state(element, at.span.clone(), cx))
                }
                MetalForm::Stated(stated) => stated_metal(stated, &at.span, cx),
            }
        }
    }
}

fn which_state(element: &str, span: Range<usize>, cx: &mut Context<'_>) -> Option<Metal> {
    let states: Vec<String> = Metal::of_element(element)
        .map(|metal| format!("{} ({})", metal.symbol, metal.name))
        .collect();
    let fault =
        Diagnostic::error("E012", format!("`{element}` is in baths in more than one state"))
            .at(span, "the state sets how much metal an ampere-hour brings");
    cx.fault(fault.help(format!("write one of: {}", states.join(", "))))
}

fn stated_metal(t: &MetalTable, span: &Range<usize>, cx: &mut Context<'_>) -> Option<Metal> {
    let how = "a metal by its properties: { molar_mass = \"58.69 g/mol\", density = \"8.9 g/cm3\", valence = 2 }";
    let place = Some(span.clone());
    let mass = cx.required(&t.molar_mass, "molar_mass", "`metal`", place.clone(), how);
    let density = cx.required(&t.density, "density", "`metal`", place.clone(), how);
    let valence = cx.required(&t.valence, "valence", "`metal`", place, how)?;
    if valence.value.fract() != 0.0 || !(1.0..=8.0).contains(&valence.value) {
        return cx.out_of_range(valence.span.clone(), "the valence", "a whole number from 1 to 8");
    }
    let metal = Metal {
        symbol: "metal".into(),
        name: "metal of the job".into(),
        molar_mass_g_mol: mass?.value.to_g_mol(),
        // whole and at most 8, so the conversion is exact
        valence: valence.value as u32,
        density_g_cm3: density?.value.to_g_cm3(),
    };
    match metal.check() {
        Ok(()) => Some(metal),
        Err(error) => {
            cx.fault(Diagnostic::error("E011", error.to_string()).at(span.clone(), "this metal"))
        }
    }
}

/// The efficiency curve: the job's, else the library's, else 100 %.
pub(super) fn efficiency(
    t: &BathTable,
    library: Option<&Found>,
    cx: &mut Context<'_>,
) -> Option<Curve> {
    match &t.efficiency {
        Slot::Bad => None,
        Slot::Given(at) => {
            cx.note_job("bath.efficiency", &at.span);
            curve(&at.value, &at.span, cx)
        }
        Slot::Missing => {
            if let Some((found, at)) =
                library.and_then(|l| l.entry.efficiency.get().map(|at| (l, at)))
            {
                let chosen = cx.library("bath.efficiency", found, &at.value);
                let before = cx.faults.len();
                let curve = curve(&chosen, &at.span, cx);
                cx.blame(found, before);
                return curve;
            }
            cx.by_default("bath.efficiency", "100 %", "not stated: every ampere deposits metal");
            Curve::constant(1.0).ok()
        }
    }
}

fn curve(efficiency: &Efficiency, span: &Range<usize>, cx: &mut Context<'_>) -> Option<Curve> {
    let (points, places): (Vec<(CurrentDensity, f64)>, Vec<Range<usize>>) = match efficiency {
        Efficiency::Constant(share) => {
            (vec![(CurrentDensity::new(0.0), share.0)], vec![span.clone()])
        }
        Efficiency::Table(points) => points
            .iter()
            .map(|at| ((at.value.0.value, at.value.1.value.0), at.span.clone()))
            .unzip(),
    };
    match Curve::curve(&points) {
        Ok(curve) => Some(curve),
        Err(error) => {
            let point = match error {
                EfficiencyError::Empty => None,
                EfficiencyError::Share { point, .. } | EfficiencyError::Density { point, .. } => {
                    places.get(point.saturating_sub(1)).cloned()
                }
            };
            let fault = Diagnostic::error("E011", error.to_string())
                .at(point.unwrap_or(span.clone()), "this point")
                .help("one share (0.95 or \"95 %\"), or rising points [[\"0 A/dm2\", 0.85], [\"4 A/dm2\", 0.95]]");
            cx.fault(fault)
        }
    }
}
