use shapes::{Point, Vec2};

use super::*;
use crate::sample::{body, ideal, layout, polygon, rect, star, two_blocks};

fn part(outline: Outline) -> Layout {
    layout(vec![body("part", Role::Part, outline, ideal())])
}

fn pointed() -> Outline {
    polygon(&star([0.09, 0.05], &[0.04, 0.02, 0.031, 0.026, 0.037]))
}

fn tube() -> Outline {
    Outline::ring(Point::new(0.09, 0.05), 0.03, 0.02).unwrap()
}

fn length(s: &PlanStretch) -> f64 {
    s.to - s.from
}

#[test]
fn stretches_cover_every_loop_exactly_once() {
    for outline in [pointed(), tube(), rect(0.05, 0.03, 0.1, 0.06)] {
        let loops = outline.loops().to_vec();
        let plan = SurfacePlan::new(&part(outline));
        for (l, curve) in loops.iter().enumerate() {
            let own: Vec<_> = plan.stretches.iter().filter(|s| s.loop_index == l).collect();
            for pair in own.windows(2) {
                assert_eq!(pair[0].to, pair[1].from);
            }
            let around = own[own.len() - 1].to - own[0].from;
            assert!((around - curve.length()).abs() < 1e-12);
            assert!(own.iter().all(|s| length(s) > 0.0));
        }
        let ends: usize = loops.iter().map(|l| l.segments().len()).sum();
        assert!(plan.stretches.len() > 4 * ends);
    }
}

#[test]
fn every_place_belongs_to_the_stretch_around_it() {
    for outline in [pointed(), tube()] {
        let plan = SurfacePlan::new(&part(outline.clone()));
        for (i, s) in plan.stretches.iter().enumerate() {
            let total = outline.loops()[s.loop_index].length();
            for share in [0.01, 0.5, 0.99] {
                let at = (s.from + share * length(s)).rem_euclid(total);
                assert_eq!(plan.stretch_at(0, s.loop_index, at) as usize, i);
            }
            assert!(plan.breaks(0, s.loop_index).contains(&s.from));
        }
    }
}

#[test]
fn stretches_shrink_towards_sharp_corners() {
    let (w, h) = (0.05, 0.03);
    let plan = SurfacePlan::new(&part(rect(0.05, 0.03, 0.05 + w, 0.03 + h)));
    let lengths: Vec<f64> = plan.stretches.iter().map(length).collect();
    // four sides: each grows to its middle and shrinks again
    let mut corner = vec![0];
    let mut s = 0.0;
    for (i, l) in lengths.iter().enumerate() {
        s += l;
        let sides = [w, w + h, 2.0 * w + h, 2.0 * (w + h), h, h + w, 2.0 * h + w];
        if sides.iter().any(|c| (s - c).abs() < 1e-9) && s < 2.0 * (w + h) - 1e-9 {
            corner.push(i + 1);
        }
    }
    corner.push(lengths.len());
    assert_eq!(corner.len(), 5, "a stretch ends at every corner");
    for side in corner.windows(2) {
        let own = &lengths[side[0]..side[1]];
        let half = own.len() / 2;
        assert!(own[..half].windows(2).all(|p| p[0] <= p[1] * (1.0 + 1e-6)));
        assert!(own[half..].windows(2).all(|p| p[1] <= p[0] * (1.0 + 1e-6)));
        assert!(own[0] <= TIP_M && own[half] > 5.0 * own[0]);
        // never longer than the longest, nor growing faster than a quarter of the distance
        assert!(own.iter().all(|l| *l <= SHARE * 2.0 * (w + h) * (1.0 + 1e-9)));
    }
}

#[test]
fn stretches_at_corners_are_tips_and_a_rod_has_none() {
    let plan = SurfacePlan::new(&part(rect(0.05, 0.03, 0.1, 0.06)));
    // a side's ends, each with what lies within three of the shortest stretches of it
    let (w, h) = (0.05, 0.03);
    let corners = |s: f64, first: f64| {
        [0.0, first, w + h, w + h + first, 2.0 * (w + h)]
            .iter()
            .map(|c| (s - c).abs())
            .fold(f64::MAX, f64::min)
    };
    let first = plan
        .stretches
        .iter()
        .map(|s| s.to)
        .find(|to| [w, h].iter().any(|side| (to - side).abs() < 1e-9));
    let first = first.unwrap();
    for s in &plan.stretches {
        let away = corners(0.5 * (s.from + s.to), first);
        if away < 0.5 * TIP_M {
            assert!(s.tip, "{away}");
        }
        if away > TIP_REACH * TIP_M + 1e-5 {
            assert!(!s.tip, "{away}");
        }
    }
    assert!(plan.stretches.iter().filter(|s| s.tip).count() >= 8);
    let rod = Outline::disc(Point::new(0.09, 0.05), 0.02).unwrap();
    assert!(SurfacePlan::new(&part(rod)).stretches.iter().all(|s| !s.tip));
}

#[test]
fn touching_metal_makes_tips_and_touching_insulation_does_not() {
    // a rod that touches a slab's side in its middle
    let rod = || Outline::disc(Point::new(0.09, 0.06), 0.01).unwrap();
    let slab = |role| {
        let mut l = part(rod());
        l.bodies.push(body("slab", role, rect(0.05, 0.04, 0.13, 0.05), ideal()));
        SurfacePlan::new(&l)
    };
    let tips = |p: &SurfacePlan| p.stretches.iter().filter(|s| s.body == 0 && s.tip).count();
    assert!(tips(&slab(Role::Floating)) > 2 * BESIDE_CONTACT);
    assert_eq!(tips(&slab(Role::Shield)), 0);
}

#[test]
fn moving_everything_moves_the_stretches_with_it() {
    let mut moved = two_blocks();
    let by = Vec2::new(0.0137, -0.0071);
    for b in &mut moved.bodies {
        b.outline = b.outline.moved(by).turned_about(31.0, Point::new(0.1, 0.05));
    }
    let (a, b) = (SurfacePlan::new(&two_blocks()), SurfacePlan::new(&moved));
    assert_eq!(a.stretches.len(), b.stretches.len());
    for (p, q) in a.stretches.iter().zip(&b.stretches) {
        assert!((p.from - q.from).abs() < 1e-9 && (p.to - q.to).abs() < 1e-9);
        assert_eq!((p.body, p.loop_index, p.tip), (q.body, q.loop_index, q.tip));
    }
}

#[test]
fn moving_one_body_far_from_others_moves_its_stretches_with_it() {
    let mut moved = two_blocks();
    moved.bodies[0].outline = moved.bodies[0].outline.moved(Vec2::new(0.0021, 0.0011));
    let (a, b) = (SurfacePlan::new(&two_blocks()), SurfacePlan::new(&moved));
    assert_eq!(a.stretches.len(), b.stretches.len());
    for (p, q) in a.stretches.iter().zip(&b.stretches) {
        assert!((p.from - q.from).abs() < 1e-12 && (p.to - q.to).abs() < 1e-12);
    }
}

#[test]
fn a_near_neighbour_shortens_the_stretches_that_face_it() {
    let mut near = two_blocks();
    near.bodies[1].outline = rect(0.0525, 0.023, 0.06, 0.083);
    let longest = |plan: &SurfacePlan, on: &dyn Fn(Point) -> bool| {
        let curve = &near.bodies[0].outline.loops()[0];
        let own = plan.stretches.iter().filter(|s| {
            let at = 0.5 * (s.from + s.to);
            s.body == 0 && on(curve.point_at(at.rem_euclid(curve.length())))
        });
        own.map(length).fold(0.0, f64::max)
    };
    let (free, close) = (SurfacePlan::new(&two_blocks()), SurfacePlan::new(&near));
    let facing = |p: Point| p.x > 0.0519;
    // a gap of 0.5 mm: stretches of 0.15 mm
    assert!(longest(&close, &facing) < 1.01 * GAP * 5e-4);
    assert!(longest(&free, &facing) > 1e-3);
    let behind = |p: Point| p.x < 0.0311;
    assert!((longest(&close, &behind) / longest(&free, &behind) - 1.0).abs() < 0.1);
}

#[test]
fn insulators_have_no_stretches() {
    let shield = body("shield", Role::Shield, rect(0.05, 0.03, 0.1, 0.06), ideal());
    let plan = SurfacePlan::new(&layout(vec![shield]));
    assert!(plan.stretches.is_empty() && plan.breaks(0, 0).is_empty());
}
