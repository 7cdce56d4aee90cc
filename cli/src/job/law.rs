//! Polarization laws: which keys belong to which law, and their ranges.

use std::ops::Range;

use solver::quantity::{CurrentDensity, Potential};
use solver::{Kinetics, Law};

use super::cell::{At, Slot};
use super::context::Context;
use super::tables::LawTable;
use crate::bath::{Found, LawEntry, Sourced};
use crate::diagnostic::Diagnostic;
use crate::units::{Quantity, nearest};

/// Each law with the keys that it needs.
const LAWS: &[(&str, &[&str])] = &[
    ("none", &[]),
    ("linear", &["resistance"]),
    ("tafel", &["exchange", "slope"]),
    ("butler-volmer", &["exchange", "alpha_anodic", "alpha_cathodic"]),
    ("table", &["points"]),
];

/// The law of a table in the job file; `key` is its dotted name.
pub fn from_job(table: &At<LawTable>, key: &str, cx: &mut Context<'_>) -> Option<Law> {
    let t = &table.value;
    let how = "laws: none, linear, tafel, butler-volmer, table";
    let law = cx.required(&t.law, "law", &format!("`{key}`"), Some(table.span.clone()), how)?;
    let Some((name, needs)) = LAWS.iter().find(|(name, _)| *name == law.value) else {
        let near = nearest(&law.value, LAWS.iter().map(|(name, _)| *name));
        let fault = Diagnostic::error("E012", format!("unknown polarization law `{}`", law.value))
            .at(law.span.clone(), "expected a law")
            .help(
                near.map_or_else(|| how.to_owned(), |near| format!("did you mean `{near}`? {how}")),
            );
        return cx.fault(fault);
    };
    let mut complete = foreign_keys(t, name, needs, cx);
    for needed in *needs {
        let state = key_states(t).into_iter().find(|(key, ..)| key == needed);
        let (missing, given) =
            state.map_or((true, false), |(_, missing, span)| (missing, span.is_some()));
        if missing {
            let fault = Diagnostic::error("E013", format!("law `{name}` needs `{needed}`"))
                .at(table.span.clone(), format!("`{needed}` is not given here"))
                .help(format!("{name} takes: {}", needs.join(", ")));
            cx.faults.push(fault);
        }
        complete &= given;
    }
    let limiting = t.limiting.get().map(|at| cx.positive(at, "a limiting current density"));
    let kinetics = match *name {
        "none" => Some(Kinetics::None),
        "linear" => {
            let resistance =
                t.resistance.get().and_then(|at| cx.positive(at, "a polarization resistance"));
            resistance.map(|resistance| Kinetics::Linear { resistance })
        }
        "tafel" => {
            let exchange =
                t.exchange.get().and_then(|at| cx.positive(at, "an exchange current density"));
            let slope = t.slope.get().and_then(|at| cx.positive(at, "a Tafel slope"));
            exchange.zip(slope).map(|(exchange, slope)| Kinetics::Tafel { exchange, slope })
        }
        "butler-volmer" => {
            let exchange =
                t.exchange.get().and_then(|at| cx.positive(at, "an exchange current density"));
            let anodic = t
                .alpha_anodic
                .get()
                .and_then(|at| cx.positive_number(at, "a transfer coefficient"));
            let cathodic = t
                .alpha_cathodic
                .get()
                .and_then(|at| cx.positive_number(at, "a transfer coefficient"));
            exchange.zip(anodic).zip(cathodic).map(|((exchange, alpha_anodic), alpha_cathodic)| {
                Kinetics::ButlerVolmer { exchange, alpha_anodic, alpha_cathodic }
            })
        }
        _ => t.points.get().and_then(|at| points(at, cx)).map(|points| Kinetics::Table { points }),
    };
    cx.note_job(key, &table.span);
    if !complete || matches!(t.limiting, Slot::Bad) || matches!(t.rest, Slot::Bad) {
        return None;
    }
    let limiting = match limiting {
        Some(None) => return None,
        Some(Some(limiting)) => Some(limiting),
        None => None,
    };
    let rest = t.rest.get().map_or(Potential::new(0.0), |at| at.value);
    kinetics.map(|kinetics| Law { kinetics, limiting, rest })
}

/// Keys of the laws: whether they are absent, and their places if they are usable.
fn key_states(t: &LawTable) -> [(&'static str, bool, Option<Range<usize>>); 6] {
    [
        ("resistance", t.resistance.is_missing(), t.resistance.span()),
        ("exchange", t.exchange.is_missing(), t.exchange.span()),
        ("slope", t.slope.is_missing(), t.slope.span()),
        ("alpha_anodic", t.alpha_anodic.is_missing(), t.alpha_anodic.span()),
        ("alpha_cathodic", t.alpha_cathodic.is_missing(), t.alpha_cathodic.span()),
        ("points", t.points.is_missing(), t.points.span()),
    ]
}

/// Faults for keys that another law would use; true if there are none.
fn foreign_keys(t: &LawTable, name: &str, needs: &[&str], cx: &mut Context<'_>) -> bool {
    let mut clean = true;
    for (key, _, span) in key_states(t) {
        if let Some(span) = span.filter(|_| !needs.contains(&key)) {
            let owner =
                LAWS.iter().find(|(_, keys)| keys.contains(&key)).map_or("", |(law, _)| law);
            let takes =
                if needs.is_empty() { "no key of its own".to_owned() } else { needs.join(", ") };
            let fault =
                Diagnostic::error("E013", format!("`{key}` does not belong to law `{name}`"))
                    .at(span, format!("a key of law `{owner}`"))
                    .help(format!("{name} takes {takes}, and every law takes limiting and rest"));
            cx.faults.push(fault);
            clean = false;
        }
    }
    clean
}

type Points = Vec<At<(At<Potential>, At<CurrentDensity>)>>;

/// Checks a measured curve: magnitudes, rising in both columns.
fn points(list: &At<Points>, cx: &mut Context<'_>) -> Option<Vec<(Potential, CurrentDensity)>> {
    let mut last = (0.0, 0.0);
    let mut out = Vec::with_capacity(list.value.len());
    for (k, point) in list.value.iter().enumerate() {
        let (eta, density) = (point.value.0.value.si(), point.value.1.value.si());
        let origin = k == 0 && eta == 0.0 && density == 0.0;
        if !origin && (eta <= last.0 || density <= last.1) {
            let fault = Diagnostic::error("E013", "the points of a measured curve must rise")
                .at(point.span.clone(), "not above the point before it")
                .help(
                    "write magnitudes, from 0 upwards, both columns rising: \
                       [[\"0 mV\", \"0 A/dm2\"], [\"120 mV\", \"1 A/dm2\"], ...]",
                );
            return cx.fault(fault);
        }
        last = (eta, density);
        out.push((point.value.0.value, point.value.1.value));
    }
    if last.0 > 0.0 {
        return Some(out);
    }
    let fault = Diagnostic::error("E013", "a measured curve needs a point besides the origin");
    cx.fault(fault.at(list.span.clone(), "expected points [overpotential, current density]"))
}

/// The law of a library entry; `key` is its dotted name.
pub fn from_library(
    entry: &LawEntry,
    bath: &Found,
    key: &str,
    cx: &mut Context<'_>,
) -> Option<Law> {
    build(&LawTable::default(), entry, bath, key, cx)
}

/// The law of a library entry with single values changed by the job.
pub fn adjusted(
    table: &At<LawTable>,
    entry: &LawEntry,
    bath: &Found,
    key: &str,
    cx: &mut Context<'_>,
) -> Option<Law> {
    let t = &table.value;
    let word = entry.law.get()?.value.as_str();
    let (name, needs) = LAWS.iter().find(|(name, _)| *name == word)?;
    if !foreign_keys(t, name, needs, cx) {
        return None;
    }
    build(t, entry, bath, key, cx)
}

/// A law of library values, those that `t` states replaced.
fn build(
    t: &LawTable,
    entry: &LawEntry,
    bath: &Found,
    key: &str,
    cx: &mut Context<'_>,
) -> Option<Law> {
    let mut one = Values { bath, key, cx };
    let kinetics = match entry.law.get()?.value.as_str() {
        "tafel" => {
            let exchange = one.positive(&t.exchange, &entry.exchange, "exchange");
            let slope = one.positive(&t.slope, &entry.slope, "slope");
            Kinetics::Tafel { exchange: exchange?, slope: slope? }
        }
        "linear" => Kinetics::Linear {
            resistance: one.positive(&t.resistance, &entry.resistance, "resistance")?,
        },
        _ => return None,
    };
    let limiting = match (&t.limiting, &entry.limiting) {
        (Slot::Missing, Slot::Missing) => None,
        (stated, library) => Some(one.positive(stated, library, "limiting")?),
    };
    let rest = one.take(&t.rest, &entry.rest, "rest").unwrap_or(Potential::new(0.0));
    if matches!(t.rest, Slot::Bad) {
        return None;
    }
    Some(Law { kinetics, limiting, rest })
}

/// Takes one value of a law after the other: the job's, else the library's.
struct Values<'a, 'c, 't> {
    bath: &'a Found,
    key: &'a str,
    cx: &'c mut Context<'t>,
}

impl Values<'_, '_, '_> {
    fn take<T: Copy>(
        &mut self,
        stated: &Slot<T>,
        library: &Slot<Sourced<T>>,
        name: &str,
    ) -> Option<T> {
        let key = format!("{}.{name}", self.key);
        match stated {
            Slot::Given(at) => {
                self.cx.note_job(key, &at.span);
                Some(at.value)
            }
            Slot::Bad => None,
            Slot::Missing => Some(self.cx.library(&key, self.bath, &library.get()?.value)),
        }
    }

    /// As [`Self::take`]; the job's value must be above zero, the library's is.
    fn positive<T: Quantity>(
        &mut self,
        stated: &Slot<T>,
        library: &Slot<Sourced<T>>,
        name: &str,
    ) -> Option<T> {
        let value = self.take(stated, library, name)?;
        match stated.get() {
            Some(at) => self.cx.positive(at, "this value of the law"),
            None => Some(value),
        }
    }
}
