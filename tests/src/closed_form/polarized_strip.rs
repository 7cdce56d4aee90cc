//! Strip in the floor of a box (or of an unbounded half plane) with linear polarization, by an
//! integral equation.
//!
//! With the anode far above, `Wa i(x) − ∫ i(t) G(x, t) dt = const` and `∫ i = L`, lengths in L,
//! `Wa = κ b / L`. In the half plane `G = (1/π) ln|x − t|`; in a box of width W and height H with
//! insulating sides and an unpolarized anode as its lid the images add
//! `(1/π)[ln|2 sin(π(x−t)/2W)| + ln|2 sin(π(x+t)/2W)|]` and `Σ (2/W k)(1 − tanh kH) cos kx cos kt`.
//!
//! Nodes `x = (3c − c³)/4, c = cos θ`, crowd at the ends so that the weak end singularity
//! (s ln s) costs nothing; the logarithm is integrated exactly by its cosine series,
//! `ln|2(c − c′)| = −Σ (2/n) cos nθ cos nθ′` (common practice in aerofoil theory). Computed, not
//! printed anywhere; 200 nodes agree with 400 to better than 1e-6.

use super::linear_system::solve_dense;
use std::f64::consts::PI;

/// Where the strip lies.
#[derive(Debug, Clone, Copy)]
pub enum Surroundings {
    /// Unbounded insulating plane, anode infinitely far.
    HalfPlane,
    /// Box of `width` and `height` (in strip lengths), strip centred in the floor, lid = anode.
    Box {
        /// Width over strip length.
        width: f64,
        /// Height over strip length.
        height: f64,
    },
}

/// The solved strip; lengths in strip lengths, x from its middle, densities relative to the mean.
#[derive(Debug, Clone)]
pub struct PolarizedStrip {
    wagner: f64,
    cosines: Vec<f64>,
    constant: f64,
    lid: Vec<f64>,
    width: f64,
}

/// (x, dx/dθ without sign) at θ; x runs from 1/2 to −1/2.
fn place(theta: f64) -> (f64, f64) {
    let c = theta.cos();
    (0.25 * (3.0 * c - c * c * c), 0.75 * theta.sin().powi(3))
}

impl PolarizedStrip {
    /// Solves with `n` nodes.
    pub fn new(wagner: f64, around: Surroundings, n: usize) -> Self {
        let theta: Vec<f64> = (0..n).map(|k| PI * (k as f64 + 0.5) / n as f64).collect();
        let node: Vec<(f64, f64)> = theta.iter().map(|&t| place(t)).collect();
        // q[i][j]: weight of g_j in the integral of g(θ′) ln|2(cos θ_i − cos θ′)|, for g given at
        // the nodes; cosines of multiples of π/2n from one table
        let table: Vec<f64> = (0..4 * n).map(|k| (PI * k as f64 / (2 * n) as f64).cos()).collect();
        let cos = |m: usize, k: usize| table[(m * (2 * k + 1)) % (4 * n)];
        let size = n + 1;
        let mut a = vec![0.0; size * size];
        let mut b = vec![0.0; size];
        for i in 0..n {
            for j in 0..n {
                let mut q = 0.0;
                for m in 1..n {
                    q -= 2.0 / m as f64 * cos(m, i) * cos(m, j);
                }
                let (x, t) = (node[i].0, node[j].0);
                let (ci, cj) = (theta[i].cos(), theta[j].cos());
                let ratio = (3.0 - ci * ci - ci * cj - cj * cj) / 8.0;
                let smooth = ratio.ln() + extra(x, t, around);
                let weight = PI / n as f64 * node[j].1;
                a[i * size + j] = -weight * (q + smooth) / PI;
                if i == j {
                    a[i * size + j] += wagner;
                }
            }
            a[i * size + n] = -1.0;
            a[n * size + i] = PI / n as f64 * node[i].1;
        }
        b[n] = 1.0;
        let mut x = solve_dense(a, b);
        let constant = x.pop().expect("n + 1 unknowns");
        // cosine coefficients of the density through the nodes
        let cosines = (0..n)
            .map(|m| {
                let sum: f64 = x.iter().enumerate().map(|(k, v)| v * cos(m, k)).sum();
                sum * if m == 0 { 1.0 } else { 2.0 } / n as f64
            })
            .collect();
        let (lid, width) = lid_modes(&node, &x, around);
        Self { wagner, cosines, constant, lid, width }
    }

    /// i/i_avg at x in (−1/2, 1/2).
    pub fn relative_density(&self, x: f64) -> f64 {
        let theta = angle_of(x);
        self.cosines.iter().enumerate().map(|(m, c)| c * (m as f64 * theta).cos()).sum()
    }

    /// Density on the lid of the box at x from its middle, relative to the mean on the strip;
    /// 0 for the half plane. Mode n of the floor arrives there divided by cosh(n π H / W).
    pub fn lid_density(&self, x: f64) -> f64 {
        let k = PI / self.width;
        self.lid
            .iter()
            .enumerate()
            .map(|(n, c)| c * (n as f64 * k * (x + 0.5 * self.width)).cos())
            .sum()
    }

    /// (metal − anode potential) / (i_avg L / κ), for the box: solution and polarization drop.
    pub fn drop(&self) -> f64 {
        self.constant
    }

    /// The Wagner number κ b / L this was solved for.
    pub fn wagner(&self) -> f64 {
        self.wagner
    }
}

/// Cosine coefficients of the density on the lid, and the box's width.
fn lid_modes(node: &[(f64, f64)], density: &[f64], around: Surroundings) -> (Vec<f64>, f64) {
    let Surroundings::Box { width, height } = around else {
        return (vec![], 1.0);
    };
    let modes =
        (0..200).map(|n| n as f64 * PI / width).take_while(|k| k * height < 40.0).map(|k| {
            let sum: f64 = node
                .iter()
                .zip(density)
                .map(|((x, dx), i)| i * dx * (k * (x + 0.5 * width)).cos())
                .sum();
            let scale = if k == 0.0 { 1.0 } else { 2.0 } / width / (k * height).cosh();
            scale * sum * PI / node.len() as f64
        });
    (modes.collect(), width)
}

/// θ with `place(θ).0 == x`: c = 2 sin(asin(2x)/3) solves (3c − c³)/4 = x.
fn angle_of(x: f64) -> f64 {
    (2.0 * ((2.0 * x).clamp(-1.0, 1.0).asin() / 3.0).sin()).clamp(-1.0, 1.0).acos()
}

/// π (G − ln|x − t|/π): the smooth rest of the kernel.
fn extra(x: f64, t: f64, around: Surroundings) -> f64 {
    let Surroundings::Box { width: w, height: h } = around else {
        return 0.0;
    };
    let (x, t) = (x + 0.5 * w, t + 0.5 * w);
    let z = PI * (x - t) / (2.0 * w);
    let sinc = if z.abs() < 1e-4 { 1.0 - z * z / 6.0 } else { z.sin() / z };
    let mut sum = (PI / w * sinc).ln() + (2.0 * (PI * (x + t) / (2.0 * w)).sin()).ln();
    // mean potential drop across the box, then the finite height
    sum -= PI * h / w;
    for n in 1..400 {
        let k = n as f64 * PI / w;
        let gap = 2.0 / (1.0 + (2.0 * k * h).exp());
        if gap < 1e-17 {
            break;
        }
        sum += PI * 2.0 / (w * k) * gap * (k * x).cos() * (k * t).cos();
    }
    sum
}

/// Computed table of centre and edge values of i/i_avg for the half plane, ±0.3 %:
/// (Wa, centre, edge).
pub const TABLE: [(f64, f64, f64); 9] = [
    (0.01, 0.660, 5.8),
    (0.05, 0.720, 2.74),
    (0.1, 0.770, 2.06),
    (0.2, 0.832, 1.62),
    (0.5, 0.907, 1.283),
    (1.0, 0.947, 1.149),
    (2.0, 0.972, 1.077),
    (5.0, 0.988, 1.031),
    (10.0, 0.994, 1.016),
];

#[cfg(test)]
mod tests {
    use super::super::strips::{FlushStrips, single_strip};
    use super::*;

    #[test]
    fn agrees_with_the_table_made_by_another_program() {
        for (wa, centre, edge) in TABLE {
            let s = PolarizedStrip::new(wa, Surroundings::HalfPlane, 120);
            let (c, e) = (s.relative_density(0.0), s.relative_density(0.5));
            assert!((c / centre - 1.0).abs() < 3e-3, "Wa {wa}: centre {c}");
            assert!((e / edge - 1.0).abs() < 1e-2, "Wa {wa}: edge {e}");
        }
    }

    #[test]
    fn doubling_the_nodes_changes_less_than_1e6() {
        for wa in [0.01, 0.1, 1.0] {
            let [p, q] = [200, 400].map(|n| PolarizedStrip::new(wa, Surroundings::HalfPlane, n));
            for x in [0.0, 0.2, 0.4, 0.49] {
                let (a, b) = (p.relative_density(x), q.relative_density(x));
                assert!((a / b - 1.0).abs() < 1e-6, "Wa {wa}, x {x}: {a} {b}");
            }
        }
    }

    #[test]
    fn little_polarization_tends_to_the_primary_strip() {
        let s = PolarizedStrip::new(1e-5, Surroundings::HalfPlane, 200);
        for x in [0.0, 0.2, 0.4] {
            assert!((s.relative_density(x) / single_strip(x, 1.0) - 1.0).abs() < 1e-3);
        }
    }

    /// A flush strip faces its own mirror image across the mid-plane, which is an equipotential:
    /// a wide box of half the gap is that channel. Without polarization both answers must agree.
    #[test]
    fn box_agrees_with_flush_strips() {
        let (width, height) = (6.0, 0.5);
        let s = PolarizedStrip::new(1e-5, Surroundings::Box { width, height }, 200);
        let exact = FlushStrips { l: 1.0, h: 2.0 * height };
        for x in [0.0, 0.3, 0.4] {
            let (a, b) = (s.relative_density(x), exact.relative_density(x));
            assert!((a / b - 1.0).abs() < 3e-4, "x {x}: {a} {b}");
        }
        let r = 0.5 * exact.resistance_times_conductivity();
        assert!((s.drop().abs() / r - 1.0).abs() < 1e-4, "{} {r}", s.drop());
    }

    /// The mean potential drop of a box as wide as the strip is its height, and i is uniform.
    #[test]
    fn full_width_strip_is_uniform() {
        let s = PolarizedStrip::new(0.3, Surroundings::Box { width: 1.0 + 1e-9, height: 2.0 }, 100);
        assert!((s.relative_density(0.1) - 1.0).abs() < 1e-4);
        assert!((s.drop().abs() - 2.3).abs() < 1e-3, "{}", s.drop());
        assert!((s.lid_density(0.2) - 1.0).abs() < 1e-4);
    }
}
