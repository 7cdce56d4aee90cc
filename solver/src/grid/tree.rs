//! A graded quadtree: cells halve towards metal, corners and narrow gaps, neighbours differ by at
//! most one level.
//!
//! Which cells split depends on the boundary edges in them only; the 2:1 rule then grades the
//! rest, so that cell sizes grow about in proportion to the distance from the boundary and the
//! number of cells follows the length of the outlines, not the area of the tank.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};
use std::sync::Arc;

use super::clip::{self, Piece};
use super::lattice::{Cell, MAX_LEVEL};
use crate::domain::{Domain, Edge};

/// Mixes a few integers, those of a cell say; they come from geometry, not from an adversary.
#[derive(Default)]
pub(crate) struct CellHasher(u64);

impl Hasher for CellHasher {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, bytes: &[u8]) {
        for &b in bytes {
            self.write_u32(u32::from(b));
        }
    }
    fn write_u8(&mut self, v: u8) {
        self.write_u32(u32::from(v));
    }
    fn write_u32(&mut self, v: u32) {
        self.write_u64(u64::from(v));
    }
    fn write_i64(&mut self, v: i64) {
        self.write_u64(v as u64);
    }
    fn write_isize(&mut self, v: isize) {
        self.write_u64(v as u64);
    }
    fn write_u64(&mut self, v: u64) {
        // Fibonacci hashing (Knuth, The Art of Computer Programming 3, 6.4)
        self.0 = (self.0.rotate_left(23) ^ v).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        self.0 ^= self.0 >> 29;
    }
}

type CellMap<V> = HashMap<Cell, V, BuildHasherDefault<CellHasher>>;

/// Wanted levels on the boundary.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wanted {
    /// Least level of a cell that an edge meets.
    pub(crate) edge: Vec<u8>,
    /// Least level of the cell that holds the start vertex of an edge.
    pub(crate) vertex: Vec<u8>,
    /// Least level anywhere.
    pub(crate) floor: u8,
    /// Deepest level that a narrow gap may ask for.
    pub(crate) gap: u8,
}

/// A leaf of the tree.
#[derive(Debug, Clone)]
pub(crate) struct Leaf {
    pub(crate) cell: Cell,
    /// Boundary edges that meet it, sorted.
    pub(crate) edges: Vec<u32>,
    /// The bath in it, once cut; shared between successive grids.
    pub(crate) pieces: Option<Arc<[Piece]>>,
}

/// The leaves of a quadtree.
#[derive(Debug, Clone, Default)]
pub(crate) struct Tree {
    pub(crate) leaves: Vec<Leaf>,
}

/// The leaf or leaves across a side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Neighbour {
    /// One leaf of the same level.
    Same(usize),
    /// A leaf one level up; this cell's side is one half of that leaf's side.
    Coarser(usize),
    /// Two leaves one level down (listed by themselves).
    Finer,
    /// Nothing: the rim of the root square.
    None,
}

impl Tree {
    /// Splits the root until every wanted level is met, then balances; `None` if that takes more
    /// than `most` leaves.
    pub(crate) fn within(domain: &Domain, wanted: &Wanted, most: usize) -> Option<Self> {
        let all: Vec<u32> = (0..domain.edges.len() as u32).collect();
        let mut builder = Builder::new(domain, wanted, most);
        builder.insert(Leaf { cell: Cell::ROOT, edges: all, pieces: None });
        builder.grow((0..1).collect());
        (builder.leaves.len() <= most).then(|| builder.finish())
    }

    /// Splits the leaves marked (those marked twice again where boundary runs through) and
    /// balances; the others keep their cut pieces.
    pub(crate) fn refine(&self, domain: &Domain, wanted: &Wanted, marked: &[u8]) -> Self {
        let mut builder = Builder::new(domain, wanted, usize::MAX);
        for leaf in &self.leaves {
            let mut up = leaf.cell;
            while up.level > 0 && !builder.index.contains_key(&up.parent()) {
                up = up.parent();
                builder.index.insert(up, INNER);
            }
            builder.insert(leaf.clone());
        }
        let mut fresh = Vec::new();
        for (i, &m) in marked.iter().enumerate() {
            if m > 0 && builder.leaves[i].cell.level < MAX_LEVEL {
                for child in builder.split(i) {
                    let deeper = m > 1 && !builder.leaves[child].edges.is_empty();
                    if deeper && builder.leaves[child].cell.level < MAX_LEVEL {
                        fresh.extend(builder.split(child));
                    } else {
                        fresh.push(child);
                    }
                }
            }
        }
        builder.grow(fresh);
        builder.finish()
    }

    /// Index of every leaf by its cell.
    pub(crate) fn index(&self) -> Index {
        Index::of(self.leaves.iter().map(|l| l.cell))
    }
}

/// Finds leaves by cell.
pub(crate) struct Index(CellMap<usize>);

impl Index {
    /// Index of leaves in the order of `cells`.
    pub(crate) fn of(cells: impl Iterator<Item = Cell>) -> Self {
        Self(cells.enumerate().map(|(i, cell)| (cell, i)).collect())
    }

    /// The leaf across side `side` (0 bottom, 1 right, 2 top, 3 left) of a leaf's cell.
    pub(crate) fn across(&self, cell: Cell, side: usize) -> Neighbour {
        let (dx, dy) = [(0, -1), (1, 0), (0, 1), (-1, 0)][side];
        let Some(n) = cell.offset(dx, dy) else { return Neighbour::None };
        if let Some(&i) = self.0.get(&n) {
            return Neighbour::Same(i);
        }
        if n.level > 0
            && let Some(&i) = self.0.get(&n.parent())
        {
            return Neighbour::Coarser(i);
        }
        Neighbour::Finer
    }

    pub(crate) fn get(&self, cell: Cell) -> Option<usize> {
        self.0.get(&cell).copied()
    }
}

/// Mark of a cell that has been split.
const INNER: usize = usize::MAX;

struct Builder<'a> {
    domain: &'a Domain,
    wanted: &'a Wanted,
    leaves: Vec<Leaf>,
    /// Slot of every leaf, [`INNER`] for every split cell.
    index: CellMap<usize>,
    /// With more leaves than this it stops: the tree is of no use.
    most: usize,
}

impl<'a> Builder<'a> {
    fn new(domain: &'a Domain, wanted: &'a Wanted, most: usize) -> Self {
        Self { domain, wanted, leaves: Vec::new(), index: CellMap::default(), most }
    }

    fn insert(&mut self, leaf: Leaf) -> usize {
        self.index.insert(leaf.cell, self.leaves.len());
        self.leaves.push(leaf);
        self.leaves.len() - 1
    }

    /// Replaces leaf `i` by its children; the first child takes its slot.
    fn split(&mut self, i: usize) -> [usize; 4] {
        let parent = self.leaves[i].cell;
        let all = std::mem::take(&mut self.leaves[i].edges);
        self.index.insert(parent, INNER);
        let mut slots = [i; 4];
        for (k, cell) in parent.children().into_iter().enumerate() {
            let edges = all
                .iter()
                .copied()
                .filter(|&e| clip::meets(cell, &self.domain.edges[e as usize]))
                .collect();
            let leaf = Leaf { cell, edges, pieces: None };
            if k == 0 {
                self.index.insert(cell, i);
                self.leaves[i] = leaf;
            } else {
                slots[k] = self.insert(leaf);
            }
        }
        slots
    }

    /// Splits leaves until all wanted levels are met, then until neighbours differ by one level.
    fn grow(&mut self, mut todo: Vec<usize>) {
        while let Some(i) = todo.pop() {
            if self.leaves.len() > self.most {
                continue;
            }
            if self.too_coarse(i) {
                todo.extend(self.split(i));
            }
        }
        if self.leaves.len() <= self.most {
            self.balance();
        }
    }

    /// True if a leaf is to be split; one that is kept may have been cut to find out.
    fn too_coarse(&mut self, i: usize) -> bool {
        let leaf = &self.leaves[i];
        let level = leaf.cell.level;
        if level < self.wanted.floor {
            return true;
        }
        let (low, high) = (leaf.cell.low(), leaf.cell.high());
        let holds = |e: &Edge| (0..2).all(|k| e.a[k] > low[k] && e.a[k] < high[k]);
        let asked = leaf.edges.iter().any(|&e| {
            let i = e as usize;
            self.wanted.edge[i] > level
                || (self.wanted.vertex[i] > level && holds(&self.domain.edges[i]))
        });
        if asked {
            return level < MAX_LEVEL;
        }
        if level >= self.wanted.gap || leaf.edges.len() < 2 {
            return false;
        }
        let pieces = cut(self.domain, leaf);
        let narrow = pieces.iter().any(|p| p.narrow);
        if !narrow {
            self.leaves[i].pieces = Some(pieces.into());
        }
        narrow
    }

    fn balance(&mut self) {
        let deepest = self.leaves.iter().map(|l| l.cell.level).max().unwrap_or(0);
        let mut by_level: Vec<Vec<Cell>> = vec![Vec::new(); deepest as usize + 1];
        for l in &self.leaves {
            by_level[l.cell.level as usize].push(l.cell);
        }
        for level in (2..=deepest as usize).rev() {
            let cells = std::mem::take(&mut by_level[level]);
            for cell in cells {
                for (dx, dy) in [(0, -1), (-1, 0), (1, 0), (0, 1)] {
                    let Some(n) = cell.offset(dx, dy) else { continue };
                    self.ensure(n.parent(), &mut by_level);
                }
            }
        }
    }

    /// Splits until no leaf is coarser than `cell` where `cell` lies.
    fn ensure(&mut self, cell: Cell, by_level: &mut [Vec<Cell>]) {
        let mut at = cell;
        while !self.index.contains_key(&at) && at.level > 0 {
            at = at.parent();
        }
        while at.level < cell.level {
            let Some(&i) = self.index.get(&at) else { return };
            if i == INNER {
                return;
            }
            for k in self.split(i) {
                let c = self.leaves[k].cell;
                by_level[c.level as usize].push(c);
            }
            let up = u32::from(cell.level - at.level - 1);
            at = Cell { level: at.level + 1, ix: cell.ix >> up, iy: cell.iy >> up };
        }
    }

    fn finish(mut self) -> Tree {
        self.leaves.sort_by_cached_key(|l| morton(l.cell));
        let domain = self.domain;
        for leaf in &mut self.leaves {
            if leaf.pieces.is_none() && !leaf.edges.is_empty() {
                leaf.pieces = Some(cut(domain, leaf).into());
            }
        }
        let mut tree = Tree { leaves: self.leaves };
        tree.flood();
        tree
    }
}

/// All pieces of all materials in a leaf that edges meet.
fn cut(domain: &Domain, leaf: &Leaf) -> Vec<Piece> {
    let mut out = Vec::new();
    for material in 0..domain.kappa.len() as u16 {
        let ids: Vec<u32> = leaf
            .edges
            .iter()
            .copied()
            .filter(|&e| domain.edges[e as usize].material == material)
            .collect();
        if !ids.is_empty() {
            out.extend(clip::pieces(leaf.cell, &domain.edges, &ids, material));
        }
    }
    out
}

/// Position along the Z-order curve, so that neighbours in space are near in memory.
fn morton(cell: Cell) -> (u64, u8) {
    let spread = |v: u32| {
        let mut x = u64::from(v) << (u32::from(MAX_LEVEL) - u32::from(cell.level));
        x = (x | (x << 16)) & 0x0000_ffff_0000_ffff;
        x = (x | (x << 8)) & 0x00ff_00ff_00ff_00ff;
        x = (x | (x << 4)) & 0x0f0f_0f0f_0f0f_0f0f;
        x = (x | (x << 2)) & 0x3333_3333_3333_3333;
        (x | (x << 1)) & 0x5555_5555_5555_5555
    };
    (spread(cell.ix) | (spread(cell.iy) << 1), cell.level)
}

impl Tree {
    /// Fills the cells that no edge meets with the material of their neighbours.
    ///
    /// Such a cell's side is either wholly in one material or wholly dry, and so says the cut
    /// cell on its other side; no further point-in-polygon question arises.
    fn flood(&mut self) {
        let index = self.index();
        let mut queue: Vec<usize> = Vec::new();
        for i in 0..self.leaves.len() {
            if self.leaves[i].pieces.is_some() && !self.leaves[i].edges.is_empty() {
                queue.push(i);
            }
        }
        // whole cells of an earlier grid may have been split: start from scratch for dry ones
        for leaf in &mut self.leaves {
            if leaf.edges.is_empty() {
                leaf.pieces = None;
            }
        }
        // one piece for all whole cells of a material
        let dry: Arc<[Piece]> = Arc::new([]);
        let mut wholes: Vec<Arc<[Piece]>> = Vec::new();
        while let Some(i) = queue.pop() {
            for side in 0..4 {
                for (j, half) in self.across_all(&index, i, side).into_iter().flatten() {
                    if self.leaves[j].pieces.is_none() {
                        let material = self.material_on(i, side, half);
                        let piece = match material {
                            Some(m) => wholes.iter().find(|w| w[0].material == m).cloned(),
                            None => Some(Arc::clone(&dry)),
                        };
                        let piece = piece.unwrap_or_else(|| {
                            wholes.extend(material.map(|m| Arc::from([Piece::whole(m)])));
                            Arc::clone(wholes.last().unwrap_or(&dry))
                        });
                        self.leaves[j].pieces = Some(piece);
                        queue.push(j);
                    }
                }
            }
        }
        for leaf in &mut self.leaves {
            if leaf.pieces.is_none() {
                leaf.pieces = Some(Arc::clone(&dry));
            }
        }
    }

    /// Every leaf across a side, with the half of leaf `i`'s side that it touches.
    fn across_all(&self, index: &Index, i: usize, side: usize) -> [Option<(usize, [f64; 2])>; 2] {
        let cell = self.leaves[i].cell;
        match index.across(cell, side) {
            Neighbour::Same(j) | Neighbour::Coarser(j) => [Some((j, [0.0, 1.0])), None],
            Neighbour::None => [None, None],
            Neighbour::Finer => {
                let (dx, dy) = [(0, -1), (1, 0), (0, 1), (-1, 0)][side];
                let Some(n) = cell.offset(dx, dy) else { return [None, None] };
                let kids = n.children();
                // the children of the neighbour that touch this side, low half first
                let pick = [[2, 3], [0, 2], [0, 1], [1, 3]][side];
                let at = |k: usize, half| index.get(kids[k]).map(|j| (j, half));
                [at(pick[0], [0.0, 0.5]), at(pick[1], [0.5, 1.0])]
            }
        }
    }

    fn material_on(&self, i: usize, side: usize, half: [f64; 2]) -> Option<u16> {
        let pieces = self.leaves[i].pieces.as_ref()?;
        let mid = 0.5 * (half[0] + half[1]);
        pieces
            .iter()
            .find(|p| p.sides[side].iter().any(|s| s[0] <= mid && mid <= s[1]))
            .map(|p| p.material)
    }
}

#[cfg(test)]
mod tests;
