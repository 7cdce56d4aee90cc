//! Boxes, segments and polygons on the page: what touches what.

use shapes::{Point, Rect};

/// A closed polygon in pixels.
pub type Polygon = Vec<Point>;

/// A body on the page: its loops and the box round them.
#[derive(Debug, Clone)]
pub struct Body {
    /// Closed loops; what lies inside an odd number of them is the body.
    pub loops: Vec<Polygon>,
    /// The box round all loops.
    pub bounds: Rect,
}

impl Body {
    /// Every side of every loop.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.loops
            .iter()
            .flat_map(|l| l.iter().zip(l.iter().cycle().skip(1)).map(|(a, b)| (*a, *b)))
    }

    /// True inside the body (even-odd rule).
    pub fn contains(&self, p: Point) -> bool {
        let crossings = self
            .edges()
            .filter(|(a, b)| (a.y > p.y) != (b.y > p.y))
            .filter(|(a, b)| p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
            .count();
        crossings % 2 == 1
    }

    /// True where the outline has a point in a box.
    pub fn edge_meets(&self, area: Rect) -> bool {
        overlap(self.bounds, area) && self.edges().any(|(a, b)| segment_meets(a, b, area))
    }

    /// True where the body or its outline has a point in a box, as far as the box's middle tells.
    pub fn meets(&self, area: Rect) -> bool {
        overlap(self.bounds, area) && (self.contains(area.center()) || self.edge_meets(area))
    }

    /// True where a segment crosses the outline.
    pub fn edge_crosses(&self, from: Point, to: Point) -> bool {
        overlap(self.bounds, Rect::from_points(from, to))
            && self.edges().any(|(a, b)| segments_cross(a, b, from, to))
    }

    /// The shortest link between a box and the outline: ends and length.
    pub fn link(&self, area: Rect) -> (Point, Point, f64) {
        let mut best = (area.center(), area.center(), f64::INFINITY);
        for (a, b) in self.edges() {
            for on in [a, b, closest_on(a, b, area.center()), a.midpoint(b)] {
                let from = closest_in(area, on);
                let on = closest_on(a, b, from);
                let gap = (on - from).hypot();
                if gap < best.2 {
                    best = (from, on, gap);
                }
            }
        }
        best
    }
}

/// True where two boxes share area.
pub fn overlap(a: Rect, b: Rect) -> bool {
    a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1
}

/// The box round some points.
pub fn bounds(points: impl IntoIterator<Item = Point>) -> Rect {
    points
        .into_iter()
        .map(|p| Rect::from_points(p, p))
        .reduce(|a, b| a.union(b))
        .unwrap_or(Rect::ZERO)
}

/// The point of a box nearest to `p`.
pub fn closest_in(area: Rect, p: Point) -> Point {
    Point::new(p.x.clamp(area.x0, area.x1), p.y.clamp(area.y0, area.y1))
}

/// The point of a segment nearest to `p`.
pub fn closest_on(a: Point, b: Point, p: Point) -> Point {
    let along = b - a;
    let length2 = along.hypot2();
    let t = if length2 > 0.0 { ((p - a).dot(along) / length2).clamp(0.0, 1.0) } else { 0.0 };
    a + along * t
}

/// True where a segment has a point in a box (Liang and Barsky 1984, ACM Trans. Graph. 3, 1-22).
pub fn segment_meets(a: Point, b: Point, area: Rect) -> bool {
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    let d = b - a;
    for (p, q) in
        [(-d.x, a.x - area.x0), (d.x, area.x1 - a.x), (-d.y, a.y - area.y0), (d.y, area.y1 - a.y)]
    {
        if p == 0.0 {
            if q < 0.0 {
                return false;
            }
        } else if p < 0.0 {
            enter = enter.max(q / p);
        } else {
            leave = leave.min(q / p);
        }
    }
    enter <= leave
}

/// True where two segments cross properly.
pub fn segments_cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let (ab, cd) = (b - a, d - c);
    let (s1, s2) = (ab.cross(c - a), ab.cross(d - a));
    let (s3, s4) = (cd.cross(a - c), cd.cross(b - c));
    s1 * s2 < 0.0 && s3 * s4 < 0.0
}
