//! What every answer must satisfy, whatever the layout.
use shapes::Point;
use solver::{Drive, Kinetics, Layout, Role, Solution};

/// Thickness of the solver's boundary layer in cells (solver, `system/assemble.rs`).
const LAYER: f64 = 0.03;

/// Everything wrong with an answer; empty is good.
pub fn faults(layout: &Layout, s: &Solution) -> Vec<String> {
    let mut out = Vec::new();
    let mut need = |ok: bool, what: String| {
        if !ok {
            out.push(what);
        }
    };
    let depth = layout.depth_m();
    let traffic: f64 = s.bodies.iter().map(|b| b.current_a.abs()).sum();
    let throughput = |b: &solver::BodyResult| -> f64 {
        b.stretches.iter().map(|r| (r.current_density_a_m2 * r.area_m2).abs()).sum()
    };
    let gross: f64 = s.bodies.iter().map(throughput).sum();
    // an idle cell: potentials of some volts are rounded to 1e-16 of themselves, and that times the
    // conductivity is a current no balance can be better than
    let volts =
        s.bodies.iter().filter_map(|b| b.metal_potential_v).fold(1.0, |a: f64, v| a.max(v.abs()));
    // and each cell at metal turns one rounding of a potential into a current through its layer,
    // whose thickness is LAYER cells whatever their size
    let cells = (s.stats.cells as f64 * f64::EPSILON / LAYER).max(1e-11);
    let rounding = cells * layout.conductivity.si() * depth * volts;
    need(
        s.current_balance.abs() * 0.5 * traffic <= 1e-10 * 0.5 * traffic + rounding,
        format!("balance {:.1e} of {traffic:.1e} A", s.current_balance),
    );
    for (b, given) in s.bodies.iter().zip(&layout.bodies) {
        let sum: f64 = b.stretches.iter().map(|r| r.current_density_a_m2 * r.area_m2).sum();
        let off = (sum - b.current_a).abs();
        need(
            off <= 1e-9 * throughput(b),
            format!("{}: stretches sum to {sum}, body {}", b.name, b.current_a),
        );
        if b.role == Role::Floating {
            need(
                b.current_a.abs() <= 1e-10 * gross + rounding,
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
            need(r.length_m > 0.0 && r.area_m2 > 0.0, format!("{}: size {r:?}", b.name));
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
    let supplied: f64 = s.supplies.iter().map(|w| w.current_a).sum();
    let moved: f64 = s.supplies.iter().map(|w| w.current_a.abs()).sum();
    need(
        (anodes - supplied).abs() <= 1e-9 * traffic.max(moved),
        "supplies are not the anodes".into(),
    );
    for (given, w) in layout.supplies.iter().zip(&s.supplies) {
        let parts = || layout.parts_of(given).into_iter().map(|b| &s.bodies[b]);
        let area = || parts().map(|b| b.area_m2).sum::<f64>();
        let (wanted, got) = match given.drive {
            Drive::Current(i) => (i.si(), w.current_a),
            Drive::MeanDensity(d) => (d.si(), parts().map(|b| b.current_a).sum::<f64>() / area()),
            Drive::Voltage(v) => (v.si(), w.voltage_v),
        };
        // the parts' mean is met to a share of all that passes: a thief may take far more
        let per_part = match given.drive {
            Drive::MeanDensity(_) => gross / area(),
            _ => 0.0,
        };
        need(
            (wanted - got).abs() <= 1e-8 * wanted.max(per_part),
            format!("{} wants {wanted}, has {got}", w.name),
        );
        let volts = [w.voltage_v, w.anode_v, w.solution_v, w.cathode_v, w.leads_v, w.contacts_v];
        need(
            volts.iter().all(|v| v.is_finite())
                && w.current_uncertainty_a >= 0.0
                && w.voltage_uncertainty_v >= 0.0,
            format!("{w:?}"),
        );
    }
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

/// True if bath surely leads from an anode to the part of this name.
pub fn connected(layout: &Layout, part: &str) -> bool {
    leads(layout, &|b| b.role == Role::Anode, &|b| b.name == part)
}

/// True if bath surely leads from some metal to some other: a coarse walk that keeps clear of
/// everything solid.
pub fn leads(
    layout: &Layout,
    from: &dyn Fn(&solver::Body) -> bool,
    to: &dyn Fn(&solver::Body) -> bool,
) -> bool {
    const SIDE: usize = 120;
    let box_ = layout.tank.bounds();
    let step = box_.width().max(box_.height()) / SIDE as f64;
    let place =
        |i: usize, j: usize| Point::new(box_.x0 + i as f64 * step, box_.y0 + j as f64 * step);
    let solid = || layout.bodies.iter().filter(|b| !matches!(b.role, Role::Screen { .. }));
    let open: Vec<bool> = (0..SIDE * SIDE)
        .map(|k| {
            let p = place(k % SIDE, k / SIDE);
            // clear by a whole step, so that a step to the next open place meets nothing
            layout.tank.signed_distance(p).abs() > step
                && layout.tank.contains(p)
                && solid().all(|b| !b.outline.contains(p) && b.outline.distance(p) > step)
        })
        .collect();
    // a place beside bare metal: nothing else can lie between
    let beside = |k: usize, wanted: &dyn Fn(&solver::Body) -> bool| {
        let p = place(k % SIDE, k / SIDE);
        let nearest =
            solid().min_by(|a, b| a.outline.distance(p).total_cmp(&b.outline.distance(p)));
        let bare = |b: &solver::Body| {
            let (index, s, _) = b.outline.nearest(p);
            !b.is_masked(index, s)
        };
        let nearer = |b: &solver::Body| b.outline.distance(p) < layout.tank.distance(p);
        open[k] && nearest.is_some_and(|b| wanted(b) && nearer(b) && bare(b))
    };
    let mut reached: Vec<bool> = (0..SIDE * SIDE).map(|k| beside(k, from)).collect();
    let mut todo: Vec<usize> = (0..SIDE * SIDE).filter(|&k| reached[k]).collect();
    while let Some(k) = todo.pop() {
        if beside(k, to) {
            return true;
        }
        let (i, j) = (k % SIDE, k / SIDE);
        let mut go = |ok: bool, next: usize| {
            if ok && open[next] && !reached[next] {
                reached[next] = true;
                todo.push(next);
            }
        };
        go(i > 0, k.wrapping_sub(1));
        go(i + 1 < SIDE, k + 1);
        go(j > 0, k.wrapping_sub(SIDE));
        go(j + 1 < SIDE, k + SIDE);
    }
    false
}
