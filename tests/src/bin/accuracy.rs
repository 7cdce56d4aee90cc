//! Prints how far the solver is from every reference: `accuracy [1e-2 3e-3 ..] [name ..]`.
//!
//! Numbers are accuracies to ask for, words select layouts whose name contains one of them. Errors
//! are in percent: local density on parts (p95, max) and on other metal, at points at least 0.3 mm
//! from a corner; `plain` is relative to the local density itself. `own` is the error of the
//! reference. `cover` is the share of points within their claimed uncertainty.
use std::time::Instant;

use checks::{Reference, compare, load_fixtures};
use solver::{SolveSettings, solve};

fn main() {
    let (mut accuracies, mut words) = (Vec::new(), Vec::new());
    for arg in std::env::args().skip(1) {
        match arg.parse::<f64>() {
            Ok(v) => accuracies.push(v),
            Err(_) => words.push(arg),
        }
    }
    if accuracies.is_empty() {
        accuracies.push(0.01);
    }
    let mut references = load_fixtures();
    references.extend(checks::cases::all());
    let wanted =
        |r: &&Reference| words.is_empty() || words.iter().any(|w| r.name.contains(w.as_str()));
    for accuracy in accuracies {
        println!(
            "\naccuracy {:.2} %\n{:26} {:>6} {:>4} {:>3} {:>6} | {:>5} {:>7} {:>7} {:>7} {:>6} | {:>7} {:>7} | {:>7} {:>7} {:>7} | {:>7} | worst at",
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
        for reference in references.iter().filter(wanted) {
            line(reference, accuracy);
        }
    }
}

fn line(reference: &Reference, accuracy: f64) {
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    let start = Instant::now();
    let solution = match solve(&reference.layout, &settings, &mut |_| {}) {
        Ok(s) => s,
        Err(e) => return println!("{:26} {e}", reference.name),
    };
    let ms = start.elapsed().as_secs_f64() * 1e3;
    let c = compare(&solution, reference);
    let p = |v: f64| format!("{:.4}", 100.0 * v);
    println!(
        "{:26} {:>6} {:>4} {:>3} {:>6.1} | {:>5} {:>7} {:>7} {:>7} {:>6.3} | {:>7} {:>7} | {:>7} {:>7} {:>7} | {:>7} | {} ({:.2}, {:.2}) i/mean {:.2}{}{}",
        reference.name,
        solution.stats.unknowns,
        solution.stats.grids,
        solution.stats.newton_steps,
        ms,
        c.parts.points,
        p(c.parts.p95),
        p(c.parts.max),
        p(c.parts.max_plain),
        c.parts.covered,
        p(c.others.p95),
        p(c.others.max),
        p(c.current),
        p(c.body_current),
        p(c.voltage),
        p(reference.own_error),
        c.worst_at.0,
        c.worst_at.1.x,
        c.worst_at.1.y,
        c.worst_level,
        if c.unmatched > 0 { format!(" UNMATCHED {}", c.unmatched) } else { String::new() },
        if c.totals_covered { "" } else { " totals not covered" },
    );
}
