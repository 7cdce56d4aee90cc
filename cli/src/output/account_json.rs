//! Metal, anodes, heat, conductors and gas in `summary.json`.

use schemars::JsonSchema;
use serde::Serialize;
use solver::verdict::{CONDUCTORS, Conductor};

use super::Context;
use super::account::wagner_words;

/// The tank side of a run for programs.
#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
pub struct AccountJson {
    wagner_words: &'static str,
    parts: Vec<Part>,
    charge_to_min_thickness_Ah: Option<f64>,
    last_part: Option<String>,
    anodes: Vec<Anode>,
    anode_to_cathode_area: Option<f64>,
    heat_into_bath_W: f64,
    bath_volume_L: f64,
    warming_C_h: f64,
    hydrogen_L: Option<f64>,
    hydrogen_L_h: Option<f64>,
    lead_section_mm2: f64,
    hooks: Vec<Hook>,
    cautions: Vec<&'static str>,
}

#[derive(Serialize, JsonSchema)]
struct Part {
    name: String,
    significant_area_m2: f64,
    least_over_mean: Option<f64>,
    greatest_over_least: Option<f64>,
    coefficient_of_variation: Option<f64>,
    metal_g: f64,
    metal_beyond_g: Option<f64>,
    share_too_thin: Option<f64>,
    share_too_thick: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Anode {
    name: String,
    current_A: f64,
    share: f64,
    area_m2: f64,
    mean_A_m2: f64,
    max_A_m2: f64,
    mean_over_limit: Option<f64>,
    dissolved_g: Option<f64>,
}

/// Sections that the hook of a part needs.
#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Hook {
    name: String,
    current_A: f64,
    copper_mm2: f64,
    brass_mm2: f64,
    steel_mm2: f64,
}

/// The tank side of the run.
pub fn account(context: &Context) -> AccountJson {
    let account = context.account();
    let bodies = &context.solution.bodies;
    let [copper, ..] = CONDUCTORS;
    let called = |name: &str| CONDUCTORS.iter().find(|metal| metal.name == name);
    let mm2 = |metal: &Conductor, current: f64| 1e6 * metal.section_m2(current);
    let most = context.solution.supplies.iter().map(|s| s.current_a).fold(0.0, f64::max);
    let hooks = bodies.iter().filter(|body| body.role == solver::Role::Part).map(|body| Hook {
        name: body.name.clone(),
        current_A: body.current_a,
        copper_mm2: mm2(&copper, body.current_a),
        brass_mm2: called("brass").map_or(0.0, |metal| mm2(metal, body.current_a)),
        steel_mm2: called("steel").map_or(0.0, |metal| mm2(metal, body.current_a)),
    });
    AccountJson {
        wagner_words: wagner_words(context.solution.wagner.number),
        parts: account
            .parts
            .iter()
            .map(|part| Part {
                name: bodies[part.body].name.clone(),
                significant_area_m2: part.significant_area_m2,
                least_over_mean: part.evenness.map(|e| e.min_over_mean),
                greatest_over_least: part.evenness.and_then(|e| e.max_over_min),
                coefficient_of_variation: part.evenness.map(|e| e.coefficient_of_variation),
                metal_g: 1e3 * part.metal_kg,
                metal_beyond_g: part.beyond_kg.map(|kg| 1e3 * kg),
                share_too_thin: part.thin_share,
                share_too_thick: part.thick_share,
            })
            .collect(),
        charge_to_min_thickness_Ah: account
            .reach
            .and_then(|r| r.time_s)
            .map(|time| time * context.mean_current_a() / 3600.0),
        last_part: account.reach.map(|r| bodies[r.body].name.clone()),
        anodes: account
            .anodes
            .iter()
            .map(|anode| Anode {
                name: bodies[anode.body].name.clone(),
                current_A: anode.current_a,
                share: anode.share,
                area_m2: anode.area_m2,
                mean_A_m2: anode.mean_a_m2,
                max_A_m2: anode.max_a_m2,
                mean_over_limit: anode.of_limit,
                dissolved_g: anode.dissolved_kg.map(|kg| 1e3 * kg),
            })
            .collect(),
        anode_to_cathode_area: account.area_ratio.map(|found| found.ratio),
        heat_into_bath_W: account.heat.power_w,
        bath_volume_L: 1e3 * account.heat.volume_m3,
        warming_C_h: account.heat.warming_k_h,
        hydrogen_L: account.hydrogen.map(|gas| 1e3 * gas.volume_m3),
        hydrogen_L_h: account.hydrogen.map(|gas| 1e3 * gas.volume_m3_h),
        lead_section_mm2: mm2(&copper, most),
        hooks: hooks.collect(),
        cautions: context.findings.bath.cautions.iter().map(|caution| caution.text).collect(),
    }
}
