use super::*;
use crate::deposit::{Efficiency, deposit};
use crate::faraday::{FARADAY_C_MOL, Metal};
use crate::layout::{Drive, Supply};
use crate::quantity::{Current, Length};
use crate::sample::{body, layout, linear, plates, rect, two_blocks};
use crate::solve::{SolveSettings, solve};

const HOUR: Time = Time::new(3600.0);

fn solved(layout: &Layout) -> Solution {
    solve(layout, &SolveSettings::default(), &mut |_| {}).expect("it solves")
}

fn nickel() -> &'static Metal {
    Metal::named("Ni").expect("nickel")
}

fn plated(solution: &Solution, share: f64) -> Deposit {
    deposit(solution, nickel(), &Efficiency::constant(share).expect("a share"), HOUR)
}

fn evidence<'a>(layout: &'a Layout, solution: &'a Solution, deposit: &'a Deposit) -> Evidence<'a> {
    Evidence {
        layout,
        solution,
        run: Some((HOUR, deposit)),
        significant: None,
        specification: Specification::default(),
        limits: BathLimits { hydrogen_share: 1.0, ..BathLimits::default() },
    }
}

/// Plates that fill the section carry the same density everywhere, so all figures are by hand.
fn between_plates(current_a: f64) -> (Layout, Solution) {
    let mut l = plates(linear(1.3e-3), linear(4.1e-3));
    l.supplies = vec![Supply::all(Drive::Current(Current::new(current_a)))];
    let s = solved(&l);
    (l, s)
}

#[test]
fn an_even_plate_has_no_metal_to_spare_when_it_gets_what_is_asked() {
    // 0.1 m² of plate, 20 A, 95 %: 200 A/m² × 0.95 × M / (n F ρ) × 3600 s
    let (l, s) = between_plates(20.0);
    let d = plated(&s, 0.95);
    let thickness = 190.0 * 58.693e-3 / (2.0 * FARADAY_C_MOL) / 8908.0 * 3600.0;
    let mut e = evidence(&l, &s, &d);
    e.specification.min_thickness = Some(Length::new(0.75 * thickness));
    let v = Verdict::new(&e);
    let [part] = v.parts.as_slice() else { panic!("one part") };
    let spread = part.significant.expect("all of it");
    assert!(
        (spread.min / thickness - 1.0).abs() < 1e-6 && (spread.max / thickness - 1.0).abs() < 1e-6
    );
    assert!((part.metal_kg / (thickness * 0.1 * 8908.0) - 1.0).abs() < 1e-9);
    let beyond = part.beyond_kg.expect("something is asked for");
    assert!((beyond / (0.25 * part.metal_kg) - 1.0).abs() < 1e-5);
    assert_eq!((part.thin_share, part.thick_share), (Some(0.0), None));
    let reach = v.reach.expect("something is asked for");
    assert!((reach.time_s.expect("a time") / (0.75 * 3600.0) - 1.0).abs() < 1e-6);
    assert!((reach.thickest_m.expect("a thickness") / (0.75 * thickness) - 1.0).abs() < 1e-6);
}

#[test]
fn shares_of_the_area_miss_what_is_asked() {
    let (l, s) = between_plates(20.0);
    let d = plated(&s, 1.0);
    let mut e = evidence(&l, &s, &d);
    let have = d.bodies[0].thickness.mean;
    e.specification = Specification {
        min_thickness: Some(Length::new(1.5 * have)),
        max_thickness: Some(Length::new(0.5 * have)),
    };
    let v = Verdict::new(&e);
    assert_eq!((v.parts[0].thin_share, v.parts[0].thick_share), (Some(1.0), Some(1.0)));
    assert_eq!(v.parts[0].beyond_kg, Some(0.0));
}

#[test]
fn only_significant_stretches_are_judged() {
    let l = two_blocks();
    let s = solved(&l);
    let d = plated(&s, 1.0);
    let mut e = evidence(&l, &s, &d);
    // the side that faces the anode
    let facing: Vec<bool> = s.bodies[0].stretches.iter().map(|s| s.normal[0] > 0.9).collect();
    let marks = vec![facing, Vec::new()];
    e.specification.min_thickness = Some(Length::um(1.0));
    let whole = Verdict::new(&e);
    e.significant = Some(&marks);
    let front = Verdict::new(&e);
    let least = |v: &Verdict| v.parts[0].significant.expect("some").min;
    assert!(least(&front) > least(&whole));
    assert_eq!(front.parts[0].everywhere, whole.parts[0].everywhere);
    // the front is 44 mm high
    assert!((front.parts[0].significant_area_m2 - 0.044).abs() < 1e-6);
    let time = |v: &Verdict| v.reach.and_then(|r| r.time_s).expect("a time");
    assert!(time(&front) < time(&whole));
    let nothing = vec![vec![false; s.bodies[0].stretches.len()], Vec::new()];
    e.significant = Some(&nothing);
    let none = Verdict::new(&e);
    assert_eq!((none.parts[0].significant, none.reach), (None, None));
}

#[test]
fn anodes_share_wear_by_current() {
    let (mut l, _) = between_plates(20.0);
    l.bodies[1].outline = rect(0.162, 0.06, 0.21, 0.11);
    l.bodies.push(body("low slab", Role::Anode, rect(0.162, -0.01, 0.21, 0.03), linear(4.1e-3)));
    let s = solved(&l);
    let d = plated(&s, 1.0);
    let mut e = evidence(&l, &s, &d);
    let kg_c = nickel().mass_per_charge_kg_c();
    e.limits.anode_kg_c = Some(kg_c);
    e.limits.anode_max = Some(CurrentDensity::new(400.0));
    e.limits.area_ratio = Some([1.0, 2.0]);
    let v = Verdict::new(&e);
    let [upper, lower] = v.anodes.as_slice() else { panic!("two anodes") };
    assert!((upper.share + lower.share - 1.0).abs() < 1e-12);
    assert!((upper.current_a + lower.current_a - 20.0).abs() < 1e-9);
    let worn = upper.dissolved_kg.unwrap_or(0.0) + lower.dissolved_kg.unwrap_or(0.0);
    assert!((worn / (20.0 * 3600.0 * kg_c) - 1.0).abs() < 1e-9);
    assert!((upper.mean_a_m2 / 400.0 - upper.of_limit.expect("known")).abs() < 1e-12);
    assert!(upper.max_a_m2 >= upper.mean_a_m2);
    let ratio = v.area_ratio.expect("there is a cathode");
    let anodes: f64 = v.anodes.iter().map(|a| a.area_m2).sum();
    assert!((ratio.ratio - anodes / s.bodies[0].area_m2).abs() < 1e-12);
}

#[test]
fn lost_current_makes_hydrogen_by_faraday() {
    // 20 A for an hour at 15 %: 17 A h; 0.418 L of hydrogen for each A h at 0 °C, 1 atm (common
    // electrochemical equivalent: 22.414 L/mol over 2 F)
    let (l, s) = between_plates(20.0);
    let d = plated(&s, 0.15);
    let gas = Verdict::new(&evidence(&l, &s, &d)).hydrogen.expect("a run");
    assert!((gas.volume_m3 - 17.0 * 0.418e-3).abs() < 17.0 * 0.5e-6, "{} m3", gas.volume_m3);
    assert!((gas.charge_c - 17.0 * 3600.0).abs() < 1e-3);
    assert!((gas.volume_m3_h - gas.volume_m3).abs() < 1e-12);
}

#[test]
fn all_power_but_that_of_chemistry_warms_the_bath() {
    let (mut l, s) = between_plates(20.0);
    let d = plated(&s, 1.0);
    let heat = Verdict::new(&evidence(&l, &s, &d)).heat;
    // nothing rests: heat = volts × amperes
    let supply = &s.supplies[0];
    assert!((heat.power_w / (supply.voltage_v * supply.current_a) - 1.0).abs() < 1e-9);
    // 0.131 m × 0.1 m × 1 m of bath between the plates
    assert!((heat.volume_m3 - 0.0131).abs() < 1e-7, "{} m3", heat.volume_m3);
    let warming = heat.power_w * 3600.0 / (0.0131 * 4.15e6);
    assert!((heat.warming_k_h / warming - 1.0).abs() < 1e-4);
    // an anode that needs 1.5 V for its chemistry adds no heat
    l.bodies[1].law.rest = crate::quantity::Potential::new(1.5);
    let s = solved(&l);
    let other = Verdict::new(&evidence(&l, &s, &d)).heat;
    assert!((other.power_w / heat.power_w - 1.0).abs() < 1e-9);
    assert!((s.supplies[0].voltage_v - supply.voltage_v - 1.5).abs() < 1e-9);
}

#[test]
fn the_trade_rule_gives_a_square_inch_of_copper_for_a_thousand_amperes() {
    let [copper, .., stainless] = CONDUCTORS;
    assert!((copper.section_m2(1000.0) - 645.16e-6).abs() < 1e-12);
    assert!((stainless.carries_a(645.16e-6) - 23.0).abs() < 1e-9);
    assert!((copper.carries_a(copper.section_m2(70.0)) - 70.0).abs() < 1e-9);
}

#[test]
fn an_empty_tank_has_nothing_to_say() {
    let l = layout(vec![]);
    let s = Solution { bodies: Vec::new(), ..between_plates(1.0).1 };
    let d = Deposit { bodies: Vec::new() };
    let v = Verdict::new(&evidence(&l, &s, &d));
    assert!(v.parts.is_empty() && v.reach.is_none() && v.area_ratio.is_none());
}
