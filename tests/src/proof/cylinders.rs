//! Cylinders in each other, a rod over a plane, a cylinder in a square.
use shapes::{Outline, Point};
use solver::quantity::*;
use solver::{Drive, Role};

use super::cell::{KAPPA, WIDTH};
use super::{Row, Section, answer};
use crate::cases::build::{body, layout, none, rect};
use crate::cases::rod::over_plane;
use crate::closed_form::cylinders::Cylinders;
use crate::profile::Profile;

/// Ratio of greatest to least density on both walls, and 2πκR.
fn eccentric(r1: f64, e: f64) -> Vec<Row> {
    let r2 = 50.0;
    let mm = 1e-3;
    let at = Point::new(0.0731, 0.0617);
    let axis = at + shapes::Vec2::new(e * mm, 0.0);
    let bodies = vec![
        body(
            "tube",
            Role::Part,
            Outline::ring(at, 1.2 * r2 * mm, r2 * mm).expect("a tube"),
            none(),
        ),
        body("rod", Role::Anode, Outline::disc(axis, r1 * mm).expect("a rod"), none()),
    ];
    let tank = Outline::disc(at, 1.1 * r2 * mm).expect("a tank");
    let drive = Drive::Voltage(Potential::new(1.0));
    let solution = answer(&layout(tank, KAPPA, bodies, drive));
    let cell = Cylinders { r1: r1 * mm, r2: r2 * mm, e: e * mm };
    let ratio = |k: usize| {
        let d = &solution.bodies[k].density;
        let (a, b) = (d.max.abs(), d.min.abs());
        a.max(b) / a.min(b)
    };
    let exact = |x0: f64, x1: f64| {
        let (p, q) = (cell.density(x0, 0.0, 1.0, 1.0), cell.density(x1, 0.0, 1.0, 1.0));
        p.max(q) / p.min(q)
    };
    let problem = format!("C7: cylinders of radius {r1} and {r2}, offset {e}");
    let log = 2.0 * std::f64::consts::PI * KAPPA / solution.supplies[0].current_a;
    let mut rows = vec![Row::relative(&problem, "2πκR", cell.log_ratio(), log, 0.002)];
    let outer = exact(r2 * mm, -r2 * mm);
    rows.push(Row::relative(&problem, "greatest/least density, outer wall", outer, ratio(0), 0.01));
    let inner = exact((e + r1) * mm, (e - r1) * mm);
    rows.push(Row::relative(&problem, "greatest/least density, inner wall", inner, ratio(1), 0.02));
    rows
}

fn concentric() -> Vec<Row> {
    let mm = 1e-3;
    let at = Point::new(0.0731, 0.0617);
    let bodies = vec![
        body("tube", Role::Part, Outline::ring(at, 60.0 * mm, 50.0 * mm).expect("a tube"), none()),
        body("rod", Role::Anode, Outline::disc(at, 10.0 * mm).expect("a rod"), none()),
    ];
    let tank = Outline::disc(at, 55.0 * mm).expect("a tank");
    let solution = answer(&layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(1.0))));
    let problem = "C6: concentric cylinders of radius 10 and 50";
    let log = 2.0 * std::f64::consts::PI * KAPPA / solution.supplies[0].current_a;
    let mean = |k: usize| solution.bodies[k].density.mean.abs();
    let tube = &solution.bodies[0].density;
    vec![
        Row::relative(problem, "2πκR", 5.0f64.ln(), log, 0.002),
        Row::relative(problem, "density at the rod / at the tube", 5.0, mean(1) / mean(0), 0.002),
        Row::relative(
            problem,
            "greatest/least density on the tube",
            1.0,
            tube.max / tube.min,
            0.01,
        ),
    ]
}

fn over_a_plane() -> Vec<Row> {
    let reference = over_plane();
    let solution = answer(&reference.layout);
    // the plane is a straight run turned on the page
    let rows = &solution.bodies[0].stretches;
    let across = shapes::Vec2::new(-rows[0].normal[1], rows[0].normal[0]);
    let along = |p: Point| (p - Point::ORIGIN).dot(across);
    let rod = &solution.bodies[1].stretches;
    let n = rod.len() as f64;
    let axis = along(Point::new(
        rod.iter().map(|s| s.at.x).sum::<f64>() / n,
        rod.iter().map(|s| s.at.y).sum::<f64>() / n,
    ));
    let profile = Profile::new(&solution.bodies[0], |_| true, along);
    let cell = crate::closed_form::rod::RodOverPlane { d: 0.0417, r: 0.0113 };
    let c = cell.c();
    // the foot is where the density is greatest: the middle of the rod's shadow
    let foot = golden(|x| -profile.at(x), axis - 0.5 * c, axis + 0.5 * c);
    let at = |x: f64| 0.5 * (profile.at(foot + x) + profile.at(foot - x)) / profile.at(foot);
    let problem = "C8: rod of radius r at distance D from a plane, c = √(D² − r²)";
    [(1.0, 0.5), (2.0, 0.2)]
        .into_iter()
        .map(|(k, want)| Row::relative(problem, format!("i({k}c)/i(0)"), want, at(k * c), 0.005))
        .collect()
}

/// Place of the least value in `a..b`, golden-section search.
fn golden(f: impl Fn(f64) -> f64, mut a: f64, mut b: f64) -> f64 {
    let share = 0.5 * (5.0f64.sqrt() - 1.0);
    for _ in 0..80 {
        let (x, y) = (b - share * (b - a), a + share * (b - a));
        if f(x) < f(y) { b = y } else { a = x }
    }
    0.5 * (a + b)
}

/// Small circle in the middle of a square: the square's conformal radius is 2/K(1/2) of half its
/// side; the circle's image differs from a circle by a tenth of (radius/half side)⁴.
fn in_a_square() -> Row {
    let (half, r) = (WIDTH, 0.25 * WIDTH);
    let at = Point::new(0.013, 0.009);
    let tank = rect(at.x - half, at.y - half, at.x + half, at.y + half);
    let mut bodies = vec![body("rod", Role::Part, Outline::disc(at, r).expect("a rod"), none())];
    let edge = 1.2 * half;
    for (name, x0, y0, x1, y1) in [
        ("west", -edge, -half, -half, half),
        ("east", half, -half, edge, half),
        ("south", -half, -edge, half, -half),
        ("north", -half, half, half, edge),
    ] {
        let wall = rect(at.x + x0, at.y + y0, at.x + x1, at.y + y1);
        bodies.push(body(name, Role::Anode, wall, none()));
    }
    let solution = answer(&layout(tank, KAPPA, bodies, Drive::Voltage(Potential::new(1.0))));
    let k = crate::closed_form::elliptic::complete_k(0.5);
    let want = (2.0 / k * half / r).ln();
    let got = 2.0 * std::f64::consts::PI * KAPPA / solution.supplies[0].current_a;
    let problem =
        "C10: cylinder in the middle of a square anode, radius a quarter of half the side";
    Row::relative(problem, "2πκR", want, got, 0.002)
}

/// C6, C7, C8, C10.
pub fn sections() -> Vec<Section> {
    let mut rows = concentric();
    for (r1, e) in [(10.0, 5.0), (10.0, 10.0), (10.0, 20.0), (25.0, 10.0)] {
        rows.extend(eccentric(r1, e));
    }
    rows.extend(over_a_plane());
    rows.push(in_a_square());
    vec![Section {
        title: "Cylinders without polarization",
        source: "Kasper (1940), Trans. Electrochem. Soc. 77, 353 and 78 (from memory): line charges \
                 at the limit points; square: conformal radius 2/K(½), exact for small cylinders",
        note: "",
        rows,
    }]
}
