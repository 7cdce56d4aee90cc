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
        .status();
    assert!(run.is_ok());
    let summary = std::fs::read(out.path().join("summary.json")).expect("a summary");
    let summary: serde_json::Value = serde_json::from_slice(&summary).expect("JSON");
    let bodies = summary["bodies"].as_array().expect("bodies");
    let part = bodies.iter().find(|b| b["role"] == "part").expect("a part");
    assert_eq!(part["significant_thickness_um"]["max"].as_f64(), Some(greatest[1]));
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
