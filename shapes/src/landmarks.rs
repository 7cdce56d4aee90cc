//! Where on a body a place lies, as one would say it: at the bottom of a recess, on its rim, at a
//! corner, on the left side half way up.
//!
//! A recess is a stretch of outline that dips below the body's convex hull; how deep a place is
//! in it is its distance from the line across the mouth, as a share of the deepest place. A bend is
//! told by how far the outline turns within a short way on either side, so that a rounded edge is
//! an edge as well.
//!
//! Words are for people: the bounds between them (what is deep, what is a bend) are round numbers,
//! not physics. Works on chords that follow curves to 1e-3 of the body's size.

use std::f64::consts::FRAC_PI_3;

use kurbo::{Point, Vec2};

use crate::boolean::{self, Ring};
use crate::corners::Corner;
use crate::hull::hull;
use crate::outline::Outline;

/// A body's recesses, bends and corners, ready to be asked about places.
#[derive(Debug, Clone)]
pub struct Landmarks {
    rings: Vec<Traced>,
    corners: Vec<(usize, Corner)>,
    /// The half way on either side within which a bend is looked for.
    reach: f64,
    round: bool,
}

/// Where a place lies on a body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Whereabouts {
    /// On which kind of surface.
    pub region: Region,
    /// The bend of the outline there, if it bends.
    pub bend: Option<Bend>,
    /// Where the surface looks.
    pub towards: Compass,
    /// How far across the body's box, 0 at the left, 1 at the right.
    pub across: f64,
    /// How far up the body's box, 0 at the foot, 1 at the top.
    pub up: f64,
}

/// A kind of surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Region {
    /// Inside a recess.
    Recess {
        /// Depth as a share of the deepest place of this recess.
        depth: f64,
        /// Where its mouth looks.
        mouth: Compass,
        /// True if the body has other recesses.
        one_of_several: bool,
    },
    /// Round the mouth of a recess.
    Rim {
        /// Where the mouth looks.
        mouth: Compass,
        /// True if the body has other recesses.
        one_of_several: bool,
    },
    /// Between the legs of an angle: a wide, shallow dip.
    Angle,
    /// The inside of a closed hole.
    Hole,
    /// The inside of a round body that is open at both ends.
    Bore,
    /// Anywhere else.
    Outside,
}

/// A bend of the outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bend {
    /// True for an edge that sticks out, false for a nook.
    pub outward: bool,
    /// Number of the sharp corner there, counted from 1 over all loops; `None` where it is rounded.
    pub corner: Option<usize>,
}

/// Eight directions of the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Compass {
    Right,
    UpperRight,
    Up,
    UpperLeft,
    Left,
    LowerLeft,
    Down,
    LowerRight,
}

impl Compass {
    /// The direction nearest to a vector's.
    pub fn of(way: Vec2) -> Self {
        let eighth = (way.atan2() / std::f64::consts::FRAC_PI_4).round() as i32;
        match eighth.rem_euclid(8) {
            0 => Self::Right,
            1 => Self::UpperRight,
            2 => Self::Up,
            3 => Self::UpperLeft,
            4 => Self::Left,
            5 => Self::LowerLeft,
            6 => Self::Down,
            _ => Self::LowerRight,
        }
    }

    /// As in "the upper left side".
    pub fn word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::UpperRight => "upper right",
            Self::Up => "upper",
            Self::UpperLeft => "upper left",
            Self::Left => "left",
            Self::LowerLeft => "lower left",
            Self::Down => "lower",
            Self::LowerRight => "lower right",
        }
    }
}

/// Chords stay this close to curves, as a share of the body's size.
const CHORDS: f64 = 1e-3;
/// Bends are looked for this far on either side, as a share of the body's size.
const REACH: f64 = 0.025;
/// A dip less deep than this share of its mouth is no recess: a flare, a dent.
const SHALLOW: f64 = 0.15;
/// A dip deeper than this share of its mouth is a recess whatever its shape: a right angle is at
/// most half as deep as wide.
const DEEP: f64 = 0.55;
/// So is a flatter one that fills more than this share of mouth times depth: a triangle fills half.
const FULL: f64 = 0.65;
/// Share of the depth that counts as the rim.
const RIM: f64 = 0.1;

/// A closed line of chords with its dips.
#[derive(Debug, Clone)]
struct Traced {
    ring: Ring,
    hole: bool,
    dips: Vec<Dip>,
}

/// A stretch below the convex hull.
#[derive(Debug, Clone, Copy)]
struct Dip {
    /// Ends of the line across the mouth, in the order of the ring.
    mouth: [Point; 2],
    /// First and last vertex of the ring; it may run past the ring's start.
    range: (usize, usize),
    depth: f64,
    recess: bool,
}

impl Landmarks {
    /// The landmarks of an outline; of a round one (about the axis x = 0) those of the whole body.
    pub fn of(outline: &Outline, round: bool) -> Self {
        let size = outline.diagonal();
        let flat = |curve: &crate::Loop| -> Ring {
            curve.flatten(&[], CHORDS * size).into_iter().map(|vertex| vertex.at).collect()
        };
        let mut rings: Vec<Ring> = outline.loops().iter().map(flat).collect();
        if round {
            let mirrored = |ring: &Ring| -> Ring {
                ring.iter().rev().map(|p| Point::new(-p.x, p.y)).collect()
            };
            let other: Vec<Ring> = rings.iter().map(mirrored).collect();
            rings = boolean::union(&rings, &other);
        }
        let corners = outline.loops().iter().flat_map(crate::Loop::corners);
        Self {
            rings: rings
                .into_iter()
                .filter(|ring| ring.len() > 2)
                .map(|ring| Traced::of(ring, size))
                .collect(),
            corners: corners.enumerate().map(|(k, corner)| (k + 1, corner)).collect(),
            reach: REACH * size,
            round,
        }
    }

    /// Where a place on (or near) the outline lies; `normal` points out of the body there.
    ///
    /// `None` for an outline without area. O(vertices).
    pub fn at(&self, place: Point, normal: Vec2) -> Option<Whereabouts> {
        let (ring, near) = self
            .rings
            .iter()
            .filter_map(|traced| Some((traced, nearest(&traced.ring, place)?)))
            .min_by(|a, b| a.1.2.total_cmp(&b.1.2))?;
        let turn = ring.turn_near(near.0, near.1, self.reach);
        let corner = self
            .corners
            .iter()
            .filter(|(_, c)| (c.at - place).hypot() <= self.reach)
            .min_by(|a, b| (a.1.at - place).hypot2().total_cmp(&(b.1.at - place).hypot2()))
            .map(|(number, _)| *number);
        let bend = (turn.abs() >= FRAC_PI_3).then_some(Bend { outward: turn > 0.0, corner });
        let around = ring
            .ring
            .iter()
            .fold(kurbo::Rect::from_points(ring.ring[0], ring.ring[0]), |all, p| all.union_pt(*p));
        let share = |x: f64, from: f64, to: f64| {
            if to > from { ((x - from) / (to - from)).clamp(0.0, 1.0) } else { 0.5 }
        };
        Some(Whereabouts {
            region: self.region(ring, near.0, place, normal),
            bend,
            towards: Compass::of(normal),
            across: share(place.x, around.x0, around.x1),
            up: share(place.y, around.y0, around.y1),
        })
    }

    fn region(&self, traced: &Traced, edge: usize, place: Point, normal: Vec2) -> Region {
        if traced.hole {
            return Region::Hole;
        }
        let recesses = self.rings.iter().flat_map(|t| &t.dips).filter(|dip| dip.recess).count();
        let one_of_several = recesses > 1;
        for dip in &traced.dips {
            let mouth = Compass::of(dip.outward());
            let width = (dip.mouth[1] - dip.mouth[0]).hypot();
            let depth = dip.depth_of(place) / dip.depth;
            let inside = dip.holds(edge, traced.ring.len());
            let lip = RIM * width.max(dip.depth);
            let at_end = dip.mouth.iter().any(|end| (*end - place).hypot() <= lip);
            if dip.recess && ((inside && depth < RIM) || (!inside && at_end)) {
                return Region::Rim { mouth, one_of_several };
            }
            if inside && dip.recess {
                return Region::Recess { depth, mouth, one_of_several };
            }
            if inside && depth >= RIM {
                return Region::Angle;
            }
        }
        let hollow = self.round && traced.ring.iter().all(|p| p.x.abs() > self.reach * 1e-3);
        if hollow && normal.x * place.x < 0.0 && normal.x.abs() > 0.5 {
            return Region::Bore;
        }
        Region::Outside
    }
}

impl Traced {
    fn of(mut ring: Ring, size: f64) -> Self {
        if ring.len() > 1 && (ring[0] - ring[ring.len() - 1]).hypot() == 0.0 {
            ring.pop();
        }
        let hole = boolean::ring_area(&ring) < 0.0;
        let dips = if hole { Vec::new() } else { dips(&ring, size) };
        Self { ring, hole, dips }
    }

    /// How far the ring turns (left is positive) within `reach` on either side of a place.
    fn turn_near(&self, edge: usize, along: f64, reach: f64) -> f64 {
        let count = self.ring.len();
        let vertex = |k: usize| self.ring[k % count];
        let exterior = |k: usize| {
            let (before, at, after) = (vertex(k + count - 1), vertex(k), vertex(k + 1));
            let (a, b) = (at - before, after - at);
            a.cross(b).atan2(a.dot(b))
        };
        let mut turn = 0.0;
        // ahead: vertices edge + 1, edge + 2, ...
        let mut left = reach - ((vertex(edge + 1) - vertex(edge)).hypot() - along);
        let mut k = edge + 1;
        while left >= 0.0 && k <= edge + count {
            turn += exterior(k);
            left -= (vertex(k + 1) - vertex(k)).hypot();
            k += 1;
        }
        // behind: vertices edge, edge - 1, ...
        let mut left = reach - along;
        let mut k = edge + count;
        while left >= 0.0 && k > edge {
            turn += exterior(k);
            left -= (vertex(k) - vertex(k + count - 1)).hypot();
            k -= 1;
        }
        turn
    }
}

impl Dip {
    /// The straight line across the ring from one vertex to a later one.
    fn across(ring: &[Point], from: usize, to: usize) -> Self {
        let mouth = [ring[from % ring.len()], ring[to % ring.len()]];
        Self { mouth, range: (from, to), depth: 0.0, recess: false }
    }

    fn depth_of(&self, p: Point) -> f64 {
        let along = self.mouth[1] - self.mouth[0];
        along.cross(p - self.mouth[0]) / along.hypot()
    }

    /// Where the mouth looks: out of the body, which is on the left of the ring.
    fn outward(&self) -> Vec2 {
        let along = self.mouth[1] - self.mouth[0];
        Vec2::new(along.y, -along.x)
    }

    /// True for the edge that begins at vertex `edge`.
    fn holds(&self, edge: usize, count: usize) -> bool {
        let (from, to) = self.range;
        (edge >= from && edge < to) || (edge + count >= from && edge + count < to)
    }
}

/// The edge nearest to a place: its first vertex, how far along it, and the squared distance.
fn nearest(ring: &[Point], p: Point) -> Option<(usize, f64, f64)> {
    let edges = (0..ring.len()).map(|k| {
        let (from, to) = (ring[k], ring[(k + 1) % ring.len()]);
        let along = to - from;
        let length = along.hypot();
        let t = if length > 0.0 { (p - from).dot(along) / (length * length) } else { 0.0 };
        let t = t.clamp(0.0, 1.0);
        (k, t * length, (from + along * t - p).hypot2())
    });
    edges.min_by(|a, b| a.2.total_cmp(&b.2))
}

/// Where a ring that runs counter-clockwise dips below its convex hull, shallow dips left out.
///
/// Vertices on the hull's sides part one dip from the next, as teeth of equal length do.
fn dips(ring: &[Point], size: f64) -> Vec<Dip> {
    let mut hull = hull(ring);
    hull.sort_unstable();
    let count = ring.len();
    let mut found = Vec::new();
    for (k, &from) in hull.iter().enumerate() {
        let to = hull.get(k + 1).copied().unwrap_or(hull[0] + count);
        let side = Dip::across(ring, from, to);
        let on_side = |i: &usize| side.depth_of(ring[i % count]) <= CHORDS * size;
        let ends: Vec<usize> = (from..=to).filter(on_side).collect();
        for pair in ends.windows(2) {
            found.extend(measured(ring, Dip::across(ring, pair[0], pair[1])));
        }
    }
    found
}

/// The dip with its depth and kind; `None` if it is shallow.
fn measured(ring: &[Point], dip: Dip) -> Option<Dip> {
    let (from, to) = dip.range;
    let between: Vec<Point> = (from..=to).map(|i| ring[i % ring.len()]).collect();
    let depth = between.iter().map(|p| dip.depth_of(*p)).fold(0.0, f64::max);
    let width = (dip.mouth[1] - dip.mouth[0]).hypot();
    if width <= 0.0 || depth < SHALLOW * width || depth <= 0.0 {
        return None;
    }
    let area = boolean::ring_area(&between).abs();
    let recess = depth >= DEEP * width || area >= FULL * width * depth;
    Some(Dip { depth, recess, ..dip })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(outline: &Outline, x: f64, y: f64) -> Whereabouts {
        let (index, s, p) = outline.nearest(Point::new(x, y));
        let normal = outline.loops()[index].outward_at(s);
        Landmarks::of(outline, false).at(p, normal).expect("an outline with area")
    }

    /// A channel of 40 by 50, walls of 5, open at the top.
    fn channel() -> Outline {
        Outline::path("M0 0H40V50H35V5H5V50H0Z").expect("a channel")
    }

    #[test]
    fn a_channel_has_a_bottom_walls_and_a_rim() {
        let part = channel();
        let depth = |x: f64, y: f64| match at(&part, x, y).region {
            Region::Recess { depth, mouth, one_of_several } => {
                assert_eq!((mouth, one_of_several), (Compass::Up, false));
                depth
            }
            other => panic!("{other:?}"),
        };
        // 45 deep: the bottom at y = 5, the middle of the wall at y = 27.5
        assert!((depth(20.0, 5.0) - 1.0).abs() < 1e-12);
        assert!((depth(5.0, 27.5) - 0.5).abs() < 1e-12);
        for (x, y) in [(36.0, 50.0), (5.0, 48.0), (39.0, 50.0)] {
            assert!(matches!(at(&part, x, y).region, Region::Rim { .. }), "{x} {y}");
        }
        let back = at(&part, 20.0, 0.0);
        assert_eq!((back.region, back.towards, back.bend), (Region::Outside, Compass::Down, None));
    }

    #[test]
    fn corners_have_the_numbers_of_the_drawing_and_nooks_are_told_from_edges() {
        let part = channel();
        let first = at(&part, 0.5, 0.0).bend;
        assert_eq!(first, Some(Bend { outward: true, corner: Some(1) }));
        // the fifth joint of the path is the nook at (5, 5), reached after (35, 5)
        let nook = at(&part, 5.0, 5.5).bend;
        assert_eq!(nook, Some(Bend { outward: false, corner: Some(6) }));
    }

    #[test]
    fn a_rounded_edge_is_an_edge_without_a_number_and_a_disc_has_none() {
        let rounded = Outline::rect(Point::new(0.0, 0.0), (40.0, 30.0), 1.0).expect("a block");
        let place = at(&rounded, 19.7, 14.7);
        assert_eq!(place.bend, Some(Bend { outward: true, corner: None }));
        assert_eq!(place.towards, Compass::UpperRight);
        let disc = Outline::disc(Point::ORIGIN, 10.0).expect("a disc");
        let place = at(&disc, -8.0, -8.0);
        assert_eq!((place.bend, place.towards), (None, Compass::LowerLeft));
        assert_eq!(place.region, Region::Outside);
    }

    #[test]
    fn an_angle_is_no_recess_and_a_flare_is_nothing() {
        let angle = Outline::path("M0 0H40V5H5V40H0Z").expect("an angle");
        assert_eq!(at(&angle, 20.0, 5.0).region, Region::Angle);
        assert_eq!(at(&angle, 20.0, 0.0).region, Region::Outside);
        let flare = Outline::path("M0 0L50 4L100 0V40H0Z").expect("a dented block");
        assert_eq!(at(&flare, 40.0, 3.0).region, Region::Outside);
    }

    #[test]
    fn a_comb_has_several_recesses_and_a_frame_has_a_hole() {
        // teeth of equal length: two slots of 10 by 30
        let comb = Outline::path("M0 0H60V40H45V10H35V40H25V10H15V40H0Z").expect("a comb");
        let several = |x, y| match at(&comb, x, y).region {
            Region::Recess { one_of_several, .. } => one_of_several,
            other => panic!("{other:?}"),
        };
        assert!(several(20.0, 10.0) && several(40.0, 10.0));
        let both = Outline::path("M0 0H15V20H25V0H40V60H25V40H15V60H0Z").expect("an H");
        match at(&both, 20.0, 40.0).region {
            Region::Recess { mouth, one_of_several, .. } => {
                assert_eq!((mouth, one_of_several), (Compass::Up, true));
            }
            other => panic!("{other:?}"),
        }
        let frame = Outline::path("M0 0H10V10H0Z M2 2H8V8H2Z").expect("a frame");
        assert_eq!(at(&frame, 2.0, 5.0).region, Region::Hole);
    }

    #[test]
    fn round_bodies_are_seen_whole() {
        // a cup of radius 20, 50 high, wall 2, drawn as a half section
        let cup = Outline::path("M0 0H20V50H18V2H0Z").expect("a cup");
        let marks = Landmarks::of(&cup, true);
        let bottom = marks.at(Point::new(9.0, 2.0), Vec2::new(0.0, 1.0)).expect("on the cup");
        match bottom.region {
            Region::Recess { depth, mouth, .. } => {
                assert!((depth - 1.0).abs() < 1e-6, "{depth}");
                assert_eq!(mouth, Compass::Up);
            }
            other => panic!("{other:?}"),
        }
        let tube = Outline::path("M18 0H20V50H18Z").expect("a tube");
        let marks = Landmarks::of(&tube, true);
        let inside = marks.at(Point::new(18.0, 25.0), Vec2::new(-1.0, 0.0)).expect("on the tube");
        assert_eq!(inside.region, Region::Bore);
        let outside = marks.at(Point::new(20.0, 25.0), Vec2::new(1.0, 0.0)).expect("on the tube");
        assert_eq!(outside.region, Region::Outside);
    }

    #[test]
    fn a_turn_of_the_drawing_turns_the_words() {
        let turned = channel().turned_about(-90.0, Point::ORIGIN);
        match at(&turned, 5.0, -20.0).region {
            Region::Recess { depth, mouth, .. } => {
                assert!((depth - 1.0).abs() < 1e-9, "{depth}");
                assert_eq!(mouth, Compass::Right);
            }
            other => panic!("{other:?}"),
        }
    }
}
