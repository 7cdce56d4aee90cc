//! How current density behaves at corners and in deep slots (no polarization).

use std::f64::consts::PI;

/// Exponent p of `i ∝ s^p` at a corner between two electrode faces, `beta` the angle of the
/// electrolyte: `π/β − 1`. Exact (harmonic function in a wedge).
pub fn electrode_corner_exponent(beta: f64) -> f64 {
    PI / beta - 1.0
}

/// Exponent where an electrode meets an insulator at electrolyte angle `beta`: `π/(2β) − 1`.
pub fn junction_exponent(beta: f64) -> f64 {
    PI / (2.0 * beta) - 1.0
}

/// Factor by which potential and wall current fall over depth `y` in a slot of width `w`:
/// `exp(−π y/w)`. Exact well below the mouth.
pub fn slot_decay(y: f64, w: f64) -> f64 {
    (-PI * y / w).exp()
}

/// Decay length of overpotential in a slot plated on both walls with linear polarization,
/// `√(κ b w / 2)`; valid when well above w/2 (one-dimensional fin, common textbook form).
pub fn slot_fin_length(kappa: f64, b: f64, w: f64) -> f64 {
    (kappa * b * w / 2.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn well_known_corners() {
        assert!((electrode_corner_exponent(0.5 * PI) - 1.0).abs() < 1e-15);
        assert_eq!(electrode_corner_exponent(PI), 0.0);
        assert!((electrode_corner_exponent(1.5 * PI) + 1.0 / 3.0).abs() < 1e-15);
        assert!((electrode_corner_exponent(2.0 * PI) + 0.5).abs() < 1e-15);
        assert_eq!(junction_exponent(0.5 * PI), 0.0);
        assert!((junction_exponent(PI) + 0.5).abs() < 1e-15);
    }

    #[test]
    fn one_width_deep_leaves_four_percent() {
        assert!((slot_decay(1.0, 1.0) - 0.043).abs() < 5e-4);
    }
}
