//! One anode between two cathodes at unequal distance, and one cathode of two levels.
use solver::quantity::*;
use solver::{Drive, Role};

use super::cell::{KAPPA, polygon};
use super::{Row, Section, answer};
use crate::cases::build::{body, layout, linear, none, rect};
use crate::cases::plates::two_distances;
use crate::closed_form::plates::{
    metal_ratio, throwing_power_field, throwing_power_haring_blum, throwing_power_heatley,
};
use crate::profile::Profile;

/// Distance ratio of the cell.
const P: f64 = 5.0;

fn throwing_power(wagner: f64) -> Vec<Row> {
    let solution = answer(&two_distances(wagner).layout);
    let mean = |k: usize| solution.bodies[k].density.mean;
    let got = mean(0) / mean(1);
    let want = metal_ratio(P, wagner);
    let problem = format!("Haring-Blum cell, P = 5, Wa = κb/d_near = {wagner}");
    // a power of zero has no relative error: percentage points
    let power = |what: &str, f: fn(f64, f64) -> f64| {
        Row::absolute(&problem, format!("throwing power ({what}), %"), f(P, want), f(P, got), 0.1)
    };
    vec![
        Row::relative(&problem, "near/far metal ratio", want, got, 0.001),
        power("Haring and Blum", throwing_power_haring_blum),
        power("Field", throwing_power_field),
        power("Heatley", throwing_power_heatley),
    ]
}

/// Levels 40 mm and 100 mm below the anode, each 400 mm wide, walled 300 mm from the step.
fn stepped(b: f64) -> Row {
    let (near, far, wide) = (0.04, 0.1, 0.4);
    let tank = rect(-wide, 0.0, wide, far);
    let step = polygon(&[
        (-wide - 0.01, -0.01),
        (wide + 0.01, -0.01),
        (wide + 0.01, 0.0),
        (0.0, 0.0),
        (0.0, far - near),
        (-wide - 0.01, far - near),
    ]);
    let bodies = vec![
        body("step", Role::Part, step, linear(b)),
        body("lid", Role::Anode, rect(-wide - 0.01, far, wide + 0.01, far + 0.01), none()),
    ];
    let drive = Drive::MeanDensity(CurrentDensity::new(100.0));
    let solution = answer(&layout(tank, KAPPA, bodies, drive));
    let level =
        |y: f64| Profile::new(&solution.bodies[0], move |p| (p.y - y).abs() < 1e-6, |p| p.x);
    let got = level(far - near).at(-0.3) / level(0.0).at(0.3);
    let want = (far + KAPPA * b) / (near + KAPPA * b);
    let problem =
        format!("cathode with a step, gaps 40 and 100 mm, κb = {:.0} mm", 1e3 * KAPPA * b);
    Row::relative(problem, "ratio of the two levels, 300 mm from the step", want, got, 0.005)
}

/// Throwing power and the stepped cathode.
pub fn sections() -> Vec<Section> {
    let rows = [0.0, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0].into_iter().flat_map(throwing_power);
    vec![
        Section {
            title: "Haring-Blum cell",
            source: "Haring & Blum (1923), Trans. Am. Electrochem. Soc. 44, 313; formulas of Field and \
                     of Heatley (1923); near/far ratio (P + Wa)/(1 + Wa): exact",
            note: "Errors of throwing power are percentage points.",
            rows: rows.collect(),
        },
        Section {
            title: "Stepped cathode",
            source: "i₁/i₂ = (d₂ + κb)/(d₁ + κb): exact far from the step",
            note: "",
            rows: [1e-4, 1e-3, 1e-2].into_iter().map(stepped).collect(),
        },
    ]
}
