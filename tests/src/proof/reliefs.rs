//! Ridges and grooves on a flat cathode, and a bar in an even field.
use shapes::{Outline, Point};
use solver::quantity::*;
use solver::{Drive, Role};

use super::cell::{KAPPA, lid};
use super::{Row, Section, answer};
use crate::cases::build::{body, layout, none, rect};

/// Half the width of the base of a relief, m.
const BASE: f64 = 0.01;
/// Half-width and height of the box over the base: the walls change the field by their inverse
/// square, a thousandth.
const FAR: f64 = 30.0;

/// Arc through (±base, 0) and (0, height): crown or bottom over the flat far away. `θ` is the angle
/// between arc and flat, height/base = tan(θ/2). Map ((z + c)/(z − c))^p, p = π/(π ∓ θ):
/// i/i∞ = p²/(1 + tan²(θ/2)).
fn relief(degrees: f64, ridge: bool) -> Row {
    let theta = degrees.to_radians();
    let height = BASE * (0.5 * theta).tan();
    let radius = BASE / theta.sin();
    let (w, deep, h) = (FAR * BASE, 2.0 * BASE, FAR * BASE);
    // sweep 0 on the page with y up: from right to left over the top of a ridge
    let (sweep, sign) = if ridge { (1, 1.0) } else { (0, -1.0) };
    let metal = format!(
        "M {w0} {d} L {w1} {d} L {w1} 0 L {b} 0 A {radius} {radius} 0 0 {sweep} {a} 0 L {w0} 0 Z",
        w0 = -w - 0.01,
        w1 = w + 0.01,
        d = -deep,
        a = -BASE,
        b = BASE
    );
    let metal = Outline::path(&metal).expect("a cathode");
    let tank = rect(-w, -1.5 * BASE, w, h);
    let bodies = vec![body("cathode", Role::Part, metal, none()), lid(-w - 0.01, w + 0.01, h)];
    let drive = Drive::MeanDensity(CurrentDensity::new(100.0));
    let solution = answer(&layout(tank, KAPPA, bodies, drive));
    let middle = Point::new(0.0, sign * height);
    let rows = &solution.bodies[0].stretches;
    // the mean over a stretch at the crown is the crown's density but for (length/radius)²
    let crown = rows
        .iter()
        .filter(|s| s.at.distance(middle) < 0.02 * BASE + 0.5 * s.length_m)
        .map(|s| s.current_density_a_m2)
        .fold(f64::NAN, |a, i| if ridge { a.max(i) } else { a.min(i) });
    // the flat far away carries the even field
    let even: Vec<_> =
        rows.iter().filter(|s| s.at.y.abs() < 1e-9 && s.at.x.abs() > 0.7 * w).collect();
    let length: f64 = even.iter().map(|s| s.length_m).sum();
    let flat = even.iter().map(|s| s.current_density_a_m2 * s.length_m).sum::<f64>() / length;
    let beta = 180.0 + if ridge { -degrees } else { degrees };
    let p = 180.0 / beta;
    let want = p * p / (1.0 + (0.5 * theta).tan().powi(2));
    let what = if ridge { "ridge" } else { "groove" };
    let place = if ridge { "crown" } else { "bottom" };
    let ratio = (0.5 * theta).tan();
    let problem = format!("C12: round {what}, height/half-width {ratio:.2}, far anode");
    Row::relative(problem, format!("{place} over flat"), want, crown / flat, 0.01)
}

/// Unwired round bar between two plates: at its sides the field is twice the even one.
fn bar_across() -> Row {
    let (r, w) = (BASE, FAR * BASE);
    let at = Point::new(0.0013, 0.0007);
    let tank = rect(-w, -w, w, w);
    let plate = |name: &str, role, x0: f64| {
        body(name, role, rect(x0, -w - 0.01, x0 + 0.01, w + 0.01), none())
    };
    let bodies = vec![
        plate("cathode", Role::Part, -w - 0.01),
        plate("anode", Role::Anode, w),
        body("bar", Role::Floating, Outline::disc(at, r).expect("a bar"), none()),
    ];
    let solution = answer(&layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(1.0))));
    let even = KAPPA / (2.0 * w);
    let d = &solution.bodies[2].density;
    let got = 0.5 * (d.max - d.min) / even;
    let problem = "C13: long round bar across an even field";
    Row::relative(problem, "greatest density over the even field", 2.0, got, 0.01)
}

/// C12 and the plane half of C13.
pub fn sections() -> Vec<Section> {
    let mut rows: Vec<Row> =
        [90.0, 30.0, 45.0, 60.0].into_iter().map(|d| relief(d, true)).collect();
    rows.extend([90.0, 30.0, 45.0, 60.0].into_iter().map(|d| relief(d, false)));
    rows.push(bar_across());
    vec![Section {
        title: "Ridges, grooves and a bar in an even field, without polarization",
        source: "conformal map of a circular arc on a plane: exact; bar: dipole, exact",
        note: "Computed in boxes thirty times as large as the relief, which adds about 0.1 %.",
        rows,
    }]
}
