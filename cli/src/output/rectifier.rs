//! What the rectifiers do, in a few words.

use solver::{Solution, SupplyResult, SupplyState};

use super::format::{percent, plus_minus, three};

/// "30 A and 5 V"; with several supplies one after the other, each with its name.
pub fn setting(solution: &Solution) -> String {
    match solution.supplies.as_slice() {
        [only] => format!("{} A and {} V", three(only.current_a), three(only.voltage_v)),
        several => {
            let each = several.iter().map(|s| {
                format!("{} A and {} V ({})", three(s.current_a), three(s.voltage_v), s.name)
            });
            each.collect::<Vec<_>>().join(", ")
        }
    }
}

/// The first lines of the verdict: current, voltage with its split, and power; `time` stands
/// behind the voltage.
pub fn lines(title: &str, solution: &Solution, time: &str) -> Vec<String> {
    match solution.supplies.as_slice() {
        [only] => vec![format!("{title}: {}", line(only, time))],
        several => {
            let total = format!(
                "{title}: {} A in all{time}, {} W.",
                three(solution.total_current_a()),
                three(solution.total_power_w()),
            );
            let each = several.iter().map(|s| format!("Supply {}: {}", s.name, line(s, "")));
            std::iter::once(total).chain(each).collect()
        }
    }
}

fn line(s: &SupplyResult, time: &str) -> String {
    let mut split = format!(
        "solution {} V, cathode {} V, anode {} V",
        three(s.solution_v),
        three(s.cathode_v),
        three(s.anode_v)
    );
    for (volts, what) in [(s.leads_v, "leads"), (s.contacts_v, "contacts")] {
        if volts != 0.0 {
            split.push_str(&format!(", {what} {} V", three(volts)));
        }
    }
    format!(
        "{} A at {} V{time} ({split}), {} W.",
        plus_minus(s.current_a, s.current_uncertainty_a),
        plus_minus(s.voltage_v, s.voltage_uncertainty_v),
        three(s.power_w),
    )
}

/// One line for each rating that is stated, and for each supply that no rectifier can be.
pub fn judged(solution: &Solution) -> Vec<String> {
    let many = solution.supplies.len() > 1;
    let mut out = Vec::new();
    for s in &solution.supplies {
        let who = if many { format!("rectifier of {}", s.name) } else { "rectifier".into() };
        let uses: Vec<String> = [(s.current_use, "current"), (s.voltage_use, "voltage")]
            .into_iter()
            .filter_map(|(share, what)| {
                share.map(|x| format!("{} of its rated {what}", percent(x)))
            })
            .collect();
        if !uses.is_empty() {
            let word = if s.is_overloaded() { "OVERLOADED" } else { "loaded" };
            out.push(format!("The {who} is {word} with {}.", uses.join(" and ")));
        }
        match s.state {
            SupplyState::Delivers => {}
            SupplyState::CurrentReversed => out.push(format!(
                "The {who} CANNOT do this: current would flow back into its positive pole; raise its voltage or open it."
            )),
            SupplyState::VoltageReversed => out.push(format!(
                "The {who} CANNOT do this: its voltage would have to be negative, as more current flows without it."
            )),
        }
    }
    out
}

/// True if every rectifier can do what is asked and is within its rating.
pub fn can_deliver(solution: &Solution) -> bool {
    solution.supplies.iter().all(|s| s.state == SupplyState::Delivers && !s.is_overloaded())
}
