//! What thieves, side shields and anode length do to a flush strip, without polarization.
use solver::quantity::*;
use solver::{Body, Role};

use super::cell::{WIDTH, floor, relative, strip, strip_profile};
use super::{Row, Section, answer};
use crate::cases::build::{body, none, rect};

/// Allowed: the values are good for 1 %.
const TOLERANCE: f64 = 0.02;

/// Checks i/i_avg of the strip at the given places; rows for more bodies' share of the current.
fn rows(
    problem: &str,
    layout: &solver::Layout,
    places: &[f64],
    wanted: &[f64],
    share: Option<f64>,
) -> Vec<Row> {
    let solution = answer(layout);
    let profile = strip_profile(&solution);
    let mut out: Vec<Row> = places
        .iter()
        .zip(wanted)
        .map(|(&place, &want)| {
            let quantity = format!("i/i_avg at 2x/L = {place}");
            Row::relative(problem, quantity, want, relative(&profile, place), TOLERANCE)
        })
        .collect();
    if let Some(want) = share {
        let thieves = solution.bodies.iter().filter(|b| matches!(b.role, Role::Thief { .. }));
        let got = thieves.map(|b| b.current_a).sum::<f64>() / solution.supplies[0].current_a;
        out.push(Row::absolute(problem, "share of the current the thieves take", want, got, 0.01));
    }
    out
}

/// Thieves in the floor beside the strip: width and clearance in strip widths.
fn thieves(wide: f64, clear: f64) -> Vec<Body> {
    let role = Role::Thief { offset: Potential::new(0.0) };
    let (from, to) = (WIDTH * (0.5 + clear), WIDTH * (0.5 + clear + wide));
    vec![floor("right", role, from, to, none()), floor("left", role, -to, -from, none())]
}

/// Insulating walls at the ends of the strip, `height` in strip widths, that reach out to the sides
/// of a tank two widths wide: the strip lies at the bottom of a recess.
fn side_walls(height: f64) -> Vec<Body> {
    let (edge, side, h) = (0.5 * WIDTH, 1.1 * WIDTH, height * WIDTH);
    let wall =
        |name: &str, x0: f64, x1: f64| body(name, Role::Shield, rect(x0, -0.01, x1, h), none());
    vec![wall("right wall", edge, side), wall("left wall", -side, -edge)]
}

fn tank_of_two() -> Section {
    const PLACES: [f64; 3] = [0.08, 0.9, 0.98];
    let mut out = Vec::new();
    for (gap, wanted) in [
        (0.25, [0.82, 1.20, 2.39]),
        (0.5, [0.74, 1.32, 2.76]),
        (1.0, [0.71, 1.36, 2.87]),
        (2.0, [0.71, 1.36, 2.87]),
        (4.0, [0.71, 1.36, 2.87]),
    ] {
        let problem = format!("tank width 2, gap {gap}");
        out.extend(rows(&problem, &strip(2.0, gap, 2.0, none(), vec![]), &PLACES, &wanted, None));
    }
    for (wide, clear, wanted, share) in [
        (0.1, 0.05, [0.89, 1.11, 1.61], Some(0.34)),
        (0.2, 0.05, [0.93, 1.05, 1.46], Some(0.41)),
        (0.2, 0.2, [0.86, 1.14, 2.06], None),
    ] {
        let problem = format!("gap 1, thieves {wide} wide, {clear} clear");
        let layout = strip(2.0, 1.0, 2.0, none(), thieves(wide, clear));
        out.extend(rows(&problem, &layout, &PLACES, &wanted, share));
    }
    for (height, wanted) in [
        (0.05, [0.78, 1.49, 1.78]),
        (0.1, [0.83, 1.33, 1.40]),
        (0.2, [0.90, 1.14, 1.16]),
        (0.4, [0.97, 1.03, 1.04]),
        (0.8, [1.00, 1.00, 1.00]),
    ] {
        let problem = format!("gap 1, insulating sides {height} high from the strip's ends on");
        let layout = strip(2.0, 1.0, 2.0, none(), side_walls(height));
        out.extend(rows(&problem, &layout, &PLACES, &wanted, None));
    }
    Section {
        title: "Strip with thieves and side shields",
        source: "computed by boundary elements (±1 %)",
        note: "Lengths in strip widths; anode as wide as the tank. Insulating sides reach from the \
               strip's ends to the tank's; sheets of no thickness in their place shield less (1.88 in \
               place of 1.78 in the first row).",
        rows: out,
    }
}

fn short_anodes() -> Section {
    const PLACES: [f64; 3] = [0.0, 0.5, 0.9];
    let table = [
        (0.25, [[1.21, 1.02, 0.66], [1.02, 0.97, 0.88], [0.90, 0.90, 1.07], [0.83, 0.85, 1.19]]),
        (0.5, [[0.95, 0.88, 1.05], [0.88, 0.87, 1.12], [0.83, 0.85, 1.19], [0.78, 0.82, 1.26]]),
        (1.0, [[0.79, 0.83, 1.24], [0.79, 0.82, 1.25], [0.78, 0.82, 1.26], [0.77, 0.82, 1.27]]),
    ];
    let rows = table.into_iter().flat_map(|(gap, line)| {
        [0.6, 0.8, 1.0, 1.5].into_iter().zip(line).flat_map(move |(reach, wanted)| {
            let problem = format!("gap {gap}, anode {reach} wide");
            rows(&problem, &strip(1.5, gap, reach, none(), vec![]), &PLACES, &wanted, None)
        })
    });
    Section {
        title: "Strip with an anode shorter or longer than itself",
        source: "computed by boundary elements (±1 %)",
        note: "Lengths in strip widths; tank 1.5 wide, insulated beyond the anode.",
        rows: rows.collect(),
    }
}

/// Shields, thieves, anode length.
pub fn sections() -> Vec<Section> {
    vec![tank_of_two(), short_anodes()]
}
