//! Thickness of each part against the specification.

use super::Evidence;
use crate::solution::Spread;
use crate::spread::Evenness;

/// How the deposit on one part stands.
#[derive(Debug, Clone, PartialEq)]
pub struct PartThickness {
    /// Index of the part in the layout.
    pub body: usize,
    /// Thickness on its significant surface, m; `None` if it has none.
    pub significant: Option<Spread>,
    /// Thickness on all of its wetted surface, m.
    pub everywhere: Spread,
    /// Significant area, m².
    pub significant_area_m2: f64,
    /// How even the significant surface is.
    pub evenness: Option<Evenness>,
    /// Metal deposited, kg.
    pub metal_kg: f64,
    /// Metal beyond the least thickness asked for, on all of the part, kg; where nothing is asked
    /// for there is no such figure.
    pub beyond_kg: Option<f64>,
    /// Share of the significant area that is thinner than asked for.
    pub thin_share: Option<f64>,
    /// Share of the significant area that is thicker than allowed.
    pub thick_share: Option<f64>,
}

/// The thickness of every part that the run plates.
pub(super) fn parts(evidence: &Evidence<'_>) -> Vec<PartThickness> {
    evidence.parts().filter_map(|body| part(evidence, body)).collect()
}

fn part(evidence: &Evidence<'_>, body: usize) -> Option<PartThickness> {
    let (_, all) = evidence.run?;
    let deposit = all.of_body(body)?;
    let result = &evidence.solution.bodies[body];
    let rows = || deposit.thickness_m.iter().zip(&deposit.uncertainty_m).zip(&result.stretches);
    let chosen: Vec<_> = rows()
        .enumerate()
        .filter(|(k, _)| evidence.is_significant(body, *k))
        .map(|(_, ((t, u), s))| (*t, *u, s))
        .collect();
    let values: Vec<f64> = chosen.iter().map(|row| row.0).collect();
    let doubts: Vec<f64> = chosen.iter().map(|row| row.1).collect();
    let areas: Vec<f64> = chosen.iter().map(|row| row.2.area_m2).collect();
    let places: Vec<_> = chosen.iter().map(|row| row.2.at).collect();
    let significant = Spread::of(&values, &areas, &places, &doubts);
    let area: f64 = areas.iter().sum();
    let share = |outside: &dyn Fn(f64) -> bool| {
        let found: f64 = values
            .iter()
            .zip(&areas)
            .filter(|(t, _)| outside(**t))
            .fold(0.0, |sum, row| sum + row.1);
        if area > 0.0 { found / area } else { 0.0 }
    };
    let least = evidence.specification.min_thickness.map(|t| t.si());
    let most = evidence.specification.max_thickness.map(|t| t.si());
    let weight = if deposit.thickness.mean > 0.0 {
        deposit.mass_kg / (deposit.thickness.mean * result.area_m2)
    } else {
        0.0
    };
    let beyond = |want: f64| -> f64 {
        rows().map(|((t, _), s)| (t - want).max(0.0) * s.area_m2).sum::<f64>() * weight
    };
    Some(PartThickness {
        body,
        significant,
        everywhere: deposit.thickness,
        significant_area_m2: area,
        evenness: Evenness::of(&values, &areas),
        metal_kg: deposit.mass_kg,
        beyond_kg: least.map(beyond),
        thin_share: least.map(|want| share(&|t| t < want)),
        thick_share: most.map(|most| share(&|t| t > most)),
    })
}
