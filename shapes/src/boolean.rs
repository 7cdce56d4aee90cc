//! Union, difference and intersection of polygons.
//!
//! A polygon is a set of rings with its interior on the left (outer rings counter-clockwise,
//! holes clockwise); rings that overlap count as one body. What comes within 8e-9 of the extent of
//! all points touches, and touching edges become one: no slits or slivers are left between them.
//! The clipping itself works on a grid of about 1e-9 of that extent; vertices of the input are
//! restored to the last digit afterwards, also those in the middle of straight edges.

use geo::algorithm::bool_ops::{BooleanOps, FillRule, OpType};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use kurbo::{Point, Rect};
use rstar::{AABB, RTree, primitives::GeomWithData};

/// A closed polygon; its first point is not repeated.
pub type Ring = Vec<Point>;

/// Output points this near to an input point, as a part of the extent, are that input point.
/// The clipper's grid has 2^30 steps or so; a few of them.
const SNAP: f64 = 8e-9;

/// What is in `subject` but not in `clip`. Rings with coordinates that are not finite are left
/// out.
pub fn difference(subject: &[Ring], clip: &[Ring]) -> Vec<Ring> {
    combine(subject, clip, OpType::Difference)
}

/// What is in either.
pub fn union(subject: &[Ring], clip: &[Ring]) -> Vec<Ring> {
    combine(subject, clip, OpType::Union)
}

/// What is in both.
pub fn intersection(subject: &[Ring], clip: &[Ring]) -> Vec<Ring> {
    combine(subject, clip, OpType::Intersection)
}

/// Area enclosed by rings, holes taken off.
pub fn area(rings: &[Ring]) -> f64 {
    rings.iter().map(|ring| ring_area(ring)).sum()
}

/// Area of one ring, positive counter-clockwise.
pub fn ring_area(ring: &[Point]) -> f64 {
    let Some(origin) = ring.first() else {
        return 0.0;
    };
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| 0.5 * (*a - *origin).cross(*b - *origin)).sum()
}

fn combine(subject: &[Ring], clip: &[Ring], operation: OpType) -> Vec<Ring> {
    let usable = |ring: &&Ring| ring.len() >= 3 && ring.iter().all(|p| p.is_finite());
    let subject: Vec<&Ring> = subject.iter().filter(usable).collect();
    let clip: Vec<&Ring> = clip.iter().filter(usable).collect();
    let points = || subject.iter().chain(&clip).flat_map(|ring| ring.iter().copied());
    let Some(first) = points().next() else {
        return Vec::new();
    };
    let extent = points().fold(Rect::from_points(first, first), |room, p| room.union_pt(p));
    let snap = SNAP * extent.width().max(extent.height());
    let vertices = Vertices::new(points(), snap);
    let (subject, clip) = (vertices.polygons(&subject), vertices.polygons(&clip));
    let result = subject.boolean_op_with_fill_rule(&clip, operation, FillRule::NonZero);
    let mut rings = Vec::new();
    for polygon in result {
        let (outer, holes) = polygon.into_inner();
        for (ring, sign) in
            std::iter::once((outer, 1.0)).chain(holes.into_iter().map(|hole| (hole, -1.0)))
        {
            rings.extend(vertices.restore(ring, sign));
        }
    }
    rings
}

/// The vertices of the input, looked up by place.
struct Vertices {
    tree: RTree<GeomWithData<[f64; 2], usize>>,
    snap: f64,
}

impl Vertices {
    fn new(points: impl Iterator<Item = Point>, snap: f64) -> Vertices {
        let all = points.enumerate().map(|(index, p)| GeomWithData::new([p.x, p.y], index));
        Vertices { tree: RTree::bulk_load(all.collect()), snap }
    }

    /// The clipper only looks at rings, so each can be a polygon of its own.
    fn polygons(&self, rings: &[&Ring]) -> MultiPolygon<f64> {
        let polygon = |ring: &&Ring| {
            let coords = self.noded(ring).iter().map(|p| Coord { x: p.x, y: p.y }).collect();
            Polygon::new(LineString(coords), Vec::new())
        };
        MultiPolygon(rings.iter().map(polygon).collect())
    }

    /// The first input vertex within `snap` of `p`, or `p`: one and the same for all that touch.
    fn snapped(&self, p: Point) -> Point {
        self.tree
            .locate_within_distance([p.x, p.y], self.snap * self.snap)
            .min_by_key(|vertex| vertex.data)
            .map_or(p, |vertex| Point::new(vertex.geom()[0], vertex.geom()[1]))
    }

    /// The ring on snapped vertices, with those of others that lie on its edges put in.
    ///
    /// Edges that touch then have the same ends to the last digit, and the clipper sees them as
    /// one; otherwise rounding leaves slits and slivers between them.
    fn noded(&self, ring: &[Point]) -> Ring {
        let mut points: Ring = ring.iter().map(|p| self.snapped(*p)).collect();
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        let mut full = Ring::with_capacity(points.len());
        for (k, from) in points.iter().enumerate() {
            full.push(*from);
            full.extend(self.between(*from, points[(k + 1) % points.len()]));
        }
        full
    }

    /// A ring of the result with the input's own vertices, or nothing for a sliver.
    fn restore(&self, ring: LineString<f64>, sign: f64) -> Option<Ring> {
        let coords: Ring = ring.0.iter().map(|c| Point::new(c.x, c.y)).collect();
        let mut points = self.noded(&coords);
        if points.len() < 3 {
            return None;
        }
        let next = points.iter().cycle().skip(1);
        let perimeter: f64 = points.iter().zip(next).map(|(a, b)| (*b - *a).hypot()).sum();
        let area = ring_area(&points);
        if area.abs() <= perimeter * self.snap {
            return None;
        }
        if area * sign < 0.0 {
            points.reverse();
        }
        Some(points)
    }

    /// Input vertices on the edge, in order, its ends left out.
    fn between(&self, from: Point, to: Point) -> Vec<Point> {
        let along = to - from;
        let length = along.hypot();
        let snap = self.snap;
        let room = Rect::from_points(from, to).inflate(snap, snap);
        let place = |p: Point| {
            let s = (p - from).dot(along) / length;
            let off = (p - from).cross(along).abs() / length;
            (off <= snap && s > snap && s < length - snap).then_some((s, p))
        };
        let mut found: Vec<(f64, Point)> = self
            .tree
            .locate_in_envelope(&AABB::from_corners([room.x0, room.y0], [room.x1, room.y1]))
            .filter_map(|vertex| place(Point::new(vertex.geom()[0], vertex.geom()[1])))
            // the one that stands for all vertices there may lie beyond an end
            .filter_map(|(_, p)| place(self.snapped(p)))
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        found.dedup_by(|next, kept| next.0 - kept.0 <= snap);
        found.into_iter().map(|vertex| vertex.1).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Ring {
        [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
            .iter()
            .map(|(u, v)| Point::new(x + side * u, y + side * v))
            .collect()
    }

    #[test]
    fn a_hole_runs_clockwise() {
        let rings = difference(&[square(0.0, 0.0, 4.0)], &[square(1.0, 1.0, 2.0)]);
        assert_eq!(rings.len(), 2);
        assert_eq!(ring_area(&rings[0]), 16.0);
        assert_eq!(ring_area(&rings[1]), -4.0);
    }

    #[test]
    fn touching_and_coincident_edges_are_no_trouble() {
        let (a, b) = (square(0.0, 0.0, 2.0), square(2.0, 0.0, 2.0));
        assert_eq!(area(&union(std::slice::from_ref(&a), std::slice::from_ref(&b))), 8.0);
        assert_eq!(area(&difference(std::slice::from_ref(&a), std::slice::from_ref(&b))), 4.0);
        assert!(intersection(std::slice::from_ref(&a), &[b]).is_empty());
        assert!(difference(std::slice::from_ref(&a), std::slice::from_ref(&a)).is_empty());
        // a body that stands on the tank's wall
        let rings = difference(&[square(0.0, 0.0, 10.0)], &[square(4.0, 0.0, 2.0)]);
        assert_eq!(rings.len(), 1);
        assert_eq!(ring_area(&rings[0]), 96.0);
    }

    #[test]
    fn overlapping_rings_are_one_body() {
        let bodies = [square(1.0, 1.0, 2.0), square(2.0, 2.0, 2.0)];
        assert_eq!(area(&difference(&[square(0.0, 0.0, 10.0)], &bodies)), 93.0);
        assert_eq!(area(&union(&bodies, &[])), 7.0);
    }

    #[test]
    fn vertices_come_back_to_the_last_digit_even_on_straight_edges() {
        let third = 1.0 / 3.0;
        let mut tank = square(-third, third, 10.0);
        tank.insert(1, Point::new(2.0 * third, third));
        let body = square(5.0 + third, 5.0, third);
        let rings = difference(std::slice::from_ref(&tank), std::slice::from_ref(&body));
        for vertex in tank.iter().chain(&body) {
            assert!(rings.iter().flatten().any(|p| p == vertex), "{vertex}");
        }
        assert_eq!(rings.iter().map(Vec::len).sum::<usize>(), 9);
    }

    #[test]
    fn edges_that_touch_up_to_rounding_leave_no_slivers() {
        use crate::outline::Outline;
        let ring = |outline: &Outline| outline.loops()[0].joints().to_vec();
        let tank = Outline::rect(Point::new(0.3, 0.2), (0.6, 0.4), 0.0).expect("a tank");
        let plate = Outline::rect(Point::new(0.05, 0.17), (0.1, 0.05), 0.0).expect("a plate");
        let bar = Outline::rect(Point::new(0.2, 0.18), (0.2, 0.03), 0.0).expect("a bar");
        for k in 0..40 {
            let turned = |o: &Outline| ring(&o.turned_about(7.3 * f64::from(k), Point::ORIGIN));
            let bodies = [turned(&plate), turned(&bar)];
            let bath = difference(&[turned(&tank)], &bodies);
            assert_eq!(bath.len(), 1, "turned {k} times: {bath:?}");
            assert!((area(&bath) - (0.24 - 0.011)).abs() < 1e-9);
            assert_eq!(union(&bodies[..1], &bodies[1..]).len(), 1);
            assert!(intersection(&bodies[..1], &bodies[1..]).is_empty());
        }
    }

    #[test]
    fn senseless_rings_are_left_out() {
        let broken = vec![Point::new(f64::NAN, 0.0), Point::new(1.0, 0.0), Point::new(0.0, 1.0)];
        assert!(union(std::slice::from_ref(&broken), &[vec![], vec![Point::ORIGIN]]).is_empty());
        assert_eq!(area(&union(&[broken], &[square(0.0, 0.0, 2.0)])), 4.0);
        let flat = vec![Point::ORIGIN, Point::new(1.0, 1.0), Point::new(2.0, 2.0)];
        assert!(union(&[flat], &[]).is_empty());
    }
}
