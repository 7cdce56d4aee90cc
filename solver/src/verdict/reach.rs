//! When the thinnest significant spot has what is asked for.

use super::{Evidence, thickness};

/// The run that just reaches the least thickness on every significant surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// The part that is last.
    pub body: usize,
    /// How long it takes at the same currents, s; `None` where a significant spot gets no metal.
    pub time_s: Option<f64>,
    /// Charge through all supplies in that time, C.
    pub charge_c: Option<f64>,
    /// Thickness of the thickest significant spot of all parts by then, m.
    pub thickest_m: Option<f64>,
}

pub(super) fn reach(evidence: &Evidence<'_>) -> Option<Reach> {
    let want = evidence.specification.min_thickness?.si();
    let (time, _) = evidence.run?;
    let parts = thickness::parts(evidence);
    let spreads = || parts.iter().filter_map(|p| Some((p.body, p.significant?)));
    let (body, last) = spreads().min_by(|a, b| a.1.min.total_cmp(&b.1.min))?;
    let most = spreads().map(|(_, s)| s.max).fold(0.0, f64::max);
    let factor = (last.min > 0.0).then(|| want / last.min);
    let current: f64 = evidence.solution.supplies.iter().map(|s| s.current_a).sum();
    Some(Reach {
        body,
        time_s: factor.map(|f| f * time.si()),
        charge_c: factor.map(|f| f * time.si() * current),
        thickest_m: factor.map(|f| f * most),
    })
}
