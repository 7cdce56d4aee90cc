//! Pieces of bath and how they hang together.
//!
//! Every connected piece of bath in every cell is a node of this graph; two pieces are linked
//! where the open parts of their common cell side overlap. What is not linked has nothing to do
//! with each other, however near it lies.

use std::sync::Arc;

use super::clip::Piece;
use super::lattice::Cell;
use super::tree::{Neighbour, Tree};
use crate::domain::{Domain, Tag};

/// A piece of bath with its place in the tree.
#[derive(Debug, Clone)]
pub(crate) struct MeshPiece {
    pub(crate) leaf: usize,
    pub(crate) cell: Cell,
    pieces: Arc<[Piece]>,
    slot: usize,
}

impl MeshPiece {
    pub(crate) fn piece(&self) -> &Piece {
        &self.pieces[self.slot]
    }
}

/// Two pieces that share an open part of a cell side.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Link {
    /// The finer piece, or either of two of the same level.
    pub(crate) a: usize,
    /// The coarser piece.
    pub(crate) b: usize,
    /// Side of `a` (0 bottom, 1 right, 2 top, 3 left); `b`'s is the opposite one.
    pub(crate) side: usize,
    /// Which half of `b`'s side `a` covers; `None` if the levels are equal.
    pub(crate) half: Option<usize>,
}

/// The graph of pieces.
#[derive(Debug, Clone)]
pub(crate) struct Mesh {
    pub(crate) pieces: Vec<MeshPiece>,
    pub(crate) links: Vec<Link>,
    /// First piece of each leaf; one more entry at the end.
    pub(crate) first: Vec<usize>,
}

/// Shares of a side shorter than this (of the cell's side) are rounding, not openings.
const HAIR: f64 = 1e-9;

fn overlap(a: &[[f64; 2]], b: &[[f64; 2]]) -> bool {
    a.iter().any(|p| b.iter().any(|q| p[1].min(q[1]) - p[0].max(q[0]) > HAIR))
}

impl Mesh {
    /// Lists the pieces of a tree and links them.
    pub(crate) fn new(tree: &Tree) -> Self {
        let mut pieces = Vec::new();
        let mut first = Vec::with_capacity(tree.leaves.len() + 1);
        for (i, leaf) in tree.leaves.iter().enumerate() {
            first.push(pieces.len());
            if let Some(list) = &leaf.pieces {
                for slot in 0..list.len() {
                    let pieces_of_leaf = Arc::clone(list);
                    pieces.push(MeshPiece {
                        leaf: i,
                        cell: leaf.cell,
                        pieces: pieces_of_leaf,
                        slot,
                    });
                }
            }
        }
        first.push(pieces.len());
        let mut mesh = Self { pieces, links: Vec::new(), first };
        mesh.link(tree);
        mesh
    }

    fn link(&mut self, tree: &Tree) {
        let index = tree.index();
        let mut links = Vec::with_capacity(2 * self.pieces.len());
        for (i, leaf) in tree.leaves.iter().enumerate() {
            for side in 0..4 {
                match index.across(leaf.cell, side) {
                    // each pair once
                    Neighbour::Same(j) if side == 1 || side == 2 => {
                        self.link_pair(i, j, side, None, &mut links);
                    }
                    Neighbour::Coarser(j) => {
                        let along =
                            if side.is_multiple_of(2) { leaf.cell.ix } else { leaf.cell.iy };
                        self.link_pair(i, j, side, Some(along as usize % 2), &mut links);
                    }
                    _ => {}
                }
            }
        }
        self.links = links;
    }

    fn link_pair(
        &self,
        i: usize,
        j: usize,
        side: usize,
        half: Option<usize>,
        links: &mut Vec<Link>,
    ) {
        let opposite = (side + 2) % 4;
        for a in self.first[i]..self.first[i + 1] {
            for b in self.first[j]..self.first[j + 1] {
                let (p, q) = (self.pieces[a].piece(), self.pieces[b].piece());
                if p.material != q.material {
                    continue;
                }
                let open = match half {
                    None => overlap(&p.sides[side], &q.sides[opposite]),
                    Some(h) => {
                        // the coarse side in the fine side's measure
                        let fine: Vec<[f64; 2]> = q.sides[opposite]
                            .iter()
                            .map(|s| s.map(|x| 2.0 * x - h as f64))
                            .collect();
                        overlap(&p.sides[side], &fine)
                    }
                };
                if open {
                    links.push(Link { a, b, side, half });
                }
            }
        }
    }

    /// Drops every piece for which `keep` is false, and its links.
    pub(crate) fn retain(&mut self, keep: &[bool]) {
        let mut new_index = vec![usize::MAX; self.pieces.len()];
        let mut kept = Vec::with_capacity(self.pieces.len());
        for (i, p) in self.pieces.drain(..).enumerate() {
            if keep[i] {
                new_index[i] = kept.len();
                kept.push(p);
            }
        }
        let mut before = vec![0; keep.len() + 1];
        for (i, &k) in keep.iter().enumerate() {
            before[i + 1] = before[i] + usize::from(k);
        }
        for f in &mut self.first {
            *f = before[*f];
        }
        self.pieces = kept;
        self.links.retain_mut(|l| {
            l.a = new_index[l.a];
            l.b = new_index[l.b];
            l.a != usize::MAX && l.b != usize::MAX
        });
    }

    /// For every piece the number of its connected pool of bath (screens included), from 0.
    pub(crate) fn pools(&self, domain: &Domain) -> Vec<usize> {
        let mut sets = crate::union::Sets::new(self.pieces.len());
        for l in &self.links {
            sets.join(l.a, l.b);
        }
        // across the border of a screen, within a cell
        for w in self.first.windows(2) {
            let touching = (w[0]..w[1]).filter(|&p| self.has_interface(p, domain));
            let touching: Vec<usize> = touching.collect();
            for pair in touching.windows(2) {
                sets.join(pair[0], pair[1]);
            }
        }
        let mut number = vec![usize::MAX; self.pieces.len()];
        let mut count = 0;
        (0..self.pieces.len())
            .map(|i| {
                let root = sets.find(i);
                if number[root] == usize::MAX {
                    number[root] = count;
                    count += 1;
                }
                number[root]
            })
            .collect()
    }

    fn has_interface(&self, p: usize, domain: &Domain) -> bool {
        self.edges_of(p).any(|e| domain.edges[e as usize].tag == Tag::Interface)
    }

    /// Boundary edges along a piece, each with the length of its run, in cell sides, and the run's
    /// middle in the cell.
    pub(crate) fn runs_of(&self, p: usize) -> impl Iterator<Item = (u32, f64, [f64; 2])> + '_ {
        self.pieces[p].piece().loops.iter().flat_map(|lp| {
            lp.iter().enumerate().filter_map(|(k, c)| {
                let next = lp[(k + 1) % lp.len()].at;
                let middle = [0.5 * (c.at[0] + next[0]), 0.5 * (c.at[1] + next[1])];
                Some((c.edge?, (next[0] - c.at[0]).hypot(next[1] - c.at[1]), middle))
            })
        })
    }

    /// Boundary edges along a piece.
    pub(crate) fn edges_of(&self, p: usize) -> impl Iterator<Item = u32> + '_ {
        self.pieces[p].piece().loops.iter().flatten().filter_map(|c| c.edge)
    }
}

#[cfg(test)]
mod tests {
    use shapes::{Outline, Point};

    use super::*;
    use crate::layout::Role;
    use crate::sample::{body, grid, ideal, layout, rect, two_blocks};

    #[test]
    fn links_join_cells_that_share_a_side() {
        let g = grid(&two_blocks(), 2, 4, 7);
        for l in &g.mesh.links {
            let (a, b) = (g.mesh.pieces[l.a].cell, g.mesh.pieces[l.b].cell);
            assert_eq!(a.level - b.level, u8::from(l.half.is_some()));
            let axis = if l.side % 2 == 0 { 1 } else { 0 };
            let (here, there) = if l.side == 1 || l.side == 2 {
                (a.high()[axis], b.low()[axis])
            } else {
                (a.low()[axis], b.high()[axis])
            };
            assert_eq!(here, there);
            // along the side the finer cell lies in the half that the link names
            let at = (a.low()[1 - axis] - b.low()[1 - axis]) / a.ticks();
            assert_eq!(at, l.half.unwrap_or(0) as i64);
        }
    }

    #[test]
    fn runs_along_a_body_add_up_to_its_perimeter() {
        let layout = two_blocks();
        let g = grid(&layout, 3, 5, 6);
        let mut sums = [0.0; 2];
        for p in 0..g.mesh.pieces.len() {
            let side = g.domain.lattice.cell_m(g.mesh.pieces[p].cell.level);
            for (e, length, _) in g.mesh.runs_of(p) {
                if let Tag::Metal { body, .. } = g.domain.edges[e as usize].tag {
                    sums[body as usize] += side * length;
                }
            }
        }
        for (sum, b) in sums.iter().zip(&layout.bodies) {
            assert!((sum - b.outline.perimeter()).abs() < 1e-6);
        }
    }

    #[test]
    fn a_closed_tube_parts_the_bath_in_two_pools_and_a_cut_one_does_not() {
        let tube = Outline::ring(Point::new(0.1, 0.05), 0.03, 0.027).unwrap();
        let closed = layout(vec![body("tube", Role::Part, tube, ideal())]);
        // the wall is a fifth of a cell thick
        let g = grid(&closed, 3, 4, 4);
        assert_eq!(g.mesh.pools(&g.domain).iter().max(), Some(&1));
        let sheet = layout(vec![body("sheet", Role::Part, rect(0.1, -0.01, 0.101, 0.09), ideal())]);
        let g = grid(&sheet, 3, 4, 4);
        assert_eq!(g.mesh.pools(&g.domain).iter().max(), Some(&0));
    }

    #[test]
    fn what_is_not_kept_leaves_no_link_behind() {
        let g = grid(&two_blocks(), 3, 4, 5);
        let mut mesh = (*g.mesh).clone();
        let keep: Vec<bool> = (0..mesh.pieces.len()).map(|p| p % 3 != 1).collect();
        mesh.retain(&keep);
        let kept: Vec<usize> = (0..keep.len()).filter(|&p| keep[p]).collect();
        assert_eq!(mesh.pieces.len(), kept.len());
        for (new, &old) in mesh.pieces.iter().zip(&kept) {
            assert_eq!((new.cell, new.leaf), (g.mesh.pieces[old].cell, g.mesh.pieces[old].leaf));
        }
        for (leaf, w) in mesh.first.windows(2).enumerate() {
            assert!(mesh.pieces[w[0]..w[1]].iter().all(|p| p.leaf == leaf));
        }
        assert_eq!(mesh.first[mesh.first.len() - 1], mesh.pieces.len());
        let before = g.mesh.links.iter().filter(|l| keep[l.a] && keep[l.b]);
        let before: Vec<_> = before.map(|l| (l.a, l.b)).collect();
        let after: Vec<_> = mesh.links.iter().map(|l| (kept[l.a], kept[l.b])).collect();
        assert_eq!(before, after);
    }
}
