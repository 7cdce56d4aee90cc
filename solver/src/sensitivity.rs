//! How far a result moves when a value that nobody has measured moves over its range.
//!
//! Each value gives two more cases, with the value at either end. All cases are solved alike, at a
//! looser accuracy than the job's own, and only differences are reported: stretches are fixed by
//! the outlines, so much of the numerical error is the same on both sides.
//!
//! What a value cannot change is not solved again. Efficiency leaves the current alone; and where
//! the supply holds a current, a Tafel exchange current density or a rest potential that is the
//! same all over one pole moves the voltage and nothing else.
use rayon::prelude::*;

use crate::deposit::{Deposit, Efficiency};
use crate::faraday::Metal;
use crate::kinetics::{Kinetics, Law};
use crate::layout::{Drive, Layout, Role};
use crate::positions::{Position, averaged, solve_all};
use crate::quantity::{Length, Time};
use crate::solution::Solution;
use crate::solve::{SolveError, SolveSettings};
use crate::until::{RunLength, greatest_on_parts, least_on_parts};

/// A job in the solver's terms: what is in the tank, position after position, and what is wanted.
#[derive(Debug, Clone)]
pub struct Case {
    /// Layouts with their shares of the time; one for a part that rests.
    pub positions: Vec<(Layout, f64)>,
    /// What is deposited, how well and how long; `None` if only the current counts.
    pub plating: Option<(Metal, Efficiency, Option<RunLength>)>,
    /// Least thickness wanted on the significant surface.
    pub want: Option<Length>,
}

/// A value with the cases at the ends of its range.
#[derive(Debug, Clone)]
pub struct Variation {
    /// Its name.
    pub name: String,
    /// With the value at its lower end.
    pub low: Case,
    /// With the value at its upper end.
    pub high: Case,
}

/// What a planner reads off a case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Mean voltage of the first supply, V.
    pub voltage_v: f64,
    /// Mean current of all supplies together, A.
    pub current_a: f64,
    /// Least thickness on the significant surface, m; where no time is stated, in one hour.
    pub least_m: Option<f64>,
    /// Greatest thickness on the significant surface after the same time, m.
    pub greatest_m: Option<f64>,
    /// Time until the wanted thickness is there, s.
    pub seconds_to_want: Option<f64>,
}

/// How the figures move with one value.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaning {
    /// The value's name.
    pub name: String,
    /// Figures at the lower end of its range; `None` if that case has no answer.
    pub low: Option<Figures>,
    /// Figures at the upper end.
    pub high: Option<Figures>,
    /// True if the value moves the voltage only, which was found without a solve.
    pub voltage_only: bool,
}

/// The base case with everything that leans on a value, in the order given.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// Figures of the base case, solved as loosely as the others.
    pub base: Figures,
    /// One for each variation.
    pub leanings: Vec<Leaning>,
}

impl Leaning {
    /// Largest relative move of the least thickness and of the time to the wanted one.
    pub fn metal_moves(&self, base: &Figures) -> f64 {
        self.largest(&|f| {
            let thickness = share(f.least_m, base.least_m);
            thickness.max(share(f.seconds_to_want, base.seconds_to_want))
        })
    }

    /// Largest relative move of the voltage.
    pub fn voltage_moves(&self, base: &Figures) -> f64 {
        self.largest(&|f| share(Some(f.voltage_v), Some(base.voltage_v)))
    }

    /// Largest relative move of any of them.
    pub fn moves(&self, base: &Figures) -> f64 {
        self.metal_moves(base).max(self.voltage_moves(base))
    }

    fn largest(&self, of: &dyn Fn(&Figures) -> f64) -> f64 {
        self.low.iter().chain(&self.high).map(of).fold(0.0, f64::max)
    }
}

/// How far a figure has moved, as a share of what it was; infinite from nothing to something, as a
/// bare place that another value covers.
fn share(new: Option<f64>, old: Option<f64>) -> f64 {
    new.zip(old).map_or(0.0, |(new, old)| if new == old { 0.0 } else { (new / old - 1.0).abs() })
}

/// Solves `base` and both ends of every variation, several at a time.
///
/// `significant` marks stretches of each body as in [`least_on_parts`].
///
/// # Errors
/// If the base case has no answer; a varied case without one is reported as `None`.
pub fn sensitivity(
    base: &Case,
    variations: &[Variation],
    settings: &SolveSettings,
    significant: Option<&[Vec<bool>]>,
) -> Result<Sensitivity, SolveError> {
    vary(base, variations, settings, &|_, _| significant.map(<[_]>::to_vec))
}

/// As [`sensitivity`], on the significant surface of each case's own layout: for variations that
/// move bodies, whose stretches then lie elsewhere on the outlines.
///
/// # Errors
/// As [`sensitivity`].
pub fn sensitivity_on_significant(
    base: &Case,
    variations: &[Variation],
    settings: &SolveSettings,
) -> Result<Sensitivity, SolveError> {
    vary(base, variations, settings, &|case, solved| {
        let (first, _) = case.positions.first()?;
        Some(first.significant_rows(solved.first()?))
    })
}

/// Significant stretches of each body in the first answer of a case; `None` for all.
type Marks<'a> = &'a (dyn Fn(&Case, &[Solution]) -> Option<Vec<Vec<bool>>> + Sync);

fn vary(
    base: &Case,
    variations: &[Variation],
    settings: &SolveSettings,
    marks: Marks<'_>,
) -> Result<Sensitivity, SolveError> {
    let solve = |case: &Case| -> Result<Vec<Solution>, SolveError> {
        let layouts: Vec<Layout> = case.positions.iter().map(|(l, _)| l.clone()).collect();
        solve_all(&layouts, settings, &|_, _| ()).map_err(|(_, error)| error)
    };
    let solved = solve(base)?;
    let figures =
        |case: &Case, solved: &[Solution]| figures(case, solved, marks(case, solved).as_deref());
    let base_figures = figures(base, &solved);
    let end = |case: &Case| -> (Option<Figures>, bool) {
        match effect(base, case) {
            Effect::Nothing => (Some(figures(case, &solved)), false),
            Effect::Voltage(shift) => {
                let moved = Figures { voltage_v: base_figures.voltage_v + shift, ..base_figures };
                (Some(moved), true)
            }
            Effect::Field => {
                let found = solve(case).ok();
                (found.map(|s| figures(case, &s)), false)
            }
        }
    };
    let ends: Vec<&Case> = variations.iter().flat_map(|v| [&v.low, &v.high]).collect();
    let found: Vec<(Option<Figures>, bool)> = ends.par_iter().map(|case| end(case)).collect();
    let leanings = variations.iter().zip(found.chunks(2)).map(|(v, pair)| Leaning {
        name: v.name.clone(),
        low: pair[0].0,
        high: pair[1].0,
        voltage_only: pair[0].1 && pair[1].1,
    });
    Ok(Sensitivity { base: base_figures, leanings: leanings.collect() })
}

/// Time that a thickness is given for when the case states none, s.
const HOUR: f64 = 3600.0;

fn figures(case: &Case, solved: &[Solution], significant: Option<&[Vec<bool>]>) -> Figures {
    let rows = case.positions.iter().zip(solved);
    let positions: Vec<Position> = rows
        .map(|((layout, share), solution)| Position { layout, solution, share: *share })
        .collect();
    let mean = |value: &dyn Fn(&Solution) -> f64| -> f64 {
        positions.iter().map(|p| p.share * value(p.solution)).sum()
    };
    let current_a = mean(&|s| s.total_current_a());
    let mut out = Figures {
        voltage_v: mean(&|s| s.supplies.first().map_or(0.0, |supply| supply.voltage_v)),
        current_a,
        least_m: None,
        greatest_m: None,
        seconds_to_want: None,
    };
    let (Some((metal, efficiency, length)), Some(first)) = (&case.plating, solved.first()) else {
        return out;
    };
    let after = |time: Time| averaged(&positions, metal, efficiency, time);
    let least = |deposit: &Deposit| least_on_parts(deposit, &first.bodies, significant);
    let Some(second) = after(Time::new(1.0)) else { return out };
    let time = match length {
        Some(length) => length.time(&second, &first.bodies, significant, current_a).ok(),
        None => Some(Time::new(HOUR)),
    };
    let rate = least(&second);
    let most = greatest_on_parts(&second, &first.bodies, significant);
    out.greatest_m = most.zip(time).map(|(rate, time)| rate * time.si());
    out.least_m = rate.zip(time).map(|(rate, time)| rate * time.si());
    let reach = match length {
        Some(RunLength::Thickness(until)) => Some(*until),
        _ => case.want,
    };
    out.seconds_to_want =
        reach.zip(rate).filter(|(_, rate)| *rate > 0.0).map(|(want, rate)| want.si() / rate);
    out
}

/// What a changed value can change.
enum Effect {
    /// No current and no potential.
    Nothing,
    /// The voltage alone, by this much, V.
    Voltage(f64),
    /// Everything.
    Field,
}

fn effect(base: &Case, case: &Case) -> Effect {
    if base.positions.len() != case.positions.len() {
        return Effect::Field;
    }
    let mut effect = Effect::Nothing;
    for ((old, a), (new, b)) in base.positions.iter().zip(&case.positions) {
        match (a == b).then(|| change(old, new)) {
            Some(Effect::Nothing) => {}
            // the same in every position, as the laws do not change with it
            Some(Effect::Voltage(shift)) => effect = Effect::Voltage(shift),
            Some(Effect::Field) | None => return Effect::Field,
        }
    }
    effect
}

fn change(old: &Layout, new: &Layout) -> Effect {
    let same_things = old.tank == new.tank
        && old.symmetry == new.symmetry
        && old.depth == new.depth
        && old.conductivity == new.conductivity
        && old.temperature == new.temperature
        && old.supplies == new.supplies
        && old.bodies.len() == new.bodies.len()
        && old.bodies.iter().zip(&new.bodies).all(|(a, b)| {
            a.role == b.role
                && a.outline == b.outline
                && a.masked == b.masked
                && a.contact == b.contact
        });
    if !same_things {
        return Effect::Field;
    }
    let laws = || old.bodies.iter().zip(&new.bodies).filter(|(body, _)| body.role.is_metal());
    if laws().all(|(a, b)| a.law == b.law) {
        return Effect::Nothing;
    }
    // one supply that holds a current, and no metal that sets its own potential
    let held = match old.supplies.as_slice() {
        [only] => !matches!(only.drive, Drive::Voltage(_)),
        _ => false,
    };
    if !held || laws().any(|(body, _)| body.role == Role::Floating) {
        return Effect::Field;
    }
    let pole = |anodes: bool| -> Option<f64> {
        let mut shifts = laws()
            .filter(|(body, _)| (body.role == Role::Anode) == anodes)
            .map(|(a, b)| shift(&a.law, &b.law, anodes));
        let first = shifts.next()??;
        shifts.all(|other| other.is_some_and(|o| (o - first).abs() < 1e-12)).then_some(first)
    };
    match (pole(true), pole(false)) {
        (Some(anodes), Some(cathodes)) => Effect::Voltage(anodes - cathodes),
        _ => Effect::Field,
    }
}

/// By how much a surface's potential moves at every current density alike, V.
fn shift(old: &Law, new: &Law, anode: bool) -> Option<f64> {
    if old.limiting != new.limiting {
        return None;
    }
    let rest = new.rest.si() - old.rest.si();
    if old.kinetics == new.kinetics {
        return Some(rest);
    }
    match (&old.kinetics, &new.kinetics) {
        (
            Kinetics::Tafel { exchange: i0, slope: a },
            Kinetics::Tafel { exchange: i1, slope: b },
        ) if a == b => {
            let decades = libm::log10(i1.si() / i0.si());
            Some(rest + if anode { -1.0 } else { 1.0 } * a.si() * decades)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Supply;
    use crate::quantity::{Conductivity, CurrentDensity, Potential};
    use crate::sample::{KAPPA, PLATES_APART, linear, plates, tafel};

    const SLOPE: f64 = 0.12;
    const DENSITY: f64 = 300.0;

    fn case(layout: Layout, share: f64) -> Case {
        let nickel = Metal::named("Ni").expect("known").clone();
        let efficiency = Efficiency::constant(share).expect("a share");
        Case {
            positions: vec![(layout, 1.0)],
            plating: Some((nickel, efficiency, Some(RunLength::Time(Time::new(1000.0))))),
            want: Some(Length::um(10.0)),
        }
    }

    fn cell(exchange: f64, kappa: f64) -> Layout {
        let mut layout = plates(tafel(exchange, SLOPE), linear(1e-3));
        layout.conductivity = Conductivity::new(kappa);
        layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(DENSITY)))];
        layout
    }

    /// Between plates at a held current density: conductivity moves `i d / κ`, exchange moves one
    /// slope for each decade, efficiency the thickness in proportion.
    #[test]
    fn between_plates_every_move_is_that_of_the_formula() {
        let base = case(cell(1.0, KAPPA), 0.9);
        let vary = |name: &str, low: Case, high: Case| Variation { name: name.into(), low, high };
        let variations = [
            vary("conductivity", case(cell(1.0, 5.0), 0.9), case(cell(1.0, 9.0), 0.9)),
            vary("exchange", case(cell(0.1, KAPPA), 0.9), case(cell(10.0, KAPPA), 0.9)),
            vary("efficiency", case(cell(1.0, KAPPA), 0.8), case(cell(1.0, KAPPA), 0.95)),
        ];
        let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
        let found = sensitivity(&base, &variations, &settings, None).expect("solves");
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-6 * b.abs().max(1.0), "{a}, {b}");
        let volts = |end: Option<Figures>| end.expect("solved").voltage_v - found.base.voltage_v;
        let [kappa, exchange, share] = &found.leanings[..] else { panic!("three") };
        let drop = |k: f64| DENSITY * PLATES_APART / k;
        close(volts(kappa.low), drop(5.0) - drop(KAPPA));
        close(volts(kappa.high), drop(9.0) - drop(KAPPA));
        close(volts(exchange.low), SLOPE);
        close(volts(exchange.high), -SLOPE);
        assert!(exchange.voltage_only && !kappa.voltage_only && !share.voltage_only);
        let least = |end: Option<Figures>| end.expect("solved").least_m.expect("plated");
        let base_least = found.base.least_m.expect("plated");
        close(least(share.low) / base_least, 0.8 / 0.9);
        close(least(kappa.low) / base_least, 1.0);
        let seconds = share.high.expect("solved").seconds_to_want.expect("wanted");
        close(seconds / found.base.seconds_to_want.expect("wanted"), 0.9 / 0.95);
        assert!(share.moves(&found.base) > 0.1 && exchange.moves(&found.base) > 0.0);
    }

    /// The shortcut gives what a solve would: a voltage-driven cell has none and is solved.
    #[test]
    fn at_a_held_voltage_the_exchange_changes_the_current() {
        let with = |exchange: f64| {
            let mut layout = cell(exchange, KAPPA);
            layout.supplies = vec![Supply::all(Drive::Voltage(Potential::new(5.0)))];
            case(layout, 0.9)
        };
        let variation = Variation { name: "exchange".into(), low: with(0.1), high: with(10.0) };
        let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
        let found = sensitivity(&with(1.0), &[variation], &settings, None).expect("solves");
        let leaning = &found.leanings[0];
        let (low, high) = (leaning.low.expect("solved"), leaning.high.expect("solved"));
        assert!(!leaning.voltage_only);
        assert!(low.current_a < found.base.current_a && found.base.current_a < high.current_a);
    }
}
