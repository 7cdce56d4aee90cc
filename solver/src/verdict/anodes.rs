//! What each anode carries and loses.

use super::Evidence;
use crate::layout::Role;

/// Load of one anode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnodeLoad {
    /// Index of the anode in the layout.
    pub body: usize,
    /// Current into the bath, A.
    pub current_a: f64,
    /// Wetted area, m².
    pub area_m2: f64,
    /// Mean current density, A/m².
    pub mean_a_m2: f64,
    /// Greatest current density, A/m².
    pub max_a_m2: f64,
    /// Mean over the greatest that the anode material stands; `None` if that is not known.
    pub of_limit: Option<f64>,
    /// Share of the current of all anodes: of the wear, too.
    pub share: f64,
    /// Metal dissolved in the run, kg; `None` for insoluble anodes or without a run.
    pub dissolved_kg: Option<f64>,
}

/// Anode area over cathode area, wetted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AreaRatio {
    /// Sum of anode areas over sum of part and thief areas.
    pub ratio: f64,
    /// Range in which this bath works well.
    pub range: Option<[f64; 2]>,
}

pub(super) fn loads(evidence: &Evidence<'_>) -> Vec<AnodeLoad> {
    let bodies = &evidence.solution.bodies;
    let anodes = || (0..bodies.len()).filter(|&b| bodies[b].role == Role::Anode);
    let total: f64 = anodes().map(|b| -bodies[b].current_a).sum();
    let load = |b: usize| {
        let (body, current_a) = (&bodies[b], -bodies[b].current_a);
        let mean_a_m2 = if body.area_m2 > 0.0 { current_a / body.area_m2 } else { 0.0 };
        AnodeLoad {
            body: b,
            current_a,
            area_m2: body.area_m2,
            mean_a_m2,
            // into the metal counts positive: the greatest outward density is the least
            max_a_m2: -body.density.min,
            of_limit: evidence.limits.anode_max.map(|limit| mean_a_m2 / limit.si()),
            share: if total > 0.0 { current_a / total } else { 0.0 },
            dissolved_kg: evidence
                .run
                .zip(evidence.limits.anode_kg_c)
                .map(|((time, _), kg_c)| current_a.max(0.0) * time.si() * kg_c),
        }
    };
    anodes().map(load).collect()
}

pub(super) fn ratio(evidence: &Evidence<'_>) -> Option<AreaRatio> {
    let area = |wanted: &dyn Fn(Role) -> bool| -> f64 {
        evidence.solution.bodies.iter().filter(|b| wanted(b.role)).map(|b| b.area_m2).sum()
    };
    let cathodes = area(&|r| matches!(r, Role::Part | Role::Thief { .. }));
    let anodes = area(&|r| r == Role::Anode);
    (cathodes > 0.0)
        .then(|| AreaRatio { ratio: anodes / cathodes, range: evidence.limits.area_ratio })
}
