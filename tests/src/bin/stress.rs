//! Solves random layouts by the thousand and lists what goes wrong: `stress FROM TO [ACCURACY] [varied]`.
//!
//! `varied` adds axes, masks, resistances of contacts and leads, and several supplies. Seeds are shared
//! among all cores; a single one is shown in detail.
//! Layouts without an answer (see `checks::verdict`) are counted; whatever else does not solve is
//! printed with its seed, and the exit status says so.
use std::collections::BTreeMap;
use std::num::NonZero;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use checks::random;
use checks::verdict::{Verdict, verdict};

use solver::{Layout, SolveSettings, solve};

/// What became of all seeds.
#[derive(Default)]
struct Tally {
    /// Seconds, seed and unknowns of each.
    times: Vec<(f64, u64, usize)>,
    invalid: usize,
    solved: usize,
    /// Of these the seeds whose answer says that it misses the accuracy asked for.
    short: Vec<u64>,
    bad: usize,
    ill_posed: BTreeMap<&'static str, usize>,
}

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
    let (next, tally) = (AtomicU64::new(from), Mutex::new(Tally::default()));
    let cores = std::thread::available_parallelism().map_or(1, NonZero::get);
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    if seed >= to {
                        break;
                    }
                    judge(seed, draw, accuracy, to == from + 1, &tally);
                }
            });
        }
    });
    let tally = tally.into_inner().expect("no thread panics while it counts");
    let Tally { mut times, invalid, solved, mut short, bad, ill_posed } = tally;
    times.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = times.len().max(1);
    println!(
        "solved {solved} of {n}, bad {bad}, without an answer {ill_posed:?}; not drawn {invalid}"
    );
    short.sort_unstable();
    println!("solved, but short of the accuracy, and saying so: {short:?}");
    if let (Some(median), Some(p95)) = (times.get(n / 2), times.get(n * 95 / 100)) {
        println!("time: median {:.3} s, p95 {:.3} s", median.0, p95.0);
    }
    for t in times.iter().rev().take(8) {
        println!("  {:.2} s: seed {} ({} unknowns)", t.0, t.1, t.2);
    }
    if bad > 0 {
        std::process::exit(1);
    }
}

/// Solves the layout of a seed and counts what becomes of it.
fn judge(seed: u64, draw: fn(u64) -> Layout, accuracy: f64, in_detail: bool, tally: &Mutex<Tally>) {
    let count =
        |f: &dyn Fn(&mut Tally)| f(&mut tally.lock().expect("no thread panics while it counts"));
    let layout = draw(seed);
    if layout.check().is_err() {
        count(&|t| t.invalid += 1);
        return;
    }
    if in_detail {
        let (tank, kappa) = (layout.tank.bounds(), layout.conductivity);
        println!("{tank:?} kappa {kappa} depth {} {:?}", layout.depth, layout.symmetry);
        println!("{:?}", layout.supplies);
        for b in &layout.bodies {
            let box_ = b.outline.bounds();
            println!("{} {box_:?} {:?} {:?}", b.name, b.law, b.role);
            println!("    masked {:?}, contact {}", b.masked, b.contact);
        }
    }
    let start = Instant::now();
    let settings = SolveSettings { accuracy, max_unknowns: 150_000, ..SolveSettings::default() };
    let got = catch_unwind(AssertUnwindSafe(|| {
        solve(&layout, &settings, &mut |p| {
            if in_detail {
                println!("{p:?}")
            }
        })
    }));
    let took = start.elapsed().as_secs_f64();
    let words = || {
        let b: Vec<String> = layout.bodies.iter().map(|b| b.name.clone()).collect();
        let (width, drive) = (layout.tank.bounds().width(), layout.supplies[0].drive);
        format!("{width:.3} m {drive:?} {}", b.join(", "))
    };
    let meets = matches!(&got, Ok(Ok(s)) if s.stats.accuracy_met);
    let unknowns = got.as_ref().ok().and_then(|f| f.as_ref().ok()).map_or(0, |s| s.stats.unknowns);
    match got {
        Err(_) => {
            count(&|t| t.bad += 1);
            println!("{seed}: PANIC {}", words());
        }
        Ok(found) => match verdict(&layout, &found) {
            Verdict::Solved => count(&|t| {
                t.solved += 1;
                t.short.extend((!meets).then_some(seed));
            }),
            Verdict::IllPosed(why) => count(&|t| *t.ill_posed.entry(why).or_default() += 1),
            Verdict::Wrong(faults) => {
                count(&|t| t.bad += 1);
                println!("{seed}: {} [{took:.1} s] {}", faults.join("; "), words());
            }
        },
    }
    count(&|t| t.times.push((took, seed, unknowns)));
}
