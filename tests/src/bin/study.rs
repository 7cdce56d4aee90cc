//! How far the stated uncertainty can be trusted:
//! `study [0.01 0.003 ..] [placements=3] [each] [name ..]`.
//!
//! Every layout with a known answer is solved at several places on the grid. At each stretch of the
//! parts at least 0.3 mm from a corner the true error is compared with the stated uncertainty. The
//! table shows the share of points that the uncertainty covers and the median of stated over true,
//! apart for the layouts that the estimate was fitted on and for those held out. `each` adds a line
//! for every layout. Errors of the references themselves (1e-4 at most) count as ours.
use checks::cases::{cylinders, plates, strips};
use checks::compare::CLEAR_OF_CORNERS;
use checks::{Pose, Reference, load_fixtures, load_held_out};
use shapes::Vec2;
use solver::{Role, SolveError, SolveSettings, solve};

/// Stated over true at every point; infinite where the truth is met to the last digit.
fn ratios(reference: &Reference, accuracy: f64) -> Result<(Vec<f64>, usize), SolveError> {
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    let solution = solve(&reference.layout, &settings, &mut |_| {})?;
    let mut out = Vec::new();
    for (k, body) in solution.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part) {
        for s in &body.stretches {
            let Some(truth) = (reference.density)(k, s) else { continue };
            if reference.corners.iter().all(|c| c.distance(s.at) >= CLEAR_OF_CORNERS) {
                out.push(s.uncertainty_a_m2 / (s.current_density_a_m2 - truth).abs());
            }
        }
    }
    Ok((out, solution.stats.unknowns))
}

/// Variations of closed forms with numbers that nothing was fitted on.
fn variations() -> Vec<Reference> {
    let mut out = Vec::new();
    out.extend([0.25, 2.0].map(plates::two_distances));
    out.extend(
        [(0.3, 0.5), (0.6, 0.2), (0.15, 0.6)].map(|(r, e)| cylinders::eccentric_primary(r, e)),
    );
    out.extend([0.003, 0.03, 0.3, 3.0].map(cylinders::eccentric_polarized));
    out.extend([0.25, 2.0, 8.0].map(strips::flush));
    out.extend([0.03, 0.3, 3.0].map(strips::polarized));
    out
}

/// Deterministic, irregular places; number 0 stays.
fn pose(j: usize) -> Pose {
    let part = |x: f64| (x * j as f64).fract();
    let angle = std::f64::consts::TAU * part(0.618_033_988_749_895);
    Pose { angle, shift: Vec2::new(0.1 * part(0.754_877_666), 0.1 * part(0.569_840_291)) }
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

fn covered(values: &[f64]) -> f64 {
    values.iter().filter(|r| **r >= 1.0).count() as f64 / values.len().max(1) as f64
}

fn main() {
    let (mut accuracies, mut words, mut placements, mut each) = (vec![], vec![], 3, false);
    for arg in std::env::args().skip(1) {
        if let Some(n) = arg.strip_prefix("placements=").and_then(|n| n.parse().ok()) {
            placements = n;
        } else if let Ok(v) = arg.parse::<f64>() {
            accuracies.push(v);
        } else if arg == "each" {
            each = true;
        } else {
            words.push(arg);
        }
    }
    if accuracies.is_empty() {
        accuracies = vec![0.01, 0.003];
    }
    let mut fitted = load_fixtures();
    fitted.extend(checks::cases::all());
    let mut held_out = load_held_out();
    held_out.extend(variations());
    println!(
        "| layouts | asked | layouts × places | points | covered | least covered | stated / true, median | unknowns, mean |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- |"
    );
    for accuracy in accuracies {
        for (what, set) in [("fitted", &fitted), ("held out", &held_out)] {
            let wanted = set
                .iter()
                .filter(|r| words.is_empty() || words.iter().any(|w| r.name.contains(w.as_str())));
            let (mut all, mut runs, mut least, mut size) = (vec![], 0, (1.0, String::new()), 0);
            for reference in wanted {
                let mut own = vec![];
                for j in 0..placements {
                    match ratios(&reference.placed(pose(j)), accuracy) {
                        Ok((r, unknowns)) => {
                            runs += 1;
                            size += unknowns;
                            own.extend(r);
                        }
                        Err(e) => eprintln!("{} at place {j}: {e}", reference.name),
                    }
                }
                let share = covered(&own);
                if each {
                    let (points, middle) = (own.len(), median(&mut own));
                    println!(
                        "{:28} {points:6} covered {share:.3} median {middle:.2}",
                        reference.name
                    );
                }
                if share < least.0 {
                    least = (share, reference.name.clone());
                }
                all.extend(own);
            }
            println!(
                "| {what} | {} % | {runs} | {} | {:.1} % | {} {:.1} % | {:.1} | {} |",
                100.0 * accuracy,
                all.len(),
                100.0 * covered(&all),
                least.1,
                100.0 * least.0,
                median(&mut all),
                size / runs.max(1)
            );
        }
    }
}
