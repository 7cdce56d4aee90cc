//! The solve alone, all its grids included, for every kind of layout.

use std::hint::black_box;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use layouts::cases;
use solver::{SolveSettings, solve};

fn bench(c: &mut Criterion) {
    let mut group = c.benchmark_group("solve");
    group.sample_size(20).measurement_time(Duration::from_secs(2));
    for case in cases() {
        for (label, accuracy) in [("1 %", 0.01), ("0.3 %", 0.003)] {
            let settings = SolveSettings { accuracy, ..SolveSettings::default() };
            let id = BenchmarkId::new(case.kind, label);
            group.bench_with_input(id, &case.layout, |b, layout| {
                b.iter(|| solve(black_box(layout), &settings, &mut |_| {}));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
