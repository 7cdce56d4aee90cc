//! Small cut pieces lean on a larger neighbour, so that no cut can spoil the matrix.
//!
//! A piece with less than half of its cell is tied to a root, the linked neighbour with most
//! bath: g₀ κ ∫ |∇(u − E u_root)|² over the whole cell, E the continuation of the root's
//! polynomial. This is the weak form of cell aggregation of Badia, Neiva & Verdugo,
//! arXiv 2106.13728; it vanishes for constants, so that currents stay balanced exactly.

use super::basis::{NODES, PAIRS, line, pair, whole_stiffness};
use crate::grid::lattice::Cell;
use crate::grid::mesh::Mesh;

/// Below this share of its cell a piece gets a root.
const SMALL: f64 = 0.5;
/// A finer root extrapolates over more than its own size: it counts this much less.
const FINER: f64 = 0.3;

/// The root of each piece, if it has one.
#[derive(Debug, Clone)]
pub(crate) struct Roots(Vec<Option<usize>>);

impl Roots {
    /// Picks roots among linked neighbours.
    pub(crate) fn new(mesh: &Mesh) -> Self {
        let mut best: Vec<Option<(f64, usize)>> = vec![None; mesh.pieces.len()];
        let mut offer = |piece: usize, root: usize| {
            let (p, r) = (&mesh.pieces[piece], &mesh.pieces[root]);
            let (own, other) = (p.piece().fraction, r.piece().fraction);
            let finer = r.cell.level > p.cell.level;
            let score = if finer { FINER * other } else { other };
            if own < SMALL && score > own && best[piece].is_none_or(|b| score > b.0) {
                best[piece] = Some((score, root));
            }
        };
        for l in &mesh.links {
            offer(l.a, l.b);
            offer(l.b, l.a);
        }
        Self(best.into_iter().map(|b| b.map(|(_, r)| r)).collect())
    }

    pub(crate) fn get(&self, piece: usize) -> Option<usize> {
        self.0[piece]
    }

    /// Area of a piece's root in units of the piece's own cell; 0 without root.
    pub(crate) fn area(&self, mesh: &Mesh, piece: usize) -> f64 {
        self.0[piece].map_or(0.0, |r| {
            let levels =
                i32::from(mesh.pieces[piece].cell.level) - i32::from(mesh.pieces[r].cell.level);
            mesh.pieces[r].piece().fraction * libm::exp2(2.0 * f64::from(levels))
        })
    }
}

/// Values of the root cell's shape functions at the nine nodes of `cell`, row by node.
fn continuation(cell: Cell, root: Cell) -> [[f64; NODES]; NODES] {
    let axis = |k: usize| -> [[f64; 3]; 3] {
        let (low, size) = (cell.low()[k] as f64, cell.ticks() as f64);
        let (root_low, root_size) = (root.low()[k] as f64, root.ticks() as f64);
        std::array::from_fn(|i| line((low + 0.5 * i as f64 * size - root_low) / root_size).0)
    };
    let (x, y) = (axis(0), axis(1));
    std::array::from_fn(|a| std::array::from_fn(|b| x[a % 3][b % 3] * y[a / 3][b / 3]))
}

/// The penalty over the 18 nodes of (piece, root), full symmetric matrix, without κ.
pub(crate) fn penalty(cell: Cell, root: Cell, g0: f64) -> [[f64; 2 * NODES]; 2 * NODES] {
    let e = continuation(cell, root);
    let s = full(whole_stiffness());
    // difference matrix [1, −E]
    let d = |a: usize, b: usize| -> f64 {
        if b < NODES { f64::from(u8::from(a == b)) } else { -e[a][b - NODES] }
    };
    let sd: [[f64; 2 * NODES]; NODES] = std::array::from_fn(|a| {
        std::array::from_fn(|b| (0..NODES).map(|c| s[a][c] * d(c, b)).sum())
    });
    std::array::from_fn(|a| {
        std::array::from_fn(|b| g0 * (0..NODES).map(|c| d(c, a) * sd[c][b]).sum::<f64>())
    })
}

fn full(upper: &[f64; PAIRS]) -> [[f64; NODES]; NODES] {
    std::array::from_fn(|a| std::array::from_fn(|b| upper[pair(a, b)]))
}
