//! A measured polarization curve: a monotone cubic through its points.
//!
//! Piecewise cubic Hermite interpolation with the slopes of Fritsch and Carlson (SIAM J. Numer.
//! Anal. 17 (1980) 238): the curve rises wherever the points rise and never overshoots. It starts
//! at the origin, is continued as a straight line beyond the last point, and is its own mirror
//! image for the opposite direction.
use super::exponential::{finish, limited};
use super::{LawError, Series, linear};

/// Points of a rising curve from the origin, SI units.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Curve {
    eta: Vec<f64>,
    j: Vec<f64>,
    slope: Vec<f64>,
}

impl Curve {
    /// From points (|η|, |j|), finite and not negative.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, LawError> {
        let origin = points.first() == Some(&(0.0, 0.0));
        let shift = usize::from(!origin);
        let mut all = Vec::with_capacity(points.len() + shift);
        all.push((0.0, 0.0));
        all.extend(points.iter().copied().skip(usize::from(origin)));
        if all.len() < 2 {
            return Err(LawError::TableEmpty);
        }
        for (k, pair) in all.windows(2).enumerate() {
            if pair[1].0 <= pair[0].0 || pair[1].1 <= pair[0].1 {
                return Err(LawError::TableNotRising { point: k + 2 - shift });
            }
        }
        let (eta, j): (Vec<f64>, Vec<f64>) = all.into_iter().unzip();
        let slope = slopes(&eta, &j);
        Ok(Self { eta, j, slope })
    }

    fn last(&self) -> usize {
        self.eta.len() - 1
    }

    /// Resistance of the straight continuation and the η at which it would meet j = 0.
    fn beyond(&self) -> (f64, f64) {
        let n = self.last();
        let resistance = 1.0 / self.slope[n];
        (resistance, self.eta[n] - self.j[n] * resistance)
    }

    pub fn kinetic(&self, eta: f64) -> (f64, f64) {
        let x = eta.abs();
        let k = self.eta.partition_point(|&e| e <= x);
        let (j, dj) = if k > self.last() {
            let n = self.last();
            (self.j[n] + self.slope[n] * (x - self.eta[n]), self.slope[n])
        } else {
            self.cubic(k - 1, x)
        };
        (j.copysign(eta), dj)
    }

    /// The Hermite cubic of interval `k` at `x`, and its derivative.
    fn cubic(&self, k: usize, x: f64) -> (f64, f64) {
        let h = self.eta[k + 1] - self.eta[k];
        let rise = (self.j[k + 1] - self.j[k]) / h;
        let (m0, m1) = (self.slope[k], self.slope[k + 1]);
        let d = x - self.eta[k];
        let t = d / h;
        let second = 3.0 * rise - 2.0 * m0 - m1;
        let third = m0 + m1 - 2.0 * rise;
        let j = self.j[k] + d * (m0 + t * (second + t * third));
        (j, (m0 + t * (2.0 * second + 3.0 * t * third)).max(0.0))
    }

    /// η at a kinetic current density of either sign.
    pub fn eta(&self, j_kin: f64) -> f64 {
        let wanted = j_kin.abs();
        let k = self.j.partition_point(|&j| j <= wanted);
        let eta = if k > self.last() {
            let (resistance, foot) = self.beyond();
            foot + resistance * wanted
        } else {
            let mean = |x| {
                let (j, dj) = self.cubic(k - 1, x);
                (j - wanted, dj)
            };
            bracketed(mean, self.eta[k - 1], self.eta[k], f64::NAN, f64::EPSILON * wanted)
        };
        eta.copysign(j_kin)
    }

    /// Solves η + r j(η) = s: the interval by bisection over the points, then Newton in it.
    pub fn in_series(&self, limit: f64, s: f64, r: f64, guess: f64) -> Series {
        if s < 0.0 {
            let m = self.in_series(limit, -s, r, -guess);
            return Series { j: -m.j, eta: -m.eta, ..m };
        }
        let reach = |k: usize| self.eta[k] + r * limited(self.j[k], 0.0, limit).0;
        let (mut k, mut above) = (0, self.eta.len());
        while above - k > 1 {
            let middle = (k + above) / 2;
            if reach(middle) <= s {
                k = middle;
            } else {
                above = middle;
            }
        }
        if k == self.last() {
            let (resistance, foot) = self.beyond();
            // the foot may be far away: a Newton step from the last point takes its rounding out
            let eta = linear::in_series(resistance, limit, s - foot, r).eta + foot;
            let (j_kin, dj_kin) = self.kinetic(eta);
            let (j, dj) = limited(j_kin, dj_kin, limit);
            return finish(eta, j, dj, s, r);
        }
        let whole = |x| {
            let (j_kin, dj_kin) = self.cubic(k, x);
            let (j, dj) = limited(j_kin, dj_kin, limit);
            (x + r * j - s, 1.0 + r * dj)
        };
        let eta = match s {
            0.0 => 0.0,
            _ => bracketed(whole, self.eta[k], self.eta[k + 1], guess, f64::EPSILON * s),
        };
        let (j_kin, dj_kin) = self.cubic(k, eta);
        let (j, dj) = limited(j_kin, dj_kin, limit);
        finish(eta, j, dj, s, r)
    }
}

/// Root of a rising function with a sign change in [low, high]: Newton, bisecting when a step
/// leaves the bracket.
fn bracketed(
    f: impl Fn(f64) -> (f64, f64),
    mut low: f64,
    mut high: f64,
    guess: f64,
    noise: f64,
) -> f64 {
    let mut x = if guess > low && guess < high { guess } else { 0.5 * (low + high) };
    for _ in 0..100 {
        let (value, slope) = f(x);
        if value.abs() <= noise {
            break;
        }
        if value > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let next = x - value / slope;
        let next = if next > low && next < high { next } else { 0.5 * (low + high) };
        let moved = (next - x).abs();
        x = next;
        if moved <= f64::EPSILON * x {
            break;
        }
    }
    x
}

/// Fritsch and Carlson's slopes: means of the neighbouring secants, shortened where the pair of an
/// interval lies outside the circle of radius 3 in which the cubic is monotone. The end slopes are
/// the end secants, so the straight continuation always rises.
fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let secants: Vec<f64> =
        x.windows(2).zip(y.windows(2)).map(|(x, y)| (y[1] - y[0]) / (x[1] - x[0])).collect();
    let n = secants.len();
    let mut slope: Vec<f64> =
        (0..=n).map(|k| 0.5 * (secants[k.saturating_sub(1)] + secants[k.min(n - 1)])).collect();
    for (k, &secant) in secants.iter().enumerate() {
        let (a, b) = (slope[k] / secant, slope[k + 1] / secant);
        let radius = libm::hypot(a, b);
        if radius > 3.0 {
            slope[k] = 3.0 * a / radius * secant;
            slope[k + 1] = 3.0 * b / radius * secant;
        }
    }
    slope
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_straight_table_is_a_resistance() {
        let curve =
            Curve::new(&[(0.1, 100.0), (0.2, 200.0), (0.5, 500.0)]).expect("a rising table");
        for eta in [-2.0, -0.3, 0.05, 0.15, 0.77] {
            let (j, dj) = curve.kinetic(eta);
            assert!((j - 1000.0 * eta).abs() < 1e-10 && (dj - 1000.0).abs() < 1e-9);
        }
        assert!((curve.in_series(f64::INFINITY, 1.0, 1e-3, 0.3).j - 500.0).abs() < 1e-10);
    }

    #[test]
    fn the_curve_passes_through_its_points_and_is_odd() {
        let points = [(0.0, 0.0), (0.05, 20.0), (0.1, 30.0), (0.2, 200.0)];
        let curve = Curve::new(&points).expect("a rising table");
        for (eta, j) in points {
            assert!((curve.kinetic(eta).0 - j).abs() < 1e-12);
            assert!((curve.kinetic(-eta).0 + j).abs() < 1e-12);
        }
    }

    #[test]
    fn tables_that_do_not_rise_are_refused_at_the_point_as_written() {
        assert_eq!(Curve::new(&[]), Err(LawError::TableEmpty));
        assert_eq!(Curve::new(&[(0.0, 0.0)]), Err(LawError::TableEmpty));
        let dip = [(0.0, 0.0), (0.1, 5.0), (0.2, 5.0)];
        assert_eq!(Curve::new(&dip), Err(LawError::TableNotRising { point: 3 }));
        assert_eq!(Curve::new(&dip[1..]), Err(LawError::TableNotRising { point: 2 }));
        assert_eq!(Curve::new(&[(0.0, 4.0)]), Err(LawError::TableNotRising { point: 1 }));
    }

    proptest! {
        #[test]
        fn the_curve_rises_between_rising_points(
            steps in prop::collection::vec((1e-4..0.3f64, 1e-6..500.0f64), 1..9),
            from in 0.0..1.0f64, by in 1e-9..0.2f64,
        ) {
            let mut at = (0.0, 0.0);
            let points: Vec<_> = steps.iter().map(|s| { at = (at.0 + s.0, at.1 + s.1); at }).collect();
            let curve = Curve::new(&points).expect("a rising table");
            let eta = from * 1.2 * at.0;
            let (below, above) = (curve.kinetic(eta).0, curve.kinetic(eta + by).0);
            prop_assert!(above >= below - 1e-13 * above);
            let back = curve.eta(below);
            prop_assert!((curve.kinetic(back).0 - below).abs() <= 1e-13 * at.1);
        }
    }
}
