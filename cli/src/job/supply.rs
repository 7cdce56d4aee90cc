//! The rectifier: one supply, set by current, mean current density or voltage.

use std::ops::Range;

use solver::{Drive, Role};

use super::body::Bodies;
use super::cell::{At, Slot};
use super::context::Context;
use super::forms::OneOrMany;
use super::table::not_supported_yet;
use super::tables::SupplyTable;
use crate::diagnostic::Diagnostic;
use crate::units::nearest;

/// Resolves `[supply]`; `complete` says that `bodies` holds every body of the file.
pub fn resolve(
    slot: &Slot<OneOrMany<SupplyTable>>,
    bodies: &Bodies,
    complete: bool,
    cx: &mut Context<'_>,
) -> Option<Drive> {
    let how =
        "add [supply] with current = \"30 A\", current_density = \"4 A/dm2\" or voltage = \"5 V\"";
    let given = cx.required(slot, "supply", "the job file", None, how)?;
    let [table] = given.value.0.as_slice() else {
        let second = given.value.0.get(1).map_or(given.span.clone(), |at| at.span.clone());
        let fault = not_supported_yet("more than one supply", "the second supply", second);
        return cx.fault(fault.help("one supply takes all anodes and parts"));
    };
    let t = &table.value;
    if complete {
        members(&t.anodes, Role::Anode, bodies, cx);
        members(&t.cathodes, Role::Part, bodies, cx);
    }
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
            cx.fault(fault.at(table.span.clone(), "needs exactly one of them").help(how))
        }
        [(_, _, Some(span))] => {
            cx.note_job("supply", span);
            value(t, cx)
        }
        [_] => None,
        [first, second, ..] => {
            let message = format!("the supply states both `{}` and `{}`", first.0, second.0);
            let fault = Diagnostic::error("E016", message);
            let fault = match (&first.2, &second.2) {
                (Some(a), Some(b)) => fault.at(b.clone(), "the second").and(a.clone(), "the first"),
                _ => fault.at(table.span.clone(), "needs exactly one of them"),
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

/// Checks a list of names: each must be a body of that role, and all of them must be there.
fn members(slot: &Slot<Vec<At<String>>>, role: Role, bodies: &Bodies, cx: &mut Context<'_>) {
    let Some(list) = slot.get() else { return };
    let word = role.word();
    let article = if role == Role::Anode { "an" } else { "a" };
    let all: Vec<(&str, &str)> = bodies
        .iter()
        .filter(|(body, _)| body.role == role)
        .map(|(body, place)| (body.name.as_str(), place.base.as_str()))
        .collect();
    for name in &list.value {
        if !all.iter().any(|(own, base)| name.value == *own || name.value == *base) {
            let known: Vec<&str> = all.iter().map(|(own, _)| *own).collect();
            let near = nearest(&name.value, known.iter().copied());
            let fault = Diagnostic::error("E016", format!("no {word} is called `{}`", name.value))
                .at(name.span.clone(), format!("expected the name of {article} {word}"));
            let list = format!("{word}s: {}", known.join(", "));
            cx.faults.push(
                fault.help(near.map_or(list.clone(), |n| format!("did you mean `{n}`? {list}"))),
            );
            return;
        }
    }
    let fed =
        |(own, base): &(&str, &str)| list.value.iter().any(|n| n.value == *own || n.value == *base);
    if let Some((left_out, _)) = all.iter().find(|pair| !fed(pair)) {
        let fault = not_supported_yet(
            "a supply for some of the bodies",
            "does not name all of them",
            list.span.clone(),
        );
        cx.faults.push(
            fault.help(format!("`{left_out}` is not on it; one supply takes all anodes and parts")),
        );
    }
}
