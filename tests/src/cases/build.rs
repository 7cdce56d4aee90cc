//! Small pieces from which the cases are built.
use shapes::{Outline, Point, Vec2};
use solver::quantity::*;
use solver::{Body, Drive, Kinetics, Law, Layout, Role, Stretch, Supply, Symmetry};

/// Law without polarization.
pub fn none() -> Law {
    Law { kinetics: Kinetics::None, limiting: None, rest: Potential::new(0.0) }
}

/// Linear polarization, Ω·m².
pub fn linear(resistance: f64) -> Law {
    Law { kinetics: Kinetics::Linear { resistance: AreaResistance::new(resistance) }, ..none() }
}

/// Tafel law, A/m² and V per decade.
pub fn tafel(exchange: f64, slope: f64) -> Law {
    Law {
        kinetics: Kinetics::Tafel {
            exchange: CurrentDensity::new(exchange),
            slope: Potential::new(slope),
        },
        ..none()
    }
}

/// Upright rectangle by its corners.
pub fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Outline {
    Outline::rect(Point::new(0.5 * (x0 + x1), 0.5 * (y0 + y1)), (x1 - x0, y1 - y0), 0.0)
        .expect("a rectangle")
}

/// One body.
pub fn body(name: &str, role: Role, outline: Outline, law: Law) -> Body {
    Body::new(name, role, outline, law)
}

/// A layout of depth 1 m.
pub fn layout(tank: Outline, kappa: f64, bodies: Vec<Body>, drive: Drive) -> Layout {
    Layout {
        tank,
        symmetry: Symmetry::Planar,
        depth: Length::new(1.0),
        conductivity: Conductivity::new(kappa),
        temperature: Temperature::celsius(55.0),
        bodies,
        supplies: vec![Supply::all(drive)],
    }
}

/// Nodes and weights (sum 1) of the eight-point Gauss rule on [-1, 1].
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.181_341_891_689_181),
    (0.525_532_409_916_329, 0.156_853_322_938_943_64),
    (0.796_666_477_413_626_7, 0.111_190_517_226_687_24),
    (0.960_289_856_497_536_2, 0.050_614_268_145_188_13),
];

/// Mean of a density over a stretch of a straight outline.
pub fn mean_on_line(s: &Stretch, f: impl Fn(Point) -> f64) -> f64 {
    let along = Vec2::new(-s.normal[1], s.normal[0]) * (0.5 * s.length_m);
    GAUSS.iter().map(|&(u, w)| w * (f(s.at + along * u) + f(s.at - along * u))).sum()
}

/// Mean of a density over a stretch of a circle.
pub fn mean_on_circle(s: &Stretch, centre: Point, radius: f64, f: impl Fn(Point) -> f64) -> f64 {
    let middle = (s.at - centre).atan2();
    let half = 0.5 * s.length_m / radius;
    let at = |u: f64| f(centre + Vec2::from_angle(middle + u * half) * radius);
    GAUSS.iter().map(|&(u, w)| w * (at(u) + at(-u))).sum()
}
