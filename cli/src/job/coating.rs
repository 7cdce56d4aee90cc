//! What a designation in `[want]` asks of the baths of a job.

use std::ops::Range;

use solver::quantity::Length;

use super::cell::{Slot, inside};
use super::context::Context;
use super::resolved::Plating;
use super::tables::JobTable;
use crate::designation::{
    Basis, Coating, Designation, Kind, Layer, Metal, SEMIBRIGHT_SHARE, ServiceClass, entries, parse,
};
use crate::diagnostic::Diagnostic;
use crate::output::Want;

/// One thing that is wanted of some layers of a sequence together.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// What it is about, such as "nickel".
    pub what: String,
    /// Which layers count together, by index.
    pub layers: Vec<usize>,
    /// What is wanted.
    pub limit: Limit,
    /// Who wants it, in words.
    pub from: String,
}

/// What may be wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// At least so thick everywhere on the significant surface.
    Least(Length),
    /// At most so thick everywhere on the significant surface.
    Most(Length),
    /// The lowest of the layers makes up at least this share everywhere.
    LowestShare(f64),
}

/// A designation with its place in the file.
type Placed = (Designation, Range<usize>);

/// The designation that `[want]` names; a class counts as the zinc that it asks for if `zinc` says
/// that zinc is plated.
fn stated(slot: &Slot<String>, zinc: bool, cx: &mut Context<'_>) -> Option<Placed> {
    let at = slot.get()?;
    let text = at.value.as_str();
    match parse(text) {
        Ok(Coating::Layers(designation)) => {
            cx.note_job("want.designation", &at.span);
            Some((designation, at.span.clone()))
        }
        Ok(Coating::Class { basis, class }) => {
            cx.note_job("want.designation", &at.span);
            match zinc.then(|| zinc_of(basis, class)).flatten() {
                Some(designation) => Some((designation, at.span.clone())),
                None => ambiguous(basis, class, at.span.clone(), cx),
            }
        }
        Err(error) => {
            let span = inside(cx.text, &at.span, text, &error.span);
            let fault = Diagnostic::error("E018", format!("no coating designation: {error}"));
            cx.fault(fault.at(span, "cannot be read as one").help(error.hint))
        }
    }
}

fn zinc_of(basis: Option<Basis>, class: ServiceClass) -> Option<Designation> {
    let fits = |basis: Option<Basis>| basis.is_none_or(|basis| basis == Basis::Steel);
    let line = entries().find(|entry| {
        fits(basis) && entry.class == class && entry.designation.starts_with("Fe/Zn")
    })?;
    match parse(line.designation) {
        Ok(Coating::Layers(designation)) => Some(designation),
        Ok(Coating::Class { .. }) | Err(_) => None,
    }
}

/// A class that more than one coating meets.
fn ambiguous<T>(
    basis: Option<Basis>,
    class: ServiceClass,
    span: Range<usize>,
    cx: &mut Context<'_>,
) -> Option<T> {
    let of_class = entries()
        .filter(|entry| entry.class == class && basis.is_none_or(|basis| entry.basis == basis));
    let list: Vec<&str> = of_class.map(|entry| entry.designation).collect();
    let fault = Diagnostic::error("E018", format!("{class} can be met in several ways"));
    let fault = fault.at(span, "does not say which layers are wanted");
    cx.fault(match list.is_empty() {
        true => fault.help("the tables known here have no line for it: write a full designation"),
        false => fault.help(format!("write one of: {}", list.join(", "))),
    })
}

/// Chemical symbol of what a bath deposits: copper is Cu in any of its states.
fn element(plating: &Plating) -> &str {
    plating.metal.symbol.split('(').next().unwrap_or_default()
}

/// Lets the designation of a job of one bath set its least thickness.
pub fn of_one_bath(
    job: &JobTable,
    plating: Option<&Plating>,
    want: &mut Want,
    cx: &mut Context<'_>,
) {
    let Some(table) = job.want.get() else { return };
    let zinc = plating.is_some_and(|plating| element(plating) == Metal::Zinc.symbol());
    let Some((designation, span)) = stated(&table.value.designation, zinc, cx) else { return };
    let Some(plating) = plating else { return };
    match designation.layers().as_slice() {
        [only] if only.metal.symbol() == element(plating) => {
            let least = Length::um(only.least_um);
            if want.min_thickness.is_none_or(|own| own.si() < least.si()) {
                want.min_thickness = Some(least);
            }
            one_nickel(only, &designation, &span, cx);
        }
        layers => {
            let fault = Diagnostic::error(
                "E018",
                format!(
                    "`{designation}` asks for {}, but this bath plates {}",
                    words(layers),
                    plating.metal.name
                ),
            );
            cx.faults.push(
                fault
                    .at(span, "not what is plated")
                    .help("a job with a [[layer]] for each bath plates one metal over the other"),
            );
        }
    }
}

fn words(layers: &[Layer]) -> String {
    let names: Vec<&str> = layers.iter().map(|layer| layer.metal.name()).collect();
    names.join(", then ")
}

/// Warns of a double nickel of which the job has one bath only.
fn one_nickel(layer: &Layer, designation: &Designation, span: &Range<usize>, cx: &mut Context<'_>) {
    if layer.kind != Some(Kind::Multilayer) {
        return;
    }
    let message =
        format!("`{designation}` asks for double or triple nickel, but one bath plates it");
    let warning = Diagnostic::warning("W006", message).at(span.clone(), "the letter d");
    cx.warnings.push(warning.help("give each nickel bath a [[layer]], semi-bright first"));
}

/// What the designation of a sequence asks of its layers; `plated` is what each of them deposits.
pub fn of_layers(job: &JobTable, plated: &[Option<&Plating>], cx: &mut Context<'_>) -> Vec<Demand> {
    let Some(table) = job.want.get() else { return Vec::new() };
    let elements: Vec<&str> = plated.iter().map(|p| p.map_or("", element)).collect();
    let zinc = elements.iter().all(|element| *element == Metal::Zinc.symbol());
    let Some((designation, span)) = stated(&table.value.designation, zinc, cx) else {
        return Vec::new();
    };
    let mut demands = Vec::new();
    let mut next = 0;
    for layer in designation.layers() {
        let symbol = layer.metal.symbol();
        let from = (next..elements.len()).find(|k| elements[*k] == symbol);
        let Some(from) = from else {
            let after = if next == 0 { "" } else { " over the layer before it" };
            let message = format!(
                "`{designation}` asks for {}, but no layer plates it{after}",
                layer.metal.name()
            );
            let names: Vec<&str> =
                plated.iter().map(|p| p.map_or("no metal", |p| p.metal.name.as_ref())).collect();
            let fault = Diagnostic::error("E018", message).at(span, "not what is plated");
            cx.faults.push(fault.help(format!("the layers plate: {}", names.join(", then "))));
            return Vec::new();
        };
        let to = (from..elements.len()).find(|k| elements[*k] != symbol).unwrap_or(elements.len());
        next = to;
        let from_words = format!("designation {designation}");
        let layers: Vec<usize> = (from..to).collect();
        demands.push(Demand {
            what: layer.metal.name().to_owned(),
            layers: layers.clone(),
            limit: Limit::Least(Length::um(layer.least_um)),
            from: from_words.clone(),
        });
        if layers.len() == 1 {
            one_nickel(&layer, &designation, &span, cx);
        } else if layer.kind == Some(Kind::Multilayer) {
            demands.push(Demand {
                what: "semi-bright nickel's share of all nickel".into(),
                layers,
                limit: Limit::LowestShare(SEMIBRIGHT_SHARE),
                from: from_words,
            });
        }
    }
    demands
}
