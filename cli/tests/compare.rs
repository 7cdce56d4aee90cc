//! `throwmap compare` on the examples: what differs, what does not, and what it refuses.

use std::path::Path;
use std::process::{Command, Output};

fn compare(jobs: &[&str], out: &Path) -> Output {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    Command::new(env!("CARGO_BIN_EXE_throwmap"))
        .arg("compare")
        .args(jobs.iter().map(|job| folder.join(job)))
        .arg("--out-dir")
        .arg(out)
        .output()
        .expect("the program runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn the_same_job_twice_does_not_differ() {
    let out = tempfile::tempdir().expect("a folder");
    let job = "06_plate_with_thief.toml";
    let told = text(&compare(&[job, job], out.path()).stdout);
    assert!(told.contains("no difference beyond the numerical uncertainty"), "{told}");
}

#[test]
fn shields_lower_the_greatest_thickness_and_the_table_says_what_the_summary_says() {
    let out = tempfile::tempdir().expect("a folder");
    let told = compare(&["03_angle_bracket.toml", "04_angle_bracket_shielded.toml"], out.path());
    // 03 misses what it wants, so the status is 1
    assert_eq!(told.status.code(), Some(1), "{}", text(&told.stderr));
    let said = text(&told.stdout);
    let line = said.lines().find(|l| l.contains(" against ")).expect("a comparison");
    assert!(line.contains("greatest thickness -"), "{line}");
    for picture in ["comparison.map.png", "comparison.deposit.png"] {
        assert!(image::open(out.path().join(picture)).is_ok(), "{picture}");
    }
    let mut rows = csv::Reader::from_path(out.path().join("comparison.csv")).expect("a table");
    let greatest: Vec<f64> =
        rows.records().map(|row| row.expect("a row")[5].parse().expect("a number")).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let run = Command::new(env!("CARGO_BIN_EXE_throwmap"))
        .arg("run")
        .arg(folder.join("04_angle_bracket_shielded.toml"))
        .args(["--no-ranges", "--out-dir"])
        .arg(out.path())
        .output();
    assert!(run.is_ok());
    let summary = std::fs::read(out.path().join("summary.json")).expect("a summary");
    let summary: serde_json::Value = serde_json::from_slice(&summary).expect("JSON");
    let bodies = summary["bodies"].as_array().expect("bodies");
    let part = bodies.iter().find(|b| b["role"] == "part").expect("a part");
    let max = part["significant_thickness_um"]["max"].as_f64().expect("a number");
    // the same product in another order
    assert!((greatest[1] / max - 1.0).abs() < 1e-12, "{} {max}", greatest[1]);
    assert!(greatest[1] < greatest[0]);
}

#[test]
fn a_sequence_is_refused_and_nothing_is_written() {
    let out = tempfile::tempdir().expect("a folder");
    let told = compare(&["03_angle_bracket.toml", "11_handrail_foot_three_baths.toml"], out.path());
    assert_eq!(told.status.code(), Some(2));
    assert!(text(&told.stderr).contains("sequence"));
    assert_eq!(std::fs::read_dir(out.path()).expect("the folder").count(), 0);
    // one job is not a comparison
    assert_eq!(compare(&["03_angle_bracket.toml"], out.path()).status.code(), Some(2));
}

fn number(value: &serde_json::Value) -> Option<f64> {
    value.as_f64()
}

/// Every figure of the table is that of `throwmap run`'s summary: one part alone, one with a thief,
/// one that turns.
#[test]
fn the_table_says_what_single_runs_say() {
    let jobs = ["01_bell_recess.toml", "06_plate_with_thief.toml", "10_turning_lever.toml"];
    let out = tempfile::tempdir().expect("a folder");
    let told = compare(&jobs, out.path());
    assert!(matches!(told.status.code(), Some(0 | 1)), "{}", text(&told.stderr));
    let mut rows = csv::Reader::from_path(out.path().join("comparison.csv")).expect("a table");
    let head = rows.headers().expect("a head").clone();
    let rows: Vec<csv::StringRecord> = rows.records().map(|row| row.expect("a row")).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    for (job, row) in jobs.iter().zip(&rows) {
        let run = Command::new(env!("CARGO_BIN_EXE_throwmap"))
            .arg("run")
            .arg(folder.join(job))
            .args(["--no-ranges", "--force", "-o"])
            .arg(out.path().join("summary.json"))
            .output();
        assert!(run.is_ok(), "{job}");
        let summary = std::fs::read(out.path().join("summary.json")).expect("a summary");
        let summary: serde_json::Value = serde_json::from_slice(&summary).expect("JSON");
        let bodies = summary["bodies"].as_array().expect("bodies");
        let of = |role: &'static str| bodies.iter().filter(move |b| b["role"] == role);
        let part = of("part").next().expect("a part");
        let thickness = &part["significant_thickness_um"];
        let (least, most) = (number(&thickness["min"]), number(&thickness["max"]));
        let thief: f64 = of("thief").filter_map(|b| number(&b["metal_g"])).sum();
        let beyond = number(&summary["account"]["parts"][0]["metal_beyond_g"]);
        // a part that turns is fed at the mean voltage of its positions
        let volts = match summary["findings"]["positions"].as_array().map(Vec::as_slice) {
            None | Some([]) => number(&summary["supplies"][0]["voltage_V"]),
            Some(places) => places
                .iter()
                .map(|p| Some(number(&p["share"])? * number(&p["supplies"][0]["voltage_V"])?))
                .sum(),
        };
        let verdict = &summary["verdict"];
        for (column, expected) in [
            ("least_um", least),
            ("least_uncertainty_um", number(&thickness["uncertainty"]["min"])),
            ("mean_um", number(&thickness["mean"])),
            ("greatest_um", most),
            ("greatest_over_least", least.zip(most).map(|(least, most)| most / least)),
            ("time_to_wanted_s", number(&verdict["seconds_to_min_thickness"])),
            ("beyond_g", beyond.map(|g| g + thief)),
            ("burning_share", number(&verdict["share_above_window"])),
            ("bare_share", number(&verdict["share_bare"])),
            ("voltage_V", volts),
            ("wanted_um", number(&summary["want"]["min_thickness_um"])),
        ] {
            let column_at = head.iter().position(|h| h == column).expect("a column");
            let found: Option<f64> = row[column_at].parse().ok();
            let agree = match (found, expected) {
                (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * b.abs(),
                (None, None) => true,
                _ => false,
            };
            assert!(agree, "{job} {column}: {found:?}, summary {expected:?}");
        }
    }
}
