//! Small cut pieces lean on a larger neighbour, so that no cut can spoil the matrix.
//!
//! A piece with less than half of its cell is tied to a root, the linked neighbour with most
//! bath: g₀ κ ∫ |∇(u − E u_root)|² over the whole cell, E the continuation of the root's
//! polynomial. This is the weak form of cell aggregation of Badia, Neiva & Verdugo,
//! arXiv 2106.13728; it vanishes for constants, so that currents stay balanced exactly.

use super::basis::{NODES, PAIRS, line, pair, volume, whole_stiffness};
use crate::domain::Domain;
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

    /// Area of a piece's root, times the section's breadth, in units of the piece's own cell; 0
    /// without root.
    pub(crate) fn area(&self, mesh: &Mesh, domain: &Domain, piece: usize) -> f64 {
        self.0[piece].map_or(0.0, |r| {
            let root = &mesh.pieces[r];
            let levels = i32::from(mesh.pieces[piece].cell.level) - i32::from(root.cell.level);
            volume(root.piece(), domain.breadth(root.cell)) * libm::exp2(2.0 * f64::from(levels))
        })
    }
}

/// How a cell lies to that of its root, in units of the smaller of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Lie {
    size: i64,
    root_size: i64,
    /// From the root's lower left corner to the cell's.
    offset: [i64; 2],
}

impl Lie {
    pub(crate) fn new(cell: Cell, root: Cell) -> Self {
        let unit = cell.ticks().min(root.ticks());
        let (low, from) = (cell.low(), root.low());
        let offset = std::array::from_fn(|k| (low[k] - from[k]) / unit);
        Self { size: cell.ticks() / unit, root_size: root.ticks() / unit, offset }
    }
}

/// Values of the root cell's shape functions at the nine nodes of the cell, row by node.
fn continuation(lie: Lie) -> [[f64; NODES]; NODES] {
    let axis = |k: usize| -> [[f64; 3]; 3] {
        let place = |i: usize| lie.offset[k] as f64 + 0.5 * i as f64 * lie.size as f64;
        std::array::from_fn(|i| line(place(i) / lie.root_size as f64).0)
    };
    let (x, y) = (axis(0), axis(1));
    std::array::from_fn(|a| std::array::from_fn(|b| x[a % 3][b % 3] * y[a / 3][b / 3]))
}

/// The penalty over the 18 nodes of (piece, root), full symmetric matrix, without its weight.
pub(crate) fn penalty(lie: Lie) -> [[f64; 2 * NODES]; 2 * NODES] {
    let e = continuation(lie);
    let s = full(whole_stiffness());
    // of the difference [1, −E]: S, −S E and Eᵀ S E
    let across = product(&s, &e);
    let own = product(&std::array::from_fn(|a| e.map(|row| row[a])), &across);
    std::array::from_fn(|a| {
        std::array::from_fn(|b| match (a.checked_sub(NODES), b.checked_sub(NODES)) {
            (None, None) => s[a][b],
            (None, Some(b)) => -across[a][b],
            (Some(a), None) => -across[b][a],
            (Some(a), Some(b)) => own[a][b],
        })
    })
}

fn product(a: &[[f64; NODES]; NODES], b: &[[f64; NODES]; NODES]) -> [[f64; NODES]; NODES] {
    let mut out = [[0.0; NODES]; NODES];
    for (out, a) in out.iter_mut().zip(a) {
        for (a, b) in a.iter().zip(b) {
            out.iter_mut().zip(b).for_each(|(o, b)| *o += a * b);
        }
    }
    out
}

fn full(upper: &[f64; PAIRS]) -> [[f64; NODES]; NODES] {
    std::array::from_fn(|a| std::array::from_fn(|b| upper[pair(a, b)]))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::sample::{biquadratic, grid, node, two_blocks};

    const PIECE: Cell = Cell { level: 5, ix: 12, iy: 17 };
    /// Roots beside the piece: of its own level, one coarser, one finer.
    const ROOTS: [Cell; 3] = [
        Cell { level: 5, ix: 13, iy: 17 },
        Cell { level: 4, ix: 5, iy: 8 },
        Cell { level: 6, ix: 26, iy: 35 },
    ];

    fn apply(k: &[[f64; 2 * NODES]; 2 * NODES], v: &[f64; 2 * NODES]) -> [f64; 2 * NODES] {
        std::array::from_fn(|a| k[a].iter().zip(v).map(|(k, v)| k * v).sum())
    }

    fn joined(f: impl Fn(Cell, usize) -> f64, root: Cell) -> [f64; 2 * NODES] {
        std::array::from_fn(|a| if a < NODES { f(PIECE, a) } else { f(root, a - NODES) })
    }

    #[test]
    fn a_polynomial_continued_from_the_root_costs_nothing() {
        for root in ROOTS {
            let k = penalty(Lie::new(PIECE, root));
            let v = joined(|cell, k| biquadratic(node(cell, k)), root);
            // continuing a finer root's polynomial far out makes large entries that cancel
            let sizes: f64 = k[0].iter().zip(&v).map(|(k, v)| (k * v).abs()).sum();
            let worst = apply(&k, &v).iter().fold(0.0, |w: f64, x| w.max(x.abs()));
            assert!(worst < 1e-13 * sizes.max(1.0), "{root:?}: {worst} {sizes}");
        }
    }

    #[test]
    fn constants_cost_nothing_on_either_side() {
        // a step between piece and root has no gradient either
        for root in ROOTS {
            let k = penalty(Lie::new(PIECE, root));
            for (a, b) in [(1.0, 1.0), (1.0, 0.0), (0.0, 1.0)] {
                let v = joined(|cell, _| if cell == PIECE { a } else { b }, root);
                assert!(apply(&k, &v).iter().all(|x| 0.3 * x.abs() < 1e-12));
            }
        }
    }

    #[test]
    fn a_slope_of_one_against_a_flat_root_costs_its_energy() {
        // u − E u_root = x over the unit cell: ∫ |∇u|² = 1
        let k = penalty(Lie::new(PIECE, ROOTS[0]));
        let v = joined(|cell, k| if cell == PIECE { 0.5 * (k % 3) as f64 } else { 0.0 }, ROOTS[0]);
        let energy: f64 = apply(&k, &v).iter().zip(&v).map(|(a, b)| a * b).sum();
        assert!((energy - 1.0).abs() < 1e-13, "{energy}");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]
        #[test]
        fn the_penalty_is_never_negative(v in prop::array::uniform18(-1.0..1.0f64), r in 0..3usize) {
            let k = penalty(Lie::new(PIECE, ROOTS[r]));
            let energy: f64 = apply(&k, &v).iter().zip(&v).map(|(a, b)| a * b).sum();
            prop_assert!(energy > -1e-10);
        }
    }

    #[test]
    fn small_pieces_lean_on_a_larger_linked_neighbour_and_large_ones_on_nobody() {
        let g = grid(&two_blocks(), 3, 5, 7);
        let roots = Roots::new(&g.mesh);
        let mut leaning = 0;
        for (p, piece) in g.mesh.pieces.iter().enumerate() {
            let own = piece.piece().fraction;
            let Some(r) = roots.get(p) else { continue };
            leaning += 1;
            assert!(own < SMALL && g.mesh.pieces[r].piece().fraction > own);
            assert!(g.mesh.links.iter().any(|l| (l.a, l.b) == (p, r) || (l.a, l.b) == (r, p)));
            // area of the root in the piece's own cells
            let ratio = piece.cell.ticks() as f64 / g.mesh.pieces[r].cell.ticks() as f64;
            let area = g.mesh.pieces[r].piece().fraction / (ratio * ratio);
            assert!((roots.area(&g.mesh, &g.domain, p) - area).abs() < 1e-12);
        }
        assert!(leaning > 20);
    }
}
