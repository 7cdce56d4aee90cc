//! Statistics of how reported values move when a body is moved by a little: `drag FROM TO`.
use checks::{random, values::values};
use shapes::Vec2;
use solver::{Role, SolveSettings, solve};

fn main() {
    let args: Vec<u64> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let settings =
        SolveSettings { accuracy: 0.01, max_unknowns: 60_000, ..SolveSettings::default() };
    let mut ratios: Vec<(f64, f64, String)> = Vec::new();
    for seed in args[0]..args[1] {
        let mut layout = random::layout(seed);
        layout.bodies.retain(|b| !matches!(b.role, Role::Screen { .. }) || seed % 2 == 0);
        if layout.check().is_err() {
            continue;
        }
        let Ok(base) = solve(&layout, &settings, &mut |_| {}) else { continue };
        if base.stats.unknowns > 20_000 {
            continue;
        }
        let before = values(&base);
        for k in 0..2 {
            for way in [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0), Vec2::new(-0.6, 0.8)] {
                let mut moved = layout.clone();
                let step = way * (1e-3 * base.stats.finest_cell_m);
                moved.bodies[k].outline = moved.bodies[k].outline.moved(step);
                if moved.check().is_err() {
                    continue;
                }
                let Ok(after) = solve(&moved, &settings, &mut |_| {}) else {
                    println!("{seed}: lost when moved");
                    continue;
                };
                let now = values(&after);
                if now.len() != before.len() {
                    println!("{seed}: {} values became {}", before.len(), now.len());
                    continue;
                }
                let worst = before
                    .iter()
                    .zip(&now)
                    .filter(|(a, _)| a.uncertainty > 0.0)
                    .map(|(a, b)| ((a.value - b.value).abs() / a.uncertainty, a))
                    .max_by(|a, b| a.0.total_cmp(&b.0))
                    .expect("values");
                let rel = worst.1.uncertainty / worst.1.value.abs();
                ratios.push((
                    worst.0,
                    rel,
                    format!(
                        "seed {seed} body {k} {way:?}: {:?} cells {} -> {} grids {} -> {}",
                        worst.1,
                        base.stats.cells,
                        after.stats.cells,
                        base.stats.grids,
                        after.stats.grids
                    ),
                ));
            }
        }
    }
    ratios.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = ratios.len();
    for q in [0.5, 0.75, 0.9, 0.95, 0.99] {
        println!("quantile {q}: {:.2e} of the uncertainty", ratios[(q * n as f64) as usize].0);
    }
    println!("{} of {n} beyond a tenth", ratios.iter().filter(|r| r.0 > 0.1).count());
    for r in ratios.iter().rev().take(25) {
        println!("{:.2e} (uncertainty {:.1e} of it) {}", r.0, r.1, r.2);
    }
}
