//! One remedy in words: what to make and where, what it gains, what it costs, what is still missing.

use shapes::Point;
use solver::remedy::judge::EVEN;
use solver::remedy::{BURNING_SHARE, Edit, Form, OVERLOAD, Rank, Remedies, Remedy, Risk};
use solver::{Drive, Role, Symmetry};

use super::place::Where;
use super::words::{called, minutes, rank, stand};
use crate::output::{DisplayUnits, duration, plus_minus, three};

/// The files of a remedy.
#[derive(Debug, Clone)]
pub struct Written {
    /// Its job file.
    pub job: String,
    /// Its pictures.
    pub pictures: Vec<String>,
}

/// A remedy, line by line.
pub(super) fn details(
    k: usize,
    row: &Remedy,
    found: &Remedies,
    units: DisplayUnits,
    files: Option<&Written>,
) -> Vec<String> {
    let mut out = vec![format!("{k}. {}: {}", called(row), rank(row.rank))];
    let mut line = |word: &str, text: String| out.push(format!("   {word:<10}{text}"));
    for (k, text) in makes(row, units).into_iter().enumerate() {
        line(if k == 0 { "make:" } else { "" }, text);
    }
    let at = Where::new(&row.case.positions[0].0, units);
    let down = if found.base_factor < 1.0 { ", turned down," } else { "" };
    let gain = match (found.base.seconds, row.standing.seconds) {
        (Some(a), Some(b)) => format!(
            "{:.2} times as fast as the job as it is{down} with its {}",
            a / b,
            minutes(&found.base)
        ),
        (None, Some(_)) => {
            format!("gets there in {}; the job as it is{down} never does", minutes(&row.standing))
        }
        _ => "never gets there either".into(),
    };
    line("gains:", gain);
    line("then:", stand(&row.standing, &at));
    if row.rank == Rank::Helps {
        line("missing:", missing(row, found, units).join("; "));
    }
    line("costs:", costs(row, found).join("; "));
    for risk in &row.risks {
        let text = match *risk {
            Risk::AnodeOverloaded { times } => format!(
                "an anode carries {} times what it stands: it may turn passive, and makes oxygen",
                three(times)
            ),
            Risk::Near { gap_m } => format!(
                "hangs only {} from the part: it must be held so that it cannot touch",
                units.clearance_text(gap_m)
            ),
            Risk::Burns { share } => format!("{:.1} % of the area burns", 100.0 * share),
        };
        line("risk:", text);
    }
    match files {
        Some(files) => {
            line("pictures:", files.pictures.join(", "));
            line("job:", files.job.clone());
        }
        None => line("job:", "not written: see --most, or the file is drawn in a way that this cannot be written into".into()),
    }
    out
}

/// Why a remedy that helps is not enough.
fn missing(row: &Remedy, found: &Remedies, units: DisplayUnits) -> Vec<String> {
    let (s, goal) = (&row.standing, &found.goal);
    let mut out = Vec::new();
    if let (Some(within), Some(t)) = (goal.within, s.seconds)
        && t > within.si()
    {
        out.push(format!("{} where the job allows {}", minutes(s), duration(within.si())));
    }
    if let (Some(most), Some(t)) = (goal.most, s.thickest_m)
        && t > most.si()
    {
        out.push(format!(
            "{} at its thickest where {} is allowed",
            units.thickness_text(t),
            units.thickness_text(most.si())
        ));
    }
    if goal.even && s.least_over_mean < EVEN {
        out.push(format!(
            "the thinnest place has {:.0} % of the mean where {:.0} % counts as even",
            100.0 * s.least_over_mean,
            100.0 * EVEN
        ));
    }
    if s.burning > BURNING_SHARE {
        out.push(format!("{:.1} % of the area burns", 100.0 * s.burning));
    }
    if s.anode_use > OVERLOAD {
        out.push(format!("an anode that stands {} times as much", three(s.anode_use)));
    }
    out
}

fn costs(row: &Remedy, found: &Remedies) -> Vec<String> {
    let volts = plus_minus(row.standing.volts, row.standing.volts_uncertainty);
    let mut out = vec![format!(
        "{volts} V at {} A (the job as it stands: {} V at {} A)",
        three(row.standing.amps),
        three(found.stated.volts),
        three(found.stated.amps)
    )];
    let count = |n: usize, what: &str| format!("{n} more {what}{}", if n == 1 { "" } else { "s" });
    if row.parts > 0 {
        out.push(match row.parts {
            1 => "1 body to be made and hung".to_owned(),
            n => format!("{n} bodies to be made and hung"),
        });
    }
    if row.supplies > 0 {
        out.push(count(row.supplies, "rectifier"));
    }
    if let Some(kg) = row.standing.wasted_kg {
        let before = found.base.wasted_kg;
        let before =
            before.map_or(String::new(), |kg| format!(" (as it is: {} g)", three(1e3 * kg)));
        out.push(format!("{} g of metal beyond what is wanted{before}", three(1e3 * kg)));
    }
    out
}

/// What is to be made or done, with dimensions and places.
fn makes(row: &Remedy, units: DisplayUnits) -> Vec<String> {
    let layout = &row.case.positions[0].0;
    let at = Where::new(layout, units);
    let name = |b: usize| layout.bodies.get(b).map_or("?", |b| b.name.as_str());
    let mut out: Vec<String> = Vec::new();
    if let Some(bath) = &row.bath {
        out.push(format!("the bath {bath}"));
    }
    for edit in &row.edits {
        let text = match edit {
            Edit::Add { role, name, form, .. } => {
                let made = layout.bodies.iter().find(|b| b.name == *name);
                let middle = middle(form);
                let beside = made.and_then(|b| at.beside(&b.outline, middle));
                let beside = beside.map_or(String::new(), |text| format!(", {text}"));
                let round = layout.symmetry == Symmetry::Axial;
                format!("{name}: {}{beside}", shape(*role, form, round, units))
            }
            Edit::Move { bodies, by } => {
                format!("{}: {}", name(bodies[0]), moved(*by, units))
            }
            Edit::Turn { body, degrees, .. } => format!(
                "{}: turned by {:.0}° {}",
                name(*body),
                degrees.abs(),
                if *degrees > 0.0 { "anticlockwise" } else { "clockwise" }
            ),
            Edit::Reshape { body, form } => match form {
                Form::Rect { size, .. } => format!(
                    "{}: cut to {} by {}",
                    name(*body),
                    units.clearance_text(size.0),
                    units.clearance_text(size.1)
                ),
                _ => format!("{}: made anew", name(*body)),
            },
            Edit::OwnSupply { .. } => match layout.supplies.last().map(|s| s.drive) {
                Some(Drive::Current(a)) => {
                    format!("a rectifier of its own for it, set to {} A", three(a.si()))
                }
                _ => "a rectifier of its own for it".into(),
            },
            Edit::Drive { factor } => format!("{:.0} % of the job's current", 100.0 * factor),
            Edit::Run { seconds } => format!("run for {} min", three(seconds / 60.0)),
        };
        out.push(text);
    }
    out
}

/// Across and up, in words; nothing of what does not move.
fn moved(by: shapes::Vec2, units: DisplayUnits) -> String {
    let way = |m: f64, words: [&str; 2]| {
        let word = if m < 0.0 { words[0] } else { words[1] };
        (m != 0.0).then(|| format!("{} {word}", units.clearance_text(m.abs())))
    };
    let ways = [way(by.x, ["to the left", "to the right"]), way(by.y, ["down", "up"])];
    format!("moved by {}", ways.into_iter().flatten().collect::<Vec<_>>().join(" and "))
}

fn middle(form: &Form) -> Point {
    match form {
        Form::Rect { at, .. } | Form::Disc { at, .. } => *at,
        Form::Strip { points, .. } => points.get(points.len() / 2).copied().unwrap_or_default(),
    }
}

/// A body to be made: what of, how large, where.
fn shape(role: Role, form: &Form, round: bool, units: DisplayUnits) -> String {
    let stuff = match role {
        Role::Shield => "plastic",
        Role::Thief { .. } => "bare metal on the parts' bus",
        Role::Anode => "anode metal",
        _ => "metal",
    };
    let size = |m: f64| units.clearance_text(m);
    let at = units.place_text(middle(form));
    match form {
        Form::Rect { size: s, turn_deg, .. } => {
            let turned = if *turn_deg == 0.0 {
                String::new()
            } else {
                format!(", turned {turn_deg:.0}° anticlockwise")
            };
            format!("{stuff}, {} across by {} up{turned}, middle at {at}", size(s.0), size(s.1))
        }
        Form::Disc { at: p, radius } if round && p.x > *radius => {
            format!("{stuff}, ring of Ø {} rod, its middle at {at}", size(2.0 * radius))
        }
        Form::Disc { radius, .. } => format!("{stuff}, rod of Ø {} at {at}", size(2.0 * radius)),
        Form::Strip { points, thickness } => {
            let bends: Vec<String> = points.iter().map(|p| units.place_text(*p)).collect();
            format!("{stuff}, sheet of {}, bent along {}", size(*thickness), bends.join("; "))
        }
    }
}
