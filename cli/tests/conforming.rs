//! A conforming anode evens the deposit of a deep recess: examples 01 and 17 are one bell in one bath
//! with the same ampere minutes, once before a plain anode, once inside a sheet at an even gap.
//!
//! The numbers are those that the examples state, computed with the library's values; the margins are
//! far inside them, so that a better grid or another bath value may move the answer.

use serde_json::Value;

/// Thickness over the significant surface of the bell, least and greatest, µm.
fn thickness(example: &str) -> [f64; 2] {
    let folder = tempfile::tempdir().expect("a folder");
    let job = format!("{}/../examples/{example}.toml", env!("CARGO_MANIFEST_DIR"));
    let out = folder.path().display().to_string();
    let args = ["throwmap", "run", &job, "--out-dir", &out, "--no-ranges", "--quiet"];
    let (mut said, mut err) = (Vec::new(), Vec::new());
    let status = throwmap::run(args, &mut said, &mut err);
    assert_eq!(status, throwmap::ExitStatus::Done, "{}", String::from_utf8_lossy(&err));
    let text = std::fs::read_to_string(folder.path().join("summary.json")).expect("a summary");
    let summary: Value = serde_json::from_str(&text).expect("JSON");
    let bodies = summary["bodies"].as_array().expect("bodies");
    let bell = bodies.iter().find(|body| body["name"] == "bell").expect("the bell");
    let of = |which: &str| bell["significant_thickness_um"][which].as_f64().expect("a number");
    [of("min"), of("max")]
}

#[test]
fn a_conforming_anode_evens_a_deep_recess() {
    let [least, most] = thickness("01_bell_recess");
    let [least_even, most_even] = thickness("17_bell_conforming_anode");
    assert!(least < 1.5 && most > 60.0, "{least} to {most}");
    assert!(least_even > 8.0 && most_even < 55.0, "{least_even} to {most_even}");
    assert!(most_even / least_even < 5.0 && most / least > 40.0);
}
