//! The bath: what the job states, and the library's values for the rest.

use std::ops::Range;

use solver::quantity::{Conductivity, Temperature};
use solver::{Efficiency as Curve, Law, Metal};

use super::cell::{At, Slot};
use super::context::Context;
use super::law;
use super::tables::{BathTable, LawTable};
use super::yield_values::{efficiency, metal};
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
pub(super) struct Library {
    pub(super) name: String,
    pub(super) entry: Entry,
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
            cathode: one_law(
                &t.cathode,
                "bath.cathode",
                library.as_ref(),
                unknown,
                |e| &e.cathode,
                cx,
            ),
            anode: one_law(&t.anode, "bath.anode", library.as_ref(), unknown, |e| &e.anode, cx),
        },
        window: window(t, library.as_ref(), cx),
        metal: metal(t, library.as_ref(), cx),
        efficiency: efficiency(t, library.as_ref(), cx),
        cautions: library
            .and_then(|l| {
                l.entry.cautions.get().map(|at| at.value.iter().map(|c| c.value.clone()).collect())
            })
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
        .help(near.map_or_else(
            || format!("baths: {known}"),
            |n| format!("did you mean `{n}`? baths: {known}"),
        ))
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
        cx.note_job("bath.conductivity", &at.span);
        return cx.positive(at, "the conductivity");
    }
    if matches!(t.conductivity, Slot::Bad) || unknown {
        return None;
    }
    if let Some((library, at)) = library.and_then(|l| l.entry.conductivity.get().map(|at| (l, at)))
    {
        cx.note_library("bath.conductivity", &library.name, &at.value);
        return Some(at.value.value);
    }
    let how = "measure it at bath temperature, like conductivity = \"8.5 S/m\", or name a bath of the library with `use`";
    cx.required(&t.conductivity, "conductivity", "[bath]", Some(span.clone()), how)
        .map(|at| at.value)
}

fn temperature(
    t: &BathTable,
    library: Option<&Library>,
    cx: &mut Context<'_>,
) -> Option<Temperature> {
    if let Slot::Given(at) = &t.temperature {
        cx.note_job("bath.temperature", &at.span);
        if (TEMPERATURE_K.0..=TEMPERATURE_K.1).contains(&at.value.si()) {
            if let Some(entry) = library.and_then(|l| l.entry.temperature.get()) {
                other_temperature(t, at, entry.value.value, cx);
            }
            return Some(at.value);
        }
        return cx.out_of_range(
            at.span.clone(),
            "a bath temperature",
            "between -23 and 206 degC (-9 and 404 degF)",
        );
    }
    if matches!(t.temperature, Slot::Bad) {
        return None;
    }
    if let Some((library, at)) = library.and_then(|l| l.entry.temperature.get().map(|at| (l, at))) {
        cx.note_library("bath.temperature", &library.name, &at.value);
        return Some(at.value.value);
    }
    cx.by_default("bath.temperature", "25 degC", "not stated; only Butler-Volmer laws use it");
    Some(ROOM)
}

/// Conductivity rises by about 2 % for each kelvin (from memory of Lowenheim, Modern
/// Electroplating): a library value more than 5 K away is off by more than the library's own doubt.
fn other_temperature(
    t: &BathTable,
    at: &At<Temperature>,
    library: Temperature,
    cx: &mut Context<'_>,
) {
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
        Slot::Given(at) => {
            law::from_job(at, key, cx).map(|law| At { value: law, span: at.span.clone() })
        }
        Slot::Missing if unknown => return Slot::Bad,
        Slot::Missing => {
            let Some((library, entry)) =
                library.and_then(|l| which(&l.entry).get().map(|e| (l, e)))
            else {
                return Slot::Missing;
            };
            law::from_library(&entry.value, &library.name, key, cx)
                .map(|law| At { value: law, span: 0..0 })
        }
    };
    found.map_or(Slot::Bad, Slot::Given)
}

fn window(t: &BathTable, library: Option<&Library>, cx: &mut Context<'_>) -> Window {
    let mut window = Window::default();
    if let Some((library, entry)) =
        library.and_then(|l| l.entry.window.get().map(|e| (l, &e.value)))
    {
        let stated = t.window.get().map(|at| &at.value);
        if let Some(min) = entry.min.get().filter(|_| stated.is_none_or(|s| s.min.is_missing())) {
            cx.note_library("bath.window.min", &library.name, &min.value);
            window.min = Some(min.value.value);
        }
        if let Some(max) = entry.max.get().filter(|_| stated.is_none_or(|s| s.max.is_missing())) {
            cx.note_library("bath.window.max", &library.name, &max.value);
            window.max = Some(max.value.value);
        }
    }
    let Some(stated) = t.window.get() else {
        return window;
    };
    if let Some(min) = stated.value.min.get() {
        cx.note_job("bath.window.min", &min.span);
        if min.value.si() < 0.0 {
            cx.out_of_range::<()>(min.span.clone(), "the window's lower end", "zero or more");
        }
        window.min = Some(min.value);
    }
    if let Some(max) = stated.value.max.get() {
        cx.note_job("bath.window.max", &max.span);
        window.max = cx.positive(max, "the window's upper end");
    }
    if let (Some(min), Some(max)) = (window.min, window.max)
        && min.si() >= max.si()
    {
        let fault = Diagnostic::error("E011", "the window's lower end is not below its upper end");
        cx.faults.push(fault.at(
            stated.span.clone(),
            format!("{} to {} A/dm2", three(min.to_a_dm2()), three(max.to_a_dm2())),
        ));
    }
    window
}
