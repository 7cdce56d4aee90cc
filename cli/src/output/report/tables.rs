//! The page's tables of numbers.

use solver::{Role, Spread};

use super::{Table, points, words};
use crate::output::format::{percent, plus_minus, three};
use crate::output::places::Places;
use crate::output::{Confidence, Context, Value};

/// Rows of an outline's table, about.
const ROWS: f64 = 24.0;
/// Rows of values that are printed; the style hides the rest.
const PAPER: usize = 6;
/// Parts that get a table along their outline.
const OUTLINES: usize = 4;

/// Parts, then anodes.
pub fn numbers(context: &Context, places: &Places) -> Vec<Table> {
    vec![parts(context, places), anodes(context)]
}

fn parts(context: &Context, places: &Places) -> Table {
    let thickness = context.deposit.is_some();
    let (low, high) = if thickness { ("Thinnest", "Thickest") } else { ("Lowest", "Highest") };
    let mut table = Table::new(
        if thickness {
            "Thickness on the significant surface of each part, and what it takes"
        } else {
            "Current density on the significant surface of each part"
        },
        &["Part", low, "Mean", high, "Current", "Area", "Metal"],
    )
    .of_class("long");
    let units = context.units;
    let mut rows: Vec<(f64, Vec<String>)> = Vec::new();
    let text = |value: f64, doubt: f64| {
        if thickness { units.thickness_pm(value, doubt) } else { units.density_pm(value, doubt) }
    };
    for (index, body) in context.solution.bodies.iter().enumerate() {
        if body.role != Role::Part || body.stretches.is_empty() {
            continue;
        }
        let mut row = vec![body.name.clone()];
        match context.judged(index) {
            Some(judged) => {
                let Spread { min, mean, max, .. } = judged.spread;
                let s = judged.spread;
                let at = |p| words::place_on(context, places, index, p);
                row.push(format!("{}, {}", text(min, s.min_uncertainty), at(s.min_at)));
                row.push(text(mean, s.mean_uncertainty));
                row.push(format!("{}, {}", text(max, s.max_uncertainty), at(s.max_at)));
            }
            None => row.extend(["nothing on it is significant".into(), "-".into(), "-".into()]),
        }
        row.push(format!("{} A", plus_minus(body.current_a, body.current_uncertainty_a)));
        row.push(format!("{} dm²", three(100.0 * body.area_m2)));
        let metal = context.deposit_on(index);
        row.push(metal.map_or("-".into(), |on| {
            format!("{} g", plus_minus(1e3 * on.mass_kg, 1e3 * on.mass_uncertainty_kg))
        }));
        let least = context.judged(index).map_or(f64::INFINITY, |judged| judged.spread.min);
        rows.push((least, row));
    }
    if rows.len() > PAPER {
        table.caption.push_str(", the least first (on paper the first six)");
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    rows.into_iter().for_each(|(_, row)| table.push(row));
    table
}

fn anodes(context: &Context) -> Table {
    let units = context.units;
    let mut table = Table::new(
        "What the anodes carry",
        &[
            "Anode",
            "Current",
            "Share",
            "Mean density",
            "Highest density",
            "Limit used",
            "Dissolves",
        ],
    )
    .of_class("screen");
    for load in &context.account().anodes {
        table.push(vec![
            context.solution.bodies[load.body].name.clone(),
            format!("{} A", three(load.current_a)),
            percent(load.share),
            units.density_text(load.mean_a_m2),
            units.density_text(load.max_a_m2),
            load.of_limit.map_or("-".into(), percent),
            load.dissolved_kg.map_or("-".into(), |kg| format!("{} g", three(1e3 * kg))),
        ]);
    }
    table
}

/// Current and density of every metal body.
pub fn bodies(context: &Context) -> Table {
    let units = context.units;
    let mut table = Table::new(
        "current and current density of every body",
        &["Body", "What it is", "Current", "Lowest", "Mean", "Highest"],
    );
    for body in context.solution.bodies.iter().filter(|b| !b.stretches.is_empty()) {
        let d = &body.density;
        table.push(vec![
            body.name.clone(),
            body.role.word().into(),
            format!("{} A", plus_minus(body.current_a, body.current_uncertainty_a)),
            units.density_pm(d.min, d.min_uncertainty),
            units.density_pm(d.mean, d.mean_uncertainty),
            units.density_pm(d.max, d.max_uncertainty),
        ]);
    }
    table
}

/// Places at even steps along the outlines of the few parts that stand worst.
pub fn along(context: &Context, places: &Places) -> Vec<Table> {
    let parts = worst_first(context).into_iter().take(OUTLINES);
    parts.map(|index| along_part(context, places, index)).collect()
}

/// The parts in the bath, the one with the thinnest place first.
pub fn worst_first(context: &Context) -> Vec<usize> {
    let parts = context.solution.bodies.iter().enumerate();
    let wetted = parts.filter(|(_, b)| b.role == Role::Part && !b.stretches.is_empty());
    let mut parts: Vec<usize> = wetted.map(|(index, _)| index).collect();
    let least = |index: usize| context.judged(index).map_or(f64::INFINITY, |j| j.spread.min);
    parts.sort_by(|a, b| least(*a).total_cmp(&least(*b)));
    parts
}

fn along_part(context: &Context, places: &Places, index: usize) -> Table {
    let units = context.units;
    let body = &context.solution.bodies[index];
    let mut table = Table::new(
        format!("along the outline of {}", body.name),
        &["Along", "Place", "Where", "Thickness", "Current density"],
    );
    let starts = points::loop_starts(context, index);
    let step = body.stretches.iter().map(|s| s.length_m).sum::<f64>() / ROWS;
    let (mut passed, mut next) = (0.0, 0.0);
    for (row, stretch) in body.stretches.iter().enumerate() {
        passed += stretch.length_m;
        if passed < next {
            continue;
        }
        next += step;
        let s = starts.get(stretch.loop_index).unwrap_or(&0.0) + stretch.s_m;
        let on = context.deposit_on(index);
        table.push(vec![
            units.size_text(s),
            units.place_text(stretch.at),
            places.words(index, stretch).unwrap_or_default(),
            on.map_or("-".into(), |on| {
                units.thickness_pm(on.thickness_m[row], on.uncertainty_m[row])
            }),
            units.density_pm(stretch.current_density_a_m2, stretch.uncertainty_a_m2),
        ]);
    }
    table
}

/// Every value that entered, the shakiest first.
pub fn values(context: &Context) -> Table {
    let mut table = Table::new(
        if context.sources.len() > PAPER {
            "Values used, the shakiest first; on paper only those"
        } else {
            "Values used, the shakiest first"
        },
        &[
            "Value",
            "Taken as",
            "May lie between",
            "Confidence",
            "Moves metal and volts by",
            "Source",
        ],
    )
    .of_class("values");
    let trust = |c: Confidence| match c {
        Confidence::Low => (0, "assumed"),
        Confidence::Medium => (1, "typical"),
        Confidence::High => (2, "well known"),
        Confidence::Given => (3, "given by the job"),
    };
    let mut sources: Vec<_> = context.sources.iter().collect();
    sources.sort_by_key(|s| trust(s.confidence).0);
    let leaning = context.findings.leaning.as_ref();
    for source in sources {
        let range = source.range.as_ref();
        let moves = leaning.and_then(|found| {
            let one = found.leanings.iter().find(|l| l.name == source.name)?;
            let metal = one.metal_moves(&found.base);
            let volts = one.voltage_moves(&found.base);
            Some(format!("{}, {}", by(metal), by(volts)))
        });
        table.push(vec![
            source.name.clone(),
            match &source.value {
                Value::Number(number) => format!("{} {}", three(*number), source.unit),
                Value::Text(text) if curve(text) => "a curve".into(),
                Value::Text(text) => text.clone(),
            },
            range.map_or("-".into(), |[l, h]| match curve(l) {
                true => "between curves".into(),
                false => format!("{l} to {h}"),
            }),
            trust(source.confidence).1.into(),
            moves.unwrap_or_else(|| "not varied".into()),
            origin(&source.source, range),
        ]);
    }
    table
}

/// A list of points does not fit a cell.
fn curve(text: &str) -> bool {
    text.starts_with("[[")
}

/// Where a value comes from, without the confidence and the range that have columns of their own.
fn origin(words: &str, range: Option<&[String; 2]>) -> String {
    let words = words.split_once(": ").map_or(words, |(_, source)| source);
    let told = range.map(|[l, h]| format!(", {l} to {h}"));
    told.and_then(|told| words.strip_suffix(told.as_str())).unwrap_or(words).to_owned()
}

fn by(share: f64) -> String {
    if share.is_finite() { percent(share) } else { "without bound".into() }
}
