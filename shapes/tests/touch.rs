//! What a ball can touch, against elementary geometry and against dense sampling.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use proptest::prelude::*;
use shapes::{Outline, Point, Reach, SMOOTH_TURN, StripEnds, Vec2};

fn path(data: &str) -> Outline {
    Outline::path(data).expect("an outline")
}

fn polygon(points: &[(f64, f64)]) -> Outline {
    let points: Vec<Point> = points.iter().map(|p| Point::from(*p)).collect();
    Outline::polygon(&points, 0.0).expect("a polygon")
}

/// True where the ball can touch the place next to `s` by the answer given.
fn holds(outline: &Outline, found: &[Reach], loop_index: usize, s: f64) -> bool {
    let length = outline.loops()[loop_index].length();
    let s = s.rem_euclid(length);
    let covers = |r: &Reach| (r.from <= s && s <= r.to) || s + length <= r.to;
    found.iter().any(|r| r.loop_index == loop_index && covers(r))
}

/// Touched share of the straight line between two places, by its arc length.
fn touched_between(outline: &Outline, found: &[Reach], a: (f64, f64), b: (f64, f64)) -> Vec<bool> {
    let (a, b) = (Point::from(a), Point::from(b));
    let steps = 4000;
    (0..steps)
        .map(|k| {
            let (l, s, _) = outline.nearest(a.lerp(b, (f64::from(k) + 0.5) / f64::from(steps)));
            holds(outline, found, l, s)
        })
        .collect()
}

fn share(touched: &[bool]) -> f64 {
    touched.iter().filter(|t| **t).count() as f64 / touched.len() as f64
}

/// The end of a stretch at or nearest to a place, as a distance.
fn nearest_end(outline: &Outline, found: &[Reach], at: (f64, f64)) -> f64 {
    let at = Point::from(at);
    found
        .iter()
        .flat_map(|r| [(r.loop_index, r.from), (r.loop_index, r.to)])
        .map(|(l, s)| (outline.loops()[l].point_at(s) - at).hypot())
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn convex_bodies_are_touched_everywhere() {
    for outline in [
        polygon(&[(0.0, 0.0), (7.0, 0.0), (9.0, 3.0), (2.0, 5.0)]),
        Outline::disc(Point::new(3.0, 1.0), 0.2).expect("a disc"),
        path("M0 0H10A1 1 0 0 1 10 2H0A1 1 0 0 1 0 0Z"),
        path("M0 0C4 -2 9 -1 10 1C10 4 3 4 0 0Z"),
    ] {
        for radius in [0.01, 1.0, 300.0] {
            let found = outline.touchable(radius);
            let length = outline.loops()[0].length();
            assert_eq!(found.len(), 1, "{found:?}");
            assert!(found[0].from == 0.0 && (found[0].to - length).abs() < 1e-9, "{found:?}");
        }
    }
}

#[test]
fn a_square_nook_keeps_the_ball_off_by_its_radius_on_either_side() {
    let angle =
        polygon(&[(0.0, 0.0), (40.0, 0.0), (40.0, 2.0), (2.0, 2.0), (2.0, 50.0), (0.0, 50.0)]);
    let found = angle.touchable(10.0);
    assert_eq!(found.len(), 1, "{found:?}");
    // round the outside from one contact to the other: 40 + 50 + 2 + 2 + 28 + 38
    assert!((found[0].to - found[0].from - 160.0).abs() < 1e-8);
    for at in [(12.0, 2.0), (2.0, 12.0)] {
        assert!(nearest_end(&angle, &found, at) < 1e-8);
    }
}

#[test]
fn in_a_v_the_ball_rests_at_the_tangents_length() {
    // a circle of radius r inscribed in an angle w touches its sides r cot(w/2) from the apex
    let radius = 3.0;
    for degrees in [30.0f64, 75.0, 120.0, 170.0, 178.0] {
        let half = 0.5 * degrees.to_radians();
        let side = Vec2::new(half.sin(), half.cos()) * 40.0;
        let v = polygon(&[
            (0.0, 0.0),
            (side.x, side.y),
            (side.x, -60.0),
            (-side.x, -60.0),
            (-side.x, side.y),
        ]);
        let found = v.touchable(radius);
        let contact = Vec2::new(half.sin(), half.cos()) * (radius / half.tan());
        for at in [(contact.x, contact.y), (-contact.x, contact.y)] {
            assert!(nearest_end(&v, &found, at) < 1e-7, "{degrees}: {found:?}");
        }
    }
}

#[test]
fn a_groove_narrower_than_the_ball_is_touched_at_its_rim_only() {
    let groove = |width: f64| {
        let (a, b) = (20.0 - 0.5 * width, 20.0 + 0.5 * width);
        polygon(&[
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 30.0),
            (b, 30.0),
            (b, 10.0),
            (a, 10.0),
            (a, 30.0),
            (0.0, 30.0),
        ])
    };
    let narrow = groove(9.999);
    let found = narrow.touchable(5.0);
    assert_eq!(found.len(), 1);
    let outside = 40.0 + 30.0 + 30.0 + 2.0 * (20.0 - 0.5 * 9.999);
    assert!((found[0].to - found[0].from - outside).abs() < 1e-8, "{found:?}");
    // as wide as the ball: the walls down to one radius above the floor; the floor at one point
    for (width, floor) in [(10.0, 0.0), (14.0, 4.0)] {
        let found = groove(width).touchable(5.0);
        let total: f64 = found.iter().map(|r| r.to - r.from).sum();
        let expected = 40.0 + 30.0 + 30.0 + (40.0 - width) + 2.0 * 15.0 + floor;
        assert!((total - expected).abs() < 1e-7, "{width}: {found:?}");
    }
}

#[test]
fn round_grooves_and_bores_take_a_smaller_ball_only() {
    // a groove of radius 5, half a turn
    let groove = path("M-9 0H-5A5 5 0 0 1 5 0H9V-9H-9Z");
    for (radius, inside) in [(4.9, 1.0), (5.0, 1.0), (5.1, 0.0)] {
        let found = groove.touchable(radius);
        let total: f64 = found.iter().map(|r| r.to - r.from).sum();
        let outside = groove.loops()[0].length() - 5.0 * PI;
        assert!((total - outside - inside * 5.0 * PI).abs() < 1e-8, "{radius}: {found:?}");
    }
    let tube = Outline::ring(Point::new(1.0, 2.0), 15.0, 10.0).expect("a tube");
    for (radius, loops) in [(9.9, 2), (10.0, 2), (10.1, 1)] {
        let found = tube.touchable(radius);
        assert_eq!(found.len(), loops, "{radius}: {found:?}");
        let around: f64 = found.iter().map(|r| r.to - r.from).sum();
        let expected = TAU * if loops == 2 { 25.0 } else { 15.0 };
        assert!((around - expected).abs() < 1e-8);
    }
}

#[test]
fn a_rounded_nook_smaller_than_the_ball_is_spanned() {
    // floor and wall with a fillet of 2 between them: the ball of 5 touches from 5 off the corner
    let angle = path("M0 0H40V3H5A2 2 0 0 0 3 5V40H0Z");
    let found = angle.touchable(5.0);
    for at in [(8.0, 3.0), (3.0, 8.0)] {
        assert!(nearest_end(&angle, &found, at) < 1e-8, "{found:?}");
    }
    let fits = angle.touchable(1.9);
    assert!((fits[0].to - fits[0].from - angle.perimeter()).abs() < 1e-8, "{fits:?}");
}

#[test]
fn a_bezier_valley_is_spanned_between_two_contacts() {
    // y = x²/2 from -3 to 3 as one Bézier; a ball of radius r touches a parabola of radius 1 at
    // its bottom where r = √(1 + x²): from the normal through (0, y + 1)
    let valley = path("M3 4.5L3 -5L-3 -5L-3 4.5C-1 -1.5 1 -1.5 3 4.5Z");
    let radius: f64 = 1.7;
    let x = (radius * radius - 1.0).sqrt();
    let found = valley.touchable(radius);
    for at in [(x, 0.5 * x * x), (-x, 0.5 * x * x)] {
        assert!(nearest_end(&valley, &found, at) < 1e-7, "{found:?}");
    }
}

#[test]
fn round_an_axis_the_other_side_stands_in_the_way() {
    // half a section of a cup: wall from 8 to 10, floor from 0 to 2; bore of diameter 16
    let cup = path("M0 0H10V40H8V2H0Z");
    let found = cup.touchable_round_axis(8.0);
    let total: f64 = found.iter().map(|r| r.to - r.from).sum();
    // outside 10 + 40, rim 2, wall from the top to one radius above the floor; the floor's middle
    // is one point; nothing on the axis
    assert!((total - (50.0 + 2.0 + 30.0)).abs() < 1e-7, "{found:?}");
    let found = cup.touchable_round_axis(8.1);
    let total: f64 = found.iter().map(|r| r.to - r.from).sum();
    assert!((total - 52.0).abs() < 1e-7, "{found:?}");
    let found = cup.touchable_round_axis(5.0);
    let total: f64 = found.iter().map(|r| r.to - r.from).sum();
    assert!((total - (52.0 + 33.0 + 3.0)).abs() < 1e-7, "{found:?}");
    // without the axis the half section alone lets a ball of 8.1 lie on the wall
    assert!(cup.touchable(8.1).iter().map(|r| r.to - r.from).sum::<f64>() > 70.0);
}

/// A star around the origin with nooks of all kinds.
fn star() -> impl Strategy<Value = Outline> {
    (prop::collection::vec(0.8f64..4.0, 3..14), 0.0f64..0.2).prop_map(|(radii, corner)| {
        let count = radii.len() as f64;
        let points: Vec<Point> = radii
            .iter()
            .enumerate()
            .map(|(k, radius)| {
                Point::ORIGIN + Vec2::from_angle(TAU * (k as f64 + 0.1) / count) * *radius
            })
            .collect();
        Outline::polygon(&points, corner)
            .or_else(|_| Outline::polygon(&points, 0.0))
            .expect("a star")
    })
}

/// A closed curve of Béziers with two dents.
fn dented() -> impl Strategy<Value = Outline> {
    (0.5f64..3.5, 0.5f64..3.5, 1.0f64..3.0).prop_map(|(top, bottom, width)| {
        path(&format!(
            "M4 0C4 4 {width} 4 0 {}C-{width} 4 -4 4 -4 0C-4 -4 -{width} -4 0 -{}C{width} -4 4 -4 4 0Z",
            4.0 - top,
            4.0 - bottom
        ))
    })
}

fn bracket() -> impl Strategy<Value = Outline> {
    (1.0f64..4.0, 1.0f64..4.0, -100.0f64..100.0, 0.05f64..0.3, any::<bool>()).prop_map(
        |(first, second, degrees, thickness, round)| {
            let bend = Point::new(first, 0.0);
            let end = bend + Vec2::from_angle(degrees.to_radians()) * second;
            let ends = if round { StripEnds::Round } else { StripEnds::Flat };
            Outline::strip(&[Point::ORIGIN, bend, end], thickness, ends).expect("a bracket")
        },
    )
}

fn outline() -> impl Strategy<Value = Outline> {
    prop_oneof![star(), dented(), bracket()]
}

/// The definition, by asking the whole outline.
fn overlap(outline: &Outline, loop_index: usize, s: f64, radius: f64) -> f64 {
    let curve = &outline.loops()[loop_index];
    let centre = curve.point_at(s) + curve.outward_at(s) * radius;
    radius - outline.distance(centre)
}

fn has_faint_bends(outline: &Outline) -> bool {
    outline.loops().iter().any(|curve| {
        curve.segments().iter().zip(curve.segments().iter().cycle().skip(1)).any(|(a, b)| {
            let turn = a.tangent_at(a.length()).cross(b.tangent_at(0.0)).abs();
            a.is_line() && b.is_line() && turn > 1e-9 && turn < SMOOTH_TURN
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

    #[test]
    fn the_answer_is_that_of_the_definition_at_every_place(
        outline in outline(), radius in 0.02f64..3.0, turn in 0.0f64..TAU,
    ) {
        // bends of less than half a degree are taken for straight
        prop_assume!(!has_faint_bends(&outline));
        let outline = outline.turned(turn.to_degrees());
        let found = outline.touchable(radius);
        for (l, curve) in outline.loops().iter().enumerate() {
            let steps = 3000;
            for k in 0..steps {
                let s = curve.length() * (f64::from(k) + 0.437) / f64::from(steps);
                let deep = overlap(&outline, l, s, radius);
                if deep > 1e-6 {
                    prop_assert!(!holds(&outline, &found, l, s), "{s}: overlap {deep}, {found:?}");
                } else if deep < 1e-11 {
                    prop_assert!(holds(&outline, &found, l, s), "{s}: overlap {deep}, {found:?}");
                }
            }
        }
        for r in &found {
            let curve = &outline.loops()[r.loop_index];
            let whole = r.to - r.from > curve.length() - 1e-6;
            // just inside an end the ball fits
            for s in [r.from + 1e-6, r.to - 1e-6].into_iter().filter(|_| !whole) {
                let deep = overlap(&outline, r.loop_index, s, radius);
                prop_assert!(deep < 1e-8, "{s}: overlap {deep}, {r:?}");
            }
        }
    }

    #[test]
    fn a_smaller_ball_touches_all_that_a_larger_one_does(
        outline in outline(), radius in 0.02f64..3.0, share in 0.2f64..0.99,
    ) {
        let (large, small) = (outline.touchable(radius), outline.touchable(share * radius));
        for r in large {
            for k in 0..50 {
                let s = r.from + (r.to - r.from) * (f64::from(k) + 0.5) / 50.0;
                prop_assert!(holds(&outline, &small, r.loop_index, s), "{s} of {r:?}: {small:?}");
            }
        }
    }

    #[test]
    fn half_a_turned_body_is_touched_as_its_whole_section_is(
        inner in 1.0f64..6.0, wall in 0.5f64..3.0, depth in 1.0f64..20.0, radius in 0.3f64..8.0,
    ) {
        // a ring as a body of revolution, beside both its sections drawn out
        let half = polygon(&[
            (inner, 0.0), (inner + wall, 0.0), (inner + wall, depth), (inner, depth),
        ]);
        let found = half.touchable_round_axis(radius);
        let total: f64 = found.iter().map(|r| r.to - r.from).sum();
        let outside = 2.0 * wall + depth;
        let expected = if inner >= radius { outside + depth } else { outside };
        prop_assert!((total - expected).abs() < 1e-7, "{found:?}");
    }
}

#[test]
fn quarter_turns_do_not_change_the_answer() {
    let cup = path("M0 0H10V9H8.5A1 1 0 0 1 7.5 8V3A1 1 0 0 0 6.5 2H3V9H0Z");
    let total = |o: &Outline| o.touchable(1.7).iter().map(|r| r.to - r.from).sum::<f64>();
    let expected = total(&cup);
    for degrees in [FRAC_PI_2.to_degrees(), 180.0, 31.0] {
        assert!((total(&cup.turned(degrees)) - expected).abs() < 1e-8);
    }
    let floor = touched_between(&cup, &cup.touchable(1.7), (3.0, 2.0), (6.5, 2.0));
    // 1.7 from the sharp corner; 0.7 + 1 from the rounded one
    assert!((share(&floor) - (7.5 - 1.7 - 4.7) / 3.5).abs() < 1e-3);
}
