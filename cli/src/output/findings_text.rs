//! The findings as lines of the verdict.

use solver::feature::THIN;
use solver::{Figures, Leaning, SupplyResult};

use super::Context;
use super::findings::{Spot, SpotPlaces};
use super::format::{duration, percent, three};
use crate::leaning::HARDLY;

/// What the positions are, and how their supplies differ.
pub fn positions(context: &Context) -> Option<String> {
    let positions = &context.findings.positions;
    if positions.is_empty() {
        return None;
    }
    let range = |value: &dyn Fn(usize) -> f64, unit: &str| {
        let values = || (0..positions.len()).map(value);
        let (low, high) =
            (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
        if three(low) == three(high) {
            format!("{} {unit}", three(low))
        } else {
            format!("{} to {} {unit}", three(low), three(high))
        }
    };
    let count = positions[0].supplies.len();
    let supplies = (0..count).map(|n| {
        let name = match count {
            1 => "The supply".to_owned(),
            _ => positions[0].supplies[n].name.clone(),
        };
        let of = |k: usize, value: &dyn Fn(&SupplyResult) -> f64| {
            positions[k].supplies.get(n).map_or(0.0, value)
        };
        format!(
            " {name} gives {} at {}.",
            range(&|k| of(k, &|s| s.current_a), "A"),
            range(&|k| of(k, &|s| s.voltage_v), "V"),
        )
    });
    Some(format!(
        "{} positions in turn: thickness is their average, map and current density are the first.{}",
        positions.len(),
        supplies.collect::<String>(),
    ))
}

/// Bare and burning places, the worst of each kind.
pub fn spots(context: &Context) -> Vec<String> {
    let all = context.spot_places();
    let mut lines = Vec::new();
    for spot in [Spot::Bare, Spot::Burning] {
        let worst =
            all.iter().filter(|p| p.spot == spot).max_by(|a, b| a.share.total_cmp(&b.share));
        if let Some(places) = worst {
            lines.push(spot_line(context, places));
        }
    }
    lines
}

fn spot_line(context: &Context, places: &SpotPlaces) -> String {
    let at = shapes::Point::new(places.worst_at_mm[0] * 1e-3, places.worst_at_mm[1] * 1e-3);
    let guessed = context.assumed().contains(&"bath.threshold");
    let what = match places.spot {
        Spot::Burning => "Burning",
        _ if guessed => "Bare, below the bath's assumed covering threshold",
        _ => "Bare, below the bath's covering threshold",
    };
    format!(
        "{what}: {} of the surface of {}, worst at {} with {}.",
        percent(places.share),
        places.body,
        context.units.place_text(at),
        context.units.density_text(places.worst_a_m2),
    )
}

/// A warning if the deposit is not thin.
pub fn thick(context: &Context) -> Option<String> {
    let thick = context.thickest().filter(|thick| thick.share > THIN)?;
    let body = context.layout.bodies.get(thick.body)?;
    Some(format!(
        "The deposit on {} grows to {} of {}: it is no longer thin, and the outline that it makes is not followed.",
        body.name,
        percent(thick.share),
        context.feature_words(&thick.feature),
    ))
}

/// One line for every assumed value that moves the result, the strongest first.
pub fn leaning(context: &Context) -> Vec<String> {
    let Some(found) = &context.findings.leaning else { return Vec::new() };
    let (strong, weak): (Vec<&Leaning>, Vec<&Leaning>) =
        found.leanings.iter().partition(|l| lost(l).is_some() || l.moves(&found.base) >= HARDLY);
    let mut lines: Vec<String> =
        strong.into_iter().map(|l| leaning_line(context, l, &found.base)).collect();
    let weak: Vec<&str> = weak.iter().map(|l| l.name.as_str()).collect();
    if !weak.is_empty() {
        let limit = percent(HARDLY);
        lines.push(format!("Assumed, but moves nothing by {limit}: {}.", weak.join(", ")));
    }
    lines
}

/// Where the job has no answer within the value's range.
fn lost(leaning: &Leaning) -> Option<&'static str> {
    match (&leaning.low, &leaning.high) {
        (Some(_), Some(_)) => None,
        (None, Some(_)) => Some("the job has no answer at the lower end"),
        (Some(_), None) => Some("the job has no answer at the upper end"),
        (None, None) => Some("the job has no answer at either end"),
    }
}

fn leaning_line(context: &Context, leaning: &Leaning, base: &Figures) -> String {
    let value = context.sources.iter().find(|s| s.name == leaning.name);
    let written = match value.map(|s| &s.value) {
        Some(super::Value::Text(text)) if text.len() <= 40 => format!(" {text}"),
        Some(super::Value::Number(number)) => format!(" {}", three(*number)),
        _ => String::new(),
    };
    let range = value.and_then(|s| s.range.as_ref()).filter(|r| r[0].len() <= 20);
    let range = range.map_or(String::new(), |[l, h]| format!(" ({l} to {h})"));
    let mut moves = Vec::new();
    let ends = |of: &dyn Fn(&Figures) -> Option<f64>| -> Option<(f64, f64, f64)> {
        let end = |f: &Option<Figures>| f.as_ref().and_then(of);
        Some((end(&leaning.low)?, end(&leaning.high)?, of(base)?))
    };
    let moved = |low: f64, high: f64, base: f64| {
        base != 0.0 && (low / base - 1.0).abs().max((high / base - 1.0).abs()) >= HARDLY
    };
    if let Some((low, high, base)) = ends(&|f| f.least_m)
        && moved(low, high, base)
    {
        moves.push(format!("thinnest {} to {}", signed(low / base), signed(high / base)));
    }
    // a bare place has no share of itself
    if let Some((low, high, 0.0)) = ends(&|f| f.least_m)
        && low.max(high) > 0.0
    {
        let text = |metres| context.units.thickness_text(metres);
        moves.push(format!("thinnest {} to {} (bare at the value taken)", text(low), text(high)));
    }
    if let Some((low, high, base)) = ends(&|f| f.seconds_to_want)
        && moved(low, high, base)
    {
        let (from, to) = (duration(low), duration(high));
        moves.push(if from == to {
            format!("time to the thickness {} to {}", signed(low / base), signed(high / base))
        } else {
            format!("time to the thickness {from} to {to}")
        });
    }
    if let Some((low, high, base)) = ends(&|f| Some(f.voltage_v))
        && moved(low, high, base)
    {
        moves.push(format!("{} to {} V", three(low), three(high)));
    }
    let only = if leaning.voltage_only { ", the voltage only" } else { "" };
    let moves = match lost(leaning) {
        Some(words) => words.to_owned(),
        None => moves.join(", "),
    };
    format!("Assumed: {}{written}{range}: {moves}{only}.", leaning.name)
}

/// A ratio as a signed percentage.
fn signed(ratio: f64) -> String {
    format!("{:+.1} %", 100.0 * (ratio - 1.0))
}
