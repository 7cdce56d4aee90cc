//! Integer coordinates, so that no question about which side a point is on is ever ambiguous.
//!
//! The root square of the quadtree has 2³⁰ ticks a side (2 nm in a 2 m tank). Outline vertices lie
//! on odd ticks, cell sides on even ones: a vertex is never on a cell side, an outline edge never
//! runs along one. What is left, an edge through a cell's corner, is decided by an exact
//! orientation test with a fixed rule for ties. Rounding a vertex moves it by at most one tick,
//! far below a thousandth of any cell.

use shapes::Point;

/// Exponent of the number of ticks along the root square.
pub(crate) const ROOT_BITS: u32 = 30;
/// Deepest level: cells keep at least 2⁶ ticks a side, so that rounding stays below 2 % of a cell.
pub(crate) const MAX_LEVEL: u8 = 24;

/// A vertex in ticks.
pub(crate) type Tick = [i64; 2];

/// The root square and its ticks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lattice {
    origin: Point,
    side_m: f64,
}

impl Lattice {
    /// A root square around the box `min`..`max`.
    ///
    /// The square is a little larger than the box and shifted by odd fractions, so that tank walls
    /// do not graze cell sides all along. It depends on the tank only: a body that moves, moves
    /// through an unmoving grid.
    pub(crate) fn around(min: Point, max: Point) -> Self {
        let extent = (max.x - min.x).max(max.y - min.y);
        let side_m = extent * 1.0371;
        let slack = side_m - extent;
        let origin = Point::new(min.x - 0.4137 * slack, min.y - 0.5873 * slack);
        Self { origin, side_m }
    }

    /// The same lattice moved by less than two ticks, so that x = 0 is an odd tick: places on an
    /// axis of symmetry stay on it exactly.
    pub(crate) fn with_axis(mut self) -> Self {
        let t = self.tick_m();
        let odd = 2.0 * (-self.origin.x / (2.0 * t)).floor() + 1.0;
        self.origin.x = -odd * t;
        self
    }

    /// Metres in one tick.
    pub(crate) fn tick_m(&self) -> f64 {
        self.side_m / (1u64 << ROOT_BITS) as f64
    }

    /// Side of the root square, m.
    pub(crate) fn side_m(&self) -> f64 {
        self.side_m
    }

    /// Side of a cell of `level`, m.
    pub(crate) fn cell_m(&self, level: u8) -> f64 {
        self.side_m / (1u64 << level) as f64
    }

    /// The coarsest level whose cells are no larger than `h_m`.
    pub(crate) fn level_for(&self, h_m: f64) -> u8 {
        let level = libm::log2(self.side_m / h_m.max(1e-300)).ceil();
        level.clamp(0.0, f64::from(MAX_LEVEL)) as u8
    }

    /// The odd tick next to a point.
    pub(crate) fn snap(&self, p: Point) -> Tick {
        let t = self.tick_m();
        let odd = |v: f64| 2 * (v / (2.0 * t)).floor() as i64 + 1;
        [odd(p.x - self.origin.x), odd(p.y - self.origin.y)]
    }

    /// A tick position in metres.
    pub(crate) fn metres(&self, t: Tick) -> Point {
        let m = self.tick_m();
        Point::new(self.origin.x + t[0] as f64 * m, self.origin.y + t[1] as f64 * m)
    }

    /// A point in ticks, not rounded.
    pub(crate) fn ticks(&self, p: Point) -> [f64; 2] {
        let m = self.tick_m();
        [(p.x - self.origin.x) / m, (p.y - self.origin.y) / m]
    }
}

/// A cell of the quadtree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct Cell {
    pub(crate) level: u8,
    pub(crate) ix: u32,
    pub(crate) iy: u32,
}

impl Cell {
    pub(crate) const ROOT: Cell = Cell { level: 0, ix: 0, iy: 0 };

    /// Side in ticks.
    pub(crate) fn ticks(self) -> i64 {
        1i64 << (ROOT_BITS - u32::from(self.level))
    }

    /// Lower left corner in ticks.
    pub(crate) fn low(self) -> Tick {
        [i64::from(self.ix) * self.ticks(), i64::from(self.iy) * self.ticks()]
    }

    /// Upper right corner in ticks.
    pub(crate) fn high(self) -> Tick {
        let l = self.low();
        [l[0] + self.ticks(), l[1] + self.ticks()]
    }

    /// The four children, in the order (0,0), (1,0), (0,1), (1,1).
    pub(crate) fn children(self) -> [Cell; 4] {
        let c = |dx, dy| Cell { level: self.level + 1, ix: 2 * self.ix + dx, iy: 2 * self.iy + dy };
        [c(0, 0), c(1, 0), c(0, 1), c(1, 1)]
    }

    pub(crate) fn parent(self) -> Cell {
        Cell { level: self.level - 1, ix: self.ix / 2, iy: self.iy / 2 }
    }

    /// The cell of the same level at an offset, if it lies in the root square.
    pub(crate) fn offset(self, dx: i64, dy: i64) -> Option<Cell> {
        let n = 1i64 << self.level;
        let (x, y) = (i64::from(self.ix) + dx, i64::from(self.iy) + dy);
        ((0..n).contains(&x) && (0..n).contains(&y)).then_some(Cell {
            level: self.level,
            ix: x as u32,
            iy: y as u32,
        })
    }

    /// Position of a tick point within the cell, 0..1 each way.
    pub(crate) fn local(self, t: [f64; 2]) -> [f64; 2] {
        let (l, s) = (self.low(), self.ticks() as f64);
        [(t[0] - l[0] as f64) / s, (t[1] - l[1] as f64) / s]
    }
}

/// Twice the signed area of a, b, c: positive where c lies left of a→b. Exact.
pub(crate) fn orientation(a: Tick, b: Tick, c: Tick) -> i64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// True where `c` counts as left of a→b; a point on the line counts as left, always.
pub(crate) fn is_left(a: Tick, b: Tick, c: Tick) -> bool {
    orientation(a, b, c) >= 0
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn lattice() -> Lattice {
        Lattice::around(Point::new(-0.37, 0.11), Point::new(1.52, 0.93))
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]
        #[test]
        fn vertices_lie_on_odd_ticks_no_more_than_one_away(x in -0.37..1.52, y in 0.11..0.93) {
            let (l, p) = (lattice(), Point::new(x, y));
            let (t, exact) = (l.snap(p), l.ticks(p));
            for k in 0..2 {
                prop_assert_eq!(t[k].rem_euclid(2), 1);
                prop_assert!((t[k] as f64 - exact[k]).abs() <= 1.0);
            }
            // and back: one tick is the most that a place moves each way
            let back = l.metres(t);
            prop_assert!((back - p).hypot() <= 1.5 * l.tick_m());
        }

        #[test]
        fn cell_sides_lie_on_even_ticks(level in 0..=MAX_LEVEL, x in 0..u32::MAX, y in 0..u32::MAX) {
            let n = 1u32 << level;
            let cell = Cell { level, ix: x % n, iy: y % n };
            for t in [cell.low(), cell.high()] {
                prop_assert!(t.iter().all(|v| v % 2 == 0));
            }
        }

        #[test]
        fn the_wanted_level_is_the_coarsest_that_is_fine_enough(size in 1e-6..1.0) {
            let l = lattice();
            let level = l.level_for(size);
            prop_assert!(l.cell_m(level) <= size);
            prop_assert!(l.cell_m(level - 1) > size);
        }
    }

    #[test]
    fn sizes_beyond_the_lattice_get_its_first_and_last_level() {
        let l = lattice();
        assert_eq!(l.level_for(10.0 * l.side_m()), 0);
        assert_eq!(l.level_for(0.0), MAX_LEVEL);
        assert_eq!(l.level_for(1e-30), MAX_LEVEL);
    }

    #[test]
    fn the_root_square_holds_the_box_it_was_made_for() {
        let root = (1u64 << ROOT_BITS) as f64;
        for p in [Point::new(-0.37, 0.11), Point::new(1.52, 0.93)] {
            assert!(lattice().ticks(p).iter().all(|t| *t > 0.0 && *t < root));
        }
    }

    #[test]
    fn places_on_the_axis_stay_on_it() {
        for x0 in [0.0, 1e-3, 0.37, -1e-14] {
            let l = Lattice::around(Point::new(x0, 0.11), Point::new(1.52, 0.93)).with_axis();
            for y in [0.11, 0.5, 0.93] {
                let t = l.snap(Point::new(0.0, y));
                assert_eq!((t[0].rem_euclid(2), l.metres(t).x), (1, 0.0));
            }
        }
    }

    #[test]
    fn children_tile_their_parent() {
        let parent = Cell { level: 5, ix: 11, iy: 30 };
        let kids = parent.children();
        assert!(kids.iter().all(|k| k.parent() == parent && 2 * k.ticks() == parent.ticks()));
        assert_eq!(kids[0].low(), parent.low());
        assert_eq!(kids[3].high(), parent.high());
        assert_eq!(kids[0].offset(1, 0), Some(kids[1]));
        assert_eq!(kids[0].offset(0, 1), Some(kids[2]));
        assert_eq!(kids[0].high(), kids[3].low());
    }

    #[test]
    fn nothing_lies_beyond_the_root_square() {
        let corner = Cell { level: 3, ix: 7, iy: 0 };
        assert_eq!(corner.offset(1, 0), None);
        assert_eq!(corner.offset(0, -1), None);
        assert!(corner.offset(-1, 1).is_some());
    }

    #[test]
    fn sides_are_told_exactly_across_the_whole_lattice() {
        // one tick beside a line 2³⁰ ticks long: far below what floating point could see
        let end = (1i64 << ROOT_BITS) - 1;
        let (a, b) = ([1, 1], [end, end]);
        assert_eq!(orientation(a, b, [end - 2, end - 1]), end - 1);
        assert!(is_left(a, b, [end - 2, end - 1]));
        assert!(!is_left(a, b, [end - 1, end - 2]));
        // a point on the line counts as left, whichever way the line runs
        assert!(is_left(a, b, [7, 7]) && is_left(b, a, [7, 7]));
    }
}
