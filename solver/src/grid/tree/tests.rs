use shapes::Point;

use super::*;
use crate::layout::Layout;
use crate::sample::{domain, grid, layout, levels, two_blocks};

/// A tree with very different levels side by side.
fn uneven() -> (Domain, Tree) {
    let layout = two_blocks();
    let domain = domain(&layout);
    let mut wanted = levels(&domain, 2, 4, 5);
    wanted.vertex[5] = 11;
    let tree = Tree::within(&domain, &wanted, usize::MAX).unwrap();
    (domain, tree)
}

fn middle(domain: &Domain, cell: Cell) -> Point {
    let (l, h) = (cell.low(), cell.high());
    domain.lattice.metres([(l[0] + h[0]) / 2, (l[1] + h[1]) / 2])
}

fn bath_area(domain: &Domain, tree: &Tree) -> f64 {
    let of = |l: &Leaf| -> f64 {
        let side = domain.lattice.cell_m(l.cell.level);
        l.pieces.iter().flat_map(|p| p.iter()).map(|p| p.fraction).sum::<f64>() * side * side
    };
    tree.leaves.iter().map(of).sum()
}

fn true_bath_area(layout: &Layout) -> f64 {
    layout.tank.area() - layout.bodies.iter().map(|b| b.outline.area()).sum::<f64>()
}

/// Every vertex moves by up to a tick each way, and the outlines with it, m².
fn rounding(layout: &Layout, domain: &Domain) -> f64 {
    let outlines = std::iter::once(&layout.tank).chain(layout.bodies.iter().map(|b| &b.outline));
    1.5 * domain.lattice.tick_m() * outlines.map(|o| o.perimeter()).sum::<f64>()
}

#[test]
fn leaves_tile_the_root_square() {
    let (_, tree) = uneven();
    let sum: f64 = tree.leaves.iter().map(|l| 0.25f64.powi(i32::from(l.cell.level))).sum();
    assert_eq!(sum, 1.0);
}

#[test]
fn leaves_across_any_side_differ_by_at_most_one_level() {
    let (_, tree) = uneven();
    let index = tree.index();
    assert!(tree.leaves.iter().any(|l| l.cell.level >= 11));
    assert!(tree.leaves.iter().any(|l| l.cell.level <= 3));
    for (i, leaf) in tree.leaves.iter().enumerate() {
        for side in 0..4 {
            // two finer leaves are found only if they are exactly one level down
            let found: Vec<_> = tree.across_all(&index, i, side).into_iter().flatten().collect();
            let expected = match index.across(leaf.cell, side) {
                Neighbour::None => 0,
                Neighbour::Finer => 2,
                Neighbour::Same(_) | Neighbour::Coarser(_) => 1,
            };
            assert_eq!(found.len(), expected, "{:?} side {side}", leaf.cell);
            for (j, _) in found {
                assert!(tree.leaves[j].cell.level.abs_diff(leaf.cell.level) <= 1);
            }
        }
    }
}

#[test]
fn every_wanted_level_is_met() {
    let layout = two_blocks();
    let domain = domain(&layout);
    let mut wanted = levels(&domain, 2, 3, 3);
    for (i, (edge, vertex)) in wanted.edge.iter_mut().zip(&mut wanted.vertex).enumerate() {
        (*edge, *vertex) = (3 + (i % 4) as u8, 4 + (i % 7) as u8);
    }
    let tree = Tree::within(&domain, &wanted, usize::MAX).unwrap();
    for leaf in &tree.leaves {
        assert!(leaf.cell.level >= 2);
        for &e in &leaf.edges {
            assert!(leaf.cell.level >= wanted.edge[e as usize]);
            let (a, low, high) = (domain.edges[e as usize].a, leaf.cell.low(), leaf.cell.high());
            if (0..2).all(|k| low[k] < a[k] && a[k] < high[k]) {
                assert!(leaf.cell.level >= wanted.vertex[e as usize]);
            }
        }
    }
}

#[test]
fn cells_without_boundary_are_bath_inside_the_tank_and_dry_in_bodies_and_outside() {
    let layout = two_blocks();
    let (domain, tree) = uneven();
    let mut seen = [0; 2];
    for leaf in tree.leaves.iter().filter(|l| l.edges.is_empty()) {
        let p = middle(&domain, leaf.cell);
        let wet = layout.tank.contains(p) && layout.bodies.iter().all(|b| !b.outline.contains(p));
        let pieces = leaf.pieces.as_ref().unwrap();
        assert_eq!(pieces.len(), usize::from(wet), "{:?}", leaf.cell);
        assert!(pieces.iter().all(|p| p.is_whole()));
        seen[usize::from(wet)] += 1;
    }
    assert!(seen.iter().all(|&n| n > 10), "both kinds must occur: {seen:?}");
}

#[test]
fn the_bath_has_the_area_of_the_tank_less_the_bodies() {
    let layout = two_blocks();
    let (domain, tree) = uneven();
    let error = bath_area(&domain, &tree) - true_bath_area(&layout);
    assert!(error.abs() < rounding(&layout, &domain), "{error}");
}

#[test]
fn refining_keeps_untouched_leaves_and_halves_marked_ones() {
    let layout = two_blocks();
    let g = grid(&layout, 3, 4, 5);
    let wanted = levels(&g.domain, 3, 4, 5);
    let mut marked = vec![0; g.tree.leaves.len()];
    let cut = |l: &Leaf| !l.edges.is_empty();
    let first = g.tree.leaves.iter().position(cut).unwrap();
    let last = g.tree.leaves.iter().rposition(cut).unwrap();
    (marked[first], marked[last]) = (1, 2);
    let finer = g.tree.refine(&g.domain, &wanted, &marked);
    let index = finer.index();
    let mut kept = 0;
    for (leaf, &mark) in g.tree.leaves.iter().zip(&marked) {
        match index.get(leaf.cell) {
            Some(i) => {
                assert_eq!(mark, 0);
                if cut(leaf) {
                    // the very same pieces, not cut again
                    let (old, new) = (&leaf.pieces, &finer.leaves[i].pieces);
                    assert!(Arc::ptr_eq(old.as_ref().unwrap(), new.as_ref().unwrap()));
                    kept += 1;
                }
            }
            // the 2:1 rule may split neighbours of what was marked
            None => assert!(leaf.cell.level <= 5),
        }
    }
    assert!(kept > 20);
    for i in [first, last] {
        assert_eq!(index.get(g.tree.leaves[i].cell), None);
    }
    let children = g.tree.leaves[first].cell.children();
    assert!(children.iter().all(|&c| index.get(c).is_some()));
    // marked twice: two levels down where boundary runs through
    let level = g.tree.leaves[last].cell.level;
    let deep = finer
        .leaves
        .iter()
        .filter(|l| cut(l) && l.cell.level == level + 2)
        .any(|l| l.cell.parent().parent() == g.tree.leaves[last].cell);
    assert!(deep);
    let error = bath_area(&g.domain, &finer) - true_bath_area(&layout);
    assert!(error.abs() < rounding(&layout, &g.domain), "{error}");
}

#[test]
fn a_narrow_gap_is_cut_until_no_cell_spans_it_or_the_limit_is_reached() {
    // a slot 2 mm wide under a block, in cells of 13 mm
    let layout = layout(vec![crate::sample::body(
        "block",
        crate::layout::Role::Part,
        crate::sample::rect(0.05, 0.002, 0.13, 0.06),
        crate::sample::ideal(),
    )]);
    let domain = domain(&layout);
    let mut wanted = levels(&domain, 4, 4, 4);
    let spans = |tree: &Tree| {
        let narrow = |l: &&Leaf| l.pieces.iter().flat_map(|p| p.iter()).any(|p| p.narrow);
        tree.leaves.iter().filter(narrow).count()
    };
    assert!(spans(&Tree::within(&domain, &wanted, usize::MAX).unwrap()) > 0);
    wanted.gap = 10;
    assert_eq!(spans(&Tree::within(&domain, &wanted, usize::MAX).unwrap()), 0);
}
