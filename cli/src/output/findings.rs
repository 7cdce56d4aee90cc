//! What a run shows beside currents and thicknesses: bare and burning spots, positions, deposits
//! too thick for their part, and what the result leans on.

use schemars::JsonSchema;
use serde::Serialize;
use shapes::Point;
use solver::quantity::CurrentDensity;
use solver::{BodyResult, Feature, FeatureKind, Placement, Role, Sensitivity, SupplyResult};

use super::Context;
use crate::job::BathFacts;

/// Findings of a run; all empty for one of a part that rests, with a bath that nobody doubts.
#[derive(Debug, Clone, Default)]
pub struct Findings {
    /// Facts of the bath.
    pub bath: BathFacts,
    /// The positions with their supplies; empty for a part that rests.
    pub positions: Vec<PositionResult>,
    /// Greatest current density over all positions on every stretch of every body, A/m²; empty for
    /// a part that rests.
    pub peaks: Vec<Vec<f64>>,
    /// Metal that an ampere-second deposits or takes off at 100 %, kg/C; `None` without a metal.
    pub metal_kg_c: Option<f64>,
    /// Smallest features, by part.
    pub features: Vec<(usize, Feature)>,
    /// How far the result leans on assumed values; `None` if that was not asked.
    pub leaning: Option<Sensitivity>,
}

/// No findings.
#[cfg(test)]
pub static NOTHING: std::sync::LazyLock<Findings> = std::sync::LazyLock::new(Findings::default);

/// One position of a turning or swinging part.
#[derive(Debug, Clone)]
pub struct PositionResult {
    /// Where it stands and for which share of the time.
    pub place: Placement,
    /// The supplies there.
    pub supplies: Vec<SupplyResult>,
}

impl PositionResult {
    /// Current of all supplies together, A.
    pub fn current_a(&self) -> f64 {
        self.supplies.iter().map(|supply| supply.current_a).sum()
    }
}

/// How a place of a cathode is plated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Spot {
    /// Within the bath's window.
    Good,
    /// Below the bath's covering threshold: no metal, whatever the time.
    Bare,
    /// Below the bath's window: thin or dull.
    Low,
    /// Above the bath's window.
    Burning,
}

impl Spot {
    /// The word in `surface.csv`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "",
            Self::Bare => "bare",
            Self::Low => "low",
            Self::Burning => "burning",
        }
    }
}

/// All places of one part that are plated badly in the same way.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SpotPlaces {
    /// The part.
    pub body: String,
    /// In which way.
    pub spot: Spot,
    /// Share of the part's surface.
    pub share: f64,
    /// Length along the outline, mm.
    pub length_mm: f64,
    /// The worst of them, mm.
    pub worst_at_mm: [f64; 2],
    /// Current density there, A/m².
    #[serde(rename = "worst_A_m2")]
    pub worst_a_m2: f64,
}

/// A deposit that is not thin against its part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thick {
    /// Index of the part.
    pub body: usize,
    /// Its smallest feature.
    pub feature: Feature,
    /// Greatest thickness over the feature's size.
    pub share: f64,
}

impl Context<'_> {
    /// Current density that decides how a stretch is plated: with several positions the greatest
    /// of them, since one good position covers and one bad one burns.
    pub(super) fn density_on(&self, body: usize, row: usize, own: f64) -> f64 {
        let peak = self.findings.peaks.get(body).and_then(|rows| rows.get(row));
        peak.copied().unwrap_or(own)
    }

    /// How a stretch of a part or thief is plated; `Good` for other bodies.
    pub(super) fn spot(&self, body: usize, row: usize) -> Spot {
        let Some(result) = self.solution.bodies.get(body) else { return Spot::Good };
        let cathode = matches!(result.role, Role::Part | Role::Thief { .. });
        let Some(stretch) = result.stretches.get(row).filter(|_| cathode) else {
            return Spot::Good;
        };
        let density = self.density_on(body, row, stretch.current_density_a_m2);
        let below = |end: Option<CurrentDensity>| end.is_some_and(|end| density < end.si());
        if below(self.findings.bath.threshold) {
            Spot::Bare
        } else if below(self.window.min) {
            Spot::Low
        } else if self.window.max.is_some_and(|max| density > max.si()) {
            Spot::Burning
        } else {
            Spot::Good
        }
    }

    /// Bad places of all parts, part by part.
    pub(super) fn spot_places(&self) -> Vec<SpotPlaces> {
        let parts = self.solution.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part);
        parts
            .flat_map(|(index, body)| {
                [Spot::Bare, Spot::Low, Spot::Burning]
                    .into_iter()
                    .filter_map(move |spot| self.places_of(index, body, spot))
            })
            .collect()
    }

    fn places_of(&self, index: usize, body: &BodyResult, spot: Spot) -> Option<SpotPlaces> {
        let (mut total, mut area, mut length) = (0.0, 0.0, 0.0);
        let mut worst: Option<(f64, Point)> = None;
        for (row, stretch) in body.stretches.iter().enumerate() {
            total += stretch.area_m2;
            if self.spot(index, row) != spot {
                continue;
            }
            length += stretch.length_m;
            area += stretch.area_m2;
            let density = self.density_on(index, row, stretch.current_density_a_m2);
            let beats = |other: f64| match spot {
                Spot::Burning => density > other,
                _ => density < other,
            };
            if worst.is_none_or(|(other, _)| beats(other)) {
                worst = Some((density, stretch.at));
            }
        }
        worst.map(|(worst_a_m2, at)| SpotPlaces {
            body: body.name.clone(),
            spot,
            share: area / total,
            length_mm: length * 1e3,
            worst_at_mm: [at.x * 1e3, at.y * 1e3],
            worst_a_m2,
        })
    }

    /// The deposit that is thickest against the smallest feature of its part.
    pub(super) fn thickest(&self) -> Option<Thick> {
        let all = self.findings.features.iter().filter_map(|&(body, feature)| {
            let most = self.deposit_on(body)?.thickness.max;
            Some(Thick { body, feature, share: most / feature.size_m })
        });
        all.max_by(|a, b| a.share.total_cmp(&b.share))
    }

    /// Mean current of all supplies over the positions, A.
    pub(super) fn mean_current_a(&self) -> f64 {
        let positions = &self.findings.positions;
        if positions.is_empty() {
            return self.solution.total_current_a();
        }
        positions.iter().map(|p| p.place.share * p.current_a()).sum()
    }

    /// What the smallest feature is, in words.
    pub(super) fn feature_words(&self, feature: &Feature) -> String {
        let size = self.units.size_text(feature.size_m);
        let place = self.units.place_text(feature.at);
        match feature.kind {
            FeatureKind::Radius => format!("a radius of {size} at {place}"),
            FeatureKind::Wall => format!("a wall of {size} at {place}"),
            FeatureKind::Recess => format!("a recess of {size} at {place}"),
            FeatureKind::Gap(other) => {
                let name = self.layout.bodies.get(other).map_or("", |body| body.name.as_str());
                format!("a gap of {size} to {name} at {place}")
            }
        }
    }
}
