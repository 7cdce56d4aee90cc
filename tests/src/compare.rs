//! How far a solution is from the truth.
use shapes::Point;
use solver::{Role, Solution};

use crate::reference::Reference;

/// Points nearer than this to a corner do not count, m.
pub const CLEAR_OF_CORNERS: f64 = 0.3e-3;

/// Floor of relative errors: share of the body's mean density.
pub const FLOOR: f64 = 0.05;

/// Errors of local density over a set of bodies, each stretch a point.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Errors {
    /// Stretches compared.
    pub points: usize,
    /// 95th percentile of |error| / max(|i|, 5 % of the body's mean |i|).
    pub p95: f64,
    /// Largest of these.
    pub max: f64,
    /// 95th percentile of |error| / |i|.
    pub p95_plain: f64,
    /// Largest of these.
    pub max_plain: f64,
    /// Share of stretches whose error is within their stated uncertainty.
    pub covered: f64,
    /// Largest (error / stated uncertainty).
    pub worst_claim: f64,
}

/// A solution measured against its reference.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// On the parts.
    pub parts: Errors,
    /// On all other metal.
    pub others: Errors,
    /// Error over stated uncertainty of every stretch on the parts.
    pub claims: Vec<f64>,
    /// Largest error on any metal.
    pub worst: f64,
    /// Body and place (mm) of the largest error on any metal.
    pub worst_at: (String, Point),
    /// True density there, relative to the body's mean.
    pub worst_level: f64,
    /// Stretches that do not lie on the wetted outline of the reference: must be none.
    pub unmatched: usize,
    /// Largest relative error of a body's net current (relative to the supply current).
    pub body_current: f64,
    /// Relative error of the supply current.
    pub current: f64,
    /// Relative error of the voltage.
    pub voltage: f64,
    /// Supply current lies within its stated uncertainty (or within rounding).
    pub current_covered: bool,
    /// Voltage lies within its stated uncertainty (or within rounding).
    pub voltage_covered: bool,
}

/// Compares every stretch of `solution` that is clear of corners with the true mean over it.
pub fn compare(solution: &Solution, truth: &Reference) -> Comparison {
    let (mut parts, mut others) = (Vec::new(), Vec::new());
    let mut unmatched = 0;
    let mut worst = (0.0, String::new(), Point::ZERO, 0.0);
    for (k, body) in solution.bodies.iter().enumerate() {
        let rows: Vec<_> = body
            .stretches
            .iter()
            .filter_map(|s| match (truth.density)(k, s) {
                Some(i) => Some((s, i)),
                None => {
                    unmatched += 1;
                    None
                }
            })
            .collect();
        let length: f64 = rows.iter().map(|(s, _)| s.length_m).sum();
        let mean = rows.iter().map(|(s, i)| s.length_m * i.abs()).sum::<f64>() / length;
        for (s, i) in rows {
            if truth.corners.iter().any(|c| c.distance(s.at) < CLEAR_OF_CORNERS) {
                continue;
            }
            let error = (s.current_density_a_m2 - i).abs();
            let relative = error / i.abs().max(FLOOR * mean);
            // NaN must show up as an error, not vanish in comparisons
            let relative = if relative.is_nan() { f64::INFINITY } else { relative };
            let claim = if error == 0.0 { 0.0 } else { error / s.uncertainty_a_m2 };
            let row = Row { relative, plain: error / i.abs(), claim };
            if relative > worst.0 {
                worst = (
                    relative,
                    body.name.clone(),
                    Point::new(s.at.x * 1e3, s.at.y * 1e3),
                    i.abs() / mean,
                );
            }
            if body.role == Role::Part { &mut parts } else { &mut others }.push(row);
        }
    }
    let body_current = solution
        .bodies
        .iter()
        .zip(&truth.currents_a)
        .filter_map(|(b, t)| t.map(|t| (b.current_a - t).abs() / truth.current_a))
        .fold(0.0, f64::max);
    let supply = &solution.supplies[0];
    let within = |got: f64, want: f64, claim: f64| (got - want).abs() <= claim + 1e-9 * want.abs();
    Comparison {
        claims: parts.iter().map(|r| r.claim).collect(),
        parts: Errors::of(parts),
        others: Errors::of(others),
        worst: worst.0,
        worst_at: (worst.1, worst.2),
        worst_level: worst.3,
        unmatched,
        body_current,
        current: (supply.current_a / truth.current_a - 1.0).abs(),
        voltage: (supply.voltage_v / truth.voltage_v - 1.0).abs(),
        current_covered: within(supply.current_a, truth.current_a, supply.current_uncertainty_a),
        voltage_covered: within(supply.voltage_v, truth.voltage_v, supply.voltage_uncertainty_v),
    }
}

struct Row {
    relative: f64,
    plain: f64,
    claim: f64,
}

impl Errors {
    fn of(rows: Vec<Row>) -> Self {
        let sorted = |f: fn(&Row) -> f64| {
            let mut v: Vec<f64> = rows.iter().map(f).collect();
            v.sort_by(f64::total_cmp);
            v
        };
        let (relative, plain) = (sorted(|r| r.relative), sorted(|r| r.plain));
        Self {
            points: rows.len(),
            p95: percentile_95(&relative),
            max: relative.last().copied().unwrap_or(0.0),
            p95_plain: percentile_95(&plain),
            max_plain: plain.last().copied().unwrap_or(0.0),
            covered: rows.iter().filter(|r| r.claim <= 1.0).count() as f64
                / rows.len().max(1) as f64,
            worst_claim: rows.iter().map(|r| r.claim).fold(0.0, f64::max),
        }
    }
}

/// Least value that at least 95 % of the sorted values do not exceed.
fn percentile_95(sorted: &[f64]) -> f64 {
    match sorted.len() {
        0 => 0.0,
        n => sorted[((0.95 * n as f64).ceil() as usize).clamp(1, n) - 1],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ninety_fifth_percentile_of_a_hundred_is_the_ninety_fifth() {
        let v: Vec<f64> = (1..=100).map(f64::from).collect();
        assert_eq!(percentile_95(&v), 95.0);
        assert_eq!(percentile_95(&[3.0]), 3.0);
    }
}
