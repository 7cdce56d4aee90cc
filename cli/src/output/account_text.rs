//! Evenness, metal, anodes, power, conductors and gas as lines of the verdict.

use solver::Verdict;
use solver::verdict::{AnodeLoad, CONDUCTORS, Conductor};

use super::Context;
use super::account::wagner_words;
use super::format::{percent, three};

/// More anodes than this are told as a group.
const MOST_ANODES: usize = 4;

/// The lines, in the order in which a plater asks.
pub fn lines(context: &Context) -> Vec<String> {
    let account = context.account();
    let mut lines = vec![evenness(context, &account)];
    lines.extend(metal(context, &account));
    lines.extend(anodes(context, &account));
    lines.extend(area_ratio(&account));
    lines.push(power(context, &account));
    lines.extend(conductors(context));
    lines.extend(hydrogen(&account));
    lines
}

/// The lines that differ from bath to bath: metal, anodes, gas.
pub fn load(context: &Context) -> Vec<String> {
    let account = context.account();
    let found = [
        metal(context, &account),
        anodes(context, &account),
        area_ratio(&account),
        hydrogen(&account),
    ];
    found.into_iter().flatten().collect()
}

fn evenness(context: &Context, account: &Verdict) -> String {
    let wagner = context.solution.wagner;
    let parts = account.parts.iter().filter_map(|part| part.evenness);
    let worst = parts.min_by(|a, b| a.min_over_mean.total_cmp(&b.min_over_mean));
    let ratios = worst.map_or(String::new(), |e| {
        let most = e.max_over_min.map_or("-".to_owned(), three);
        let varies = percent(e.coefficient_of_variation);
        format!(
            "least/mean {}, greatest/least {most}, variation {varies}; ",
            three(e.min_over_mean)
        )
    });
    let length = context.units.size_text(wagner.length_m);
    let words = wagner_words(wagner.number);
    format!("Evenness: {ratios}Wagner number {} over {length}: {words}.", three(wagner.number))
}

fn metal(context: &Context, account: &Verdict) -> Option<String> {
    if account.parts.is_empty() {
        return None;
    }
    let sum: f64 = account.parts.iter().map(|part| part.metal_kg).sum();
    let beyond: Option<f64> = account.parts.iter().map(|part| part.beyond_kg).sum();
    let mut line = format!("Metal on the parts: {} g", three(1e3 * sum));
    if let Some(kg) = beyond {
        let share = if sum > 0.0 { kg / sum } else { 0.0 };
        let (grams, share) = (three(1e3 * kg), percent(share));
        line.push_str(&format!(
            ", of which {grams} g ({share}) are beyond the thickness asked for"
        ));
    }
    let thieves: f64 = context.thief_metal_kg();
    if thieves > 0.0 {
        line.push_str(&format!("; on thieves {} g", three(1e3 * thieves)));
    }
    Some(line + ".")
}

fn anodes(context: &Context, account: &Verdict) -> Option<String> {
    let all = &account.anodes;
    let limit = context.findings.bath.anode_limit;
    let worst = all.iter().max_by(|a, b| a.mean_a_m2.total_cmp(&b.mean_a_m2))?;
    let of_limit = |load: &AnodeLoad| {
        let density = context.units.density_text(load.mean_a_m2);
        match limit {
            Some(limit) if load.mean_a_m2 > limit.si() => {
                format!("{density}, OVER its limit of {}", context.units.density_text(limit.si()))
            }
            Some(limit) => format!("{density} of {}", context.units.density_text(limit.si())),
            None => density,
        }
    };
    let name = |load: &AnodeLoad| &context.solution.bodies[load.body].name;
    let dissolved: Option<f64> = all.iter().map(|load| load.dissolved_kg).sum();
    let dissolved =
        dissolved.map_or(String::new(), |kg| format!("; {} g dissolve in all", three(1e3 * kg)));
    let listed = if all.len() <= MOST_ANODES {
        let each = all.iter().map(|load| {
            let share = percent(load.share);
            format!("{} {} A ({share}, {})", name(load), three(load.current_a), of_limit(load))
        });
        each.collect::<Vec<_>>().join("; ")
    } else {
        format!("{}, the busiest is {} with {}", all.len(), name(worst), of_limit(worst))
    };
    let word = if all.len() == 1 { "Anode" } else { "Anodes" };
    Some(format!("{word}: {listed}{dissolved}."))
}

/// Anodes that carry more than their material stands, a sentence each for the two busiest.
pub fn overloaded(context: &Context) -> Vec<String> {
    let account = context.account();
    let Some(limit) = context.findings.bath.anode_limit else { return Vec::new() };
    let mut over: Vec<_> = account.anodes.iter().filter(|a| a.mean_a_m2 > limit.si()).collect();
    over.sort_by(|a, b| b.mean_a_m2.total_cmp(&a.mean_a_m2));
    let units = context.units;
    let mut out: Vec<String> = over
        .iter()
        .take(2)
        .map(|load| {
            format!(
                "Anode {} carries {}, OVER its limit of {}.",
                context.solution.bodies[load.body].name,
                units.density_text(load.mean_a_m2),
                units.density_text(limit.si()),
            )
        })
        .collect();
    match over.len().saturating_sub(2) {
        0 => {}
        1 => out.push("One more anode is over its limit.".into()),
        more => out.push(format!("{more} more anodes are over their limit.")),
    }
    out
}

fn area_ratio(account: &Verdict) -> Option<String> {
    let found = account.area_ratio?;
    let ratio = three(found.ratio);
    Some(match found.range {
        Some([low, high]) if found.ratio < low => format!(
            "Anode to cathode area {ratio} : 1, LESS than the {} to {} : 1 of this bath.",
            three(low),
            three(high)
        ),
        Some([low, high]) => format!(
            "Anode to cathode area {ratio} : 1 (this bath: {} to {} : 1).",
            three(low),
            three(high)
        ),
        None => format!("Anode to cathode area {ratio} : 1."),
    })
}

fn power(context: &Context, account: &Verdict) -> String {
    let total: f64 = context.solution.supplies.iter().map(|supply| supply.power_w).sum();
    let heat = &account.heat;
    format!(
        "Power {} W; {} W warm the bath: the {} as drawn by at most {}.",
        three(total),
        three(heat.power_w),
        context.units.volume_text(heat.volume_m3),
        context.units.warming_text(heat.warming_k_h),
    )
}

fn conductors(context: &Context) -> Option<String> {
    let [copper, ..] = CONDUCTORS;
    let section =
        |metal: &Conductor, current: f64| context.units.section_text(metal.section_m2(current));
    let steel = CONDUCTORS.iter().find(|metal| metal.name == "steel")?;
    let most = context.solution.supplies.iter().map(|s| s.current_a).fold(0.0, f64::max);
    let (part, hook) = context.busiest_hook()?;
    Some(format!(
        "Conductors at 1000 A to the square inch of copper: leads and bars at least {}; the hook of {part} ({} A) {} of copper, {} of steel.",
        section(&copper, most),
        three(hook),
        section(&copper, hook),
        section(steel, hook),
    ))
}

fn hydrogen(account: &Verdict) -> Option<String> {
    let gas = account.hydrogen.filter(|gas| gas.volume_m3 > 0.0)?;
    Some(format!(
        "Hydrogen: {} L in the run, {} L an hour (at 0 °C): ventilate.",
        three(1e3 * gas.volume_m3),
        three(1e3 * gas.volume_m3_h),
    ))
}
