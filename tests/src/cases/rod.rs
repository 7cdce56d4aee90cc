//! Rod over a plane, the tank walled off along two current lines so that the field is that of the
//! unbounded plane.
use std::sync::Arc;

use shapes::{Outline, Point, Vec2};
use solver::quantity::*;
use solver::{Drive, Role, Stretch};

use super::build::{body, layout, mean_on_circle, none, rect};
use crate::closed_form::rod::RodOverPlane;
use crate::pose::Pose;
use crate::reference::Reference;

const POSE: Pose = Pose { angle: 0.173, shift: Vec2::new(0.2219, 0.0877) };
const KAPPA: f64 = 7.9;

/// Rod of radius 11.3 mm, 41.7 mm above a plane cathode that reaches three image heights to
/// each side.
pub fn over_plane() -> Reference {
    let cell = RodOverPlane { d: 0.0417, r: 0.0113 };
    let c = cell.c();
    let reach = 3.0 * c;
    let (centre, radius) = cell.current_line(reach);
    // the two walls meet at the image line inside the rod
    let wall = format!(
        "M {a} 0 L {reach} 0 A {radius} {radius} 0 0 1 0 {c} A {radius} {radius} 0 0 1 {a} 0 Z",
        a = -reach
    );
    let tank = POSE.outline(&Outline::path(&wall).expect("a tank"));
    let total = 3.3; // of the unbounded rod, A/m
    let share = cell.share_within(reach);
    let axis = POSE.place(Point::new(0.0, cell.d));
    let bodies = vec![
        body(
            "plane",
            Role::Part,
            POSE.outline(&rect(-2.0 * reach, -0.01, 2.0 * reach, 0.0)),
            none(),
        ),
        body("rod", Role::Anode, Outline::disc(axis, cell.r).expect("a rod"), none()),
    ];
    // where the walls meet the rod: circle (centre, 0) of `radius` and circle (0, d) of r
    let meet = crossing(centre, radius, cell.d, cell.r);
    Reference {
        name: "rod over a plane".into(),
        layout: layout(tank, KAPPA, bodies, Drive::Current(Current::new(total * share))),
        corners: [(reach, 0.0), (-reach, 0.0), (meet.x, meet.y), (-meet.x, meet.y)]
            .map(|(x, y)| POSE.place(Point::new(x, y)))
            .to_vec(),
        density: Arc::new(move |k, s: &Stretch| {
            if k == 0 {
                let x = POSE.own(s.at).x;
                let (x0, x1) = (x - 0.5 * s.length_m, x + 0.5 * s.length_m);
                let part = 0.5 * (cell.share_within(x1) - cell.share_within(x0));
                return Some(total * part / s.length_m);
            }
            Some(-mean_on_circle(s, axis, cell.r, |p| {
                let q = POSE.own(p);
                cell.density(q.x, q.y, total)
            }))
        }),
        currents_a: vec![Some(total * share), Some(-total * share)],
        current_a: total * share,
        voltage_v: total * cell.resistance(KAPPA),
        own_error: 0.0,
    }
}

/// Where the current line on the right meets the rod from above.
fn crossing(centre: f64, radius: f64, d: f64, r: f64) -> Point {
    // the rod's top lies beyond the wall, its foot within: bisect between them, clockwise
    let outside = |t: f64| (r * t.sin() - centre).hypot(d + r * t.cos()) - radius;
    let (mut lo, mut hi) = (0.0_f64, std::f64::consts::PI);
    for _ in 0..100 {
        let mid = 0.5 * (lo + hi);
        if outside(mid) > 0.0 { lo = mid } else { hi = mid }
    }
    Point::new(r * lo.sin(), d + r * lo.cos())
}
