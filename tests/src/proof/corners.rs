//! How density grows or falls towards a corner: the exponent, fitted over more than a decade.
use shapes::{Outline, Point};
use solver::quantity::*;
use solver::{Drive, Role};

use super::cell::{KAPPA, polygon};
use super::{Row, Section, answer_at};
use crate::cases::build::{body, layout, none, rect};
use crate::closed_form::corners::{electrode_corner_exponent, junction_exponent};
use crate::profile::Profile;

/// Small densities near an inside corner count as much as large ones here.
const ASKED: f64 = 0.001;
/// Allowed error of an exponent: what the next term of the field adds within the range of the fit.
const TOLERANCE: f64 = 0.02;

/// Square bar of 80 mm along the axis of a tube anode: 270° of bath at its corners.
fn outside_corner() -> f64 {
    let (half, at) = (0.04, Point::new(0.2013, 0.1987));
    let bar = rect(at.x - half, at.y - half, at.x + half, at.y + half);
    let tank = Outline::disc(at, 0.19).expect("a tank");
    let ring = Outline::ring(at, 0.2, 0.18).expect("a ring");
    let bodies =
        vec![body("bar", Role::Part, bar, none()), body("tube", Role::Anode, ring, none())];
    let cell = layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(1.0)));
    let solution = answer_at(&cell, ASKED);
    let top = at.y + half;
    let profile = Profile::new(&solution.bodies[0], |p| (p.y - top).abs() < 1e-6, |p| p.x);
    profile.exponent(at.x + half, 3e-4, 4e-3)
}

/// Sheet of 20 µm and 300 mm in the middle of a tube anode: 360° of bath at its edge.
fn sheet_edge() -> f64 {
    let (half, thin, at) = (0.15, 1e-5, Point::new(0.5013, 0.4987));
    let sheet = rect(at.x - half, at.y - thin, at.x + half, at.y + thin);
    let tank = Outline::disc(at, 0.48).expect("a tank");
    let ring = Outline::ring(at, 0.5, 0.46).expect("a ring");
    let bodies =
        vec![body("sheet", Role::Part, sheet, none()), body("tube", Role::Anode, ring, none())];
    let cell = layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(1.0)));
    let solution = answer_at(&cell, ASKED);
    let top = at.y + thin;
    let on = |p: Point| (p.y - top).abs() < 1e-9 && (p.x - at.x).abs() < half - 1e-9;
    let profile = Profile::new(&solution.bodies[0], on, |p| p.x);
    profile.exponent(at.x + half, 4e-4, 6e-3)
}

/// Angle that lines two walls of a square tank of 100 mm, the other two walls an anode: 90° of bath
/// in its corner.
fn inside_corner() -> f64 {
    let side = 0.1;
    let tank = rect(0.0, 0.0, side, side);
    let angle = |sign: f64, origin: f64| {
        let p = |x: f64, y: f64| (origin + sign * x, origin + sign * y);
        polygon(&[
            p(-0.01, -0.01),
            p(side, -0.01),
            p(side, 0.0),
            p(0.0, 0.0),
            p(0.0, side),
            p(-0.01, side),
        ])
    };
    // the anode keeps 20 mm clear of the part
    let p = |x: f64, y: f64| (side - x, side - y);
    let anode = polygon(&[
        p(-0.01, -0.01),
        p(0.8 * side, -0.01),
        p(0.8 * side, 0.0),
        p(0.0, 0.0),
        p(0.0, 0.8 * side),
        p(-0.01, 0.8 * side),
    ]);
    let bodies = vec![
        body("angle", Role::Part, angle(1.0, 0.0), none()),
        body("anode", Role::Anode, anode, none()),
    ];
    let cell = layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(1.0)));
    let solution = answer_at(&cell, ASKED);
    let profile = Profile::new(&solution.bodies[0], |p| p.y.abs() < 1e-9 && p.x > 0.0, |p| p.x);
    profile.exponent(0.0, 1.5e-3, 1.8e-2)
}

/// Strip flush with a wall: 180° between electrode and insulator.
fn flush_edge() -> f64 {
    let solution = answer_at(&super::cell::strip(24.0, 12.0, 24.0, none(), vec![]), ASKED);
    let half = 0.5 * super::cell::WIDTH;
    super::cell::strip_profile(&solution).exponent(half, 3e-4, 4e-3)
}

/// C11.
pub fn sections() -> Vec<Section> {
    let degrees = |d: f64| d.to_radians();
    let row = |problem: &str, range: &str, want: f64, got: f64| {
        let quantity = format!("exponent of i over distance, {range}");
        Row::absolute(format!("C11: {problem}"), quantity, want, got, TOLERANCE)
    };
    let rows = vec![
        row(
            "square bar in a tube, outside corner (270° of bath)",
            "0.3 to 4 mm",
            electrode_corner_exponent(degrees(270.0)),
            outside_corner(),
        ),
        row(
            "thin sheet in a tube, edge (360° of bath)",
            "0.4 to 6 mm",
            electrode_corner_exponent(degrees(360.0)),
            sheet_edge(),
        ),
        row(
            "angle, inside corner (90° of bath)",
            "1.5 to 18 mm",
            electrode_corner_exponent(degrees(90.0)),
            inside_corner(),
        ),
        row(
            "strip flush with an insulator (180° of bath)",
            "0.3 to 4 mm",
            junction_exponent(degrees(180.0)),
            flush_edge(),
        ),
    ];
    vec![Section {
        title: "Corners without polarization",
        source: "i ∝ s^(π/β − 1) between metal faces, s^(π/2β − 1) between metal and insulator: exact \
                 as s → 0",
        note: "Slopes of straight lines through ln i over ln s.",
        rows,
    }]
}
