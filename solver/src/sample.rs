//! Small layouts and grids for the tests of this crate.

use std::sync::Arc;

use shapes::{Outline, Point};

use crate::domain::Domain;
use crate::grid::mesh::Mesh;
use crate::grid::tree::{Tree, Wanted};
use crate::kinetics::{Kinetics, Law};
use crate::layout::{Body, Drive, Layout, Role, Supply, Symmetry};
use crate::quantity::{
    AreaResistance, Conductivity, CurrentDensity, Length, Potential, Temperature,
};
use crate::surface::SurfacePlan;

/// Conductivity of every sample bath, S/m.
pub(crate) const KAPPA: f64 = 7.3;

/// Law without polarization.
pub(crate) fn ideal() -> Law {
    Law { kinetics: Kinetics::None, limiting: None, rest: Potential::new(0.0) }
}

/// Linear law, Ω m².
pub(crate) fn linear(resistance: f64) -> Law {
    Law { kinetics: Kinetics::Linear { resistance: AreaResistance::new(resistance) }, ..ideal() }
}

/// Tafel law, A/m² and V per decade.
pub(crate) fn tafel(exchange: f64, slope: f64) -> Law {
    let (exchange, slope) = (CurrentDensity::new(exchange), Potential::new(slope));
    Law { kinetics: Kinetics::Tafel { exchange, slope }, ..ideal() }
}

/// Upright rectangle between two corners, m.
pub(crate) fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Outline {
    Outline::rect(Point::new(0.5 * (x0 + x1), 0.5 * (y0 + y1)), (x1 - x0, y1 - y0), 0.0)
        .expect("a rectangle")
}

/// Corners of a polygon around `centre`, one for each radius, at even angles.
pub(crate) fn star(centre: [f64; 2], radii: &[f64]) -> Vec<[f64; 2]> {
    let turn = std::f64::consts::TAU / radii.len() as f64;
    let corner = |(k, r): (usize, &f64)| {
        let angle = turn * (k as f64 + 0.137);
        [centre[0] + r * angle.cos(), centre[1] + r * angle.sin()]
    };
    radii.iter().enumerate().map(corner).collect()
}

/// A polygon with sharp corners.
pub(crate) fn polygon(corners: &[[f64; 2]]) -> Outline {
    let points: Vec<Point> = corners.iter().map(|c| Point::new(c[0], c[1])).collect();
    Outline::polygon(&points, 0.0).expect("a simple polygon")
}

/// One body.
pub(crate) fn body(name: &str, role: Role, outline: Outline, law: Law) -> Body {
    Body::new(name, role, outline, law)
}

/// A tank of 0.2 × 0.1 m, 1 m deep, at one volt.
pub(crate) fn layout(bodies: Vec<Body>) -> Layout {
    Layout {
        tank: rect(0.0, 0.0, 0.2, 0.1),
        symmetry: Symmetry::Planar,
        depth: Length::new(1.0),
        conductivity: Conductivity::new(KAPPA),
        temperature: Temperature::celsius(25.0),
        bodies,
        supplies: vec![Supply::all(Drive::Voltage(Potential::new(1.0)))],
    }
}

/// Distance between the two [`plates`], m.
pub(crate) const PLATES_APART: f64 = 0.131;

/// A cathode and an anode as end walls of the sample tank, [`PLATES_APART`].
pub(crate) fn plates(cathode: Law, anode: Law) -> Layout {
    let (x0, x1) = (0.031, 0.031 + PLATES_APART);
    layout(vec![
        body("plate", Role::Part, rect(-0.01, -0.01, x0, 0.11), cathode),
        body("slab", Role::Anode, rect(x1, -0.01, 0.21, 0.11), anode),
    ])
}

/// A part and an anode that stand free in the bath.
pub(crate) fn two_blocks() -> Layout {
    layout(vec![
        body("part", Role::Part, rect(0.031, 0.027, 0.052, 0.071), linear(1e-3)),
        body("anode", Role::Anode, rect(0.157, 0.023, 0.171, 0.083), linear(1e-3)),
    ])
}

/// The boundaries of a layout, curves as chords to 10 µm.
pub(crate) fn domain(layout: &Layout) -> Domain {
    Domain::new(layout, &SurfacePlan::new(layout), &|_| 1e-5)
}

/// The same least level for every edge, another one for every vertex.
pub(crate) fn levels(domain: &Domain, floor: u8, edge: u8, vertex: u8) -> Wanted {
    let n = domain.edges.len();
    Wanted { edge: vec![edge; n], vertex: vec![vertex; n], floor, gap: floor }
}

/// A grid on a layout.
pub(crate) struct Grid {
    pub(crate) domain: Arc<Domain>,
    pub(crate) tree: Tree,
    pub(crate) mesh: Arc<Mesh>,
}

/// A grid with cells of `floor` at least, `edge` on all boundaries and `vertex` at all corners.
pub(crate) fn grid(layout: &Layout, floor: u8, edge: u8, vertex: u8) -> Grid {
    let domain = domain(layout);
    let tree = Tree::build(&domain, &levels(&domain, floor, edge, vertex));
    let mesh = Arc::new(Mesh::new(&tree));
    Grid { domain: Arc::new(domain), tree, mesh }
}

/// A general biquadratic polynomial of position in ticks, scaled to the root square.
pub(crate) fn biquadratic(t: [f64; 2]) -> f64 {
    let root = (1u64 << crate::grid::lattice::ROOT_BITS) as f64;
    let (x, y) = (t[0] / root, t[1] / root);
    let row = |a: f64, b: f64, c: f64| a + x * (b + x * c);
    row(0.31, -1.7, 2.3) + y * (row(0.83, 0.47, -1.9) + y * row(-0.61, 3.1, 1.3))
}

/// A general bilinear polynomial of position in ticks, scaled to the root square.
pub(crate) fn bilinear(t: [f64; 2]) -> f64 {
    let root = (1u64 << crate::grid::lattice::ROOT_BITS) as f64;
    let (x, y) = (t[0] / root, t[1] / root);
    0.31 - 1.7 * x + y * (0.83 + 0.47 * x)
}

/// Place of node `k` of a cell, ticks.
pub(crate) fn node(cell: crate::grid::lattice::Cell, k: usize) -> [f64; 2] {
    let (low, half) = (cell.low(), 0.5 * cell.ticks() as f64);
    [low[0] as f64 + half * (k % 3) as f64, low[1] as f64 + half * (k / 3) as f64]
}
