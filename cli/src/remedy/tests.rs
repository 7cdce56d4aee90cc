//! Remedies of the examples: what helps, what does not, and job files that read back to the same.

use std::path::{Path, PathBuf};

use solver::remedy::{Edit, Kind, Outcome, Rank, Remedies, Remedy, remedies};

use super::{job_text, remedies_csv, report, subject};
use crate::diagnostic::Source;
use crate::job::{Resolved, load, resolve};
use crate::output::DisplayUnits;

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples")
}

fn example(name: &str) -> (Source, Resolved) {
    let source = load(&examples().join(name).to_string_lossy()).expect("an example");
    let mut job = resolve(&source).expect("resolves");
    job.settings.accuracy = 0.03;
    (source, job)
}

fn tried(name: &str) -> (Source, Resolved, Remedies) {
    let (source, job) = example(name);
    let subject = subject(&source, &job, &[]).expect("baths");
    let found = remedies(&subject, &|_| ()).expect("solves");
    (source, job, found)
}

fn row(found: &Remedies, kind: Kind) -> &Remedy {
    found.rows.iter().find(|r| r.kinds == [kind]).expect("was tried")
}

/// A recess is rescued by an anode inside it; anodes nearer, longer or behind it do not help, and
/// are not recommended. Every job file that is written keeps the comments and solves to what the
/// row says.
#[test]
fn the_bell_wants_an_anode_inside_and_its_job_files_read_back() {
    let (source, job, found) = tried("01_bell_recess.toml");
    assert_eq!(found.outcome, Outcome::Rescued);
    let best = &found.rows[0];
    let inside = [Kind::InsideAnode, Kind::InsideOwnSupply, Kind::Conforming];
    assert!(best.kinds.iter().any(|k| inside.contains(k)), "{:?}", best.kinds);
    let hour = best.standing.seconds.expect("plated") / 3600.0;
    assert!(hour < 1.5 && found.stated.seconds.expect("plated") > 5.0 * 3600.0);
    assert_eq!(row(&found, Kind::Distance).rank, Rank::NoGain);
    let mut written = 0;
    for row in found.rows.iter().filter(|r| r.rank != Rank::NoGain) {
        let (text, read) =
            job_text(&source, &job, row, "remedy", &examples()).expect("can be written");
        assert!(text.contains("# wall 5 mm, flaring to the right"), "{text}");
        // solve what was read back
        let mut layout = read.layout.clone();
        layout.bodies.sort_by(|a, b| a.name.cmp(&b.name));
        let settings = solver::SolveSettings { accuracy: 0.03, ..read.settings };
        let solved = solver::solve(&read.layout, &settings, &mut |_| ()).expect("solves");
        let volts = solved.supplies[0].voltage_v;
        let within = 1e-3 * row.standing.volts + row.standing.volts_uncertainty;
        assert!((volts - row.standing.volts).abs() < within, "{volts} {}", row.standing.volts);
        let amps = solved.total_current_a();
        assert!((amps / row.standing.amps - 1.0).abs() < 1e-3, "{amps} {}", row.standing.amps);
        written += 1;
    }
    assert!(written >= 3, "{written}");
    let names = vec![None; found.rows.len()];
    let csv = remedies_csv(&found, DisplayUnits::Metric, &names).expect("in memory");
    assert_eq!(csv.iter().filter(|b| **b == b'\n').count(), found.rows.len() + 2);
    let words = report(&job.title, &job.layout, &found, DisplayUnits::Metric, &names).join("\n");
    assert!(words.contains("deep in a hollow"), "{words}");
    assert!(words.contains("Thin: the bottom of the recess (x "), "{words}");
    for line in ["make:", "gains:", "then:", "costs:", "job:"] {
        assert!(words.contains(&format!("\n   {line}")), "{line} {words}");
    }
}

/// The free edges of a bracket are rescued by shields or thieves.
#[test]
fn the_bracket_wants_shields_or_thieves_at_its_edges() {
    let (_, job, found) = tried("03_angle_bracket.toml");
    let most = job.want.max_thickness.expect("stated").si();
    assert!(found.stated.thickest_m.expect("plated") > most);
    for kind in [Kind::Shield, Kind::Thief] {
        let row = row(&found, kind);
        assert_eq!(row.rank, Rank::Enough, "{kind:?}");
        assert!(row.standing.thickest_m.expect("plated") <= most);
    }
    assert_eq!(row(&found, Kind::Length).rank, Rank::NoGain);
}

/// A rack before one row of anodes is rescued by a second one on the dark side.
#[test]
fn the_one_sided_rack_wants_a_second_anode() {
    let (source, job, found) = tried("16_one_sided_rack.toml");
    assert_eq!(found.outcome, Outcome::Rescued);
    assert!(found.rows[0].kinds.contains(&Kind::SecondAnode), "{:?}", found.rows[0].kinds);
    let alone = row(&found, Kind::SecondAnode);
    let (now, then) =
        (found.base.seconds.expect("plated"), alone.standing.seconds.expect("plated"));
    assert!(then < 0.3 * now, "{then} {now}");
    let above = alone.edits.iter().any(|e| match e {
        Edit::Add { form: solver::remedy::Form::Rect { at, .. }, .. } => at.y > 0.185,
        _ => false,
    });
    assert!(above, "{:?}", alone.edits);
    // copies of one table turn together: the file says so once
    let turned = row(&found, Kind::Turn);
    if turned.rank != Rank::NoGain {
        let (text, _) =
            job_text(&source, &job, turned, "turned", &examples()).expect("can be written");
        assert_eq!(text.matches("turn = ").count(), 1, "{text}");
    }
}

/// A rack that meets its wishes needs nothing, and nothing is tried.
#[test]
fn the_rack_of_bars_needs_nothing() {
    let (_, job, found) = tried("05_rack_of_bars.toml");
    assert_eq!(found.outcome, Outcome::NothingNeeded);
    assert!(found.rows.is_empty());
    let words = report(&job.title, &job.layout, &found, DisplayUnits::Metric, &[]).join("\n");
    assert!(words.contains("Nothing is needed"), "{words}");
}

/// Another bath is tried as it stands, and its job file names it.
#[test]
fn another_bath_is_tried_and_written() {
    let (source, mut job) = example("16_one_sided_rack.toml");
    job.settings.accuracy = 0.03;
    let subject = subject(&source, &job, &["nickel-sulfamate".to_owned()]);
    let Ok(subject) = subject else {
        let names = crate::bath::Library::new(None).names();
        panic!("no such bath; there are {names:?}");
    };
    let found = remedies(&subject, &|_| ()).expect("solves");
    let bath = row(&found, Kind::Bath);
    assert_eq!(bath.bath.as_deref(), Some("nickel-sulfamate"));
    let (text, read) =
        job_text(&source, &job, bath, "another bath", &examples()).expect("can be written");
    assert!(text.contains("use = \"nickel-sulfamate\""), "{text}");
    assert_eq!(read.bath.name.as_deref(), Some("nickel-sulfamate"));
}

fn from_text(text: &str) -> (Source, Resolved, Remedies) {
    let source = Source { name: "job.toml".into(), text: text.into() };
    let job = resolve(&source).expect("resolves");
    let subject = subject(&source, &job, &[]).expect("baths");
    let found = remedies(&subject, &|_| ()).expect("solves");
    (source, job, found)
}

/// Fins with hot tips beside the slot that is thin, at a set voltage: a strip before the tips stands
/// before the slot as well, and lowers the current; a thief takes from both.
#[test]
fn shields_and_thieves_that_make_it_worse_are_not_recommended() {
    let (_, job, found) = from_text(
        r#"
        title = "Slotted bar"
        unit = "mm"
        tank = { size = [300, 240], depth = 200 }
        bath = { use = "watts-nickel" }
        [[part]]
        name = "bar"
        polygon = [[150, 100], [190, 100], [190, 108], [160, 108], [160, 132], [190, 132], [190, 140], [150, 140]]
        masked = { from = [190, 140], to = [190, 100] }
        [[anode]]
        name = "row"
        rect = { at = [270, 120], size = [20, 160] }
        [supply]
        voltage = "1.6 V"
        [run]
        time = "30 min"
        [want]
        min_thickness = "3 um"
        significant_ball = "0 mm"
        [solve]
        accuracy = "3 %"
        "#,
    );
    let now = found.base.seconds.expect("plated");
    for kind in [Kind::Shield, Kind::Thief] {
        let row = row(&found, kind);
        assert_eq!(row.rank, Rank::NoGain, "{kind:?}");
        assert!(row.standing.seconds.expect("plated") > now, "{kind:?} {:?}", row.standing);
    }
    // told in the table, with neither details nor a file
    let names = vec![None; found.rows.len()];
    let words = report(&job.title, &job.layout, &found, DisplayUnits::Metric, &names);
    let told = |word: &str| words.iter().filter(|l| l.contains(word)).count();
    assert_eq!((told("edge shields"), told("thieves")), (1, 1), "{words:#?}");
}

/// A tray whose back is as thin as its bottom: an anode in it starves the back.
#[test]
fn an_inside_anode_that_does_not_pay_is_not_recommended() {
    let (_, _, found) = from_text(
        r#"
        title = "Tray with its back to the wall"
        unit = "mm"
        tank = { size = [300, 240], depth = 200 }
        bath = { use = "watts-nickel" }
        [[part]]
        name = "tray"
        polygon = [[60, 70], [110, 70], [110, 76], [70, 76], [70, 164], [110, 164], [110, 170], [60, 170]]
        corner_radius = 1
        [[anode]]
        name = "row"
        rect = { at = [270, 120], size = [20, 160] }
        [supply]
        current_density = "2 A/dm2"
        [run]
        time = "30 min"
        [want]
        min_thickness = "6 um"
        significant_ball = "0 mm"
        [solve]
        accuracy = "3 %"
        "#,
    );
    assert_eq!(found.outcome, Outcome::NotEnough);
    let now = found.base.seconds.expect("plated");
    for kind in [Kind::InsideAnode, Kind::Conforming] {
        let row = row(&found, kind);
        assert_eq!(row.rank, Rank::NoGain, "{kind:?}");
        assert!(row.standing.seconds.expect("plated") > 1.2 * now, "{kind:?} {:?}", row.standing);
    }
    assert_eq!(row(&found, Kind::InsideOwnSupply).rank, Rank::NoGain);
}

/// A job file that is written elsewhere still finds the drawing and the baths beside the job.
#[test]
fn job_files_written_elsewhere_find_what_the_job_names() {
    let folder = tempfile::tempdir().expect("a folder");
    let home = folder.path().join("jobs");
    std::fs::create_dir(&home).expect("writable");
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200"><path id="bar" d="M146 60H154V140H146Z"/></svg>"#;
    std::fs::write(home.join("bar.svg"), svg).expect("writable");
    let bath = "[ours]\nbased_on = \"watts-nickel\"\nconductivity = \"7 S/m\"\n";
    std::fs::write(home.join("baths.toml"), bath).expect("writable");
    let text = r#"
        title = "Bar"
        unit = "mm"
        tank = { size = [300, 200], depth = 200 }
        bath = { use = "ours" }
        [[part]]
        name = "bar"
        file = { name = "bar.svg", id = "bar" }
        [[anode]]
        name = "left"
        rect = { at = [30, 100], size = [20, 160] }
        [supply]
        current_density = "2 A/dm2"
        [run]
        time = "20 min"
        [want]
        min_thickness = "9 um"
        [solve]
        accuracy = "3 %"
        "#;
    let name = home.join("job.toml").to_string_lossy().into_owned();
    let source = Source { name, text: text.into() };
    let job = resolve(&source).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let found = remedies(&subject(&source, &job, &[]).expect("baths"), &|_| ()).expect("solves");
    let out = folder.path().join("out").join("deep");
    let first = &found.rows[0];
    assert_ne!(first.rank, Rank::NoGain);
    let (text, _) = job_text(&source, &job, first, "first", &out).expect("can be written");
    std::fs::create_dir_all(&out).expect("writable");
    let there = out.join("1.toml").to_string_lossy().into_owned();
    std::fs::write(&there, &text).expect("writable");
    let read = load(&there).expect("there");
    let read = resolve(&read).unwrap_or_else(|faults| panic!("{text}\n{faults:#?}"));
    assert_eq!(read.layout.conductivity, job.layout.conductivity);
    assert_eq!(read.layout.bodies[0].outline.area(), job.layout.bodies[0].outline.area());
}
