//! `summary.json`: every number of the verdict, for programs.
//!
//! Units stand in the keys. An `uncertainty` object holds the numerical uncertainty of the mean,
//! least and greatest value in the same unit. Values that are not known are `null`. The object is
//! versioned by `version`; keys are only ever added within a version.

use schemars::JsonSchema;
use serde::Serialize;
use shapes::Point;
use solver::{BodyResult, Spread, SupplyResult, SupplyState, Symmetry};

use super::account_json::{AccountJson, account};
use super::findings_json::{FindingsJson, findings};
use super::verdict::{Judgement, judge};
use super::{Context, SourcedValue};

/// Everything that a run says, for programs. Units stand in the keys; what is not known is `null`.
/// `version` is 1; within a version keys are added, never renamed or taken away.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "RunSummary")]
struct Summary<'a> {
    version: u32,
    title: &'a str,
    bodies: Vec<Body<'a>>,
    supplies: Vec<Supply<'a>>,
    current_balance: Option<f64>,
    wagner_number: Option<f64>,
    wagner_length_mm: f64,
    run: Option<Run>,
    want: Want,
    window: Window,
    verdict: Judgement,
    solve: Solve,
    settings: Settings,
    values: &'a [SourcedValue],
    findings: FindingsJson,
    account: AccountJson,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Body<'a> {
    name: &'a str,
    role: &'static str,
    /// Position, counted from 1, of the currents, potentials, densities and area of this body,
    /// while thickness and metal are those of all positions; absent for a part that rests.
    #[serde(skip_serializing_if = "Option::is_none")]
    currents_of_position: Option<usize>,
    current_A: f64,
    current_uncertainty_A: f64,
    area_m2: f64,
    metal_potential_V: Option<f64>,
    contact_V: f64,
    current_density_A_m2: Option<Range>,
    thickness_um: Option<Range>,
    significant_area_m2: Option<f64>,
    significant_current_density_A_m2: Option<Range>,
    significant_thickness_um: Option<Range>,
    metal_g: Option<f64>,
    metal_uncertainty_g: Option<f64>,
    current_efficiency: Option<f64>,
    thickness_min_over_mean: Option<f64>,
    thickness_max_over_min: Option<f64>,
    thickness_coefficient_of_variation: Option<f64>,
}

/// Mean and extremes with places.
#[derive(Serialize, JsonSchema)]
pub(super) struct Range {
    mean: Option<f64>,
    min: Option<f64>,
    max: Option<f64>,
    min_at_mm: [f64; 2],
    max_at_mm: [f64; 2],
    uncertainty: Uncertainty,
}

#[derive(Serialize, JsonSchema)]
struct Uncertainty {
    mean: Option<f64>,
    min: Option<f64>,
    max: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Supply<'a> {
    name: &'a str,
    current_A: f64,
    current_uncertainty_A: f64,
    voltage_V: f64,
    voltage_uncertainty_V: f64,
    bath_voltage_V: f64,
    bath_voltage_uncertainty_V: f64,
    solution_V: f64,
    cathode_V: f64,
    anode_V: f64,
    leads_V: f64,
    contacts_V: f64,
    power_W: f64,
    power_uncertainty_W: f64,
    current_over_rating: Option<f64>,
    voltage_over_rating: Option<f64>,
    current_reversed: bool,
    voltage_reversed: bool,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Run {
    time_s: f64,
    charge_Ah: f64,
}

#[derive(Serialize, JsonSchema)]
struct Want {
    min_thickness_um: Option<f64>,
    max_thickness_um: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Window {
    min_A_m2: Option<f64>,
    max_A_m2: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Solve {
    unknowns: usize,
    cells: usize,
    iterations: usize,
    grids: usize,
    grid_levels: usize,
    finest_cell_mm: f64,
    estimated_error: Option<f64>,
    worst_error: Option<f64>,
    accuracy_met: bool,
    seconds: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
#[expect(non_snake_case, reason = "units keep their letters in the keys of the file")]
struct Settings {
    accuracy: f64,
    /// "planar" or "axial".
    symmetry: &'static str,
    /// None for an axial section, which goes all around.
    depth_mm: Option<f64>,
    conductivity_S_m: f64,
    temperature_C: f64,
}

/// The summary as indented JSON with a final line break.
///
/// # Errors
/// None in practice: the object holds no map with odd keys.
pub fn summary_json(context: &Context) -> Result<String, serde_json::Error> {
    let Context { layout, solution, .. } = *context;
    let bodies = solution.bodies.iter().enumerate().map(|(i, b)| body(context, i, b)).collect();
    let stats = &solution.stats;
    let summary = Summary {
        version: 1,
        title: context.title,
        bodies,
        supplies: solution.supplies.iter().map(supply).collect(),
        current_balance: known(solution.current_balance),
        wagner_number: known(solution.wagner.number),
        wagner_length_mm: solution.wagner.length_m * 1e3,
        run: context.deposit.map(|d| Run {
            time_s: d.time.si(),
            charge_Ah: context.mean_current_a() * d.time.si() / 3600.0,
        }),
        want: Want {
            min_thickness_um: context.want.min_thickness.map(|l| l.to_um()),
            max_thickness_um: context.want.max_thickness.map(|l| l.to_um()),
        },
        window: Window {
            min_A_m2: context.window.min.map(|i| i.si()),
            max_A_m2: context.window.max.map(|i| i.si()),
        },
        verdict: judge(context),
        solve: Solve {
            unknowns: stats.unknowns,
            cells: stats.cells,
            iterations: stats.newton_steps,
            grids: stats.grids,
            grid_levels: stats.levels,
            finest_cell_mm: stats.finest_cell_m * 1e3,
            estimated_error: known(stats.estimated_error),
            worst_error: known(stats.worst_error),
            accuracy_met: stats.accuracy_met,
            seconds: context.seconds,
        },
        settings: Settings {
            accuracy: context.accuracy,
            symmetry: match layout.symmetry {
                Symmetry::Planar => "planar",
                Symmetry::Axial => "axial",
            },
            depth_mm: (layout.symmetry == Symmetry::Planar).then(|| layout.depth.to_mm()),
            conductivity_S_m: layout.conductivity.si(),
            temperature_C: layout.temperature.to_celsius(),
        },
        values: context.sources,
        findings: findings(context),
        account: account(context),
    };
    let mut text = serde_json::to_string_pretty(&summary)?;
    text.push('\n');
    Ok(text)
}

fn body<'a>(context: &Context<'a>, index: usize, body: &'a BodyResult) -> Body<'a> {
    let wetted = !body.stretches.is_empty();
    let deposit = context.deposit_on(index);
    let significant = context.significant_on(index);
    let evenness = deposit.and_then(|d| d.evenness);
    Body {
        name: &body.name,
        role: body.role.word(),
        currents_of_position: (context.findings.positions.len() > 1).then_some(1),
        current_A: body.current_a,
        current_uncertainty_A: body.current_uncertainty_a,
        area_m2: body.area_m2,
        metal_potential_V: body.metal_potential_v,
        contact_V: body.contact_v,
        current_density_A_m2: wetted.then(|| range(&body.density, 1.0)),
        thickness_um: deposit.map(|d| range(&d.thickness, 1e6)),
        significant_area_m2: significant.map(|on| {
            body.stretches.iter().zip(on).filter(|(_, on)| **on).map(|(s, _)| s.area_m2).sum()
        }),
        significant_current_density_A_m2: significant
            .and_then(|on| context.significant_density(body, on))
            .map(|s| range(&s, 1.0)),
        significant_thickness_um: significant
            .and(deposit)
            .and_then(|_| context.judged(index))
            .map(|judged| range(&judged.spread, 1e6)),
        metal_g: deposit.map(|d| d.mass_kg * 1e3),
        metal_uncertainty_g: deposit.map(|d| d.mass_uncertainty_kg * 1e3),
        current_efficiency: deposit.and_then(|d| d.efficiency),
        thickness_min_over_mean: evenness.map(|e| e.min_over_mean),
        thickness_max_over_min: evenness.and_then(|e| e.max_over_min),
        thickness_coefficient_of_variation: evenness.map(|e| e.coefficient_of_variation),
    }
}

fn supply(s: &SupplyResult) -> Supply<'_> {
    Supply {
        name: &s.name,
        current_A: s.current_a,
        current_uncertainty_A: s.current_uncertainty_a,
        voltage_V: s.voltage_v,
        voltage_uncertainty_V: s.voltage_uncertainty_v,
        bath_voltage_V: s.bath_voltage_v,
        bath_voltage_uncertainty_V: s.bath_voltage_uncertainty_v,
        solution_V: s.solution_v,
        cathode_V: s.cathode_v,
        anode_V: s.anode_v,
        leads_V: s.leads_v,
        contacts_V: s.contacts_v,
        power_W: s.power_w,
        power_uncertainty_W: s.power_uncertainty_w,
        current_over_rating: s.current_use,
        voltage_over_rating: s.voltage_use,
        current_reversed: s.state == SupplyState::CurrentReversed,
        voltage_reversed: s.state == SupplyState::VoltageReversed,
    }
}

pub(super) fn range(spread: &Spread, factor: f64) -> Range {
    Range {
        mean: known(spread.mean * factor),
        min: known(spread.min * factor),
        max: known(spread.max * factor),
        min_at_mm: place_mm(spread.min_at),
        max_at_mm: place_mm(spread.max_at),
        uncertainty: Uncertainty {
            mean: known(spread.mean_uncertainty * factor),
            min: known(spread.min_uncertainty * factor),
            max: known(spread.max_uncertainty * factor),
        },
    }
}

fn place_mm(p: Point) -> [f64; 2] {
    [p.x * 1e3, p.y * 1e3]
}

fn known(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// The JSON Schema of `summary.json`: of a run in one bath, or of a sequence of layers.
pub fn summary_schema() -> schemars::Schema {
    let settings = schemars::generate::SchemaSettings::draft07().for_serialize();
    settings.into_generator().into_root_schema_for::<Either<'static>>()
}

/// Summary of throwmap: of a run in one bath, or of a sequence of layers (which has a `kind`).
#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
#[expect(dead_code, reason = "only its schema is used")]
enum Either<'a> {
    Run(Box<Summary<'a>>),
    Sequence(Box<super::stack::Summary<'a>>),
}
