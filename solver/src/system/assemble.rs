//! The discrete equations of one grid: minimum of one strictly convex energy.
//!
//! What does not depend on the potential (cell energy, ghost penalty, screen borders, the
//! constant part of the boundary term) is summed once; a Newton step adds the metal points only.

use std::sync::Arc;

use super::basis::{NODES, PAIRS, pair, stiffness};
use super::boundary::Boundary;
use super::ghost::{Roots, penalty};
use super::linear::{Symmetric, Triplets};
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

/// One grid's equations.
pub(crate) struct System {
    pub(crate) mesh: Arc<Mesh>,
    pub(crate) domain: Arc<Domain>,
    pub(crate) numbering: Numbering,
    pub(crate) boundary: Boundary,
    /// The part of the Hessian that never changes.
    pub(crate) constant: Symmetric,
    /// Node-to-unknown maps of the pieces with metal, in the order of `boundary.metal`.
    pub(crate) metal_maps: Vec<Map>,
}

/// How the nodes of one or two pieces are made of unknowns, with their places in the matrix.
#[derive(Debug, Clone)]
pub(crate) struct Map {
    pub(crate) unknowns: Vec<u32>,
    /// Coefficients, node by node, `unknowns.len()` each; empty if node k is unknown k.
    coefficients: Vec<f64>,
    /// Place of the upper triangle of the unknowns in the matrix values, by rows.
    positions: Vec<u32>,
}

impl Map {
    fn new(numbering: &Numbering, pieces: &[usize]) -> Self {
        let nodes = || pieces.iter().flat_map(|&p| (0..NODES).map(move |k| (p, k)));
        let plain = nodes().all(|(p, k)| {
            let t = numbering.terms(p, k);
            t.len() == 1 && t[0].1 == 1.0
        });
        if plain && pieces.len() == 1 {
            let unknowns = nodes().map(|(p, k)| numbering.terms(p, k)[0].0).collect();
            return Self { unknowns, coefficients: Vec::new(), positions: Vec::new() };
        }
        let mut unknowns: Vec<u32> = Vec::with_capacity(NODES * pieces.len());
        for (p, k) in nodes() {
            unknowns.extend(numbering.terms(p, k).iter().map(|t| t.0));
        }
        unknowns.sort_unstable();
        unknowns.dedup();
        let m = unknowns.len();
        let mut coefficients = vec![0.0; m * NODES * pieces.len()];
        for (row, (p, k)) in nodes().enumerate() {
            for &(i, c) in numbering.terms(p, k) {
                if let Ok(col) = unknowns.binary_search(&i) {
                    coefficients[row * m + col] = c;
                }
            }
        }
        Self { unknowns, coefficients, positions: Vec::new() }
    }

    /// Tᵀ K T for a symmetric K over the nodes, given by `entry`; full, row by row.
    fn condense(&self, nodes: usize, entry: impl Fn(usize, usize) -> f64) -> Vec<f64> {
        let m = self.unknowns.len();
        let mut out = vec![0.0; m * m];
        if self.coefficients.is_empty() {
            for a in 0..m {
                for b in 0..m {
                    out[a * m + b] = entry(a, b);
                }
            }
            return out;
        }
        let t = &self.coefficients;
        let mut half = vec![0.0; m];
        for a in 0..nodes {
            half.fill(0.0);
            for b in 0..nodes {
                let k = entry(a, b);
                for (h, c) in half.iter_mut().zip(&t[b * m..(b + 1) * m]) {
                    *h += k * c;
                }
            }
            for (i, &ci) in t[a * m..(a + 1) * m].iter().enumerate() {
                if ci != 0.0 {
                    for (o, h) in out[i * m..(i + 1) * m].iter_mut().zip(&half) {
                        *o += ci * h;
                    }
                }
            }
        }
        out
    }

    /// Adds Tᵀ v over the nodes to the unknowns.
    pub(crate) fn scatter(&self, v: &[f64; NODES], out: &mut [f64]) {
        let m = self.unknowns.len();
        if self.coefficients.is_empty() {
            for (&i, x) in self.unknowns.iter().zip(v) {
                out[i as usize] += x;
            }
            return;
        }
        for (col, &i) in self.unknowns.iter().enumerate() {
            let sum: f64 = (0..NODES).map(|k| self.coefficients[k * m + col] * v[k]).sum();
            out[i as usize] += sum;
        }
    }

    /// T u: values at the nodes.
    pub(crate) fn gather(&self, u: &[f64]) -> [f64; NODES] {
        let m = self.unknowns.len();
        if self.coefficients.is_empty() {
            return std::array::from_fn(|k| u[self.unknowns[k] as usize]);
        }
        std::array::from_fn(|k| {
            let row = &self.coefficients[k * m..(k + 1) * m];
            row.iter().zip(&self.unknowns).map(|(c, &i)| c * u[i as usize]).sum()
        })
    }

    /// Adds a symmetric matrix over the nodes to the matrix values.
    pub(crate) fn scatter_matrix(&self, k: &[f64; PAIRS], values: &mut [f64]) {
        let m = self.unknowns.len();
        let full = self.condense(NODES, |a, b| k[pair(a, b)]);
        let mut place = self.positions.iter();
        for a in 0..m {
            for b in a..m {
                if let Some(&p) = place.next() {
                    values[p as usize] += full[a * m + b];
                }
            }
        }
    }
}

impl System {
    /// Sets up the equations of `mesh` at `degree` with layers `gamma` thick.
    pub(crate) fn new(mesh: &Arc<Mesh>, domain: &Arc<Domain>, degree: Degree, gamma: f64) -> Self {
        let numbering = Numbering::new(mesh, degree);
        let roots = Roots::new(mesh);
        let boundary = Boundary::new(mesh, domain, &roots, gamma);
        let mut triplets = Triplets::default();
        let mut add = |map: &Map, full: &[f64]| {
            let m = map.unknowns.len();
            for a in 0..m {
                for b in a..m {
                    triplets.push(map.unknowns[a], map.unknowns[b], full[a * m + b]);
                }
            }
        };
        let kappa_of = |p: usize| domain.kappa[mesh.pieces[p].piece().material as usize];
        let mut metal = boundary.metal.iter().peekable();
        let mut metal_maps = Vec::with_capacity(boundary.metal.len());
        for (p, piece) in mesh.pieces.iter().enumerate() {
            let kappa = kappa_of(p);
            let mut k = stiffness(piece.piece()).map(|x| kappa * x);
            let map = Map::new(&numbering, &[p]);
            let on_metal = metal.next_if(|m| m.piece == p);
            if let Some(m) = on_metal {
                for q in &boundary.points[m.first..m.end] {
                    rank_one(&mut k, &q.g, -q.weight / q.series);
                }
            }
            add(&map, &map.condense(NODES, |a, b| k[pair(a, b)]));
            if on_metal.is_some() {
                metal_maps.push(map);
            }
            if let Some(r) = roots.get(p) {
                let g = penalty(piece.cell, mesh.pieces[r].cell, GHOST * kappa);
                let map = Map::new(&numbering, &[p, r]);
                add(&map, &map.condense(2 * NODES, |a, b| g[a][b]));
            }
        }
        for group in boundary.interface.chunk_by(|a, b| a.pieces == b.pieces) {
            let map = Map::new(&numbering, &group[0].pieces);
            let mut k = vec![0.0; 4 * NODES * NODES];
            for q in group {
                let total = q.series[0] + q.series[1];
                let jump: [f64; 2 * NODES] =
                    std::array::from_fn(|i| if i < NODES { q.m[0][i] } else { -q.m[1][i - NODES] });
                for a in 0..2 * NODES {
                    for b in 0..2 * NODES {
                        let mut v = jump[a] * jump[b] / total;
                        if (a < NODES) == (b < NODES) {
                            let side = usize::from(a >= NODES);
                            let (i, j) = (a - side * NODES, b - side * NODES);
                            v -= q.g[side][i] * q.g[side][j] / q.series[side];
                        }
                        k[a * 2 * NODES + b] += q.weight * v;
                    }
                }
            }
            add(&map, &map.condense(2 * NODES, |a, b| k[a * 2 * NODES + b]));
        }
        let constant = Symmetric::new(numbering.unknowns, &triplets);
        for map in &mut metal_maps {
            let n = map.unknowns.len();
            for a in 0..n {
                for b in a..n {
                    // every pair of a piece's unknowns was pushed above
                    let place = constant.position(map.unknowns[a], map.unknowns[b]);
                    map.positions.extend(place);
                }
            }
        }
        let (mesh, domain) = (Arc::clone(mesh), Arc::clone(domain));
        Self { mesh, domain, numbering, boundary, constant, metal_maps }
    }

    /// Number of field unknowns.
    pub(crate) fn size(&self) -> usize {
        self.constant.size()
    }
}

/// k += c v vᵀ, upper triangle.
pub(crate) fn rank_one(k: &mut [f64; PAIRS], v: &[f64; NODES], c: f64) {
    let mut i = 0;
    for a in 0..NODES {
        let ca = c * v[a];
        for vb in &v[a..] {
            k[i] += ca * vb;
            i += 1;
        }
    }
}
