//! Prints what a linear solve costs as the number of unknowns grows: `scaling [largest=1000000]`, and
//! with `whole` what a whole solve does.
//!
//! The layout is a rack of 24 discs (of two for the smallest grid). Each row is made in a process of its
//! own that reports processor time, so that a busy machine spoils it little.
//!
//! A linear solve is that of the last Newton matrix of the last grid, for one right side, until the
//! energy of the error is 1e-14 of that of the answer as the preconditioner sees it: seven digits. Time
//! is that of preparation (order of elimination and pattern, or coarser levels: once for a grid),
//! set-up (numbers of the factor, or matrices of all levels: once for a matrix) and solution. Bytes are
//! counted from the arrays: the matrix in double precision, and what is held beside it (values of
//! the factor; or all levels and the vectors of the iteration). The error left is that in the energy
//! norm, found by solving for the residual.
//!
//! Time and memory of a whole solve are those of all its grids, Newton steps and both degrees, per
//! unknown of the last grid.

use std::process::Command;

use layouts::{discs, processor_s};
use solver::stages::FirstGrid;
use solver::{Method, SolveSettings, solve};

/// Unknowns asked for.
const SIZES: [usize; 5] = [1_000, 10_000, 100_000, 1_000_000, 4_000_000];

/// Accuracies asked for of whole solves: each needs some two to three times the unknowns of the one
/// before.
const ACCURACIES: [f64; 6] = [0.1, 0.01, 0.002, 0.000_7, 0.000_25, 0.000_1];

/// Processor time that small systems are solved again and again for, s.
const LONG: f64 = 1.0;

const METHODS: [&str; 2] = ["direct", "multigrid"];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |text: &str| text.parse().ok();
    match &arguments[..] {
        [what, name, value] if what == "one" => {
            return number(value).map_or((), |accuracy| whole(name, accuracy));
        }
        [what, name, value] if what == "linear" => {
            return value.parse().map_or((), |unknowns| linear(name, unknowns));
        }
        _ => {}
    }
    let largest = arguments.iter().find_map(|a| a.strip_prefix("largest=")?.parse().ok());
    let largest: usize = largest.unwrap_or(1_000_000);
    if arguments.iter().any(|a| a == "whole") {
        println!("| method | unknowns | grids | iterations | µs per unknown | bytes per unknown |");
        println!("| --- | --- | --- | --- | --- | --- |");
        for method in METHODS {
            for accuracy in ACCURACIES {
                let unknowns = row(&["one", method, &accuracy.to_string()]);
                if unknowns.is_none_or(|n| n > largest / 2) {
                    break;
                }
            }
        }
        return;
    }
    println!(
        "| method | unknowns | iterations | prepare, µs per unknown | set up | solve | matrix, bytes per unknown | beside it | error left |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for method in METHODS {
        for size in SIZES.into_iter().filter(|s| *s <= largest) {
            row(&["linear", method, &size.to_string()]);
        }
    }
}

/// Has a row printed by a process of its own; the unknowns in it.
fn row(arguments: &[&str]) -> Option<usize> {
    let program = std::env::current_exe().ok()?;
    let run = Command::new(program).args(arguments).output().ok()?;
    let text = String::from_utf8_lossy(&run.stdout);
    print!("{text}");
    text.split('|').nth(2)?.trim().parse().ok()
}

fn method_named(name: &str) -> Method {
    if name == "direct" { Method::Direct } else { Method::Multigrid }
}

/// Solves the linear system of a grid of about so many unknowns and prints a row of the table.
fn linear(name: &str, unknowns: usize) {
    let Ok(layout) = discs(if unknowns < 5_000 { 2 } else { 24 }) else { return };
    let settings =
        SolveSettings { accuracy: 0.1, max_unknowns: 8_000_000, method: Method::Automatic };
    let grid = FirstGrid::new(&layout, &settings).and_then(|first| first.linear_system(unknowns));
    let system = match grid {
        Ok(system) => system,
        Err(error) => return println!("| {name} | {error} | | | | | | | |"),
    };
    let n = system.unknowns() as f64;
    // mean time of one after another
    let timed = |once: &mut dyn FnMut() -> bool| {
        let start = processor_s();
        for count in 1.. {
            if !once() {
                break;
            }
            let spent = processor_s() - start;
            if spent > LONG {
                return 1e6 * spent / f64::from(count) / n;
            }
        }
        f64::NAN
    };
    let method = method_named(name);
    let prepare = timed(&mut || system.prepared(method).is_some());
    let Some(mut solver) = system.prepared(method) else { return };
    let set_up = timed(&mut || solver.set_up());
    let solve = timed(&mut || solver.solve());
    println!(
        "| {name} | {n} | {} | {prepare:.2} | {set_up:.2} | {solve:.2} | {:.0} | {:.0} | {:.0e} |",
        solver.iterations(),
        system.bytes() as f64 / n,
        solver.bytes() as f64 / n,
        solver.error().unwrap_or(f64::NAN)
    );
}

/// Solves once and prints a row of the table of whole solves.
fn whole(method: &str, accuracy: f64) {
    let Ok(layout) = discs(24) else { return };
    let settings =
        SolveSettings { accuracy, max_unknowns: 8_000_000, method: method_named(method) };
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
