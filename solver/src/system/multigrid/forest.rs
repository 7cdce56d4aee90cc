//! Coarser and coarser pieces: four cells become one, and the bath in them hangs together as before.
//!
//! A cell of the next forest is the parent of cells of this one, wherever all its wet descendants
//! are its children; elsewhere cells stay. Pieces of siblings that are linked become one piece, so
//! that a thin sheet separates its two sides on every forest. Neighbours keep to one level of
//! difference.

use std::collections::{HashMap, HashSet};
use std::hash::BuildHasherDefault;

use crate::grid::lattice::Cell;
use crate::grid::mesh::{Link, Mesh};
use crate::grid::tree::CellHasher;
use crate::union::Sets;

type CellMap<V> = HashMap<Cell, V, BuildHasherDefault<CellHasher>>;
type CellSet = HashSet<Cell, BuildHasherDefault<CellHasher>>;

/// Pieces of bath by their cells, and how they are linked.
#[derive(Debug, Clone)]
pub(super) struct Forest {
    pub(super) cells: Vec<Cell>,
    pub(super) links: Vec<Link>,
}

impl Forest {
    /// The pieces of a mesh.
    pub(super) fn new(mesh: &Mesh) -> Self {
        let cells = mesh.pieces.iter().map(|p| p.cell).collect();
        Self { cells, links: mesh.links.clone() }
    }

    /// The next coarser forest and, for every piece of this one, its piece there.
    pub(super) fn coarser(&self) -> (Self, Vec<u32>) {
        let merged = self.merged();
        let target = |p: usize| {
            let cell = self.cells[p];
            if cell.level > 0 && merged.contains(&cell.parent()) { cell.parent() } else { cell }
        };
        let mut sets = Sets::new(self.cells.len());
        for l in &self.links {
            if target(l.a) == target(l.b) {
                sets.join(l.a, l.b);
            }
        }
        let mut cells = Vec::new();
        let mut parent = vec![u32::MAX; self.cells.len()];
        for p in 0..self.cells.len() {
            let first = sets.find(p);
            if first == p {
                parent[p] = cells.len() as u32;
                cells.push(target(p));
            } else {
                // the representative is the smallest member
                parent[p] = parent[first];
            }
        }
        let mut links: Vec<Link> = self
            .links
            .iter()
            .filter(|l| parent[l.a] != parent[l.b])
            .map(|l| raised(l, &cells, &parent))
            .collect();
        links.sort_by_key(|l| (l.a, l.b, l.side));
        links.dedup_by_key(|l| (l.a, l.b, l.side));
        (Self { cells, links }, parent)
    }

    /// Cells whose children merge.
    fn merged(&self) -> CellSet {
        // parents, each with whether all that is wet in it are its children
        let mut blocked = CellSet::default();
        let mut by_level: Vec<Vec<Cell>> = Vec::new();
        let mut beside: CellMap<Vec<Cell>> = CellMap::default();
        for &cell in &self.cells {
            let level = usize::from(cell.level);
            if by_level.len() <= level {
                by_level.resize(level + 1, Vec::new());
            }
            by_level[level].push(cell);
            let mut up = cell;
            if up.level > 0 {
                up = up.parent();
            }
            while up.level > 0 {
                up = up.parent();
                if !blocked.insert(up) {
                    break;
                }
            }
        }
        // a finer neighbour must merge too
        for l in self.links.iter().filter(|l| l.half.is_some()) {
            let (fine, coarse) = (self.cells[l.a], self.cells[l.b]);
            if coarse.level > 0 {
                beside.entry(coarse.parent()).or_default().push(fine.parent());
            }
        }
        let mut merged = CellSet::default();
        for cells in by_level.iter().skip(1).rev() {
            for cell in cells {
                let up = cell.parent();
                if blocked.contains(&up) || merged.contains(&up) {
                    continue;
                }
                let fits =
                    beside.get(&up).is_none_or(|finer| finer.iter().all(|f| merged.contains(f)));
                if fits {
                    merged.insert(up);
                }
            }
        }
        merged
    }
}

/// A link between the coarser pieces that two linked pieces belong to.
fn raised(l: &Link, cells: &[Cell], parent: &[u32]) -> Link {
    let (a, b) = (parent[l.a] as usize, parent[l.b] as usize);
    let (fine, coarse) = (cells[a], cells[b]);
    if fine.level < coarse.level {
        let turned = Link { a: l.b, b: l.a, side: (l.side + 2) % 4, half: None };
        return raised(&turned, cells, parent);
    }
    let half = (fine.level > coarse.level).then(|| {
        let along = if l.side.is_multiple_of(2) { fine.ix } else { fine.iy };
        along as usize % 2
    });
    // of two equal cells the link is listed once, from below or from the left
    if half.is_none() && (l.side == 0 || l.side == 3) {
        return Link { a: b, b: a, side: (l.side + 2) % 4, half };
    }
    Link { a, b, side: l.side, half }
}
