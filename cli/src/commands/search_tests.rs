//! `throwmap search` from the command line to its files.

use std::fs;
use std::path::Path;

use crate::exit::ExitStatus;
use crate::run;

/// A plate and an anode, loosely solved.
const JOB: &str = r#"# the plate of the test
title = "Plate"
unit = "mm"
tank = { size = [200, 120], depth = 100 }
bath = { use = "watts-nickel" }

[[part]]
name = "plate"
rect = { at = [60, 60], size = [6, 60], corner = 1 }

[[anode]]
name = "row"
rect = { at = [180, 30], size = [10, 40] }   # too low

[supply]
current_density = "1.5 A/dm2"
[run]
time = "30 min"
[want]
min_thickness = "2 um"
[solve]
accuracy = "5 %"
"#;

/// Status, standard output and standard error of a search over the job, without its files.
fn call(folder: &Path, args: &[&str]) -> (ExitStatus, String, String) {
    let job = folder.join("plate.toml");
    fs::write(&job, JOB).expect("writable");
    let (job, results) = (job.to_string_lossy(), folder.join("results"));
    let results = results.to_string_lossy();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let all = ["throwmap", "search", &job, "--out-dir", &results];
    let status = run(all.iter().chain(args).copied(), &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).expect("words are UTF-8");
    (status, text(out), text(err))
}

#[test]
fn faults_name_the_option_what_is_allowed_and_the_way_out() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let vary = "--vary=anode.row.move.y=0..60mm";
    let cases: [(&[&str], &[&str]); 14] = [
        (&[], &["--vary is missing", "like --vary anode.left.move.x=-40..40mm"]),
        (&["--vary=anode.raw.move.y=0..60mm"], &["--vary", "row"]),
        (
            &[vary, "--aim=tme"],
            &["--aim: no figure is called `tme`", "did you mean `time`?", "waste"],
        ),
        (&[vary, "--aim=time:x"], &["--aim: the weight", "not zero", "waste:0.5/g"]),
        (&[vary, "--aim=time:1/kg"], &["--aim: `kg` is no unit of `time-to-wanted`"]),
        (&[vary, "--limit=volts"], &["--limit: no bound is given", "<= or >=", "'volts<=6'"]),
        (&[vary, "--limit=burning<=2"], &["--limit", "unit", "%"]),
        (&[vary, "--limit=waste<=2 V"], &["--limit: the value of `wasted`", "g, kg, mg, oz"]),
        (&[vary, "--limit=volts<=6 A"], &["--limit", "V"]),
        (&[vary, "--clearance=5"], &["--clearance", "like 5 mm"]),
        (&[vary, "--clearance=-5 mm"], &["--clearance", "zero or more"]),
        (&[vary, "--front=time"], &["--front: two figures", "like --front time,waste"]),
        (&[vary, "--budget=3"], &["--budget", "whole number from 8"]),
        (&[vary, "--best=0"], &["--best", "whole number from 1"]),
    ];
    for (args, wanted) in cases {
        let (status, out, err) = call(folder.path(), args);
        assert_eq!(status, ExitStatus::BadInput, "{args:?}: {err}");
        assert!(out.is_empty(), "{args:?}: {out}");
        for words in wanted {
            assert!(err.contains(words), "{args:?} without {words:?}: {err}");
        }
    }
    assert!(!folder.path().join("results").exists());
}

#[test]
fn the_best_layouts_are_written_as_jobs_with_comments_and_pictures() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let args = [
        "--vary=anode.row.move.y=0..60mm",
        "--vary=anode.row.move.x=-90..5mm",
        "--clearance=10 mm",
        "--aim=volts",
        "--aim=time:0.1",
        "--budget=24",
        "--best=2",
    ];
    let (status, out, err) = call(folder.path(), &args);
    assert_eq!(status, ExitStatus::Done, "{out}{err}");
    assert!(out.contains("1 against the job as it is: voltage −"), "{out}");
    let results = folder.path().join("results");
    let read = |name: &str| fs::read(results.join(name)).expect(name);
    let job = String::from_utf8(read("best-1.toml")).expect("words are UTF-8");
    assert!(job.starts_with("# the plate of the test") && job.contains("# too low"), "{job}");
    for name in ["front.png", "best-1.map.png", "best-1.deposit.png", "best-2.map.png"] {
        assert!(read(name).starts_with(b"\x89PNG"), "{name}");
    }
    let table = read("search.csv");
    let mut rows = csv::Reader::from_reader(table.as_slice());
    let head = rows.headers().expect("a head").clone();
    let column = |name: &str| head.iter().position(|h| h == name).expect(name);
    let rows: Vec<csv::StringRecord> = rows.records().collect::<Result<_, _>>().expect("rows");
    assert!(rows.len() > 10);
    // the job file is that of the row marked as the best, and meets what is wanted
    let best = rows.iter().find(|r| &r[column("best")] == "1").expect("the best");
    let up = &best[column("anode.row.move.y (mm)")];
    assert!(job.contains(&format!(", {up}]")), "{up}: {job}");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let again = [
        "throwmap",
        "run",
        &results.join("best-1.toml").to_string_lossy(),
        "--no-ranges",
        "--out-dir",
        &folder.path().join("run").to_string_lossy(),
    ]
    .map(str::to_owned);
    let status = run(again, &mut out, &mut err);
    assert_eq!(status, ExitStatus::Done, "{}", String::from_utf8_lossy(&err));
    // the same search finds the same
    let (status, _, err) = call(folder.path(), &[&args[..], &["--force"]].concat());
    assert_eq!((status, read("search.csv")), (ExitStatus::Done, table), "{err}");
}

#[test]
fn what_blocks_is_said_in_words_and_the_status_tells() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let args = ["--vary=anode.row.move.x=-90..5mm", "--budget=12"];
    let (status, out, err) = call(folder.path(), &[&args[..], &["--limit=volts<=0.5"]].concat());
    assert_eq!(status, ExitStatus::WantMissed, "{err}");
    assert!(out.contains("No layout keeps to all limits; `nearest` misses"), "{out}");
    assert!(out.contains("voltage at most 0.500 V:"), "{out}");
    assert!(out.contains("Let anodes come nearer or be larger"), "{out}");
    let args = ["--vary=anode.row.move.x=-126..-116mm", "--budget=12", "--force"];
    let (status, out, err) = call(folder.path(), &args);
    assert_eq!(status, ExitStatus::WantMissed, "{err}");
    assert!(out.contains("No combination of values makes a layout"), "{out}");
    assert!(out.contains("overlap") && out.contains(" of the combinations tried"), "{out}");
}
