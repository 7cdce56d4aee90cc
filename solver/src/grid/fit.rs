//! The first grid within its bounds: narrow gaps and fine corners may ask for more cells than a
//! first guess is worth, or than the budget holds.
//!
//! A gap asks for cells as small as itself along its whole length, a thousand times longer. Coarser
//! cells resolve it too, since bath that runs through a cell as a strip has unknowns of its own; so
//! the gap rule yields first, level by level, then all wishes do. What this takes from the first
//! grid the estimate gives back where it matters.

use super::tree::{Tree, Wanted};
use crate::domain::Domain;

/// Leaves that any first grid may have: some ten times what a part between two anodes takes.
const FREE: usize = 12_000;
/// Beyond them the gap rule may multiply the leaves of the grid without it by this much.
const GAPS: usize = 2;
/// Unknowns to a leaf: 2.6 on ordinary grids, up to 5 where most cells are cut.
pub(crate) const UNKNOWNS: f64 = 2.8;

/// The first grid, of `max_unknowns` at most as far as that can be foretold; `wanted` is brought
/// down to what it keeps.
pub(crate) fn first_grid(domain: &Domain, wanted: &mut Wanted, max_unknowns: usize) -> Tree {
    let budget = ((max_unknowns as f64 / UNKNOWNS) as usize).max(64);
    if let Some(tree) = Tree::within(domain, wanted, FREE.min(budget)) {
        return tree;
    }
    let asked = wanted.gap;
    wanted.gap = wanted.floor;
    let bare = loop {
        match Tree::within(domain, wanted, budget) {
            Some(tree) => break tree,
            None if !coarsen(wanted) => {
                // one level everywhere is all that is left to give: the root's few cells
                break Tree::within(domain, wanted, usize::MAX).unwrap_or_default();
            }
            None => {}
        }
    };
    let most = (GAPS * bare.leaves.len()).max(FREE).min(budget);
    let least = wanted.floor;
    for gap in (least + 1..=asked).rev() {
        wanted.gap = gap;
        if let Some(tree) = Tree::within(domain, wanted, most) {
            return tree;
        }
    }
    wanted.gap = least;
    bare
}

/// Takes a level off every wish; false once there is none left to take.
fn coarsen(wanted: &mut Wanted) -> bool {
    let mut more = false;
    for level in wanted.edge.iter_mut().chain(&mut wanted.vertex).chain([&mut wanted.floor]) {
        more |= *level > 0;
        *level = level.saturating_sub(1);
    }
    wanted.gap = wanted.floor;
    more
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::lattice::MAX_LEVEL;
    use crate::layout::Role;
    use crate::sample::{body, domain, ideal, layout, levels, rect};

    /// A slot of 3 µm along 0.1 m of a block.
    fn slot() -> (Domain, Wanted) {
        let block = rect(0.05, 3e-6, 0.15, 0.03);
        let d = domain(&layout(vec![body("block", Role::Part, block, ideal())]));
        let mut wanted = levels(&d, 3, 6, 9);
        wanted.gap = 16;
        (d, wanted)
    }

    #[test]
    fn a_long_narrow_slot_does_not_ask_for_more_than_its_share() {
        let (d, mut wanted) = slot();
        assert!(Tree::within(&d, &wanted, 100_000).is_none(), "the slot alone asks for more");
        let tree = first_grid(&d, &mut wanted, 1_000_000);
        assert!(tree.leaves.len() <= FREE, "{}", tree.leaves.len());
        assert!(wanted.gap > 6 && wanted.gap < 16, "{}", wanted.gap);
        assert!(wanted.edge.iter().all(|l| *l == 6) && wanted.vertex.iter().all(|l| *l == 9));
    }

    #[test]
    fn a_small_budget_is_kept_whatever_is_wished() {
        let (d, _) = slot();
        for level in [8, 12, MAX_LEVEL] {
            let mut wanted = levels(&d, 3, level, MAX_LEVEL);
            let tree = first_grid(&d, &mut wanted, 2000);
            let leaves = tree.leaves.len();
            assert!(leaves as f64 * UNKNOWNS <= 2000.0, "{leaves} leaves at level {level}");
            assert!(leaves > 60, "{leaves} leaves: more than needed was given up");
        }
    }

    #[test]
    fn modest_wishes_are_granted_unchanged() {
        let (d, mut wanted) = slot();
        wanted.gap = 5;
        let asked = wanted.clone();
        first_grid(&d, &mut wanted, 400_000);
        assert_eq!((wanted.edge, wanted.vertex, wanted.gap), (asked.edge, asked.vertex, asked.gap));
    }
}
