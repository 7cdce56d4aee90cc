//! The program may be killed at any moment: results that were there before stay whole.
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn job(volts: f64) -> String {
    format!(
        "title = \"t\"\nunit = \"mm\"\ntank = {{ size = [200, 100], depth = 100 }}\n\
         bath = {{ use = \"watts-nickel\" }}\nsupply = {{ voltage = \"{volts} V\" }}\n\
         [[part]]\nname = \"bar\"\nrect = {{ at = [50, 50], size = [20, 40], corner = 2 }}\n\
         [[anode]]\nname = \"slab\"\nrect = {{ at = [190, 50], size = [20, 100] }}\n\
         [run]\ntime = \"10 min\"\n"
    )
}

fn command(folder: &Path, threads: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_throwmap"));
    command.current_dir(folder).env("RAYON_NUM_THREADS", threads);
    command.args(["run", "job.toml", "--out-dir", "out", "--force"]);
    command.stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// Files of a folder with their contents; half-written ones have temporary names and are left out.
/// The time that a run took is no result.
fn results(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        if name.starts_with('.') {
            continue;
        }
        let mut content = fs::read(&path).expect("readable");
        if name == "summary.json" {
            let text = String::from_utf8(content).expect("JSON is text");
            let lines = text.lines().filter(|line| !line.trim().starts_with("\"seconds\""));
            content = lines.collect::<Vec<_>>().join("\n").into_bytes();
        }
        found.insert(name, content);
    }
    found
}

/// Runs a job to its end; gives its results and how long it took.
fn finished(folder: &Path, volts: f64, threads: &str) -> (BTreeMap<String, Vec<u8>>, Duration) {
    fs::write(folder.join("job.toml"), job(volts)).expect("writable");
    let start = Instant::now();
    assert!(command(folder, threads).status().expect("it runs").success());
    (results(&folder.join("out")), start.elapsed())
}

#[test]
fn results_are_old_or_new_but_never_torn() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (new, first) = finished(folder.path(), 2.5, "2");
    let (old, second) = finished(folder.path(), 2.0, "2");
    // the machine may be busier now than later
    let mut took = first.min(second).min(finished(folder.path(), 2.0, "2").1);
    assert_eq!(old.len(), 6);
    assert!(old.iter().all(|(name, content)| new[name] != *content), "the two can be told apart");
    // kills spread over the whole run, and closer together where files are written at its end
    const KILLS: u32 = 24;
    let mut killed = 0;
    for k in 0..KILLS {
        let share = if k < 8 { f64::from(k) / 8.0 } else { 0.75 + 0.35 * f64::from(k) / 24.0 };
        let mut child = command(folder.path(), "2").spawn().expect("it runs");
        std::thread::sleep(took.mul_f64(share));
        let _ = child.kill();
        let ended = child.wait().expect("it ends").success();
        killed += u32::from(!ended);
        // a machine that has become faster is killed sooner
        if ended && share < 1.0 {
            took = took.mul_f64(0.8);
        }
        let found = results(&folder.path().join("out"));
        assert_eq!(found.len(), 6, "kill {k}: {:?}", found.keys());
        for (name, content) in &found {
            assert!(*content == old[name] || *content == new[name], "kill {k}: {name} is torn");
        }
        // the next kill may put back what this one has replaced
        let volts = if found == new { 2.0 } else { 2.5 };
        fs::write(folder.path().join("job.toml"), job(volts)).expect("writable");
    }
    assert!(killed > KILLS / 4, "only {killed} runs were killed before their end");
}

/// A sweep begun anew over a finished one, killed anywhere: the older table stays whole until the new
/// one is, and `--resume` ends with the bytes of a sweep that nobody killed.
#[test]
fn a_killed_sweep_leaves_the_older_table_and_goes_on() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let sweep = |to: &str, more: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_throwmap"));
        command.current_dir(folder.path()).stdout(Stdio::null()).stderr(Stdio::null());
        command.args(["sweep", "job.toml", "--vary", "supply.voltage=1.6..2.6V/12"]);
        command.args(["--out-dir", to, more]);
        command
    };
    let ends = |to: &str, more: &str| {
        assert!(sweep(to, more).status().expect("it runs").success(), "{to} {more}");
        results(&folder.path().join(to))
    };
    fs::write(folder.path().join("job.toml"), job(2.0)).expect("writable");
    let old = ends("out", "-q");
    let longer = job(2.0).replace("10 min", "20 min");
    fs::write(folder.path().join("job.toml"), longer).expect("writable");
    let start = Instant::now();
    let new = ends("fresh", "-q");
    let took = start.elapsed();
    assert!(old.contains_key("sweep.csv") && old.keys().eq(new.keys()));
    assert!(old["sweep.csv"] != new["sweep.csv"] && old["sweep.json"] != new["sweep.json"]);
    const KILLS: u32 = 12;
    let (mut killed, mut stopped) = (0, 0);
    for k in 0..KILLS {
        let mut child = sweep("out", "--force").spawn().expect("it runs");
        std::thread::sleep(took.mul_f64(1.1 * f64::from(k) / f64::from(KILLS)));
        let _ = child.kill();
        killed += u32::from(!child.wait().expect("it ends").success());
        let mut found = results(&folder.path().join("out"));
        let begun = found.remove("sweep.journal");
        assert!(found.keys().eq(old.keys()), "kill {k}: {:?}", found.keys());
        for (name, content) in &found {
            assert!(*content == old[name] || *content == new[name], "kill {k}: {name} is torn");
        }
        if begun.is_some() {
            stopped += 1;
            assert!(ends("out", "--resume") == new, "kill {k}: another result");
        }
        for (name, content) in &old {
            fs::write(folder.path().join("out").join(name), content).expect("writable");
        }
    }
    assert!(killed > KILLS / 3 && stopped > 0, "{killed} killed, {stopped} while solving");
}

#[test]
fn the_same_job_gives_the_same_bytes_on_any_number_of_threads() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (one, _) = finished(folder.path(), 2.0, "1");
    for threads in ["2", "3", "8"] {
        assert_eq!(finished(folder.path(), 2.0, threads).0, one, "{threads} threads");
    }
}
