//! What a bath wants and makes beside current and voltage: limits, areas, gases, dangers.

use solver::quantity::{CurrentDensity, Potential, Temperature};

use super::cell::{At, Slot};
use super::context::Context;
use super::forms::{Pair, Share};
use super::tables::BathTable;
use crate::bath::{Caution, Entry, Found, Sourced, cautions};
use crate::diagnostic::Diagnostic;
use crate::units::Quantity;

/// What becomes of the anodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum AnodeKind {
    /// They dissolve and feed the bath.
    Soluble,
    /// They only carry current and make oxygen.
    Insoluble,
}

/// Facts of the bath for the verdict; `None` where neither job nor library states them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BathFacts {
    /// Name in the library or in the user's own file.
    pub name: Option<String>,
    /// What people call it.
    pub title: Option<String>,
    /// Current density to begin with.
    pub default_density: Option<CurrentDensity>,
    /// Covering threshold: below it the metal stays bare.
    pub threshold: Option<CurrentDensity>,
    /// Temperatures between which the bath works.
    pub temperature_window: Option<(Temperature, Temperature)>,
    /// What the anodes are made of.
    pub anode_material: Option<String>,
    /// Whether they dissolve.
    pub anode_kind: Option<AnodeKind>,
    /// Largest good current density on the anodes.
    pub anode_limit: Option<CurrentDensity>,
    /// Usual anode area over cathode area, least and greatest.
    pub area_ratio: Option<(f64, f64)>,
    /// Share of the current that deposits no metal which makes hydrogen.
    pub hydrogen_share: Option<f64>,
    /// Usual tank voltage, least and greatest.
    pub tank_voltage: Option<(Potential, Potential)>,
    /// Dangers.
    pub cautions: Vec<Caution>,
    /// What to know about this bath.
    pub notes: Vec<String>,
}

/// The facts of a job's bath.
pub(super) fn resolve(t: &BathTable, found: Option<&Found>, cx: &mut Context<'_>) -> BathFacts {
    let entry = |which: &dyn Fn(&Entry) -> Option<String>| found.and_then(|f| which(&f.entry));
    let words = |slot: &Slot<Vec<At<String>>>| -> Vec<String> {
        slot.get().into_iter().flat_map(|at| &at.value).map(|at| at.value.clone()).collect()
    };
    let window = found.and_then(|f| f.entry.window.get()).map(|at| &at.value);
    let stated_window = t.window.get().map(|at| &at.value);
    BathFacts {
        name: found.map(|f| f.name.clone()),
        title: entry(&|e| e.title.get().map(|at| at.value.clone())),
        default_density: quantity(
            stated_window.map_or(&Slot::Missing, |w| &w.default),
            window.map_or(&Slot::Missing, |w| &w.default),
            "bath.window.default",
            found,
            cx,
        ),
        threshold: quantity(&t.threshold, of(found, |e| &e.threshold), "bath.threshold", found, cx),
        temperature_window: ends(
            &t.temperature_window,
            of(found, |e| &e.temperature),
            "bath.temperature_window",
            cx,
        ),
        anode_material: match &t.anode_material {
            Slot::Given(at) => Some(at.value.clone()),
            _ => entry(&|e| e.anode_material.get().map(|at| at.value.value.clone())),
        },
        anode_kind: anode_kind(t, found, cx),
        anode_limit: quantity(
            &t.anode_limit,
            of(found, |e| &e.anode_limit),
            "bath.anode_limit",
            found,
            cx,
        ),
        area_ratio: area_ratio(&t.area_ratio, of(found, |e| &e.area_ratio), cx),
        hydrogen_share: share(
            &t.hydrogen_share,
            of(found, |e| &e.hydrogen_share),
            "bath.hydrogen_share",
            found,
            cx,
        ),
        tank_voltage: ends(
            &t.tank_voltage,
            of(found, |e| &e.tank_voltage),
            "bath.tank_voltage",
            cx,
        ),
        cautions: cautions(&found.map_or_else(Vec::new, |f| words(&f.entry.cautions))),
        notes: found.map_or_else(Vec::new, |f| words(&f.entry.notes)),
    }
}

/// A slot of the library's entry.
fn of<T>(found: Option<&Found>, which: impl Fn(&Entry) -> &Slot<T>) -> &Slot<T> {
    match found {
        Some(found) => which(&found.entry),
        None => &Slot::Missing,
    }
}

/// The job's value, else the library's; it must be above zero.
fn quantity<Q: Quantity + Clone>(
    stated: &Slot<Q>,
    library: &Slot<Sourced<Q>>,
    key: &str,
    found: Option<&Found>,
    cx: &mut Context<'_>,
) -> Option<Q> {
    match stated {
        Slot::Given(at) => {
            cx.note_job(key, &at.span);
            cx.positive(at, "this value")
        }
        Slot::Bad => None,
        Slot::Missing => {
            let (found, at) = found.zip(library.get())?;
            Some(cx.library(key, found, &at.value))
        }
    }
}

/// A share: the job's, else the library's.
pub(super) fn share(
    stated: &Slot<Share>,
    library: &Slot<Sourced<Share>>,
    key: &str,
    found: Option<&Found>,
    cx: &mut Context<'_>,
) -> Option<f64> {
    match stated {
        Slot::Given(at) => {
            cx.note_job(key, &at.span);
            if (0.0..=1.0).contains(&at.value.0) {
                return Some(at.value.0);
            }
            cx.out_of_range(at.span.clone(), "this share", "between 0 and 1 (0 and 100 %)")
        }
        Slot::Bad => None,
        Slot::Missing => {
            let (found, at) = found.zip(library.get())?;
            Some(cx.library(key, found, &at.value).0)
        }
    }
}

/// Two ends: the job's, else the range of the library's value.
fn ends<Q: Quantity + Copy>(
    stated: &Slot<(At<Q>, At<Q>)>,
    library: &Slot<Sourced<Q>>,
    key: &str,
    cx: &mut Context<'_>,
) -> Option<(Q, Q)> {
    match stated {
        Slot::Given(at) => {
            cx.note_job(key, &at.span);
            let (low, high) = (at.value.0.value, at.value.1.value);
            if low.si() < high.si() {
                return Some((low, high));
            }
            inverted(at.span.clone(), cx)
        }
        Slot::Bad => None,
        Slot::Missing => library.get().and_then(|at| at.value.range),
    }
}

fn area_ratio(
    stated: &Slot<Pair>,
    library: &Slot<Sourced<f64>>,
    cx: &mut Context<'_>,
) -> Option<(f64, f64)> {
    match stated {
        Slot::Given(at) => {
            cx.note_job("bath.area_ratio", &at.span);
            let low = cx.positive_number(&at.value.0, "an area ratio")?;
            let high = at.value.1.value;
            if low < high { Some((low, high)) } else { inverted(at.span.clone(), cx) }
        }
        Slot::Bad => None,
        Slot::Missing => library.get().and_then(|at| at.value.range),
    }
}

fn inverted<T>(span: std::ops::Range<usize>, cx: &mut Context<'_>) -> Option<T> {
    let fault = Diagnostic::error("E011", "the first end must lie below the second");
    cx.fault(fault.at(span, "expected [least, greatest]"))
}

fn anode_kind(t: &BathTable, found: Option<&Found>, cx: &mut Context<'_>) -> Option<AnodeKind> {
    let kind = |word: &str| match word {
        "soluble" => Some(AnodeKind::Soluble),
        "insoluble" => Some(AnodeKind::Insoluble),
        _ => None,
    };
    if let Slot::Given(at) = &t.anode_kind {
        cx.note_job("bath.anode_kind", &at.span);
        return kind(&at.value).or_else(|| {
            let message = format!("unknown kind of anode `{}`", at.value);
            let fault = Diagnostic::error("E012", message);
            cx.fault(fault.at(at.span.clone(), "expected \"soluble\" or \"insoluble\""))
        });
    }
    found.and_then(|f| f.entry.anode_kind.get()).and_then(|at| kind(&at.value))
}
