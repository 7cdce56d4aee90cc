//! `summary.json` of a sequence: layers, total, and how everything wanted stands.
//!
//! Each layer has a summary of its own beside this one, named in `files_begin_with`.

use schemars::JsonSchema;
use serde::Serialize;

use super::{StackContext, judge_stack};
use crate::job::Limit;
use crate::output::summary::{Range, range};

/// The layers of a sequence and all of them together. Each layer has a summary of its own, named in
/// `files_begin_with`.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "SequenceSummary")]
pub struct Summary<'a> {
    version: u32,
    kind: &'static str,
    title: &'a str,
    layers: Vec<Layer<'a>>,
    total: Total<'a>,
    wanted: Vec<Wanted<'a>>,
    meets_specification: bool,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Layer<'a> {
    name: &'a str,
    files_begin_with: &'a str,
    metal: &'a str,
    time_s: f64,
    current_A: f64,
    voltage_V: f64,
    charge_Ah: f64,
    energy_Wh: f64,
    parts: Vec<Part<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Total<'a> {
    time_s: f64,
    charge_Ah: f64,
    energy_Wh: f64,
    parts: Vec<Part<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct Part<'a> {
    name: &'a str,
    thickness_um: Range,
    significant_thickness_um: Option<Range>,
    metal_g: f64,
}

#[derive(Serialize, JsonSchema)]
struct Wanted<'a> {
    what: &'a str,
    from: &'a str,
    layers: Vec<&'a str>,
    least_um: Option<f64>,
    most_um: Option<f64>,
    least_share_of_lowest: Option<f64>,
    met: bool,
    time_factor: Option<f64>,
    parts: Vec<Found<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct Found<'a> {
    name: &'a str,
    thickness_um: Option<f64>,
    share: Option<f64>,
    uncertainty: f64,
    at_mm: [f64; 2],
    met: bool,
}

/// The summary as indented JSON with a final line break.
///
/// # Errors
/// None in practice: the object holds no map with odd keys.
pub fn stack_json(context: &StackContext) -> Result<String, serde_json::Error> {
    let sum = |value: fn(&super::LayerRun) -> f64| context.layers.iter().map(value).sum::<f64>();
    let on_parts = |layer: Option<usize>| -> Vec<Part> {
        let part = |part: &super::PartStack<'_>| -> Option<(Range, Option<Range>)> {
            let profile = match layer {
                Some(k) => part.stack.layers.get(k)?,
                None => &part.stack.total,
            };
            let significant = part.stack.on_significant(profile);
            Some((range(&profile.thickness, 1e6), significant.map(|s| range(&s, 1e6))))
        };
        let mass = |name: &str| {
            let of = |k: &usize| context.layers.get(*k).map_or(0.0, |l| l.mass_kg(name));
            let all: Vec<usize> = match layer {
                Some(k) => vec![k],
                None => (0..context.layers.len()).collect(),
            };
            all.iter().map(of).sum::<f64>() * 1e3
        };
        let rows = context.parts.iter().filter_map(|p| part(p).map(|ranges| (p.name, ranges)));
        rows.map(|(name, (thickness_um, significant_thickness_um))| Part {
            name,
            thickness_um,
            significant_thickness_um,
            metal_g: mass(name),
        })
        .collect()
    };
    let standings = judge_stack(context);
    let wanted: Vec<Wanted> = standings
        .iter()
        .map(|standing| {
            let demand = standing.demand;
            let is_share = matches!(demand.limit, Limit::LowestShare(_));
            let factor = if is_share { 1.0 } else { 1e6 };
            let parts = context.parts.iter().zip(&standing.parts).map(|(part, found)| Found {
                name: part.name,
                thickness_um: (!is_share).then_some(found.value * 1e6),
                share: is_share.then_some(found.value),
                uncertainty: found.uncertainty * factor,
                at_mm: [found.at.x * 1e3, found.at.y * 1e3],
                met: found.met,
            });
            let names = demand.layers.iter().filter_map(|k| context.layers.get(*k));
            Wanted {
                what: &demand.what,
                from: &demand.from,
                layers: names.map(|layer| layer.name).collect(),
                least_um: match demand.limit {
                    Limit::Least(length) => Some(length.to_um()),
                    Limit::Most(_) | Limit::LowestShare(_) => None,
                },
                most_um: match demand.limit {
                    Limit::Most(length) => Some(length.to_um()),
                    Limit::Least(_) | Limit::LowestShare(_) => None,
                },
                least_share_of_lowest: match demand.limit {
                    Limit::LowestShare(share) => Some(share),
                    Limit::Least(_) | Limit::Most(_) => None,
                },
                met: standing.met(),
                time_factor: standing.time_factor(),
                parts: parts.collect(),
            }
        })
        .collect();
    let layers = context.layers.iter().enumerate().map(|(k, layer)| Layer {
        name: layer.name,
        files_begin_with: layer.file_name,
        metal: layer.symbol,
        time_s: layer.seconds(),
        current_A: layer.current_a(),
        voltage_V: layer.voltage_v(),
        charge_Ah: layer.ampere_hours(),
        energy_Wh: layer.watt_hours(),
        parts: on_parts(Some(k)),
    });
    let summary = Summary {
        version: 1,
        kind: "sequence",
        title: context.title,
        layers: layers.collect(),
        total: Total {
            time_s: sum(|layer| layer.seconds()),
            charge_Ah: sum(|layer| layer.ampere_hours()),
            energy_Wh: sum(|layer| layer.watt_hours()),
            parts: on_parts(None),
        },
        meets_specification: standings.iter().all(|standing| standing.met()),
        wanted,
    };
    let mut text = serde_json::to_string_pretty(&summary)?;
    text.push('\n');
    Ok(text)
}
