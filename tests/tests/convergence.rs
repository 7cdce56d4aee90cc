//! Order of convergence on smooth outlines: eccentric cylinders with linear polarization.
//!
//! The grid follows the accuracy asked for, so the step is measured by what it costs: h ∝
//! 1/√unknowns. The slope of log error against log h is fitted over six accuracies. Total current
//! and mean density over forty fixed arcs of each wall must both converge with order at least 1.8.
use checks::{Reference, cases};
use shapes::{Point, Vec2};
use solver::{BodyResult, Solution, SolveSettings, Stretch, solve};

const ACCURACIES: [f64; 6] = [0.1, 0.03, 0.01, 0.003, 0.001, 0.0003];
const ARCS: usize = 40;

/// Current along a closed loop up to arc length `s` (A/m), cubic through the ends of the stretches.
fn cumulative(rows: &[Stretch], s: f64) -> f64 {
    let mut ends = vec![(rows[0].s_m - 0.5 * rows[0].length_m, 0.0)];
    for r in rows {
        let (s0, c0) = ends[ends.len() - 1];
        ends.push((s0 + r.length_m, c0 + r.length_m * r.current_density_a_m2));
    }
    let (first, (last, whole)) = (ends[0].0, ends[ends.len() - 1]);
    let period = last - first;
    let laps = ((s - first) / period).floor();
    let s = s - laps * period;
    let n = ends.len() - 1;
    let at = |j: isize| {
        let lap = j.div_euclid(n as isize);
        let (x, c) = ends[j.rem_euclid(n as isize) as usize];
        (x + lap as f64 * period, c + lap as f64 * whole)
    };
    let k = ends.partition_point(|e| e.0 <= s).clamp(1, n) as isize - 1;
    let points: Vec<(f64, f64)> = (k - 1..k + 3).map(at).collect();
    let lagrange = |(i, &(x, c)): (usize, &(f64, f64))| {
        let others = points.iter().enumerate().filter(|(j, _)| *j != i);
        c * others.map(|(_, &(y, _))| (s - y) / (x - y)).product::<f64>()
    };
    laps * whole + points.iter().enumerate().map(lagrange).sum::<f64>()
}

/// Largest error of the means over fixed arcs of a circular wall, relative to the wall's mean.
fn arc_error(reference: &Reference, k: usize, body: &BodyResult) -> f64 {
    let rows: Vec<Stretch> = {
        // the loop that carries current: the only one with rows
        let first = body.stretches[0].loop_index;
        body.stretches.iter().copied().filter(|s| s.loop_index == first).collect()
    };
    let length: f64 = rows.iter().map(|r| r.length_m).sum();
    let curve = &reference.layout.bodies[k].outline.loops()[rows[0].loop_index];
    let step = length / ARCS as f64;
    let mut worst: f64 = 0.0;
    for j in 0..ARCS {
        let (from, to) = (j as f64 * step, (j + 1) as f64 * step);
        let got = (cumulative(&rows, to) - cumulative(&rows, from)) / step;
        let at: Point = curve.point_at(0.5 * (from + to));
        let normal: Vec2 = curve.outward_at(0.5 * (from + to));
        let arc = Stretch { at, length_m: step, normal: [normal.x, normal.y], ..rows[0] };
        let want = (reference.density)(k, &arc).expect("an arc of the wall");
        worst = worst.max((got - want).abs());
    }
    worst * length * reference.layout.depth.si() / reference.current_a
}

/// Least-squares slope of ln(error) against ln(h).
fn slope(rows: &[(f64, f64)]) -> f64 {
    let n = rows.len() as f64;
    let (x, y): (Vec<f64>, Vec<f64>) =
        rows.iter().map(|(h, e)| (h.ln(), e.max(1e-13).ln())).unzip();
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let top: f64 = x.iter().zip(&y).map(|(a, b)| (a - mx) * (b - my)).sum();
    top / x.iter().map(|a| (a - mx).powi(2)).sum::<f64>()
}

fn check(reference: &Reference) {
    let (mut total, mut local) = (vec![], vec![]);
    for accuracy in ACCURACIES {
        let settings = SolveSettings { accuracy, ..SolveSettings::default() };
        let s: Solution = solve(&reference.layout, &settings, &mut |_| {})
            .unwrap_or_else(|e| panic!("{} at {accuracy}: {e}", reference.name));
        let h = 1.0 / (s.stats.unknowns as f64).sqrt();
        total.push((h, (s.supplies[0].current_a / reference.current_a - 1.0).abs()));
        let arcs = s
            .bodies
            .iter()
            .enumerate()
            .map(|(k, b)| arc_error(reference, k, b))
            .fold(0.0, f64::max);
        local.push((h, arcs));
        println!(
            "{}: {accuracy} n {} total {:.2e} arcs {arcs:.2e}",
            reference.name,
            s.stats.unknowns,
            total[total.len() - 1].1
        );
    }
    // asking for more must cost more, or there is nothing to fit
    assert!(
        total[0].0 > 1.5 * total[5].0,
        "{}: the grid does not follow the accuracy",
        reference.name
    );
    for (what, rows) in [("total current", &total), ("density over fixed arcs", &local)] {
        let order = slope(rows);
        assert!(
            order >= 1.8,
            "{}: {what} converges with order {order:.2}: {rows:?}",
            reference.name
        );
        let last = rows[rows.len() - 1].1;
        assert!(last <= ACCURACIES[5], "{}: {what} ends at {last:.1e}", reference.name);
    }
}

#[test]
fn eccentric_cylinders_wa_01() {
    check(&cases::cylinders::eccentric_polarized(0.1));
}

#[test]
fn eccentric_cylinders_wa_1() {
    check(&cases::cylinders::eccentric_polarized(1.0));
}

#[test]
fn eccentric_cylinders_wa_10() {
    check(&cases::cylinders::eccentric_polarized(10.0));
}

/// The cumulative interpolation itself: exact for a cubic-free periodic density as rows get finer.
#[test]
fn fixed_arcs_of_a_known_density_converge_with_order_four() {
    let errors: Vec<(f64, f64)> = [40, 80, 160]
        .iter()
        .map(|&n| {
            let length_m = 1.0 / n as f64;
            let mean = |a: f64, b: f64| 2.0 + ((7.0 * b).sin() - (7.0 * a).sin()) / (7.0 * (b - a));
            let tau = std::f64::consts::TAU / 7.0;
            let rows: Vec<Stretch> = (0..n)
                .map(|k| {
                    let (a, b) = (k as f64 * length_m * tau, (k + 1) as f64 * length_m * tau);
                    Stretch {
                        loop_index: 0,
                        s_m: 0.5 * (a + b),
                        length_m: b - a,
                        area_m2: b - a,
                        at: Point::ZERO,
                        normal: [1.0, 0.0],
                        potential_v: 0.0,
                        overpotential_v: 0.0,
                        current_density_a_m2: mean(a, b),
                        uncertainty_a_m2: 0.0,
                    }
                })
                .collect();
            let error = [(0.013, 0.41), (0.3, 0.77), (0.8, 0.99)]
                .iter()
                .map(|&(a, b)| {
                    (cumulative(&rows, b) - cumulative(&rows, a) - mean(a, b) * (b - a)).abs()
                })
                .fold(0.0, f64::max);
            (length_m, error)
        })
        .collect();
    assert!(slope(&errors) > 3.5, "{errors:?}");
}

/// Metal without polarization, in the plane and around the axis. Stretches are the same on every grid,
/// so their means stand for fixed arcs or rings. Chords that did not follow the accuracy left 2e-4.
const PRIMARY: [f64; 8] = [0.3, 0.1, 0.03, 0.01, 0.003, 0.001, 0.0003, 0.0001];

/// Root mean square error of the density over the surface of a body, relative to its mean.
fn stretch_error(reference: &Reference, k: usize, body: &BodyResult) -> f64 {
    let (mut sum, mut mean, mut surface) = (0.0, 0.0, 0.0);
    for s in &body.stretches {
        let want = (reference.density)(k, s).expect("a stretch of the wall");
        sum += s.area_m2 * (s.current_density_a_m2 - want).powi(2);
        mean += s.area_m2 * want.abs();
        surface += s.area_m2;
    }
    (sum * surface).sqrt() / mean
}

#[test]
fn eccentric_spheres_and_cylinders_without_polarization() {
    for reference in [
        cases::axial::eccentric_spheres(0.3, 0.4),
        cases::axial::eccentric_spheres(0.4, 0.2),
        cases::cylinders::eccentric_primary(0.4, 0.3),
    ] {
        let (mut total, mut local) = (vec![], vec![]);
        for accuracy in PRIMARY {
            let settings = SolveSettings { accuracy, ..SolveSettings::default() };
            let s = solve(&reference.layout, &settings, &mut |_| {}).expect("a solution");
            let h = 1.0 / (s.stats.unknowns as f64).sqrt();
            let current = (s.supplies[0].current_a / reference.current_a - 1.0).abs();
            let means = s.bodies.iter().enumerate().map(|(k, b)| stretch_error(&reference, k, b));
            let means = means.fold(0.0, f64::max);
            println!(
                "{}: {accuracy} n {} total {current:.2e} stretches {means:.2e}",
                reference.name, s.stats.unknowns
            );
            total.push((h, current));
            local.push((h, means));
        }
        for (what, rows) in [("total current", &total), ("density over stretches", &local)] {
            let order = slope(rows);
            println!("{}: {what} order {order:.2}", reference.name);
            assert!(order >= 1.8, "{}: {what}: order {order:.2}: {rows:?}", reference.name);
            // the last step as well: no floor
            let last = slope(&rows[rows.len() - 3..]);
            assert!(last >= 1.0, "{}: {what} ends with order {last:.2}: {rows:?}", reference.name);
            let end = rows[rows.len() - 1].1;
            assert!(end <= 1e-4, "{}: {what} ends at {end:.1e}", reference.name);
        }
    }
}
