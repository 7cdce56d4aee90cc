use std::f64::consts::PI;

use super::*;
use crate::{Axis, Outline};

const BY: Distances = Distances { gap: 3.0, thickness: 2.0, clearance: 0.5 };

fn hall() -> Outline {
    Outline::rect(Point::ORIGIN, (400.0, 400.0), 0.0).expect("a large tank")
}

fn follow(body: &Outline, stretches: &[Followed], by: Distances) -> Result<Following, FollowError> {
    body.following(stretches, by, Room { tank: &hall(), others: &[], axis: false })
}

fn around(loop_index: usize) -> [Followed; 1] {
    [Followed { loop_index, between: None }]
}

/// From the place nearest to one point to that nearest to another.
fn from_to(body: &Outline, from: (f64, f64), to: (f64, f64)) -> [Followed; 1] {
    let (loop_index, a, _) = body.nearest(Point::from(from));
    let (_, b, _) = body.nearest(Point::from(to));
    [Followed { loop_index, between: Some((a, b)) }]
}

fn area_is(found: &Following, expected: f64) {
    let area = found.outline.area();
    assert!((area / expected - 1.0).abs() < 1e-9, "{area} is not {expected}");
}

#[test]
fn around_a_disc_it_is_a_ring() {
    let disc = Outline::disc(Point::new(7.0, -2.0), 10.0).expect("a disc");
    let ring = follow(&disc, &around(0), BY).expect("a ring");
    area_is(&ring, PI * (15.0f64.powi(2) - 13.0f64.powi(2)));
    assert_eq!((ring.pieces, ring.crumbs, ring.missed), (1, 0, None));
    assert!(ring.outline.loops().iter().all(|l| l.segments().len() == 1), "two whole circles");
}

#[test]
fn around_what_is_convex_the_area_is_that_of_steiner() {
    // area between offsets g and g + t of a convex outline of length P: P t + π ((g+t)² − g²)
    let plate = Outline::rect(Point::ORIGIN, (30.0, 20.0), 4.0).expect("a plate");
    let triangle = Outline::path("M0 0H12L3 9Z").expect("a triangle");
    for body in [plate.clone(), plate.turned(17.0), triangle] {
        let found = follow(&body, &around(0), BY).expect("a frame");
        area_is(&found, body.perimeter() * 2.0 + PI * (25.0 - 9.0));
        assert_eq!(found.outline.loops().len(), 2);
    }
}

/// Offsets of two sides that meet at nearly no angle cross at nearly none.
#[test]
fn a_side_with_hardly_a_dent_is_followed() {
    for k in 0..28 {
        let dent = 1e-9 * 10f64.powf(0.25 * f64::from(k));
        let points = [(0.0, 0.0), (47.0, 0.0), (47.0, 30.0), (21.0, 30.0 - dent), (0.0, 30.0)];
        let body = Outline::polygon(&points.map(Point::from), 0.0).expect("a plate");
        for gap in [0.5, 3.0, 12.0] {
            let found = follow(&body, &around(0), Distances { gap, ..BY });
            let found = found.unwrap_or_else(|e| panic!("dent {dent:e}, gap {gap}: {e}"));
            assert_eq!(found.outline.loops().len(), 2, "dent {dent:e}, gap {gap}");
            // Steiner's formula but for terms of the third order in the dent's angle
            let steiner = body.perimeter() * 2.0 + PI * ((gap + 2.0).powi(2) - gap.powi(2));
            let area = found.outline.area();
            assert!((area / steiner - 1.0).abs() < 1e-7, "dent {dent:e}, gap {gap}: {area}");
        }
    }
}

#[test]
fn in_a_bore_it_is_a_smaller_ring() {
    let tube = Outline::ring(Point::ORIGIN, 20.0, 12.0).expect("a tube");
    let hole = tube.loops().iter().position(crate::Loop::is_hole).expect("a bore");
    let found = follow(&tube, &around(hole), BY).expect("a ring in the bore");
    area_is(&found, PI * (81.0 - 49.0));
    // thicker than the bore is wide: a bar
    let thick = Distances { thickness: 30.0, ..BY };
    area_is(&follow(&tube, &around(hole), thick).expect("a bar"), PI * 81.0);
    // and one that does not fit names what would
    let wide = Distances { gap: 15.0, ..BY };
    let error = follow(&tube, &around(hole), wide).expect_err("no room");
    let FollowError::NoRoom { fits: Some((fits, _)), .. } = error else { panic!("{error}") };
    assert!((fits - 12.0).abs() < 1e-6, "{fits}");
}

#[test]
fn along_sides_it_is_cut_square_and_goes_around_corners_by_arcs() {
    let plate = Outline::rect(Point::ORIGIN, (30.0, 20.0), 0.0).expect("a plate");
    let one = follow(&plate, &from_to(&plate, (-15.0, -10.0), (15.0, -10.0)), BY).expect("a bar");
    area_is(&one, 30.0 * 2.0);
    assert_eq!(one.outline.loops()[0].segments().len(), 4);
    let two = follow(&plate, &from_to(&plate, (0.0, -10.0), (15.0, 0.0)), BY).expect("an angle");
    area_is(&two, (15.0 + 10.0) * 2.0 + 0.25 * PI * (25.0 - 9.0));
    // the same mirrored, turned and moved
    let there = plate.mirrored(Axis::X).turned(33.0).moved(kurbo::Vec2::new(50.0, 60.0));
    let length = there.perimeter();
    let part = [Followed { loop_index: 0, between: Some((0.1 * length, 0.2 * length)) }];
    area_is(&follow(&there, &part, BY).expect("a bar"), 0.1 * length * 2.0);
}

/// The sheet outside is near to the bottom, but behind the wall: it does not count.
#[test]
fn a_bottom_behind_a_thin_wall_is_missed() {
    // a recess of 60 by 18 open to the right, walls of 1
    let cup = Outline::path("M0 0H61V1H1V19H61V20H0Z").expect("a cup");
    let found = follow(&cup, &around(0), Distances { gap: 25.0, ..BY }).expect("a hull");
    let missed = found.missed.expect("missed");
    // nearest in sight is the fold before the mouth, where circles of 25 about the rims at y = 1
    // and 19 meet: x = 61 + √(625 − 81)
    assert!(missed.at.x < 2.0, "{missed:?}");
    assert!(missed.distance >= 60.0 + 544f64.sqrt() - 0.1, "{missed:?}");
}

#[test]
fn in_a_recess_both_faces_are_even_and_a_narrow_one_is_passed_by() {
    // a recess of 20 by 15 open to the right
    let cup = Outline::path("M0 0H30V5H10V25H30V30H0Z").expect("a cup");
    let inside = from_to(&cup, (30.0, 5.0), (30.0, 25.0));
    let found = follow(&cup, &inside, BY).expect("a lining");
    // a U of walls 2: outer 14 × 17, inner 10 × 15
    area_is(&found, 14.0 * 17.0 - 10.0 * 15.0);
    assert_eq!(found.missed, None);
    // all around at a gap that does not enter: the mouth is passed by, and it is said where
    let wide = Distances { gap: 12.0, ..BY };
    let missed = follow(&cup, &around(0), wide).expect("a hull").missed.expect("missed");
    // beside a nook of the bottom: the face turns where circles of 12 about the rims meet, at
    // x = 30 + √(144 − 100), y = 15
    let tip = Point::new(30.0 + 44f64.sqrt(), 15.0);
    assert!((missed.at.x - 10.0).abs() < 1e-9 && (missed.at.y - 15.0).abs() < 10.0, "{missed:?}");
    assert!((missed.distance - missed.at.distance(tip)).abs() < 1e-9, "{missed:?}");
    assert!((missed.fits.expect("a recess") - 10.0).abs() < 1e-6, "{missed:?}");
}

#[test]
fn walls_and_other_bodies_keep_their_clearance() {
    let disc = Outline::disc(Point::ORIGIN, 10.0).expect("a disc");
    let tank = Outline::rect(Point::new(0.0, 5.0), (40.0, 38.0), 0.0).expect("a tank");
    let rod = Outline::disc(Point::new(14.0, 0.0), 2.0).expect("a rod");
    let room = Room { tank: &tank, others: &[&rod], axis: false };
    let by = Distances { gap: 3.0, thickness: 2.0, clearance: 1.5 };
    let found = disc.following(&around(0), by, room).expect("an open ring");
    assert_eq!(found.pieces, 2, "cut by the rod and by the wall below");
    let whole = PI * (225.0 - 169.0);
    assert!(found.outline.area() < 0.9 * whole && found.outline.area() > 0.5 * whole);
    assert!((found.outline.gap(&disc) - 3.0).abs() < 1e-9);
    assert!((found.outline.gap(&rod) - 1.5).abs() < 1e-9);
    assert!((found.outline.gap(&tank) - 1.5).abs() < 1e-6);
    assert_eq!(found.outline.overlap(&rod), None);
}

#[test]
fn at_the_axis_of_a_round_tank_it_ends_flat() {
    let tank = Outline::rect(Point::new(50.0, 50.0), (100.0, 100.0), 0.0).expect("half a tank");
    let ball = Outline::disc(Point::new(0.0, 50.0), 10.0).expect("a ball on the axis");
    let room = Room { tank: &tank, others: &[], axis: true };
    let found = ball.following(&around(0), BY, room).expect("half a ring");
    area_is(&found, 0.5 * PI * (225.0 - 169.0));
    assert!(found.outline.bounds().x0.abs() < 1e-9);
}

#[test]
fn beside_beziers_the_near_face_is_even() {
    let drop = Outline::path("M0 0C60 -10 50 60 0 50C-50 60 -60 -10 0 0Z").expect("a drop");
    let found = follow(&drop, &around(0), BY).expect("a shell");
    let mut even = 0;
    for curve in found.outline.loops() {
        for k in 0..500 {
            let p = curve.point_at(curve.length() * f64::from(k) / 500.0);
            let off = drop.distance(p);
            assert!(off > 3.0 * (1.0 - 1e-4), "{off} at {p}");
            if (off - 3.0).abs() < 3e-4 {
                even += 1;
            } else {
                assert!((off - 5.0).abs() < 3e-4 || curve.is_hole(), "{off} at {p}");
            }
        }
    }
    assert!(even >= 490, "{even}");
}

#[test]
fn senseless_distances_are_refused() {
    let disc = Outline::disc(Point::ORIGIN, 10.0).expect("a disc");
    for (gap, thickness, clearance) in
        [(0.0, 1.0, 1.0), (1.0, -1.0, 1.0), (1.0, 1.0, -1.0), (f64::NAN, 1.0, 0.0)]
    {
        let by = Distances { gap, thickness, clearance };
        assert!(matches!(follow(&disc, &around(0), by), Err(FollowError::Shape(_))));
    }
    assert!(follow(&disc, &[], BY).is_err());
}
