use shapes::Vec2;

use super::*;
use crate::kinetics::{Kinetics, Law};
use crate::layout::{Supply, Symmetry};
use crate::quantity::{Conductivity, Current, CurrentDensity, Length, Potential, Temperature};

fn rect(x: f64, y: f64, w: f64, h: f64) -> Outline {
    let mm = |v: f64| v * 1e-3;
    Outline::rect(Point::new(mm(x), mm(y)), (mm(w), mm(h)), 0.0).expect("a rectangle")
}

fn body(name: &str, role: Role, outline: Outline) -> Body {
    let law = Law { kinetics: Kinetics::None, limiting: None, rest: Potential::new(0.0) };
    Body::new(name, role, outline, law)
}

const SCREEN: Role = Role::Screen { conductivity: Conductivity::new(2.0) };

/// A tank of 200 × 100 mm with a part on the left and an anode on the right.
fn layout(more: Vec<Body>) -> Layout {
    // `Outline::rect` takes its middle or its corner: only differences matter here
    let mut bodies = vec![
        body("plate", Role::Part, rect(30.0, 50.0, 4.0, 40.0)),
        body("slab", Role::Anode, rect(170.0, 50.0, 4.0, 40.0)),
    ];
    bodies.extend(more);
    Layout {
        tank: rect(100.0, 50.0, 200.0, 100.0),
        symmetry: Symmetry::Planar,
        depth: Length::new(0.1),
        conductivity: Conductivity::new(10.0),
        temperature: Temperature::celsius(55.0),
        bodies,
        supplies: vec![Supply::all(Drive::Current(Current::new(2.0)))],
    }
}

fn faults(layout: &Layout) -> Vec<LayoutFault> {
    layout.check().err().unwrap_or_default()
}

#[test]
fn a_plain_layout_passes() {
    assert_eq!(layout(vec![]).check(), Ok(()));
}

#[test]
fn bodies_may_touch_each_other_and_poke_through_the_wall() {
    let more = vec![
        body("edge", Role::Shield, rect(34.0, 50.0, 4.0, 40.0)),
        body("hook", Role::Floating, rect(60.0, 100.0, 4.0, 40.0)),
    ];
    assert_eq!(layout(more).check(), Ok(()));
}

#[test]
fn an_empty_tank_lacks_a_part_and_an_anode() {
    let mut empty = layout(vec![]);
    empty.bodies.clear();
    assert_eq!(faults(&empty), [LayoutFault::NoPart, LayoutFault::NoAnode]);
}

#[test]
fn a_part_in_an_anode_is_reported_with_place_and_area() {
    let found = faults(&layout(vec![body("pin", Role::Part, rect(169.0, 50.0, 4.0, 10.0))]));
    let [LayoutFault::Overlap { bodies, at, area_m2, .. }] = &found[..] else {
        panic!("{found:?}");
    };
    assert_eq!(*bodies, [1, 2]);
    assert!((area_m2 - 3e-3 * 10e-3).abs() < 1e-12);
    assert!((0.168..=0.171).contains(&at.x) && (0.045..=0.055).contains(&at.y));
    let text = found[0].to_string();
    assert!(
        text.starts_with("\"slab\" and \"pin\" overlap by 30 mm2, for example at (1"),
        "{text}"
    );
}

#[test]
fn a_part_wholly_inside_a_solid_overlaps_it_but_not_in_the_hole_of_a_ring() {
    let inside = body("core", Role::Part, rect(170.0, 50.0, 1.0, 1.0));
    assert!(matches!(
        faults(&layout(vec![inside]))[..],
        [LayoutFault::Overlap { bodies: [1, 2], .. }]
    ));
    let ring = Outline::ring(Point::new(0.1, 0.05), 0.02, 0.015).expect("a ring");
    let core = Outline::disc(Point::new(0.1, 0.05), 0.01).expect("a disc");
    let more = vec![body("ring", Role::Anode, ring), body("core", Role::Part, core)];
    assert_eq!(layout(more).check(), Ok(()));
}

#[test]
fn screens_lie_over_bodies_but_not_over_each_other() {
    let bag = body("bag", SCREEN, rect(170.0, 50.0, 12.0, 50.0));
    assert_eq!(layout(vec![bag.clone()]).check(), Ok(()));
    let other = body("cloth", SCREEN, rect(164.0, 50.0, 4.0, 50.0));
    assert!(matches!(
        faults(&layout(vec![bag, other]))[..],
        [LayoutFault::Overlap { bodies: [2, 3], .. }]
    ));
}

#[test]
fn bodies_beyond_the_wall_or_filling_the_tank_are_reported() {
    let beyond = body("lost", Role::Part, rect(-30.0, 50.0, 4.0, 40.0));
    assert_eq!(
        faults(&layout(vec![beyond])),
        [LayoutFault::BodyOutside { body: 2, name: "lost".into() }]
    );
    // metal that lines the wall is an electrode in it; anything else out there has no part in the bath
    let lining = body("strip", Role::Anode, rect(-2.0, 50.0, 4.0, 40.0));
    assert_eq!(faults(&layout(vec![lining])), []);
    let outside = body("lost", Role::Shield, rect(-2.0, 50.0, 4.0, 40.0));
    assert!(matches!(faults(&layout(vec![outside]))[..], [LayoutFault::BodyOutside { .. }]));
    let mut full = layout(vec![]);
    full.bodies[0].outline = rect(100.0, 50.0, 300.0, 300.0);
    assert!(faults(&full).contains(&LayoutFault::BodyFillsTank { body: 0, name: "plate".into() }));
    let haze = body("haze", SCREEN, rect(100.0, 50.0, 300.0, 300.0));
    assert_eq!(layout(vec![haze]).check(), Ok(()));
}

#[test]
fn one_name_for_two_bodies_is_reported_for_every_pair() {
    let more = vec![body("plate", Role::Shield, rect(100.0, 50.0, 4.0, 4.0))];
    let found = faults(&layout(more));
    assert_eq!(found, [LayoutFault::SameName { bodies: [0, 2], name: "plate".into() }]);
    assert_eq!(
        found[0].to_string(),
        "two bodies are called \"plate\": give each a name of its own"
    );
}

#[test]
fn numbers_that_cannot_be_are_all_reported_at_once() {
    for bad in [0.0, -3.0, f64::NAN, f64::INFINITY] {
        let mut wrong = layout(vec![]);
        wrong.depth = Length::new(bad);
        wrong.conductivity = Conductivity::new(bad);
        wrong.temperature = Temperature::new(bad);
        wrong.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(bad)))];
        wrong.bodies[0].law.limiting = Some(CurrentDensity::new(bad));
        let cloth = Role::Screen { conductivity: Conductivity::new(bad) };
        wrong.bodies.push(body("cloth", cloth, rect(100.0, 50.0, 4.0, 4.0)));
        // the law waits until there is a temperature
        assert_eq!(faults(&wrong).len(), 5, "{bad}: {:?}", faults(&wrong));
        wrong.temperature = Temperature::celsius(20.0);
        let found = faults(&wrong);
        assert!(found.iter().any(|fault| matches!(fault, LayoutFault::Law { body: 0, .. })));
    }
}

#[test]
fn a_law_that_is_not_used_is_not_judged() {
    let mut shield = body("wall", Role::Shield, rect(100.0, 50.0, 4.0, 4.0));
    shield.law.rest = Potential::new(f64::NAN);
    assert_eq!(layout(vec![shield]).check(), Ok(()));
}

#[test]
fn outlines_moved_beyond_numbers_are_reported_and_not_compared() {
    let mut wrong = layout(vec![]);
    wrong.bodies[0].outline = wrong.bodies[0].outline.moved(Vec2::new(f64::NAN, 0.0));
    let name = "plate".to_owned();
    assert_eq!(faults(&wrong), [LayoutFault::BodyNotFinite { body: 0, name }]);
    wrong.tank = wrong.tank.scaled(f64::INFINITY);
    assert!(faults(&wrong).contains(&LayoutFault::TankNotFinite));
}

#[test]
fn faults_speak_a_planners_language() {
    let text = LayoutFault::Supply { what: "current", value: -2.0 }.to_string();
    assert_eq!(
        text,
        "the current of the supply must be greater than zero, not -2: anodes give the current and parts take it, so no sign is needed"
    );
    let at = Point::new(0.0125, -0.3333333);
    let text = LayoutFault::TankCrossesItself { at }.to_string();
    assert_eq!(text, "the outline of the tank crosses itself at (12.5 mm, -333.333 mm)");
    assert_eq!(
        ["0", "1e-9", "123456.7", "2000000", "NaN"].map(|v| short(v.parse().expect("a number"))),
        ["0", "1.000e-9", "123457", "2.000e6", "NaN"]
    );
}
