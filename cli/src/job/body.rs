//! Bodies: role, name, law and outline of everything in the tank.

use std::ops::Range;

use solver::quantity::{Conductivity, Potential, Resistance};
use solver::{Body, Kinetics, Law, Role};

use super::bath::Laws;
use super::cell::{At, Slot};
use super::context::Context;
use super::follow::{self, Hall};
use super::forms::OneOrMany;
use super::supply::not_negative;
use super::tables::{BodyTable, JobTable};
use super::{law, marks, screen};
use crate::diagnostic::Diagnostic;

/// The roles in the words of the job file.
const ROLES: [&str; 6] = ["part", "anode", "shield", "thief", "floating", "screen"];

/// Longest name that still fits into a picture.
const MAX_NAME: usize = 60;

/// Where a body of the layout stands in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct BodyPlace {
    /// The name in the file; copies share it.
    pub base: String,
    /// The value of its shape key.
    pub shape: Range<usize>,
    /// True for a part whose significant surface is what a ball can touch.
    pub by_ball: bool,
    /// Its law, if the file states it, for it or for its bath.
    pub law: Option<Range<usize>>,
}

/// Bodies with their places, in the order of the file.
pub type Bodies = Vec<(Body, BodyPlace)>;

/// All bodies of the job, in the order of the file. Bodies with faults are left out.
pub fn resolve(
    job: &JobTable,
    unit_m: f64,
    laws: &Laws,
    conductivity: Option<Conductivity>,
    hall: Option<&Hall>,
    cx: &mut Context<'_>,
) -> Bodies {
    let slots: [&Slot<OneOrMany<BodyTable>>; 6] =
        [&job.part, &job.anode, &job.shield, &job.thief, &job.floating, &job.screen];
    let mut tables: Vec<(&str, &At<BodyTable>)> = Vec::new();
    for (word, slot) in ROLES.into_iter().zip(slots) {
        tables.extend(slot.get().into_iter().flat_map(|at| &at.value.0).map(|at| (word, at)));
    }
    for (word, slot) in [("part", &job.part), ("anode", &job.anode)] {
        if slot.is_missing() {
            let fault = Diagnostic::error("E006", format!("there is no {word} in the tank"));
            cx.faults.push(fault.help(format!(
                "add one: [[{word}]] with a name and a shape, such as rect = {{ at = [x, y], size = [w, h] }}"
            )));
        }
    }
    tables.sort_by_key(|(_, at)| at.span.start);
    let mut out: Bodies = Vec::new();
    let mut seen: Vec<(String, Range<usize>)> = Vec::new();
    let mut shapes = follow::shapes(&tables, hall, unit_m, cx).into_iter();
    for (word, at) in tables {
        let name = name(word, at, cx);
        let fallback = format!("unnamed {word}");
        let called = name.as_deref().unwrap_or(&fallback);
        let role = role(word, at, called, cx);
        let contact = contact(word, at, called, cx);
        let law = body_law(word, at, called, laws, cx);
        let shapes = shapes.next().flatten();
        let role = match (role, &shapes) {
            (Some(Role::Screen { .. }), Some(shaped)) => {
                screen::conductivity(at, called, &shaped.drawn, unit_m, conductivity, cx)
                    .map(|conductivity| Role::Screen { conductivity })
            }
            (role, _) => role,
        };
        let Some(base) = name else { continue };
        let place = at.value.name.span().unwrap_or(at.span.clone());
        let marks = shapes.as_ref().and_then(|s| marks::resolve(word, at, s, unit_m, cx));
        let copies = shapes.as_ref().map_or(1, |s| s.outlines.len());
        let names: Vec<String> = if at.value.repeat.is_missing() {
            vec![base.clone()]
        } else {
            (1..=copies).map(|k| format!("{base}-{k}")).collect()
        };
        for name in &names {
            if let Some((_, first)) = seen.iter().find(|(known, _)| known == name) {
                let fault = Diagnostic::error("E015", format!("two bodies are called `{name}`"))
                    .at(place.clone(), "used again here")
                    .and(first.clone(), "used here first");
                cx.faults.push(fault.help("give each body a name of its own; copies by `repeat` are called name-1, name-2, ..."));
                break;
            }
            seen.push((name.clone(), place.clone()));
        }
        let (Some(role), Some((law, stated)), Some(shaped), Some(marks)) =
            (role, law, shapes, marks)
        else {
            continue;
        };
        for (name, outline) in names.into_iter().zip(shaped.outlines) {
            let place = BodyPlace {
                base: base.clone(),
                shape: shaped.place.clone(),
                by_ball: marks.by_ball,
                law: stated.clone(),
            };
            let mut body = Body::new(name, role, outline.scaled(unit_m), law.clone());
            body.masked = marks.masked.clone();
            body.significant = marks.significant.clone();
            body.contact = contact;
            out.push((body, place));
        }
    }
    out
}

fn name(word: &str, at: &At<BodyTable>, cx: &mut Context<'_>) -> Option<String> {
    let how = format!("every body has a name of its own, like name = \"{word} left\"");
    let header = Some(at.span.clone());
    let name = cx.required(&at.value.name, "name", &format!("[[{word}]]"), header, &how)?;
    let length = name.value.chars().count();
    if name.value.trim().is_empty() || length > MAX_NAME || name.value.chars().any(char::is_control)
    {
        return cx.out_of_range(name.span.clone(), "a name", "1 to 60 letters on one line");
    }
    Some(name.value.clone())
}

/// The role with what belongs to it; keys of other roles are faults.
fn role(word: &str, at: &At<BodyTable>, called: &str, cx: &mut Context<'_>) -> Option<Role> {
    let t = &at.value;
    let mut foreign = |key: &str, owner: &str, span: Option<Range<usize>>| {
        if let Some(span) = span {
            let fault = Diagnostic::error("E013", format!("`{key}` does not belong to a {word}"));
            cx.faults.push(fault.at(span, format!("a key of {owner}")));
        }
    };
    if word != "thief" {
        foreign("offset", "[[thief]]", t.offset.span());
    }
    if !matches!(word, "part" | "anode" | "thief") {
        foreign("contact_resistance", "bodies on a supply", t.contact_resistance.span());
    }
    if word != "screen" {
        let keys = [
            ("conductivity", t.conductivity.span()),
            ("open_fraction", t.open_fraction.span()),
            ("hole", t.hole.span()),
            ("slit", t.slit.span()),
            ("thickness", t.thickness.span()),
        ];
        keys.into_iter().for_each(|(key, span)| foreign(key, "[[screen]]", span));
    }
    if matches!(word, "shield" | "screen") {
        foreign("polarization", "bodies with a metal surface", t.polarization.span());
    }
    match word {
        "part" => Some(Role::Part),
        "anode" => Some(Role::Anode),
        "shield" => Some(Role::Shield),
        "floating" => Some(Role::Floating),
        "thief" => {
            if matches!(t.offset, Slot::Bad) {
                return None;
            }
            if let Some(offset) = t.offset.get() {
                cx.note_job(format!("thief.{called}.offset"), &offset.span);
            }
            let offset = t.offset.get().map_or(Potential::new(0.0), |at| at.value);
            Some(Role::Thief { offset })
        }
        // how much it lets through depends on its shape: see `screen`
        _ => Some(Role::Screen { conductivity: Conductivity::new(1.0) }),
    }
}

/// Resistance of its hook, tab or contact; a fault leaves a perfect one behind.
fn contact(word: &str, at: &At<BodyTable>, called: &str, cx: &mut Context<'_>) -> Resistance {
    let none = Resistance::new(0.0);
    let Some(given) = at.value.contact_resistance.get() else { return none };
    cx.note_job(format!("{word}.{called}.contact_resistance"), &given.span);
    not_negative(given, "a contact resistance", cx).unwrap_or(none)
}

/// A law, with its place if the file states it.
type PlacedLaw = (Law, Option<Range<usize>>);

/// The body's own law, or its bath's.
fn body_law(
    word: &str,
    at: &At<BodyTable>,
    called: &str,
    laws: &Laws,
    cx: &mut Context<'_>,
) -> Option<PlacedLaw> {
    let insulator = Law { kinetics: Kinetics::None, limiting: None, rest: Potential::new(0.0) };
    if matches!(word, "shield" | "screen") {
        return Some((insulator, None));
    }
    match &at.value.polarization {
        Slot::Given(own) => {
            let law = law::from_job(own, &format!("{word}.{called}.polarization"), cx)?;
            return Some((law, Some(own.span.clone())));
        }
        Slot::Bad => return None,
        Slot::Missing => {}
    }
    let (side, from_bath) =
        if word == "anode" { ("anode", &laws.anode) } else { ("cathode", &laws.cathode) };
    match from_bath {
        Slot::Given(law) => {
            Some((law.value.clone(), (!law.span.is_empty()).then(|| law.span.clone())))
        }
        Slot::Bad => None,
        Slot::Missing => {
            let fault = Diagnostic::error("E006", format!("no polarization law for {word} `{called}`"))
                .at(at.span.clone(), "neither its own nor its bath's")
                .help(format!("name a bath of the library ([bath] use = ...), or give [bath] {side} = {{ law = ... }}"))
                .help("law = \"none\" stands for the primary distribution, without polarization");
            cx.fault(fault)
        }
    }
}
