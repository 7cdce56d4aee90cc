//! What a planner reads: `surface.csv` of a whole run, against the body-fitted references.
//!
//! Rows of parts at least 0.3 mm from a corner: 95 % within 1 % of the true mean over the row's
//! stretch, none beyond 3 %. Rows along each part cover its wetted outline without gap or overlap.
use std::path::Path;

use checks::{Reference, load_fixtures};
use shapes::Point;
use solver::{Role, Stretch};

#[derive(serde::Deserialize)]
struct Row {
    body: String,
    s_mm: f64,
    length_mm: f64,
    area_mm2: f64,
    x_mm: f64,
    y_mm: f64,
    nx: f64,
    ny: f64,
    #[serde(rename = "potential_V")]
    potential_v: f64,
    #[serde(rename = "overpotential_V")]
    overpotential_v: f64,
    #[serde(rename = "current_density_A_m2")]
    current_density_a_m2: f64,
}

fn run(name: &str, folder: &Path) -> Result<Vec<Row>, String> {
    let job = format!("{}/fixtures/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = ["throwmap", "run", &job, "--no-ranges", "--out-dir", &folder.display().to_string()]
        .map(String::from);
    let status = throwmap::run(args, &mut out, &mut err);
    if status != throwmap::ExitStatus::Done {
        return Err(format!("{name}: {}", String::from_utf8_lossy(&err)));
    }
    let csv = csv::Reader::from_path(folder.join("surface.csv"));
    csv.expect("surface.csv").deserialize().map(|r| r.map_err(|e| e.to_string())).collect()
}

fn check(reference: &Reference) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    let rows = match run(&reference.name, folder.path()) {
        Ok(rows) => rows,
        Err(e) => return vec![e],
    };
    let mut bad = Vec::new();
    for (k, body) in reference.layout.bodies.iter().enumerate() {
        if body.role != Role::Part {
            continue;
        }
        let (mut errors, mut current) = (Vec::new(), 0.0);
        let mine: Vec<&Row> = rows.iter().filter(|r| r.body == body.name).collect();
        let length: f64 = mine.iter().map(|r| r.length_mm).sum();
        let mean =
            mine.iter().map(|r| r.length_mm * r.current_density_a_m2.abs()).sum::<f64>() / length;
        for r in mine {
            let stretch = Stretch {
                loop_index: 0,
                s_m: r.s_mm * 1e-3,
                length_m: r.length_mm * 1e-3,
                area_m2: r.area_mm2 * 1e-6,
                at: Point::new(r.x_mm * 1e-3, r.y_mm * 1e-3),
                normal: [r.nx, r.ny],
                potential_v: r.potential_v,
                overpotential_v: r.overpotential_v,
                current_density_a_m2: r.current_density_a_m2,
                uncertainty_a_m2: 0.0,
            };
            current += r.current_density_a_m2 * stretch.area_m2;
            let Some(i) = (reference.density)(k, &stretch) else {
                bad.push(format!(
                    "{} {}: row at {:?} off the outline",
                    reference.name, r.body, stretch.at
                ));
                continue;
            };
            if reference
                .corners
                .iter()
                .all(|c| c.distance(stretch.at) >= checks::compare::CLEAR_OF_CORNERS)
            {
                errors.push((r.current_density_a_m2 - i).abs() / i.abs().max(0.05 * mean));
            }
        }
        errors.sort_by(f64::total_cmp);
        let p95 = errors[((0.95 * errors.len() as f64).ceil() as usize).clamp(1, errors.len()) - 1];
        let max = errors[errors.len() - 1];
        let want = reference.currents_a[k].expect("a part carries current");
        for (what, got, most) in [
            ("95 % of rows", p95, 0.01),
            ("worst row", max, 0.03),
            ("sum of rows", (current / want - 1.0).abs(), 0.01),
        ] {
            if got.is_nan() || got > most {
                bad.push(format!("{} {}: {what} {got:.2e} > {most}", reference.name, body.name));
            }
        }
    }
    bad
}

#[test]
fn surface_csv_tells_the_truth() {
    let bad: Vec<String> = load_fixtures().iter().flat_map(check).collect();
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}
