//! Potential and current density anywhere in the bath.

use std::sync::Arc;

use shapes::Point;

use crate::domain::Domain;
use crate::grid::lattice::{Cell, ROOT_BITS};
use crate::grid::tree::Index;
use crate::level::Level;
use crate::system::basis::{NODES, shape};

/// The solved field; cheap to clone.
#[derive(Clone)]
pub struct Field {
    inner: Arc<dyn Fn(Point) -> Option<FieldPoint> + Send + Sync>,
}

/// Potential and current density at one point of the bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldPoint {
    /// Potential of the bath against the cathode bus, V.
    pub potential_v: f64,
    /// Current density along x and y, A/m².
    pub current_a_m2: [f64; 2],
}

impl Field {
    /// A field given by a function (closed forms, tests of pictures).
    pub fn from_fn(f: impl Fn(Point) -> Option<FieldPoint> + Send + Sync + 'static) -> Self {
        Self { inner: Arc::new(f) }
    }

    /// Value at a point, or `None` inside solids and outside the tank. O(depth of the tree).
    pub fn at(&self, p: Point) -> Option<FieldPoint> {
        (self.inner)(p)
    }

    /// The field of a solved level.
    pub(crate) fn new(domain: &Arc<Domain>, level: &Level) -> Self {
        let (lattice, domain) = (domain.lattice, Arc::clone(domain));
        let index = level.tree.index();
        let deepest = level.tree.leaves.iter().map(|l| l.cell.level).max().unwrap_or(0);
        let mesh = Arc::clone(&level.mesh);
        let (numbering, u) = (&level.system.numbering, &level.solved.state.u);
        let nodal: Vec<[f64; NODES]> =
            (0..mesh.pieces.len()).map(|p| numbering.gather(u, p)).collect();
        Self::from_fn(move |p| {
            let t = lattice.ticks(p);
            let leaf = find(&index, t, deepest)?;
            let inside = |&q: &usize| {
                let piece = &mesh.pieces[q];
                piece.piece().contains(piece.cell.local(t))
            };
            let q = (mesh.first[leaf]..mesh.first[leaf + 1]).find(inside)?;
            let piece = &mesh.pieces[q];
            let (n, g) = shape(piece.cell.local(t));
            let side = lattice.cell_m(piece.cell.level);
            let mut potential_v = 0.0;
            let mut gradient = [0.0; 2];
            for k in 0..NODES {
                potential_v += n[k] * nodal[q][k];
                gradient[0] += g[k][0] * nodal[q][k];
                gradient[1] += g[k][1] * nodal[q][k];
            }
            let kappa = domain.kappa[piece.piece().material as usize];
            Some(FieldPoint { potential_v, current_a_m2: gradient.map(|d| -kappa * d / side) })
        })
    }
}

/// The leaf that holds a point in ticks.
fn find(index: &Index, t: [f64; 2], deepest: u8) -> Option<usize> {
    let size = (1i64 << ROOT_BITS) as f64;
    if !t.iter().all(|v| (0.0..size).contains(v)) {
        return None;
    }
    let (x, y) = (t[0] as u64, t[1] as u64);
    (0..=deepest).rev().find_map(|level| {
        let shift = ROOT_BITS - u32::from(level);
        index.get(Cell { level, ix: (x >> shift) as u32, iy: (y >> shift) as u32 })
    })
}

impl std::fmt::Debug for Field {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Field")
    }
}
