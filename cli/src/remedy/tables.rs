//! Remedies as tables: one row each, unit in the column's name.

use serde_json::{Value, json};
use solver::remedy::{Outcome, Rank, Remedies, Standing};

use super::details::Written;
use super::words::{called, value};
use crate::output::DisplayUnits;

fn word(rank: Rank) -> &'static str {
    match rank {
        Rank::Enough => "enough",
        Rank::Helps => "helps",
        Rank::NoGain => "no_gain",
    }
}

/// `remedies.csv`: the job as it is first, then every remedy in order of rank.
///
/// # Errors
/// Only for a fault of this program.
pub fn remedies_csv(
    found: &Remedies,
    units: DisplayUnits,
    files: &[Option<Written>],
) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record([
        "rank",
        "remedy",
        "verdict",
        "minutes_to_want",
        "minutes_uncertainty",
        "least_over_mean",
        "thickest_then_um",
        "wasted_g",
        "voltage_v",
        "voltage_uncertainty_v",
        "current_a",
        "current_share",
        "burning_share",
        "new_bodies",
        "new_rectifiers",
        "dimensions",
        "job_file",
    ])?;
    let numbers = |s: &Standing| -> [String; 8] {
        let text = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
        [
            text(s.seconds.map(|t| t / 60.0)),
            text(s.seconds.map(|t| t / 60.0 * s.uncertainty)),
            s.least_over_mean.to_string(),
            text(s.thickest_m.map(|t| t * 1e6)),
            text(s.wasted_kg.map(|kg| kg * 1e3)),
            s.volts.to_string(),
            s.volts_uncertainty.to_string(),
            s.amps.to_string(),
        ]
    };
    let mut row = |start: [&str; 3], s: &Standing, end: [String; 6]| {
        let cells = start.into_iter().map(str::to_owned).chain(numbers(s)).chain(end);
        out.write_record(cells)
    };
    let none = String::new;
    row(
        ["0", "as it is", ""],
        &found.base,
        [
            found.base_factor.to_string(),
            found.base.burning.to_string(),
            "0".into(),
            "0".into(),
            none(),
            none(),
        ],
    )?;
    for (k, r) in found.rows.iter().enumerate() {
        let values: Vec<String> = r.values.iter().map(|(d, v)| value(d, *v, units)).collect();
        row(
            [&(k + 1).to_string(), &called(r), word(r.rank)],
            &r.standing,
            [
                r.factor.to_string(),
                r.standing.burning.to_string(),
                r.parts.to_string(),
                r.supplies.to_string(),
                values.join("; "),
                files.get(k).and_then(Option::as_ref).map_or(String::new(), |f| f.job.clone()),
            ],
        )?;
    }
    out.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

fn standing(s: &Standing) -> Value {
    json!({
        "minutes_to_want": s.seconds.map(|t| t / 60.0),
        "relative_uncertainty": s.uncertainty,
        "least_over_mean": s.least_over_mean,
        "least_at_m": [s.least_at.x, s.least_at.y],
        "greatest_at_m": [s.most_at.x, s.most_at.y],
        "thickest_then_um": s.thickest_m.map(|t| t * 1e6),
        "wasted_g": s.wasted_kg.map(|kg| kg * 1e3),
        "voltage_v": s.volts,
        "voltage_uncertainty_v": s.volts_uncertainty,
        "current_a": s.amps,
        "burning_share": s.burning,
        "bare_share": s.bare,
    })
}

/// `remedies.json`: the same for scripts, with the job as it is at its own current.
pub fn remedies_json(title: &str, found: &Remedies, files: &[Option<Written>]) -> Vec<u8> {
    let rows = found.rows.iter().enumerate().map(|(k, r)| {
        let values: Vec<Value> = r
            .values
            .iter()
            .map(|(d, v)| json!({ "name": d.name, "value_si": v, "low": d.low, "high": d.high }))
            .collect();
        json!({
            "remedy": called(r),
            "verdict": word(r.rank),
            "standing": standing(&r.standing),
            "current_share": r.factor,
            "new_bodies": r.parts,
            "new_rectifiers": r.supplies,
            "dimensions": values,
            "job_file": files.get(k).and_then(Option::as_ref).map(|f| &f.job),
            "pictures": files.get(k).and_then(Option::as_ref).map(|f| &f.pictures),
        })
    });
    let outcome = match found.outcome {
        Outcome::NothingNeeded => "nothing_needed",
        Outcome::Rescued => "rescued",
        Outcome::NotEnough => "not_enough",
        Outcome::NoHelp => "no_help",
    };
    let all = json!({
        "title": title,
        "outcome": outcome,
        "wanted_um": found.goal.least.to_um(),
        "wanted_is_assumed": found.assumed,
        "allowed_um": found.goal.most.map(|m| m.to_um()),
        "as_stated": standing(&found.stated),
        "as_it_is": standing(&found.base),
        "current_share": found.base_factor,
        "remedies": rows.collect::<Vec<_>>(),
    });
    let mut bytes = serde_json::to_vec_pretty(&all).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}
