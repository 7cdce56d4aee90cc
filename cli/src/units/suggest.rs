//! "Did you mean": the known word nearest to an unknown one.

use super::atom::ATOMS;
use super::dimension::Kind;

/// Words people write for units that are near to nothing by spelling.
const HABITS: &[(&str, &str)] = &[
    ("C", "degC"),
    ("F", "degF"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("volt", "V"),
    ("volts", "V"),
    ("millivolt", "mV"),
    ("mho", "S"),
    ("celsius", "degC"),
    ("fahrenheit", "degF"),
    ("kelvin", "K"),
    ("micrometre", "um"),
    ("micrometer", "um"),
];

/// The candidate nearest to `word`, if any is near: at most two slips of the pen, and fewer in a
/// short word.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let lower = word.to_lowercase();
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let length = candidate.chars().count().max(lower.chars().count());
        // a third of the letters may be wrong: `sise` still finds `size`, `xy` finds nothing
        let allowed = (length / 3).clamp(usize::from(length > 1), 3);
        let distance = strsim::damerau_levenshtein(&lower, &candidate.to_lowercase());
        if distance <= allowed && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// The unit that was probably meant, units of the wanted kind first.
pub(super) fn unit(word: &str, wanted: Kind) -> Option<&'static str> {
    let habit = HABITS.iter().find(|(from, _)| from.eq_ignore_ascii_case(word));
    habit
        .map(|(_, to)| *to)
        .or_else(|| nearest(word, wanted.units().iter().copied()))
        .or_else(|| nearest(word, ATOMS.iter().flat_map(|atom| atom.names.iter().copied())))
}
