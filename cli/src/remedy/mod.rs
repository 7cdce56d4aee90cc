//! Remedies and tolerances of a job: from the job to the solver's terms, and from what it finds
//! back to job files, words, tables and pictures.

mod details;
mod place;
mod tables;
#[cfg(test)]
mod tests;
pub mod tolerances;
mod words;
mod write;

pub use details::Written;
pub use tables::{remedies_csv, remedies_json};
pub use words::{called, report};
pub use write::job_text;

use solver::remedy::Subject;

use crate::diagnostic::{Diagnostic, Source};
use crate::document::with_bath;
use crate::job::{Resolved, resolve};

/// What is to be helped, with other baths that are at hand.
///
/// # Errors
/// The faults of the job with one of the baths.
pub fn subject(
    source: &Source,
    job: &Resolved,
    baths: &[String],
) -> Result<Subject, Vec<Diagnostic>> {
    let mut others = Vec::new();
    for name in baths {
        let other = resolve(&with_bath(source, name)).map_err(|faults| {
            // the file does not name this bath, so its places would mislead
            let unplaced = |fault: Diagnostic| Diagnostic {
                message: format!("--baths {name}: {}", fault.message),
                place: None,
                related: Vec::new(),
                ..fault
            };
            faults.into_iter().map(unplaced).collect::<Vec<_>>()
        })?;
        others.push((name.clone(), other.case(), other.window.max));
    }
    Ok(Subject {
        case: job.case(),
        most: job.want.max_thickness,
        burns_above: job.window.max,
        anode_max: job.bath.anode_limit,
        groups: groups(job),
        step_m: step_m(job),
        baths: others,
        settings: job.settings,
    })
}

/// Bodies with the same place in the file: copies of one table.
pub fn groups(job: &Resolved) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (body, place) in job.places.bodies.iter().enumerate() {
        match groups.iter_mut().find(|g| job.places.bodies[g[0]] == *place) {
            Some(group) => group.push(body),
            None => groups.push(vec![body]),
        }
    }
    groups
}

/// What can be measured at the tank: 1 mm, or a sixteenth of an inch.
fn step_m(job: &Resolved) -> f64 {
    match job.unit.name {
        "in" | "ft" | "mil" => 0.0254 / 16.0,
        _ => 1e-3,
    }
}
