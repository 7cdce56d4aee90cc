//! Conforming outlines keep their gap and their clearances whatever they follow.

use proptest::prelude::*;
use shapes::{Distances, FollowError, Followed, Outline, Point, Room};

/// A star of any corners, sharp or rounded.
fn star() -> impl Strategy<Value = Outline> {
    (prop::collection::vec(20.0..60.0f64, 3..12), prop_oneof![Just(0.0), 0.5..3.0f64])
        .prop_filter_map("corners too sharp for the radius", |(radii, corner)| {
            let turn = std::f64::consts::TAU / radii.len() as f64;
            let at = |(k, r): (usize, &f64)| {
                Point::new(r * (turn * k as f64).cos(), r * (turn * k as f64).sin())
            };
            let points: Vec<Point> = radii.iter().enumerate().map(at).collect();
            Outline::polygon(&points, corner).ok()
        })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 200, ..Default::default() })]

    #[test]
    fn the_gap_is_kept_everywhere(
        body in star(),
        ends in (0.0..1.0f64, 0.05..0.95f64),
        whole in any::<bool>(),
        gap in 0.5..30.0f64,
        thickness in 0.5..15.0f64,
        clearance in 0.1..5.0f64,
        rod in (-90.0..90.0f64, -90.0..90.0f64, 1.0..10.0f64),
    ) {
        let tank = Outline::rect(Point::new(10.0, 0.0), (180.0, 150.0), 0.0).expect("a tank");
        let rod = Outline::disc(Point::new(rod.0, rod.1), rod.2).expect("a rod");
        let length = body.loops()[0].length();
        let (from, to) = (ends.0 * length, (ends.0 + ends.1) * length);
        let between = (!whole).then_some((from, to.rem_euclid(length)));
        let by = Distances { gap, thickness, clearance };
        let room = Room { tank: &tank, others: &[&rod], axis: false };
        match body.following(&[Followed { loop_index: 0, between }], by, room) {
            Ok(found) => {
                let size = 200.0;
                prop_assert!(found.outline.area() > 0.0 && found.outline.self_crossing().is_none());
                let mut even = false;
                for curve in found.outline.loops() {
                    for k in 0..200 {
                        let p = curve.point_at(curve.length() * f64::from(k) / 200.0);
                        prop_assert!(body.signed_distance(p) >= gap - 1e-6 * gap - 1e-8 * size, "gap at {}", p);
                        prop_assert!(rod.signed_distance(p) >= clearance - 1e-7 * size);
                        prop_assert!(tank.signed_distance(p) <= -clearance + 1e-7 * size);
                        even |= (body.distance(p) - gap).abs() < 1e-4 * gap;
                    }
                }
                prop_assert!(even, "no near face");
                prop_assert!(found.outline.overlap(&body).is_none() && found.outline.overlap(&rod).is_none());
            }
            Err(FollowError::NoRoom { fits, .. }) => prop_assert!(fits.is_none_or(|(fits, _)| fits < gap)),
            Err(error) => prop_assert!(false, "{error}"),
        }
    }
}
