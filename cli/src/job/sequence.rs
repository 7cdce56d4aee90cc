//! A sequence: one job file for several baths through which the same parts go, one after the other.
//!
//! Each `[[layer]]` names a complete job file beside this one, or holds tables that replace those
//! of this file. A layer's job is the tree of tables that results; it goes through the ordinary
//! resolver, so that every message still points at its file and line.

use std::ops::Range;
use std::path::Path;

use toml::de::{DeTable, DeValue};

use super::cell::{At, Reading};
use super::coating::{self, Demand, Limit};
use super::context::Context;
use super::resolve::{resolve, resolve_tree, title, want};
use super::resolved::Resolved;
use super::syntax;
use super::table::{self, Table};
use super::tables::{JobTable, LayerTable};
use crate::diagnostic::{self, Diagnostic, Source};
use crate::output::Want;

/// More baths than this are a slip of the pen.
const MAX_LAYERS: usize = 20;
/// Longest name that still fits into a picture.
const MAX_NAME: usize = 40;
/// Depths of tanks that differ by less than this share are the same.
const SAME_DEPTH: f64 = 1e-6;

/// A checked sequence.
#[derive(Debug, Clone)]
pub struct Sequence {
    /// What it is about.
    pub title: String,
    /// The layers in order of plating; never empty.
    pub layers: Vec<LayerJob>,
    /// Everything that is wanted of layers and of their total.
    pub demands: Vec<Demand>,
    /// Things the planner should look at, with places in the sequence's own file.
    pub warnings: Vec<Diagnostic>,
}

/// One layer.
#[derive(Debug, Clone)]
pub struct LayerJob {
    /// Its name.
    pub name: String,
    /// Begins the names of its files: its number and the letters and digits of its name.
    pub file_name: String,
    /// Where its job stands: the sequence's own file or another.
    pub source: Source,
    /// Its job.
    pub job: Resolved,
}

/// What is wrong with one of the files.
#[derive(Debug, Clone)]
pub struct Faults {
    /// The file.
    pub source: Source,
    /// What is wrong with it.
    pub messages: Vec<Diagnostic>,
}

/// True for a job file with `[[layer]]` tables.
pub fn is_sequence(source: &Source) -> bool {
    let parsed = DeTable::parse_recoverable(&source.text).0;
    parsed.get_ref().iter().any(|(key, _)| key.get_ref() == "layer")
}

/// Reads and checks a sequence; `load` gets other job files by their path.
///
/// # Errors
/// Every fault of the file and of those that it names.
pub fn resolve_sequence(
    source: &Source,
    load: &dyn Fn(&str) -> Result<Source, Box<Diagnostic>>,
) -> Result<Sequence, Vec<Faults>> {
    let text = source.text.as_str();
    let own = |mut messages: Vec<Diagnostic>| {
        diagnostic::sort(&mut messages);
        Faults { source: source.clone(), messages }
    };
    let broken = syntax::faults(text);
    if !broken.is_empty() {
        return Err(vec![own(broken)]);
    }
    let parsed = DeTable::parse_recoverable(text).0;
    let root = parsed.get_ref();
    let mut reading = Reading { text, faults: Vec::new() };
    let job: JobTable = table::read(root, &mut reading);
    let mut cx = Context::new(source, reading.faults, None);
    let tables: &[At<LayerTable>] = job.layer.get().map_or(&[], |at| &at.value.0);
    let trees = trees(root);
    if tables.is_empty() && cx.faults.is_empty() {
        let fault = Diagnostic::error("E022", "a sequence needs at least one layer");
        let place = job.layer.span().unwrap_or(0..0);
        cx.faults.push(fault.at(place, "holds none").help("add [[layer]] with a name and a bath"));
    }
    if tables.len() > MAX_LAYERS {
        let fault = Diagnostic::error("E022", format!("more than {MAX_LAYERS} layers"));
        return Err(vec![own(vec![fault])]);
    }
    let mut layers: Vec<(LayerJob, Range<usize>)> = Vec::new();
    let mut elsewhere: Vec<Faults> = Vec::new();
    for (k, (at, tree)) in tables.iter().zip(&trees).enumerate() {
        let name = name(at, &layers, &mut cx);
        let found = match at.value.job.get() {
            Some(file) => included(source, at, file, load, &mut cx, &mut elsewhere),
            None if at.value.job.is_missing() => replaced(source, root, tree, at, &mut cx),
            None => None,
        };
        if let (Some((name, span)), Some((source, mut job))) = (name, found) {
            job.title = format!("{} \u{b7} {name}", title_of(root, &job.title, &cx));
            let file_name = format!("{}-{}", k + 1, letters(&name));
            layers.push((LayerJob { name, file_name, source, job }, span));
        }
    }
    if layers.len() == tables.len() {
        matching(&layers, &mut cx);
    }
    let total = want(&job, &mut cx);
    let plated: Vec<_> = layers.iter().map(|(layer, _)| layer.job.plating.as_ref()).collect();
    let demands = match layers.len() == tables.len() {
        true => demands(&job, &layers, &plated, total, &mut cx),
        false => Vec::new(),
    };
    if !cx.faults.is_empty() {
        elsewhere.insert(0, own(cx.faults));
    }
    if !elsewhere.is_empty() {
        return Err(elsewhere);
    }
    diagnostic::sort(&mut cx.warnings);
    Ok(Sequence {
        title: title(&job),
        layers: layers.into_iter().map(|(layer, _)| layer).collect(),
        demands,
        warnings: cx.warnings,
    })
}

/// The tables of the layers as they stand in the tree.
fn trees<'r, 't>(root: &'r DeTable<'t>) -> Vec<Option<&'r DeTable<'t>>> {
    let found = root.iter().find(|(key, _)| key.get_ref() == "layer");
    match found.map(|(_, value)| value.get_ref()) {
        Some(DeValue::Array(list)) => list.iter().map(|item| item.get_ref().as_table()).collect(),
        Some(DeValue::Table(one)) => vec![Some(one)],
        _ => Vec::new(),
    }
}

/// The sequence's title before a layer's name; a layer's own file may have a title of its own.
fn title_of(root: &DeTable<'_>, own: &str, cx: &Context<'_>) -> String {
    let stated = root.iter().find(|(key, _)| key.get_ref() == "title");
    let text = stated.map(|(_, value)| cx.written(&value.span()));
    text.filter(|text| !text.is_empty()).unwrap_or_else(|| own.to_owned())
}

/// Letters and digits of a name, the rest as dashes.
fn letters(name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    let text: String = name.to_lowercase().chars().map(plain).collect();
    let words: Vec<&str> = text.split('-').filter(|word| !word.is_empty()).collect();
    words.join("-")
}

fn name(
    at: &At<LayerTable>,
    before: &[(LayerJob, Range<usize>)],
    cx: &mut Context<'_>,
) -> Option<(String, Range<usize>)> {
    let how = "every layer has a name of its own, like name = \"copper\"";
    let place = Some(at.span.clone());
    let name = cx.required(&at.value.name, "name", "[[layer]]", place, how)?;
    let text = name.value.trim();
    if letters(text).is_empty()
        || text.chars().count() > MAX_NAME
        || text.chars().any(char::is_control)
    {
        return cx.out_of_range(name.span.clone(), "a name", "1 to 40 letters on one line");
    }
    if let Some((_, first)) = before.iter().find(|(known, _)| known.name == text) {
        let fault = Diagnostic::error("E015", format!("two layers are called `{text}`"));
        let fault = fault.at(name.span.clone(), "used again here");
        return cx.fault(fault.and(first.clone(), "used here first").help(how));
    }
    Some((text.to_owned(), name.span.clone()))
}

type Found = (Source, Resolved);

/// A layer in a job file of its own.
fn included(
    source: &Source,
    at: &At<LayerTable>,
    file: &At<String>,
    load: &dyn Fn(&str) -> Result<Source, Box<Diagnostic>>,
    cx: &mut Context<'_>,
    elsewhere: &mut Vec<Faults>,
) -> Option<Found> {
    let t = &at.value;
    let beside = [
        ("tank", t.tank.span()),
        ("bath", t.bath.span()),
        ("part", t.part.span()),
        ("anode", t.anode.span()),
        ("shield", t.shield.span()),
        ("thief", t.thief.span()),
        ("floating", t.floating.span()),
        ("screen", t.screen.span()),
        ("supply", t.supply.span()),
        ("run", t.run.span()),
        ("want", t.want.span()),
        ("solve", t.solve.span()),
    ];
    for (key, span) in beside {
        if let Some(span) = span {
            let fault = Diagnostic::error("E022", format!("`{key}` cannot stand beside `job`"))
                .at(span, "belongs into the layer's own file")
                .and(file.span.clone(), "names that file");
            cx.faults.push(fault.help("a layer is either a complete job file of its own, or tables that replace those of this file"));
        }
    }
    let path = match Path::new(&source.name).parent() {
        Some(folder) if source.name != "-" => folder.join(&file.value),
        _ => file.value.clone().into(),
    };
    let path = path.to_string_lossy().into_owned();
    let found = match load(&path) {
        Ok(found) => found,
        Err(fault) => return cx.fault(fault.at(file.span.clone(), "names the layer's job file")),
    };
    match resolve(&found) {
        Ok(job) => Some((found, job)),
        Err(messages) => {
            elsewhere.push(Faults { source: found, messages });
            None
        }
    }
}

/// A layer made of this file's tables and its own in their stead.
fn replaced(
    source: &Source,
    root: &DeTable<'_>,
    tree: &Option<&DeTable<'_>>,
    at: &At<LayerTable>,
    cx: &mut Context<'_>,
) -> Option<Found> {
    let tree = (*tree)?;
    let own = |key: &str| tree.iter().any(|(name, _)| name.get_ref() == key);
    let mut whole = DeTable::new();
    // the file's [want] speaks of all layers together
    for (key, value) in root.iter() {
        let word: &str = key.get_ref();
        if !matches!(word, "layer" | "want") && !own(word) {
            whole.insert(key.clone(), value.clone());
        }
    }
    for (key, value) in tree.iter() {
        let word: &str = key.get_ref();
        // unknown keys are told of once, with those of [[layer]]
        let known = LayerTable::KEYS.iter().any(|known| table::key(known) == word);
        if known && !matches!(word, "name" | "job") {
            whole.insert(key.clone(), value.clone());
        }
    }
    match resolve_tree(source, &whole, None) {
        Ok(job) => Some((source.clone(), job)),
        Err(faults) => {
            let place = at.value.name.span().unwrap_or(at.span.clone());
            for fault in faults {
                let fault = match fault.place {
                    Some(_) => fault,
                    None => fault.at(place.clone(), "neither in this layer nor for the whole file"),
                };
                // what the layers share is wrong once
                if !cx.faults.contains(&fault) {
                    cx.faults.push(fault);
                }
            }
            None
        }
    }
}

/// Parts must be the same, in name, shape and depth; every layer needs metal and time.
fn matching(layers: &[(LayerJob, Range<usize>)], cx: &mut Context<'_>) {
    let Some((first, _)) = layers.first() else { return };
    let parts = |layer: &LayerJob| -> Vec<(String, shapes::Outline)> {
        let bodies = layer.job.layout.bodies.iter().filter(|b| b.role == solver::Role::Part);
        bodies.map(|b| (b.name.clone(), b.outline.clone())).collect()
    };
    let here = parts(first);
    // a misspelt key may have hidden the time
    let clean = cx.faults.is_empty();
    for (layer, span) in layers {
        let timed = layer.job.plating.as_ref().is_some_and(|plating| plating.length.is_some());
        if !timed && clean {
            let message = format!("layer `{}` has no metal or no plating time", layer.name);
            let fault = Diagnostic::error("E022", message).at(span.clone(), "leaves no thickness");
            cx.faults.push(fault.help("give it [bath] metal and [run] time"));
        }
        let there = parts(layer);
        let missing = |a: &[(String, shapes::Outline)], b: &[(String, shapes::Outline)]| {
            a.iter()
                .find(|(name, _)| !b.iter().any(|(other, _)| other == name))
                .map(|p| p.0.clone())
        };
        for (name, has, lacks) in [
            (missing(&here, &there), &first.name, &layer.name),
            (missing(&there, &here), &layer.name, &first.name),
        ] {
            if let Some(name) = name {
                let message =
                    format!("part `{name}` hangs in layer `{has}`, but not in layer `{lacks}`");
                let fault = Diagnostic::error("E022", message).at(span.clone(), "other parts here");
                cx.faults
                    .push(fault.help("parts are matched by name: every layer plates the same"));
            }
        }
        for (name, outline) in &there {
            let Some((_, other)) = here.iter().find(|(known, _)| known == name) else { continue };
            if solver::Fit::of(outline, other).is_none() {
                let message = format!(
                    "part `{name}` has another shape in layer `{}` than in layer `{}`",
                    layer.name, first.name
                );
                let fault =
                    Diagnostic::error("E022", message).at(span.clone(), "another shape here");
                cx.faults.push(fault.help("between layers a part may be moved, turned and mirrored, but its outline stays the same (within 0.01 % of its size)"));
            }
        }
        let (a, b) = (layer.job.layout.depth.si(), first.job.layout.depth.si());
        if (a - b).abs() > SAME_DEPTH * b {
            let message = format!(
                "the parts are {} mm deep in layer `{}`, but {} mm in layer `{}`",
                crate::output::three(a * 1e3),
                layer.name,
                crate::output::three(b * 1e3),
                first.name
            );
            let fault = Diagnostic::error("E022", message).at(span.clone(), "another depth here");
            cx.faults.push(fault.help(
                "[tank] depth is how far the parts go on behind the page: the same in every tank",
            ));
        }
    }
}

/// Everything that is wanted: by the designation, of single layers, of the total.
fn demands(
    job: &JobTable,
    layers: &[(LayerJob, Range<usize>)],
    plated: &[Option<&super::resolved::Plating>],
    total: Want,
    cx: &mut Context<'_>,
) -> Vec<Demand> {
    let mut demands = coating::of_layers(job, plated, cx);
    let mut add = |what: &str, layers: Vec<usize>, want: Want, from: &str| {
        let limits = [want.min_thickness.map(Limit::Least), want.max_thickness.map(Limit::Most)];
        for limit in limits.into_iter().flatten() {
            let (what, from) = (what.to_owned(), from.to_owned());
            demands.push(Demand { what, layers: layers.clone(), limit, from });
        }
    };
    for (k, (layer, _)) in layers.iter().enumerate() {
        add(&layer.name, vec![k], layer.job.want, "the layer's own [want]");
    }
    add("all layers together", (0..layers.len()).collect(), total, "[want]");
    demands
}
