//! The bath: what the job states, and the library's values for the rest.

use std::ops::Range;

use solver::quantity::{Conductivity, CurrentDensity, Temperature};
use solver::{Efficiency as Curve, EfficiencyError, Law, Metal};

use super::cell::{At, Slot};
use super::context::Context;
use super::forms::Efficiency;
use super::law;
use super::metal_form::MetalForm;
use super::tables::{BathTable, LawTable, MetalTable};
use crate::bath::{self, Entry, LawEntry};
use crate::diagnostic::Diagnostic;
use crate::output::{Window, three};
use crate::units::nearest;

/// The laws that bodies without their own take; `Missing` if neither job nor library has one.
#[derive(Debug, Clone, Default)]
pub struct Laws {
    /// For parts, thieves and floating metal.
    pub cathode: Slot<Law>,
    /// For anodes.
    pub anode: Slot<Law>,
}

/// A checked bath; what could not be had is `None`, after the fault has been noted.
#[derive(Debug, Clone, Default)]
pub struct Bath {
    /// Conductivity.
    pub conductivity: Option<Conductivity>,
    /// Temperature.
    pub temperature: Option<Temperature>,
    /// Laws for bodies without their own.
    pub laws: Laws,
    /// Good current densities.
    pub window: Window,
    /// Deposited metal, if any is stated.
    pub metal: Option<Metal>,
    /// Efficiency curve.
    pub efficiency: Option<Curve>,
    /// What to look out for.
    pub cautions: Vec<String>,
}

/// The library entry that the job names.
struct Library {
    name: String,
    entry: Entry,
}

/// Coldest and hottest bath that is believed: from a cold room to a boiling salt solution.
const TEMPERATURE_K: (f64, f64) = (250.0, 480.0);

/// Temperature when neither job nor library states one.
const ROOM: Temperature = Temperature::celsius(25.0);

/// Resolves the `[bath]` table.
pub fn resolve(table: &At<BathTable>, cx: &mut Context<'_>) -> Bath {
    let t = &table.value;
    let library = library(t, cx);
    // with a name that cannot be found, what is missing is not the user's second mistake
    let unknown = !t.r#use.is_missing() && library.is_none();
    Bath {
        conductivity: conductivity(t, &table.span, library.as_ref(), unknown, cx),
        temperature: temperature(t, library.as_ref(), cx),
        laws: Laws {
            cathode: one_law(&t.cathode, "bath.cathode", library.as_ref(), unknown, |e| &e.cathode, cx),
            anode: one_law(&t.anode, "bath.anode", library.as_ref(), unknown, |e| &e.anode, cx),
        },
        window: window(t, library.as_ref(), cx),
        metal: metal(t, library.as_ref(), cx),
        efficiency: efficiency(t, library.as_ref(), cx),
        cautions: library
            .and_then(|l| l.entry.cautions.get().map(|at| at.value.iter().map(|c| c.value.clone()).collect()))
            .unwrap_or_default(),
    }
}

fn library(t: &BathTable, cx: &mut Context<'_>) -> Option<Library> {
    let name = t.r#use.get()?;
    if let Some(entry) = bath::find(&name.value) {
        return Some(Library { name: name.value.clone(), entry });
    }
    let known = bath::names().collect::<Vec<_>>().join(", ");
    let near = nearest(&name.value, bath::names());
    let fault = Diagnostic::error("E012", format!("no bath `{}` in the library", name.value))
        .at(name.span.clone(), "expected a bath of the library")
        .help(near.map_or_else(|| format!("baths: {known}"), |n| format!("did you mean `{n}`? baths: {known}")))
        .help("or leave `use` out and give conductivity, cathode and anode yourself");
    cx.fault(fault)
}

fn conductivity(
    t: &BathTable,
    span: &Range<usize>,
    library: Option<&Library>,
    unknown: bool,
    cx: &mut Context<'_>,
) -> Option<Conductivity> {
    if let Slot::Given(at) = &t.conductivity {
        cx.from_job("bath.conductivity", &at.span);
        return cx.positive(at, "the conductivity");
    }
    if matches!(t.conductivity, Slot::Bad) || unknown {
        return None;
    }
    if let Some((library, at)) = library.and_then(|l| l.entry.conductivity.get().map(|at| (l, at))) {
        cx.from_library("bath.conductivity", &library.name, &at.value);
        return Some(at.value.value);
    }
    let how = "measure it at bath temperature, like conductivity = \"8.5 S/m\", or name a bath of the library with `use`";
    cx.required(&t.conductivity, "conductivity", "[bath]", Some(span.clone()), how).map(|at| at.value)
}

fn temperature(t: &BathTable, library: Option<&Library>, cx: &mut Context<'_>) -> Option<Temperature> {
    if let Slot::Given(at) = &t.temperature {
        cx.from_job("bath.temperature", &at.span);
        if (TEMPERATURE_K.0..=TEMPERATURE_K.1).contains(&at.value.si()) {
            if let Some(entry) = library.and_then(|l| l.entry.temperature.get()) {
                other_temperature(t, at, entry.value.value, cx);
            }
            return Some(at.value);
        }
        return cx.out_of_range(at.span.clone(), "a bath temperature", "between -23 and 206 degC (-9 and 404 degF)");
    }
    if matches!(t.temperature, Slot::Bad) {
        return None;
    }
    if let Some((library, at)) = library.and_then(|l| l.entry.temperature.get().map(|at| (l, at))) {
        cx.from_library("bath.temperature", &library.name, &at.value);
        return Some(at.value.value);
    }
    cx.by_default("bath.temperature", "25 degC", "not stated; only Butler-Volmer laws use it");
    Some(ROOM)
}

/// Conductivity rises by about 2 % for each kelvin (from memory of Lowenheim, Modern
/// Electroplating): a library value more than 5 K away is off by more than the library's own doubt.
fn other_temperature(t: &BathTable, at: &At<Temperature>, library: Temperature, cx: &mut Context<'_>) {
    let apart = at.value.si() - library.si();
    if apart.abs() > 5.0 && t.conductivity.is_missing() {
        let message = format!(
            "the library's conductivity holds at {:.0} degC, and this bath is {:.0} K {}",
            library.to_celsius(),
            apart.abs(),
            if apart > 0.0 { "warmer" } else { "colder" }
        );
        let warning = Diagnostic::warning("W002", message)
            .at(at.span.clone(), "conductivity changes by about 2 % for each kelvin")
            .help("give the conductivity of your bath at its temperature");
        cx.warnings.push(warning);
    }
}

fn one_law(
    slot: &Slot<LawTable>,
    key: &str,
    library: Option<&Library>,
    unknown: bool,
    which: impl Fn(&Entry) -> &Slot<LawEntry>,
    cx: &mut Context<'_>,
) -> Slot<Law> {
    let found = match slot {
        Slot::Bad => return Slot::Bad,
        Slot::Given(at) => law::from_job(at, key, cx).map(|law| At { value: law, span: at.span.clone() }),
        Slot::Missing if unknown => return Slot::Bad,
        Slot::Missing => {
            let Some((library, entry)) = library.and_then(|l| which(&l.entry).get().map(|e| (l, e))) else {
                return Slot::Missing;
            };
            law::from_library(&entry.value, &library.name, key, cx).map(|law| At { value: law, span: 0..0 })
        }
    };
    found.map_or(Slot::Bad, Slot::Given)
}

fn window(t: &BathTable, library: Option<&Library>, cx: &mut Context<'_>) -> Window {
    let mut window = Window::default();
    if let Some((library, entry)) = library.and_then(|l| l.entry.window.get().map(|e| (l, &e.value))) {
        let stated = t.window.get().map(|at| &at.value);
        if let Some(min) = entry.min.get().filter(|_| stated.is_none_or(|s| s.min.is_missing())) {
            cx.from_library("bath.window.min", &library.name, &min.value);
            window.min = Some(min.value.value);
        }
        if let Some(max) = entry.max.get().filter(|_| stated.is_none_or(|s| s.max.is_missing())) {
            cx.from_library("bath.window.max", &library.name, &max.value);
            window.max = Some(max.value.value);
        }
    }
    let Some(stated) = t.window.get() else { return window };
    if let Some(min) = stated.value.min.get() {
        cx.from_job("bath.window.min", &min.span);
        if min.value.si() < 0.0 {
            cx.out_of_range::<()>(min.span.clone(), "the window's lower end", "zero or more");
        }
        window.min = Some(min.value);
    }
    if let Some(max) = stated.value.max.get() {
        cx.from_job("bath.window.max", &max.span);
        window.max = cx.positive(max, "the window's upper end");
    }
    if let (Some(min), Some(max)) = (window.min, window.max)
        && min.si() >= max.si()
    {
        let fault = Diagnostic::error("E011", "the window's lower end is not below its upper end");
        cx.faults.push(fault.at(stated.span.clone(), format!("{} to {} A/dm2", three(min.to_a_dm2()), three(max.to_a_dm2()))));
    }
    window
}

fn metal(t: &BathTable, library: Option<&Library>, cx: &mut Context<'_>) -> Option<Metal> {
    let entry = library.and_then(|l| l.entry.metal.get().map(|at| (l, at)));
    let own = entry.and_then(|(_, at)| match &at.value.value {
        MetalForm::Known(metal) => Some(metal.clone()),
        MetalForm::Element(_) | MetalForm::Stated(_) => None,
    });
    match &t.metal {
        Slot::Bad => None,
        Slot::Missing => {
            let (library, at) = entry?;
            cx.from_library("bath.metal", &library.name, &at.value);
            own
        }
        Slot::Given(at) => {
            cx.from_job("bath.metal", &at.span);
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
    let states: Vec<String> =
        Metal::of_element(element).map(|metal| format!("{} ({})", metal.symbol, metal.name)).collect();
    let fault = Diagnostic::error("E012", format!("`{element}` is in baths in more than one state"))
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
        Err(error) => cx.fault(Diagnostic::error("E011", error.to_string()).at(span.clone(), "this metal")),
    }
}

fn efficiency(t: &BathTable, library: Option<&Library>, cx: &mut Context<'_>) -> Option<Curve> {
    match &t.efficiency {
        Slot::Bad => None,
        Slot::Given(at) => {
            cx.from_job("bath.efficiency", &at.span);
            curve(&at.value, &at.span, cx)
        }
        Slot::Missing => {
            if let Some((library, at)) = library.and_then(|l| l.entry.efficiency.get().map(|at| (l, at))) {
                cx.from_library("bath.efficiency", &library.name, &at.value);
                return curve(&at.value.value, &at.span, cx);
            }
            cx.by_default("bath.efficiency", "100 %", "not stated: every ampere deposits metal");
            Curve::constant(1.0).ok()
        }
    }
}

fn curve(efficiency: &Efficiency, span: &Range<usize>, cx: &mut Context<'_>) -> Option<Curve> {
    let (points, places): (Vec<(CurrentDensity, f64)>, Vec<Range<usize>>) = match efficiency {
        Efficiency::Constant(share) => (vec![(CurrentDensity::new(0.0), share.0)], vec![span.clone()]),
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
