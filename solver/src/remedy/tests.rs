//! Remedies of constructed layouts.
use shapes::{Outline, Point};

use super::diagnosis::diagnose;
use super::*;
use crate::deposit::Efficiency;
use crate::faraday::Metal;
use crate::layout::{Body, Drive, Layout, Role, Supply};
use crate::plan::Answer;
use crate::sample::{body, layout, linear, polygon, rect};

fn bath(bodies: Vec<Body>) -> Case {
    let mut layout: Layout = layout(bodies);
    layout.tank = rect(0.0, 0.0, 0.4, 0.3);
    layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::a_dm2(3.0)))];
    let nickel = Metal::named("Ni").expect("known").clone();
    let efficiency = Efficiency::constant(0.95).expect("a share");
    Case {
        positions: vec![(layout, 1.0)],
        plating: Some((nickel, efficiency, Some(RunLength::Time(Time::minutes(25.0))))),
        want: None,
    }
}

fn loose() -> SolveSettings {
    SolveSettings { accuracy: 0.03, ..SolveSettings::default() }
}

fn subject(case: Case) -> Subject {
    Subject {
        case,
        most: None,
        burns_above: None,
        anode_max: None,
        groups: Vec::new(),
        step_m: 1e-3,
        baths: Vec::new(),
        settings: loose(),
    }
}

fn seen(case: &Case) -> Diagnosis {
    let solved = Answer::new(case, &loose(), None).expect("solves");
    diagnose(&case.positions[0].0, &solved)
}

fn anode(x: f64) -> Body {
    body("anode", Role::Anode, rect(x - 0.01, 0.05, x + 0.01, 0.25), linear(1e-3))
}

/// A cup of 5 mm wall, 40 mm wide and 60 mm deep inside, its mouth to the right.
fn cup() -> Body {
    let corners = [
        [0.12, 0.125],
        [0.185, 0.125],
        [0.185, 0.13],
        [0.125, 0.13],
        [0.125, 0.17],
        [0.185, 0.17],
        [0.185, 0.175],
        [0.12, 0.175],
    ];
    body("cup", Role::Part, polygon(&corners), linear(1e-3))
}

#[test]
fn the_bottom_of_a_cup_is_a_recess_of_its_depth_and_width() {
    let found = seen(&bath(vec![cup(), anode(0.36)]));
    let spot = &found.thin[0];
    let recess = spot.reasons.iter().find_map(|r| match r {
        Reason::Recess { depth_m, width_m, .. } => Some((*depth_m, *width_m)),
        _ => None,
    });
    let (depth, width) = recess.expect("a recess");
    assert!(depth > 0.04 && depth < 0.0601 && (width - 0.04).abs() < 1e-9, "{spot:?}");
    // the rim is an edge
    let hot = &found.thick[0];
    assert!(hot.reasons.iter().any(|r| matches!(r, Reason::Edge { .. })), "{hot:?}");
    assert!((hot.tip.x - 0.185).abs() < 2e-3, "{hot:?}");
}

#[test]
fn the_back_of_a_plate_is_dark_and_its_ends_are_edges() {
    let plate = body("plate", Role::Part, rect(0.2, 0.1, 0.206, 0.2), linear(1e-3));
    let found = seen(&bath(vec![plate, anode(0.05)]));
    let dark = found
        .thin
        .iter()
        .any(|s| s.at.x > 0.2059 && s.reasons.iter().any(|r| matches!(r, Reason::Dark { .. })));
    assert!(dark, "{:?}", found.thin);
    let edges =
        found.thick.iter().filter(|s| s.reasons.iter().any(|r| matches!(r, Reason::Edge { .. })));
    assert!(edges.count() >= 2, "{:?}", found.thick);
}

#[test]
fn a_board_before_a_bar_shades_it() {
    let disc = Outline::disc(Point::new(0.25, 0.15), 0.02).expect("a disc");
    let bar = body("bar", Role::Part, disc, linear(1e-3));
    let board = body("board", Role::Shield, rect(0.2, 0.1, 0.205, 0.2), linear(1e-3));
    let found = seen(&bath(vec![bar, anode(0.05), board]));
    let shaded = found.thin.iter().flat_map(|s| &s.reasons);
    let by: Vec<usize> = shaded
        .filter_map(|r| match r {
            Reason::Shaded { by, .. } => Some(*by),
            _ => None,
        })
        .collect();
    assert!(found.thin.is_empty() || by.contains(&2), "{:?}", found.thin);
}

/// A round bar between two anodes is even: nothing is needed, and nothing is tried.
#[test]
fn an_even_part_needs_nothing() {
    let disc = Outline::disc(Point::new(0.2, 0.15), 0.02).expect("a disc");
    let mut right = anode(0.35);
    right.name = "right".into();
    let case = bath(vec![body("bar", Role::Part, disc, linear(1e-3)), anode(0.05), right]);
    assert!(seen(&case).is_even());
    let found = remedies(&subject(case), &|_| ()).expect("solves");
    assert_eq!(found.outcome, Outcome::NothingNeeded);
    assert!(found.rows.is_empty() && found.assumed);
}

/// A cup is helped by an anode in it more than by anything outside; no body touches another.
#[test]
fn a_cup_wants_an_anode_inside() {
    let subject = subject(bath(vec![cup(), anode(0.36)]));
    let found = remedies(&subject, &|_| ()).expect("solves");
    let best = &found.rows[0];
    let inside = [Kind::InsideAnode, Kind::InsideOwnSupply, Kind::Conforming];
    assert!(best.kinds.iter().any(|k| inside.contains(k)), "{:?}", best.kinds);
    let (now, then) = (found.base.seconds.expect("plated"), best.standing.seconds.expect("plated"));
    assert!(then < 0.5 * now, "{then} {now}");
    for row in &found.rows {
        for (layout, _) in &row.case.positions {
            assert!(layout.check().is_ok());
        }
    }
    // farther away nothing changes about a cup: such rows are not recommended
    let distance = found.rows.iter().find(|r| r.kinds == [Kind::Distance]);
    assert!(distance.is_none_or(|r| r.standing.seconds > best.standing.seconds));
}

#[test]
fn the_same_job_gives_the_same_rows_on_any_number_of_threads() {
    let plate = body("plate", Role::Part, rect(0.2, 0.1, 0.206, 0.2), linear(1e-3));
    let subject = subject(bath(vec![plate, anode(0.05)]));
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let found = pool.install(|| remedies(&subject, &|_| ())).expect("solves");
        let row = |r: &Remedy| (r.kinds.clone(), r.edits.clone(), r.cost.to_bits());
        found.rows.iter().map(row).collect::<Vec<_>>()
    };
    let rows = with(1);
    assert_eq!(rows, with(2));
    assert!(rows[0].0.contains(&Kind::SecondAnode), "{:?}", rows[0].0);
}
