//! Solves random layouts by the thousand and lists what goes wrong: `stress FROM TO [ACCURACY]`.
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Instant;

use checks::{random, truth};

use solver::{SolveError, SolveSettings, solve};

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number =
        |k: usize, default: u64| args.get(k).and_then(|a| a.parse().ok()).unwrap_or(default);
    let (from, to) = (number(0, 0), number(1, 1000));
    let accuracy = args.get(2).and_then(|a| a.parse().ok()).unwrap_or(0.05);
    std::panic::set_hook(Box::new(|info| {
        let trace = std::backtrace::Backtrace::force_capture().to_string();
        let own: Vec<&str> = trace
            .lines()
            .filter(|l| l.contains("solver/src") || l.contains("shapes/src"))
            .collect();
        println!("    {info} {}", own.first().unwrap_or(&""));
    }));
    let mut times: Vec<(f64, u64, usize)> = Vec::new();
    let (mut invalid, mut no_path, mut beyond, mut bad) = (0, 0, 0, 0);
    for seed in from..to {
        let layout = random::layout(seed);
        if layout.check().is_err() {
            invalid += 1;
            continue;
        }
        if to == from + 1 {
            println!(
                "{:?} kappa {} depth {}",
                layout.tank.bounds(),
                layout.conductivity,
                layout.depth
            );
            for b in &layout.bodies {
                let box_ = b.outline.bounds();
                println!("{} {box_:?} {:?} {:?}", b.name, b.law, b.role);
            }
        }
        let start = Instant::now();
        let settings =
            SolveSettings { accuracy, max_unknowns: 150_000, ..SolveSettings::default() };
        let got = catch_unwind(AssertUnwindSafe(|| {
            solve(&layout, &settings, &mut |p| {
                if to == from + 1 {
                    println!("{p:?}")
                }
            })
        }));
        let took = start.elapsed().as_secs_f64();
        let words = || {
            let b: Vec<String> = layout.bodies.iter().map(|b| b.name.clone()).collect();
            format!(
                "{:.3} m {:?} {}",
                layout.tank.bounds().width(),
                layout.supplies[0].drive,
                b.join(", ")
            )
        };
        let mut unknowns = 0;
        match got {
            Err(_) => {
                bad += 1;
                println!("{seed}: PANIC {}", words());
            }
            Ok(Err(SolveError::NoPath { .. })) => no_path += 1,
            Ok(Err(SolveError::BeyondLimit { .. } | SolveError::ThiefFeeds { .. })) => beyond += 1,
            Ok(Err(e)) => {
                bad += 1;
                println!("{seed}: {e} [{took:.1} s] {}", words());
            }
            Ok(Ok(s)) => {
                unknowns = s.stats.unknowns;
                let faults = truth::faults(&layout, &s);
                if let Some(first) = faults.first() {
                    bad += 1;
                    println!("{seed}: {} faults: {first} | {}", faults.len(), words());
                }
            }
        }
        times.push((took, seed, unknowns));
    }
    times.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = times.len().max(1);
    println!("invalid {invalid}, no path {no_path}, beyond limit {beyond}, bad {bad} of {n}");
    println!("time: median {:.3} s, p95 {:.3} s", times[n / 2].0, times[n * 95 / 100].0);
    for t in times.iter().rev().take(8) {
        println!("  {:.2} s: seed {} ({} unknowns)", t.0, t.1, t.2);
    }
}
