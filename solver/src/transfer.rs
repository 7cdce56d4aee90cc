//! A solution of one grid as the start on the next.

use crate::grid::lattice::Cell;
use crate::grid::mesh::Mesh;
use crate::grid::tree::Index;
use crate::level::Level;
use crate::system::assemble::System;
use crate::system::basis::{NODES, shape};
use crate::system::numbering::Numbering;

/// Values of `u` (on `from`) at the unknowns of another numbering of the same mesh.
pub(crate) fn same_mesh(from: &System, u: &[f64], to: &Numbering) -> Vec<f64> {
    let mut out = vec![0.0; to.unknowns];
    for p in 0..from.mesh.pieces.len() {
        set(to, p, &from.numbering.gather(u, p), &mut out);
    }
    out
}

/// Where node `k` of a cell is, ticks.
pub(crate) fn node(cell: Cell, k: usize) -> [f64; 2] {
    let (low, half) = (cell.low(), 0.5 * cell.ticks() as f64);
    [low[0] as f64 + half * (k % 3) as f64, low[1] as f64 + half * (k / 3) as f64]
}

/// Node values become unknowns where a node is an unknown.
pub(crate) fn set(to: &Numbering, piece: usize, values: &[f64; NODES], out: &mut [f64]) {
    for (k, v) in values.iter().enumerate() {
        if let [(i, c)] = to.terms(piece, k)
            && *c == 1.0
        {
            out[*i as usize] = *v;
        }
    }
}

/// The answer of a coarser level at the unknowns of a finer mesh.
pub(crate) fn finer(coarse: &Level, fine: &Mesh, to: &Numbering) -> Vec<f64> {
    let (from, u) = (&coarse.system.numbering, &coarse.solved.state.u);
    carry(&coarse.tree.index(), &coarse.mesh, from, u, fine, to)
}

/// Values of `u` (on `from`, of `mesh`) at the unknowns of a finer mesh.
fn carry(
    index: &Index,
    mesh: &Mesh,
    from: &Numbering,
    u: &[f64],
    fine: &Mesh,
    to: &Numbering,
) -> Vec<f64> {
    let mut out = vec![0.0; to.unknowns];
    for (p, piece) in fine.pieces.iter().enumerate() {
        let Some(old) = ancestor(index, mesh, piece.cell, fine, p) else { continue };
        let nodal = from.gather(u, old);
        let coarse = mesh.pieces[old].cell;
        let values: [f64; NODES] = std::array::from_fn(|k| {
            let at = node(piece.cell, k);
            let (n, _) = shape(coarse.local(at));
            n.iter().zip(&nodal).map(|(n, v)| n * v).sum()
        });
        set(to, p, &values, &mut out);
    }
    out
}

/// The piece of the coarser mesh that holds piece `p` of the finer one.
fn ancestor(index: &Index, mesh: &Mesh, cell: Cell, fine: &Mesh, p: usize) -> Option<usize> {
    let mut up = cell;
    let leaf = loop {
        if let Some(i) = index.get(up) {
            break i;
        }
        if up.level == 0 {
            return None;
        }
        up = up.parent();
    };
    let (first, end) = (mesh.first[leaf], mesh.first[leaf + 1]);
    let piece = fine.pieces[p].piece();
    let same: Vec<usize> =
        (first..end).filter(|&q| mesh.pieces[q].piece().material == piece.material).collect();
    if same.len() > 1 {
        // a point of the new piece decides
        let inner = inner_point(piece);
        let (low, size) = (cell.low(), cell.ticks() as f64);
        let at = [low[0] as f64 + inner[0] * size, low[1] as f64 + inner[1] * size];
        let local = up.local(at);
        if let Some(&q) = same.iter().find(|&&q| mesh.pieces[q].piece().contains(local)) {
            return Some(q);
        }
    }
    same.first().copied()
}

/// A point a little inside a piece: beside the middle of its longest side.
pub(crate) fn inner_point(piece: &crate::grid::clip::Piece) -> [f64; 2] {
    let mut best = ([0.5, 0.5], 0.0);
    for lp in &piece.loops {
        for (k, c) in lp.iter().enumerate() {
            let (a, b) = (c.at, lp[(k + 1) % lp.len()].at);
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let len = dx.hypot(dy);
            if len > best.1 {
                // the bath is on the left
                let off = 1e-6;
                let mid = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
                best = ([mid[0] - off * dy / len, mid[1] + off * dx / len], len);
            }
        }
    }
    best.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{Grid, bilinear, biquadratic, grid, levels, node, two_blocks};
    use crate::system::assemble::{Cells, GAMMA};
    use crate::system::numbering::Degree;

    /// Unknowns that carry the values of a function at their nodes.
    fn sampled(mesh: &Mesh, numbering: &Numbering, f: fn([f64; 2]) -> f64) -> Vec<f64> {
        let mut u = vec![f64::NAN; numbering.unknowns];
        for (p, piece) in mesh.pieces.iter().enumerate() {
            set(numbering, p, &std::array::from_fn(|k| f(node(piece.cell, k))), &mut u);
        }
        u
    }

    fn worst(a: &[f64], b: &[f64]) -> f64 {
        assert!(a.iter().chain(b).all(|x| x.is_finite()));
        a.iter().zip(b).fold(0.0, |w, (a, b)| w.max((a - b).abs()))
    }

    #[test]
    fn a_biquadratic_polynomial_reaches_a_finer_tree_unchanged() {
        let g: Grid = grid(&two_blocks(), 3, 4, 5);
        let marked: Vec<u8> = (0..g.tree.leaves.len()).map(|i| [0, 1, 2][i % 3]).collect();
        let finer = g.tree.refine(&g.domain, &levels(&g.domain, 3, 4, 5), &marked);
        let fine = Mesh::new(&finer);
        assert!(fine.pieces.len() > 2 * g.mesh.pieces.len());
        let (from, to) = (Numbering::new(&g.mesh, Degree::Two), Numbering::new(&fine, Degree::Two));
        for (f, limit) in [(biquadratic as fn([f64; 2]) -> f64, 1e-13), (bilinear, 1e-13)] {
            let u = sampled(&g.mesh, &from, f);
            let carried = carry(&g.tree.index(), &g.mesh, &from, &u, &fine, &to);
            assert!(worst(&carried, &sampled(&fine, &to, f)) < limit);
        }
    }

    #[test]
    fn a_bilinear_answer_becomes_the_same_function_at_degree_two() {
        let g = grid(&two_blocks(), 3, 4, 5);
        let low = System::new(&Cells::new(&g.mesh, &g.domain, GAMMA), Degree::One);
        let to = Numbering::new(&g.mesh, Degree::Two);
        let u = sampled(&g.mesh, &low.numbering, bilinear);
        assert!(worst(&same_mesh(&low, &u, &to), &sampled(&g.mesh, &to, bilinear)) < 1e-13);
    }
}
