//! Whether a layout was solved truthfully, or refused truthfully.
//!
//! What makes a refusal true is told from outlines and laws alone, by nothing of the solver.
use solver::{Body, Kinetics, Layout, Role, Solution, SolveError, Supply};

use crate::truth;

/// What became of a checked layout.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// Solved, and nothing is wrong with the answer.
    Solved,
    /// It has no answer, and was refused for that reason: the reason in a word.
    IllPosed(&'static str),
    /// Everything wrong.
    Wrong(Vec<String>),
}

/// Judges what [`solver::solve`] says about a checked layout.
pub fn verdict(layout: &Layout, found: &Result<Solution, SolveError>) -> Verdict {
    let refused = |truly: bool, why: &'static str, e: &SolveError| match truly {
        true => Verdict::IllPosed(why),
        false => Verdict::Wrong(vec![format!("refused without reason: {e}")]),
    };
    match found {
        Ok(s) => match truth::faults(layout, s) {
            faults if faults.is_empty() => Verdict::Solved,
            faults => Verdict::Wrong(faults),
        },
        Err(e @ SolveError::NoPath { part }) => {
            refused(!truth::connected(layout, part), "no path", e)
        }
        Err(e @ SolveError::NoCircuit { supply }) => {
            refused(!has_circuit(layout, supply), "no circuit", e)
        }
        Err(e @ SolveError::BeyondLimit { wanted_a, possible_a, .. }) => {
            refused(wanted_a >= possible_a, "beyond limit", e)
        }
        Err(e @ SolveError::ThiefFeeds { wanted_a, least_a, .. }) => {
            refused(wanted_a <= least_a, "beyond limit", e)
        }
        Err(e @ SolveError::ShortCircuit { bodies, .. }) => {
            refused(shorted(layout, bodies), "short circuit", e)
        }
        Err(e) => Verdict::Wrong(vec![e.to_string()]),
    }
}

/// True if bath surely leads from an anode of the supply of this name to one of its cathodes.
fn has_circuit(layout: &Layout, name: &str) -> bool {
    let of = |b: &Body, listed: &dyn Fn(&Supply) -> Vec<usize>| {
        let supplies = layout.supplies.iter().filter(|s| s.name == name);
        supplies.flat_map(listed).any(|k| layout.bodies[k].name == b.name)
    };
    let anode = |b: &Body| of(b, &|s| layout.anodes_of(s));
    truth::leads(layout, &anode, &|b| of(b, &|s| layout.cathodes_of(s)))
}

/// Distance at which outlines touch, as a share of the tank's diagonal: ten times what the solver
/// closes, so that its rounding cannot decide.
const CONTACT: f64 = 1e-6;

/// True if two bodies of these names touch, are at different potentials as seen from the bath, and
/// neither has polarization or a limit: the current between them has no bound.
pub fn shorted(layout: &Layout, names: &[String; 2]) -> bool {
    let found = |name: &String| layout.bodies.iter().find(|b| b.name == *name);
    let (Some(a), Some(b)) = (found(&names[0]), found(&names[1])) else { return false };
    let bare = |b: &Body| b.law.kinetics == Kinetics::None && b.law.limiting.is_none();
    bare(a)
        && bare(b)
        && apart(a, b)
        && a.outline.touches(&b.outline, CONTACT * layout.tank.diagonal())
}

/// How many pairs of metals at different potentials touch: currents between them hang on the finest
/// cell of the grid, and the stated uncertainty does not say so.
pub fn contacts(layout: &Layout) -> usize {
    let metal: Vec<&Body> = layout.bodies.iter().filter(|b| b.role.is_metal()).collect();
    let near = CONTACT * layout.tank.diagonal();
    let pairs = (0..metal.len()).flat_map(|i| (0..i).map(move |k| (i, k)));
    pairs
        .filter(|&(i, k)| apart(metal[i], metal[k]))
        .filter(|&(i, k)| metal[i].outline.touches(&metal[k].outline, near))
        .count()
}

/// True if the bath at two bare metals on one supply is at different potentials.
fn apart(a: &Body, b: &Body) -> bool {
    // which bar it hangs on, and the potential of the bath beside it against that bar
    let bath = |b: &Body| match b.role {
        Role::Part => Some((0, -b.law.rest.si())),
        Role::Thief { offset } => Some((0, offset.si() - b.law.rest.si())),
        Role::Anode => Some((1, -b.law.rest.si())),
        // its potential is its own
        Role::Floating | Role::Shield | Role::Screen { .. } => None,
    };
    match (bath(a), bath(b)) {
        (Some((bar, v)), Some((other, w))) => bar != other || (v - w).abs() > 1e-9,
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use shapes::Outline;
    use solver::Drive;
    use solver::quantity::Potential;

    use super::*;
    use crate::cases::build::{body, layout, linear, none, rect};

    fn names() -> [String; 2] {
        ["part".into(), "other".into()]
    }

    fn touching(role: Role, outline: Outline, mend: impl Fn(&mut [Body])) -> Layout {
        let mut bodies = vec![
            body("part", Role::Part, rect(0.04, 0.03, 0.06, 0.06), none()),
            body("other", role, outline, none()),
        ];
        mend(&mut bodies);
        layout(rect(0.0, 0.0, 0.2, 0.1), 8.0, bodies, Drive::Voltage(Potential::new(1.0)))
    }

    #[test]
    fn only_bare_metals_at_two_potentials_in_contact_are_shorted() {
        let beside = || rect(0.06, 0.04, 0.09, 0.07);
        let is = |role, outline, mend: &dyn Fn(&mut [Body])| {
            shorted(&touching(role, outline, mend), &names())
        };
        let thief = |volts| Role::Thief { offset: Potential::new(volts) };
        for role in [Role::Anode, Role::Floating, thief(-0.1)] {
            assert!(is(role, beside(), &|_| ()));
            assert!(!is(role, rect(0.061, 0.04, 0.09, 0.07), &|_| ()), "apart in space");
            assert!(!is(role, beside(), &|b| b[1].law = linear(1e-6)), "polarized");
        }
        for role in [Role::Part, thief(0.0)] {
            assert!(!is(role, beside(), &|_| ()), "one potential");
            assert!(is(role, beside(), &|b| b[1].law.rest = Potential::new(0.2)));
        }
    }
}
