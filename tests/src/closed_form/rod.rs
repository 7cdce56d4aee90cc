//! Rod (line anode) over a plane cathode, without polarization.
//!
//! The images are line currents at height ±c, `c = √(D² − r²)`. Current lines are arcs of circles
//! through both images, so a cell walled off along two of them has exactly the unbounded field.
//! Kasper (1940), Trans. Electrochem. Soc. 77, 353.

use std::f64::consts::PI;

/// Rod of radius `r` whose axis is `d` above the plane y = 0.
#[derive(Debug, Clone, Copy)]
pub struct RodOverPlane {
    /// Height of the axis, m.
    pub d: f64,
    /// Radius of the rod, m.
    pub r: f64,
}

impl RodOverPlane {
    /// Height of the image line, m.
    pub fn c(&self) -> f64 {
        (self.d * self.d - self.r * self.r).sqrt()
    }

    /// Voltage over total current per depth, Ω·m: `arccosh(D/r) / (2 π κ)`.
    pub fn resistance(&self, conductivity_s_m: f64) -> f64 {
        (self.d / self.r).acosh() / (2.0 * PI * conductivity_s_m)
    }

    /// Density on the plane at x, A/m², for total current `total` (A/m): `(I′/π) c / (c² + x²)`.
    pub fn density_on_plane(&self, x: f64, total: f64) -> f64 {
        total / PI * self.c() / (self.c() * self.c() + x * x)
    }

    /// Density anywhere, A/m²: two opposite line currents at (0, ±c).
    pub fn density(&self, x: f64, y: f64, total: f64) -> f64 {
        let c = self.c();
        total / PI * c / (x.hypot(y - c) * x.hypot(y + c))
    }

    /// Share of the current that reaches the plane within ±x: `(2/π) atan(x/c)`.
    pub fn share_within(&self, x: f64) -> f64 {
        2.0 / PI * (x / self.c()).atan()
    }

    /// Centre x and radius of the current line that leaves the plane at `x` > 0.
    pub fn current_line(&self, x: f64) -> (f64, f64) {
        let c = self.c();
        let centre = (x * x - c * c) / (2.0 * x);
        (centre, x - centre)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CELL: RodOverPlane = RodOverPlane { d: 0.1, r: 0.02 };

    #[test]
    fn half_the_current_falls_within_c() {
        assert!((CELL.share_within(CELL.c()) - 0.5).abs() < 1e-15);
        let i0 = CELL.density_on_plane(0.0, 1.0);
        for (k, part) in [(1.0, 0.5), (2.0, 0.2), (3.0, 0.1)] {
            assert!((CELL.density_on_plane(k * CELL.c(), 1.0) / i0 - part).abs() < 1e-14);
        }
    }

    #[test]
    fn density_agrees_on_the_plane_and_sums_on_the_rod() {
        assert!((CELL.density(0.03, 0.0, 2.0) - CELL.density_on_plane(0.03, 2.0)).abs() < 1e-12);
        let n = 400;
        let sum: f64 = (0..n)
            .map(|k| 2.0 * PI * (k as f64 + 0.5) / n as f64)
            .map(|t| {
                CELL.density(CELL.r * t.cos(), CELL.d + CELL.r * t.sin(), 1.0) * CELL.r * 2.0 * PI
                    / n as f64
            })
            .sum();
        assert!((sum - 1.0).abs() < 1e-12);
    }

    /// A rod inside a huge tube near its wall is a rod over a plane.
    #[test]
    fn is_the_limit_of_eccentric_cylinders() {
        let r2 = 1e5;
        let e = r2 - CELL.d;
        let tube = super::super::cylinders::Cylinders { r1: CELL.r, r2, e };
        assert!((tube.resistance(1.0) / CELL.resistance(1.0) - 1.0).abs() < 1e-5);
    }

    #[test]
    fn current_lines_pass_the_image() {
        let (centre, radius) = CELL.current_line(0.4);
        assert!((centre.hypot(CELL.c()) - radius).abs() < 1e-15);
    }
}
