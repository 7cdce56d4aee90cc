//! Hydrogen from the cathodes: what the current does that deposits no metal.

use super::Evidence;
use crate::faraday::FARADAY_C_MOL;
use crate::layout::Role;

/// Volume of a mole of an ideal gas at 0 °C and 101 325 Pa, m³ (CODATA 2018).
const MOLAR_VOLUME_M3: f64 = 22.413_969_54e-3;

/// Hydrogen given off in a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hydrogen {
    /// Charge that made it, C.
    pub charge_c: f64,
    /// Its volume at 0 °C and 101 325 Pa, m³: two electrons for each molecule.
    pub volume_m3: f64,
    /// The same for each hour of plating, m³/h.
    pub volume_m3_h: f64,
}

pub(super) fn hydrogen(evidence: &Evidence<'_>) -> Option<Hydrogen> {
    let (time, deposit) = evidence.run?;
    let mut lost_a = 0.0;
    for (b, body) in evidence.solution.bodies.iter().enumerate() {
        if matches!(body.role, Role::Part | Role::Thief { .. }) {
            let efficiency = deposit.of_body(b).and_then(|d| d.efficiency).unwrap_or(1.0);
            lost_a += body.current_a.max(0.0) * (1.0 - efficiency);
        }
    }
    let current = lost_a * evidence.limits.hydrogen_share;
    let m3_s = current / (2.0 * FARADAY_C_MOL) * MOLAR_VOLUME_M3;
    Some(Hydrogen {
        charge_c: current * time.si(),
        volume_m3: m3_s * time.si(),
        volume_m3_h: m3_s * 3600.0,
    })
}
