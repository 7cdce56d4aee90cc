//! Complete elliptic integral of the first kind, needed by strips in a channel.

/// K(m) for parameter `m` < 1, by the arithmetic-geometric mean: `K = π / (2 agm(1, √(1 − m)))`.
///
/// Relative error about 1e-15; infinite at m = 1. Gauss (1799); Abramowitz & Stegun (1964), 17.6.
pub fn complete_k(m: f64) -> f64 {
    complete_k_of_complement(1.0 - m)
}

/// K(1 − m1) from the complementary parameter `m1` > 0, without loss when m1 is tiny.
pub fn complete_k_of_complement(m1: f64) -> f64 {
    let (mut a, mut g) = (1.0_f64, m1.sqrt());
    while (a - g).abs() > 1e-15 * a {
        (a, g) = (0.5 * (a + g), (a * g).sqrt());
        if a == g {
            break;
        }
    }
    std::f64::consts::FRAC_PI_2 / a
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of Abramowitz & Stegun (1964), table 17.1.
    #[test]
    fn agrees_with_printed_tables() {
        for (m, k) in [
            (0.0, std::f64::consts::FRAC_PI_2),
            (0.1, 1.612_441_348_720_219),
            (0.5, 1.854_074_677_301_372),
            (0.9, 2.578_092_113_348_173),
        ] {
            assert!((complete_k(m) - k).abs() < 2e-15 * k, "K({m}) = {}", complete_k(m));
        }
    }

    /// K(1 − m1) → ln(4/√m1) as m1 → 0 (Abramowitz & Stegun 17.3.26).
    #[test]
    fn grows_as_a_logarithm_near_one() {
        let m1 = 1e-20_f64;
        assert!((complete_k_of_complement(m1) - (4.0 / m1.sqrt()).ln()).abs() < 1e-14);
    }
}
