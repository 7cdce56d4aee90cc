//! Prints what a linear solve costs as the number of unknowns grows: `scaling [largest=1000000]`.
//!
//! A rack of 24 discs is solved to finer and finer accuracy, by factorization and by multigrid, each
//! in a process of its own that reports processor time and memory of its whole run (Linux counts
//! both), so that a busy machine spoils neither. Time and memory are those of the whole solve, all
//! grids and both degrees included, per unknown of the last grid.

use std::process::Command;

use layouts::{discs, processor_s};
use solver::{Method, SolveSettings, solve};

/// Accuracies asked for: each needs some two to three times the unknowns of the one before.
const ACCURACIES: [f64; 6] = [0.1, 0.01, 0.002, 0.000_7, 0.000_25, 0.000_1];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [one, method, accuracy] = &arguments[..]
        && one == "one"
    {
        return row(method, accuracy.parse().unwrap_or(0.01));
    }
    let largest = arguments.iter().find_map(|a| a.strip_prefix("largest=")?.parse().ok());
    let largest: usize = largest.unwrap_or(1_000_000);
    println!("| method | unknowns | grids | iterations | µs per unknown | bytes per unknown |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for method in ["direct", "multigrid"] {
        for accuracy in ACCURACIES {
            let Ok(program) = std::env::current_exe() else { return };
            let accuracy = accuracy.to_string();
            let run = Command::new(program).args(["one", method, accuracy.as_str()]).output();
            let Ok(run) = run else { return };
            let text = String::from_utf8_lossy(&run.stdout);
            print!("{text}");
            let unknowns = text.split('|').nth(2).and_then(|n| n.trim().parse::<usize>().ok());
            if unknowns.is_none_or(|n| n > largest / 2) {
                break;
            }
        }
    }
}

/// Solves once and prints a row of the table.
fn row(method: &str, accuracy: f64) {
    let Ok(layout) = discs(24) else { return };
    let settings = SolveSettings {
        accuracy,
        max_unknowns: 8_000_000,
        method: if method == "direct" { Method::Direct } else { Method::Multigrid },
    };
    let mut iterations = 0;
    let (time, memory) = (processor_s(), peak_bytes());
    match solve(&layout, &settings, &mut |p| iterations = iterations.max(p.iterations)) {
        Ok(solution) => {
            let s = solution.stats;
            let each = |x: f64| x / s.unknowns as f64;
            println!(
                "| {method} | {} | {} | {iterations} | {:.1} | {:.0} |",
                s.unknowns,
                s.grids,
                each(1e6 * (processor_s() - time)),
                each(peak_bytes() - memory)
            );
        }
        Err(error) => println!("| {method} | {error} | | | | |"),
    }
}

/// Largest memory held so far, bytes.
fn peak_bytes() -> f64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = text.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kilobytes = line.and_then(|l| l.split_whitespace().next()?.parse::<f64>().ok());
    1024.0 * kilobytes.unwrap_or(0.0)
}
