use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::domain::Tag;
use crate::grid::lattice::{ROOT_BITS, orientation};
use crate::sample::star;

/// A loop of edges on the lattice, bath on its left.
fn ring(corners: &[Tick]) -> Vec<Edge> {
    let n = corners.len() as u32;
    let edge = |i: u32| Edge {
        a: corners[i as usize],
        b: corners[((i + 1) % n) as usize],
        next: (i + 1) % n,
        prev: (i + n - 1) % n,
        material: 0,
        tag: Tag::Wall,
        owner: 0,
    };
    (0..n).map(edge).collect()
}

/// The same polygon with the bath outside.
fn outside(corners: &[Tick]) -> Vec<Edge> {
    ring(&corners.iter().rev().copied().collect::<Vec<_>>())
}

/// Shoelace area, ticks².
fn area(corners: &[Tick]) -> f64 {
    (1..corners.len() - 1)
        .map(|i| 0.5 * orientation(corners[0], corners[i], corners[i + 1]) as f64)
        .sum()
}

/// Pieces in every cell of a level that an edge meets.
fn cut_all(level: u8, edges: &[Edge]) -> BTreeMap<Cell, Vec<Piece>> {
    let n = 1u32 << level;
    let cells = (0..n).flat_map(|iy| (0..n).map(move |ix| Cell { level, ix, iy }));
    cells
        .filter_map(|cell| {
            let ids: Vec<u32> =
                (0..edges.len() as u32).filter(|&e| meets(cell, &edges[e as usize])).collect();
            (!ids.is_empty()).then(|| (cell, pieces(cell, edges, &ids, 0)))
        })
        .collect()
}

/// Even-odd test on the lattice.
fn encloses(corners: &[Tick], p: Tick) -> bool {
    let mut inside = false;
    for (i, &a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        if (a[1] > p[1]) != (b[1] > p[1]) {
            let up = b[1] > a[1];
            inside ^= (orientation(a, b, p) > 0) == up;
        }
    }
    inside
}

fn middle(cell: Cell) -> Tick {
    let (l, h) = (cell.low(), cell.high());
    [(l[0] + h[0]) / 2, (l[1] + h[1]) / 2]
}

/// Sum of all pieces of bath and all untouched cells of bath, ticks².
fn bath_area(level: u8, corners: &[Tick], cut: &BTreeMap<Cell, Vec<Piece>>) -> f64 {
    let n = 1u32 << level;
    let side = Cell { level, ix: 0, iy: 0 }.ticks() as f64;
    let cells = (0..n).flat_map(|iy| (0..n).map(move |ix| Cell { level, ix, iy }));
    let share = |cell: Cell| match cut.get(&cell) {
        Some(list) => list.iter().map(|p| p.fraction).sum(),
        None => f64::from(u8::from(encloses(corners, middle(cell)))),
    };
    cells.map(share).sum::<f64>() * side * side
}

fn odd(v: f64) -> i64 {
    2 * (0.5 * v).floor() as i64 + 1
}

/// Corners of a star around the middle of the root square, counter-clockwise, on odd ticks.
fn lattice_star(shift: [f64; 2], radii: &[f64]) -> Vec<Tick> {
    let root = (1u64 << ROOT_BITS) as f64;
    star([0.5 + shift[0], 0.5 + shift[1]], radii)
        .iter()
        .map(|c| [odd(root * c[0]), odd(root * c[1])])
        .collect()
}

fn shapes() -> impl Strategy<Value = Vec<Tick>> {
    let shift = (-0.05..0.05, -0.05..0.05);
    (shift, prop::collection::vec(0.02..0.42, 3..14))
        .prop_map(|((dx, dy), radii)| lattice_star([dx, dy], &radii))
}

/// Sorted open intervals on a side of a cell; a cell without edges is all bath or none.
fn open(
    cut: &BTreeMap<Cell, Vec<Piece>>,
    corners: &[Tick],
    cell: Cell,
    side: usize,
) -> Vec<[f64; 2]> {
    let mut all: Vec<[f64; 2]> = match cut.get(&cell) {
        Some(list) => list.iter().flat_map(|p| p.sides[side].iter().copied()).collect(),
        None if encloses(corners, middle(cell)) => vec![[0.0, 1.0]],
        None => Vec::new(),
    };
    all.retain(|s| s[1] - s[0] > 1e-9);
    all.sort_by(|a, b| a[0].total_cmp(&b[0]));
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..Default::default() })]

    #[test]
    fn pieces_add_up_to_the_area_of_the_bath(corners in shapes(), level in 1u8..6) {
        let cut = cut_all(level, &ring(&corners));
        let exact = area(&corners);
        prop_assert!((bath_area(level, &corners, &cut) / exact - 1.0).abs() < 1e-9);
    }

    #[test]
    fn bath_and_solid_fill_every_cell(corners in shapes(), level in 1u8..6) {
        let (inside, outside) = (cut_all(level, &ring(&corners)), cut_all(level, &outside(&corners)));
        prop_assert!(inside.keys().eq(outside.keys()));
        for (cell, bath) in &inside {
            let sum: f64 = bath.iter().chain(&outside[cell]).map(|p| p.fraction).sum();
            prop_assert!((sum - 1.0).abs() < 1e-9, "{:?}: {}", cell, sum);
        }
    }

    #[test]
    fn neighbouring_cells_agree_on_their_common_side(corners in shapes(), level in 1u8..6) {
        let cut = cut_all(level, &ring(&corners));
        for &cell in cut.keys() {
            for (side, (dx, dy)) in [(0, -1), (1, 0), (0, 1), (-1, 0)].into_iter().enumerate() {
                let Some(next) = cell.offset(dx, dy) else { continue };
                let here = open(&cut, &corners, cell, side);
                let there = open(&cut, &corners, next, (side + 2) % 4);
                prop_assert_eq!(here.len(), there.len(), "{:?} side {}", cell, side);
                for (a, b) in here.iter().zip(&there) {
                    prop_assert!((a[0] - b[0]).abs() < 1e-9 && (a[1] - b[1]).abs() < 1e-9);
                }
            }
        }
    }

    #[test]
    fn a_piece_holds_the_points_that_the_polygon_encloses(
        corners in shapes(), x in 0.0..1.0f64, y in 0.0..1.0f64,
    ) {
        let level = 3;
        let root = (1u64 << ROOT_BITS) as f64;
        let t = [odd(x * root), odd(y * root)];
        let (ix, iy) = ((t[0] >> (ROOT_BITS - 3)) as u32, (t[1] >> (ROOT_BITS - 3)) as u32);
        let cell = Cell { level, ix, iy };
        if let Some(list) = cut_all(level, &ring(&corners)).get(&cell) {
            let local = cell.local([t[0] as f64, t[1] as f64]);
            let found = list.iter().filter(|p| p.contains(local)).count();
            prop_assert_eq!(found, usize::from(encloses(&corners, t)));
        }
    }
}

const CELL: Cell = Cell { level: 4, ix: 6, iy: 9 };

/// The corner of a rectangle around the cell's middle at shares of its side, on odd ticks.
fn block(x: [f64; 2], y: [f64; 2]) -> Vec<Tick> {
    let (low, side) = (CELL.low(), CELL.ticks() as f64);
    let at = |sx: f64, sy: f64| [low[0] + odd(sx * side), low[1] + odd(sy * side)];
    vec![at(x[0], y[0]), at(x[1], y[0]), at(x[1], y[1]), at(x[0], y[1])]
}

fn cut_cell(edges: &[Edge]) -> Vec<Piece> {
    cut_all(CELL.level, edges).remove(&CELL).unwrap_or_default()
}

#[test]
fn a_thin_sheet_through_a_cell_leaves_two_pieces() {
    // two ticks thick, from far left to far right of the cell
    let mut corners = block([-0.6, 1.6], [0.3, 0.3]);
    corners[2][1] += 2;
    corners[3][1] += 2;
    let found = cut_cell(&outside(&corners));
    assert_eq!(found.len(), 2);
    let sheet = 2.0 / CELL.ticks() as f64;
    let sum: f64 = found.iter().map(|p| p.fraction).sum();
    assert!((sum - (1.0 - sheet)).abs() < 1e-12);
    let below = found.iter().find(|p| p.contains([0.5, 0.1])).unwrap();
    assert!((below.fraction - 0.3).abs() < 1e-6);
    assert!(!below.contains([0.5, 0.9]));
    // the two pieces touch no common side
    assert!(below.sides[2].is_empty() && below.sides[0] == [[0.0, 1.0]]);
}

#[test]
fn a_narrow_gap_is_seen_as_narrow_and_a_single_wall_is_not() {
    // bath between two walls that cross the cell
    let gap = cut_cell(&ring(&block([-0.6, 1.6], [0.4, 0.5])));
    assert_eq!(gap.len(), 1);
    assert!(gap[0].narrow);
    assert!((gap[0].fraction - 0.1).abs() < 1e-6);
    let wall = cut_cell(&ring(&block([-0.6, 1.6], [0.4, 1.5])));
    assert_eq!(wall.len(), 1);
    assert!(!wall[0].narrow);
}

#[test]
fn a_body_inside_one_cell_is_a_hole_in_its_piece() {
    let corners = block([0.3, 0.55], [0.35, 0.75]);
    let found = cut_cell(&outside(&corners));
    assert_eq!(found.len(), 1);
    let side = CELL.ticks() as f64;
    assert!((found[0].fraction - (1.0 - area(&corners) / (side * side))).abs() < 1e-12);
    assert_eq!(found[0].loops.len(), 2);
    assert!(!found[0].contains([0.4, 0.5]) && found[0].contains([0.2, 0.5]));
    assert!(found[0].sides.iter().all(|s| s == &[[0.0, 1.0]]));
}

#[test]
fn bath_inside_one_cell_is_a_pocket_with_no_open_side() {
    let corners = block([0.3, 0.55], [0.35, 0.75]);
    let found = cut_cell(&ring(&corners));
    assert_eq!(found.len(), 1);
    let side = CELL.ticks() as f64;
    assert!((found[0].fraction - area(&corners) / (side * side)).abs() < 1e-12);
    assert!(found[0].contains([0.4, 0.5]) && !found[0].contains([0.2, 0.5]));
    assert!(found[0].sides.iter().all(Vec::is_empty));
}

#[test]
fn an_edge_exactly_through_a_corner_of_four_cells_is_cut_alike_by_all() {
    // an even corner halfway between two odd vertices, at every kind of slope
    let centre = CELL.high();
    let side = CELL.ticks();
    for (dx, dy) in [(1, 1), (1, -1), (3, 1), (-1, 3), (-1, -1), (1, 7), (-5, -1)] {
        let d = [side / 16 * dx + 1, side / 16 * dy + if dy == dx { 1 } else { -1 }];
        let (a, b) = ([centre[0] - d[0], centre[1] - d[1]], [centre[0] + d[0], centre[1] + d[1]]);
        assert_eq!(orientation(a, b, centre), 0, "the edge must hit the corner");
        // a third vertex well to the left
        let third = [centre[0] - 2 * d[1] + 1, centre[1] + 2 * d[0] + 1];
        let corners = [a, b, third];
        let (bath, solid) =
            (cut_all(CELL.level, &ring(&corners)), cut_all(CELL.level, &outside(&corners)));
        let sum = bath_area(CELL.level, &corners, &bath);
        assert!(
            (sum / area(&corners) - 1.0).abs() < 1e-9,
            "{dx} {dy}: {sum} {} {bath:?}",
            area(&corners)
        );
        for (cell, list) in &bath {
            // a cell that the edge only touches may be met from one side alone
            let rest = match solid.get(cell) {
                Some(list) => list.iter().map(|p| p.fraction).sum(),
                None => f64::from(u8::from(!encloses(&corners, middle(*cell)))),
            };
            let both = list.iter().map(|p| p.fraction).sum::<f64>() + rest;
            assert!((both - 1.0).abs() < 1e-9, "{dx} {dy} {cell:?}: {both}");
            for (k, (ox, oy)) in [(0, -1), (1, 0), (0, 1), (-1, 0)].into_iter().enumerate() {
                let next = cell.offset(ox, oy).unwrap();
                let here = open(&bath, &corners, *cell, k);
                let there = open(&bath, &corners, next, (k + 2) % 4);
                assert_eq!(here.len(), there.len(), "{dx} {dy} {cell:?} side {k}");
            }
        }
    }
}
