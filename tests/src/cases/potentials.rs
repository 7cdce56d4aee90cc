//! Round cells cut out of an exact potential: its equipotential surfaces are the electrodes, its
//! field lines the insulating wall, so that the closed form holds in the finite tank without any
//! correction. The curves are traced by Runge-Kutta to far below any tolerance.
use std::sync::Arc;

use shapes::{Outline, Point, Vec2};
use solver::quantity::*;
use solver::{Drive, Layout, Role, Stretch, Symmetry};

use super::axial::{mean_around, on_circle, on_line};
use super::build::{body, layout, none};
use crate::reference::Reference;

const KAPPA: f64 = 9.3;
const VOLTS: f64 = 1.7;
/// Height of the plane, m: nothing lines up with the grid.
const AT: f64 = 0.0371;
/// Pieces of a traced curve, and Runge-Kutta steps in each.
const PIECES: usize = 60;
const STEPS: usize = 20;

/// Cubics (SVG path data) along a unit field from `start` over an arc length; ends at the point given.
fn trace(start: Point, length: f64, way: impl Fn(Point) -> Vec2) -> (String, Point) {
    let piece = length / PIECES as f64;
    let h = piece / STEPS as f64;
    let (mut p, mut data) = (start, String::new());
    for _ in 0..PIECES {
        let first = p + way(p) * (piece / 3.0);
        for _ in 0..STEPS {
            let k1 = way(p);
            let k2 = way(p + k1 * (0.5 * h));
            let k3 = way(p + k2 * (0.5 * h));
            let k4 = way(p + k3 * h);
            p += (k1 + 2.0 * k2 + 2.0 * k3 + k4) * (h / 6.0);
        }
        let second = p - way(p) * (piece / 3.0);
        data += &format!(" C {} {} {} {} {} {}", first.x, first.y, second.x, second.y, p.x, p.y);
    }
    (data, p)
}

fn unit(v: Vec2) -> Vec2 {
    v / v.hypot()
}

fn across(v: Vec2) -> Vec2 {
    Vec2::new(v.y, -v.x) / v.hypot()
}

fn cell(tank: Outline, part: Outline, anode: Outline) -> Layout {
    let bodies =
        vec![body("part", Role::Part, part, none()), body("anode", Role::Anode, anode, none())];
    Layout {
        symmetry: Symmetry::Axial,
        ..layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(VOLTS)))
    }
}

/// Radius of the boss, m.
pub const BOSS: f64 = 0.0113;
/// Potential level of its anode over the slope far away, m: the mean gap.
pub const BOSS_GAP: f64 = 2.7 * BOSS;

/// Hemispherical boss on a plane in a field that is even far away, φ = E z (1 − a³/ρ³): three times
/// the plane's density on the crown, 1 − a³/r³ on the plane (a conducting sphere in an even field:
/// Maxwell, *Treatise* I; Jackson, *Classical Electrodynamics*, 2.5).
pub fn boss() -> Reference {
    let (a, gap, wide) = (BOSS, BOSS_GAP, 3.1 * BOSS);
    let slope = VOLTS / gap;
    let a3 = a * a * a;
    // of the potential for a slope of one, at a point of the page
    let gradient = move |p: Point| {
        let (r, z) = (p.x, p.y - AT);
        let q = r.hypot(z);
        let dipole = a3 / q.powi(3);
        let lift = 3.0 * dipole * z / (q * q);
        Vec2::new(lift * r, 1.0 - dipole + lift * z)
    };
    // anode: z (1 − a³/z³) = gap on the axis
    let mut top = gap;
    for _ in 0..200 {
        top = gap + a3 / (top * top);
    }
    let far = 1.3 * wide;
    let start = Point::new(0.0, AT + top);
    let (data, end) = trace(start, far, |p| across(gradient(p)));
    let high = AT + 1.6 * gap;
    let anode = format!("M 0 {}{data} L {} {high} L 0 {high} Z", start.y, end.x);
    // wall: a field line
    let foot = Point::new(wide, AT);
    let (data, end) = trace(foot, 1.3 * gap, |p| unit(gradient(p)));
    let floor = AT - 0.005;
    let tank = format!("M 0 {floor} L {wide} {floor} L {wide} {AT}{data} L 0 {} Z", end.y);
    let (data, edge) = trace(Point::new(0.0, AT + a), 0.5 * std::f64::consts::PI * a, |p| {
        across(p - Point::new(0.0, AT))
    });
    let low = AT - 0.01;
    let part =
        format!("M 0 {}{data} L {} {AT} L {far} {AT} L {far} {low} L 0 {low} Z", AT + a, edge.x);
    // through the plane and the boss together: the flux function at the foot
    let current = KAPPA * slope * std::f64::consts::PI * (wide * wide + 2.0 * a3 / wide);
    let outline = |data: &str| Outline::path(data).expect("a curve");
    Reference {
        name: "hemispherical boss".into(),
        layout: cell(outline(&tank), outline(&part), outline(&anode)),
        corners: vec![Point::new(a, AT)],
        density: Arc::new(move |k, s: &Stretch| {
            let f = |p: Point| KAPPA * slope * gradient(p).hypot();
            let centre = Point::new(0.0, AT);
            match k {
                0 if (s.at.y - AT).abs() < 1e-9 => Some(mean_around(on_line(s), f)),
                0 if (s.at.distance(centre) / a - 1.0).abs() < 1e-3 => {
                    Some(mean_around(on_circle(s, centre, a), f))
                }
                0 => None,
                _ => Some(-mean_around(on_line(s), f)),
            }
        }),
        currents_a: vec![Some(current), Some(-current)],
        current_a: current,
        voltage_v: VOLTS,
        own_error: 0.0,
    }
}

/// Height of the point anode over the plane, m.
pub const POINT_HEIGHT: f64 = 0.0247;

/// Small anode over a plane, an equipotential surface round a point charge: exactly
/// [1 + (r/D)²]^(−3/2) on the plane (image charge: Maxwell, *Treatise* I, ch. XI).
pub fn point_over_plane() -> Reference {
    let d = POINT_HEIGHT;
    let (b, wide) = (0.2 * d, 3.0 * d);
    let centre = Point::new(0.0, AT + d);
    let image = Point::new(0.0, AT - d);
    let gradient = move |p: Point| {
        let (v, w) = (p - centre, p - image);
        w / w.hypot().powi(3) - v / v.hypot().powi(3)
    };
    let scale = VOLTS / (1.0 / b - 1.0 / (2.0 * d - b));
    // from the foot of the ball round its side, well past where the wall meets it, into its middle
    let (data, _) = trace(centre - Vec2::new(0.0, b), 2.8 * b, |p| across(gradient(p)));
    let anode = format!("M 0 {}{data} L 0 {} Z", centre.y - b, centre.y);
    // the field line that ends on the plane at `wide`; its length up to the ball's inside
    let foot = Point::new(wide, AT);
    let towards = |p: Point| unit(gradient(p));
    let (mut p, mut length) = (foot, 0.0);
    let step = 0.01 * b;
    while p.distance(centre) > 0.5 * b {
        p += towards(p) * step;
        length += step;
    }
    let (data, _) = trace(foot, length, towards);
    let floor = AT - 0.005;
    let tank = format!("M 0 {floor} L {wide} {floor} L {wide} {AT}{data} L 0 {} Z", centre.y);
    let (far, low) = (1.2 * wide, AT - 0.01);
    let part = format!("M 0 {AT} L {far} {AT} L {far} {low} L 0 {low} Z");
    let current = KAPPA * scale * 2.0 * std::f64::consts::TAU * (1.0 - d / d.hypot(wide));
    let outline = |data: &str| Outline::path(data).expect("a curve");
    Reference {
        name: "point anode over a plane".into(),
        layout: cell(outline(&tank), outline(&part), outline(&anode)),
        corners: vec![],
        density: Arc::new(move |k, s: &Stretch| {
            let f = |p: Point| KAPPA * scale * gradient(p).hypot();
            match k {
                0 if (s.at.y - AT).abs() < 1e-9 => Some(mean_around(on_line(s), f)),
                0 => None,
                _ => Some(-mean_around(on_line(s), f)),
            }
        }),
        currents_a: vec![Some(current), Some(-current)],
        current_a: current,
        voltage_v: VOLTS,
        own_error: 0.0,
    }
}
