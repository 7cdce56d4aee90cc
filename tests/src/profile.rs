//! Density along a straight or curved run of an outline, from the means over its stretches.
//!
//! Means over short stretches are differences of the cumulative current. Between the ends of
//! stretches that current is a polynomial through four of them, so its slope is the density at a
//! point, and differences of it are means over any range.
use shapes::Point;
use solver::BodyResult;

/// Ends of stretches: coordinate along the run (m) and current up to there (A per m of depth).
#[derive(Debug, Clone)]
pub struct Profile(Vec<(f64, f64)>);

impl Profile {
    /// The stretches of `body` whose middle satisfies `on`, placed by `along`, which must grow by a
    /// stretch's length from one to the next (in either direction of the outline).
    ///
    /// # Panics
    /// If fewer than three stretches are chosen.
    pub fn new(
        body: &BodyResult,
        on: impl Fn(Point) -> bool,
        along: impl Fn(Point) -> f64,
    ) -> Self {
        let mut rows: Vec<(f64, f64, f64)> = body
            .stretches
            .iter()
            .filter(|s| on(s.at))
            .map(|s| (along(s.at), s.length_m, s.current_density_a_m2))
            .collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(rows.len() > 2, "{}: {} stretches on the run", body.name, rows.len());
        let mut ends = vec![(rows[0].0 - 0.5 * rows[0].1, 0.0)];
        for (middle, length, density) in rows {
            let current = ends[ends.len() - 1].1 + density * length;
            ends.push((middle + 0.5 * length, current));
        }
        Self(ends)
    }

    /// The same around an axis: stretches of a plane across it, placed by r²/2, so that the current
    /// up to there per radian is what its densities add up to.
    ///
    /// # Panics
    /// If fewer than three stretches are chosen.
    pub fn of_rings(body: &BodyResult, on: impl Fn(Point) -> bool) -> Self {
        let mut rows: Vec<_> = body.stretches.iter().filter(|s| on(s.at)).collect();
        rows.sort_by(|a, b| a.at.x.total_cmp(&b.at.x));
        assert!(rows.len() > 2, "{}: {} stretches on the plane", body.name, rows.len());
        let inner = (rows[0].at.x - 0.5 * rows[0].length_m).max(0.0);
        let mut ends = vec![(0.5 * inner * inner, 0.0)];
        for s in rows {
            let (place, current) = ends[ends.len() - 1];
            let share = s.area_m2 / std::f64::consts::TAU;
            ends.push((place + share, current + share * s.current_density_a_m2));
        }
        Self(ends)
    }

    /// Density at radius `r` of a profile of rings, A/m².
    pub fn at_radius(&self, r: f64) -> f64 {
        self.at(0.5 * r * r)
    }

    /// Mean density between two radii of a profile of rings, A/m².
    pub fn between_radii(&self, from: f64, to: f64) -> f64 {
        self.mean(0.5 * from * from, 0.5 * to * to)
    }

    /// The four ends of stretches around `x`.
    fn around(&self, x: f64) -> &[(f64, f64)] {
        let ends = &self.0;
        let k = ends.partition_point(|e| e.0 <= x).clamp(2, ends.len() - 2);
        &ends[k - 2..k + 2]
    }

    /// Density at `x`, A/m².
    pub fn at(&self, x: f64) -> f64 {
        let points = self.around(x);
        let mut sum = 0.0;
        for (i, (xi, ci)) in points.iter().enumerate() {
            // derivative of Lagrange's polynomial i
            let others = || points.iter().enumerate().filter(move |(j, _)| *j != i);
            for (j, (xj, _)) in others() {
                let rest = others().filter(|(k, _)| *k != j).map(|(_, p)| (x - p.0) / (xi - p.0));
                sum += ci * rest.product::<f64>() / (xi - xj);
            }
        }
        sum
    }

    fn current(&self, x: f64) -> f64 {
        let points = self.around(x);
        let term = |(i, (xi, ci)): (usize, &(f64, f64))| {
            let others = points.iter().enumerate().filter(|(j, _)| *j != i);
            ci * others.map(|(_, p)| (x - p.0) / (xi - p.0)).product::<f64>()
        };
        points.iter().enumerate().map(term).sum()
    }

    /// Mean density from `a` to `b`, A/m².
    pub fn mean(&self, a: f64, b: f64) -> f64 {
        (self.current(b) - self.current(a)) / (b - a)
    }

    /// Mean density over the whole run, A/m².
    pub fn whole(&self) -> f64 {
        let (first, last) = (self.0[0], self.0[self.0.len() - 1]);
        (last.1 - first.1) / (last.0 - first.0)
    }

    /// Slope of ln|mean density| against ln(distance from `origin`) over the stretches whose ends
    /// lie between `near` and `far` of it; each stretch stands at the geometric mean of its ends.
    pub fn exponent(&self, origin: f64, near: f64, far: f64) -> f64 {
        let rows: Vec<(f64, f64)> = self
            .0
            .windows(2)
            .filter_map(|w| {
                let (a, b) = ((w[0].0 - origin).abs(), (w[1].0 - origin).abs());
                let inside = a.min(b) >= near && a.max(b) <= far;
                let mean = (w[1].1 - w[0].1) / (w[1].0 - w[0].0);
                inside.then(|| (0.5 * (a * b).ln(), mean.abs().ln()))
            })
            .collect();
        let n = rows.len() as f64;
        let (mx, my) =
            (rows.iter().map(|r| r.0).sum::<f64>() / n, rows.iter().map(|r| r.1).sum::<f64>() / n);
        let top: f64 = rows.iter().map(|r| (r.0 - mx) * (r.1 - my)).sum();
        top / rows.iter().map(|r| (r.0 - mx).powi(2)).sum::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ends at geometric distances from 0 of a density k·s^p.
    fn power(p: f64) -> Profile {
        let ends: Vec<f64> = (0..60).map(|k| 1e-4 * 1.15_f64.powi(k)).collect();
        Profile(ends.iter().map(|s| (*s, 7.0 * s.powf(p + 1.0) / (p + 1.0))).collect())
    }

    #[test]
    fn cubic_currents_are_exact() {
        let profile = Profile(
            [0.0f64, 0.3, 0.7, 1.0, 1.6].iter().map(|x| (*x, x * x * x - 2.0 * x)).collect(),
        );
        for x in [0.1, 0.5, 0.9, 1.5] {
            assert!((profile.at(x) - (3.0 * x * x - 2.0)).abs() < 1e-12);
        }
        assert!((profile.mean(0.2, 1.2) - (1.728 - 2.4 - 0.008 + 0.4)).abs() < 1e-12);
        assert!((profile.whole() - (4.096 - 3.2) / 1.6).abs() < 1e-12);
    }

    #[test]
    fn powers_are_found_again() {
        for p in [-0.5, -1.0 / 3.0, 1.0] {
            let found = power(p).exponent(0.0, 3e-4, 1e-1);
            assert!((found - p).abs() < 1e-3, "{p}: {found}");
            let at = power(p).at(0.01);
            assert!((at / (7.0 * 0.01f64.powf(p)) - 1.0).abs() < 1e-3, "{p}: {at}");
        }
    }
}
