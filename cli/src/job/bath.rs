//! The bath: what the job states, and the library's values for the rest.

use std::ops::Range;

use solver::quantity::{Conductivity, Temperature};
use solver::{Efficiency as Curve, Law, Metal};

use super::bath_facts::{self, BathFacts};
use super::cell::{At, Slot};
use super::context::Context;
use super::law;
use super::tables::{BathTable, LawTable};
use super::yield_values::{efficiency, metal};
use crate::bath::{self, Entry, Found, LawEntry, Library};
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
    /// What else it wants and makes.
    pub facts: BathFacts,
}

/// Coldest and hottest bath that is believed: from a cold room to a boiling salt solution.
const TEMPERATURE_K: (f64, f64) = (250.0, 480.0);

/// Temperature when neither job nor library states one.
const ROOM: Temperature = Temperature::celsius(25.0);

/// Resolves the `[bath]` table.
pub fn resolve(table: &At<BathTable>, cx: &mut Context<'_>) -> Bath {
    let t = &table.value;
    let found = find(t, cx);
    let library = found.as_ref();
    // with a name that cannot be found, what is missing is not the user's second mistake
    let unknown = !t.r#use.is_missing() && library.is_none();
    let temperature = temperature(t, library, cx);
    let mut cathode = one_law(&t.cathode, "bath.cathode", library, unknown, |e| &e.cathode, cx);
    limiting(t, &mut cathode, cx);
    Bath {
        conductivity: conductivity(t, &table.span, library, unknown, temperature, cx),
        temperature,
        laws: Laws {
            cathode,
            anode: one_law(&t.anode, "bath.anode", library, unknown, |e| &e.anode, cx),
        },
        window: window(t, library, cx),
        metal: metal(t, library, cx),
        efficiency: efficiency(t, library, cx),
        facts: bath_facts::resolve(t, library, cx),
    }
}

/// The bath that the job names, in its own file or in the library.
fn find(t: &BathTable, cx: &mut Context<'_>) -> Option<Found> {
    if t.r#use.is_missing() && t.file.is_missing() {
        return None;
    }
    let named = t.file.get();
    let own = match bath::beside(cx.name, named.map(|at| at.value.as_str())) {
        Ok(own) => own,
        Err(mut faults) => {
            // a file that is not there is the job's mistake, and its place is in the job
            for fault in faults.iter_mut().filter(|f| f.file.is_none() && f.place.is_none()) {
                let span = named.map(|at| at.span.clone());
                fault.place = span.map(|span| (span, "this file".to_owned()));
            }
            cx.faults.append(&mut faults);
            return None;
        }
    };
    let library = Library::new(own);
    let name = t.r#use.get()?;
    library.find(&name.value).or_else(|| {
        let names = library.names();
        let known = names.join(", ");
        let near = nearest(&name.value, names.iter().map(String::as_str));
        let fault = Diagnostic::error("E012", format!("no bath `{}` in the library", name.value))
            .at(name.span.clone(), "expected a bath of the library")
            .help(near.map_or_else(
                || format!("baths: {known}"),
                |n| format!("did you mean `{n}`? baths: {known}"),
            ))
            .help("or leave `use` out and give conductivity, cathode and anode yourself");
        cx.fault(fault)
    })
}

/// `limiting` of the bath table, which stands for the one of its cathode law.
fn limiting(t: &BathTable, cathode: &mut Slot<Law>, cx: &mut Context<'_>) {
    let Some(at) = t.limiting.get() else {
        return;
    };
    cx.provenance.retain(|value| value.key != "bath.cathode.limiting");
    cx.note_job("bath.limiting", &at.span);
    if let Some(second) = t.cathode.get().and_then(|law| law.value.limiting.span()) {
        let fault = Diagnostic::error("E013", "the bath states its limiting current density twice")
            .at(at.span.clone(), "here")
            .and(second, "and here");
        cx.faults.push(fault);
    }
    let limit = cx.positive(at, "a limiting current density");
    if let Slot::Given(law) = cathode {
        law.value.limiting = limit;
    }
}

fn conductivity(
    t: &BathTable,
    span: &Range<usize>,
    library: Option<&Found>,
    unknown: bool,
    temperature: Option<Temperature>,
    cx: &mut Context<'_>,
) -> Option<Conductivity> {
    if let Slot::Given(at) = &t.conductivity {
        cx.note_job("bath.conductivity", &at.span);
        return cx.positive(at, "the conductivity");
    }
    if matches!(t.conductivity, Slot::Bad) || unknown {
        return None;
    }
    if let Some((found, at)) = library.and_then(|l| l.entry.conductivity.get().map(|at| (l, at))) {
        let factor = warming(t, found, temperature, cx)?;
        let value = &at.value;
        if factor == 1.0 {
            return Some(cx.library("bath.conductivity", found, value));
        }
        let holds = found.entry.at().get().map_or(ROOM, |at| at.value);
        let written = format!(
            "{} S/m ({} at {} degC)",
            three(factor * value.value.si()),
            value.written,
            three(holds.to_celsius())
        );
        let chosen = cx.library_as("bath.conductivity", found, value, written);
        return Some(Conductivity::new(factor * chosen.si()));
    }
    let how = "measure it at bath temperature, like conductivity = \"8.5 S/m\", or name a bath of the library with `use`";
    cx.required(&t.conductivity, "conductivity", "[bath]", Some(span.clone()), how)
        .map(|at| at.value)
}

/// Least share of the library's conductivity that a straight line is believed for.
const COLDEST: f64 = 0.3;

/// Conductivity at the bath's temperature over that at the library's: `1 + a (T - T0)`.
fn warming(
    t: &BathTable,
    found: &Found,
    temperature: Option<Temperature>,
    cx: &mut Context<'_>,
) -> Option<f64> {
    let (Some(temperature), Some(holds)) = (temperature, found.entry.at().get().cloned()) else {
        return Some(1.0);
    };
    let apart = temperature.si() - holds.value.si();
    if apart == 0.0 {
        return Some(1.0);
    }
    let key = "bath.conductivity_per_kelvin";
    let slot = &found.entry.conductivity_per_kelvin;
    let growth = bath_facts::share(&t.conductivity_per_kelvin, slot, key, Some(found), cx);
    let place = t.temperature.span().unwrap_or(0..0);
    let words = format!(
        "the library's conductivity holds at {:.0} degC, and this bath is {:.0} K {}",
        holds.value.to_celsius(),
        apart.abs(),
        if apart > 0.0 { "warmer" } else { "colder" }
    );
    let Some(growth) = growth else {
        let warning = Diagnostic::warning("W002", words)
            .at(place, "conductivity changes by about 2 % for each kelvin")
            .help("give the conductivity of your bath at its temperature");
        cx.warnings.push(warning);
        return Some(1.0);
    };
    let factor = 1.0 + growth * apart;
    if factor < COLDEST {
        let fault = Diagnostic::error("E011", words).at(place, "too cold for the library's value");
        return cx.fault(fault.help("give the conductivity of your bath at its temperature"));
    }
    Some(factor)
}

fn temperature(
    t: &BathTable,
    library: Option<&Found>,
    cx: &mut Context<'_>,
) -> Option<Temperature> {
    if let Slot::Given(at) = &t.temperature {
        cx.note_job("bath.temperature", &at.span);
        if (TEMPERATURE_K.0..=TEMPERATURE_K.1).contains(&at.value.si()) {
            let stated = t.temperature_window.get().map(|at| (at.value.0.value, at.value.1.value));
            let usual = library.and_then(|l| l.entry.temperature.get()?.value.range);
            if let Some(window) = stated.or(usual) {
                outside(at, window, cx);
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
    if let Some((found, at)) = library.and_then(|l| l.entry.temperature.get().map(|at| (l, at))) {
        return Some(cx.library("bath.temperature", found, &at.value));
    }
    cx.by_default("bath.temperature", "25 degC", "not stated; only Butler-Volmer laws use it");
    Some(ROOM)
}

/// Warns about a temperature at which the bath does not work.
fn outside(at: &At<Temperature>, window: (Temperature, Temperature), cx: &mut Context<'_>) {
    // a hair's breadth for Fahrenheit
    let slack = 0.05;
    if at.value.si() < window.0.si() - slack || at.value.si() > window.1.si() + slack {
        let message = format!(
            "this bath works between {} and {} degC",
            three(window.0.to_celsius()),
            three(window.1.to_celsius())
        );
        let warning = Diagnostic::warning("W003", message)
            .at(at.span.clone(), format!("{} degC", three(at.value.to_celsius())))
            .help(
                "its conductivity, polarization and efficiency are not those of the library there",
            );
        cx.warnings.push(warning);
    }
}

fn one_law(
    slot: &Slot<LawTable>,
    key: &str,
    library: Option<&Found>,
    unknown: bool,
    which: impl Fn(&Entry) -> &Slot<LawEntry>,
    cx: &mut Context<'_>,
) -> Slot<Law> {
    let found = match slot {
        Slot::Bad => return Slot::Bad,
        Slot::Given(at) => {
            let entry = library.and_then(|l| which(&l.entry).get().map(|e| (l, e)));
            let law = match entry.filter(|_| at.value.law.is_missing()) {
                Some((found, entry)) => law::adjusted(at, &entry.value, found, key, cx),
                None => law::from_job(at, key, cx),
            };
            law.map(|law| At { value: law, span: at.span.clone() })
        }
        Slot::Missing if unknown => return Slot::Bad,
        Slot::Missing => {
            let Some((library, entry)) =
                library.and_then(|l| which(&l.entry).get().map(|e| (l, e)))
            else {
                return Slot::Missing;
            };
            law::from_library(&entry.value, library, key, cx)
                .map(|law| At { value: law, span: 0..0 })
        }
    };
    found.map_or(Slot::Bad, Slot::Given)
}

fn window(t: &BathTable, library: Option<&Found>, cx: &mut Context<'_>) -> Window {
    let mut window = Window::default();
    if let Some((library, entry)) =
        library.and_then(|l| l.entry.window.get().map(|e| (l, &e.value)))
    {
        let stated = t.window.get().map(|at| &at.value);
        if let Some(min) = entry.min.get().filter(|_| stated.is_none_or(|s| s.min.is_missing())) {
            window.min = Some(cx.library("bath.window.min", library, &min.value));
        }
        if let Some(max) = entry.max.get().filter(|_| stated.is_none_or(|s| s.max.is_missing())) {
            window.max = Some(cx.library("bath.window.max", library, &max.value));
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
