//! What a bath's values must satisfy: signs, ranges that hold their value, known words.

use std::ops::Range;

use super::caution::{CAUTIONS, caution};
use super::entry::{Entry, LawEntry};
use super::sourced::Sourced;
use crate::diagnostic::Diagnostic;
use crate::job::cell::{At, Slot};
use crate::units::{Quantity, nearest};

/// Everything that is wrong with a bath.
pub fn faults(entry: &Entry) -> Vec<Diagnostic> {
    let mut out = Vec::new();
    quantity(&entry.temperature, "a temperature", true, &mut out);
    quantity(&entry.conductivity, "a conductivity", true, &mut out);
    quantity(&entry.threshold, "a covering threshold", true, &mut out);
    quantity(&entry.anode_limit, "an anode current density", true, &mut out);
    quantity(&entry.tank_voltage, "a tank voltage", true, &mut out);
    scalar(&entry.area_ratio, |ratio| *ratio, "an area ratio", true, &mut out);
    let shares = [(&entry.hydrogen_share, "a share"), (&entry.conductivity_per_kelvin, "a growth")];
    for (slot, what) in shares {
        scalar(slot, |share| share.0, what, true, &mut out);
        if let Some(at) = slot.get().filter(|at| at.value.value.0 > 1.0) {
            out.push(fault(&at.span, format!("{what} must be at most 1 (100 %)")));
        }
    }
    if let Some(window) = entry.window.get() {
        for (slot, what) in [
            (&window.value.min, "the window's lower end"),
            (&window.value.default, "the window's default"),
            (&window.value.max, "the window's upper end"),
        ] {
            quantity(slot, what, true, &mut out);
        }
    }
    for slot in [&entry.cathode, &entry.anode] {
        law(slot, &mut out);
    }
    words(entry, &mut out);
    out
}

fn law(slot: &Slot<LawEntry>, out: &mut Vec<Diagnostic>) {
    let Some(at) = slot.get() else { return };
    let law = &at.value;
    quantity(&law.resistance, "a polarization resistance", true, out);
    quantity(&law.exchange, "an exchange current density", true, out);
    quantity(&law.slope, "a Tafel slope", true, out);
    quantity(&law.rest, "a rest potential", false, out);
    quantity(&law.limiting, "a limiting current density", true, out);
    let needs: &[(&str, bool)] = match law.law.get().map(|word| word.value.as_str()) {
        Some("linear") => &[("resistance", law.resistance.is_missing())],
        Some("tafel") => {
            &[("exchange", law.exchange.is_missing()), ("slope", law.slope.is_missing())]
        }
        Some(other) => {
            let span = law.law.span().unwrap_or(at.span.clone());
            out.push(
                Diagnostic::error("E012", format!("unknown law `{other}` in a bath"))
                    .at(span, "expected a law")
                    .help("laws of baths: linear, tafel; a job may state any other"),
            );
            return;
        }
        None if law.law.is_missing() => &[("law", true)],
        None => return,
    };
    for (key, _) in needs.iter().filter(|(_, missing)| *missing) {
        out.push(
            Diagnostic::error("E013", format!("a bath's law needs `{key}`"))
                .at(at.span.clone(), format!("`{key}` is not given here"))
                .help("linear takes resistance; tafel takes exchange and slope; both take rest and limiting"),
        );
    }
}

fn words(entry: &Entry, out: &mut Vec<Diagnostic>) {
    for key in entry.cautions.get().into_iter().flat_map(|at| &at.value) {
        if caution(&key.value).is_none() {
            let known: Vec<&str> = CAUTIONS.iter().map(|caution| caution.key).collect();
            let near = nearest(&key.value, known.iter().copied());
            let list = format!("cautions: {}; words of your own go into `notes`", known.join(", "));
            out.push(
                Diagnostic::error("E012", format!("unknown caution `{}`", key.value))
                    .at(key.span.clone(), "expected the key of a caution")
                    .help(near.map_or(list.clone(), |n| format!("did you mean `{n}`? {list}"))),
            );
        }
    }
    if let Some(kind) = entry.anode_kind.get()
        && !matches!(kind.value.as_str(), "soluble" | "insoluble")
    {
        out.push(
            Diagnostic::error("E012", format!("unknown kind of anode `{}`", kind.value))
                .at(kind.span.clone(), "expected \"soluble\" or \"insoluble\""),
        );
    }
}

fn quantity<Q: Quantity>(
    slot: &Slot<Sourced<Q>>,
    what: &str,
    positive: bool,
    out: &mut Vec<Diagnostic>,
) {
    scalar(slot, |value| value.si(), what, positive, out);
}

fn scalar<T>(
    slot: &Slot<Sourced<T>>,
    number: impl Fn(&T) -> f64,
    what: &str,
    positive: bool,
    out: &mut Vec<Diagnostic>,
) {
    let Some(At { value, span }) = slot.get() else { return };
    let middle = number(&value.value);
    let (low, high) =
        value.range.as_ref().map_or((middle, middle), |(low, high)| (number(low), number(high)));
    if positive && !(middle > 0.0 && low > 0.0) {
        out.push(fault(span, format!("{what} must be greater than zero")));
    } else if !(low <= middle && middle <= high) {
        out.push(
            fault(span, format!("the range of {what} must hold its value"))
                .help("range = [least, greatest]"),
        );
    }
}

fn fault(span: &Range<usize>, message: String) -> Diagnostic {
    Diagnostic::error("E011", message).at(span.clone(), "this value")
}
