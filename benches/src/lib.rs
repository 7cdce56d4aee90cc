//! Layouts that are timed: one of each kind that a plating shop meets.
//!
//! Most are the layouts of the reference answers in `tests/fixtures`, so that what is timed is also
//! what is known to be right.

mod planned;
mod processor;

use std::f64::consts::TAU;

use checks::{Pose, load_fixtures};
use shapes::{Outline, Point, ShapeError, Vec2};
use solver::quantity::{
    AreaResistance, Conductivity, CurrentDensity, Length, Potential, Temperature,
};
use solver::{Body, Drive, Kinetics, Law, Layout, Role, Supply, Symmetry};

pub use planned::{moved, planned};
pub use processor::processor_s;

/// A layout with the words for it in tables.
#[derive(Debug, Clone)]
pub struct Case {
    /// What it looks like.
    pub kind: &'static str,
    /// What is solved.
    pub layout: Layout,
}

/// Kinds of layouts and the fixtures that stand for them.
const KINDS: [(&str, &str); 9] = [
    ("recess facing one anode", "cup"),
    ("recess with inside anode", "cup-inside-anode"),
    ("five round bars", "bars"),
    ("L-part, Tafel 30 mV near its limit", "l-part"),
    ("bracket, two anodes", "bracket"),
    ("plate with shield", "shield"),
    ("plate with thief", "thief"),
    ("floating bar", "floating"),
    ("2 m tank, 1 mm features", "large-tank"),
];

/// One layout of each kind.
///
/// # Panics
/// If a fixture is missing: there is nothing to time then.
pub fn cases() -> Vec<Case> {
    let fixtures = load_fixtures();
    let mut cases: Vec<Case> = KINDS
        .into_iter()
        .map(|(kind, name)| {
            let found = fixtures.iter().find(|f| f.name == name);
            let fixture = found.unwrap_or_else(|| panic!("no fixture named {name}"));
            Case { kind, layout: fixture.layout.clone() }
        })
        .collect();
    let four = four_anodes().expect("constant sizes make shapes");
    cases.insert(cases.len() - 1, Case { kind: "round bar, four anodes", layout: four });
    cases
}

/// `layout` somewhere else on the page, so that the grid cuts it differently; number 0 stays.
///
/// Places are irregular but always the same: multiples of irrational numbers.
pub fn placed(layout: &Layout, number: usize) -> Layout {
    let part = |x: f64| (x * number as f64).fract();
    let shift = Vec2::new(0.1 * part(0.754_877_666), 0.1 * part(0.569_840_291));
    let pose = Pose { angle: TAU * part(0.618_033_988_749_895), shift };
    let body = |b: &Body| Body { outline: pose.outline(&b.outline), ..b.clone() };
    Layout {
        tank: pose.outline(&layout.tank),
        bodies: layout.bodies.iter().map(body).collect(),
        ..layout.clone()
    }
}

/// A body with its law.
fn body(name: &str, role: Role, outline: Outline, kinetics: Kinetics) -> Body {
    let law = Law { kinetics, limiting: None, rest: Potential::new(0.0) };
    Body::new(name, role, outline, law)
}

fn nickel() -> Kinetics {
    Kinetics::Tafel { exchange: CurrentDensity::new(0.012), slope: Potential::mv(120.0) }
}

fn soluble() -> Kinetics {
    Kinetics::Linear { resistance: AreaResistance::new(2.1e-5) }
}

fn mm(x: f64, y: f64) -> Point {
    Point::new(1e-3 * x, 1e-3 * y)
}

/// A bar of 24 mm between four anode rods in the corners of a square tank.
fn four_anodes() -> Result<Layout, ShapeError> {
    let mut bodies =
        vec![body("bar", Role::Part, Outline::disc(mm(103.7, 98.9), 0.012)?, nickel())];
    for (k, (x, y)) in
        [(31.3, 29.8), (171.9, 33.1), (168.2, 169.7), (28.6, 172.4)].into_iter().enumerate()
    {
        let rod = Outline::disc(mm(x, y), 0.0085)?;
        bodies.push(body(&format!("rod {}", k + 1), Role::Anode, rod, soluble()));
    }
    Ok(layout(Outline::rect(mm(100.0, 100.0), (0.2, 0.2), 0.0)?, bodies))
}

fn layout(tank: Outline, bodies: Vec<Body>) -> Layout {
    Layout {
        tank,
        symmetry: Symmetry::Planar,
        depth: Length::mm(300.0),
        conductivity: Conductivity::new(9.1),
        temperature: Temperature::celsius(55.0),
        bodies,
        supplies: vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(400.0)))],
    }
}

/// `count` bars of 16 mm in a row, 40 mm apart, between two anode rows, in a tank of this size, mm.
///
/// # Errors
/// If a size is not above zero.
pub fn rack(count: usize, tank_mm: [f64; 2]) -> Result<Layout, ShapeError> {
    let [width, height] = tank_mm;
    let (cx, cy) = (0.5 * width, 0.5 * height);
    let reach = 40.0 * count as f64;
    let mut bodies = Vec::new();
    for k in 0..count {
        let x = cx + 40.0 * (k as f64 - 0.5 * (count as f64 - 1.0)) + 0.37;
        let bar = Outline::disc(mm(x, cy + 0.61), 0.008)?;
        bodies.push(body(&format!("bar {}", k + 1), Role::Part, bar, nickel()));
    }
    for (name, y) in [("front", cy - 120.3), ("rear", cy + 121.1)] {
        let plate = Outline::rect(mm(cx + 0.83, y), (1e-3 * reach, 0.012), 0.0)?;
        bodies.push(body(name, Role::Anode, plate, soluble()));
    }
    Ok(layout(Outline::rect(mm(cx, cy), (1e-3 * width, 1e-3 * height), 0.0)?, bodies))
}

/// `count` discs of 30 mm in rows of twenty, 70 mm apart, between two anodes: from 200 on a rack as
/// full as any.
///
/// # Errors
/// None in fact: all sizes are above zero.
pub fn discs(count: usize) -> Result<Layout, ShapeError> {
    let height = 400.0 + 60.0 * count.div_ceil(20) as f64;
    let law = Kinetics::Tafel { exchange: CurrentDensity::new(1.0), slope: Potential::mv(120.0) };
    let mut bodies = Vec::new();
    for k in 0..count {
        let at = mm(300.0 + 70.0 * (k % 20) as f64, 200.0 + 60.0 * (k / 20) as f64);
        let disc = Outline::disc(at, 0.015)?;
        bodies.push(body(&format!("disc {}", k + 1), Role::Part, disc, law.clone()));
    }
    for (name, x) in [("left", 65.0), ("right", 1935.0)] {
        let plate = Outline::rect(mm(x, 0.5 * height), (0.03, 8e-4 * height), 0.0)?;
        bodies.push(body(name, Role::Anode, plate, soluble()));
    }
    Ok(layout(Outline::rect(mm(1000.0, 0.5 * height), (2.0, 1e-3 * height), 0.0)?, bodies))
}
