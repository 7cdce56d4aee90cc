//! Remedies in words: what is wrong and why, what was tried, what each brings and costs.

use solver::remedy::{
    BURNING_SHARE, Edit, Form, Kind, Measure, Outcome, Rank, Reason, Remedies, Remedy, Spot,
    Standing,
};
use solver::{Layout, Symmetry};

use super::details::{Written, details};
use super::place::Where;
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
pub(super) fn rank(rank: Rank) -> &'static str {
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
    files: &[Option<Written>],
) -> Vec<String> {
    let at = Where::new(layout, units);
    let mut out = vec![format!("{title}: remedies")];
    out.push(wanted(found, units));
    out.push(format!("As it is: {}.", stand(&found.stated, &at)));
    if found.base_factor < 1.0 {
        out.push(format!(
            "Turned down to {:.0} % of its current, so that no more than {:.0} % of the area burns: {}.",
            100.0 * found.base_factor,
            100.0 * BURNING_SHARE,
            stand(&found.base, &at)
        ));
    }
    for (spots, word) in [(&found.diagnosis.thin, "Thin"), (&found.diagnosis.thick, "Thick")] {
        out.extend(places(word, spots, layout, &at));
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
        out.extend(details(k + 1, row, found, units, files.get(k).and_then(Option::as_ref)));
    }
    out.push(String::new());
    out.push(format!(
        "The rule: all run at the job's current, turned down until no more than {:.0} % of the parts' area burns; minutes are those until {} has what is wanted. {}",
        100.0 * BURNING_SHARE,
        if found.goal.by_mean { "the mean" } else { "the thinnest significant place" },
        reach(layout, units)
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

pub(super) fn minutes(standing: &Standing) -> String {
    match standing.seconds {
        Some(t) if t < 60.0 * 60.0 * 100.0 => {
            let doubt = t * standing.uncertainty;
            format!("{} min", plus_minus(t / 60.0, doubt / 60.0))
        }
        Some(_) => "over 100 h".into(),
        None => "never".into(),
    }
}

pub(super) fn stand(s: &Standing, at: &Where<'_>) -> String {
    let there = match s.seconds {
        Some(_) => format!("there in {}", minutes(s)),
        None => "never there".into(),
    };
    let mut text = format!(
        "{there}; thinnest {} % of the mean: {}",
        plus_minus(100.0 * s.least_over_mean, 100.0 * s.least_over_mean_uncertainty),
        at.place(s.least_at)
    );
    if let Some(thickest) = s.thickest_m {
        text.push_str(&format!(
            "; thickest then {}: {}",
            at.units.thickness_pm(thickest, s.thickest_uncertainty_m),
            at.place(s.most_at)
        ));
    }
    text.push_str(&format!("; {} A, {} V", three(s.amps), three(s.volts)));
    if s.burning > 0.0 {
        text.push_str(&format!("; {:.1} % of the area burns", 100.0 * s.burning));
    }
    text
}

/// One line for all places of a body that are as they are for the same reason.
fn places(word: &str, spots: &[Spot], layout: &Layout, at: &Where<'_>) -> Vec<String> {
    let kind = |s: &Spot| (s.body, s.reasons.first().map(std::mem::discriminant));
    let mut firsts: Vec<&Spot> = Vec::new();
    for spot in spots {
        if !firsts.iter().any(|f| kind(f) == kind(spot)) {
            firsts.push(spot);
        }
    }
    let line = |first: &&Spot| {
        let more = spots.iter().filter(|s| kind(s) == kind(first)).count() - 1;
        let text = why(word, first, layout, at);
        match more {
            0 => text,
            1 => format!("{text} One more place is like it."),
            n => format!("{text} {n} more places are like it."),
        }
    };
    firsts.iter().take(3).map(line).collect()
}

fn why(word: &str, spot: &Spot, layout: &Layout, at: &Where<'_>) -> String {
    let units = at.units;
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
        "{word}: {} gets {:.0} % of the mean ({:.0} % of the area): {}.",
        at.place(spot.at),
        100.0 * spot.over_mean,
        (100.0 * spot.area_share).max(1.0),
        reasons.join("; ")
    )
}

fn sentence(found: &Remedies) -> String {
    match found.outcome {
        Outcome::NothingNeeded => {
            "Nothing is needed: the job meets what is wanted as it is.".into()
        }
        Outcome::Rescued => {
            let n = found.rows.iter().filter(|r| r.rank == Rank::Enough).count();
            let verb = if n == 1 { "brings" } else { "bring" };
            format!(
                "{n} of {} remedies tried {verb} all that is wanted; the best: {}.",
                found.rows.len(),
                called(&found.rows[0])
            )
        }
        Outcome::NotEnough => format!(
            "Nothing that was tried helps enough. The rows marked `helps` are better than the job as it is, most of all: {}.",
            called(&found.rows[0])
        ),
        Outcome::NoHelp => format!(
            "Nothing that was tried helps: none of {} remedies is better than the job as it is.",
            found.rows.len()
        ),
    }
}

/// How far new bodies go on behind the page.
fn reach(layout: &Layout, units: DisplayUnits) -> String {
    match layout.symmetry {
        Symmetry::Planar => format!(
            "New bodies go on behind the page as far as the section does, {}.",
            units.size_text(layout.depth.si())
        ),
        Symmetry::Axial => "New bodies go all around the axis.".into(),
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
    let as_it_is = if found.base_factor < 1.0 { "as it is, turned down" } else { "as it is" };
    rows.push(row(String::new(), as_it_is.into(), &found.base, "-".into(), ""));
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

/// A free dimension with its value, for tables.
pub(super) fn value(dim: &solver::remedy::Dim, value: f64, units: DisplayUnits) -> String {
    match dim.measure {
        Measure::Length => format!("{} {}", dim.name, units.clearance_text(value)),
        Measure::Share => format!("{} {:.0} %", dim.name, 100.0 * value),
        Measure::Angle => format!("{} {value:.0}°", dim.name),
    }
}
