//! The verdict in the words in which a plater would pass it on.

use shapes::Point;
use solver::{Role, Spread};

use crate::output::findings::Spot;
use crate::output::format::{duration, percent};
use crate::output::places::{Places, capital, stretch_at};
use crate::output::verdict::judge;
use crate::output::{Context, rectifier};

/// How the run stands, as a word and the class of its colour.
pub struct Standing {
    /// For the style.
    pub class: &'static str,
    /// For people.
    pub word: &'static str,
}

/// How the run stands against what the job wants.
pub fn standing(context: &Context) -> Standing {
    let judgement = judge(context);
    let wants = judgement.min_thickness_met.or(judgement.max_thickness_met).is_some();
    match (judgement.meets_specification(), wants) {
        (false, _) if !judgement.supplies_can_deliver && !missed(context) => {
            Standing { class: "missed", word: "The rectifier cannot do this" }
        }
        (false, _) => Standing { class: "missed", word: "Misses what the job wants" },
        (true, true) => Standing { class: "met", word: "Meets what the job wants" },
        (true, false) => Standing { class: "plain", word: "The job states no wanted thickness" },
    }
}

fn missed(context: &Context) -> bool {
    let judgement = judge(context);
    judgement.min_thickness_met == Some(false) || judgement.max_thickness_met == Some(false)
}

/// The least and greatest of all parts' significant surfaces, with the part.
#[derive(Clone, Copy)]
struct Ends {
    least: (usize, Spread),
    most: (usize, Spread),
}

fn ends(context: &Context) -> Option<Ends> {
    let judged = |index: usize| Some((index, context.judged(index)?.spread));
    let parts = || {
        let bodies = context.solution.bodies.iter().enumerate();
        bodies.filter(|(_, b)| b.role == Role::Part && !b.stretches.is_empty()).map(|(k, _)| k)
    };
    let all = || parts().filter_map(judged);
    Some(Ends {
        least: all().min_by(|a, b| a.1.min.total_cmp(&b.1.min))?,
        // of equal ones the first, as in the summary
        most: all().reduce(|a, b| if b.1.max > a.1.max { b } else { a })?,
    })
}

/// A place of a part in words.
pub fn place_on(context: &Context, places: &Places, body: usize, at: Point) -> String {
    let result = &context.solution.bodies[body];
    let words = stretch_at(result, at).and_then(|(_, stretch)| places.words(body, stretch));
    words.unwrap_or_else(|| context.units.place_text(at))
}

/// The same with the part's name where there are several.
fn place(context: &Context, places: &Places, body: usize, at: Point) -> String {
    let result = &context.solution.bodies[body];
    let words = place_on(context, places, body, at);
    let parts = context.solution.bodies.iter().filter(|b| b.role == Role::Part).count();
    if parts > 1 { format!("{words} of {}", result.name) } else { words }
}

/// The verdict's first sentences.
pub fn lead(context: &Context, places: &Places) -> Vec<String> {
    let Some(Ends { least, most }) = ends(context) else {
        return vec!["Nothing on the parts counts for the verdict.".into()];
    };
    let units = context.units;
    let thin = capital(&place(context, places, least.0, least.1.min_at));
    let fat = place(context, places, most.0, most.1.max_at);
    let Some(run) = context.deposit else {
        return vec![format!(
            "{thin} gets {}, while {fat} gets {}. The job states no plating time or no metal, so there is no thickness.",
            units.density_text(least.1.min),
            units.density_text(most.1.max),
        )];
    };
    let time = duration(run.time.si());
    let text = |metres: f64| units.thickness_text(metres);
    let mut out = Vec::new();
    let judgement = judge(context);
    match context.want.min_thickness.map(|l| l.si()) {
        Some(want) if judgement.min_thickness_met == Some(false) => {
            out.push(format!(
                "{thin} gets {} in {time}; {} wanted. {}",
                text(least.1.min),
                text(want),
                match (judgement.seconds_to_min_thickness, judgement.max_thickness_um_then) {
                    (Some(seconds), Some(um)) => format!(
                        "At this setting it would take {} and {fat} would reach {}.",
                        duration(seconds),
                        text(um * 1e-6),
                    ),
                    _ => format!("It gets no metal at all at this setting: no time is long enough, while {fat} already has {}.", text(most.1.max)),
                }
            ));
            out.extend(close(context, least.1.min - want, least.1.min_uncertainty));
        }
        Some(want) => {
            out.push(format!(
                "{thin} gets {} in {time}, and {} is wanted there at least; {fat} gets {}.",
                text(least.1.min),
                text(want),
                text(most.1.max),
            ));
            if let Some(seconds) = judgement.seconds_to_min_thickness {
                out.push(format!("{} would be just enough.", duration(seconds)));
            }
            out.extend(close(context, least.1.min - want, least.1.min_uncertainty));
        }
        None => out.push(format!(
            "{thin} gets {} in {time}, while {fat} gets {}.",
            text(least.1.min),
            text(most.1.max),
        )),
    }
    if let Some(want) = context.want.max_thickness.map(|l| l.si()) {
        let held = judgement.max_thickness_met == Some(true);
        out.push(if held {
            format!("{} stays within the {} allowed.", capital(&fat), text(want))
        } else {
            format!(
                "{} gets {}; at most {} is allowed.",
                capital(&fat),
                text(most.1.max),
                text(want)
            )
        });
        out.extend(close(context, most.1.max - want, most.1.max_uncertainty));
    }
    if !rectifier::can_deliver(context.solution) {
        out.push("The rectifier cannot do what this setting asks of it.".into());
    }
    out
}

/// A warning where a wish is met or missed by less than the computation can tell.
fn close(context: &Context, gap: f64, uncertainty: f64) -> Option<String> {
    (gap.abs() <= uncertainty.abs()).then(|| {
        format!(
            "That is within the numerical uncertainty of {}.",
            context.units.thickness_text(uncertainty.abs())
        )
    })
}

/// Bare and burning places, one sentence for each part (the worst four) and kind.
pub fn spots(context: &Context, places: &Places) -> Vec<String> {
    let all = context.spot_places();
    let mut out = Vec::new();
    for (kind, word) in [(Spot::Bare, "stays bare"), (Spot::Burning, "burns")] {
        let mut found: Vec<_> = all.iter().filter(|p| p.spot == kind).collect();
        found.sort_by(|a, b| b.share.total_cmp(&a.share));
        for spot in found.iter().take(2) {
            let body = context.solution.bodies.iter().position(|b| b.name == spot.body);
            let at = Point::new(spot.worst_at_mm[0] * 1e-3, spot.worst_at_mm[1] * 1e-3);
            let place = body.map_or(String::new(), |body| {
                let words = stretch_at(&context.solution.bodies[body], at)
                    .and_then(|(_, stretch)| places.words(body, stretch));
                words.map_or(String::new(), |words| format!(" at {words}"))
            });
            out.push(format!(
                "{} of the surface of {} {word}, worst{place} ({}) with {}.",
                percent(spot.share),
                spot.body,
                context.units.place_text(at),
                context.units.density_text(spot.worst_a_m2),
            ));
        }
        if found.len() > 2 {
            out.push(format!("{} more parts have places where the metal {word}.", found.len() - 2));
        }
    }
    out
}
