//! Linear polarization, with and without a limit, in closed form.
use super::Series;

/// A resistance `area_resistance` behind an optional limit (infinite = none), in series with `r`.
///
/// Without a limit j = s / (R + r). With one, η solves η² + (R L + r L − s) η − s R L = 0 for
/// s ≥ 0 (and the mirror image below); its positive root is taken in the form free of
/// cancellation.
pub(super) fn in_series(area_resistance: f64, limit: f64, s: f64, r: f64) -> Series {
    if limit == f64::INFINITY {
        let total = area_resistance + r;
        let j = s / total;
        return Series { j, dj_ds: 1.0 / total, eta: area_resistance * j };
    }
    let eta = limited_eta(area_resistance, limit, s.abs(), r);
    let knee = area_resistance * limit;
    let j = eta / (knee + eta) * limit;
    let slope = (knee + eta) / limit * ((knee + eta) / knee);
    Series { j: j.copysign(s), dj_ds: 1.0 / (slope + r), eta: eta.copysign(s) }
}

/// The overpotential η ≥ 0 of the limited linear law at s ≥ 0.
fn limited_eta(area_resistance: f64, limit: f64, s: f64, r: f64) -> f64 {
    let knee = area_resistance * limit;
    let p = knee + r * limit - s;
    let root = (p * p + 4.0 * s * knee).sqrt();
    if p > 0.0 { 2.0 * s * knee / (p + root) } else { 0.5 * (root - p) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_of_the_limit_doubles_the_linear_overpotential() {
        // i_kin = L gives i = L / 2 and η = R L; so s = R L + r L / 2
        let (resistance, limit, r) = (2e-4, 300.0, 5e-4);
        let got = in_series(resistance, limit, resistance * limit + r * limit / 2.0, r);
        assert!((got.j / 150.0 - 1.0).abs() < 1e-15);
        assert!((got.eta / 0.06 - 1.0).abs() < 1e-15);
    }

    #[test]
    fn far_beyond_the_limit_the_limit_stands() {
        let got = in_series(1e-4, 300.0, -1e6, 1e-3);
        assert!(got.j <= -299.99 && got.j >= -300.0);
    }

    #[test]
    fn next_to_no_resistance_leaves_a_knee_at_the_limit() {
        // below the limit the drop is in r, above it what is left over is at the surface
        let below = in_series(1e-9, 300.0, 0.2, 1e-3);
        assert!((below.j / 200.0 - 1.0).abs() < 1e-5 && below.eta < 1e-5);
        let beyond = in_series(1e-9, 300.0, 5.0, 1e-3);
        assert!((beyond.j / 300.0 - 1.0).abs() < 1e-6 && (beyond.eta - 4.7).abs() < 1e-6);
    }
}
