//! When the thinnest significant spot has what is asked for.

use super::{Evidence, thickness};

/// The run that just reaches the least thickness on every significant surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// The part that is last.
    pub body: usize,
    /// How long it takes at the same currents, s; `None` where a significant spot gets no metal.
    pub time_s: Option<f64>,
    /// Thickness of the thickest significant spot of all parts by then, m.
    pub thickest_m: Option<f64>,
}

impl Reach {
    /// `None` without a run, a least thickness asked for, or a significant surface.
    pub fn of(evidence: &Evidence<'_>) -> Option<Self> {
        let want = evidence.specification.min_thickness?.si();
        let (time, _) = evidence.run?;
        let parts = thickness::parts(evidence);
        let spreads = || parts.iter().filter_map(|p| Some((p.body, p.significant?)));
        let (body, last) = spreads().min_by(|a, b| a.1.min.total_cmp(&b.1.min))?;
        let most = spreads().map(|(_, s)| s.max).fold(0.0, f64::max);
        let factor = (last.min > 0.0).then(|| want / last.min);
        let time_s = factor.map(|f| f * time.si());
        Some(Self { body, time_s, thickest_m: factor.map(|f| f * most) })
    }
}
