//! Cells that several sections share: metal flush with the walls of a box.
use shapes::{Outline, Point};
use solver::quantity::*;
use solver::{Body, Drive, Law, Layout, Role, Solution};

use crate::cases::build::{body, layout, none, rect};
use crate::profile::Profile;

/// Conductivity of all cells, S/m.
pub const KAPPA: f64 = 10.0;
/// Width of the strip, m. A row is about ratios: any size will do.
pub const WIDTH: f64 = 0.1;
/// How far metal reaches behind the wall it is flush with, m.
const BACK: f64 = 0.02;

/// Metal in the wall y = 0, from x0 to x1.
pub fn floor(name: &str, role: Role, x0: f64, x1: f64, law: Law) -> Body {
    body(name, role, rect(x0, -BACK, x1, 0.0), law)
}

/// Metal in the wall y = `gap`, from x0 to x1, without polarization.
pub fn lid(x0: f64, x1: f64, gap: f64) -> Body {
    body("lid", Role::Anode, rect(x0, gap, x1, gap + BACK), none())
}

/// A strip of [`WIDTH`] in the middle of the floor of a box, its lid an anode over `reach` (all
/// lengths in strip widths), 1 A/dm² mean on the strip; more bodies may be added.
pub fn strip(width: f64, gap: f64, reach: f64, law: Law, more: Vec<Body>) -> Layout {
    let (half, gap) = (0.5 * width * WIDTH, gap * WIDTH);
    let tank = rect(-half, 0.0, half, gap);
    let reach = 0.5 * reach * WIDTH;
    let mut bodies =
        vec![floor("strip", Role::Part, -0.5 * WIDTH, 0.5 * WIDTH, law), lid(-reach, reach, gap)];
    bodies.extend(more);
    layout(tank, KAPPA, bodies, Drive::MeanDensity(CurrentDensity::new(100.0)))
}

/// Density along the strip, x from its middle.
pub fn strip_profile(solution: &Solution) -> Profile {
    Profile::new(&solution.bodies[0], |p| p.y.abs() < 1e-6, |p| p.x)
}

/// i/i_avg at the given 2x/L of a strip, mean of both halves.
pub fn relative(profile: &Profile, place: f64) -> f64 {
    let x = 0.5 * place * WIDTH;
    0.5 * (profile.at(x) + profile.at(-x)) / profile.whole()
}

/// Outline through points in m.
///
/// # Panics
/// If it crosses itself.
pub fn polygon(points: &[(f64, f64)]) -> Outline {
    let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
    Outline::polygon(&points, 0.0).expect("a simple polygon")
}
