//! `throwmap sweep` from job file to table: rows are what `run` says, parts join to the whole, and a
//! sweep that was stopped goes on to the same bytes.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use throwmap::ExitStatus;

const JOB: &str = r#"
title = "Plate before an anode"
unit = "mm"
tank = { size = [200, 120], depth = 100 }
[bath]
use = "watts-nickel"
[[part]]
name = "plate"
rect = { at = [150, 60], size = [10, 60], corner = 2 }
[[anode]]
name = "bar"
rect = { at = [20, 60], size = [10, 80] }
[supply]
current = "5 A"
[run]
time = "20 min"
[want]
min_thickness = "1.5 um"
[solve]
accuracy = "5 %"
"#;
const VARY: [&str; 4] = ["--vary", "anode.bar.move.x=0..128mm/5", "--vary", "supply.current=3,6A"];

fn job(folder: &Path) -> PathBuf {
    let job = folder.join("job.toml");
    fs::write(&job, JOB).expect("written");
    job
}

fn throwmap(args: &[&str]) -> (ExitStatus, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = ["throwmap"].into_iter().chain(args.iter().copied());
    let status = throwmap::run(args, &mut out, &mut err);
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (status, text(out), text(err))
}

fn sweep(job: &Path, to: &Path, more: &[&str]) -> (ExitStatus, String, String) {
    let (job, to) = (job.to_string_lossy(), to.to_string_lossy());
    let args = [&["sweep", &job, "--out-dir", &to, "-q"], &VARY[..], more].concat();
    throwmap(&args)
}

fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = fs::read_dir(folder).expect("a folder").flatten();
    let named = files.map(|f| f.file_name().to_string_lossy().into_owned());
    named.map(|name| (name.clone(), fs::read(folder.join(&name)).expect("readable"))).collect()
}

fn table(folder: &Path) -> Vec<BTreeMap<String, String>> {
    let text = fs::read_to_string(folder.join("sweep.csv")).expect("a table");
    let mut lines = text.lines().map(|line| {
        // no cell of these tables but the reason holds a comma or a quote
        line.split(',').map(str::to_owned).collect::<Vec<_>>()
    });
    let head = lines.next().expect("a header");
    lines.map(|line| head.iter().cloned().zip(line).collect()).collect()
}

/// Each row holds the figures of `run` for the same values: within rounding where the same layout is
/// solved from the same start, within the stated uncertainties of both elsewhere.
#[test]
fn rows_are_what_run_says() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = job(folder.path());
    let to = folder.path().join("out");
    let (status, out, err) = sweep(&job, &to, &[]);
    assert_eq!(status, ExitStatus::Done, "{out}{err}");
    assert!(out.contains("10 combinations, 8 solved, 2 make no layout."), "{out}");
    assert!(out.contains("overlap"), "{out}");
    // the best of them as a job file: 6 A would burn
    let best = fs::read_to_string(to.join("sweep.best.toml")).expect("a job file");
    assert!(best.contains("current = \"3 A\"") && best.contains("move = [0, 0]"), "{best}");
    let rows = table(&to);
    assert_eq!(rows.len(), 10);
    for (k, row) in rows.iter().enumerate() {
        assert_eq!(row["point"], (k + 1).to_string());
        let (x, amps) = (&row["anode.bar.move.x (mm)"], &row["supply.current (A)"]);
        if row["status"] != "solved" {
            assert_eq!((row["status"].as_str(), x.as_str()), ("blocked", "128"));
            assert_eq!(row["least_um"], "");
            continue;
        }
        let text =
            JOB.replace("size = [10, 80] }", &format!("size = [10, 80] }}\nmove = [{x}, 0]"));
        let text = text.replace("\"5 A\"", &format!("\"{amps} A\""));
        let one = folder.path().join(format!("one{k}.toml"));
        fs::write(&one, text).expect("written");
        let here = folder.path().join(format!("one{k}.summary.json"));
        throwmap(&[
            "run",
            &one.to_string_lossy(),
            "-o",
            &here.to_string_lossy(),
            "-q",
            "--no-ranges",
        ]);
        let summary = fs::read_to_string(&here).expect("a summary");
        let summary: serde_json::Value = serde_json::from_str(&summary).expect("JSON");
        let number = |key: &str| row[key].parse::<f64>().expect("a number");
        let (supply, part) = (&summary["supplies"][0], &summary["bodies"][0]);
        let part = if part["name"] == "plate" { part } else { &summary["bodies"][1] };
        let thickness = match &part["significant_thickness_um"] {
            serde_json::Value::Null => &part["thickness_um"],
            significant => significant,
        };
        for (column, key) in [("least", "min"), ("mean", "mean"), ("greatest", "max")] {
            let found = thickness[key].as_f64().expect("a thickness");
            let doubt = thickness["uncertainty"][key].as_f64().expect("a number");
            let (value, own) =
                (number(&format!("{column}_um")), number(&format!("{column}_uncertainty_um")));
            assert!((value - found).abs() <= own + doubt, "{column} {value} {found}");
            // what warm starts move is far below the uncertainty
            assert!((value / found - 1.0).abs() < 0.005, "{column} {value} {found}");
        }
        let verdict = &summary["verdict"];
        let seconds = verdict["seconds_to_min_thickness"].as_f64().expect("a time");
        assert!((number("time_to_wanted_s") / seconds - 1.0).abs() < 0.005, "{seconds}");
        let met =
            if verdict["min_thickness_met"].as_bool().expect("judged") { "yes" } else { "no" };
        assert_eq!(row["meets"], met);
        let burns = verdict["share_above_window"].as_f64().expect("a share");
        assert!(
            (number("burning_share") - burns).abs() <= 1e-9 + number("burning_uncertainty_share"),
            "{burns}"
        );
        for (column, found, doubt) in [
            ("voltage", &supply["voltage_V"], &supply["voltage_uncertainty_V"]),
            ("current", &supply["current_A"], &supply["current_uncertainty_A"]),
        ] {
            let unit = if column == "voltage" { "V" } else { "A" };
            let value = number(&format!("{column}_{unit}"));
            let own = number(&format!("{column}_uncertainty_{unit}"));
            let (found, doubt) = (found.as_f64().expect("a number"), doubt.as_f64().unwrap_or(0.0));
            assert!(
                (value - found).abs() <= own + doubt + 1e-9 * found,
                "{column} {value} {found}"
            );
        }
        let metal = summary["account"]["parts"][0]["metal_g"].as_f64().expect("metal");
        assert!((number("metal_g") / metal - 1.0).abs() < 0.005, "{metal}");
    }
}

/// Parts solved one by one join to the same files, byte by byte; foreign and missing parts are named.
#[test]
fn parts_join_to_the_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = job(folder.path());
    let (whole, parts, joined) =
        (folder.path().join("whole"), folder.path().join("parts"), folder.path().join("joined"));
    sweep(&job, &whole, &[]);
    for part in ["1/3", "2/3", "3/3"] {
        let (status, _, err) = sweep(&job, &parts, &["--shard", part]);
        assert!(matches!(status, ExitStatus::Done | ExitStatus::WantMissed), "{err}");
    }
    let table = |k: usize| parts.join(format!("sweep.{k}of3.csv")).to_string_lossy().into_owned();
    let (name, to) = (job.to_string_lossy(), joined.to_string_lossy());
    let merge = |tables: &[&str]| {
        throwmap(&[&["sweep", &name, "--out-dir", &to, "-q", "--merge"], tables].concat())
    };
    let (status, _, err) = merge(&[&table(1), &table(3)]);
    assert_eq!(status, ExitStatus::BadInput);
    assert!(err.contains("3 of 10 combinations are missing: points 2, 5, 8"), "{err}");
    assert!(!joined.exists());
    let (status, out, err) = merge(&[&table(3), &table(1), &table(2)]);
    assert_eq!(status, ExitStatus::Done, "{out}{err}");
    assert_eq!(contents(&joined), contents(&whole));
    // a part of another sweep
    let record = parts.join("sweep.2of3.json");
    let text = fs::read_to_string(&record).expect("a record").replace("3,6A", "3,7A");
    fs::write(&record, text).expect("written");
    let (status, _, err) = merge(&[&table(1), &table(2), &table(3)]);
    assert_eq!(status, ExitStatus::BadInput);
    assert!(err.contains("other values are varied"), "{err}");
}

/// First line of the journal of the sweep that was finished in a folder.
fn begun(folder: &Path) -> String {
    let record = fs::read_to_string(folder.join("sweep.json")).expect("a record");
    let record: serde_json::Value = serde_json::from_str(&record).expect("JSON");
    format!("record,\"{}\"\n", record.to_string().replace('"', "\"\""))
}

/// What a kill leaves is a journal that ends anywhere: the sweep goes on from any of its prefixes to
/// the same files. Another job or another variable is refused, and nothing is written over.
#[test]
fn a_stopped_sweep_goes_on_to_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = job(folder.path());
    let whole = folder.path().join("whole");
    sweep(&job, &whole, &[]);
    let expected = contents(&whole);
    let table = fs::read(whole.join("sweep.csv")).expect("a table");
    let start = table.iter().position(|b| *b == b'\n').expect("a header") + 1;
    for share in [0.0, 0.37, 0.8] {
        let cut = start + ((table.len() - start) as f64 * share) as usize;
        let to = folder.path().join(format!("stopped{cut}"));
        fs::create_dir(&to).expect("made");
        let journal = [begun(&whole).as_bytes(), &table[start..cut]].concat();
        fs::write(to.join("sweep.journal"), journal).expect("written");
        let (status, _, err) = sweep(&job, &to, &[]);
        assert_eq!(status, ExitStatus::Io);
        assert!(err.contains("--resume"), "{err}");
        let (status, out, err) = sweep(&job, &to, &["--resume"]);
        assert_eq!(status, ExitStatus::Done, "{out}{err}");
        assert_eq!(contents(&to), expected, "{share}");
    }
    let to = whole.to_string_lossy().into_owned();
    let name = job.to_string_lossy().into_owned();
    let args = ["sweep", &name, "--out-dir", &to, "--vary", "supply.current=3,6A", "--resume"];
    let (status, _, err) = throwmap(&args);
    assert_eq!(status, ExitStatus::BadInput);
    assert!(err.contains("other values are varied"), "{err}");
    fs::write(&job, JOB.replace("20 min", "30 min")).expect("written");
    let (status, _, err) = sweep(&job, &whole, &["--resume"]);
    assert_eq!(status, ExitStatus::BadInput);
    assert!(err.contains("the job file has another text"), "{err}");
    assert_eq!(contents(&whole), expected);
    let (status, ..) = sweep(&job, &whole, &[]);
    assert_eq!(status, ExitStatus::Io);
}

/// One thread and four leave the same bytes; so does a sample.
#[test]
fn the_number_of_threads_changes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = job(folder.path());
    let name = job.to_string_lossy().into_owned();
    let found = [1, 4].map(|threads| {
        let to = folder.path().join(format!("threads{threads}"));
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        let (status, out, err) = pool.install(|| {
            throwmap(&[
                "sweep",
                &name,
                "--out-dir",
                &to.to_string_lossy(),
                "-q",
                "--sample",
                "6",
                "--vary",
                "anode.move.x=0..60mm",
                "--vary",
                "supply.current=3..6A",
                "--vary",
                "bath.use=watts-nickel,nickel-sulfamate",
            ])
        });
        assert!(matches!(status, ExitStatus::Done | ExitStatus::WantMissed), "{err}");
        (out.replace(&*to.to_string_lossy(), ""), contents(&to))
    });
    assert!(found[0] == found[1]);
    assert_eq!(found[0].1.keys().filter(|name| name.ends_with(".png")).count(), 3);
}

#[test]
fn what_cannot_be_swept_is_said_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = job(folder.path());
    let name = job.to_string_lossy().into_owned();
    let to = folder.path().join("out");
    let dir = to.to_string_lossy().into_owned();
    for (args, said) in [
        (&[][..], "nothing is varied"),
        (&["--vary", "supply.current=3..6A"][..], "how many values of `supply.current`?"),
        (&["--vary", "anode.bra.move.x=3..6/2"][..], "did you mean"),
        (&["--vary", "supply.current=3..6A", "--sample", "0"][..], "must be from 1"),
        (
            &["--vary", "supply.current=1..6A/100000", "--vary", "run.time=1..2min/11"][..],
            "--sample",
        ),
        (&["--vary", "supply.current=3..6A/2", "--shard", "4/3"][..], "3/16"),
    ] {
        let (status, _, err) = throwmap(&[&["sweep", &name, "--out-dir", &dir], args].concat());
        assert_eq!(status, ExitStatus::BadInput, "{args:?}");
        assert!(err.contains(said), "{args:?}: {err}");
        assert!(!to.exists());
    }
}

/// Ctrl-C lets what is being solved come to its end, keeps it, and says how to go on.
#[cfg(unix)]
#[test]
fn ctrl_c_keeps_what_is_done() {
    use std::process::{Command, Stdio};
    use std::time::{Duration, Instant};

    let folder = tempfile::tempdir().expect("a folder");
    let job = job(folder.path());
    let to = folder.path().join("out");
    // far more than can be solved before the signal comes
    let mut child = Command::new(env!("CARGO_BIN_EXE_throwmap"))
        .args(["sweep", &job.to_string_lossy(), "--out-dir", &to.to_string_lossy()])
        .args([
            "--vary",
            "supply.current=3..6A",
            "--vary",
            "anode.move.x=0..60mm",
            "--sample",
            "20000",
        ])
        .stderr(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .expect("the program runs");
    let journal = to.join("sweep.journal");
    // the first line says which sweep it is
    let rows =
        || fs::read_to_string(&journal).map_or(0, |text| text.lines().count().saturating_sub(1));
    let started = Instant::now();
    while rows() < 2 {
        assert!(started.elapsed() < Duration::from_secs(60), "nothing is solved");
        std::thread::sleep(Duration::from_millis(20));
    }
    let signal = Command::new("kill").args(["-INT", &child.id().to_string()]).status();
    assert!(signal.expect("a signal").success());
    let status = child.wait().expect("ends");
    assert_eq!(status.code(), Some(130));
    let mut said = String::new();
    std::io::Read::read_to_string(&mut child.stderr.take().expect("piped"), &mut said)
        .expect("text");
    assert!(said.contains(&format!("stopped: {} of 20000", rows())), "{said}");
    assert!(said.contains("--resume"), "{said}");
    let text = fs::read_to_string(&journal).expect("a journal");
    assert!(text.ends_with('\n') && text.lines().skip(1).all(|line| line.ends_with(",solved,")));
    assert!(!to.join("sweep.csv").exists());
}
