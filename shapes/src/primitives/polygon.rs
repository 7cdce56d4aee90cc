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

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|p| Point::from(*p)).collect()
    }

    #[test]
    fn either_way_round_and_closed_or_not_is_the_same_polygon() {
        let square = points(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]);
        let backwards: Vec<Point> = square.iter().rev().copied().collect();
        let mut closed = square.clone();
        closed.push(square[0]);
        closed.insert(1, square[0]);
        for list in [square, backwards, closed] {
            let outline = Outline::polygon(&list, 0.0).expect("a square");
            assert_eq!(outline.area(), 4.0);
            assert_eq!(outline.perimeter(), 8.0);
            assert_eq!(outline.loops()[0].corners().len(), 4);
        }
    }

    #[test]
    fn rounding_takes_its_closed_form_off_every_corner() {
        // at a corner that turns by t: area r² (tan(t/2) - t/2), length r (2 tan(t/2) - t)
        let list = points(&[(0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (4.0, 3.0), (1.0, 9.0)]);
        let sharp = Outline::polygon(&list, 0.0).expect("sharp");
        let round = Outline::polygon(&list, 0.5).expect("round");
        let (mut area, mut length) = (sharp.area(), sharp.perimeter());
        for corner in sharp.loops()[0].corners() {
            let turn = PI - corner.interior_angle_rad;
            let tangent = (0.5 * turn).tan();
            area -= 0.25 * (tangent - 0.5 * turn);
            length -= 0.5 * (2.0 * tangent - turn).abs();
        }
        assert!((round.area() - area).abs() < 1e-12, "{} {area}", round.area());
        assert!((round.perimeter() - length).abs() < 1e-12);
        assert!(round.loops()[0].corners().is_empty());
    }

    #[test]
    fn the_largest_radius_fits_and_a_larger_one_is_refused_with_it() {
        let list = points(&[(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (0.0, 2.0)]);
        let stadium = Outline::polygon(&list, 1.0).expect("a stadium");
        assert!((stadium.area() - (8.0 + PI)).abs() < 1e-12);
        let error = Outline::polygon(&list, 1.5).expect_err("too round");
        let ShapeError::CornerTooLarge { largest, radius, .. } = error else { panic!("{error}") };
        assert!((largest - 1.0).abs() < 1e-12);
        assert_eq!(radius, 1.5);
    }

    #[test]
    fn what_is_not_a_polygon_is_refused() {
        let error = |list: &[(f64, f64)], radius: f64| {
            Outline::polygon(&points(list), radius).expect_err("not a polygon").to_string()
        };
        assert_eq!(error(&[], 0.0), "a polygon needs at least 3 different points, not 0");
        let two = [(0.0, 0.0), (1.0, 0.0), (1.0, 0.0), (0.0, 0.0)];
        assert_eq!(error(&two, 0.0), "a polygon needs at least 3 different points, not 2");
        let bow = [(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)];
        assert_eq!(error(&bow, 0.0), "the outline crosses or touches itself at (1, 1)");
        assert_eq!(error(&bow, 0.1), "the outline crosses or touches itself at (1, 1)");
        let triangle = [(0.0, 0.0), (2.0, 0.0), (0.0, 2.0)];
        assert_eq!(
            error(&triangle, -1.0),
            "the corner radius of a polygon must not be negative, but is -1"
        );
        assert_eq!(
            error(&[(0.0, 0.0), (f64::NAN, 0.0), (0.0, 2.0)], 0.0),
            "every coordinate of a polygon must be an ordinary number"
        );
        let line = [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)];
        assert!(error(&line, 0.0).starts_with("the outline crosses or touches itself"));
    }
}
