//! Bodies of revolution whose answers are closed forms: x is the radius, y runs along the axis.
use std::sync::Arc;

use shapes::{Outline, Point, Vec2};
use solver::quantity::*;
use solver::{Drive, Law, Layout, Role, Stretch, Symmetry};

use super::build::{body, layout, linear, none, rect};
use crate::closed_form::disk::Disk;
use crate::closed_form::spheres::Spheres;
use crate::reference::Reference;

const KAPPA: f64 = 9.3;
const VOLTS: f64 = 1.7;
/// Height of the origin of every case along the axis, m: nothing lines up with the grid.
const AT: f64 = 0.0371;

/// Nodes and weights (sum 1) of the eight-point Gauss rule on [-1, 1].
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.181_341_891_689_181),
    (0.525_532_409_916_329, 0.156_853_322_938_943_64),
    (0.796_666_477_413_626_7, 0.111_190_517_226_687_24),
    (0.960_289_856_497_536_2, 0.050_614_268_145_188_13),
];

/// Mean of a density over the surface of revolution of a stretch; `at` gives the point at the
/// share u (−1 to 1) of the stretch.
pub(super) fn mean_around(at: impl Fn(f64) -> Point, f: impl Fn(Point) -> f64) -> f64 {
    let (mut sum, mut surface) = (0.0, 0.0);
    for (u, w) in GAUSS.into_iter().flat_map(|(u, w)| [(u, w), (-u, w)]) {
        let p = at(u);
        sum += w * p.x * f(p);
        surface += w * p.x;
    }
    sum / surface
}

pub(super) fn on_circle(s: &Stretch, centre: Point, radius: f64) -> impl Fn(f64) -> Point {
    let (middle, half) = ((s.at - centre).atan2(), 0.5 * s.length_m / radius);
    move |u| centre + Vec2::from_angle(middle + u * half) * radius
}

pub(super) fn on_line(s: &Stretch) -> impl Fn(f64) -> Point {
    let (at, along) = (s.at, Vec2::new(-s.normal[1], s.normal[0]) * (0.5 * s.length_m));
    move |u| at + along * u
}

fn axial(tank: Outline, bodies: Vec<solver::Body>) -> Layout {
    Layout {
        symmetry: Symmetry::Axial,
        ..layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(VOLTS)))
    }
}

/// Ball of radius `a` in a hollow sphere of radius `r`, both polarized: resistances in series,
/// `(1/a − 1/r) / (4 π κ)` of bath and `b / (4 π radius²)` at each surface.
pub fn concentric_spheres() -> Reference {
    let (b_ball, b_shell) = (7.1e-4, 3.3e-4);
    let cell = Spheres { a: 0.013, r: 0.05, e: 0.0 };
    let around = 2.0 * std::f64::consts::TAU;
    let ohm = (1.0 / cell.a - 1.0 / cell.r) / (around * KAPPA)
        + b_ball / (around * cell.a * cell.a)
        + b_shell / (around * cell.r * cell.r);
    let current = VOLTS / ohm;
    let density = move |p: Vec2, _: f64| current / (around * p.hypot2());
    spheres("concentric spheres".into(), cell, [linear(b_ball), linear(b_shell)], current, density)
}

/// Ball off the centre of a hollow sphere, no polarization: a ball near a wall.
pub fn eccentric_spheres(a: f64, e: f64) -> Reference {
    let cell = Spheres { a: 0.05 * a, r: 0.05, e: 0.05 * e };
    let current = VOLTS * KAPPA * cell.capacity();
    let density = move |p: Vec2, ball: f64| KAPPA * VOLTS * cell.slope(p.x, p.y, ball > 0.0);
    spheres(format!("eccentric spheres {a} {e}"), cell, [none(), none()], current, density)
}

fn spheres(
    name: String,
    cell: Spheres,
    laws: [Law; 2],
    current: f64,
    density: impl Fn(Vec2, f64) -> f64 + Send + Sync + 'static,
) -> Reference {
    let (centre, ball) = (Point::new(0.0, AT), Point::new(0.0, AT + cell.e));
    let [ball_law, shell_law] = laws;
    let bodies = vec![
        body("ball", Role::Part, Outline::disc(ball, cell.a).expect("a ball"), ball_law),
        body(
            "shell",
            Role::Anode,
            Outline::ring(centre, 1.6 * cell.r, cell.r).expect("a shell"),
            shell_law,
        ),
    ];
    let tank = rect(0.0, AT - 1.03 * cell.r, 1.05 * cell.r, AT + 1.04 * cell.r);
    Reference {
        name,
        layout: axial(tank, bodies),
        corners: vec![],
        density: Arc::new(move |k, s: &Stretch| {
            let (middle, radius, sign) =
                if k == 0 { (ball, cell.a, 1.0) } else { (centre, cell.r, -1.0) };
            if (s.at.distance(middle) / radius - 1.0).abs() > 1e-3 {
                return None;
            }
            let f = |p: Point| sign * density(p - centre, sign);
            Some(mean_around(on_circle(s, middle, radius), f))
        }),
        currents_a: vec![Some(current), Some(-current)],
        current_a: current,
        voltage_v: VOLTS,
        own_error: 0.0,
    }
}

/// Rod on the axis of a tube between insulating floor and lid, linear polarization on both:
/// `ln(r2/r1) / (2 π κ h)` and `b / (2 π r h)` in series.
pub fn rod_in_a_tube() -> Reference {
    let (r1, r2, h) = (0.0061, 0.0407, 0.0633);
    let (b_rod, b_tube) = (3.1e-4, 9.7e-4);
    let tau_h = std::f64::consts::TAU * h;
    let ohm = f64::ln(r2 / r1) / (tau_h * KAPPA) + b_rod / (tau_h * r1) + b_tube / (tau_h * r2);
    let current = VOLTS / ohm;
    let (low, high) = (AT - 0.01, AT + h + 0.01);
    let bodies = vec![
        body("tube", Role::Part, rect(r2, low, r2 + 0.02, high), linear(b_tube)),
        body("rod", Role::Anode, rect(-r1, low, r1, high), linear(b_rod)),
    ];
    Reference {
        name: "rod in a tube".into(),
        layout: axial(rect(0.0, AT, r2 + 0.01, AT + h), bodies),
        corners: vec![],
        density: Arc::new(move |k, s: &Stretch| {
            let (radius, sign) = if k == 0 { (r2, 1.0) } else { (r1, -1.0) };
            ((s.at.x - radius).abs() < 1e-9).then_some(sign * current / (tau_h * radius))
        }),
        currents_a: vec![Some(current), Some(-current)],
        current_a: current,
        voltage_v: VOLTS,
        own_error: 0.0,
    }
}

/// Radius of the disk, m.
pub const DISK_RADIUS: f64 = 0.0217;
/// Its anode's place in oblate spheroidal coordinates.
pub const DISK_XI: f64 = 1.9;

/// Disk of radius `a` flush in an insulating floor under a confocal oblate spheroid as anode; Wa
/// = κ b / a, or no polarization.
pub fn disk(wagner: Option<f64>) -> Reference {
    let (a, xi) = (DISK_RADIUS, DISK_XI);
    let b = wagner.map_or(0.0, |wa| wa * a / KAPPA);
    let cell =
        Arc::new(Disk::new(a, xi, wagner.unwrap_or(0.0), if wagner.is_some() { 90 } else { 1 }));
    let law = if wagner.is_some() { linear(b) } else { none() };
    let current = KAPPA * VOLTS * cell.conductance();
    // anode: all around the spheroid, its quarter as cubics that fit to better than 1e-9
    let (wide, high) = (a * (1.0 + xi * xi).sqrt(), a * xi);
    let place = |t: f64| Point::new(wide * t.sin(), AT + high * t.cos());
    let along = |t: f64| Vec2::new(wide * t.cos(), -high * t.sin());
    let mut data = format!("M {} {}", place(0.0).x, place(0.0).y);
    const CUBICS: usize = 48;
    let step = std::f64::consts::FRAC_PI_2 / CUBICS as f64;
    for k in 0..CUBICS {
        let (t0, t1) = (k as f64 * step, (k + 1) as f64 * step);
        let handle = 4.0 / 3.0 * (0.25 * step).tan();
        let (p, q) = (place(t0) + along(t0) * handle, place(t1) - along(t1) * handle);
        let end = place(t1);
        data += &format!(" C {} {} {} {} {} {}", p.x, p.y, q.x, q.y, end.x, end.y);
    }
    let (far, top, low) = (1.5 * wide, AT + 1.5 * high, AT - 0.01);
    data += &format!(" L {wide} {low} L {far} {low} L {far} {top} L 0 {top} Z");
    let bodies = vec![
        body("disk", Role::Part, rect(-a, AT - 0.005, a, AT), law),
        body("spheroid", Role::Anode, Outline::path(&data).expect("a spheroid"), none()),
    ];
    let name = wagner.map_or("disk".to_owned(), |wa| format!("disk Wa {wa}"));
    Reference {
        name,
        layout: axial(rect(0.0, AT, 1.2 * wide, AT + 1.2 * high), bodies),
        corners: vec![Point::new(a, AT)],
        density: Arc::new(move |k, s: &Stretch| {
            if k == 0 {
                if (s.at.y - AT).abs() > 1e-9 {
                    return None;
                }
                let (r0, r1) = (s.at.x - 0.5 * s.length_m, s.at.x + 0.5 * s.length_m);
                return Some(KAPPA * VOLTS * cell.mean_on_disk(r0.max(0.0), r1.min(a)));
            }
            let e = (s.at.x / wide).hypot((s.at.y - AT) / high);
            if (e - 1.0).abs() > 1e-3 {
                return None;
            }
            let f = |p: Point| -KAPPA * VOLTS * cell.on_spheroid((p.y - AT) / high);
            Some(mean_around(on_line(s), f))
        }),
        currents_a: vec![Some(current), Some(-current)],
        current_a: current,
        voltage_v: VOLTS,
        own_error: 0.0,
    }
}
