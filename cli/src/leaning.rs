//! How far a job's result leans on bath values that are only assumed.
//!
//! Every assumed value with a range is set to both ends of it, the job is read anew with that value,
//! and solved again, loosely: see `solver::sensitivity`.

use solver::{Leaning, Sensitivity, SolveSettings, Variation, sensitivity};

use crate::bath::{Confidence, End};
use crate::diagnostic::Source;
use crate::job::{Origin, Resolved, resolve_at};

/// Accuracy of these solves, at best: they are about differences of several percent.
const LOOSE: f64 = 0.02;

/// A move below this share is no more than the loose solves can tell.
pub const HARDLY: f64 = 0.005;

/// Beginnings of the names of values that currents or deposits depend on.
const SOLVED: [&str; 5] =
    ["bath.conductivity", "bath.cathode.", "bath.anode.", "bath.threshold", "bath.efficiency"];

/// Solves the job with every assumed value at both ends of its range; `None` if there is nothing
/// to learn: no such value, or no answer at the looser accuracy.
///
/// `significant` marks stretches of each body, as in [`solver::least_on_parts`].
pub fn leaning(
    source: &Source,
    job: &Resolved,
    significant: Option<&[Vec<bool>]>,
) -> Option<Sensitivity> {
    let variations: Vec<Variation> = assumed(job)
        .filter_map(|key| {
            let end = |end| Some(resolve_at(source, Some((key, end))).ok()?.case());
            Some(Variation { name: key.to_owned(), low: end(End::Low)?, high: end(End::High)? })
        })
        .collect();
    if variations.is_empty() {
        return None;
    }
    let accuracy = job.settings.accuracy.max(LOOSE);
    let settings = SolveSettings { accuracy, ..job.settings };
    let mut found = sensitivity(&job.case(), &variations, &settings, significant).ok()?;
    let base = found.base;
    // what moves the metal most comes first, then what moves the voltage; equal ones keep the order
    // of the bath
    let rank = |l: &Leaning| {
        let metal = l.metal_moves(&base);
        (if metal < HARDLY { 0.0 } else { metal }, l.voltage_moves(&base))
    };
    found.leanings.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    Some(found)
}

/// Names of the values that are assumed and have a range.
fn assumed(job: &Resolved) -> impl Iterator<Item = &str> {
    let is_assumed = |origin: &Origin| {
        matches!(origin, Origin::Library { confidence: Confidence::Low, range: Some(_), .. })
    };
    job.provenance
        .iter()
        .filter(move |value| is_assumed(&value.origin))
        .map(|value| value.key.as_str())
        .filter(|key| SOLVED.iter().any(|start| key.starts_with(start)))
}
