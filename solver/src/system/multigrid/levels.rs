//! What the levels have in common whatever the matrix: made once for a mesh.

use super::forest::Forest;
use super::interpolation::Interpolation;
use super::order::Order;
use crate::grid::mesh::Mesh;
use crate::system::basis::NODES;
use crate::system::ghost::Roots;
use crate::system::numbering::{Degree, Numbering};

/// The way down from the finest level, and where the finest level is stiff.
#[derive(Default)]
pub(super) struct Levels {
    pub(super) steps: Vec<Interpolation>,
    /// Of the finest level: every unknown is relaxed alone; those tied together stiffly then together.
    pub(super) order: Order,
}

/// No more unknowns than this are left to the factorization on the coarsest level.
const COARSEST: usize = 800;
/// A forest that keeps more than this share of its unknowns is not worth a level.
const LEAST_GAIN: f64 = 0.9;

impl Levels {
    /// Memory held, bytes.
    pub(super) fn bytes(&self) -> usize {
        let steps: usize = self.steps.iter().map(Interpolation::bytes).sum();
        steps + self.order.bytes()
    }

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
        let count = numbering.unknowns + free;
        let order = match steps.first_mut() {
            Some(first) => {
                let mut sets = stiff(mesh, numbering);
                sets.extend((numbering.unknowns..count).map(|f| vec![f as u32]));
                let order = Order::new(count, &sets);
                *first = order.ordered(first);
                order
            }
            // nothing but the factorization of the coarsest level
            None => Order::plain(count),
        };
        Self { steps, order }
    }
}

/// The unknowns of every root together with all pieces that lean on it, straight or through others;
/// then of every other cut piece those that are in none of these.
///
/// Two pieces that lean on one root share unknowns and are tied to it, hence to each other: one at
/// a time, or each with the root, they hold each other back (measured: 40 iterations one at a
/// time, 17 each with its root, 10 together). Such sets must overlap (32 iterations if they do not).
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
    let mut sets = Vec::new();
    let mut covered = vec![false; numbering.unknowns];
    let mut set = Vec::new();
    for (p, leaning) in groups.iter().enumerate().filter(|(_, leaning)| !leaning.is_empty()) {
        set.clear();
        for &p in std::iter::once(&p).chain(leaning) {
            set.extend(unknowns(numbering, p));
        }
        set.sort_unstable();
        set.dedup();
        set.iter().for_each(|&i| covered[i as usize] = true);
        sets.push(set.clone());
    }
    for (p, leaning) in groups.iter().enumerate() {
        let is_cut = !mesh.pieces[p].piece().is_whole() && roots.get(p).is_none();
        if !is_cut || !leaning.is_empty() {
            continue;
        }
        set.clear();
        set.extend(unknowns(numbering, p).filter(|&i| !covered[i as usize]));
        set.sort_unstable();
        set.dedup();
        set.iter().for_each(|&i| covered[i as usize] = true);
        if !set.is_empty() {
            sets.push(set.clone());
        }
    }
    sets
}

fn unknowns(numbering: &Numbering, p: usize) -> impl Iterator<Item = u32> + '_ {
    (0..NODES).flat_map(move |k| numbering.terms(p, k).iter().map(|t| t.0))
}
