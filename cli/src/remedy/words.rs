//! Remedies in words: what is wrong and why, what was tried, what each brings and costs.

use shapes::Point;
use solver::Layout;
use solver::remedy::{
    BURNING_SHARE, Edit, Form, Kind, Measure, Outcome, Rank, Reason, Remedies, Remedy, Risk, Spot,
    Standing,
};

use crate::output::{DisplayUnits, duration, plus_minus, three};

/// The name of a remedy.
pub fn called(remedy: &Remedy) -> String {
    let word = |kind: &Kind| match kind {
        Kind::Distance => "anodes nearer or farther",
        Kind::Length => "anodes of another length",
        Kind::SecondAnode => side(remedy),
        Kind::InsideAnode => "inside anode",
        Kind::InsideOwnSupply => "inside anode on its own rectifier",
        Kind::Conforming => "conforming anode",
        Kind::Shield => "edge shields",
        Kind::Thief => "thieves",
        Kind::Turn => "part turned",
        Kind::LessCurrent => "less current for longer",
        Kind::Bath => "another bath",
    };
    let words: Vec<&str> = remedy.kinds.iter().map(word).collect();
    words.join(" and ")
}

/// A second anode by the side of the parts that it stands on.
fn side(remedy: &Remedy) -> &'static str {
    let Some((layout, _)) = remedy.case.positions.first() else { return "second anode" };
    let parts = layout.bodies.iter().filter(|b| b.role == solver::Role::Part);
    let around = parts.map(|b| b.outline.bounds()).reduce(|a, b| a.union(b));
    let at = remedy.edits.iter().find_map(|edit| match edit {
        Edit::Add { role: solver::Role::Anode, form: Form::Rect { at, .. }, .. } => Some(*at),
        _ => None,
    });
    let (Some(around), Some(at)) = (around, at) else { return "second anode" };
    if at.x > around.x1 {
        "second anode on the right"
    } else if at.x < around.x0 {
        "second anode on the left"
    } else if at.y > around.y1 {
        "second anode above"
    } else {
        "second anode below"
    }
}

/// What is said of a rank.
fn rank(rank: Rank) -> &'static str {
    match rank {
        Rank::Enough => "enough",
        Rank::Helps => "helps",
        Rank::NoGain => "no gain",
    }
}

/// Everything, line by line. `files` names the job file of each row that has one.
pub fn report(
    title: &str,
    layout: &Layout,
    found: &Remedies,
    units: DisplayUnits,
    files: &[Option<String>],
) -> Vec<String> {
    let mut out = vec![format!("{title}: remedies")];
    out.push(wanted(found, units));
    out.push(format!("As it is: {}.", stand(&found.stated, units)));
    if found.base_factor < 1.0 {
        out.push(format!(
            "Turned down to {:.0} % of its current, so that no more than {:.0} % of the area burns: {}.",
            100.0 * found.base_factor,
            100.0 * BURNING_SHARE,
            stand(&found.base, units)
        ));
    }
    for (spots, word) in [(&found.diagnosis.thin, "Thin"), (&found.diagnosis.thick, "Thick")] {
        out.extend(places(word, spots, layout, units));
    }
    let wagner = found.diagnosis.wagner;
    if !found.diagnosis.is_even() {
        out.push(format!(
            "Throwing: Wagner number {} over {}; the smaller, the more the shape rules.",
            three(wagner.number),
            units.size_text(wagner.length_m)
        ));
    }
    out.push(sentence(found));
    if found.rows.is_empty() {
        return out;
    }
    out.push(String::new());
    out.extend(table(found, units));
    for (k, row) in found.rows.iter().enumerate().filter(|(_, r)| r.rank != Rank::NoGain) {
        out.push(String::new());
        out.extend(details(k + 1, row, found, units, files.get(k).and_then(Option::as_deref)));
    }
    out.push(String::new());
    out.push(format!(
        "The rule: all run at the job's current, turned down until no more than {:.0} % of the parts' area burns; minutes are those until {} has what is wanted.",
        100.0 * BURNING_SHARE,
        if found.goal.by_mean { "the mean" } else { "the thinnest significant place" }
    ));
    out
}

fn wanted(found: &Remedies, units: DisplayUnits) -> String {
    let goal = &found.goal;
    let least = units.thickness_text(goal.least.si());
    let mut text = if goal.by_mean {
        format!("Wanted: the mean of the job's own run, {least}")
    } else if found.assumed {
        format!(
            "Wanted: nothing is stated, so half the mean of the job's run is taken: {least} everywhere"
        )
    } else {
        format!("Wanted: {least} everywhere on the significant surface")
    };
    if let Some(most) = goal.most {
        text.push_str(&format!(", nowhere more than {}", units.thickness_text(most.si())));
    }
    if let Some(within) = goal.within {
        text.push_str(&format!(", within {}", duration(within.si())));
    }
    text + "."
}

fn minutes(standing: &Standing) -> String {
    match standing.seconds {
        Some(t) if t < 60.0 * 60.0 * 100.0 => {
            let doubt = t * standing.uncertainty;
            format!("{} min", plus_minus(t / 60.0, doubt / 60.0))
        }
        Some(_) => "over 100 h".into(),
        None => "never".into(),
    }
}

fn stand(s: &Standing, units: DisplayUnits) -> String {
    let there = match s.seconds {
        Some(_) => format!("there in {}", minutes(s)),
        None => "never there".into(),
    };
    let mut text = format!(
        "{there}; thinnest {:.0} % of the mean at {}",
        100.0 * s.least_over_mean,
        units.place_text(s.least_at)
    );
    if let Some(thickest) = s.thickest_m {
        text.push_str(&format!(
            "; thickest then {} at {}",
            units.thickness_text(thickest),
            units.place_text(s.most_at)
        ));
    }
    text.push_str(&format!("; {} A, {} V", three(s.amps), three(s.volts)));
    if s.burning > 0.0 {
        text.push_str(&format!("; {:.1} % of the area burns", 100.0 * s.burning));
    }
    text
}

/// One line for all places of a body that are as they are for the same reason.
fn places(word: &str, spots: &[Spot], layout: &Layout, units: DisplayUnits) -> Vec<String> {
    let kind = |s: &Spot| (s.body, s.reasons.first().map(std::mem::discriminant));
    let mut firsts: Vec<&Spot> = Vec::new();
    for spot in spots {
        if !firsts.iter().any(|f| kind(f) == kind(spot)) {
            firsts.push(spot);
        }
    }
    let line = |first: &&Spot| {
        let more = spots.iter().filter(|s| kind(s) == kind(first)).count() - 1;
        let text = why(word, first, layout, units);
        match more {
            0 => text,
            1 => format!("{text} One more place is like it."),
            n => format!("{text} {n} more places are like it."),
        }
    };
    firsts.iter().take(3).map(line).collect()
}

fn why(word: &str, spot: &Spot, layout: &Layout, units: DisplayUnits) -> String {
    let body = |b: usize| layout.bodies.get(b).map_or("?", |b| b.name.as_str());
    let reasons: Vec<String> = spot
        .reasons
        .iter()
        .map(|reason| match *reason {
            Reason::Recess { depth_m, width_m, open } => format!(
                "it lies {} deep in a hollow {} wide and sees {:.0} % of the half plane before it",
                units.clearance_text(depth_m),
                units.clearance_text(width_m),
                100.0 * open
            ),
            Reason::Dark { faces } if faces <= 0.0 => "it faces away from every anode".into(),
            Reason::Dark { faces } => {
                format!("only {:.0} % of the anodes lie before it", 100.0 * faces)
            }
            Reason::Shaded { by, share } => {
                format!("`{}` hides {:.0} % of the anodes before it", body(by), 100.0 * share)
            }
            Reason::Far { distance_m, mean_m } => format!(
                "the nearest anode is {} away, {} on average",
                units.clearance_text(distance_m),
                units.clearance_text(mean_m)
            ),
            Reason::Near { distance_m, mean_m } => format!(
                "the nearest anode is only {} away, {} on average",
                units.clearance_text(distance_m),
                units.clearance_text(mean_m)
            ),
            Reason::Edge { turn_deg } => {
                format!("an outside edge, the outline turns by {turn_deg:.0}° there")
            }
            Reason::Exposed { open } if word == "Thick" => {
                format!("it stands free: nothing shades {:.0} % of the view", 100.0 * open)
            }
            Reason::Exposed { .. } => "its neighbourhood takes the current".into(),
        })
        .collect();
    format!(
        "{word}: {} at {} gets {:.0} % of the mean ({:.0} % of the area): {}.",
        body(spot.body),
        units.place_text(spot.at),
        100.0 * spot.over_mean,
        (100.0 * spot.area_share).max(1.0),
        reasons.join("; ")
    )
}

fn sentence(found: &Remedies) -> String {
    match found.outcome {
        Outcome::NothingNeeded => "Nothing is needed: the job meets what is wanted as it is.".into(),
        Outcome::Rescued => {
            let n = found.rows.iter().filter(|r| r.rank == Rank::Enough).count();
            format!("{n} of {} remedies tried bring all that is wanted.", found.rows.len())
        }
        Outcome::NotEnough => {
            "Nothing that was tried helps enough; the rows marked `helps` are better than the job as it is.".into()
        }
        Outcome::NoHelp => "Nothing that was tried helps.".into(),
    }
}

fn table(found: &Remedies, units: DisplayUnits) -> Vec<String> {
    let head = [
        "",
        "remedy",
        "minutes",
        "thinnest/mean",
        "thickest then",
        "wasted",
        "volts",
        "new parts",
        "",
    ];
    let row = |k: String, name: String, s: &Standing, parts: String, word: &str| -> Vec<String> {
        vec![
            k,
            name,
            minutes(s).trim_end_matches(" min").to_owned(),
            format!("{:.0} %", 100.0 * s.least_over_mean),
            s.thickest_m.map_or("-".into(), |t| units.thickness_text(t)),
            s.wasted_kg.map_or("-".into(), |kg| format!("{} g", three(1e3 * kg))),
            format!("{} V", three(s.volts)),
            parts,
            word.to_owned(),
        ]
    };
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.push(row(String::new(), "as it is".into(), &found.base, "-".into(), ""));
    for (k, r) in found.rows.iter().enumerate() {
        let parts = (r.parts + r.supplies).to_string();
        rows.push(row((k + 1).to_string(), called(r), &r.standing, parts, rank(r.rank)));
    }
    let columns = head.len();
    let wide = |c: usize| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(wide).collect();
    let line = |r: &Vec<String>| {
        let cells = r.iter().zip(&widths).enumerate().map(|(c, (text, width))| {
            let pad = " ".repeat(width - text.chars().count());
            if c == 1 || c == columns - 1 { format!("{text}{pad}") } else { format!("{pad}{text}") }
        });
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}

fn details(
    k: usize,
    row: &Remedy,
    found: &Remedies,
    units: DisplayUnits,
    file: Option<&str>,
) -> Vec<String> {
    let mut out = vec![format!("{k}. {}: {}", called(row), rank(row.rank))];
    out.push(format!("   make: {}", makes(row, units).join("; ")));
    let gain = match (found.base.seconds, row.standing.seconds) {
        (Some(a), Some(b)) => format!("{:.2} times as fast, ", a / b),
        _ => String::new(),
    };
    out.push(format!("   gains: {gain}{}", stand(&row.standing, units)));
    let mut costs = vec![format!(
        "{} V (now {})",
        plus_minus(row.standing.volts, row.standing.volts_uncertainty),
        three(found.base.volts)
    )];
    if row.factor < 1.0 {
        costs.push(format!("the current at {:.0} % of the stated one", 100.0 * row.factor));
    }
    let count = |n: usize, what: &str| format!("{n} more {what}{}", if n == 1 { "" } else { "s" });
    if row.parts > 0 {
        costs.push(count(row.parts, "part"));
    }
    if row.supplies > 0 {
        costs.push(count(row.supplies, "rectifier"));
    }
    for risk in &row.risks {
        costs.push(match *risk {
            Risk::AnodeOverloaded { times } => {
                format!("risk: an anode carries {} times what it stands", three(times))
            }
            Risk::Near { gap_m } => {
                format!("risk: hangs only {} from the part", units.clearance_text(gap_m))
            }
            Risk::Burns { share } => format!("risk: {:.1} % of the area burns", 100.0 * share),
        });
    }
    out.push(format!("   costs: {}", costs.join("; ")));
    if let Some(file) = file {
        out.push(format!("   job: {file}"));
    }
    out
}

/// What is to be made or done, with dimensions and places.
fn makes(row: &Remedy, units: DisplayUnits) -> Vec<String> {
    let at = |p: Point| units.place_text(p);
    let mut out: Vec<String> = row
        .edits
        .iter()
        .map(|edit| match edit {
            Edit::Add { name, form, .. } => match form {
                Form::Rect { at: p, size, turn_deg } => {
                    let turned = if *turn_deg == 0.0 {
                        String::new()
                    } else {
                        format!(", turned {turn_deg:.0}°")
                    };
                    format!(
                        "{name}, {} by {}{turned}, middle at {}",
                        units.clearance_text(size.0),
                        units.clearance_text(size.1),
                        at(*p)
                    )
                }
                Form::Disc { at: p, radius } => {
                    format!("{name}, rod of Ø {} at {}", units.clearance_text(2.0 * radius), at(*p))
                }
                Form::Strip { points, thickness } => format!(
                    "{name}, sheet of {} bent through {} points from {}",
                    units.clearance_text(*thickness),
                    points.len(),
                    points.first().map_or(String::new(), |p| at(*p))
                ),
            },
            Edit::Move { bodies, by } => format!(
                "{} moved by {} across and {} up",
                row.case.positions[0].0.bodies.get(bodies[0]).map_or("?", |b| b.name.as_str()),
                units.clearance_text(by.x),
                units.clearance_text(by.y)
            ),
            Edit::Turn { body, degrees, .. } => format!(
                "{} turned by {:.0}° {}",
                row.case.positions[0].0.bodies.get(*body).map_or("?", |b| b.name.as_str()),
                degrees.abs(),
                if *degrees > 0.0 { "anticlockwise" } else { "clockwise" }
            ),
            Edit::Reshape { body, form } => {
                let name =
                    row.case.positions[0].0.bodies.get(*body).map_or("?", |b| b.name.as_str());
                match form {
                    Form::Rect { size, .. } => format!(
                        "{name} cut to {} by {}",
                        units.clearance_text(size.0),
                        units.clearance_text(size.1)
                    ),
                    _ => format!("{name} made anew"),
                }
            }
            Edit::OwnSupply { .. } => {
                match row.case.positions[0].0.supplies.last().map(|s| s.drive) {
                    Some(solver::Drive::Current(a)) => {
                        format!("a rectifier of its own at {} A", three(a.si()))
                    }
                    _ => "a rectifier of its own".into(),
                }
            }
            Edit::Drive { factor } => format!("{:.0} % of the current", 100.0 * factor),
            Edit::Run { seconds } => format!("run for {} min", three(seconds / 60.0)),
        })
        .collect();
    if let Some(bath) = &row.bath {
        out.insert(0, format!("the bath {bath}"));
    }
    out
}

/// A free dimension with its value, for tables.
pub(super) fn value(dim: &solver::remedy::Dim, value: f64, units: DisplayUnits) -> String {
    match dim.measure {
        Measure::Length => format!("{} {}", dim.name, units.clearance_text(value)),
        Measure::Share => format!("{} {:.0} %", dim.name, 100.0 * value),
        Measure::Angle => format!("{} {value:.0}°", dim.name),
    }
}
