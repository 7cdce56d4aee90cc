//! Layouts made to break a solver: extreme ratios, contacts, coincidences, crowds.
//!
//! Every answer must satisfy what all answers satisfy ([`truth::faults`]); some are also checked
//! against a number known from elsewhere.
use std::time::Instant;

use checks::cases::build::{body, layout, linear, none, rect, tafel};
use checks::truth;
use shapes::{Outline, Point};
use solver::quantity::*;
use solver::{
    Body, Drive, Layout, Role, Solution, SolveError, SolveSettings, Supply, preflight, solve,
};

const PART: Role = Role::Part;
const ANODE: Role = Role::Anode;

fn disc(x: f64, y: f64, r: f64) -> Outline {
    Outline::disc(Point::new(x, y), r).expect("a disc")
}

fn volts(v: f64) -> Drive {
    Drive::Voltage(Potential::new(v))
}

/// Solves at 2 %, within `seconds`, and holds the answer against what every answer satisfies.
fn solved(what: &str, layout: &Layout, seconds: f64) -> Solution {
    layout.check().unwrap_or_else(|f| panic!("{what}: {f:?}"));
    let start = Instant::now();
    let settings =
        SolveSettings { accuracy: 0.02, max_unknowns: 400_000, ..SolveSettings::default() };
    let s = solve(layout, &settings, &mut |_| {}).unwrap_or_else(|e| panic!("{what}: {e}"));
    let took = start.elapsed().as_secs_f64();
    println!("{what}: {took:.2} s, {} unknowns, {} grids", s.stats.unknowns, s.stats.grids);
    let faults = truth::faults(layout, &s);
    assert!(faults.is_empty(), "{what}: {}", faults.join("\n"));
    assert!(took < seconds, "{what} took {took:.1} s");
    s
}

/// Part and anode in a 2 m tank, with something between.
fn large_tank(between: Vec<Body>) -> Layout {
    let mut bodies = vec![
        body("part", PART, rect(0.3, 0.4, 0.35, 0.6), linear(1e-3)),
        body("anode", ANODE, rect(1.7, 0.3, 1.75, 0.7), linear(1e-4)),
    ];
    bodies.extend(between);
    layout(rect(0.0, 0.0, 2.0, 1.0), 20.0, bodies, volts(2.0))
}

#[test]
fn a_tenth_millimetre_sheet_in_a_two_metre_tank() {
    for role in [Role::Shield, Role::Floating] {
        let sheet = body("sheet", role, rect(1.0, 0.1, 1.0001, 0.8), linear(1e-3));
        solved("sheet", &large_tank(vec![sheet]), 10.0);
    }
    let mut bodies = large_tank(vec![]);
    bodies.bodies[0].outline = rect(0.3, 0.4, 0.3001, 0.6);
    solved("sheet part", &bodies, 10.0);
}

/// A part 0.2 mm before a plate of another part; the slit between carries next to nothing.
#[test]
fn plates_with_a_gap_of_a_fifth_of_a_millimetre() {
    let mut l = large_tank(vec![]);
    l.bodies.push(body("second", PART, rect(0.3502, 0.4, 0.37, 0.6), tafel(1.0, 0.1)));
    let s = solved("gap", &l, 10.0);
    let slit = s.bodies[0].stretches.iter().filter(|r| r.normal[0] > 0.9);
    let deep = slit.filter(|r| (r.at.y - 0.5).abs() < 0.05);
    let most = deep.map(|r| r.current_density_a_m2.abs()).fold(0.0, f64::max);
    assert!(most < 0.05 * s.bodies[0].density.mean, "{most} A/m² deep in the slit");
}

/// Anode and part 0.2 mm apart: a plate capacitor of bath, 1 V over 0.2 mm and 2·1e-3 Ω·m².
#[test]
fn an_anode_a_fifth_of_a_millimetre_before_the_part() {
    let mut l = large_tank(vec![]);
    l.bodies[1].outline = rect(0.3502, 0.4, 0.37, 0.6);
    l.bodies[1].law = linear(1e-3);
    let s = solved("near", &l, 10.0);
    let want = 2.0 / (2e-3 + 2e-4 / 20.0);
    let middle = s.bodies[0].stretches.iter().filter(|r| r.normal[0] > 0.9);
    for r in middle.filter(|r| (r.at.y - 0.5).abs() < 0.05) {
        assert!((r.current_density_a_m2 / want - 1.0).abs() < 1e-3, "{r:?}, expected {want}");
    }
}

/// A slit through a shield, from a hundredth of a millimetre to a centimetre: current rises with it.
#[test]
fn a_slit_through_a_shield() {
    let mut last = 0.0;
    for slit in [1e-5, 1e-4, 1e-3, 3e-3, 1e-2] {
        let below = body("below", Role::Shield, rect(1.0, 0.0, 1.02, 0.5), none());
        let above = body("above", Role::Shield, rect(1.0, 0.5 + slit, 1.02, 1.0), none());
        let s = solved(&format!("slit {slit}"), &large_tank(vec![below, above]), 15.0);
        assert!(s.supplies[0].current_a > last, "{} A through {slit} m", s.supplies[0].current_a);
        last = s.supplies[0].current_a;
    }
}

#[test]
fn a_body_inside_a_ring() {
    let ring = |role| {
        let o = Outline::ring(Point::new(0.3, 0.5), 0.2, 0.17).expect("a ring");
        body("ring", role, o, linear(1e-3))
    };
    let mut l = large_tank(vec![ring(Role::Shield)]);
    l.bodies[0].outline = disc(0.3, 0.5, 0.05);
    let refused = solve(&l, &SolveSettings::default(), &mut |_| {});
    assert_eq!(refused.err(), Some(SolveError::NoPath { part: "part".into() }));
    // a floating ring passes the current on
    l.bodies[2] = ring(Role::Floating);
    let s = solved("ring", &l, 10.0);
    assert!(s.bodies[0].current_a > 1.0);
}

/// A circle drawn with twenty thousand points carries what the circle carries.
#[test]
fn an_outline_of_twenty_thousand_points() {
    let points: Vec<Point> = (0..20_000)
        .map(|k| {
            let angle = std::f64::consts::TAU * f64::from(k) / 20_000.0;
            Point::new(0.3 + 0.1 * angle.cos(), 0.5 + 0.1 * angle.sin())
        })
        .collect();
    let mut l = large_tank(vec![]);
    l.bodies[0].outline = disc(0.3, 0.5, 0.1);
    let smooth = solved("disc", &l, 5.0);
    l.bodies[0].outline = Outline::polygon(&points, 0.0).expect("a polygon");
    let drawn = solved("20000 points", &l, 20.0);
    let (a, b) = (&smooth.supplies[0], &drawn.supplies[0]);
    let slack = a.current_uncertainty_a + b.current_uncertainty_a;
    assert!((a.current_a - b.current_a).abs() <= slack, "{a:?} {b:?}");
}

#[test]
fn electrodes_that_touch() {
    let mut l = large_tank(vec![]);
    l.bodies[1].outline = rect(0.35, 0.45, 0.4, 0.7);
    solved("anode against part", &l, 10.0);
    l.bodies[1].outline = disc(0.45, 0.5, 0.1);
    solved("disc against part", &l, 10.0);
    l.bodies[1] = body("anode", ANODE, rect(1.7, 0.3, 1.75, 0.7), linear(1e-4));
    l.bodies.push(body("second", PART, rect(0.3, 0.6, 0.35, 0.65), none()));
    l.bodies.push(body("shield", Role::Shield, rect(0.25, 0.4, 0.3, 0.6), none()));
    solved("part and shield against part", &l, 10.0);
}

#[test]
fn a_tafel_slope_of_fifteen_millivolts() {
    let mut l = large_tank(vec![]);
    for b in &mut l.bodies {
        b.law = tafel(1e-3, 0.015);
    }
    solved("15 mV", &l, 10.0);
}

/// 0.1 % below what the limiting current density lets through there is an answer, above it a
/// refusal with both currents.
#[test]
fn demand_near_the_limiting_current() {
    let mut l = large_tank(vec![]);
    l.bodies[0].law = tafel(1.0, 0.12);
    l.bodies[0].law.limiting = Some(CurrentDensity::new(300.0));
    let possible = 300.0 * 0.5;
    l.supplies = vec![Supply::all(Drive::Current(Current::new(possible / 1.001)))];
    let s = solved("0.1 % to spare", &l, 10.0);
    assert!((s.bodies[0].current_a - possible / 1.001).abs() < 1e-6 * possible);
    l.supplies = vec![Supply::all(Drive::Current(Current::new(possible * 1.001)))];
    match solve(&l, &SolveSettings::default(), &mut |_| {}) {
        Err(SolveError::BeyondLimit { wanted_a, possible_a, side: "cathodes", .. }) => {
            assert!((wanted_a - possible * 1.001).abs() < 1e-9 * possible);
            assert!((possible_a - possible).abs() < 1e-6 * possible);
        }
        other => panic!("{:?}", other.map(|s| s.supplies)),
    }
}

/// Polarization from a millionth to a million times the bath's: with much of it the density is
/// uniform, with little it is the primary one.
#[test]
fn wagner_numbers_over_twelve_decades() {
    let at = |wagner: f64| {
        let mut l = large_tank(vec![]);
        l.bodies[0].law = linear(wagner * 0.1 / 20.0);
        l.bodies[1].law = none();
        l.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(200.0)))];
        solved(&format!("Wa {wagner:e}"), &l, 15.0)
    };
    for decade in (-6..=6).step_by(2) {
        let s = at(10f64.powi(decade));
        let want = 10f64.powi(decade);
        assert!((s.wagner.number / want - 1.0).abs() < 1e-6, "{:?}, expected {want}", s.wagner);
    }
    let uniform = at(1e6).bodies[0].density;
    assert!(uniform.max / uniform.min - 1.0 < 1e-4, "{uniform:?}");
}

#[test]
fn shapes_that_graze_each_other() {
    let mut l = large_tank(vec![]);
    l.bodies[0].outline = disc(0.1, 0.5, 0.1);
    solved("disc tangent to the wall", &l, 10.0);
    l.bodies[0].outline = disc(0.1 + 1e-6, 0.5, 0.1);
    solved("disc a micrometre off the wall", &l, 10.0);
    // three degrees between shield and part, the tip a tenth of a millimetre off the part
    let wedge = Outline::polygon(
        &[Point::new(0.5, 0.6001), Point::new(0.5, 0.61), Point::new(0.35, 0.6001)],
        0.0,
    );
    let wedge = wedge.expect("a wedge").turned_about(3.0, Point::new(0.35, 0.6001));
    l.bodies[0].outline = rect(0.3, 0.4, 0.5, 0.6);
    l.bodies.push(body("wedge", Role::Shield, wedge, none()));
    solved("acute wedge", &l, 10.0);
}

#[test]
fn coordinates_that_coincide() {
    // powers of two everywhere, the part's outline along the walls, the anode fills the channel
    let tank = rect(-1.0, -0.5, 1.0, 0.5);
    let make = |part: Outline, anode: Outline| {
        let bodies =
            vec![body("part", PART, part, linear(1e-3)), body("anode", ANODE, anode, linear(1e-3))];
        layout(tank.clone(), 16.0, bodies, volts(1.0))
    };
    let anode = || rect(0.75, -0.5, 1.0, 0.5);
    let s = solved("wall to wall", &make(rect(-1.0, -0.5, -0.75, 0.5), anode()), 5.0);
    // one dimension: 1 V over two electrodes and 1.5 m of bath, 1 m² wide
    let want = 1.0 / (2e-3 + 1.5 / 16.0);
    assert!(
        (s.supplies[0].current_a / want - 1.0).abs() < 1e-4,
        "{} A, not {want}",
        s.supplies[0].current_a
    );
    solved("in the corner", &make(rect(-1.0, -0.5, -0.5, 0.0), anode()), 5.0);
    solved("corner on the wall", &make(rect(-0.5, 0.0, 0.0, 0.5), anode()), 5.0);
    let diamond = Outline::polygon(
        &[
            Point::new(-1.0, 0.0),
            Point::new(-0.75, -0.25),
            Point::new(-0.5, 0.0),
            Point::new(-0.75, 0.25),
        ],
        0.0,
    );
    solved("tip on the wall", &make(diamond.expect("a diamond"), anode()), 5.0);
    solved("through the wall", &make(rect(-2.0, -1.0, -0.75, 1.0), anode()), 5.0);
    solved("powers of two", &make(rect(-0.5, -0.25, -0.25, 0.25), anode()), 5.0);
}

#[test]
fn tanks_of_odd_outline() {
    let corner = [(0.0, 0.0), (2.0, 0.0), (2.0, 0.5), (0.7, 0.5), (0.7, 1.0), (0.0, 1.0)];
    let points: Vec<Point> = corner.iter().map(|&(x, y)| Point::new(x, y)).collect();
    let mut l = large_tank(vec![]);
    l.tank = Outline::polygon(&points, 0.0).expect("an L");
    l.bodies[1].outline = rect(1.9, 0.0, 2.0, 0.5);
    solved("L-shaped tank", &l, 10.0);
    l.tank = disc(1.0, 0.5, 0.9);
    l.bodies[1].outline = rect(1.6, 0.3, 1.65, 0.7);
    solved("round tank", &l, 10.0);
}

/// Two hundred rods between two anodes.
#[test]
fn a_rack_of_two_hundred_discs() {
    let mut bodies: Vec<Body> = (0..200)
        .map(|k| {
            let (i, j) = (f64::from(k % 20), f64::from(k / 20));
            body(
                &format!("rod {k}"),
                PART,
                disc(0.3 + 0.07 * i, 0.2 + 0.06 * j, 0.015),
                tafel(1.0, 0.12),
            )
        })
        .collect();
    bodies.push(body("left", ANODE, rect(0.05, 0.1, 0.08, 0.9), linear(1e-4)));
    bodies.push(body("right", ANODE, rect(1.92, 0.1, 1.95, 0.9), linear(1e-4)));
    let l = layout(
        rect(0.0, 0.0, 2.0, 1.0),
        20.0,
        bodies,
        Drive::MeanDensity(CurrentDensity::new(200.0)),
    );
    solved("200 discs", &l, 30.0);
}

/// Bare metals that touch at two potentials have no finite current between them.
#[test]
fn bare_electrodes_that_touch_are_a_short_circuit() {
    let mut l = large_tank(vec![]);
    l.bodies[0].law = none();
    l.bodies[1] = body("anode", ANODE, rect(0.35, 0.45, 0.4, 0.7), none());
    let settings = SolveSettings::default();
    for found in [solve(&l, &settings, &mut |_| {}).err(), preflight(&l, &settings).err()] {
        match found {
            Some(SolveError::ShortCircuit { bodies, at }) => {
                assert_eq!(bodies, ["part", "anode"]);
                assert!((at.x - 0.35).abs() < 1e-6 && (0.44..0.61).contains(&at.y), "{at:?}");
            }
            other => panic!("{other:?}"),
        }
    }
    // the least limit on one of them bounds it
    l.bodies[0].law.limiting = Some(CurrentDensity::new(500.0));
    solved("bare, limited", &l, 10.0);
}

/// A screen 3 µm around a sheet is no reason for a grid of hundreds of thousands.
#[test]
fn a_screen_close_around_a_sheet() {
    let bag = Role::Screen { conductivity: Conductivity::new(2.0) };
    let (gap, mut l) = (3e-6, large_tank(vec![]));
    l.bodies[1].outline = rect(1.7, 0.3, 1.705, 0.7);
    let around = rect(1.7 - gap, 0.3 - gap, 1.705 + gap, 0.7 + gap);
    l.bodies.push(body("bag", bag, around, none()));
    let s = solved("bag", &l, 10.0);
    assert!(s.stats.unknowns < 100_000, "{}", s.stats.unknowns);
    // 3 µm of bag are nothing against a metre of bath: the same current as without
    l.bodies.pop();
    let bare = solved("no bag", &l, 10.0);
    let (a, b) = (s.supplies[0].current_a, bare.supplies[0].current_a);
    assert!((a / b - 1.0).abs() < 2e-3, "{a} A with the bag, {b} A without");
}

/// A demand that only metal out of reach could take is refused, with what is possible.
#[test]
fn a_limit_in_the_only_way_of_the_current() {
    // the anode stands inside a ring whose hollow side lets 300 A/m² through
    let ring = Outline::ring(Point::new(0.6, 0.5), 0.3, 0.2).expect("a ring");
    let mut law = tafel(1.0, 0.12);
    law.limiting = Some(CurrentDensity::new(300.0));
    let inside = 300.0 * std::f64::consts::TAU * 0.2;
    let bodies = vec![
        body("ring", PART, ring, law),
        body("rod", ANODE, disc(0.6, 0.5, 0.02), linear(1e-4)),
        body(
            "far",
            Role::Thief { offset: Potential::new(0.0) },
            disc(1.6, 0.5, 0.1),
            tafel(1.0, 0.1),
        ),
    ];
    let demand = |amperes: f64| Drive::Current(Current::new(amperes));
    let mut l = layout(rect(0.0, 0.0, 2.0, 1.0), 20.0, bodies, demand(0.99 * inside));
    solved("1 % to spare", &l, 10.0);
    l.supplies = vec![Supply::all(demand(1.01 * inside))];
    match solve(&l, &SolveSettings::default(), &mut |_| {}).err() {
        Some(SolveError::BeyondLimit { wanted_a, possible_a, .. }) => {
            assert!((wanted_a / inside - 1.01).abs() < 1e-9);
            assert!((possible_a / inside - 1.0).abs() < 1e-3, "{possible_a} A, not {inside}");
        }
        other => panic!("{other:?}"),
    }
}

/// Tafel's law lets no current out of a cathode: a step too far leaves the bath where neither part nor thief
/// takes any, and rounding alone says what bath and anode together are at.
#[test]
fn a_bath_far_below_all_cathodes_on_the_way() {
    let mut part =
        body("part", PART, rect(-0.0578, -0.0487, -0.0546, -0.0467), tafel(6.67e-5, 0.033));
    part.law.limiting = Some(CurrentDensity::new(116.2));
    let idle = Role::Thief { offset: Potential::new(0.0) };
    let mut thief =
        body("thief", idle, rect(-0.0356, -0.0827, -0.0052, -0.0359), tafel(1.39e-6, 0.212));
    thief.law.rest = Potential::new(-0.248);
    let anode = body("anode", ANODE, rect(0.0048, -0.0219, 0.0398, 0.0131), tafel(0.0514, 0.198));
    let demand = Drive::Current(Current::new(0.1893));
    let tank = rect(-0.0563, -0.0768, 0.0563, 0.0768);
    let s = solved("idle bath", &layout(tank, 1.2118, vec![part, anode, thief], demand), 5.0);
    assert!((s.supplies[0].current_a / 0.1893 - 1.0).abs() < 1e-9);
}

/// A budget too small says so, with an accuracy that it then keeps.
#[test]
fn a_budget_names_the_accuracy_that_would_fit() {
    let l = large_tank(vec![]);
    let within = |accuracy: f64| {
        solve(
            &l,
            &SolveSettings { accuracy, max_unknowns: 6000, ..SolveSettings::default() },
            &mut |_| {},
        )
    };
    let Err(SolveError::TooLarge { asked, max_unknowns, reached }) = within(1e-4) else {
        panic!("0.01 % from 6000 unknowns")
    };
    assert_eq!((asked, max_unknowns), (1e-4, 6000));
    assert!(reached > asked && reached < 0.1, "{reached}");
    let s = within(1.05 * reached).expect("what would fit");
    assert!(s.stats.accuracy_met && s.stats.estimated_error <= 1.05 * reached);
}
