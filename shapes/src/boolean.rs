//! Union, difference and intersection of polygons.
//!
//! A polygon is a set of rings with its interior on the left (outer rings counter-clockwise,
//! holes clockwise); rings that overlap count as one body. The clipping itself works on a grid of
//! about 1e-9 of the extent of all points; vertices of the input are restored to the last digit
//! afterwards, also those in the middle of straight edges, and slivers narrower than that grid
//! are dropped. Touching and coincident edges are no trouble.

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
    let result = polygons(&subject).boolean_op_with_fill_rule(
        &polygons(&clip),
        operation,
        FillRule::NonZero,
    );
    let vertices = Vertices::new(points(), snap);
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

/// The clipper only looks at rings, so each can be a polygon of its own.
fn polygons(rings: &[&Ring]) -> MultiPolygon<f64> {
    let polygon = |ring: &&Ring| {
        let coords = ring.iter().map(|p| Coord { x: p.x, y: p.y }).collect();
        Polygon::new(LineString(coords), Vec::new())
    };
    MultiPolygon(rings.iter().map(polygon).collect())
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

    /// The input vertex within `snap` of `p`, or `p`.
    fn snapped(&self, p: Point) -> Point {
        match self.tree.nearest_neighbor(&[p.x, p.y]) {
            Some(near) => {
                let near = Point::new(near.geom()[0], near.geom()[1]);
                if (near - p).hypot() <= self.snap { near } else { p }
            }
            None => p,
        }
    }

    /// A ring of the result with the input's own vertices, or nothing for a sliver.
    fn restore(&self, ring: LineString<f64>, sign: f64) -> Option<Ring> {
        let mut points: Ring = ring.0.iter().map(|c| self.snapped(Point::new(c.x, c.y))).collect();
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        if points.len() < 3 {
            return None;
        }
        let perimeter: f64 =
            points.iter().zip(points.iter().cycle().skip(1)).map(|(a, b)| (*b - *a).hypot()).sum();
        let area = ring_area(&points);
        if !(area.abs() > perimeter * self.snap) {
            return None;
        }
        if area * sign < 0.0 {
            points.reverse();
        }
        let mut full = Ring::with_capacity(points.len());
        for (k, from) in points.iter().enumerate() {
            full.push(*from);
            full.extend(self.between(*from, points[(k + 1) % points.len()]));
        }
        Some(full)
    }

    /// Input vertices on the edge, in order, its ends left out.
    fn between(&self, from: Point, to: Point) -> Vec<Point> {
        let along = to - from;
        let length = along.hypot();
        let snap = self.snap;
        let room = Rect::from_points(from, to).inflate(snap, snap);
        let mut found: Vec<(f64, usize, Point)> = self
            .tree
            .locate_in_envelope(&AABB::from_corners([room.x0, room.y0], [room.x1, room.y1]))
            .filter_map(|vertex| {
                let p = Point::new(vertex.geom()[0], vertex.geom()[1]);
                let s = (p - from).dot(along) / length;
                let off = (p - from).cross(along).abs() / length;
                (off <= snap && s > snap && s < length - snap).then_some((s, vertex.data, p))
            })
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        // of vertices of both inputs at one place, the first
        found.dedup_by(|next, kept| next.0 - kept.0 <= snap);
        found.into_iter().map(|vertex| vertex.2).collect()
    }
}
