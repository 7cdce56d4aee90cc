//! The verdict on a sequence in a plater's words.

use solver::Spread;

use super::{StackContext, Standing, judge_stack};
use crate::job::Limit;
use crate::output::format::{duration, percent, three};
use crate::output::verdict::{judge, window_line};

/// More parts than this are told by their worst.
const MOST_PARTS: usize = 4;

/// The verdict as lines of text; `files` are the names of what was written.
pub fn stack_verdict(context: &StackContext, files: &[String]) -> Vec<String> {
    let total: f64 = context.layers.iter().map(|layer| layer.seconds()).sum();
    let charge: f64 = context.layers.iter().map(|layer| layer.ampere_hours()).sum();
    let energy: f64 = context.layers.iter().map(|layer| layer.watt_hours()).sum();
    let mut lines = vec![format!(
        "{}: {} layers, {} in the baths, {} A h, {} W h.",
        context.title,
        context.layers.len(),
        duration(total),
        three(charge),
        three(energy),
    )];
    for (k, layer) in context.layers.iter().enumerate() {
        lines.push(format!(
            "{}. {}: {} A at {} V for {}, {} A h.",
            k + 1,
            layer.name,
            three(layer.current_a()),
            three(layer.voltage_v()),
            duration(layer.seconds()),
            three(layer.ampere_hours()),
        ));
        lines.extend(parts(context, |part| part.layers.get(k)));
        let window = window_line(&layer.context, &judge(&layer.context));
        lines.extend(window.map(|line| format!("   {line}")));
    }
    if context.layers.len() > 1 {
        lines.push("All layers together:".into());
        lines.extend(parts(context, |part| Some(&part.total)));
    }
    lines.extend(judge_stack(context).iter().filter_map(|standing| stand(context, standing)));
    lines.push(trust(context));
    if !files.is_empty() {
        lines.push(format!("Files: {}.", files.join(", ")));
    }
    lines.push(
        "A computed estimate: for handling baths and current follow the safety data sheets, local codes and licensed practice."
            .into(),
    );
    lines
}

/// One line for each part, or one for the whole rack.
fn parts<'s>(
    context: &'s StackContext,
    profile: impl Fn(&'s solver::Stack) -> Option<&'s solver::Profile>,
) -> Vec<String> {
    let found: Vec<(&str, Spread)> = context
        .parts
        .iter()
        .filter_map(|part| profile(&part.stack).map(|profile| (part.name, profile.thickness)))
        .collect();
    let units = context.units;
    let least = |s: &Spread| units.thickness_pm(s.min, s.min_uncertainty);
    let most = |s: &Spread| units.thickness_pm(s.max, s.max_uncertainty);
    if found.len() <= MOST_PARTS {
        let line = |(name, s): &(&str, Spread)| {
            format!(
                "   {name}: {} at its thinnest ({}), {} mean, {} at its thickest ({}).",
                least(s),
                units.place_text(s.min_at),
                units.thickness_text(s.mean),
                most(s),
                units.place_text(s.max_at),
            )
        };
        return found.iter().map(line).collect();
    }
    let thinnest = found.iter().min_by(|a, b| a.1.min.total_cmp(&b.1.min));
    let thickest = found.iter().max_by(|a, b| a.1.max.total_cmp(&b.1.max));
    let (Some(thin), Some(thick)) = (thinnest, thickest) else { return Vec::new() };
    vec![format!(
        "   {} parts: {} at the thinnest ({}, {}), {} at the thickest ({}, {}).",
        found.len(),
        least(&thin.1),
        thin.0,
        units.place_text(thin.1.min_at),
        most(&thick.1),
        thick.0,
        units.place_text(thick.1.max_at),
    )]
}

fn stand(context: &StackContext, standing: &Standing) -> Option<String> {
    let (index, worst) = standing.worst()?;
    let part = context.parts.get(index)?.name;
    let units = context.units;
    let (wanted, gap, found) = match standing.demand.limit {
        Limit::Least(wanted) | Limit::Most(wanted) => {
            let how = if matches!(standing.demand.limit, Limit::Most(_)) {
                "at most"
            } else {
                "at least"
            };
            let gap = (worst.value - wanted.si()).abs();
            (
                format!("{how} {}", units.thickness_text(wanted.si())),
                gap,
                units.thickness_text(worst.value),
            )
        }
        Limit::LowestShare(share) => (
            format!("at least {}", percent(share)),
            (worst.value - share).abs(),
            percent(worst.value),
        ),
    };
    let word = if worst.met { "met" } else { "MISSED" };
    let mut line = format!(
        "Wanted of {} {wanted} ({}): {word}, {found} on {part} ({}){}.",
        standing.demand.what,
        standing.demand.from,
        units.place_text(worst.at),
        if gap <= worst.uncertainty.abs() {
            ", which is within the numerical uncertainty"
        } else {
            ""
        },
    );
    if !worst.met && matches!(standing.demand.limit, Limit::Least(_)) {
        let seconds: f64 = standing
            .demand
            .layers
            .iter()
            .filter_map(|k| context.layers.get(*k))
            .map(|layer| layer.seconds())
            .sum();
        line.push_str(&match standing.time_factor() {
            Some(factor) => format!(
                " At these currents it takes {} instead of {}.",
                duration(factor * seconds),
                duration(seconds)
            ),
            None => " That place gets no metal at all: no time is long enough.".into(),
        });
    }
    Some(line)
}

/// How far the numbers can be trusted, over all layers.
pub(super) fn trust(context: &StackContext) -> String {
    let stats = || context.layers.iter().map(|layer| layer.context.solution.stats);
    let usual = stats().map(|s| s.estimated_error).fold(0.0, f64::max);
    let worst = stats().map(|s| s.worst_error).fold(0.0, f64::max);
    let mut line = format!(
        "Numerical uncertainty of the local current density: ±{} (95 % of the outline), ±{} at worst.",
        percent(usual),
        percent(worst),
    );
    let assumed: Vec<String> = context
        .layers
        .iter()
        .map(|layer| (layer.name, layer.context.assumed()))
        .filter(|(_, names)| !names.is_empty())
        .map(|(name, names)| format!("{name}: {}", names.join(", ")))
        .collect();
    if !assumed.is_empty() {
        line.push_str(&format!(" Assumed, not measured: {}.", assumed.join("; ")));
    }
    line
}
