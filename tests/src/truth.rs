//! What every answer must satisfy, whatever the layout.
use shapes::Point;
use solver::{Kinetics, Layout, Role, Solution, Supply};

/// Everything wrong with an answer; empty is good.
pub fn faults(layout: &Layout, s: &Solution) -> Vec<String> {
    let mut out = Vec::new();
    let mut need = |ok: bool, what: String| {
        if !ok {
            out.push(what);
        }
    };
    need(s.current_balance.abs() <= 1e-10, format!("balance {:.1e}", s.current_balance));
    let depth = layout.depth.si();
    let traffic: f64 = s.bodies.iter().map(|b| b.current_a.abs()).sum();
    let throughput = |b: &solver::BodyResult| -> f64 {
        b.stretches.iter().map(|r| (r.current_density_a_m2 * r.length_m).abs() * depth).sum()
    };
    let gross: f64 = s.bodies.iter().map(throughput).sum();
    for (b, given) in s.bodies.iter().zip(&layout.bodies) {
        let sum: f64 =
            b.stretches.iter().map(|r| r.current_density_a_m2 * r.length_m * depth).sum();
        let off = (sum - b.current_a).abs();
        need(
            off <= 1e-9 * throughput(b),
            format!("{}: stretches sum to {sum}, body {}", b.name, b.current_a),
        );
        if b.role == Role::Floating {
            need(
                b.current_a.abs() <= 1e-10 * gross,
                format!("{}: floats with {:.1e} of {gross:.1e} A", b.name, b.current_a),
            );
        }
        need(
            b.current_a.is_finite() && b.current_uncertainty_a >= 0.0,
            format!("{}: current", b.name),
        );
        let d = &b.density;
        need(
            [d.mean, d.min, d.max].iter().all(|v| v.is_finite())
                && [d.mean_uncertainty, d.min_uncertainty, d.max_uncertainty]
                    .iter()
                    .all(|v| *v >= 0.0),
            format!("{}: spread {d:?}", b.name),
        );
        let limit = given.law.limiting.map_or(f64::INFINITY, |l| l.si());
        let slack = 1e-9 * d.max.abs().max(d.min.abs());
        for r in &b.stretches {
            let numbers = [
                r.s_m,
                r.length_m,
                r.at.x,
                r.at.y,
                r.normal[0],
                r.normal[1],
                r.potential_v,
                r.overpotential_v,
                r.current_density_a_m2,
                r.uncertainty_a_m2,
            ];
            need(numbers.iter().all(|v| v.is_finite()), format!("{}: not finite {r:?}", b.name));
            need(r.length_m > 0.0, format!("{}: length {r:?}", b.name));
            need(
                r.uncertainty_a_m2 > 0.0 || r.current_density_a_m2 == 0.0,
                format!("{}: no uncertainty {r:?}", b.name),
            );
            need(
                r.current_density_a_m2.abs() <= limit * (1.0 + 1e-9),
                format!("{}: beyond the limit {limit}: {r:?}", b.name),
            );
            if let (Kinetics::Linear { resistance }, None) =
                (&given.law.kinetics, given.law.limiting)
            {
                let want = -r.overpotential_v / resistance.si();
                need(
                    (want - r.current_density_a_m2).abs() <= 1e-7 * want.abs() + slack,
                    format!("{}: law {want} {r:?}", b.name),
                );
            }
        }
    }
    let anodes: f64 = s.bodies.iter().filter(|b| b.role == Role::Anode).map(|b| -b.current_a).sum();
    need((anodes - s.supply.current_a).abs() <= 1e-9 * traffic, "supply is not the anodes".into());
    let parts = || s.bodies.iter().filter(|b| b.role == Role::Part);
    let (wanted, got) = match layout.supply {
        Supply::Current(i) => (i.si(), s.supply.current_a),
        Supply::MeanDensity(d) => (
            d.si(),
            parts().map(|b| b.current_a).sum::<f64>() / parts().map(|b| b.area_m2).sum::<f64>(),
        ),
        Supply::Voltage(v) => (v.si(), s.supply.voltage_v),
    };
    need((wanted - got).abs() <= 1e-8 * wanted, format!("supply wants {wanted}, has {got}"));
    let w = &s.supply;
    need(
        [w.voltage_v, w.anode_v, w.solution_v, w.cathode_v].iter().all(|v| v.is_finite())
            && w.current_uncertainty_a >= 0.0
            && w.voltage_uncertainty_v >= 0.0,
        format!("{w:?}"),
    );
    need(
        s.stats.estimated_error.is_finite() && s.stats.worst_error.is_finite(),
        format!("{:?}", s.stats),
    );
    let passed = excess(layout, s);
    need(passed <= 0.02, format!("maximum principle passed by {passed:.1e} of the range"));
    out
}

/// By how much of the range of surface potentials the bath's potential leaves that range.
pub fn excess(layout: &Layout, s: &Solution) -> f64 {
    let surface = || s.bodies.iter().flat_map(|b| &b.stretches).map(|r| r.potential_v);
    let low = surface().fold(f64::INFINITY, f64::min);
    let high = surface().fold(f64::NEG_INFINITY, f64::max);
    let box_ = layout.tank.bounds();
    let mut most: f64 = 0.0;
    const SIDE: usize = 40;
    for j in 0..SIDE {
        for i in 0..SIDE {
            let at = |k: usize, a: f64, b: f64| a + (k as f64 + 0.5) / SIDE as f64 * (b - a);
            let p = Point::new(at(i, box_.x0, box_.x1), at(j, box_.y0, box_.y1));
            if let Some(f) = s.field.at(p) {
                let v = f.potential_v;
                if !v.is_finite() {
                    return f64::INFINITY;
                }
                most = most.max(v - high).max(low - v);
            }
        }
    }
    let noise = 1e-9 * high.abs().max(low.abs());
    (most - noise).max(0.0) / (high - low).max(1e-300)
}
