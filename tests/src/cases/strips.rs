//! Strips flush with insulating walls: two facing each other, and one in the floor of a box.
use std::sync::Arc;

use shapes::{Point, Vec2};
use solver::quantity::*;
use solver::{Drive, Role, Span, Stretch};

use super::build::{body, layout, linear, mean_on_line, none, rect};
use crate::closed_form::polarized_strip::{PolarizedStrip, Surroundings};
use crate::closed_form::strips::FlushStrips;
use crate::pose::Pose;
use crate::reference::Reference;

const POSE: Pose = Pose { angle: -0.211, shift: Vec2::new(0.3173, 0.1719) };
const KAPPA: f64 = 10.9;

/// Two strips of length `ratio` × gap, no polarization. The channel goes on for four gaps beyond
/// their ends, where the field has died away to e^(−4π) ≈ 3e-6.
pub fn flush(ratio: f64) -> Reference {
    let gap = 0.0313;
    let cell = FlushStrips { l: ratio * gap, h: gap };
    let half = 0.5 * cell.l;
    let end = half + 4.0 * gap;
    let total = 2.3;
    let mean = total / cell.l;
    let bodies = vec![
        body("strip", Role::Part, POSE.outline(&rect(-half, -0.01, half, 0.0)), none()),
        body("anode", Role::Anode, POSE.outline(&rect(-half, gap, half, gap + 0.01)), none()),
    ];
    let tank = POSE.outline(&rect(-end, 0.0, end, gap));
    Reference {
        name: format!("flush strips L/h {ratio}"),
        layout: layout(tank, KAPPA, bodies, Drive::Current(Current::new(total))),
        corners: [(-half, 0.0), (half, 0.0), (-half, gap), (half, gap)]
            .map(|(x, y)| POSE.place(Point::new(x, y)))
            .to_vec(),
        density: Arc::new(move |k, s: &Stretch| {
            let p = POSE.own(s.at);
            let wall = if k == 0 { 0.0 } else { gap };
            if (p.y - wall).abs() > 1e-6 {
                return None;
            }
            let (x0, x1) = (p.x - 0.5 * s.length_m, p.x + 0.5 * s.length_m);
            let sign = if k == 0 { 1.0 } else { -1.0 };
            Some(sign * mean * cell.relative_mean(x0, x1))
        }),
        currents_a: vec![Some(total), Some(-total)],
        current_a: total,
        voltage_v: total * cell.resistance_times_conductivity() / KAPPA,
        own_error: 0.0,
    }
}

/// As [`flush`], the strips being what masks leave bare of plates twice as long.
pub fn masked(ratio: f64) -> Reference {
    let mut reference = flush(ratio);
    let gap = 0.0313;
    let half = 0.5 * ratio * gap;
    // the plates' own faces, and which end of the bare strip comes first along the outline
    for (body, y, behind, first) in [(0, 0.0, -0.01, half), (1, gap, gap + 0.01, -half)] {
        let low = y.min(behind);
        let plate = POSE.outline(&rect(-2.0 * half, low, 2.0 * half, low + 0.01));
        let at = |x: f64| plate.nearest(POSE.place(Point::new(x, y))).1;
        let (from_m, end) = (at(-first), at(first));
        let to_m = if end > from_m { end } else { end + plate.loops()[0].length() };
        let body = &mut reference.layout.bodies[body];
        body.masked = vec![Span { loop_index: 0, from_m, to_m }];
        body.outline = plate;
    }
    reference.name = format!("strips between masks L/h {ratio}");
    reference
}

/// Strip with linear polarization in the floor of a box, the lid an unpolarized anode;
/// `Wa = κ b / L`. The integral equation is exact for this box.
pub fn polarized(wagner: f64) -> Reference {
    let l = 0.0417;
    let (width, height) = (5.3, 3.1);
    let cell = PolarizedStrip::new(wagner, Surroundings::Box { width, height }, 240);
    let (half, w, h) = (0.5 * l, 0.5 * width * l, height * l);
    let mean = 217.0;
    let total = mean * l;
    let voltage = cell.drop().abs() * mean * l / KAPPA;
    let bodies = vec![
        body(
            "strip",
            Role::Part,
            POSE.outline(&rect(-half, -0.01, half, 0.0)),
            linear(wagner * l / KAPPA),
        ),
        body("lid", Role::Anode, POSE.outline(&rect(-w - 0.01, h, w + 0.01, h + 0.02)), none()),
    ];
    let tank = POSE.outline(&rect(-w, 0.0, w, h + 0.01));
    Reference {
        name: format!("strip in a plane Wa {wagner}"),
        layout: layout(tank, KAPPA, bodies, Drive::MeanDensity(CurrentDensity::new(mean))),
        corners: [(-half, 0.0), (half, 0.0), (-w, h), (w, h)]
            .map(|(x, y)| POSE.place(Point::new(x, y)))
            .to_vec(),
        density: Arc::new(move |k, s: &Stretch| {
            Some(if k == 0 {
                mean_on_line(s, |p| mean * cell.relative_density(POSE.own(p).x / l))
            } else {
                mean_on_line(s, |p| -mean * cell.lid_density(POSE.own(p).x / l))
            })
        }),
        currents_a: vec![Some(total), Some(-total)],
        current_a: total,
        voltage_v: voltage,
        own_error: 0.0,
    }
}
