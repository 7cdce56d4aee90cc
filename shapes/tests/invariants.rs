//! What must hold of every outline, however it is drawn, turned and placed.

use proptest::prelude::*;
use shapes::{Axis, Outline, Point, Rect, StripEnds, Vec2, boolean};

/// A star around the origin: never crosses itself.
fn star() -> impl Strategy<Value = Outline> {
    (prop::collection::vec(0.5f64..4.0, 3..12), 0.0f64..0.05).prop_map(|(radii, corner)| {
        let count = radii.len() as f64;
        let points: Vec<Point> = radii
            .iter()
            .enumerate()
            .map(|(k, radius)| {
                let angle = std::f64::consts::TAU * (k as f64 + 0.1) / count;
                Point::new(radius * angle.cos(), radius * angle.sin())
            })
            .collect();
        // a needle of a corner has no room for a radius
        Outline::polygon(&points, corner)
            .or_else(|_| Outline::polygon(&points, 0.0))
            .expect("a star")
    })
}

/// A closed curve of four Béziers with tangents along the axes.
fn blob() -> impl Strategy<Value = Outline> {
    (1.0f64..4.0, 1.0f64..4.0, 1.0f64..4.0, 1.0f64..4.0, 0.2f64..0.9).prop_map(|(e, n, w, s, k)| {
        let data = format!(
            "M{e} 0C{e} {} {} {n} 0 {n}S-{w} {} -{w} 0S-{} -{s} 0 -{s}S{e} -{} {e} 0Z",
            k * n,
            k * e,
            k * n,
            k * w,
            k * s
        );
        Outline::path(&data).expect("a blob")
    })
}

fn tube() -> impl Strategy<Value = Outline> {
    (1.0f64..4.0, 0.1f64..0.95).prop_map(|(outer, part)| {
        Outline::ring(Point::ORIGIN, outer, part * outer).expect("a tube")
    })
}

fn bracket() -> impl Strategy<Value = Outline> {
    (1.0f64..4.0, 1.0f64..4.0, -100.0f64..100.0, 0.05f64..0.3, any::<bool>()).prop_map(
        |(first, second, degrees, thickness, round)| {
            let angle = degrees.to_radians();
            let bend = Point::new(first, 0.0);
            let points = [Point::ORIGIN, bend, bend + Vec2::from_angle(angle) * second];
            let ends = if round { StripEnds::Round } else { StripEnds::Flat };
            Outline::strip(&points, thickness, ends).expect("a bracket")
        },
    )
}

fn outline() -> impl Strategy<Value = Outline> {
    prop_oneof![star(), blob(), tube(), bracket()]
}

fn place() -> impl Strategy<Value = Point> {
    (-6.0f64..6.0, -6.0f64..6.0).prop_map(Point::from)
}

fn rings(outline: &Outline) -> Vec<boolean::Ring> {
    let flat = |curve: &shapes::Loop| curve.flatten(&[], 1e-3).iter().map(|v| v.at).collect();
    outline.loops().iter().map(flat).collect()
}

fn inflated(room: Rect, by: f64) -> Rect {
    room.inflate(by, by)
}

proptest! {
    #[test]
    fn area_and_perimeter_survive_every_placement(
        outline in outline(), degrees in -400.0f64..400.0, by in place(), factor in 0.001f64..1000.0,
    ) {
        let (area, perimeter) = (outline.area(), outline.perimeter());
        prop_assert!(area > 0.0);
        for placed in [
            outline.turned(degrees),
            outline.turned_about(degrees, by),
            outline.mirrored(Axis::X),
            outline.mirrored(Axis::Y),
            outline.moved(by.to_vec2() * 10.0),
            outline.scaled(factor).scaled(1.0 / factor),
        ] {
            prop_assert!((placed.area() - area).abs() < 1e-10 * perimeter * perimeter);
            prop_assert!((placed.perimeter() - perimeter).abs() < 1e-10 * perimeter);
            prop_assert_eq!(placed.self_crossing(), None);
            prop_assert_eq!(placed.loops().len(), outline.loops().len());
        }
    }

    #[test]
    fn what_is_inside_stays_inside(outline in outline(), p in place(), degrees in -400.0f64..400.0) {
        prop_assume!(outline.distance(p) > 1e-9);
        let inside = outline.contains(p);
        let turned = outline.turned_about(degrees, Point::ORIGIN);
        let (sin, cos) = degrees.to_radians().sin_cos();
        let there = Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y);
        prop_assert_eq!(turned.contains(there), inside);
        prop_assert!((turned.distance(there) - outline.distance(p)).abs() < 1e-9);
        let centre = outline.bounds().center();
        let mirrored = outline.mirrored(Axis::X);
        prop_assert_eq!(mirrored.contains(Point::new(2.0 * centre.x - p.x, p.y)), inside);
        let mirrored = outline.mirrored(Axis::Y);
        prop_assert_eq!(mirrored.contains(Point::new(p.x, 2.0 * centre.y - p.y)), inside);
    }

    #[test]
    fn the_nearest_point_is_on_the_outline_and_the_sign_tells_inside(
        outline in outline(), p in place(),
    ) {
        let (index, s, at) = outline.nearest(p);
        let distance = outline.distance(p);
        prop_assert!(((at - p).hypot() - distance).abs() < 1e-12);
        prop_assert!((outline.loops()[index].point_at(s) - at).hypot() < 1e-10);
        let signed = outline.signed_distance(p);
        prop_assert_eq!(signed.abs(), distance);
        prop_assert_eq!(signed < 0.0, outline.contains(p) && distance > 0.0);
        // no place of the outline is nearer
        for curve in outline.loops() {
            for k in 0..64 {
                let there = curve.point_at(curve.length() * f64::from(k) / 64.0);
                prop_assert!((there - p).hypot() >= distance - 1e-10);
            }
        }
    }

    #[test]
    fn the_body_is_on_the_left_all_along(outline in outline(), part in 0.0f64..1.0) {
        for curve in outline.loops() {
            let s = part * curve.length();
            let near_corner = curve.corners().iter().any(|corner| (corner.s - s).abs() < 1e-3);
            if near_corner || curve.length() - s < 1e-3 || curve.curvature_at(s).abs() > 1e3 {
                continue;
            }
            let step = curve.outward_at(s) * 1e-6;
            prop_assert!((curve.tangent_at(s).hypot() - 1.0).abs() < 1e-12);
            prop_assert!(outline.contains(curve.point_at(s) - step));
            prop_assert!(!outline.contains(curve.point_at(s) + step));
        }
    }

    #[test]
    fn arc_length_and_point_find_each_other(outline in outline(), part in 0.0f64..1.0) {
        for (index, curve) in outline.loops().iter().enumerate() {
            let s = part * curve.length();
            let at = curve.point_at(s);
            let (found_on, found, there) = outline.nearest(at);
            prop_assert_eq!(found_on, index);
            prop_assert!((there - at).hypot() < 1e-10);
            let apart = (found - s).abs();
            prop_assert!(apart.min(curve.length() - apart) < 1e-5, "{} {}", found, s);
            prop_assert!((curve.point_at(s + curve.length()) - at).hypot() < 1e-10);
        }
    }

    #[test]
    fn tangent_and_curvature_are_the_derivatives_of_the_point(
        outline in outline(), part in 0.0f64..1.0,
    ) {
        let curve = &outline.loops()[0];
        let (s, step) = (part * curve.length(), 1e-5);
        let (first, along) = curve.segment_at(s);
        let room = curve.segments()[first].length() - along;
        prop_assume!(along > 2.0 * step && room > 2.0 * step);
        prop_assume!(curve.curvature_at(s).abs() < 50.0);
        let (before, after) = (curve.point_at(s - step), curve.point_at(s + step));
        let tangent = (after - before) / (2.0 * step);
        prop_assert!((tangent - curve.tangent_at(s)).hypot() < 1e-5);
        let turn = curve.tangent_at(s - step).cross(curve.tangent_at(s + step)) / (2.0 * step);
        prop_assert!((turn - curve.curvature_at(s)).abs() < 1e-2 * (1.0 + turn.abs()));
    }

    #[test]
    fn flattening_keeps_breaks_order_and_area(
        outline in outline(), mut parts in prop::collection::vec(0.0f64..1.0, 0..20),
        tolerance in 1e-5f64..1e-2,
    ) {
        parts.sort_by(f64::total_cmp);
        parts.dedup_by(|next, kept| *next - *kept < 1e-9);
        for curve in outline.loops() {
            let breaks: Vec<f64> = parts.iter().map(|part| part * curve.length()).collect();
            let flat = curve.flatten(&breaks, tolerance);
            prop_assert!(flat.windows(2).all(|w| w[0].s < w[1].s));
            prop_assert!(flat.iter().all(|v| v.s >= 0.0 && v.s < curve.length()));
            for s in &breaks {
                prop_assert!(flat.iter().any(|v| (v.s - s).abs() <= 1e-11 * curve.length()));
            }
            for vertex in &flat {
                let off = (vertex.at - curve.point_at(vertex.s)).hypot();
                prop_assert!(off <= tolerance, "{off} {tolerance}");
            }
            let ring: Vec<Point> = flat.iter().map(|v| v.at).collect();
            let error = (boolean::ring_area(&ring) - curve.area()).abs();
            prop_assert!(error <= 0.5 * tolerance * curve.length());
        }
    }

    #[test]
    fn areas_of_union_and_intersection_add_up(a in outline(), b in outline(), by in place()) {
        let b = b.moved(by.to_vec2() * 0.5);
        let (a, b) = (rings(&a), rings(&b));
        let sum = boolean::area(&a) + boolean::area(&b);
        let union = boolean::union(&a, &b);
        let both = boolean::intersection(&a, &b);
        let rest = boolean::difference(&a, &b);
        prop_assert!((boolean::area(&union) + boolean::area(&both) - sum).abs() < 1e-6 * sum);
        let of_a = boolean::area(&rest) + boolean::area(&both);
        prop_assert!((of_a - boolean::area(&a)).abs() < 1e-6 * sum);
    }

    #[test]
    fn the_overlap_is_the_area_of_the_intersection(a in outline(), b in outline(), by in place()) {
        let b = b.moved(by.to_vec2() * 0.7);
        let flat = |outline: &Outline| -> Vec<boolean::Ring> {
            let fine = |curve: &shapes::Loop| {
                curve.flatten(&[], 1e-5).iter().map(|v| v.at).collect()
            };
            outline.loops().iter().map(fine).collect()
        };
        let clipped = boolean::area(&boolean::intersection(&flat(&a), &flat(&b)));
        match a.overlap(&b) {
            Some(overlap) => {
                prop_assert!((overlap.area - clipped).abs() < 1e-4, "{} {clipped}", overlap.area);
                prop_assert!(a.signed_distance(overlap.at) < 1e-9);
                prop_assert!(b.signed_distance(overlap.at) < 1e-9);
                let again = b.overlap(&a).map_or(0.0, |overlap| overlap.area);
                prop_assert!((again - overlap.area).abs() < 1e-9);
            }
            None => prop_assert!(clipped < 1e-4, "{clipped}"),
        }
    }

    #[test]
    fn bounds_hold_the_outline_and_nothing_more(outline in outline(), degrees in 0.0f64..360.0) {
        let outline = outline.turned(degrees);
        let room = outline.bounds();
        let mut seen: Option<Rect> = None;
        for curve in outline.loops() {
            for k in 0..2000 {
                let at = curve.point_at(curve.length() * f64::from(k) / 2000.0);
                prop_assert!(inflated(room, 1e-12).contains(at));
                seen = Some(seen.map_or(Rect::from_points(at, at), |seen| seen.union_pt(at)));
            }
        }
        let seen = seen.expect("points were looked at");
        let slack = outline.perimeter() / 2000.0;
        prop_assert!(inflated(seen, slack).union(room) == inflated(seen, slack));
    }
}
