//! Prints what planning costs: many layouts of one job, and a layout solved anew after a small move.
//! `batch [layouts=1000] [accuracy=0.02] [only=2]`, `only` being the number of a row.
//!
//! Five bodies (a part with a recess, two anodes, a shield, a thief), anodes and current changed
//! from layout to layout, all cores. Processor time is that of the whole process, which other programs
//! hardly disturb; wall time counts only on a machine that does nothing else.

use std::path::Path;
use std::time::Instant;

use layouts::{moved, planned, processor_s};
use rayon::prelude::*;
use shapes::Vec2;
use solver::{Layout, SolveSettings, SolveStats, solve, solve_from, solve_warm};

fn main() {
    let number = |name: &str, default: f64| {
        let given = std::env::args().skip(1);
        given.filter_map(|a| a.strip_prefix(name)?.parse().ok()).next().unwrap_or(default)
    };
    let count = number("layouts=", 1000.0).max(1.0) as usize;
    let settings = SolveSettings { accuracy: number("accuracy=", 0.02), ..Default::default() };
    let only = number("only=", 0.0) as usize;
    let row = |number: usize, name: &str, one: &(dyn Fn(usize) -> Option<SolveStats> + Sync)| {
        if only == 0 || only == number {
            row(name, count, one);
        }
    };
    println!(
        "| {count} layouts at {} % | processor ms each | processor s | wall s | unknowns | grids | Newton steps | estimated error | not solved |",
        100.0 * settings.accuracy
    );
    println!("|{}", " --- |".repeat(9));
    let cold = |k: usize| {
        let solution = solve(&planned(k), &settings, &mut |_| {}).ok()?;
        Some(solution.stats)
    };
    row(1, "each from nothing", &cold);
    let base = solve_warm(&planned(0), &settings, None).map(|(_, warm)| warm);
    match base {
        Ok(base) => {
            let warm = |k: usize| {
                let found = solve_from(&planned(k), &settings, &base);
                found.ok().map(|solution| solution.stats)
            };
            row(2, "each from the first", &warm);
            let first = planned(0);
            let by = |k: usize| Vec2::new(1e-4 * (1.0 + k as f64 / count as f64), 0.0);
            let small = |k: usize| {
                let found = solve_from(&moved(&first, by(k)), &settings, &base);
                found.ok().map(|solution| solution.stats)
            };
            row(3, "an anode moved by 0.1 to 0.2 mm", &small);
            let current = |k: usize| {
                let layout = Layout { supplies: planned(k).supplies, ..first.clone() };
                let found = solve_from(&layout, &settings, &base);
                found.ok().map(|solution| solution.stats)
            };
            row(4, "another current", &current);
        }
        Err(error) => println!("| {error} |"),
    }
    if !Path::new("/proc/self/stat").exists() {
        println!("This system does not tell processor time: times are 0.");
    }
}

/// Solves all layouts and prints a row of the table.
fn row(name: &str, count: usize, one: &(dyn Fn(usize) -> Option<SolveStats> + Sync)) {
    let (start, wall) = (processor_s(), Instant::now());
    let stats: Vec<Option<SolveStats>> = (0..count).into_par_iter().map(one).collect();
    let (wall, processor) = (wall.elapsed().as_secs_f64(), processor_s() - start);
    let solved: Vec<_> = stats.iter().flatten().collect();
    let mean = |f: &dyn Fn(&SolveStats) -> f64| {
        solved.iter().map(|s| f(s)).sum::<f64>() / solved.len().max(1) as f64
    };
    println!(
        "| {name} | {:.1} | {processor:.1} | {wall:.1} | {:.0} | {:.2} | {:.1} | {:.2} % | {} |",
        1e3 * processor / count as f64,
        mean(&|s| s.unknowns as f64),
        mean(&|s| s.grids as f64),
        mean(&|s| s.newton_steps as f64),
        100.0 * mean(&|s| s.estimated_error),
        count - solved.len()
    );
}
