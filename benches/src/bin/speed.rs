//! Prints unknowns and time of the whole adaptive solve for every kind of layout:
//! `speed [0.01 0.003 ..] [placements=10] [rounds=5] [only=3]`, numbers being accuracies to ask for,
//! `only` being the number of a row.
//!
//! Each layout is solved at several places on the grid. Unknowns and milliseconds are medians over
//! the placements; the time of one placement is the least of several rounds, because a busy machine
//! only ever adds to it. One thread.

use std::time::Instant;

use layouts::{cases, placed};
use solver::{Layout, SolveSettings, solve};

fn main() {
    let number = |name: &str, default: usize| {
        let given = std::env::args().skip(1);
        let value = given.filter_map(|a| a.strip_prefix(name)?.parse().ok()).next();
        value.unwrap_or(default)
    };
    let (placements, rounds) = (number("placements=", 10).max(1), number("rounds=", 5).max(1));
    let only = number("only=", 0);
    let mut accuracies: Vec<f64> =
        std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    if accuracies.is_empty() {
        accuracies = vec![0.01, 0.003];
    }
    let titles: Vec<String> = accuracies.iter().map(|a| format!("{} %", 100.0 * a)).collect();
    println!("| layout kind | {} |\n| ---{} |", titles.join(" | "), " | ---".repeat(titles.len()));
    let cases = cases().into_iter().enumerate();
    for (_, case) in cases.filter(|(row, _)| only == 0 || only == row + 1) {
        let columns: Vec<String> = accuracies
            .iter()
            .map(|&accuracy| column(&case.layout, accuracy, placements, rounds))
            .collect();
        println!("| {} | {} |", case.kind, columns.join(" | "));
    }
}

fn column(layout: &Layout, accuracy: f64, placements: usize, rounds: usize) -> String {
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    let mut unknowns = Vec::new();
    let mut times = Vec::new();
    for number in 0..placements {
        let layout = placed(layout, number);
        let mut best = f64::INFINITY;
        for _ in 0..rounds {
            let start = Instant::now();
            match solve(&layout, &settings, &mut |_| {}) {
                Ok(solution) => {
                    best = best.min(1e3 * start.elapsed().as_secs_f64());
                    unknowns.push(solution.stats.unknowns as f64);
                }
                Err(error) => return format!("{error}"),
            }
        }
        times.push(best);
    }
    format!("{:.0} · {:.0} ms", median(&mut unknowns), median(&mut times))
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}
