//! Each stage of the first example, those of its first grid one by one, and the whole command with everything it writes.

use std::hint::black_box;
use std::io::sink;
use std::path::PathBuf;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use solver::stages::FirstGrid;
use solver::{DepositSettings, solve};
use throwmap::ExitStatus;
use throwmap::output::{
    Context, DisplayUnits, Findings, RunDeposit, deposit_png, field_csv, map_png, summary_json,
    surface_csv,
};

fn job() -> String {
    let examples = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../examples");
    examples.join("01_bell_recess.toml").display().to_string()
}

fn bench(c: &mut Criterion) {
    let mut group = c.benchmark_group("first example");
    group.sample_size(20).measurement_time(Duration::from_secs(3));
    let source = throwmap::job::load(&job()).expect("the example can be read");
    let resolved = throwmap::job::resolve(&source).expect("the example is right");
    group.bench_function("job file to layout", |b| {
        b.iter(|| throwmap::job::resolve(black_box(&source)).is_ok());
    });
    group.bench_function("solve", |b| {
        b.iter(|| solve(black_box(&resolved.layout), &resolved.settings, &mut |_| {}));
    });
    group.bench_function("clip and grid", |b| {
        b.iter(|| FirstGrid::new(black_box(&resolved.layout), &resolved.settings).is_ok());
    });
    let mut first = FirstGrid::new(&resolved.layout, &resolved.settings).expect("a grid");
    group.bench_function("assembly", |b| b.iter(|| black_box(&first).assemble()));
    group.bench_function("assembly and Newton, both degrees", |b| {
        b.iter(|| first.solve().is_ok());
    });
    let mut solved = first.solve().expect("it solves");
    group.bench_function("factorization", |b| b.iter(|| solved.factor()));
    group.bench_function("estimate", |b| b.iter(|| first.estimate(black_box(&solved))));
    let solution = solve(&resolved.layout, &resolved.settings, &mut |_| {}).expect("it solves");
    let plating = resolved.plating.clone().expect("the example names a metal");
    let time = plating.time.expect("the example names a time");
    let settings = DepositSettings { metal: plating.metal, efficiency: plating.efficiency, time };
    group.bench_function("deposit", |b| b.iter(|| settings.apply(black_box(&solution))));
    let deposit = settings.apply(&solution);
    let findings = Findings::default();
    let context = Context {
        title: &resolved.title,
        layout: &resolved.layout,
        solution: &solution,
        deposit: Some(RunDeposit { time, deposit: &deposit }),
        window: resolved.window,
        want: resolved.want,
        units: DisplayUnits::Metric,
        sources: &[],
        accuracy: resolved.settings.accuracy,
        seconds: None,
        significant: None,
        findings: &findings,
    };
    group.bench_function("map.png", |b| b.iter(|| map_png(black_box(&context)).is_ok()));
    group.bench_function("deposit.png", |b| b.iter(|| deposit_png(black_box(&context)).is_ok()));
    group.bench_function("surface.csv", |b| b.iter(|| surface_csv(black_box(&context)).is_ok()));
    group.bench_function("field.csv", |b| b.iter(|| field_csv(black_box(&context)).is_ok()));
    group.bench_function("summary.json", |b| b.iter(|| summary_json(black_box(&context)).is_ok()));
    let folder = std::env::temp_dir().join(format!("throwmap-bench-{}", std::process::id()));
    let out = folder.display().to_string();
    let command = ["throwmap", "run", &job(), "--out-dir", &out, "--force"].map(str::to_owned);
    group.bench_function("whole command", |b| {
        b.iter(|| {
            let status = throwmap::run(command.clone(), &mut sink(), &mut sink());
            assert_eq!(status, ExitStatus::Done);
        });
    });
    group.finish();
    // results of a benchmark are of no use to anybody
    let _ = std::fs::remove_dir_all(folder);
}

criterion_group!(benches, bench);
criterion_main!(benches);
