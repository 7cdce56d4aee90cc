//! Two equal strips facing each other, flush in the walls of a long channel, without polarization.
//!
//! Wagner (1951), J. Electrochem. Soc. 98, 116; Newman & Thomas-Alyea, Electrochemical Systems,
//! chapter 18. The single strip in a plane is the limit of a wide channel.

use super::elliptic::complete_k_of_complement;
use std::f64::consts::PI;

/// Strips of length `l` in the walls of a channel of gap `h`.
#[derive(Debug, Clone, Copy)]
pub struct FlushStrips {
    /// Length of each strip, m.
    pub l: f64,
    /// Gap between them, m.
    pub h: f64,
}

impl FlushStrips {
    fn eps(&self) -> f64 {
        PI * self.l / (2.0 * self.h)
    }

    /// i/i_avg at distance `x` from the strip's middle:
    /// `ε cosh ε / (K(tanh²ε) √(sinh²ε − sinh²(2xε/L)))`.
    pub fn relative_density(&self, x: f64) -> f64 {
        let e = self.eps();
        let k = complete_k_of_complement(1.0 / e.cosh().powi(2));
        let y = 2.0 * x * e / self.l;
        // sinh²a − sinh²b = sinh(a − b) sinh(a + b)
        e * e.cosh() / (k * ((e - y).sinh() * (e + y).sinh()).sqrt())
    }

    /// Mean of i/i_avg over [x0, x1] on the strip, by Gauss quadrature in the angle that removes the
    /// end singularity (x = L/2 sin t); good to 1e-9.
    pub fn relative_mean(&self, x0: f64, x1: f64) -> f64 {
        let half = 0.5 * self.l;
        let (t0, t1) = ((x0 / half).clamp(-1.0, 1.0).asin(), (x1 / half).clamp(-1.0, 1.0).asin());
        let n = 64;
        let step = (t1 - t0) / n as f64;
        // three-point Gauss rule on each piece
        let node = 0.6_f64.sqrt();
        let mut sum = 0.0;
        for k in 0..n {
            let mid = t0 + (k as f64 + 0.5) * step;
            for (u, w) in [(-node, 5.0 / 18.0), (0.0, 8.0 / 18.0), (node, 5.0 / 18.0)] {
                let t = mid + 0.5 * step * u;
                sum += w * step * self.relative_density(half * t.sin()) * half * t.cos();
            }
        }
        sum / (x1 - x0)
    }

    /// Resistance of a metre of depth times κ: `K(sech²ε) / K(tanh²ε)`.
    pub fn resistance_times_conductivity(&self) -> f64 {
        let sech2 = 1.0 / self.eps().cosh().powi(2);
        complete_k_of_complement(1.0 - sech2) / complete_k_of_complement(sech2)
    }
}

/// i/i_avg of a single strip of length `l` in an insulating plane, far anode:
/// `(2/π) / √(1 − (2x/L)²)`.
pub fn single_strip(x: f64, l: f64) -> f64 {
    2.0 / PI / (1.0 - (2.0 * x / l).powi(2)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed by an independent program, confirmed by boundary elements at L/h = 1.
    #[test]
    fn tabulated_strips() {
        for (ratio, centre, at_09, r) in [
            (0.25, 0.645, 1.449, 0.371),
            (0.5, 0.666, 1.420, 0.533),
            (1.0, 0.725, 1.338, 0.694),
            (2.0, 0.821, 1.200, 0.819),
            (4.0, 0.901, 1.065, 0.901),
            (8.0, 0.948, 0.989, 0.948),
        ] {
            let s = FlushStrips { l: ratio, h: 1.0 };
            assert!((s.relative_density(0.0) - centre).abs() < 6e-4, "{ratio}");
            assert!((s.relative_density(0.45 * ratio) - at_09).abs() < 6e-4, "{ratio}");
            assert!((s.resistance_times_conductivity() * ratio - r).abs() < 6e-4, "{ratio}");
        }
    }

    #[test]
    fn mean_over_the_whole_strip_is_one() {
        for l in [0.1, 1.0, 5.0] {
            let s = FlushStrips { l, h: 1.0 };
            assert!((s.relative_mean(-0.5 * l, 0.5 * l) - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn wide_channel_is_a_single_strip() {
        let s = FlushStrips { l: 0.01, h: 1.0 };
        assert!((s.relative_density(0.002) / single_strip(0.002, 0.01) - 1.0).abs() < 1e-4);
    }
}
