//! The discrete equations of one grid: minimum of one strictly convex energy.
//!
//! What does not depend on the potential (cell energy, ghost penalty, screen borders, the
//! constant part of the boundary term) is summed once; a Newton step adds the metal points only.

use std::sync::Arc;

use super::basis::{NODES, PAIRS, full, middle, stiffness};
use super::boundary::{Boundary, InterfacePoint};
use super::elements::Elements;
use super::ghost::{Lie, Roots};
use super::linear::Symmetric;
use super::map::Map;
use super::numbering::{Degree, Numbering};
use crate::domain::Domain;
use crate::grid::mesh::Mesh;

/// Sizes of the stabilising terms.
///
/// The thinner the layer, the better conditioned the energy and the rougher the flux; below 0.036
/// no cut of six hundred random ones was indefinite (measured). A failed factorization halves it.
pub(crate) const GAMMA: f64 = 0.03;
/// Weight of the ghost penalty.
const GHOST: f64 = 0.3;

/// What the cells of a mesh contribute, whatever the degree: computed once for both.
pub(crate) struct Cells {
    mesh: Arc<Mesh>,
    domain: Arc<Domain>,
    boundary: Arc<Boundary>,
    /// Energy of each piece and the constant part of its boundary term.
    energy: Vec<Energy>,
    /// Penalties: piece, root, weight.
    ghosts: Vec<(usize, usize, f64)>,
    /// Couplings across screen borders: two pieces, matrix over their 18 nodes.
    borders: Vec<([usize; 2], Box<Pairing>)>,
}

/// The energy of one piece.
enum Energy {
    /// A whole cell: the breadth of the section in it, times κ.
    Whole([f64; 2]),
    /// A cut one: its matrix.
    Cut(Box<[f64; PAIRS]>),
}

/// A symmetric matrix over the nodes of two pieces.
type Pairing = [[f64; 2 * NODES]; 2 * NODES];

impl Cells {
    /// Integrates over all pieces of `mesh`, with layers `gamma` thick.
    pub(crate) fn new(mesh: &Arc<Mesh>, domain: &Arc<Domain>, gamma: f64) -> Self {
        let roots = Roots::new(mesh);
        let boundary = Boundary::new(mesh, domain, &roots, gamma);
        let kappa_of = |p: usize| domain.kappa[mesh.pieces[p].piece().material as usize];
        let mut metal = boundary.metal.iter().peekable();
        let mut energy = Vec::with_capacity(mesh.pieces.len());
        let mut ghosts = Vec::new();
        for (p, piece) in mesh.pieces.iter().enumerate() {
            let kappa = kappa_of(p);
            let breadth = domain.breadth(piece.cell);
            if piece.piece().is_whole() {
                energy.push(Energy::Whole(breadth.map(|b| kappa * b)));
            } else {
                let mut k = Box::new(stiffness(piece.piece(), breadth).map(|x| kappa * x));
                if let Some(m) = metal.next_if(|m| m.piece == p) {
                    for q in &boundary.points[m.first..m.end] {
                        rank_one(k.as_mut_slice(), &q.g, -q.weight / q.series);
                    }
                }
                energy.push(Energy::Cut(k));
            }
            if let Some(r) = roots.get(p) {
                // over the whole cell, also beyond an axis: the breadth at the side away from it
                let weight = GHOST * kappa * (breadth[0] + breadth[1]);
                ghosts.push((p, r, weight));
            }
        }
        let borders = boundary
            .interface
            .chunk_by(|a, b| a.pieces == b.pieces)
            .map(|group| (group[0].pieces, Box::new(coupling(group))))
            .collect();
        Self {
            mesh: Arc::clone(mesh),
            domain: Arc::clone(domain),
            boundary: Arc::new(boundary),
            energy,
            ghosts,
            borders,
        }
    }
}

/// The boundary term across a screen's border, with the other side in place of the metal.
fn coupling(points: &[InterfacePoint]) -> Pairing {
    let mut k = [[0.0; 2 * NODES]; 2 * NODES];
    for q in points {
        let total = q.series[0] + q.series[1];
        let jump: [f64; 2 * NODES] =
            std::array::from_fn(|i| if i < NODES { q.m[0][i] } else { -q.m[1][i - NODES] });
        for (a, row) in k.iter_mut().enumerate() {
            for (b, entry) in row.iter_mut().enumerate() {
                let mut v = jump[a] * jump[b] / total;
                if (a < NODES) == (b < NODES) {
                    let side = usize::from(a >= NODES);
                    let (i, j) = (a - side * NODES, b - side * NODES);
                    v -= q.g[side][i] * q.g[side][j] / q.series[side];
                }
                *entry += q.weight * v;
            }
        }
    }
    k
}

/// One grid's equations at one degree.
pub(crate) struct System {
    pub(crate) mesh: Arc<Mesh>,
    pub(crate) domain: Arc<Domain>,
    pub(crate) numbering: Numbering,
    pub(crate) boundary: Arc<Boundary>,
    /// The part of the Hessian that never changes.
    pub(crate) constant: Symmetric,
    /// Node-to-unknown maps of the pieces with metal, in the order of `boundary.metal`.
    pub(crate) metal_maps: Vec<Map>,
}

impl System {
    /// Sums the contributions of `cells` at `degree`.
    pub(crate) fn new(cells: &Cells, degree: Degree) -> Self {
        let boundary = Arc::clone(&cells.boundary);
        let (ghosts, borders) = (&cells.ghosts, &cells.borders);
        let mut is_root = vec![false; cells.energy.len()];
        ghosts.iter().for_each(|(_, r, _)| is_root[*r] = true);
        let alone = |p: usize| match &cells.energy[p] {
            Energy::Whole(breadth) if !is_root[p] => Some(middle(*breadth)),
            _ => None,
        };
        let numbering = Numbering::condensed(&cells.mesh, degree, &alone);
        let count = cells.energy.len() + ghosts.len() + borders.len();
        let mut elements = Elements::with_capacity(count);
        let mut metal = boundary.metal.iter().peekable();
        let mut metal_maps = Vec::with_capacity(boundary.metal.len());
        let mut map = Map::default();
        for (p, energy) in cells.energy.iter().enumerate() {
            map.set(&numbering, &[p]);
            match energy {
                Energy::Whole(breadth) => elements.push_whole(&map, *breadth),
                Energy::Cut(k) => {
                    elements.push(&map, &full(k));
                    if let Some(m) = metal.next_if(|m| m.piece == p) {
                        let mut map = map.clone();
                        map.trace(boundary.points[m.first..m.end].iter().map(|q| &q.m));
                        metal_maps.push(map);
                    }
                }
            }
        }
        for &(p, r, weight) in ghosts {
            map.set(&numbering, &[p, r]);
            let cell = |p: usize| cells.mesh.pieces[p].cell;
            elements.push_ghost(&map, Lie::new(cell(p), cell(r)), weight);
        }
        for (pieces, k) in borders {
            map.set(&numbering, pieces);
            elements.push(&map, k);
        }
        let constant = elements.sum(numbering.unknowns);
        metal_maps.iter_mut().for_each(|map| map.locate(&constant));
        let (mesh, domain) = (Arc::clone(&cells.mesh), Arc::clone(&cells.domain));
        Self { mesh, domain, numbering, boundary, constant, metal_maps }
    }

    /// Number of field unknowns.
    pub(crate) fn size(&self) -> usize {
        self.constant.size()
    }
}

/// k += c v vᵀ, upper triangle by rows.
pub(crate) fn rank_one(k: &mut [f64], v: &[f64], c: f64) {
    let mut rest = k;
    for (a, va) in v.iter().enumerate() {
        let (row, below) = rest.split_at_mut(v.len() - a);
        let ca = c * va;
        row.iter_mut().zip(&v[a..]).for_each(|(k, vb)| *k += ca * vb);
        rest = below;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::layout::Role;
    use crate::quantity::Conductivity;
    use crate::sample::{
        KAPPA, body, grid, ideal, layout, linear, polygon, rect, star, two_blocks,
    };
    use crate::system::linear::Direct;

    #[test]
    fn rows_of_the_constant_matrix_sum_to_zero() {
        let mut layout = two_blocks();
        let role = Role::Screen { conductivity: Conductivity::new(0.2 * KAPPA) };
        layout.bodies.push(body("basket", role, rect(0.081, 0.02, 0.113, 0.071), ideal()));
        let g = grid(&layout, 3, 4, 6);
        let cells = Cells::new(&g.mesh, &g.domain, GAMMA);
        assert!(!cells.ghosts.is_empty() && !cells.borders.is_empty());
        for degree in [Degree::One, Degree::Two] {
            let k = System::new(&cells, degree).constant;
            let n = k.size() as u32;
            for a in 0..n {
                let row =
                    || (0..n).filter_map(|b| k.position(a, b)).map(|p| k.values()[p as usize]);
                let size: f64 = row().map(f64::abs).sum();
                assert!(row().sum::<f64>().abs() < 1e-12 * size, "{degree:?} row {a}");
            }
        }
    }

    #[test]
    fn scattering_is_the_transpose_of_gathering() {
        let g = grid(&two_blocks(), 2, 4, 7);
        let system = System::new(&Cells::new(&g.mesh, &g.domain, GAMMA), Degree::Two);
        let u: Vec<f64> = (0..system.size()).map(|i| (i as f64 * 0.7).sin()).collect();
        let v: [f64; NODES] = std::array::from_fn(|k| (k as f64 * 1.3).cos());
        for (map, metal) in system.metal_maps.iter().zip(&system.boundary.metal) {
            let gathered = map.gather(&u);
            assert_eq!(gathered, system.numbering.gather(&u, metal.piece));
            for (q, t) in system.boundary.points[metal.first..metal.end].iter().zip(map.traces()) {
                let at_nodes: f64 = q.m.iter().zip(&gathered).map(|(m, u)| m * u).sum();
                let own = t.iter().zip(&map.unknowns);
                let at_unknowns: f64 = own.map(|(t, &i)| t * u[i as usize]).sum();
                assert!((at_nodes - at_unknowns).abs() < 1e-13);
            }
            let mut out = vec![0.0; system.size()];
            map.scatter(&v, &mut out);
            let here: f64 = gathered.iter().zip(&v).map(|(a, b)| a * b).sum();
            let there: f64 = out.iter().zip(&u).map(|(a, b)| a * b).sum();
            assert!((here - there).abs() < 1e-12);
        }
    }

    /// All metal without polarization: the Hessian that Newton's method would factor.
    fn hessian(system: &System) -> Symmetric {
        let mut matrix = system.constant.clone();
        for (metal, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
            let mut k = vec![0.0; map.positions.len()];
            for (q, t) in (metal.first..metal.end).zip(map.traces()) {
                let q = &system.boundary.points[q];
                rank_one(&mut k, t, q.weight / q.series);
            }
            for (&p, v) in map.positions.iter().zip(&k) {
                matrix.values_mut()[p as usize] += v;
            }
        }
        matrix
    }

    fn is_definite(system: &System) -> bool {
        let matrix = hessian(system);
        Direct::new(&matrix).and_then(|mut d| d.factor(&matrix)).is_ok()
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..Default::default() })]
        #[test]
        fn the_matrix_is_positive_definite_wherever_metal_cuts_the_cells(
            x in 0.05..0.15, y in 0.045..0.055, radii in prop::collection::vec(0.012..0.042, 3..9),
            fine in 0u8..3,
        ) {
            let outline = polygon(&star([x, y], &radii));
            let layout = layout(vec![body("part", Role::Part, outline, linear(1e-3))]);
            let g = grid(&layout, 2, 3 + fine, 4 + fine);
            let cells = Cells::new(&g.mesh, &g.domain, GAMMA);
            for degree in [Degree::One, Degree::Two] {
                prop_assert!(is_definite(&System::new(&cells, degree)), "{degree:?}");
            }
        }
    }

    #[test]
    fn far_too_thick_layers_make_an_indefinite_matrix() {
        // so that the test above can fail: thirty times the layer is too much
        let outline = polygon(&star([0.09, 0.05], &[0.04, 0.02, 0.031, 0.026, 0.037]));
        let layout = layout(vec![body("part", Role::Part, outline, ideal())]);
        let g = grid(&layout, 2, 4, 5);
        let cells = Cells::new(&g.mesh, &g.domain, 30.0 * GAMMA);
        assert!(!is_definite(&System::new(&cells, Degree::Two)));
    }
}
