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

    /// Boundary edges along a piece, each with the length of its run, in cell sides.
    pub(crate) fn runs_of(&self, p: usize) -> impl Iterator<Item = (u32, f64)> + '_ {
        self.pieces[p].piece().loops.iter().flat_map(|lp| {
            lp.iter().enumerate().filter_map(|(k, c)| {
                let next = lp[(k + 1) % lp.len()].at;
                Some((c.edge?, (next[0] - c.at[0]).hypot(next[1] - c.at[1])))
            })
        })
    }

    /// Boundary edges along a piece.
    pub(crate) fn edges_of(&self, p: usize) -> impl Iterator<Item = u32> + '_ {
        self.pieces[p].piece().loops.iter().flatten().filter_map(|c| c.edge)
    }
}
