//! From a solved job to the bytes of its result files.

use std::error::Error;

use solver::quantity::Time;
use solver::{Deposit, DepositSettings, Solution};

use crate::bath;
use crate::job::{Origin, Provenance, Resolved};
use crate::output::{
    Confidence, Context, DisplayUnits, RunDeposit, SourcedValue, Value, deposit_png, field_csv,
    map_png, summary_json, surface_csv,
};

/// The result files of a run, in the order in which they are listed.
pub const KINDS: [&str; 5] = ["map.png", "deposit.png", "surface.csv", "field.csv", "summary.json"];

/// Kind and content of result files.
pub type Files = Vec<(&'static str, Vec<u8>)>;

/// Units in which the people who drew this job think.
pub fn display_units(job: &Resolved) -> DisplayUnits {
    if matches!(job.unit.name, "in" | "ft" | "mil") {
        DisplayUnits::Us
    } else {
        DisplayUnits::Metric
    }
}

/// The metal after the run, if the job states metal and time.
pub fn deposit(job: &Resolved, solution: &Solution) -> Option<(Time, Deposit)> {
    let plating = job.plating.as_ref()?;
    let time = plating.time?;
    let (metal, efficiency) = (plating.metal.clone(), plating.efficiency.clone());
    Some((time, DepositSettings { metal, efficiency, time }.apply(solution)))
}

/// The values that entered the solve, for the reports.
pub fn sources(provenance: &[Provenance]) -> Vec<SourcedValue> {
    provenance
        .iter()
        .map(|value| {
            let confidence = match &value.origin {
                Origin::Job { .. } => Confidence::Given,
                Origin::Library { confidence, .. } => match confidence {
                    bath::Confidence::Own => Confidence::Given,
                    bath::Confidence::High => Confidence::High,
                    bath::Confidence::Medium => Confidence::Medium,
                    bath::Confidence::Low => Confidence::Low,
                },
                Origin::Default { .. } => Confidence::Medium,
            };
            SourcedValue {
                name: value.key.clone(),
                value: Value::Text(value.value.clone()),
                unit: String::new(),
                source: value.origin.words(),
                confidence,
            }
        })
        .collect()
}

/// What the writers get to see.
pub fn context<'a>(
    job: &'a Resolved,
    solution: &'a Solution,
    deposit: Option<&'a (Time, Deposit)>,
    sources: &'a [SourcedValue],
    seconds: f64,
) -> Context<'a> {
    Context {
        title: &job.title,
        layout: &job.layout,
        solution,
        deposit: deposit.map(|(time, deposit)| RunDeposit { time: *time, deposit }),
        window: job.window,
        want: job.want,
        units: display_units(job),
        sources,
        accuracy: job.settings.accuracy,
        seconds: Some(seconds),
        significant: None,
    }
}

/// The content of every result file.
///
/// # Errors
/// Only for a fault of this program: all writers work in memory.
pub fn files(context: &Context<'_>) -> Result<Files, Box<dyn Error>> {
    let [map, deposit, surface, field, summary] = KINDS;
    Ok(vec![
        (map, map_png(context)?),
        (deposit, deposit_png(context)?),
        (surface, surface_csv(context)?),
        (field, field_csv(context)?),
        (summary, summary_json(context)?.into_bytes()),
    ])
}
