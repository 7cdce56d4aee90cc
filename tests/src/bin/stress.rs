//! Solves random layouts by the thousand and lists what goes wrong: `stress FROM TO [ACCURACY] [varied]`.
//!
//! `varied` adds axes, masks, resistances of contacts and leads, and several supplies.
//! Layouts without an answer (see `checks::verdict`) are counted; whatever else does not solve is
//! printed with its seed, and the exit status says so.
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Instant;

use checks::random;
use checks::verdict::{Verdict, verdict};

use solver::{SolveSettings, solve};

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number =
        |k: usize, default: u64| args.get(k).and_then(|a| a.parse().ok()).unwrap_or(default);
    let (from, to) = (number(0, 0), number(1, 1000));
    let draw = if args.iter().any(|a| a == "varied") { random::varied } else { random::layout };
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
    let (mut invalid, mut solved, mut bad) = (0, 0, 0);
    let mut ill_posed: BTreeMap<&str, usize> = BTreeMap::new();
    for seed in from..to {
        let layout = draw(seed);
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
            println!("{:?} {:?}", layout.symmetry, layout.supplies);
            for b in &layout.bodies {
                println!("{:?} {}", b.masked, b.contact);
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
        let unknowns =
            got.as_ref().ok().and_then(|f| f.as_ref().ok()).map_or(0, |s| s.stats.unknowns);
        match got {
            Err(_) => {
                bad += 1;
                println!("{seed}: PANIC {}", words());
            }
            Ok(found) => match verdict(&layout, &found) {
                Verdict::Solved => solved += 1,
                Verdict::IllPosed(why) => *ill_posed.entry(why).or_default() += 1,
                Verdict::Wrong(faults) => {
                    bad += 1;
                    println!("{seed}: {} [{took:.1} s] {}", faults.join("; "), words());
                }
            },
        }
        times.push((took, seed, unknowns));
    }
    times.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = times.len().max(1);
    println!(
        "solved {solved} of {n}, bad {bad}, without an answer {ill_posed:?}; not drawn {invalid}"
    );
    println!("time: median {:.3} s, p95 {:.3} s", times[n / 2].0, times[n * 95 / 100].0);
    for t in times.iter().rev().take(8) {
        println!("  {:.2} s: seed {} ({} unknowns)", t.0, t.1, t.2);
    }
    if bad > 0 {
        std::process::exit(1);
    }
}
