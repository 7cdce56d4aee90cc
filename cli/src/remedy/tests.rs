//! Remedies of the examples: what helps, what does not, and job files that read back to the same.

use std::path::Path;

use solver::remedy::{Edit, Kind, Outcome, Rank, Remedies, Remedy, remedies};

use super::{job_text, remedies_csv, report, subject};
use crate::diagnostic::Source;
use crate::job::{Resolved, load, resolve};
use crate::output::DisplayUnits;

fn example(name: &str) -> (Source, Resolved) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let source = load(&folder.join(name).to_string_lossy()).expect("an example");
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
        let (text, read) = job_text(&source, &job, row, "remedy").expect("can be written");
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
        let (text, _) = job_text(&source, &job, turned, "turned").expect("can be written");
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
    let (text, read) = job_text(&source, &job, bath, "another bath").expect("can be written");
    assert!(text.contains("use = \"nickel-sulfamate\""), "{text}");
    assert_eq!(read.bath.name.as_deref(), Some("nickel-sulfamate"));
}
