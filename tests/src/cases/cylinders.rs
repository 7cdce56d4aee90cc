//! Rod anode in a tube, centred and not; the tube reaches through the wall of a round tank.
use std::sync::Arc;

use shapes::{Outline, Point, Vec2};
use solver::quantity::*;
use solver::{Drive, Law, Role, Stretch};

use super::build::{body, layout, linear, mean_on_circle, none};
use crate::closed_form::cylinders::Cylinders;
use crate::closed_form::polarized_cylinders::Polarized;
use crate::pose::Pose;
use crate::reference::Reference;

const POSE: Pose = Pose { angle: 0.611, shift: Vec2::new(0.1337, 0.1271) };
const KAPPA: f64 = 9.3;
const VOLTS: f64 = 1.7;
/// Radius of the tube's bore, m.
const BORE: f64 = 0.05;

/// Centred rod, linear polarization on both surfaces: resistances in series.
pub fn concentric() -> Reference {
    let cell = Cylinders { r1: 0.4 * BORE, r2: BORE, e: 0.0 };
    let (b_rod, b_tube) = (3.1e-4, 9.7e-4);
    let tau = std::f64::consts::TAU;
    let current =
        VOLTS / (cell.resistance(KAPPA) + b_rod / (tau * cell.r1) + b_tube / (tau * cell.r2));
    let density = move |_: f64, _: f64, r: f64| current / (tau * r);
    reference("concentric cylinders".into(), cell, linear(b_tube), linear(b_rod), current, density)
}

/// Rod of radius `r` × bore, offset `e` × bore, no polarization.
pub fn eccentric_primary(r: f64, e: f64) -> Reference {
    let cell = Cylinders { r1: r * BORE, r2: BORE, e: e * BORE };
    let density = move |x: f64, y: f64, _: f64| cell.density(x, y, VOLTS, KAPPA);
    let current = VOLTS / cell.resistance(KAPPA);
    reference(format!("eccentric cylinders {r} {e}"), cell, none(), none(), current, density)
}

/// Rod of 0.4 × bore, offset 0.3 × bore, linear polarization with `Wa = κ b / bore` on both.
pub fn eccentric_polarized(wagner: f64) -> Reference {
    let cell = Cylinders { r1: 0.4 * BORE, r2: BORE, e: 0.3 * BORE };
    let b = wagner * BORE / KAPPA;
    let solved = Polarized::new(cell, KAPPA, VOLTS, b, b, 45);
    let current = solved.current();
    let density = move |x: f64, y: f64, _: f64| solved.density(x, y);
    reference(
        format!("eccentric cylinders Wa {wagner}"),
        cell,
        linear(b),
        linear(b),
        current,
        density,
    )
}

fn reference(
    name: String,
    cell: Cylinders,
    tube: Law,
    rod: Law,
    current: f64,
    density: impl Fn(f64, f64, f64) -> f64 + Send + Sync + 'static,
) -> Reference {
    let centre = POSE.place(Point::ZERO);
    let axis = POSE.place(Point::new(cell.e, 0.0));
    let bodies = vec![
        body(
            "tube",
            Role::Part,
            Outline::ring(centre, 1.2 * cell.r2, cell.r2).expect("a tube"),
            tube,
        ),
        body("rod", Role::Anode, Outline::disc(axis, cell.r1).expect("a rod"), rod),
    ];
    let tank = Outline::disc(centre, 1.1 * cell.r2).expect("a tank");
    Reference {
        name,
        layout: layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(VOLTS))),
        corners: vec![],
        density: Arc::new(move |k, s: &Stretch| {
            let (middle, radius, sign) =
                if k == 0 { (centre, cell.r2, 1.0) } else { (axis, cell.r1, -1.0) };
            if (s.at.distance(middle) / radius - 1.0).abs() > 1e-3 {
                return None;
            }
            let at = |p: Point| {
                let q = POSE.own(p);
                density(q.x, q.y, radius)
            };
            Some(sign * mean_on_circle(s, middle, radius, at))
        }),
        currents_a: vec![Some(current), Some(-current)],
        current_a: current,
        voltage_v: VOLTS,
        own_error: 0.0,
    }
}
