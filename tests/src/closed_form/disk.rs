//! A disk flush in an insulating plane, under an equipotential oblate spheroid confocal with it.
//!
//! Oblate spheroidal coordinates r² = a² (1 + ξ²)(1 − η²), z = a ξ η; the disk is ξ = 0, the plane
//! around it η = 0. Without polarization φ = V (1 − arctan ξ / arctan ξ₀) and the resistance is
//! arctan ξ₀ / (2 π κ a), which tends to 1/(4 κ a) far away; the density on the disk is proportional
//! to 1/√(1 − r²/a²) (Newman, *J. Electrochem. Soc.* 113 (1966) 501). With linear polarization the
//! potential is a series of P₂ₙ(η) Mₙ(ξ) whose coefficients follow from the condition on the disk
//! (the source problem: Newman, same volume, 1235).
use super::linear_system::solve_dense;

/// Solved for one volt and one S/m.
#[derive(Debug, Clone)]
pub struct Disk {
    a: f64,
    xi: f64,
    /// Coefficient times −Mₙ′(0), n = 0, 1, …
    slope: Vec<f64>,
    /// Coefficient times −Mₙ′(ξ₀).
    far: Vec<f64>,
}

/// Legendre polynomials P₀ … Pₙ at x.
fn legendre(x: f64, n: usize) -> Vec<f64> {
    let mut p = vec![1.0, x];
    for k in 1..n {
        let k1 = k as f64;
        p.push(((2.0 * k1 + 1.0) * x * p[k] - k1 * p[k - 1]) / (k1 + 1.0));
    }
    p
}

/// P₂ₙ(i t) / P₂ₙ(0) for n = 0 … terms − 1: 1 at t = 0, growing. Scaled by xⁿ to stay in range.
fn growing(t: f64, terms: usize) -> Vec<f64> {
    let mut p = vec![1.0, t];
    let mut at_zero = vec![1.0, 0.0];
    for k in 1..2 * terms {
        let k1 = k as f64;
        p.push(((2.0 * k1 + 1.0) * t * p[k] + k1 * p[k - 1]) / (k1 + 1.0));
        at_zero.push(k1 * at_zero[k - 1] / (k1 + 1.0));
    }
    (0..terms).map(|n| p[2 * n] / at_zero[2 * n]).collect()
}

/// −Mₙ′(0) with the spheroid at infinity: (2/π) [2²ⁿ (n!)² / (2n)!]².
fn decaying_slopes(terms: usize) -> Vec<f64> {
    let mut out = vec![std::f64::consts::FRAC_2_PI];
    for n in 1..terms {
        let ratio = 2.0 * n as f64 / (2.0 * n as f64 - 1.0);
        out.push(out[n - 1] * ratio * ratio);
    }
    out
}

impl Disk {
    /// Disk of radius `a` (m), spheroid at `xi`, Wa = κ b / a, by `terms` terms.
    pub fn new(a: f64, xi: f64, wagner: f64, terms: usize) -> Self {
        let m = decaying_slopes(terms);
        let p0 = growing(xi, terms);
        // share of the growing solution that makes the term vanish on the spheroid, by the
        // Wronskian: (q/p)′ = −m / ((1 + ξ²) p²), integrated from ξ₀ out with ξ = ξ₀/s
        const STEPS: usize = 4000;
        let mut share = vec![0.0; terms];
        for k in 0..STEPS {
            let s = (k as f64 + 0.5) / STEPS as f64;
            let p = growing(xi / s, terms);
            for n in 0..terms {
                share[n] += m[n] * xi / ((s * s + xi * xi) * p[n] * p[n]) / STEPS as f64;
            }
        }
        // the first term in closed form
        share[0] = 1.0 - std::f64::consts::FRAC_2_PI * xi.atan();
        let slope: Vec<f64> = (0..terms).map(|n| m[n] / (1.0 - share[n])).collect();
        // η (1 − Σ B P) = Wa Σ B P (−M′(0)), against P₂ₘ
        const POINTS: usize = 4000;
        let mut matrix = vec![0.0; terms * terms];
        let mut right = vec![0.0; terms];
        for k in 0..POINTS {
            // η = sin² spreads the points towards both ends
            let u = (k as f64 + 0.5) / POINTS as f64 * std::f64::consts::FRAC_PI_2;
            let (eta, w) =
                (u.sin().powi(2), (2.0 * u).sin() * std::f64::consts::FRAC_PI_2 / POINTS as f64);
            let p = legendre(eta, 2 * terms);
            for i in 0..terms {
                right[i] += w * eta * p[2 * i];
                for j in 0..terms {
                    matrix[i * terms + j] += w * eta * p[2 * i] * p[2 * j];
                }
            }
        }
        for n in 0..terms {
            matrix[n * terms + n] += wagner * slope[n] / (4.0 * n as f64 + 1.0);
        }
        let b = if wagner > 0.0 {
            solve_dense(matrix, right)
        } else {
            let mut one = vec![0.0; terms];
            one[0] = 1.0;
            one
        };
        let far = (0..terms)
            .map(|n| b[n] * m[n] / ((1.0 + xi * xi) * p0[n] * (1.0 - share[n])))
            .collect();
        let slope = b.iter().zip(&slope).map(|(b, s)| b * s).collect();
        Self { a, xi, slope, far }
    }

    /// Current for one volt and one S/m, m.
    pub fn conductance(&self) -> f64 {
        std::f64::consts::TAU * self.a * self.slope[0]
    }

    /// Mean density over the ring r0 … r1 of the disk, 1/m.
    pub fn mean_on_disk(&self, r0: f64, r1: f64) -> f64 {
        let eta = |r: f64| (1.0 - (r / self.a).powi(2)).max(0.0).sqrt();
        let n = self.slope.len();
        let (p0, p1) = (legendre(eta(r0), 2 * n), legendre(eta(r1), 2 * n));
        // r dr = −a² η dη, and ∫ P_k = (P_{k+1} − P_{k−1}) / (2k + 1)
        let integral = |p: &[f64], k: usize| {
            if k == 0 { p[1] } else { (p[k + 1] - p[k - 1]) / (2.0 * k as f64 + 1.0) }
        };
        let sum: f64 =
            (0..n).map(|k| self.slope[k] * (integral(&p0, 2 * k) - integral(&p1, 2 * k))).sum();
        self.a * sum / (0.5 * (r1 * r1 - r0 * r0))
    }

    /// Density on the spheroid where z = a ξ₀ η, 1/m.
    pub fn on_spheroid(&self, eta: f64) -> f64 {
        let p = legendre(eta, 2 * self.far.len());
        let sum: f64 = self.far.iter().enumerate().map(|(n, f)| f * p[2 * n]).sum();
        let xi2 = self.xi * self.xi;
        ((1.0 + xi2) / (xi2 + eta * eta)).sqrt() * sum / self.a
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Centre and edge densities over the mean, far anode: Newman's series, computed once.
    #[test]
    fn centre_densities_are_those_of_a_far_anode() {
        for (wa, centre) in [(0.1, 0.623), (0.2, 0.696), (0.5, 0.809), (1.0, 0.883), (5.0, 0.972)] {
            let d = Disk::new(1.0, 60.0, wa, 40);
            let mean = d.mean_on_disk(0.0, 1.0);
            assert!((d.mean_on_disk(0.0, 1e-3) / mean - centre).abs() < 2e-3, "{wa}");
            assert!((d.conductance() / (mean * std::f64::consts::PI) - 1.0).abs() < 1e-9);
        }
        // without polarization: half the mean in the centre, resistance 1/(4 κ a)
        let d = Disk::new(1.0, 1e6, 0.0, 1);
        assert!((d.conductance() - 4.0).abs() < 1e-5);
        assert!((d.mean_on_disk(0.0, 1e-3) / d.mean_on_disk(0.0, 1.0) - 0.5).abs() < 1e-6);
    }
}
