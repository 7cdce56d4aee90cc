//! The two scalar equations behind a Tafel surface in series with a resistance.
//!
//! - no limit: `u + ln u = z`, the Wright omega function;
//! - with a limiting current density: `ln(v / (1 − v)) + c v = z`, its bounded relative.
//!
//! Both are solved for any finite z without a bracket: the left sides are convex in the logarithm
//! of the unknown, the starting values are within a few per cent, and the steps are of fourth and
//! third order.

/// The positive `u` with `u + ln u = z`, to rounding.
///
/// Underflows to zero below z = −745, where `u = exp(z)` does. Two steps of Fritsch, Shafer and
/// Crowley (Commun. ACM 16 (1973) 123) in the form of Lawrence, Corless and Jeffrey, ACM Trans.
/// Math. Softw. 38 (2012) 20; starting values from the Taylor and Padé series given there.
pub(super) fn omega(z: f64) -> f64 {
    // below this u differs from exp(z) by less than rounding
    if z < -38.0 {
        return libm::exp(z);
    }
    let mut u = if z < 0.5 {
        let x = libm::exp(z);
        x * (60.0 + x * (114.0 + 17.0 * x)) / (60.0 + x * (174.0 + 101.0 * x))
    } else if z < 4.0 {
        let d = z - 1.0;
        1.0 + d * (0.5 + d * (1.0 / 16.0 - d / 192.0))
    } else {
        let l = libm::log(z);
        z - l + l / z
    };
    // a step leaves the fourth power of the residual's share over 36 at least: from 3 % the first leaves
    // 1e-7 and the second nothing; below 3e-4, as at most points, the first is the last
    for _ in 0..3 {
        let residual = z - u - libm::log(u);
        let a = 1.0 + u;
        let b = a * (a + 2.0 / 3.0 * residual);
        u *= 1.0 + residual / a * (b - 0.5 * residual) / (b - residual);
        if residual.abs() < 3e-4 * a {
            break;
        }
    }
    u
}

/// `(v, 1 − v)` with `ln(v / (1 − v)) + c v = z`, c > 0; each is good to rounding of itself.
///
/// The equation is its own mirror image under v ↔ 1 − v, z ↔ c − z, so only v ≤ 1/2 is solved.
/// There `−ln(1 − v) ≈ v` gives a starting value by [`omega`] within 10 %, and Halley's steps in
/// ln v, where the left side is convex and rising, finish it.
pub(super) fn bounded_omega(z: f64, c: f64) -> (f64, f64) {
    if z > 0.5 * c {
        let (w, v) = lower_half(c - z, c);
        (v, w)
    } else {
        lower_half(z, c)
    }
}

fn lower_half(z: f64, c: f64) -> (f64, f64) {
    let mut v = (omega(z + libm::log1p(c)) / (1.0 + c)).min(0.5);
    // here −ln(1 − v) is v to rounding, and the starting value is the answer
    if v < 1e-17 {
        return (v, 1.0);
    }
    for _ in 0..8 {
        let w = 1.0 - v;
        let g = libm::log(v / w) + c * v - z;
        let g1 = 1.0 / w + c * v;
        let g2 = v / (w * w) + c * v;
        let d = g / (g1 - 0.5 * g * g2 / g1);
        // exp(−d) to fourth order: d is below 0.2 from the first step on
        v *= 1.0 - d * (1.0 - d * (0.5 - d / 6.0));
        if d.abs() < 1e-5 {
            break;
        }
    }
    (v, 1.0 - v)
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "an independent check of libm's functions")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn omega_of_one_is_one_and_of_zero_the_omega_constant() {
        assert!((omega(1.0) - 1.0).abs() < 1e-15);
        // OEIS A030178
        assert!((omega(0.0) - 0.567_143_290_409_783_8).abs() < 2e-16);
        // 1 + ln 1, e + 1, e² + 2: exact arguments
        let e = std::f64::consts::E;
        assert!((omega(e + 1.0) / e - 1.0).abs() < 4e-16);
        assert!((omega(e * e + 2.0) / (e * e) - 1.0).abs() < 4e-16);
    }

    proptest! {
        #[test]
        fn omega_solves_its_equation(z in prop_oneof![-40.0..40.0f64, -1e3..1e9f64]) {
            let u = omega(z);
            prop_assert!(u.is_finite() && u >= 0.0);
            if u > 1e-300 {
                let residual = u + u.ln() - z;
                prop_assert!(residual.abs() <= 1e-15 * (1.0 + z.abs()), "{residual}");
            }
        }

        #[test]
        fn bounded_omega_solves_its_equation(z in prop_oneof![-60.0..60.0f64, -1e4..1e7f64], lc in -10.0..20.0f64) {
            let c = lc.exp();
            let (v, w) = bounded_omega(z, c);
            prop_assert!((0.0..=1.0).contains(&v) && (0.0..=1.0).contains(&w));
            if v > 1e-300 && w > 1e-300 {
                let residual = v.ln() - w.ln() + c * v - z;
                prop_assert!(residual.abs() <= 2e-15 * (1.0 + z.abs() + c * v), "{residual}");
            }
        }
    }
}
