use std::fs;
use std::path::Path;

use crate::exit::ExitStatus;
use crate::run;

/// Runs the command line; gives status, standard output, standard error.
fn call(args: &[&str]) -> (ExitStatus, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let all = std::iter::once("throwmap").chain(args.iter().copied());
    let status = run(all, &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).expect("words are UTF-8");
    (status, text(out), text(err))
}

fn path(folder: &Path, name: &str) -> String {
    folder.join(name).to_string_lossy().into_owned()
}

#[test]
fn help_begins_with_two_examples() {
    let (status, out, _) = call(&["--help"]);
    assert_eq!(status, ExitStatus::Done);
    insta::assert_snapshot!(out);
}

#[test]
fn wrong_usage_is_bad_input() {
    for args in [&["rnu", "x.toml"][..], &["run"], &["run", "x.toml", "--nonsense"], &[]] {
        let (status, out, err) = call(args);
        assert_eq!(status, ExitStatus::BadInput, "{args:?}");
        assert!(out.is_empty() && !err.is_empty(), "{args:?}");
    }
}

#[test]
fn files_that_are_no_job_are_bad_input_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let results = path(folder.path(), "results");
    let cases: [(&str, &[u8]); 4] = [
        ("empty.toml", b""),
        ("binary.toml", b"\x7fELF\0\x01\x02"),
        ("latin.toml", b"title = \"K\xfcbel\"\n"),
        ("broken.toml", b"[tank\nsize = [1, 2]\n"),
    ];
    for (name, content) in cases {
        fs::write(folder.path().join(name), content).expect("writable");
    }
    let folder_name = folder.path().to_string_lossy().into_owned();
    let mut names: Vec<String> = cases.iter().map(|(name, _)| path(folder.path(), name)).collect();
    names.extend([path(folder.path(), "missing.toml"), folder_name]);
    for name in names {
        for command in ["run", "check"] {
            let (status, out, err) = call(&[command, &name, "--out-dir", &results]);
            assert_eq!(status, ExitStatus::BadInput, "{name}: {err}");
            assert!(out.is_empty() && err.contains("error[E00"), "{name}: {err}");
        }
    }
    assert!(!Path::new(&results).exists());
}

#[test]
fn init_writes_a_job_without_faults_and_never_over_a_file() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let job = path(folder.path(), "bath.toml");
    let (status, out, _) = call(&["init", &job]);
    assert_eq!((status, out.contains("throwmap run")), (ExitStatus::Done, true));
    let (status, _, err) = call(&["check", &job, "--no-drawing"]);
    assert_eq!(status, ExitStatus::Done, "{err}");
    fs::write(&job, "mine").expect("writable");
    let (status, _, err) = call(&["init", &job]);
    assert_eq!(status, ExitStatus::Io, "{err}");
    assert_eq!(fs::read_to_string(&job).expect("readable"), "mine");
}

#[test]
fn check_draws_the_layout_once() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let job = path(folder.path(), "bath.toml");
    assert_eq!(call(&["init", &job]).0, ExitStatus::Done);
    let results = path(folder.path(), "results");
    let check = ["check", job.as_str(), "--out-dir", results.as_str()];
    let (status, out, err) = call(&check);
    assert_eq!(status, ExitStatus::Done, "{err}");
    assert!(
        out.contains("bath.conductivity = 8.5 S/m (library `watts-nickel`, typical: "),
        "{out}"
    );
    let drawing = fs::read(Path::new(&results).join("layout.png")).expect("drawn");
    assert!(drawing.starts_with(b"\x89PNG"));
    assert_eq!(call(&check).0, ExitStatus::Io, "the drawing is there already");
    assert_eq!(call(&[&check[..], &["--force"]].concat()).0, ExitStatus::Done);
}

#[test]
fn taken_names_are_refused_before_the_solve() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let job = path(folder.path(), "bath.toml");
    assert_eq!(call(&["init", &job]).0, ExitStatus::Done);
    fs::write(folder.path().join("field.csv"), "mine").expect("writable");
    let (status, _, err) = call(&["run", &job, "--out-dir", &folder.path().to_string_lossy()]);
    assert_eq!(status, ExitStatus::Io);
    assert!(err.contains("field.csv` exists: use --force"), "{err}");
    assert_eq!(fs::read_dir(folder.path()).expect("readable").count(), 2);
}

/// Files by name: each holds what its name says, and nothing else is written.
#[test]
fn files_asked_for_by_name_are_all_that_is_written() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let job = path(folder.path(), "bath.toml");
    assert_eq!(call(&["init", &job]).0, ExitStatus::Done);
    let kinds: [(&str, &[u8]); 6] = [
        ("sub/bath.map.svg", b"<svg"),
        ("profile.pdf", b"%PDF"),
        ("all.pdf", b"%PDF"),
        ("deposit.png", b"\x89PNG"),
        ("field.csv", b"x_mm"),
        ("bath.json", b"{"),
    ];
    let names: Vec<String> = kinds.iter().map(|(name, _)| path(folder.path(), name)).collect();
    let mut args = vec!["run", job.as_str(), "--no-ranges", "--quiet"];
    args.extend(names.iter().flat_map(|name| ["-o", name.as_str()]));
    let (status, _, err) = call(&args);
    assert!(matches!(status, ExitStatus::Done | ExitStatus::WantMissed), "{err}");
    for ((kind, start), name) in kinds.iter().zip(&names) {
        let content = fs::read(name).expect("written");
        assert!(content.starts_with(start), "{kind}");
    }
    // the job, five files and a folder
    assert_eq!(fs::read_dir(folder.path()).expect("readable").count(), 7);
    let pages = |name: &str| {
        let bytes = fs::read(path(folder.path(), name)).expect("written");
        let text = String::from_utf8_lossy(&bytes).into_owned();
        text.matches("/Type/Page").count() + text.matches("/Type /Page").count()
            - text.matches("/Type/Pages").count()
            - text.matches("/Type /Pages").count()
    };
    assert_eq!((pages("profile.pdf"), pages("all.pdf")), (1, 4));
    let (status, _, err) = call(&args);
    assert_eq!(status, ExitStatus::Io, "{err}");
    let (status, _, err) = call(&["run", &job, "-o", "bath.gif"]);
    assert_eq!(status, ExitStatus::BadInput);
    assert!(err.contains(".gif") && err.contains(".svg") && err.contains(".csv"), "{err}");
    let layout = path(folder.path(), "layout.svg");
    assert_eq!(call(&["check", &job, "-o", &layout]).0, ExitStatus::Done);
    assert!(fs::read(&layout).expect("drawn").starts_with(b"<svg"));
}

/// A bar through two baths; the second turns it.
const SEQUENCE: &str = r#"title = "Bar"
unit = "mm"
tank = { size = [200, 150], depth = 100 }
part = { name = "bar", rect = { at = [100, 75], size = [40, 20], corner = 2 } }
anode = { name = "slab", rect = { at = [15, 75], size = [10, 100] } }
supply = { current_density = "3 A/dm2" }
solve = { accuracy = "5 %" }

[[layer]]
name = "copper"
bath = { use = "acid-copper" }
run = { time = "30 min" }

[[layer]]
name = "nickel"
bath = { use = "watts-nickel" }
part = { name = "bar", rect = { at = [100, 75], size = [40, 20], corner = 2 }, turn = 90 }
run = { time = "40 min" }
"#;

#[test]
fn a_sequence_leaves_files_of_each_layer_and_of_all() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let job = path(folder.path(), "bar.toml");
    let results = path(folder.path(), "results");
    let run = ["run", job.as_str(), "--out-dir", results.as_str(), "--force"];
    let with = |want: &str| {
        fs::write(&job, format!("want = {{ designation = \"{want}\" }}\n{SEQUENCE}"))
            .expect("writable");
    };
    with("Fe/Cu1a Ni1b");
    let (status, out, err) = call(&run);
    assert_eq!(status, ExitStatus::Done, "{err}");
    assert!(out.contains("1. copper: ") && out.contains("2. nickel: "), "{out}");
    let mut names: Vec<String> = fs::read_dir(&results)
        .expect("readable")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "1-copper.deposit.png",
            "1-copper.field.csv",
            "1-copper.map.png",
            "1-copper.profile.png",
            "1-copper.summary.json",
            "1-copper.surface.csv",
            "2-nickel.deposit.png",
            "2-nickel.field.csv",
            "2-nickel.map.png",
            "2-nickel.profile.png",
            "2-nickel.summary.json",
            "2-nickel.surface.csv",
            "deposit.png",
            "summary.json",
            "surface.csv",
        ]
    );
    with("Fe/Cu1a Ni500b");
    let (status, out, _) = call(&run);
    assert_eq!(status, ExitStatus::WantMissed);
    assert!(
        out.contains("Wanted of nickel at least 500 µm (designation Fe/Cu1a Ni500b): MISSED"),
        "{out}"
    );
    let (status, _, _) = call(&run[..4]);
    assert_eq!(status, ExitStatus::Io, "nothing is overwritten unasked");
    with("Fe/Ni1b Cr r");
    let elsewhere = path(folder.path(), "elsewhere");
    let (status, _, err) = call(&["run", &job, "--out-dir", &elsewhere]);
    assert_eq!((status, err.contains("error[E018]")), (ExitStatus::BadInput, true), "{err}");
    assert!(!Path::new(&elsewhere).exists());
}

#[test]
fn check_draws_every_layer_of_a_sequence() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let job = path(folder.path(), "bar.toml");
    fs::write(&job, SEQUENCE).expect("writable");
    let (status, out, err) = call(&["check", &job, "--out-dir", &path(folder.path(), "out")]);
    assert_eq!(status, ExitStatus::Done, "{err}");
    assert!(out.contains("2 layers"), "{out}");
    for name in ["1-copper.layout.png", "2-nickel.layout.png"] {
        assert!(folder.path().join("out").join(name).exists(), "{name}");
    }
}

#[test]
fn designations_are_explained_or_refused() {
    let (status, out, _) = call(&["designation", "Fe/Cu20Ni30bCr r"]);
    assert_eq!(status, ExitStatus::Done);
    assert!(out.contains("chromium, at least 0.3 µm, r: regular"), "{out}");
    let (status, out, _) = call(&["designation"]);
    assert!(status == ExitStatus::Done && out.contains("SC5: extended very severe"), "{out}");
    let (status, out, err) = call(&["designation", "Fe/Cu20Ni30xCr r"]);
    assert_eq!((status, out.as_str()), (ExitStatus::BadInput, ""));
    assert!(err.contains("`x` is no kind of nickel"), "{err}");
}

#[test]
fn every_bath_shows_where_its_values_come_from() {
    let (status, list, _) = call(&["baths"]);
    assert_eq!(status, ExitStatus::Done);
    assert!(list.lines().all(|line| line.chars().count() <= 80), "{list}");
    for line in list.lines().skip(1) {
        let name = line.split_whitespace().next().expect("a name");
        let (status, out, _) = call(&["baths", name]);
        assert_eq!(status, ExitStatus::Done);
        assert!(
            out.contains("conductivity") && out.contains("assumed: ") && out.contains("Caution: "),
            "{out}"
        );
        assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    }
    let (status, _, err) = call(&["baths", "watt-nickel"]);
    assert_eq!(status, ExitStatus::BadInput);
    assert!(err.contains("did you mean `watts-nickel`?"), "{err}");
}

#[test]
fn the_schema_is_draft_07_and_knows_every_key() {
    let (status, out, _) = call(&["schema"]);
    assert_eq!(status, ExitStatus::Done);
    let schema: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(schema["$schema"], "http://json-schema.org/draft-07/schema#");
    assert!(
        schema["properties"]["unit"]["description"].as_str().is_some_and(|d| d.contains("\"mm\""))
    );
    let bath = &schema["definitions"]["BathTable"]["properties"];
    for key in
        ["use", "temperature", "conductivity", "cathode", "anode", "window", "metal", "efficiency"]
    {
        assert!(
            bath[key]["description"].is_string() || bath[key]["allOf"].is_array(),
            "{key}: {}",
            bath[key]
        );
    }
    insta::assert_snapshot!(out);
}

/// A reader that leaves after the first bytes, as `head` does.
struct ClosedPipe;

impl std::io::Write for ClosedPipe {
    fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
        Err(std::io::ErrorKind::BrokenPipe.into())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_closed_pipe_is_no_error() {
    for command in ["schema", "baths"] {
        assert_eq!(run(["throwmap", command], &mut ClosedPipe, &mut Vec::new()), ExitStatus::Done);
    }
}

/// A bare part between x = 120 and 180 mm, and after it the `bodies`.
fn job_with(bodies: &str) -> String {
    format!(
        "title = \"t\"\nunit = \"mm\"\ntank = {{ size = [500, 300], depth = 250 }}\n\
         bath = {{ use = \"watts-nickel\" }}\nsupply = {{ voltage = \"2 V\" }}\n\
         [[part]]\nname = \"cup\"\nrect = {{ at = [150, 150], size = [60, 60] }}\n\
         polarization = {{ law = \"none\" }}\n{bodies}"
    )
}

#[test]
fn what_cannot_carry_current_is_found_without_solving() {
    let anode = "[[anode]]\nname = \"bar\"\nrect = { at = [450, 150], size = [20, 200] }\n";
    let wall = "[[shield]]\nname = \"wall\"\nrect = { at = [300, 150], size = [5, 300] }\n";
    let bare = "[[anode]]\nname = \"bar\"\nrect = { at = [190, 150], size = [20, 200] }\n\
                polarization = { law = \"none\" }\n";
    let cases = [
        (format!("{anode}{wall}"), "no path for current from any anode to part `cup`", ":8:8"),
        (bare.into(), "short circuit: `cup` touches `bar` at (180.0000 mm, ", ":12:8"),
    ];
    for (bodies, message, place) in cases {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = path(folder.path(), "job.toml");
        fs::write(&file, job_with(&bodies)).expect("writable");
        for command in ["check", "run"] {
            let (status, out, err) = call(&[command, &file]);
            assert_eq!(status, ExitStatus::BadInput, "{err}");
            assert!(out.is_empty() && err.contains(message) && err.contains(place), "{err}");
        }
        assert_eq!(fs::read_dir(folder.path()).expect("readable").count(), 1, "nothing is written");
    }
}
