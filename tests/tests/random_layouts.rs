//! Random layouts of every kind: each one that passes the check is solved truthfully or refused
//! truthfully, and quickly.
use std::time::Instant;

use checks::random;
use checks::verdict::{Verdict, verdict};
use solver::{Layout, SolveSettings, solve};

/// Everything wrong with what the solver says about the layout of a seed.
fn faults(seed: u64, draw: fn(u64) -> Layout) -> Vec<String> {
    let layout = draw(seed);
    if layout.check().is_err() {
        return Vec::new();
    }
    let start = Instant::now();
    let settings =
        SolveSettings { accuracy: 0.05, max_unknowns: 150_000, ..SolveSettings::default() };
    let found = match verdict(&layout, &solve(&layout, &settings, &mut |_| {})) {
        Verdict::Solved | Verdict::IllPosed(_) => Vec::new(),
        Verdict::Wrong(faults) => faults,
    };
    let took = start.elapsed().as_secs_f64();
    let slow = (took > 30.0).then(|| format!("took {took:.0} s"));
    found.into_iter().chain(slow).map(|f| format!("seed {seed}: {f}")).collect()
}

fn check(seeds: impl Iterator<Item = u64>, draw: fn(u64) -> Layout) {
    let faults: Vec<String> = seeds.flat_map(|seed| faults(seed, draw)).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn random_layouts_are_solved_or_refused_truthfully_1() {
    check(10_000..10_050, random::layout);
}

#[test]
fn random_layouts_are_solved_or_refused_truthfully_2() {
    check(20_000..20_050, random::layout);
}

/// Around an axis, stopped off, through contacts and leads, on several supplies.
#[test]
fn varied_random_layouts_are_solved_or_refused_truthfully() {
    check(30_000..30_060, random::varied);
}

/// Seeds that once panicked, ran away, lost the balance, asked for too large a grid or never ended.
#[test]
fn layouts_that_once_failed_are_solved() {
    let seeds = [
        4, 6, 13, 22, 24, 33, 43, 47, 48, 58, 68, 78, 96, 111, 133, 136, 147, 208, 210, 228, 273,
        378, 380, 381, 498, 514, 631, 642, 670, 858, 871, 900, 947, 991, 998, 1233, 1396, 1468,
        1872, 50247, 50465, 200501, 201096, 202088, 202390, 201103,
        401781, // contacts, hard limits, currents that have no way back
        537, 50033, 50085, 50276, 50339, 50401, 50404, 50482, 50495, 60152, 60599, 70003, 70209,
        70290, 80144, //
        500457, 500532, 501907, 502027, 502058, 502795, 502796, 600436, 601556, 601938, 602770,
        611359, 620223,
    ];
    check(seeds.into_iter(), random::layout);
}

/// Varied seeds that did not converge, were refused though they have an answer, missed what a supply should
/// hold, or were told a limit above what they ask for.
#[test]
fn varied_layouts_that_once_failed_are_solved() {
    check([700_025, 700_657, 701_464, 702_374].into_iter(), random::varied);
}
