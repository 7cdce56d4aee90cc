//! Cells whose current is uniform across the section: parallel plates, and one anode between two
//! cathodes at unequal distance (Haring-Blum cell, stepped cathode).

/// Density between parallel plates that fill a channel, with linear polarization on both:
/// `i = V / (d/κ + b_c + b_a)`. Exact (Ohm's law in series).
pub fn density(
    voltage_v: f64,
    distance_m: f64,
    conductivity_s_m: f64,
    b_cathode: f64,
    b_anode: f64,
) -> f64 {
    voltage_v / (distance_m / conductivity_s_m + b_cathode + b_anode)
}

/// Near/far ratio of densities M on two flat cathodes at distances d and P·d from one
/// equipotential, `M = (P + Wa) / (1 + Wa)` with `Wa = κ b / d_near`.
///
/// Exact; the same for both ends of a Haring-Blum cell (Haring & Blum 1923, Trans. Am.
/// Electrochem. Soc. 44, 313) and for two levels of a stepped cathode far from the step.
pub fn metal_ratio(distance_ratio: f64, wagner: f64) -> f64 {
    (distance_ratio + wagner) / (1.0 + wagner)
}

/// Throwing power in percent after Haring & Blum: `100 (P − M) / P`.
pub fn throwing_power_haring_blum(p: f64, m: f64) -> f64 {
    100.0 * (p - m) / p
}

/// Throwing power in percent after Field: `100 (P − M) / (P + M − 2)`.
pub fn throwing_power_field(p: f64, m: f64) -> f64 {
    100.0 * (p - m) / (p + m - 2.0)
}

/// Throwing power in percent after Heatley: `100 (P − M) / (P − 1)`.
pub fn throwing_power_heatley(p: f64, m: f64) -> f64 {
    100.0 * (p - m) / (p - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Table for P = 5, computed from the same formulas by an independent program (three digits).
    #[test]
    fn throwing_power_table_for_distance_ratio_five() {
        for (wa, m, hb, field, heatley) in [
            (0.0, 5.0, 0.0, 0.0, 0.0),
            (0.1, 4.636, 7.3, 4.8, 9.1),
            (0.25, 4.2, 16.0, 11.1, 20.0),
            (0.5, 3.667, 26.7, 20.0, 33.3),
            (1.0, 3.0, 40.0, 33.3, 50.0),
            (2.0, 2.333, 53.3, 50.0, 66.7),
            (5.0, 1.667, 66.7, 71.4, 83.3),
            (10.0, 1.364, 72.7, 83.3, 90.9),
        ] {
            let got = metal_ratio(5.0, wa);
            assert!((got - m).abs() < 5e-4, "M at Wa {wa}: {got}");
            assert!((throwing_power_haring_blum(5.0, got) - hb).abs() < 0.051);
            assert!((throwing_power_field(5.0, got) - field).abs() < 0.051);
            assert!((throwing_power_heatley(5.0, got) - heatley).abs() < 0.051);
        }
    }

    /// The ratio follows from the density of each half alone.
    #[test]
    fn ratio_is_the_quotient_of_two_plate_cells() {
        let (kappa, b, near) = (8.0, 2e-3, 0.025);
        let m = density(1.0, near, kappa, b, 0.0) / density(1.0, 5.0 * near, kappa, b, 0.0);
        assert!((m - metal_ratio(5.0, kappa * b / near)).abs() < 1e-14);
    }
}
