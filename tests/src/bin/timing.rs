//! Prints what one solve of one reference layout costs and how wrong it is, for
//! `tests/peer/timing.py`: `timing NAME ACCURACY [ROUNDS]` gives, on one line, the median wall time
//! and the median processor time of a solve in s, the error of local density at 95 % of the points
//! of the parts, and the number of unknowns. Run it with RAYON_NUM_THREADS=1.
use std::time::Instant;

use checks::{compare, load_fixtures, load_held_out};
use solver::{SolveSettings, solve};

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let (Some(name), Some(accuracy)) = (args.first(), args.get(1).and_then(|a| a.parse().ok()))
    else {
        eprintln!("timing NAME ACCURACY [ROUNDS]");
        std::process::exit(2);
    };
    let rounds: usize = args.get(2).and_then(|a| a.parse().ok()).unwrap_or(5);
    let all = load_fixtures().into_iter().chain(load_held_out());
    let Some(reference) = all.into_iter().find(|r| r.name == *name) else {
        eprintln!("no reference layout named {name}");
        std::process::exit(2);
    };
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    let (mut wall, mut processor, mut last) = (Vec::new(), Vec::new(), None);
    for _ in 0..rounds.max(1) {
        let (start, before) = (Instant::now(), processor_s());
        let solution = solve(&reference.layout, &settings, &mut |_| {}).expect("it solves");
        wall.push(start.elapsed().as_secs_f64());
        processor.push(processor_s() - before);
        last = Some(solution);
    }
    let solution = last.expect("at least one round");
    let error = compare(&solution, &reference).parts.p95;
    let median = |v: &mut Vec<f64>| {
        v.sort_by(f64::total_cmp);
        v[v.len() / 2]
    };
    println!(
        "{:.6} {:.6} {error:.6} {}",
        median(&mut wall),
        median(&mut processor),
        solution.stats.unknowns
    );
}

/// Processor time of all threads of this process so far, s (Linux; 0 elsewhere).
fn processor_s() -> f64 {
    let Ok(threads) = std::fs::read_dir("/proc/self/task") else { return 0.0 };
    let nanoseconds = threads.flatten().filter_map(|thread| {
        let text = std::fs::read_to_string(thread.path().join("schedstat")).ok()?;
        text.split_whitespace().next()?.parse::<f64>().ok()
    });
    1e-9 * nanoseconds.sum::<f64>()
}
