use super::*;
use crate::layout::Supply;
use crate::quantity::{Current, CurrentDensity, Length, Potential, Resistance};
use crate::sample::{body, ideal, layout, rect, tafel};

/// 0 part, 1 anode, 2 shield, 3 thief, 4 and 5 floating; 0.25 m deep.
fn crowd() -> Layout {
    let roles = [
        Role::Part,
        Role::Anode,
        Role::Shield,
        Role::Thief { offset: Potential::new(-0.3) },
        Role::Floating,
        Role::Floating,
    ];
    let at = |k: usize| 0.02 + 0.03 * k as f64;
    let block = |(k, &role): (usize, &Role)| {
        let mut law = ideal();
        law.rest = Potential::new(0.01 * k as f64);
        body("block", role, rect(at(k), 0.03, at(k) + 0.01, 0.05), law)
    };
    let mut l = layout(roles.iter().enumerate().map(block).collect());
    l.depth = Length::new(0.25);
    l
}

/// One bath that touches all live bodies.
fn circuit(layout: &Layout, live: &[bool]) -> Circuit {
    let pool = (0..live.len()).filter(|&b| live[b] && layout.bodies[b].role.is_metal()).collect();
    Circuit::new(layout, live, &[pool]).unwrap()
}

fn volts(v: f64) -> Drive {
    Drive::Voltage(Potential::new(v))
}

fn amps(a: f64) -> Drive {
    Drive::Current(Current::new(a))
}

fn supply(drive: Drive, anodes: &[usize], cathodes: &[usize]) -> Supply {
    Supply { anodes: anodes.to_vec(), cathodes: cathodes.to_vec(), ..Supply::all(drive) }
}

#[test]
fn a_voltage_fixes_both_buses_and_leaves_floating_metal_free() {
    let mut l = crowd();
    l.supplies = vec![Supply::all(volts(2.5))];
    let c = circuit(&l, &[true; 6]);
    assert_eq!(c.injected, [0.0, 0.0]);
    assert_eq!(c.lines[0].source, Source::Stiff);
    let free = [7.0, 8.0];
    let volts: Vec<Option<f64>> = (0..6).map(|b| c.potential(b, &free)).collect();
    assert_eq!(volts, [Some(0.0), Some(2.5), None, Some(-0.3), Some(7.0), Some(8.0)]);
    assert_eq!(c.electrodes[3].as_ref().map(|e| e.rest), Some(0.03));
}

#[test]
fn a_current_leaves_the_anode_bus_free_and_counts_per_depth() {
    let mut l = crowd();
    l.supplies = vec![Supply::all(amps(3.0))];
    let mut c = circuit(&l, &[true; 6]);
    assert_eq!(c.injected, [12.0, 0.0, 0.0]);
    assert_eq!(c.potential(1, &[4.0, 7.0, 8.0]), Some(4.0));
    assert_eq!(c.potential(5, &[4.0, 7.0, 8.0]), Some(8.0));
    c.deliver(0, 5.0);
    assert_eq!((c.injected[0], c.delivered(0)), (5.0, 5.0));
}

#[test]
fn metal_that_no_current_reaches_has_no_unknown() {
    let mut l = crowd();
    l.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(100.0)))];
    let c = circuit(&l, &[true, true, false, false, false, true]);
    assert_eq!(c.injected.len(), 2);
    assert!(c.electrodes[3].is_none() && c.electrodes[4].is_none());
    assert_eq!(c.potential(5, &[1.0, 2.0]), Some(2.0));
}

#[test]
fn an_impossible_law_is_refused() {
    let mut l = crowd();
    l.bodies[0].law = tafel(-1.0, 0.1);
    assert!(Circuit::new(&l, &[true; 6], &[]).is_err());
}

#[test]
fn leads_and_contacts_are_springs_of_their_conductance_per_depth() {
    let mut l = crowd();
    l.supplies = vec![Supply { lead: Resistance::new(0.5), ..Supply::all(volts(2.0)) }];
    l.bodies[3].contact = Resistance::new(0.1);
    let c = circuit(&l, &[true, true, false, true, false, false]);
    // 1/(R × 0.25 m)
    let strengths: Vec<f64> = c.springs.iter().map(|s| s.conductance).collect();
    let mut sorted = strengths.clone();
    sorted.sort_by(f64::total_cmp);
    assert_eq!(sorted, [8.0, 40.0]);
    assert!(c.roots.is_empty() && c.injected == [0.0, 0.0]);
    // a lead drop of 0.4 V leaves 1.6 V between the buses and drives 8 × 0.4 A/m
    let mut free = [0.0; 2];
    free[strengths.iter().position(|&g| g == 8.0).unwrap()] = -0.4;
    assert_eq!(c.lines[0].volts(&free), 1.6);
    assert_eq!(c.lines[0].current(&free), Some(3.2));
    assert_eq!(c.potential(3, &free), Some(-0.3));
}

#[test]
fn a_circuit_of_its_own_has_one_potential_more() {
    let mut l = crowd();
    l.bodies[4].role = Role::Anode;
    l.supplies = vec![supply(amps(1.0), &[1], &[0]), supply(volts(2.0), &[4], &[3])];
    l.bodies[3].role = Role::Thief { offset: Potential::new(0.0) };
    let c = circuit(&l, &[true, true, false, true, true, false]);
    // cathode bus of the second supply and anode bus of the first
    assert_eq!((c.roots.len(), c.injected.len(), c.springs.len()), (2, 2, 0));
    assert_eq!(c.injected.iter().sum::<f64>(), 4.0);
    let free = [0.5, 5.0];
    assert_eq!(c.potential(4, &free).unwrap() - c.potential(3, &free).unwrap(), 2.0);
    assert_eq!(c.open, None);
}

#[test]
fn pools_apart_have_a_reference_each_and_a_current_needs_a_way_back() {
    let mut l = crowd();
    l.bodies[4].role = Role::Anode;
    l.bodies[3].role = Role::Part;
    let live = [true, true, false, true, true, false];
    l.supplies = vec![supply(amps(1.0), &[1], &[0]), supply(amps(2.0), &[4], &[3])];
    let own = Circuit::new(&l, &live, &[vec![0, 1], vec![3, 4]]).unwrap();
    assert_eq!((own.injected.len(), own.open), (2, None));
    let crossed = Circuit::new(&l, &live, &[vec![0, 4], vec![1, 3]]).unwrap();
    assert_eq!(crossed.open, Some(0));
}

#[test]
fn two_supplies_behind_leads_in_parallel_close_a_loop() {
    let mut l = crowd();
    let leads = |v: f64, ohm: f64| Supply { lead: Resistance::new(ohm), ..Supply::all(volts(v)) };
    l.supplies = vec![leads(2.0, 0.5), leads(1.5, 0.25)];
    let c = circuit(&l, &[true, true, false, true, false, false]);
    assert_eq!((c.injected.len(), c.springs.len()), (1, 2));
    // 1.2 V between the buses: 0.8 V over 0.5 Ω, 0.3 V over 0.25 Ω, per 0.25 m
    let free = [-0.8];
    assert!((c.lines[0].current(&free).unwrap() - 0.8 * 8.0).abs() < 1e-12);
    assert!((c.lines[1].current(&free).unwrap() - 0.3 * 16.0).abs() < 1e-12);
}
