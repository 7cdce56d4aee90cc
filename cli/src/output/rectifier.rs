//! What the rectifiers do, in a few words.

use solver::Solution;

use super::format::three;

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
