//! Resistor networks by hand. A block of metal across the whole channel stands between two plates:
//! two cells of bath, each a resistance in series with the linear laws at its ends, that share the
//! block.

use crate::layout::{Body, Drive, Layout, Rating, Role, Supply};
use crate::quantity::{Current, CurrentDensity, Length, Potential, Resistance};
use crate::sample::{KAPPA, body, layout, linear, rect, tafel};
use crate::solution::{Solution, SupplyState};
use crate::solve::{SolveError, SolveSettings, solve};

const DEPTH: f64 = 0.3;
const HEIGHT: f64 = 0.1;
/// Laws of anodes and block, Ω m².
const ANODE: f64 = 2.1e-3;
const BLOCK: f64 = 0.9e-3;

/// Plates at both ends, the block from 0.083 to 0.101 m.
fn two_cells(supplies: Vec<Supply>) -> Layout {
    let mut l = layout(vec![
        body("block", Role::Part, rect(0.083, -0.01, 0.101, 0.11), linear(BLOCK)),
        body("left", Role::Anode, rect(-0.01, -0.01, 0.013, 0.11), linear(ANODE)),
        body("right", Role::Anode, rect(0.171, -0.01, 0.21, 0.11), linear(ANODE)),
    ]);
    l.depth = Length::new(DEPTH);
    l.supplies = supplies;
    l
}

/// Resistance of the cell between an end plate and the block, Ω.
fn cell(gap: f64) -> f64 {
    (ANODE + gap / KAPPA + BLOCK) / (HEIGHT * DEPTH)
}

const LEFT: f64 = 0.07;
const RIGHT: f64 = 0.07;

fn supply(name: &str, drive: Drive, anodes: &[usize], cathodes: &[usize], lead: f64) -> Supply {
    Supply {
        name: name.into(),
        anodes: anodes.to_vec(),
        cathodes: cathodes.to_vec(),
        lead: Resistance::new(lead),
        ..Supply::all(drive)
    }
}

fn volts(v: f64) -> Drive {
    Drive::Voltage(Potential::new(v))
}

fn amps(a: f64) -> Drive {
    Drive::Current(Current::new(a))
}

fn answer(layout: &Layout) -> Solution {
    layout.check().unwrap_or_else(|faults| panic!("{faults:?}"));
    let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
    let found = solve(layout, &settings, &mut |_| {}).unwrap();
    assert!(found.current_balance.abs() < 1e-10, "{}", found.current_balance);
    for s in &found.supplies {
        let shares = s.anode_v + s.solution_v + s.cathode_v + s.leads_v + s.contacts_v;
        assert!((shares - s.voltage_v).abs() <= 1e-14 * s.voltage_v.abs(), "{s:?}");
        assert!((s.power_w - s.current_a * s.voltage_v).abs() <= 1e-14 * s.power_w.abs());
    }
    found
}

fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() <= 1e-6 * wanted.abs(), "{found} instead of {wanted}");
}

fn contact(body: &mut Body, ohm: f64) {
    body.contact = Resistance::new(ohm);
}

#[test]
fn two_supplies_with_a_hook_in_common_are_a_network_of_two_meshes() {
    let (lead_1, lead_2, tab_1, tab_2, hook) = (0.13, 0.04, 0.07, 0.21, 0.31);
    let (v_1, v_2) = (4.0, 3.0);
    let mut l = two_cells(vec![
        supply("one", volts(v_1), &[1], &[0], lead_1),
        supply("two", volts(v_2), &[2], &[0], lead_2),
    ]);
    contact(&mut l.bodies[0], hook);
    contact(&mut l.bodies[1], tab_1);
    contact(&mut l.bodies[2], tab_2);
    // v = (own + hook) i + hook j in both meshes
    let own_1 = cell(LEFT) + lead_1 + tab_1 + hook;
    let own_2 = cell(RIGHT) + lead_2 + tab_2 + hook;
    let det = own_1 * own_2 - hook * hook;
    let i_1 = (own_2 * v_1 - hook * v_2) / det;
    let i_2 = (own_1 * v_2 - hook * v_1) / det;
    let by_volts = answer(&l);
    l.supplies[0].drive = amps(i_1);
    l.supplies[1].drive = amps(i_2);
    let by_amps = answer(&l);
    l.supplies[0].drive = volts(v_1);
    let mixed = answer(&l);
    for found in [by_volts, by_amps, mixed] {
        let [one, two] = &found.supplies[..] else { panic!("two supplies") };
        close(one.current_a, i_1);
        close(two.current_a, i_2);
        close(one.voltage_v, v_1);
        close(two.voltage_v, v_2);
        close(two.leads_v, lead_2 * i_2);
        close(two.bath_voltage_v, v_2 - lead_2 * i_2);
        close(one.contacts_v, tab_1 * i_1 + hook * (i_1 + i_2));
        close(one.anode_v, ANODE * i_1 / (HEIGHT * DEPTH));
        close(found.bodies[0].contact_v, hook * (i_1 + i_2));
        close(found.bodies[1].contact_v, tab_1 * i_1);
        close(found.bodies[0].metal_potential_v.unwrap(), hook * (i_1 + i_2));
        close(found.bodies[0].current_a, i_1 + i_2);
        // what the supplies give is what all resistances turn into heat
        let cells = (cell(LEFT) + lead_1 + tab_1) * i_1 * i_1;
        let other = (cell(RIGHT) + lead_2 + tab_2) * i_2 * i_2;
        close(found.total_power_w(), cells + other + hook * (i_1 + i_2) * (i_1 + i_2));
    }
}

#[test]
fn anodes_share_a_current_as_their_cells_and_tabs_allow() {
    let mut l = two_cells(vec![Supply { lead: Resistance::new(0.05), ..Supply::all(amps(2.0)) }]);
    contact(&mut l.bodies[2], 0.4);
    let found = answer(&l);
    let (r_1, r_2) = (cell(LEFT), cell(RIGHT) + 0.4);
    close(-found.bodies[1].current_a, 2.0 * r_2 / (r_1 + r_2));
    close(-found.bodies[2].current_a, 2.0 * r_1 / (r_1 + r_2));
    close(found.supplies[0].voltage_v, 2.0 * (r_1 * r_2 / (r_1 + r_2) + 0.05));
}

#[test]
fn tiny_and_huge_resistances_lose_no_digits() {
    for ohm in [1e-9, 1e-6, 1e6] {
        let mut l = two_cells(vec![Supply::all(volts(2.0))]);
        contact(&mut l.bodies[2], ohm);
        l.supplies[0].lead = Resistance::new(1e-9);
        let found = answer(&l);
        let sum = 1.0 / cell(LEFT) + 1.0 / (cell(RIGHT) + ohm);
        close(found.supplies[0].current_a, 2.0 / (1.0 / sum + 1e-9));
        close(found.bodies[2].contact_v, ohm * 2.0 / (cell(RIGHT) + ohm));
        let taken: f64 = found.bodies.iter().map(|b| b.current_a).sum();
        assert!(taken.abs() < 1e-10 * found.supplies[0].current_a);
    }
}

#[test]
fn supplies_in_parallel_share_by_their_leads() {
    // both feed everything: V_k = R I + r_k I_k with I = I_1 + I_2
    let whole = 1.0 / (1.0 / cell(LEFT) + 1.0 / cell(RIGHT));
    let (r_1, r_2, v_1, v_2) = (0.2, 0.3, 3.0, 2.9);
    let det = (whole + r_1) * (whole + r_2) - whole * whole;
    let i_1 = ((whole + r_2) * v_1 - whole * v_2) / det;
    let i_2 = ((whole + r_1) * v_2 - whole * v_1) / det;
    let found = answer(&two_cells(vec![
        supply("one", volts(v_1), &[], &[], r_1),
        supply("two", volts(v_2), &[], &[], r_2),
    ]));
    close(found.supplies[0].current_a, i_1);
    close(found.supplies[1].current_a, i_2);
    // a supply by current beside one by voltage without leads: the latter gives the rest
    let found = answer(&two_cells(vec![
        supply("one", volts(v_1), &[], &[], 0.0),
        supply("two", amps(0.5), &[], &[], 0.1),
    ]));
    close(found.supplies[0].current_a, v_1 / whole - 0.5);
    close(found.supplies[1].voltage_v, v_1 + 0.05);
}

#[test]
fn a_rectifier_that_would_have_to_sink_current_is_told() {
    let hook = 0.5;
    let mut l = two_cells(vec![
        supply("strong", volts(6.0), &[1], &[0], 0.0),
        supply("weak", volts(0.1), &[2], &[0], 0.0),
    ]);
    contact(&mut l.bodies[0], hook);
    let found = answer(&l);
    assert_eq!(found.supplies[0].state, SupplyState::Delivers);
    assert_eq!(found.supplies[1].state, SupplyState::CurrentReversed);
    assert!(found.supplies[1].current_a < 0.0);
    // metals that drive a current by themselves: more is asked of the supply, then less
    let mut l = two_cells(vec![Supply::all(amps(0.1))]);
    l.bodies[0].law.rest = Potential::new(2.0);
    let found = answer(&l);
    assert_eq!(found.supplies[0].state, SupplyState::VoltageReversed);
    l.supplies = vec![Supply::all(amps(10.0))];
    assert_eq!(answer(&l).supplies[0].state, SupplyState::Delivers);
}

#[test]
fn a_rating_is_a_share() {
    let mut l = two_cells(vec![Supply::all(amps(2.0))]);
    let rated = |current, voltage| Rating {
        current: Some(Current::new(current)),
        voltage: Some(Potential::new(voltage)),
    };
    l.supplies[0].rating = rated(4.0, 100.0);
    let found = answer(&l);
    close(found.supplies[0].current_use.unwrap(), 0.5);
    close(found.supplies[0].voltage_use.unwrap(), found.supplies[0].voltage_v / 100.0);
    assert!(!found.supplies[0].is_overloaded());
    l.supplies[0].rating = rated(1.9, 100.0);
    assert!(answer(&l).supplies[0].is_overloaded());
    l.supplies[0].rating = rated(4.0, 1e-3);
    assert!(answer(&l).supplies[0].is_overloaded());
}

/// A part and a thief between two anodes in one bath, nothing in common but the bath.
fn one_bath(drives: [Drive; 2]) -> Layout {
    let thief = Role::Thief { offset: Potential::new(0.0) };
    let mut l = layout(vec![
        body("part", Role::Part, rect(0.081, 0.021, 0.103, 0.063), linear(BLOCK)),
        body("thief", thief, rect(0.112, 0.066, 0.121, 0.074), linear(BLOCK)),
        body("left", Role::Anode, rect(0.013, 0.027, 0.021, 0.077), linear(ANODE)),
        body("right", Role::Anode, rect(0.171, 0.027, 0.183, 0.077), linear(ANODE)),
    ]);
    l.depth = Length::new(DEPTH);
    let [main, own] = drives;
    l.supplies = vec![supply("main", main, &[2], &[0], 0.02), supply("own", own, &[3], &[1], 0.03)];
    l
}

#[test]
fn a_thief_on_its_own_supply_takes_the_current_of_that_supply() {
    let found = answer(&one_bath([amps(3.0), amps(0.7)]));
    for (s, (anode, cathode)) in [(2, 0), (3, 1)].into_iter().enumerate() {
        let current = found.supplies[s].current_a;
        assert!((current - [3.0, 0.7][s]).abs() < 1e-10);
        assert!((found.bodies[anode].current_a + current).abs() < 1e-9);
        assert!((found.bodies[cathode].current_a - current).abs() < 1e-9);
    }
    // held at the voltages found, the same currents flow
    let [main, own] = [0, 1].map(|s| volts(found.supplies[s].voltage_v));
    let back = answer(&one_bath([main, own]));
    assert!((back.supplies[0].current_a - 3.0).abs() < 1e-7);
    assert!((back.supplies[1].current_a - 0.7).abs() < 1e-7);
    assert_eq!(back.supplies[0].voltage_uncertainty_v, 0.0);
}

#[test]
fn what_one_supply_does_to_the_other_is_mutual() {
    // linear laws: V = R I with a symmetric matrix (Lorentz reciprocity)
    let settings = SolveSettings { accuracy: 0.2, ..SolveSettings::default() };
    let found = |a, b| solve(&one_bath([amps(a), amps(b)]), &settings, &mut |_| {}).unwrap();
    let (base, more_1, more_2) = (found(1.0, 1.0), found(2.0, 1.0), found(1.0, 2.0));
    let change = |s: &Solution, k: usize| s.supplies[k].voltage_v - base.supplies[k].voltage_v;
    let (r_12, r_21) = (change(&more_2, 0), change(&more_1, 1));
    assert!((r_12 - r_21).abs() < 1e-7 * change(&more_1, 0).abs(), "{r_12} and {r_21}");
    assert!(r_12.abs() > 1e-3 * change(&more_1, 0), "they do feel each other");
}

#[test]
fn mean_densities_of_two_supplies_are_held_at_once() {
    let thief = Role::Thief { offset: Potential::new(0.0) };
    let mut l = layout(vec![
        body("front", Role::Part, rect(0.051, 0.021, 0.063, 0.063), tafel(0.3, 0.12)),
        body("back", Role::Part, rect(0.123, 0.021, 0.141, 0.063), tafel(0.3, 0.12)),
        body("thief", thief, rect(0.082, 0.066, 0.101, 0.074), tafel(0.3, 0.12)),
        body("left", Role::Anode, rect(0.013, 0.027, 0.021, 0.077), linear(ANODE)),
        body("right", Role::Anode, rect(0.171, 0.027, 0.183, 0.077), linear(ANODE)),
    ]);
    let mean = |a| Drive::MeanDensity(CurrentDensity::new(a));
    // the thief on both makes their cathode buses one
    l.supplies = vec![
        supply("one", mean(200.0), &[3], &[0, 2], 0.0),
        supply("two", mean(320.0), &[4], &[1, 2], 0.0),
    ];
    let found = answer(&l);
    for (b, wanted) in [(0, 200.0), (1, 320.0)] {
        let mean = found.bodies[b].density.mean;
        assert!((mean / wanted - 1.0).abs() < 1e-7, "{mean} instead of {wanted}");
    }
    assert!(found.bodies[2].current_a > 0.0);
    let cathodes: f64 = found.bodies[..3].iter().map(|b| b.current_a).sum();
    assert!((found.total_current_a() / cathodes - 1.0).abs() < 1e-9);
    // one by mean density beside one by current on the same part
    l.bodies.remove(2);
    l.supplies = vec![
        supply("one", mean(250.0), &[2], &[0, 1], 0.0),
        supply("two", amps(9.0), &[3], &[1], 0.0),
    ];
    let found = answer(&l);
    close(found.supplies[1].current_a, 9.0);
    let area: f64 = found.bodies[..2].iter().map(|b| b.area_m2).sum();
    close(found.total_current_a(), 250.0 * area);
}

#[test]
fn baths_apart_are_solved_together_but_need_a_way_for_every_current() {
    let wall = body("wall", Role::Shield, rect(0.09, -0.01, 0.1, 0.11), linear(1.0));
    let mut l = layout(vec![
        body("first", Role::Part, rect(-0.01, -0.01, 0.02, 0.11), linear(BLOCK)),
        body("second", Role::Part, rect(0.18, -0.01, 0.21, 0.11), linear(BLOCK)),
        body("left", Role::Anode, rect(0.07, -0.01, 0.09, 0.11), linear(ANODE)),
        body("right", Role::Anode, rect(0.1, -0.01, 0.14, 0.11), linear(ANODE)),
        wall,
    ]);
    l.depth = Length::new(DEPTH);
    l.supplies =
        vec![supply("one", amps(2.0), &[2], &[0], 0.0), supply("two", volts(1.0), &[3], &[1], 0.0)];
    let found = answer(&l);
    close(found.supplies[0].voltage_v, 2.0 * cell(0.05));
    close(found.supplies[1].current_a, 1.0 / cell(0.04));
    l.supplies =
        vec![supply("one", amps(2.0), &[2], &[1], 0.0), supply("two", amps(2.0), &[3], &[0], 0.0)];
    let refused = solve(&l, &SolveSettings::default(), &mut |_| {});
    assert_eq!(refused.err(), Some(SolveError::NoCircuit { supply: "one".into() }));
}

#[test]
fn a_mean_density_beyond_what_the_anodes_before_the_part_let_through_is_refused() {
    // part and thief back to back across the channel, each with an anode of its own: however much
    // current the bus gives, the part gets no more than the limit of the left anode, 3 A
    let mut l = two_cells(vec![]);
    l.bodies[0].outline = rect(0.083, -0.01, 0.092, 0.11);
    let role = Role::Thief { offset: Potential::new(0.0) };
    l.bodies.push(body("thief", role, rect(0.092, -0.01, 0.101, 0.11), linear(BLOCK)));
    l.bodies[1].law.limiting = Some(CurrentDensity::new(100.0));
    let mean = |density: f64| {
        let drive = Drive::MeanDensity(CurrentDensity::new(density));
        Layout { supplies: vec![Supply::all(drive)], ..l.clone() }
    };
    close(answer(&mean(80.0)).bodies[0].current_a, 80.0 * HEIGHT * DEPTH);
    match solve(&mean(200.0), &SolveSettings::default(), &mut |_| {}) {
        Err(SolveError::BeyondLimit { supply: 0, wanted_a, possible_a, side }) => {
            close(wanted_a, 200.0 * HEIGHT * DEPTH);
            close(possible_a, 100.0 * HEIGHT * DEPTH);
            assert_eq!(side, "anodes that reach the parts");
        }
        other => panic!("{:?}", other.map(|s| s.bodies[0].current_a)),
    }
}

/// Beside a supply that sends too much one that holds the mean takes the rest back, limits or not.
#[test]
fn a_mean_is_held_by_taking_back_what_another_supply_sends_too_much() {
    let mean = Drive::MeanDensity(CurrentDensity::new(200.0));
    let both = |l: &mut Layout| {
        l.supplies =
            vec![supply("mean", mean, &[], &[], 0.0), supply("rest", amps(50.0), &[], &[], 0.0)];
    };
    let area = 2.0 * HEIGHT * DEPTH;
    for limit in [None, Some(CurrentDensity::new(300.0))] {
        let mut l = two_cells(Vec::new());
        l.bodies[0].law.limiting = limit;
        both(&mut l);
        let found = answer(&l);
        close(found.bodies[0].current_a, 200.0 * area);
        close(found.supplies[0].current_a, 200.0 * area - 50.0);
        assert_eq!(found.supplies[0].state, SupplyState::CurrentReversed);
    }
}

/// A supply by voltage whose thief lets no current out can only add to what the anodes must give.
#[test]
fn a_current_through_anodes_that_a_voltage_shares_is_bound_by_their_limit() {
    let thief = Role::Thief { offset: Potential::new(0.0) };
    let mut l = layout(vec![
        body("part", Role::Part, rect(-0.01, -0.01, 0.013, 0.11), linear(BLOCK)),
        body("anode", Role::Anode, rect(0.083, -0.01, 0.101, 0.11), linear(ANODE)),
        body("thief", thief, rect(0.171, -0.01, 0.21, 0.11), tafel(0.03, 0.2)),
    ]);
    l.depth = Length::new(DEPTH);
    l.bodies[1].law.limiting = Some(CurrentDensity::new(30.0));
    // both sides of the anode
    let possible = 2.0 * 30.0 * HEIGHT * DEPTH;
    let supplies = |current: f64| {
        vec![
            supply("volts", volts(7.0), &[], &[2], 0.0),
            supply("amps", amps(current), &[], &[0], 0.0),
        ]
    };
    l.supplies = supplies(1.1 * possible);
    match solve(&l, &SolveSettings::default(), &mut |_| {}).err() {
        Some(SolveError::BeyondLimit { supply: 1, wanted_a, possible_a, side: "anodes" }) => {
            close(wanted_a, 1.1 * possible);
            close(possible_a, possible);
        }
        other => panic!("{other:?}"),
    }
    l.supplies = supplies(0.3 * possible);
    answer(&l);
}

/// Through anodes that only dissolve nothing can be taken back.
#[test]
fn what_another_supply_sends_too_much_does_not_go_back_through_anodes_that_only_dissolve() {
    let area = 2.0 * HEIGHT * DEPTH;
    let mean = Drive::MeanDensity(CurrentDensity::new(200.0));
    let mut l = two_cells(vec![
        supply("mean", mean, &[1], &[0], 0.0),
        supply("rest", amps(50.0), &[2], &[0], 0.0),
    ]);
    l.bodies[1].law = tafel(2.0, 0.06);
    match solve(&l, &SolveSettings::default(), &mut |_| {}).err() {
        Some(SolveError::ThiefFeeds { supply: 0, wanted_a, least_a }) => {
            close(wanted_a, 200.0 * area);
            close(least_a, 50.0);
        }
        other => panic!("{other:?}"),
    }
}
