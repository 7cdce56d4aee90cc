//! The findings in `summary.json`.

use schemars::JsonSchema;
use serde::Serialize;
use solver::feature::THIN;
use solver::{FeatureKind, Figures};

use super::Context;
use super::findings::SpotPlaces;
use crate::job::AnodeKind;

/// Findings for programs.
#[derive(Serialize, JsonSchema)]
pub struct FindingsJson {
    bath: Bath,
    positions: Vec<Position>,
    spots: Vec<SpotPlaces>,
    smallest_feature: Option<Feature>,
    leaning: Option<LeaningJson>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Bath {
    name: Option<String>,
    title: Option<String>,
    default_density_A_m2: Option<f64>,
    threshold_A_m2: Option<f64>,
    temperature_window_C: Option<[f64; 2]>,
    anode_material: Option<String>,
    anode_kind: Option<AnodeKind>,
    anode_limit_A_m2: Option<f64>,
    anode_to_cathode_area: Option<[f64; 2]>,
    hydrogen_share: Option<f64>,
    tank_voltage_V: Option<[f64; 2]>,
    cautions: Vec<&'static str>,
}

#[derive(Serialize, JsonSchema)]
struct Position {
    turn_degrees: f64,
    shift_mm: [f64; 2],
    share: f64,
    supplies: Vec<PositionSupply>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct PositionSupply {
    name: String,
    current_A: f64,
    voltage_V: f64,
    power_W: f64,
}

#[derive(Serialize, JsonSchema)]
struct Feature {
    body: String,
    kind: &'static str,
    size_mm: f64,
    at_mm: [f64; 2],
    deposit_share: f64,
    deposit_is_thin: bool,
}

#[derive(Serialize, JsonSchema)]
struct LeaningJson {
    base: Ends,
    values: Vec<Leaning>,
}

#[derive(Serialize, JsonSchema)]
struct Leaning {
    name: String,
    voltage_only: bool,
    largest_relative_move: f64,
    low: Option<Ends>,
    high: Option<Ends>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Ends {
    voltage_V: f64,
    current_A: f64,
    min_thickness_um: Option<f64>,
    seconds_to_min_thickness: Option<f64>,
}

fn ends(f: &Figures) -> Ends {
    Ends {
        voltage_V: f.voltage_v,
        current_A: f.current_a,
        min_thickness_um: f.least_m.map(|m| m * 1e6),
        seconds_to_min_thickness: f.seconds_to_want,
    }
}

/// The findings of a run.
pub fn findings(context: &Context) -> FindingsJson {
    let found = context.findings;
    let bath = &found.bath;
    let positions = found.positions.iter().map(|p| Position {
        turn_degrees: p.place.turn_deg,
        shift_mm: [p.place.shift.x * 1e3, p.place.shift.y * 1e3],
        share: p.place.share,
        supplies: p
            .supplies
            .iter()
            .map(|supply| PositionSupply {
                name: supply.name.clone(),
                current_A: supply.current_a,
                voltage_V: supply.voltage_v,
                power_W: supply.power_w,
            })
            .collect(),
    });
    let feature = context.thickest().map(|thick| Feature {
        body: context.layout.bodies.get(thick.body).map_or(String::new(), |b| b.name.clone()),
        kind: match thick.feature.kind {
            FeatureKind::Radius => "radius",
            FeatureKind::Wall => "wall",
            FeatureKind::Recess => "recess",
            FeatureKind::Gap(_) => "gap",
        },
        size_mm: thick.feature.size_m * 1e3,
        at_mm: [thick.feature.at.x * 1e3, thick.feature.at.y * 1e3],
        deposit_share: thick.share,
        deposit_is_thin: thick.share <= THIN,
    });
    let leaning = found.leaning.as_ref().map(|l| LeaningJson {
        base: ends(&l.base),
        values: l
            .leanings
            .iter()
            .map(|leaning| Leaning {
                name: leaning.name.clone(),
                voltage_only: leaning.voltage_only,
                largest_relative_move: leaning.moves(&l.base),
                low: leaning.low.as_ref().map(ends),
                high: leaning.high.as_ref().map(ends),
            })
            .collect(),
    });
    FindingsJson {
        bath: Bath {
            name: bath.name.clone(),
            title: bath.title.clone(),
            default_density_A_m2: bath.default_density.map(|i| i.si()),
            threshold_A_m2: bath.threshold.map(|i| i.si()),
            temperature_window_C: bath
                .temperature_window
                .map(|(low, high)| [low.to_celsius(), high.to_celsius()]),
            anode_material: bath.anode_material.clone(),
            anode_kind: bath.anode_kind,
            anode_limit_A_m2: bath.anode_limit.map(|i| i.si()),
            anode_to_cathode_area: bath.area_ratio.map(|(low, high)| [low, high]),
            hydrogen_share: bath.hydrogen_share,
            tank_voltage_V: bath.tank_voltage.map(|(low, high)| [low.si(), high.si()]),
            cautions: bath.cautions.iter().map(|c| c.key).collect(),
        },
        positions: positions.collect(),
        spots: context.spot_places(),
        smallest_feature: feature,
        leaning,
    }
}
