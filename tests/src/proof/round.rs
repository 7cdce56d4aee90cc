//! Bodies of revolution: boss, point over a plane, deep round hole.
use shapes::Point;
use solver::quantity::*;
use solver::{Drive, Layout, Role, Symmetry};

use super::cell::{KAPPA, polygon};
use super::{Row, Section, answer};
use crate::cases::build::{body, layout, none, rect};
use crate::cases::potentials::{BOSS, BOSS_GAP, POINT_HEIGHT, boss, point_over_plane};
use crate::profile::Profile;

/// Crown and foot of the boss against the flat far away.
fn crown() -> Vec<Row> {
    let reference = boss();
    let solution = answer(&reference.layout);
    let part = &solution.bodies[0];
    let flat = reference.layout.conductivity.si() * reference.voltage_v / BOSS_GAP;
    let plane = part.stretches.iter().map(|s| s.at.y).fold(f64::INFINITY, f64::min);
    let on_plane = Profile::of_rings(part, |p| p.y - plane < 1e-9);
    let problem = "C13: hemispherical boss of radius a on a plane, even field far away";
    let mut rows =
        vec![Row::relative(problem, "crown / flat far away", 3.0, part.density.max / flat, 0.01)];
    for (r, want) in [(1.5, 1.0 - 1.5f64.powi(-3)), (2.0, 0.875), (3.0, 26.0 / 27.0)] {
        let quantity = format!("plane at {r}a / flat far away");
        rows.push(Row::relative(
            problem,
            quantity,
            want,
            on_plane.at_radius(r * BOSS) / flat,
            0.005,
        ));
    }
    rows
}

fn point() -> Vec<Row> {
    let reference = point_over_plane();
    let solution = answer(&reference.layout);
    let plane = Profile::of_rings(&solution.bodies[0], |_| true);
    let foot = plane.at_radius(0.0);
    let problem = "C9: small anode at height D over a plane";
    let mut rows: Vec<Row> = [0.5, 1.0, 2.0]
        .into_iter()
        .map(|r: f64| {
            let want = (1.0 + r * r).powf(-1.5);
            let got = plane.at_radius(r * POINT_HEIGHT) / foot;
            Row::relative(problem, format!("i({r}D)/i(0)"), want, got, 0.005)
        })
        .collect();
    // all that leaves the anode, on a plane without end: i(0) = I / (2 π D²)
    let all = std::f64::consts::TAU * POINT_HEIGHT * POINT_HEIGHT * foot;
    let half = 3f64.sqrt() * POINT_HEIGHT;
    let within = plane.between_radii(0.0, half) * std::f64::consts::PI * half * half;
    rows.push(Row::relative(problem, "share of the current within √3 D", 0.5, within / all, 0.005));
    rows
}

/// Diameter of the hole, m.
const HOLE: f64 = 0.0137;

/// Rate of decay down the wall of a hole 2.5 diameters deep, over a decade from one diameter on.
fn decay() -> Row {
    let (a, deep) = (0.5 * HOLE, 2.5 * HOLE);
    let (wide, top) = (4.0 * a, deep + 3.0 * a);
    let block = polygon(&[
        (0.0, -0.01),
        (1.2 * wide, -0.01),
        (1.2 * wide, deep),
        (a, deep),
        (a, 0.0),
        (0.0, 0.0),
    ]);
    let bodies = vec![
        body("block", Role::Part, block, none()),
        body("lid", Role::Anode, rect(0.0, top, 1.2 * wide, top + 0.01), none()),
    ];
    let tank = rect(0.0, -0.005, wide, top + 0.005);
    let drive = Drive::Voltage(Potential::new(1.0));
    let layout = Layout { symmetry: Symmetry::Axial, ..layout(tank, KAPPA, bodies, drive) };
    let solution = answer(&layout);
    let on_wall = |p: Point| (p.x - a).abs() < 1e-9 && p.y < deep;
    let wall = Profile::new(&solution.bodies[0], on_wall, |p| deep - p.y);
    // the next root of J0, 5.5201, has died away at one diameter
    let rate = 2.0 * FIRST_ROOT_OF_J0;
    let decade = std::f64::consts::LN_10 / rate;
    let got = (wall.at(HOLE) / wall.at(HOLE * (1.0 + decade))).ln() / decade;
    let problem = "C14: deep round hole of diameter D, primary";
    Row::relative(problem, "rate of decay, 1/D", rate, got, 0.01)
}

/// Where the Bessel function J0 is zero first (Abramowitz and Stegun, table 9.5).
const FIRST_ROOT_OF_J0: f64 = 2.404_825_557_7;

/// C9, C13 and C14 around an axis.
pub fn sections() -> Vec<Section> {
    vec![Section {
        title: "Bodies of revolution",
        source: "boss: conducting sphere in an even field; point: image charge (Maxwell, Treatise I); \
                 hole: exp(−2 j y/D), j the first zero of J0, exact well below the mouth",
        note: "Boss and point stand in tanks cut out along field lines of the exact potential, so that \
               nothing has to be corrected for their size.",
        rows: crown().into_iter().chain(point()).chain([decay()]).collect(),
    }]
}
