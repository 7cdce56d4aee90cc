//! What the levels have in common whatever the matrix: made once for a mesh.

use super::forest::Forest;
use super::interpolation::Interpolation;
use crate::grid::mesh::Mesh;
use crate::system::basis::NODES;
use crate::system::ghost::Roots;
use crate::system::numbering::{Degree, Numbering};

/// The way down from the finest level, and where the finest level is stiff.
#[derive(Default)]
pub(super) struct Levels {
    pub(super) steps: Vec<Interpolation>,
    /// On the finest level: sets of unknowns that are tied together stiffly.
    pub(super) stiff: Vec<Vec<u32>>,
}

/// No more unknowns than this are left to the factorization on the coarsest level.
const COARSEST: usize = 800;
/// A forest that keeps more than this share of its unknowns is not worth a level.
const LEAST_GAIN: f64 = 0.9;

impl Levels {
    /// Levels below `numbering` on `mesh`, with `free` free potentials.
    pub(super) fn new(mesh: &Mesh, numbering: &Numbering, free: usize) -> Self {
        let mut steps = Vec::new();
        let mut forest = Forest::new(mesh);
        let mut fine = numbering.clone();
        if numbering.degree == Degree::Two {
            let low = Numbering::new(mesh, Degree::One);
            let cells = &forest.cells;
            steps.push(Interpolation::new((&fine, cells), (&low, cells), &|p| p, free));
            fine = low;
        }
        while fine.unknowns > COARSEST {
            let (coarser, parent) = forest.coarser();
            let level = |p: usize| coarser.cells[p].level;
            let low = Numbering::of(coarser.cells.len(), &level, &coarser.links, Degree::One);
            if low.unknowns as f64 > LEAST_GAIN * fine.unknowns as f64 {
                break;
            }
            let (from, to) = ((&fine, &forest.cells[..]), (&low, &coarser.cells[..]));
            steps.push(Interpolation::new(from, to, &|p| parent[p] as usize, free));
            forest = coarser;
            fine = low;
        }
        Self { steps, stiff: stiff(mesh, numbering) }
    }
}

/// The unknowns of every root together with all pieces that lean on it, straight or through others,
/// and of every other cut piece.
///
/// Two pieces that lean on one root share unknowns and are tied to it, hence to each other: one at
/// a time, or each with the root, they hold each other back (measured: 40 iterations one at a
/// time, 17 each with its root, 12 together).
fn stiff(mesh: &Mesh, numbering: &Numbering) -> Vec<Vec<u32>> {
    let roots = Roots::new(mesh);
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); mesh.pieces.len()];
    for p in 0..mesh.pieces.len() {
        let mut last = p;
        while let Some(r) = roots.get(last) {
            last = r;
        }
        if last != p {
            groups[last].push(p);
        }
    }
    let set = |p: usize, leaning: &[usize]| {
        let pieces = std::iter::once(p).chain(leaning.iter().copied());
        let nodes = pieces.flat_map(|p| (0..NODES).map(move |k| (p, k)));
        let mut set: Vec<u32> =
            nodes.flat_map(|(p, k)| numbering.terms(p, k).iter().map(|t| t.0)).collect();
        set.sort_unstable();
        set.dedup();
        set
    };
    let is_cut = |p: usize| !mesh.pieces[p].piece().is_whole() && roots.get(p).is_none();
    groups
        .iter()
        .enumerate()
        .filter(|(p, group)| !group.is_empty() || is_cut(*p))
        .map(|(p, group)| set(p, group))
        .collect()
}
