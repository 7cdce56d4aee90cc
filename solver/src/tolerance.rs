//! How far a result moves when the tank is not quite as drawn: conductivity, polarization, current
//! and the place of every body within what a shop can hold.
//!
//! Every tolerance becomes [`Variation`]s for [`sensitivity`](crate::sensitivity()).
use shapes::Vec2;

use crate::kinetics::{Kinetics, Law};
use crate::layout::{Drive, Layout};
use crate::quantity::{AreaResistance, Conductivity, Current, CurrentDensity, Length, Potential};
use crate::sensitivity::{Case, Variation};

/// What a shop can hold, plus and minus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerances {
    /// Of the bath's conductivity, as a share.
    pub conductivity: f64,
    /// Of every overpotential at a given current density, as a share.
    pub polarization: f64,
    /// Of the place of every body, across and up.
    pub position: Length,
    /// Of what every supply is set to, as a share.
    pub current: f64,
}

impl Default for Tolerances {
    /// 10 % of conductivity, 20 % of polarization, 5 mm, 3 % of current (common practice, no source).
    fn default() -> Self {
        Self { conductivity: 0.10, polarization: 0.20, position: Length::mm(5.0), current: 0.03 }
    }
}

/// Both ends of every tolerance. `groups` are bodies that are drawn, and hang, together; those not
/// listed stand alone. A tolerance of zero makes none. Places that make no layout (a body through
/// the wall, two in each other) are left out, and named in the second list.
pub fn variations(
    case: &Case,
    tolerances: &Tolerances,
    groups: &[Vec<usize>],
) -> (Vec<Variation>, Vec<String>) {
    let (mut out, mut left_out) = (Vec::new(), Vec::new());
    let mut vary = |name: String, at: &dyn Fn(f64, &Layout) -> Layout| {
        let end = |sign: f64| -> Option<Case> {
            let positions: Vec<(Layout, f64)> =
                case.positions.iter().map(|(l, share)| (at(sign, l), *share)).collect();
            let sound = positions.iter().all(|(l, _)| l.check().is_ok());
            sound.then(|| Case { positions, ..case.clone() })
        };
        match (end(-1.0), end(1.0)) {
            (Some(low), Some(high)) => out.push(Variation { name, low, high }),
            _ => left_out.push(name),
        }
    };
    let percent = |share: f64| 100.0 * share;
    if tolerances.conductivity > 0.0 {
        let share = tolerances.conductivity;
        vary(format!("conductivity ± {} %", percent(share)), &|sign, layout| {
            let mut out = layout.clone();
            out.conductivity = Conductivity::new(out.conductivity.si() * (1.0 + sign * share));
            out
        });
    }
    if tolerances.polarization > 0.0 {
        let share = tolerances.polarization;
        vary(format!("polarization ± {} %", percent(share)), &|sign, layout| {
            let mut out = layout.clone();
            for body in &mut out.bodies {
                body.law = stiffer(&body.law, 1.0 + sign * share);
            }
            out
        });
    }
    if tolerances.current > 0.0 {
        let share = tolerances.current;
        vary(format!("current ± {} %", percent(share)), &|sign, layout| {
            let mut out = layout.clone();
            for supply in &mut out.supplies {
                let times = 1.0 + sign * share;
                supply.drive = match supply.drive {
                    Drive::Current(a) => Drive::Current(Current::new(times * a.si())),
                    Drive::MeanDensity(i) => {
                        Drive::MeanDensity(CurrentDensity::new(times * i.si()))
                    }
                    Drive::Voltage(v) => Drive::Voltage(Potential::new(times * v.si())),
                };
            }
            out
        });
    }
    let (far, Some((first, _))) = (tolerances.position.si(), case.positions.first()) else {
        return (out, left_out);
    };
    if far > 0.0 {
        let mut done = vec![false; first.bodies.len()];
        for body in 0..first.bodies.len() {
            if std::mem::replace(&mut done[body], true) {
                continue;
            }
            let group: Vec<usize> =
                groups.iter().find(|g| g.contains(&body)).cloned().unwrap_or_else(|| vec![body]);
            for &b in &group {
                if let Some(done) = done.get_mut(b) {
                    *done = true;
                }
            }
            let ways = [("across", Vec2::new(1.0, 0.0)), ("up and down", Vec2::new(0.0, 1.0))];
            for (word, way) in ways {
                let name = &first.bodies[body].name;
                vary(format!("{name} {word}"), &|sign, layout| {
                    let mut out = layout.clone();
                    for &b in &group {
                        if let Some(body) = out.bodies.get_mut(b) {
                            body.outline = body.outline.moved(way * (sign * far));
                        }
                    }
                    out
                });
            }
        }
    }
    (out, left_out)
}

/// A law with all overpotentials `times` as large.
fn stiffer(law: &Law, times: f64) -> Law {
    let kinetics = match &law.kinetics {
        Kinetics::None => Kinetics::None,
        Kinetics::Linear { resistance } => {
            Kinetics::Linear { resistance: AreaResistance::new(times * resistance.si()) }
        }
        Kinetics::Tafel { exchange, slope } => {
            Kinetics::Tafel { exchange: *exchange, slope: Potential::new(times * slope.si()) }
        }
        Kinetics::ButlerVolmer { exchange, alpha_anodic, alpha_cathodic } => {
            Kinetics::ButlerVolmer {
                exchange: *exchange,
                alpha_anodic: alpha_anodic / times,
                alpha_cathodic: alpha_cathodic / times,
            }
        }
        Kinetics::Table { points } => Kinetics::Table {
            points: points.iter().map(|(v, i)| (Potential::new(times * v.si()), *i)).collect(),
        },
    };
    Law { kinetics, ..law.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Supply;
    use crate::quantity::Time;
    use crate::sample::{KAPPA, PLATES_APART, linear, plates};
    use crate::sensitivity::sensitivity;
    use crate::solve::SolveSettings;
    use crate::{Efficiency, Metal, RunLength};

    /// Between plates at a held density everything follows from formulas: thickness moves with the
    /// current alone, in proportion; volts with `i d / κ` and with the resistances of both laws.
    #[test]
    fn between_plates_every_tolerance_moves_what_the_formula_says() {
        let density = 300.0;
        let mut layout = plates(linear(2e-3), linear(1e-3));
        layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(density)))];
        let nickel = Metal::named("Ni").expect("known").clone();
        let efficiency = Efficiency::constant(0.9).expect("a share");
        let case = Case {
            positions: vec![(layout, 1.0)],
            plating: Some((nickel, efficiency, Some(RunLength::Time(Time::new(1000.0))))),
            want: None,
        };
        let held = Tolerances { position: Length::mm(0.0), ..Tolerances::default() };
        let (ends, left_out) = variations(&case, &held, &[]);
        assert_eq!((ends.len(), left_out.len()), (3, 0));
        let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
        let found = sensitivity(&case, &ends, &settings, None).expect("solves");
        let [kappa, law, current] = &found.leanings[..] else { panic!("three") };
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} {b}");
        let volts =
            |end: Option<crate::Figures>| end.expect("solved").voltage_v - found.base.voltage_v;
        let drop = density * PLATES_APART / KAPPA;
        close(volts(kappa.low), drop / 0.9 - drop);
        close(volts(kappa.high), drop / 1.1 - drop);
        close(volts(law.high), 0.2 * density * 3e-3);
        let least = |end: Option<crate::Figures>| end.expect("solved").least_m.expect("plated");
        let base = found.base.least_m.expect("plated");
        close(least(current.high) / base, 1.03);
        close(least(law.low) / base, 1.0);
        // plates that are walls cannot move along them without leaving the tank's other walls bare:
        // such moves are told, never solved wrongly
        let (all, out) = variations(&case, &Tolerances::default(), &[]);
        assert_eq!(all.len() + out.len(), 3 + 4);
    }
}
