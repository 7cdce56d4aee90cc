//! Rod inside a tube, centred or not, without polarization.
//!
//! The eccentric field is that of two line charges at the limit points of the two circles: the
//! inverse points a and R2²/a on the line of centres. Kasper (1940), Trans. Electrochem. Soc. 77,
//! 353; the circles are level lines of ln|z − a|/|z − R2²/a|.

use std::f64::consts::PI;

/// Circle of radius `r1` inside a circle of radius `r2`, its centre `e` along x from the other's.
#[derive(Debug, Clone, Copy)]
pub struct Cylinders {
    /// Inner radius, m.
    pub r1: f64,
    /// Outer radius, m.
    pub r2: f64,
    /// Offset of the inner circle's centre along x, m; may be zero.
    pub e: f64,
}

impl Cylinders {
    /// Resistance of a metre of depth, Ω·m: `arccosh[(R1² + R2² − e²) / (2 R1 R2)] / (2 π κ)`.
    pub fn resistance(&self, conductivity_s_m: f64) -> f64 {
        self.log_ratio() / (2.0 * PI * conductivity_s_m)
    }

    /// 2πκR: the logarithm of the ratio of radii after mapping to concentric circles.
    pub fn log_ratio(&self) -> f64 {
        ((self.r1 * self.r1 + self.r2 * self.r2 - self.e * self.e) / (2.0 * self.r1 * self.r2))
            .acosh()
    }

    /// The two limit points on the x axis (from the outer centre): inside both circles and outside both.
    /// The outer one is infinite when the circles are concentric.
    pub fn limit_points(&self) -> (f64, f64) {
        if self.e == 0.0 {
            return (0.0, f64::INFINITY);
        }
        // e a² − B a + e R2² = 0; the smaller root without cancellation
        let b = self.r2 * self.r2 + self.e * self.e - self.r1 * self.r1;
        let root = (b * b - 4.0 * self.e * self.e * self.r2 * self.r2).sqrt();
        let a = 2.0 * self.e * self.r2 * self.r2 / (b + b.signum() * root);
        (a, self.r2 * self.r2 / a)
    }

    /// Magnitude of the current density at (x, y) from the outer centre, A/m², at `voltage_v`.
    pub fn density(&self, x: f64, y: f64, voltage_v: f64, conductivity_s_m: f64) -> f64 {
        conductivity_s_m * voltage_v / self.log_ratio() * self.stretch(x, y)
    }

    /// |d ln ζ/dz| of the map to concentric circles: 1/m.
    pub fn stretch(&self, x: f64, y: f64) -> f64 {
        let (a, b) = self.limit_points();
        if b.is_infinite() {
            return 1.0 / x.hypot(y);
        }
        (b - a).abs() / ((x - a).hypot(y) * (x - b).hypot(y))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed by an independent program: 2πκR and the max/min ratios on both walls.
    #[test]
    fn tabulated_eccentric_cells() {
        for (r1, e, log_ratio, outer, inner) in [
            (10.0, 5.0, 1.599, 1.52, 1.088),
            (10.0, 10.0, 1.567, 2.33, 1.190),
            (10.0, 20.0, 1.425, 6.00, 1.500),
            (25.0, 10.0, f64::NAN, 3.05, 1.784),
        ] {
            let c = Cylinders { r1, r2: 50.0, e };
            if !log_ratio.is_nan() {
                assert!((c.log_ratio() - log_ratio).abs() < 6e-4, "{}", c.log_ratio());
            }
            let ratio = |x0: f64, x1: f64| {
                let (p, q) = (c.density(x0, 0.0, 1.0, 1.0), c.density(x1, 0.0, 1.0, 1.0));
                p.max(q) / p.min(q)
            };
            assert!((ratio(50.0, -50.0) / outer - 1.0).abs() < 4e-3);
            assert!((ratio(e + r1, e - r1) / inner - 1.0).abs() < 1e-3);
        }
    }

    /// The density integrated over each wall is voltage / resistance.
    #[test]
    fn density_integrates_to_the_total_current() {
        let c = Cylinders { r1: 0.4, r2: 1.0, e: 0.3 };
        for (r, cx) in [(c.r1, c.e), (c.r2, 0.0)] {
            let n = 400;
            let total: f64 = (0..n)
                .map(|k| 2.0 * PI * (k as f64 + 0.5) / n as f64)
                .map(|t| {
                    c.density(cx + r * t.cos(), r * t.sin(), 1.7, 3.0) * r * 2.0 * PI / n as f64
                })
                .sum();
            assert!((total * c.resistance(3.0) / 1.7 - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn concentric_limit() {
        let centred = Cylinders { r1: 0.01, r2: 0.05, e: 0.0 };
        assert!((centred.log_ratio() - 5.0_f64.ln()).abs() < 1e-14);
        let nearly = Cylinders { e: 1e-8, ..centred };
        assert!(
            (nearly.density(0.0, 0.05, 1.0, 1.0) / centred.density(0.0, 0.05, 1.0, 1.0) - 1.0)
                .abs()
                < 1e-6
        );
    }
}
