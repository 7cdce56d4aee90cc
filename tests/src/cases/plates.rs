//! Parallel plates, and one anode between cathodes at two distances, in a turned box.
use std::sync::Arc;

use shapes::{Point, Vec2};
use solver::quantity::*;
use solver::{Drive, Kinetics, Law, Role};

use super::build::{body, layout, linear, rect, tafel};
use crate::closed_form::plates;
use crate::pose::Pose;
use crate::reference::Reference;

const POSE: Pose = Pose { angle: 0.297, shift: Vec2::new(0.0831, 0.0217) };
const KAPPA: f64 = 8.7;

/// Linear polarization on both plates, at a voltage: uniform density V / (d/κ + b_c + b_a).
pub fn parallel_linear() -> Reference {
    let (d, b_c, b_a, volts) = (0.1173, 1.3e-3, 4.1e-4, 3.7);
    let i = plates::density(volts, d, KAPPA, b_c, b_a);
    parallel(
        "plates linear",
        d,
        linear(b_c),
        linear(b_a),
        i,
        volts,
        Drive::Voltage(Potential::new(volts)),
    )
}

/// Tafel law on both plates, at a mean density: V = i d/κ + η_a + |η_c|.
pub fn parallel_tafel() -> Reference {
    let (d, i) = (0.0931, 413.0);
    let volts = i * d / KAPPA + 0.12 * f64::log10(i / 0.011) + 0.04 * f64::log10(i / 23.0);
    let drive = Drive::MeanDensity(CurrentDensity::new(i));
    parallel("plates Tafel", d, tafel(0.011, 0.12), tafel(23.0, 0.04), i, volts, drive)
}

/// Butler-Volmer law with a limiting current density: η = −(2 RT/F) asinh(i_kin / 2 i0) at
/// α = 0.5, i_kin = i / (1 − i/i_lim); a rest potential on each side.
pub fn parallel_butler_volmer() -> Reference {
    let (d, i, limit, i0) = (0.0817, 377.0, 911.0, 14.3);
    let thermal = 8.314_462_618 * 328.15 / 96_485.332_12;
    let law = |exchange, limiting: Option<f64>, rest| Law {
        kinetics: Kinetics::ButlerVolmer {
            exchange: CurrentDensity::new(exchange),
            alpha_anodic: 0.5,
            alpha_cathodic: 0.5,
        },
        limiting: limiting.map(CurrentDensity::new),
        rest: Potential::new(rest),
    };
    let eta = |i_kin: f64, i0: f64| 2.0 * thermal * (0.5 * i_kin / i0).asinh();
    let volts = i * d / KAPPA + eta(i / (1.0 - i / limit), i0) + 0.26 + eta(i, 31.0) + 0.11;
    let drive = Drive::MeanDensity(CurrentDensity::new(i));
    let (cathode, anode) = (law(i0, Some(limit), -0.26), law(31.0, None, 0.11));
    parallel("plates Butler-Volmer", d, cathode, anode, i, volts, drive)
}

/// Measured curve on the cathode, taken at one of its points, where every interpolation agrees.
pub fn parallel_table() -> Reference {
    let (d, i, b_a) = (0.0817, 310.0, 3.7e-5);
    let point = |mv: f64, a_m2: f64| (Potential::mv(mv), CurrentDensity::new(a_m2));
    let table = Law {
        kinetics: Kinetics::Table {
            points: vec![
                point(0.0, 0.0),
                point(130.0, 55.0),
                point(210.0, 310.0),
                point(270.0, 900.0),
            ],
        },
        ..super::build::none()
    };
    let volts = i * d / KAPPA + 0.210 + b_a * i;
    let drive = Drive::MeanDensity(CurrentDensity::new(i));
    parallel("plates table", d, table, linear(b_a), i, volts, drive)
}

fn parallel(
    name: &str,
    d: f64,
    cathode: Law,
    anode: Law,
    i: f64,
    volts: f64,
    drive: Drive,
) -> Reference {
    let height = 0.0713;
    let tank = POSE.outline(&rect(-0.01, 0.0, d + 0.01, height));
    let bodies = vec![
        body("plate", Role::Part, POSE.outline(&rect(-0.02, -0.01, 0.0, height + 0.01)), cathode),
        body("anode", Role::Anode, POSE.outline(&rect(d, -0.01, d + 0.02, height + 0.01)), anode),
    ];
    Reference {
        name: name.into(),
        layout: layout(tank, KAPPA, bodies, drive),
        corners: [(0.0, 0.0), (0.0, height), (d, 0.0), (d, height)]
            .map(|(x, y)| POSE.place(Point::new(x, y)))
            .to_vec(),
        density: Arc::new(move |k, _| Some(if k == 0 { i } else { -i })),
        currents_a: vec![Some(i * height), Some(-i * height)],
        current_a: i * height,
        voltage_v: volts,
        own_error: 0.0,
    }
}

/// Haring-Blum cell, distances 1 : 5, linear polarization with `Wa = κ b / d_near`.
pub fn two_distances(wagner: f64) -> Reference {
    let (near, height, sheet) = (0.0237, 0.0691, 0.0031);
    let far = 5.0 * near;
    let law = if wagner > 0.0 { linear(wagner * near / KAPPA) } else { super::build::none() };
    let total = 21.0;
    let m = plates::metal_ratio(5.0, wagner);
    let i_far = total / height / (1.0 + m);
    let i_near = m * i_far;
    // anode sheet from −sheet to 0; the near cathode to its right
    let tank = POSE.outline(&rect(-far - sheet - 0.005, 0.0, near + 0.005, height));
    let wall = |x0: f64, x1: f64| POSE.outline(&rect(x0, -0.01, x1, height + 0.01));
    let bodies = vec![
        body("near", Role::Part, wall(near, near + 0.01), law.clone()),
        body("far", Role::Part, wall(-far - sheet - 0.01, -far - sheet), law),
        body("anode", Role::Anode, wall(-sheet, 0.0), super::build::none()),
    ];
    Reference {
        name: format!("two distances Wa {wagner}"),
        layout: layout(tank, KAPPA, bodies, Drive::Current(Current::new(total))),
        corners: [near, 0.0, -sheet, -sheet - far]
            .iter()
            .flat_map(|&x| [Point::new(x, 0.0), Point::new(x, height)])
            .map(|p| POSE.place(p))
            .collect(),
        density: Arc::new(move |k, s| {
            Some(match k {
                0 => i_near,
                1 => i_far,
                _ if POSE.own(s.at).x > -0.5 * sheet => -i_near,
                _ => -i_far,
            })
        }),
        currents_a: vec![Some(i_near * height), Some(i_far * height), Some(-total)],
        current_a: total,
        voltage_v: i_near * near / KAPPA * (1.0 + wagner),
        own_error: 0.0,
    }
}
