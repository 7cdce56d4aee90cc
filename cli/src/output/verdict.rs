//! The verdict in a handful of lines, in a plater's words.

use solver::{BodyResult, Role, Spread, Symmetry};

use super::Context;
use super::account_text;
use super::findings_text;
use super::format::{DisplayUnits, duration, percent, three};
use super::judged::Judged;
use super::rectifier;
use crate::bath::Caution;

/// How the run stands against the specification and the bath's window.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Judgement {
    /// The thinnest point of every part's significant surface reaches the wanted least thickness.
    pub min_thickness_met: Option<bool>,
    /// The thickest point of every part's significant surface stays within the wanted greatest one.
    pub max_thickness_met: Option<bool>,
    /// Time after which the thinnest point reaches the wanted least thickness, s.
    pub seconds_to_min_thickness: Option<f64>,
    /// Thickness of the thickest point at that time, µm.
    pub max_thickness_um_then: Option<f64>,
    /// Share of the parts' outlines above the bath's window (burning).
    pub share_above_window: Option<f64>,
    /// Share of the parts' outlines below the bath's window (dull, thin or bare).
    pub share_below_window: Option<f64>,
    /// Every rectifier can do what is asked of it, within its rating.
    pub supplies_can_deliver: bool,
    /// Share of the parts' outlines below the bath's covering threshold (bare).
    pub share_bare: Option<f64>,
}

impl Judgement {
    /// False when something that `[want]` states is missed, or a rectifier cannot deliver.
    pub fn meets_specification(&self) -> bool {
        self.min_thickness_met != Some(false)
            && self.max_thickness_met != Some(false)
            && self.supplies_can_deliver
    }
}

/// Judges the significant surfaces of the parts of a run. Thieves are not judged.
pub fn judge(context: &Context) -> Judgement {
    let least = extreme(context, |s| s.min, f64::lt).map(|e| e.value);
    let most = extreme(context, |s| s.max, f64::gt).map(|e| e.value);
    let want_min = context.want.min_thickness.map(|l| l.si());
    let want_max = context.want.max_thickness.map(|l| l.si());
    let reach = context.reach();
    let shares = |outside: &dyn Fn(f64) -> bool| share(context, outside);
    Judgement {
        min_thickness_met: want_min.zip(least).map(|(want, least)| least >= want),
        max_thickness_met: want_max.zip(most).map(|(want, most)| most <= want),
        seconds_to_min_thickness: reach.and_then(|r| r.time_s),
        max_thickness_um_then: reach.and_then(|r| r.thickest_m).map(|m| 1e6 * m),
        share_above_window: context.window.max.and_then(|max| shares(&|i| i > max.si())),
        share_below_window: context.window.min.and_then(|min| shares(&|i| i < min.si())),
        supplies_can_deliver: rectifier::can_deliver(context.solution),
        share_bare: context.findings.bath.threshold.and_then(|i0| shares(&|i| i < i0.si())),
    }
}

/// The least or greatest thickness over all parts.
#[derive(Debug, Clone, Copy)]
struct Extreme<'a> {
    body: &'a BodyResult,
    spread: Spread,
    value: f64,
}

fn parts<'a>(context: &Context<'a>) -> impl Iterator<Item = (usize, &'a BodyResult)> {
    let bodies: &'a [BodyResult] = &context.solution.bodies;
    bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part && !b.stretches.is_empty())
}

/// The extreme thickness of all parts; `None` without a run.
fn extreme<'a>(
    context: &Context<'a>,
    value: impl Fn(&Spread) -> f64,
    better: impl Fn(&f64, &f64) -> bool,
) -> Option<Extreme<'a>> {
    context.deposit?;
    extreme_shown(context, value, better)
}

/// The extreme of what is reported, over all parts.
fn extreme_shown<'a>(
    context: &Context<'a>,
    value: impl Fn(&Spread) -> f64,
    better: impl Fn(&f64, &f64) -> bool,
) -> Option<Extreme<'a>> {
    let mut best: Option<Extreme<'a>> = None;
    for (index, body) in parts(context) {
        let Some(Judged { spread, .. }) = context.judged(index) else {
            continue;
        };
        let value = value(&spread);
        if best.is_none_or(|b| better(&value, &b.value)) {
            best = Some(Extreme { body, spread, value });
        }
    }
    best
}

/// Share of the parts' wetted surface where the current density is `outside`.
fn share(context: &Context, outside: &dyn Fn(f64) -> bool) -> Option<f64> {
    let (mut total, mut found) = (0.0, 0.0);
    for (index, body) in parts(context) {
        for (row, stretch) in body.stretches.iter().enumerate() {
            total += stretch.area_m2;
            if outside(context.density_on(index, row, stretch.current_density_a_m2)) {
                found += stretch.area_m2;
            }
        }
    }
    (total > 0.0).then_some(found / total)
}

/// More parts than this are told as one rack.
const MOST_PARTS: usize = 4;

/// The verdict as lines of text; `files` are the names of what was written.
pub fn verdict(context: &Context, files: &[String]) -> Vec<String> {
    let time =
        context.deposit.map(|d| format!(" for {}", duration(d.time.si()))).unwrap_or_default();
    let mut lines = rectifier::lines(context.title, context.solution, &time);
    lines.extend(findings_text::positions(context));
    let count = parts(context).count();
    if count <= MOST_PARTS {
        for (index, body) in parts(context) {
            lines.extend(part_lines(context, index, body));
        }
    } else {
        lines.extend(rack_lines(context, count));
    }
    let judgement = judge(context);
    lines.extend(want_lines(context, &judgement));
    lines.extend(window_line(context, &judgement));
    lines.extend(findings_text::spots(context));
    lines.extend(findings_text::thick(context));
    lines.extend(account_text::lines(context));
    lines.extend(rectifier::judged(context.solution));
    lines.push(trust_line(context));
    lines.extend(findings_text::leaning(context));
    lines.extend(closing(files, &context.findings.bath.cautions));
    lines
}

/// What was written, the cautions that baths call for, and what this is not.
pub(super) fn closing(files: &[String], cautions: &[Caution]) -> Vec<String> {
    let mut lines = Vec::new();
    if !files.is_empty() {
        lines.push(format!("Files: {}.", files.join(", ")));
    }
    lines.extend(cautions.iter().map(|caution| format!("Caution. {}", caution.text)));
    lines.push(
        "A computed estimate: for handling baths and current follow the safety data sheets, local codes and licensed practice."
            .into(),
    );
    lines
}

/// A thickness or, without a run, a current density, with its uncertainty and unit.
fn shown(context: &Context, value: f64, uncertainty: f64) -> String {
    if context.deposit.is_some() {
        context.units.thickness_pm(value, uncertainty)
    } else {
        context.units.density_pm(value, uncertainty)
    }
}

fn words(context: &Context) -> (&'static str, &'static str) {
    if context.deposit.is_some() { ("thinnest", "thickest") } else { ("lowest", "highest") }
}

/// Below this spread (share of the mean) the extremes are chance.
const EVEN: f64 = 0.01;

fn part_lines(context: &Context, index: usize, body: &BodyResult) -> Vec<String> {
    let name = &body.name;
    let range = |rest: Spread| {
        let (least, most) = (
            shown(context, rest.min, rest.min_uncertainty),
            shown(context, rest.max, rest.max_uncertainty),
        );
        format!("{least} to {most}")
    };
    match context.judged(index) {
        Some(Judged { spread, elsewhere: None }) => vec![part_line(context, name, &spread)],
        Some(Judged { spread, elsewhere: Some(rest) }) => vec![
            part_line(context, &format!("{name}, significant surface"), &spread),
            format!("{name}, elsewhere (not judged): {}.", range(rest)),
        ],
        None => match context.elsewhere(index) {
            Some(rest) => vec![format!("{name}: {}; none of it is significant.", range(rest))],
            None => Vec::new(),
        },
    }
}

fn part_line(context: &Context, name: &str, spread: &Spread) -> String {
    let (low, high) = words(context);
    if spread.max - spread.min <= EVEN * spread.mean {
        let value = shown(context, spread.mean, spread.mean_uncertainty);
        return format!("{name}: {value} everywhere.");
    }
    format!(
        "{name}: {} at its {low} ({}), {} mean, {} at its {high} ({}).",
        shown(context, spread.min, spread.min_uncertainty),
        context.units.place_text(spread.min_at),
        shown(context, spread.mean, spread.mean_uncertainty),
        shown(context, spread.max, spread.max_uncertainty),
        context.units.place_text(spread.max_at),
    )
}

fn rack_lines(context: &Context, count: usize) -> Vec<String> {
    let (low, high) = words(context);
    let Some((((least, most), lowest), highest)) = extreme_shown(context, |s| s.min, f64::lt)
        .zip(extreme_shown(context, |s| s.max, f64::gt))
        .zip(extreme_shown(context, |s| s.mean, f64::lt))
        .zip(extreme_shown(context, |s| s.mean, f64::gt))
    else {
        return Vec::new();
    };
    let marked = parts(context).any(|(index, _)| context.marks_on(index).is_some());
    let surface = if marked { ", significant surfaces" } else { "" };
    vec![
        format!(
            "{count} parts{surface}: {} at the {low} ({}, {}), {} at the {high} ({}, {}).",
            shown(context, least.value, least.spread.min_uncertainty),
            least.body.name,
            context.units.place_text(least.spread.min_at),
            shown(context, most.value, most.spread.max_uncertainty),
            most.body.name,
            context.units.place_text(most.spread.max_at),
        ),
        format!(
            "Part means run from {} ({}) to {} ({}).",
            shown(context, lowest.value, lowest.spread.mean_uncertainty),
            lowest.body.name,
            shown(context, highest.value, highest.spread.mean_uncertainty),
            highest.body.name,
        ),
    ]
}

fn want_lines(context: &Context, judgement: &Judgement) -> Vec<String> {
    let units = context.units;
    let mut lines = Vec::new();
    let want_min = context.want.min_thickness.map(|l| l.si());
    let want_max = context.want.max_thickness.map(|l| l.si());
    if let Some((want, least)) = want_min.zip(extreme(context, |s| s.min, f64::lt)) {
        let mut line = stand(
            units,
            "at least",
            want,
            &least,
            least.spread.min_uncertainty,
            least.value >= want,
        );
        match judgement.seconds_to_min_thickness.zip(judgement.max_thickness_um_then) {
            Some((seconds, um)) => line.push_str(&format!(
                " The thinnest point reaches it after {}; the thickest is then {}.",
                duration(seconds),
                units.thickness_text(um * 1e-6),
            )),
            None => {
                line.push_str(" The thinnest point gets no metal at all: no time is long enough.")
            }
        }
        lines.push(line);
    }
    if let Some((want, most)) = want_max.zip(extreme(context, |s| s.max, f64::gt)) {
        lines.push(stand(
            units,
            "at most",
            want,
            &most,
            most.spread.max_uncertainty,
            most.value <= want,
        ));
    }
    lines
}

/// `Wanted at least 20.0 µm: MISSED by 13.9 µm on cup.`
fn stand(
    units: DisplayUnits,
    how: &str,
    want: f64,
    found: &Extreme,
    uncertainty: f64,
    met: bool,
) -> String {
    let gap = (found.value - want).abs();
    let word = if met { "met with" } else { "MISSED by" };
    let spare = if met { " to spare" } else { "" };
    let doubt =
        if gap <= uncertainty.abs() { ", which is within the numerical uncertainty" } else { "" };
    format!(
        "Wanted {how} {}: {word} {}{spare} on {}{doubt}.",
        units.thickness_text(want),
        units.thickness_text(gap),
        found.body.name,
    )
}

pub(super) fn window_line(context: &Context, judgement: &Judgement) -> Option<String> {
    let units = context.units;
    let range = match (context.window.min, context.window.max) {
        (Some(min), Some(max)) => {
            format!("from {} to {}", three(units.density(min.si())), units.density_text(max.si()))
        }
        (Some(min), None) => format!("from {} up", units.density_text(min.si())),
        (None, Some(max)) => format!("up to {}", units.density_text(max.si())),
        (None, None) => return None,
    };
    let (above, below) = (judgement.share_above_window, judgement.share_below_window);
    let skin = skin(context);
    let mut findings = Vec::new();
    if let Some(share) = above.filter(|s| *s > 0.0) {
        findings.push(format!("{} of the parts' {skin} is above it (burning)", percent(share)));
    }
    if let Some(share) = below.filter(|s| *s > 0.0) {
        findings.push(format!("{} is below it (thin, dull or bare)", percent(share)));
    }
    let found = if findings.is_empty() {
        format!("all of the parts' {skin} is inside")
    } else {
        findings.join(", ")
    };
    let found = match (above, below) {
        // the first finding names whose outline it is
        (Some(a), Some(_)) if a > 0.0 => found,
        _ => found.replacen(" is below", &format!(" of the parts' {skin} is below"), 1),
    };
    Some(format!("The bath plates well {range}: {found}."))
}

/// What shares are of: in a planar section lengths of outline stand for areas.
fn skin(context: &Context) -> &'static str {
    match context.layout.symmetry {
        Symmetry::Planar => "outline",
        Symmetry::Axial => "surface",
    }
}

pub(super) fn trust_line(context: &Context) -> String {
    let s = &context.solution;
    let mut line = format!(
        "Numerical uncertainty of the local current density: ±{} (95 % of the outline), ±{} at worst; currents balance to {:.0e}.",
        percent(s.stats.estimated_error),
        percent(s.stats.worst_error),
        s.current_balance.abs(),
    );
    if !s.stats.accuracy_met {
        line.push_str(&format!(
            " The accuracy asked for, {}, was NOT REACHED.",
            percent(context.accuracy)
        ));
    }
    let assumed = context.assumed();
    // where their effect was computed, each gets a line of its own
    if !assumed.is_empty() && context.findings.leaning.is_none() {
        line.push_str(&format!(" Assumed, not measured: {}.", assumed.join(", ")));
    }
    line
}
