//! The rectifiers: what each feeds, by current, mean current density or voltage, its leads and rating.

use std::ops::Range;

use solver::quantity::Resistance;
use solver::{Drive, Rating, Role, Supply};

use super::body::Bodies;
use super::cell::{At, Slot};
use super::context::Context;
use super::forms::OneOrMany;
use super::tables::SupplyTable;
use crate::diagnostic::Diagnostic;
use crate::units::nearest;

/// Supplies with their places, in the order of the file.
pub type Supplies = Vec<(Supply, Range<usize>)>;

/// Resolves `[supply]` or every `[[supply]]`; `complete` says that `bodies` holds every body of
/// the file. A supply with faults makes `None`.
pub fn resolve(
    slot: &Slot<OneOrMany<SupplyTable>>,
    bodies: &Bodies,
    complete: bool,
    cx: &mut Context<'_>,
) -> Option<Supplies> {
    let given = cx.required(slot, "supply", "the job file", None, HOW)?;
    let tables = &given.value.0;
    if tables.is_empty() {
        let fault = Diagnostic::error("E006", "the list of supplies is empty");
        return cx.fault(fault.at(given.span.clone(), "needs one supply at least").help(HOW));
    }
    let alone = tables.len() == 1;
    let before = cx.faults.len();
    let mut out: Supplies = Vec::new();
    for (k, at) in tables.iter().enumerate() {
        let called = if alone { "supply".to_owned() } else { format!("supply {}", k + 1) };
        let name = name(&at.value, called, cx);
        if let Some((_, first)) = out.iter().find(|(known, _)| known.name == name) {
            let place = at.value.name.span().unwrap_or(at.span.clone());
            let fault = Diagnostic::error("E015", format!("two supplies are called `{name}`"))
                .at(place, "used again here")
                .and(first.clone(), "the first is here");
            cx.faults.push(fault.help("give each supply a name of its own"));
        }
        let key = if alone { "supply".to_owned() } else { format!("supply.{name}") };
        let supply = one(at, name, &key, alone, (bodies, complete), cx);
        // a stand-in keeps the others' names and lists to compare with
        let fallback = Supply::all(Drive::Voltage(solver::quantity::Potential::new(1.0)));
        out.push((supply.unwrap_or(fallback), at.span.clone()));
    }
    if complete && cx.faults.len() == before {
        unfed(&mut out, tables, bodies, cx);
    }
    (cx.faults.len() == before).then_some(out)
}

const HOW: &str =
    "add [supply] with current = \"30 A\", current_density = \"4 A/dm2\" or voltage = \"5 V\"";

fn name(t: &SupplyTable, fallback: String, cx: &mut Context<'_>) -> String {
    let Some(at) = t.name.get() else { return fallback };
    let good = !at.value.trim().is_empty()
        && at.value.chars().count() <= 60
        && !at.value.chars().any(char::is_control);
    if !good {
        cx.out_of_range::<()>(at.span.clone(), "a name", "1 to 60 letters on one line");
    }
    at.value.clone()
}

fn one(
    at: &At<SupplyTable>,
    name: String,
    key: &str,
    alone: bool,
    (bodies, complete): (&Bodies, bool),
    cx: &mut Context<'_>,
) -> Option<Supply> {
    let t = &at.value;
    let mut lists = [Vec::new(), Vec::new()];
    for (k, (slot, word)) in [(&t.anodes, "anodes"), (&t.cathodes, "cathodes")].iter().enumerate() {
        if !alone {
            let how =
                format!("with several supplies each names what it feeds, like {word} = [\"name\"]");
            cx.required(slot, word, "[[supply]]", Some(at.span.clone()), &how);
        }
        if complete {
            lists[k] = members(slot, k == 0, bodies, cx);
        }
    }
    let [anodes, cathodes] = lists;
    let drive = drive(at, key, cx)?;
    let lead = match t.lead_resistance.get() {
        Some(given) => {
            cx.note_job(format!("{key}.lead_resistance"), &given.span);
            not_negative(given, "a lead resistance", cx)?
        }
        None => Resistance::new(0.0),
    };
    let limit = t.limit.get().map(|at| &at.value);
    let current = limit.and_then(|l| l.current.get());
    let voltage = limit.and_then(|l| l.voltage.get());
    let rating = Rating {
        current: current.and_then(|at| cx.positive(at, "a rated current")),
        voltage: voltage.and_then(|at| cx.positive(at, "a rated voltage")),
    };
    Some(Supply { name, drive, anodes, cathodes, lead, rating })
}

/// A resistance that is zero or more.
pub fn not_negative(at: &At<Resistance>, what: &str, cx: &mut Context<'_>) -> Option<Resistance> {
    if at.value.si() >= 0.0 {
        Some(at.value)
    } else {
        cx.out_of_range(at.span.clone(), what, "zero or more")
    }
}

/// Exactly one of the three ways to set a supply.
fn drive(at: &At<SupplyTable>, key: &str, cx: &mut Context<'_>) -> Option<Drive> {
    let t = &at.value;
    let stated: [(&str, bool, Option<Range<usize>>); 3] = [
        ("current", t.current.is_missing(), t.current.span()),
        ("current_density", t.current_density.is_missing(), t.current_density.span()),
        ("voltage", t.voltage.is_missing(), t.voltage.span()),
    ];
    let named: Vec<_> = stated.iter().filter(|(_, missing, _)| !missing).collect();
    match named.as_slice() {
        [] => {
            let fault = Diagnostic::error(
                "E016",
                "the supply states neither current, current_density nor voltage",
            );
            cx.fault(fault.at(at.span.clone(), "needs exactly one of them").help(HOW))
        }
        [(_, _, Some(span))] => {
            cx.note_job(key, span);
            value(t, cx)
        }
        [_] => None,
        [first, second, ..] => {
            let message = format!("the supply states both `{}` and `{}`", first.0, second.0);
            let fault = Diagnostic::error("E016", message);
            let fault = match (&first.2, &second.2) {
                (Some(a), Some(b)) => fault.at(b.clone(), "the second").and(a.clone(), "the first"),
                _ => fault.at(at.span.clone(), "needs exactly one of them"),
            };
            cx.fault(fault.help("keep one; the other follows from the solve"))
        }
    }
}

fn value(t: &SupplyTable, cx: &mut Context<'_>) -> Option<Drive> {
    if let Some(at) = t.current.get() {
        return cx.positive(at, "the supply's current").map(Drive::Current);
    }
    if let Some(at) = t.current_density.get() {
        return cx.positive(at, "the supply's current density").map(Drive::MeanDensity);
    }
    let at = t.voltage.get()?;
    cx.positive(at, "the supply's voltage").map(Drive::Voltage)
}

/// Indices of the bodies that a list names: anodes, or parts and thieves. The name of a body with
/// copies stands for all of them.
fn members(
    slot: &Slot<Vec<At<String>>>,
    anodes: bool,
    bodies: &Bodies,
    cx: &mut Context<'_>,
) -> Vec<usize> {
    let Some(list) = slot.get() else { return Vec::new() };
    let fits = |role: Role| match role {
        Role::Anode => anodes,
        Role::Part | Role::Thief { .. } => !anodes,
        _ => false,
    };
    let all = || bodies.iter().enumerate().filter(|(_, (body, _))| fits(body.role));
    let mut out = Vec::new();
    for name in &list.value {
        let called = |(_, (body, place)): &(usize, &(solver::Body, super::body::BodyPlace))| {
            name.value == body.name || name.value == place.base
        };
        let found: Vec<usize> = all().filter(called).map(|(b, _)| b).collect();
        if found.is_empty() {
            let (word, a) =
                if anodes { ("anode", "an anode") } else { ("part", "a part or thief") };
            let known: Vec<&str> = all().map(|(_, (body, _))| body.name.as_str()).collect();
            let near = nearest(&name.value, known.iter().copied());
            let list = format!("{word}s: {}", known.join(", "));
            let fault = Diagnostic::error("E016", format!("no {word} is called `{}`", name.value))
                .at(name.span.clone(), format!("expected the name of {a}"));
            cx.faults.push(
                fault.help(near.map_or(list.clone(), |n| format!("did you mean `{n}`? {list}"))),
            );
            continue;
        }
        out.extend(found.into_iter().filter(|b| !out.contains(b)).collect::<Vec<_>>());
    }
    if list.value.is_empty() {
        let fault = Diagnostic::error("E016", "this list names nothing");
        cx.faults.push(fault.at(list.span.clone(), "expected one name at least"));
    }
    out
}

/// Every anode, part and thief must be on a supply. A thief that a lone supply does not name is on
/// the parts' bus.
fn unfed(
    supplies: &mut Supplies,
    tables: &[At<SupplyTable>],
    bodies: &Bodies,
    cx: &mut Context<'_>,
) {
    if let [(only, _)] = supplies.as_mut_slice()
        && !only.cathodes.is_empty()
    {
        let thief = |b: &usize| matches!(bodies[*b].0.role, Role::Thief { .. });
        let missing = |b: &usize| !only.cathodes.contains(b);
        let more: Vec<usize> = (0..bodies.len()).filter(thief).filter(missing).collect();
        only.cathodes.extend(more);
    }
    for (b, (body, place)) in bodies.iter().enumerate() {
        let on = |(s, _): &(Supply, Range<usize>)| match body.role {
            Role::Anode => s.anodes.is_empty() || s.anodes.contains(&b),
            Role::Part | Role::Thief { .. } => s.cathodes.is_empty() || s.cathodes.contains(&b),
            _ => true,
        };
        if supplies.iter().any(on) {
            continue;
        }
        let list = if body.role == Role::Anode { "anodes" } else { "cathodes" };
        let fault = Diagnostic::error("E016", format!("`{}` is on no supply", body.name))
            .at(place.shape.clone(), format!("this {} gets no current", body.role.word()));
        let first = tables.first().map_or(0..0, |at| {
            let slot = if list == "anodes" { &at.value.anodes } else { &at.value.cathodes };
            slot.span().unwrap_or(at.span.clone())
        });
        let help = format!("name it in `{list}` of a supply; metal without a wire is [[floating]]");
        cx.faults.push(fault.and(first, "not in this list").help(help));
        // one message is enough for copies of one body
        return;
    }
}
