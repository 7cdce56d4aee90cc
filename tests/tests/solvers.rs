//! Factorization and multigrid-preconditioned conjugate gradients give the same answer.
//!
//! Both solve the first grid (later grids may differ by a cell or two, because multigrid is asked
//! only roughly which cells matter); every current, voltage and local density must agree to 1e-8 of
//! the largest of its kind. Where conjugate gradients give up, a factorization takes over in
//! multigrid's place; on layouts without tiny cells that must not be.
use checks::{Reference, cases, load_fixtures, load_held_out, random};
use solver::stages::FirstGrid;
use solver::{Layout, Method, Solution, SolveError, SolveSettings, Stretch, solve};

const AGREE: f64 = 1e-8;
/// How much of that layouts drawn at random may use: others are to agree, too.
const MARGIN: f64 = 1.0 / 3.0;
/// Bodies that carry less than this share of the greatest density are idle: what they carry is
/// rounding of what others do.
const IDLE: f64 = 1e-3;
/// Thickness of the solver's boundary layer in cells (solver, `system/assemble.rs`).
const LAYER: f64 = 0.03;
/// Roundings that a potential carries after some thousand operations.
const ROUNDINGS: f64 = 100.0;
/// An accuracy that the first grid always has.
const ONE_GRID: f64 = 1e6;

/// The answer, and whether conjugate gradients found it.
fn solved(layout: &Layout, method: Method) -> (Result<Solution, SolveError>, bool) {
    let settings = SolveSettings { accuracy: ONE_GRID, max_unknowns: 60_000, method };
    let mut iterations = 0;
    let found = solve(layout, &settings, &mut |p| iterations = p.iterations);
    (found, iterations > 0)
}

/// Largest difference of two answers as a share of what is allowed: 1e-8 of the largest number of
/// its kind on its body.
///
/// At cells of some nanometres, where metals meet, the rounding of potentials alone is more than
/// that: through the layer of bath before the metal it makes the density [`ROUNDINGS`] uncertain.
fn difference(layout: &Layout, a: &Solution, b: &Solution) -> f64 {
    let bodies = || a.bodies.iter().zip(&b.bodies);
    let largest = |v: &mut dyn Iterator<Item = f64>| v.fold(0.0, |m: f64, x| m.max(x.abs()));
    let volts = largest(&mut a.bodies.iter().filter_map(|b| b.metal_potential_v)).max(1.0);
    let thinnest = LAYER * a.stats.finest_cell_m;
    let rounding = ROUNDINGS * f64::EPSILON * layout.conductivity.si() * volts / thinnest;
    let most = |pairs: &[(f64, f64)], idle: f64, rounding: f64| {
        let size = largest(&mut pairs.iter().map(|p| p.0)).max(idle);
        let off = pairs
            .iter()
            .map(|(x, y)| (x - y).abs())
            .fold(0.0, |m: f64, d| if d.is_nan() { f64::INFINITY } else { m.max(d) });
        off / (AGREE * size + rounding).max(f64::MIN_POSITIVE)
    };
    let currents: Vec<_> = bodies().map(|(x, y)| (x.current_a, y.current_a)).collect();
    let supplies = a.supplies.iter().zip(&b.supplies);
    let voltages: Vec<_> = supplies.map(|(x, y)| (x.voltage_v, y.voltage_v)).collect();
    let mut worst = most(&currents, 0.0, 0.0).max(most(&voltages, 0.0, 0.0));
    let density = |s: &Stretch| s.current_density_a_m2;
    let idle = IDLE * largest(&mut a.bodies.iter().flat_map(|b| &b.stretches).map(density));
    for (x, y) in bodies() {
        assert_eq!(x.stretches.len(), y.stretches.len());
        let stretches = x.stretches.iter().zip(&y.stretches);
        let pairs: Vec<_> = stretches.map(|(r, s)| (density(r), density(s))).collect();
        worst = worst.max(most(&pairs, idle, rounding));
    }
    worst
}

/// What is wrong with the two answers, if anything.
fn disagreement(name: &str, layout: &Layout, tame: bool) -> Option<String> {
    let (direct, _) = solved(layout, Method::Direct);
    let (iterated, by_iteration) = solved(layout, Method::Multigrid);
    if tame && !by_iteration {
        return Some(format!("{name}: a factorization took over"));
    }
    match (direct, iterated) {
        (Ok(a), Ok(b)) if a.stats.unknowns != b.stats.unknowns => {
            Some(format!("{name}: {} and {} unknowns", a.stats.unknowns, b.stats.unknowns))
        }
        (Ok(a), Ok(b)) => {
            let off = difference(layout, &a, &b);
            println!("{name}: {} unknowns, {off:.1e} of what is allowed", a.stats.unknowns);
            (off > if tame { 1.0 } else { MARGIN })
                .then(|| format!("{name}: {off:.1e} of what is allowed"))
        }
        (Err(a), Err(b)) if std::mem::discriminant(&a) == std::mem::discriminant(&b) => None,
        (a, b) => Some(format!("{name}: {:?} and {:?}", a.map(|s| s.stats), b.map(|s| s.stats))),
    }
}

fn check(layouts: impl Iterator<Item = (String, Layout)>, tame: bool, least: usize) {
    let (mut count, mut bad) = (0, Vec::new());
    for (name, layout) in layouts {
        count += 1;
        bad.extend(disagreement(&name, &layout, tame));
    }
    assert!(count >= least, "only {count} layouts");
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}

fn named(references: Vec<Reference>) -> impl Iterator<Item = (String, Layout)> {
    references.into_iter().map(|r| (r.name, r.layout))
}

#[test]
fn on_body_fitted_references() {
    check(named(load_fixtures()), true, 15);
}

#[test]
fn on_layouts_held_out() {
    check(named(load_held_out()), true, 15);
}

#[test]
fn on_closed_forms() {
    check(named(cases::all()), true, 20);
    check(named(cases::all_axial()), true, 10);
}

#[test]
fn on_random_layouts() {
    let layouts = (40_000..40_100).map(|seed| (format!("seed {seed}"), random::layout(seed)));
    check(layouts.filter(|(_, l)| l.check().is_ok()), false, 60);
}

/// One grid by hand, as it is timed, is what `solve` makes of one grid.
#[test]
fn the_stages_are_those_of_a_solve() {
    let settings = SolveSettings { accuracy: ONE_GRID, ..SolveSettings::default() };
    for reference in [cases::plates::parallel_tafel(), cases::cylinders::eccentric_polarized(0.1)] {
        let whole = solve(&reference.layout, &settings, &mut |_| {}).expect("a solution").stats;
        let mut first = FirstGrid::new(&reference.layout, &settings).expect("a grid");
        let mut solved = first.solve().expect("a solution");
        assert_eq!(whole.grids, 1);
        assert_eq!(first.assemble(), whole.unknowns);
        assert_eq!(solved.newton_steps(), whole.newton_steps);
        assert_eq!(first.estimate(&solved), whole.estimated_error);
        assert!(solved.factor());
    }
}
