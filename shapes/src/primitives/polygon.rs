//! Polygons, sharp or with rounded corners.

use kurbo::{Point, Vec2};

use crate::arc::Arc;
use crate::error::{ShapeError, finite_point, not_negative};
use crate::outline::Outline;
use crate::segment::Segment;

/// A corner of the polygon with the numbers that rounding it needs.
struct Rounding {
    /// Index among the points given.
    index: usize,
    at: Point,
    /// Left turn at the corner, radians.
    turn: f64,
    /// Tangent of half the turn: a radius `r` takes `r * tangent` of both edges.
    tangent: f64,
}

impl Outline {
    /// A polygon through `points`, every corner rounded with the radius `corner_radius` (0 leaves
    /// them sharp).
    ///
    /// It may run either way; a point that repeats the one before it, or closes the polygon, is
    /// passed over.
    ///
    /// # Errors
    /// A number is not finite; fewer than three different points; the radius negative or too
    /// large for the edges at a corner; the polygon crosses itself or encloses nothing.
    pub fn polygon(points: &[Point], corner_radius: f64) -> Result<Outline, ShapeError> {
        for point in points {
            finite_point("every coordinate of a polygon", *point)?;
        }
        let radius = not_negative("the corner radius of a polygon", corner_radius)?;
        let points = distinct(points);
        if points.len() < 3 {
            return Err(ShapeError::TooFewPoints {
                shape: "a polygon",
                needed: 3,
                got: points.len(),
            });
        }
        let sharp = sharp_chain(&points);
        if radius == 0.0 {
            return Outline::from_segments(vec![sharp]);
        }
        // what is wrong with the sharp polygon is said of the sharp polygon
        Outline::from_segments(vec![sharp])?;
        Outline::from_segments(vec![rounded_chain(&points, radius)?])
    }
}

/// The points that differ from the one before, with their indices.
fn distinct(points: &[Point]) -> Vec<(usize, Point)> {
    let mut kept: Vec<(usize, Point)> = Vec::with_capacity(points.len());
    for (index, point) in points.iter().enumerate() {
        if kept.last().is_none_or(|last| last.1 != *point) {
            kept.push((index, *point));
        }
    }
    while kept.len() > 1 && kept[0].1 == kept[kept.len() - 1].1 {
        kept.pop();
    }
    kept
}

fn sharp_chain(points: &[(usize, Point)]) -> Vec<Segment> {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(from, to)| Segment::line(from.1, to.1)).collect()
}

fn rounded_chain(points: &[(usize, Point)], radius: f64) -> Result<Vec<Segment>, ShapeError> {
    let count = points.len();
    let corners: Vec<Rounding> = (0..count)
        .map(|i| {
            let (index, at) = points[i];
            let into = at - points[(i + count - 1) % count].1;
            let out = points[(i + 1) % count].1 - at;
            let turn = into.cross(out).atan2(into.dot(out));
            Rounding { index, at, turn, tangent: (0.5 * turn).tan().abs() }
        })
        .collect();
    check_room(&corners, radius)?;
    let mut chain = Vec::with_capacity(2 * count);
    let mut from: Option<Point> = None;
    // one corner more than there are: the first edge is drawn last
    for i in 0..=count {
        let corner = &corners[i % count];
        let into = unit(corner.at - corners[(i + count - 1) % count].at);
        let out = unit(corners[(i + 1) % count].at - corner.at);
        let cut = radius * corner.tangent;
        let (leave, meet) = (corner.at - into * cut, corner.at + out * cut);
        if let Some(from) = from {
            chain.push(Segment::line(from, leave));
        }
        from = Some(meet);
        if i < count && corner.tangent > 1e-9 {
            // the centre is to the left of travel at a left turn
            let side = corner.turn.signum();
            let inward = Vec2::new(-into.y, into.x) * side;
            let start = (-inward).atan2();
            let centre = leave + inward * radius;
            chain.push(Segment::Arc(Arc { centre, radius, start, sweep: corner.turn }));
        }
    }
    Ok(chain)
}

/// Refuses a radius for which two neighbouring corners need more than the edge between them.
fn check_room(corners: &[Rounding], radius: f64) -> Result<(), ShapeError> {
    let count = corners.len();
    let mut tightest = (f64::INFINITY, 0);
    for i in 0..count {
        let next = (i + 1) % count;
        let edge = (corners[next].at - corners[i].at).hypot();
        let fits = edge / (corners[i].tangent + corners[next].tangent);
        if fits < tightest.0 {
            let worse = if corners[i].tangent >= corners[next].tangent { i } else { next };
            tightest = (fits, worse);
        }
    }
    // a full half circle fits exactly, whatever the last digit says
    if radius <= tightest.0 * (1.0 + 1e-12) {
        return Ok(());
    }
    let corner = &corners[tightest.1];
    Err(ShapeError::CornerTooLarge {
        corner: corner.index,
        at: corner.at,
        radius,
        largest: tightest.0,
    })
}

fn unit(v: Vec2) -> Vec2 {
    let size = v.hypot();
    if size > 0.0 { v / size } else { v }
}
