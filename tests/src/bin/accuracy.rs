//! Prints how far the solver is from every reference:
//! `accuracy [1e-2 3e-3 ..] [placements=10] [name ..]`.
//!
//! Numbers are accuracies to ask for, words select layouts whose name contains one of them. With
//! `placements=N` each layout is solved as it stands and turned and moved N − 1 times, and the
//! line shows the worst of each figure (unknowns and milliseconds: largest). Errors are in percent:
//! local density on parts (p95, max) and on other metal, at points at least 0.3 mm from a corner,
//! relative to the local density or 5 % of the body's mean; `plain` is relative to the local
//! density alone. `cover` is the share of points on parts within their stated uncertainty. `I` and
//! `U` end in `!` where supply current or voltage miss theirs. `own` is the error of the reference.
use std::f64::consts::TAU;
use std::time::Instant;

use checks::{Comparison, Pose, Reference, compare, load_fixtures};
use shapes::Vec2;
use solver::{SolveError, SolveSettings, SolveStats, solve};

fn main() {
    let (mut accuracies, mut words, mut placements) = (Vec::new(), Vec::new(), 1);
    for arg in std::env::args().skip(1) {
        if let Some(n) = arg.strip_prefix("placements=").and_then(|n| n.parse().ok()) {
            placements = n;
        } else if let Ok(v) = arg.parse::<f64>() {
            accuracies.push(v);
        } else {
            words.push(arg);
        }
    }
    if accuracies.is_empty() {
        accuracies.push(0.01);
    }
    let mut references = load_fixtures();
    references.extend(checks::cases::all());
    if placements == 1 {
        // these stand on their axis
        references.extend(checks::cases::all_axial());
    }
    references.retain(|r| words.is_empty() || words.iter().any(|w| r.name.contains(w.as_str())));
    for accuracy in accuracies {
        println!(
            "\naccuracy {:.2} %, {placements} placement(s)\n{:26} {:>6} {:>4} {:>3} {:>6} | {:>5} {:>7} {:>7} {:>7} {:>6} | {:>7} {:>7} | {:>8} {:>7} {:>8} | {:>7} | worst at",
            100.0 * accuracy,
            "layout",
            "n",
            "grid",
            "nwt",
            "ms",
            "pts",
            "p95",
            "max",
            "plain",
            "cover",
            "oth p95",
            "oth max",
            "I",
            "I body",
            "U",
            "own",
        );
        for reference in &references {
            line(reference, accuracy, placements);
        }
    }
}

/// Deterministic, irregular places: multiples of irrational numbers, shifts below 100 mm.
fn pose(j: usize) -> Pose {
    let part = |x: f64| (x * j as f64).fract();
    let angle = if j == 0 { 0.0 } else { TAU * part(0.618_033_988_749_895) };
    Pose { angle, shift: Vec2::new(0.1 * part(0.754_877_666), 0.1 * part(0.569_840_291)) }
}

fn run(reference: &Reference, accuracy: f64) -> Result<(f64, SolveStats, Comparison), SolveError> {
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    let start = Instant::now();
    let solution = solve(&reference.layout, &settings, &mut |_| {})?;
    let ms = start.elapsed().as_secs_f64() * 1e3;
    Ok((ms, solution.stats, compare(&solution, reference)))
}

fn line(reference: &Reference, accuracy: f64, placements: usize) {
    let mut runs = Vec::new();
    for j in 0..placements {
        match run(&reference.placed(pose(j)), accuracy) {
            Ok(r) => runs.push(r),
            Err(e) => return println!("{:26} placement {j}: {e}", reference.name),
        }
    }
    let most =
        |f: &dyn Fn(&(f64, SolveStats, Comparison)) -> f64| runs.iter().map(f).fold(0.0, f64::max);
    let percent = |f: fn(&Comparison) -> f64| format!("{:.4}", 100.0 * most(&|r| f(&r.2)));
    let (j, worst) = runs
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.2.worst.total_cmp(&b.1.2.worst))
        .expect("at least one placement");
    let unmatched = most(&|r| r.2.unmatched as f64);
    let mark = |ok: fn(&Comparison) -> bool| if runs.iter().all(|r| ok(&r.2)) { "" } else { "!" };
    println!(
        "{:26} {:>6} {:>4} {:>3} {:>6.1} | {:>5} {:>7} {:>7} {:>7} {:>6.3} | {:>7} {:>7} | {:>8} {:>7} {:>8} | {:>7.4} | {} ({:.2}, {:.2}) i/mean {:.2} placement {j}{}",
        reference.name,
        most(&|r| r.1.unknowns as f64),
        most(&|r| r.1.grids as f64),
        most(&|r| r.1.newton_steps as f64),
        most(&|r| r.0),
        worst.2.parts.points,
        percent(|c| c.parts.p95),
        percent(|c| c.parts.max),
        percent(|c| c.parts.max_plain),
        1.0 - most(&|r| 1.0 - r.2.parts.covered),
        percent(|c| c.others.p95),
        percent(|c| c.others.max),
        percent(|c| c.current) + mark(|c| c.current_covered),
        percent(|c| c.body_current),
        percent(|c| c.voltage) + mark(|c| c.voltage_covered),
        100.0 * reference.own_error,
        worst.2.worst_at.0,
        worst.2.worst_at.1.x,
        worst.2.worst_at.1.y,
        worst.2.worst_level,
        if unmatched > 0.0 { format!(" UNMATCHED {unmatched}") } else { String::new() },
    );
}
