//! Bent sheet: a strip of even thickness along a line of points.

use std::f64::consts::PI;

use kurbo::{Point, Vec2};

use crate::arc::Arc;
use crate::error::{ShapeError, finite_point, positive};
use crate::outline::Outline;
use crate::segment::Segment;

/// How a strip ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StripEnds {
    /// Cut square at the first and the last point.
    #[default]
    Flat,
    /// Half circles around the first and the last point.
    Round,
}

impl Outline {
    /// A bent sheet whose middle line runs through `points`, mitred at the bends.
    ///
    /// # Errors
    /// A number is not finite; fewer than two different points; the thickness not above zero; a
    /// bend too sharp for its legs, or one leg running into another.
    pub fn strip(points: &[Point], thickness: f64, ends: StripEnds) -> Result<Outline, ShapeError> {
        for point in points {
            finite_point("every coordinate of a strip", *point)?;
        }
        let half = 0.5 * positive("the thickness of a strip", thickness)?;
        let mut middle: Vec<(usize, Point)> = Vec::with_capacity(points.len());
        for (index, point) in points.iter().enumerate() {
            if middle.last().is_none_or(|last| last.1 != *point) {
                middle.push((index, *point));
            }
        }
        if middle.len() < 2 {
            return Err(ShapeError::TooFewPoints {
                shape: "a strip",
                needed: 2,
                got: middle.len(),
            });
        }
        check_bends(&middle, half)?;
        let legs: Vec<Vec2> = middle.windows(2).map(|pair| unit(pair[1].1 - pair[0].1)).collect();
        let right: Vec<Point> = side(&middle, &legs, half);
        let left: Vec<Point> = side(&middle, &legs, -half);

        // down the right side, around the far end, back along the left side
        let mut chain: Vec<Segment> = Vec::with_capacity(2 * middle.len() + 2);
        chain.extend(right.windows(2).map(|pair| Segment::line(pair[0], pair[1])));
        let last = middle.len() - 1;
        chain.push(end_cap(ends, right[last], left[last], middle[last].1, half));
        chain.extend(left.windows(2).rev().map(|pair| Segment::line(pair[1], pair[0])));
        chain.push(end_cap(ends, left[0], right[0], middle[0].1, half));
        Outline::from_segments(vec![chain])
    }
}

/// Points of the side `offset` to the right of travel.
fn side(middle: &[(usize, Point)], legs: &[Vec2], offset: f64) -> Vec<Point> {
    let right = |leg: Vec2| Vec2::new(leg.y, -leg.x);
    (0..middle.len())
        .map(|i| {
            let into = legs[i.saturating_sub(1)];
            let out = legs[i.min(legs.len() - 1)];
            // the mitre: offset along both normals
            let (a, b) = (right(into), right(out));
            middle[i].1 + (a + b) * (offset / (1.0 + a.dot(b)))
        })
        .collect()
}

/// Refuses bends whose inner side is longer than their legs.
fn check_bends(middle: &[(usize, Point)], half: f64) -> Result<(), ShapeError> {
    let turn_at = |i: usize| {
        if i == 0 || i + 1 == middle.len() {
            return 0.0;
        }
        let (into, out) = (middle[i].1 - middle[i - 1].1, middle[i + 1].1 - middle[i].1);
        (0.5 * into.cross(out).atan2(into.dot(out))).tan()
    };
    for i in 1..middle.len() {
        let leg = (middle[i].1 - middle[i - 1].1).hypot();
        // positive: the left side is the shorter one
        let (before, after) = (turn_at(i - 1), turn_at(i));
        let shortest = leg - half * (before + after).max(-(before + after));
        if shortest.is_nan() || shortest <= 1e-9 * leg {
            let bend = if before.abs() > after.abs() { i - 1 } else { i };
            return Err(ShapeError::FoldsOver { bend: middle[bend].0, at: middle[bend].1 });
        }
    }
    Ok(())
}

/// From one side to the other, counter-clockwise around the end.
fn end_cap(ends: StripEnds, from: Point, to: Point, centre: Point, radius: f64) -> Segment {
    match ends {
        StripEnds::Flat => Segment::line(from, to),
        StripEnds::Round => {
            Segment::Arc(Arc { centre, radius, start: (from - centre).atan2(), sweep: PI })
        }
    }
}

fn unit(v: Vec2) -> Vec2 {
    v / v.hypot()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|p| Point::from(*p)).collect()
    }

    #[test]
    fn area_is_length_times_thickness_whatever_the_bends() {
        // a mitre adds outside what it takes away inside
        let list = points(&[(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (55.0, 40.0)]);
        let length: f64 = list.windows(2).map(|p| (p[1] - p[0]).hypot()).sum();
        let flat = Outline::strip(&list, 2.0, StripEnds::Flat).expect("flat ends");
        assert!((flat.area() - 2.0 * length).abs() < 1e-10);
        assert_eq!(flat.loops()[0].corners().len(), 8);
        let round = Outline::strip(&list, 2.0, StripEnds::Round).expect("round ends");
        assert!((round.area() - (2.0 * length + PI)).abs() < 1e-10);
        assert_eq!(round.loops()[0].corners().len(), 4);
        assert!(round.contains(Point::new(-0.9, 0.0)) && !flat.contains(Point::new(-0.9, 0.0)));
        assert!(flat.contains(Point::new(30.9, -0.9)), "mitred outside");
    }

    #[test]
    fn a_strip_that_folds_over_itself_is_refused_at_its_bend() {
        let hairpin = points(&[(0.0, 0.0), (30.0, 0.0), (0.0, 1.0)]);
        let error = Outline::strip(&hairpin, 2.0, StripEnds::Flat).expect_err("a hairpin");
        assert_eq!(error, ShapeError::FoldsOver { bend: 1, at: Point::new(30.0, 0.0) });
        let back = points(&[(0.0, 0.0), (30.0, 0.0), (10.0, 0.0)]);
        assert!(matches!(
            Outline::strip(&back, 2.0, StripEnds::Flat),
            Err(ShapeError::FoldsOver { bend: 1, .. })
        ));
        let knot = points(&[(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (10.0, 20.0), (10.0, -20.0)]);
        assert!(matches!(
            Outline::strip(&knot, 2.0, StripEnds::Flat),
            Err(ShapeError::SelfCrossing { .. })
        ));
        let one = points(&[(1.0, 1.0), (1.0, 1.0)]);
        assert_eq!(
            Outline::strip(&one, 2.0, StripEnds::Flat).expect_err("a point").to_string(),
            "a strip needs at least 2 different points, not 1"
        );
    }
}
