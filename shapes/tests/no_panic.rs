//! No input, however senseless, may panic; and what is accepted must be usable.

use proptest::prelude::*;
use shapes::{Axis, Outline, Point, StripEnds, Vec2};

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -10.0f64..10.0,
        2 => (-3i32..4).prop_map(f64::from),
        1 => prop_oneof![
            Just(f64::NAN), Just(f64::INFINITY), Just(f64::NEG_INFINITY), Just(0.0), Just(-0.0),
            Just(1e-300), Just(1e300), Just(f64::MAX), Just(f64::MIN_POSITIVE), Just(5e-324),
        ],
        1 => any::<f64>(),
    ]
}

fn point() -> impl Strategy<Value = Point> {
    (number(), number()).prop_map(Point::from)
}

/// Every method once; results do not matter, coming back does.
fn exercise(outline: &Outline, p: Point, by: f64) {
    let _ = (outline.area(), outline.perimeter(), outline.bounds(), outline.diagonal());
    let _ = (outline.contains(p), outline.signed_distance(p), outline.nearest(p));
    let _ = (outline.self_crossing(), outline.to_path(by));
    for curve in outline.loops() {
        let _ = (curve.point_at(by), curve.tangent_at(by), curve.curvature_at(by));
        let _ = (curve.corners(), curve.stretch(by, p.x), curve.nearest(p), curve.is_hole());
        let _ = curve.flatten(&[p.x, p.y, by], curve.length() * 1e-3);
    }
    let _ = (outline.overlap(outline), outline.touches(outline, by));
}

fn with_transforms(outline: &Outline, p: Point, by: f64) {
    exercise(outline, p, by);
    exercise(&outline.turned(by), p, by);
    exercise(&outline.turned_about(by, p), p, by);
    exercise(&outline.mirrored(Axis::X), p, by);
    exercise(&outline.moved(p.to_vec2()), p, by);
    exercise(&outline.scaled(by), p, by);
    let moved = outline.moved(Vec2::new(by, 0.0));
    let _ = (outline.overlap(&moved), outline.gap(&moved), outline.touches(&moved, 0.1));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn polygons(points in prop::collection::vec(point(), 0..7), radius in number(), p in point(), by in number()) {
        if let Ok(outline) = Outline::polygon(&points, radius) {
            prop_assert!(outline.is_finite() && outline.area() > 0.0);
            with_transforms(&outline, p, by);
        }
    }

    #[test]
    fn primitives(at in point(), a in number(), b in number(), c in number(), p in point()) {
        for made in [
            Outline::rect(at, (a, b), c),
            Outline::disc(at, a),
            Outline::ring(at, a, b),
            Outline::strip(&[at, p], a, StripEnds::Round),
            Outline::strip(&[at, p, Point::new(b, c), Point::ORIGIN], a, StripEnds::Flat),
        ].into_iter().flatten() {
            prop_assert!(made.is_finite() && made.area() > 0.0);
            with_transforms(&made, p, c);
        }
    }

    #[test]
    fn path_text(data in "[MmLlHhVvCcSsQqTtAaZz0-9 .,eE+-]{0,60}", p in point()) {
        if let Ok(outline) = Outline::path(&data) {
            with_transforms(&outline, p, 1.5);
        }
    }

    #[test]
    fn any_text_at_all(data in "\\PC{0,40}") {
        let _ = Outline::path(&format!("M0 0{data}"));
        let _ = Outline::path(&data);
    }

    #[test]
    fn paths_of_good_grammar(
        pieces in prop::collection::vec((0usize..9, prop::collection::vec(number(), 7), any::<(bool, bool)>()), 1..7),
        p in point(), by in number(),
    ) {
        let mut data = String::from("M0 0");
        for (kind, n, (large, sweep)) in pieces {
            let n: Vec<f64> = n.into_iter().map(|n| if n.is_finite() { n } else { 1.0 }).collect();
            let (l, s) = (u8::from(large), u8::from(sweep));
            data += &match kind {
                0 => format!("L{:e} {:e}", n[0], n[1]),
                1 => format!("C{:e} {:e} {:e} {:e} {:e} {:e}", n[0], n[1], n[2], n[3], n[4], n[5]),
                2 => format!("s{:e} {:e} {:e} {:e}", n[0], n[1], n[2], n[3]),
                3 => format!("Q{:e} {:e} {:e} {:e}", n[0], n[1], n[2], n[3]),
                4 => format!("t{:e} {:e}", n[0], n[1]),
                5 => format!("A{:e} {:e} {:e} {l} {s} {:e} {:e}", n[0], n[1], n[2], n[3], n[4]),
                6 => format!("a{:e} {:e} 0 {l} {s} {:e} {:e}", n[0], n[0], n[3], n[4]),
                7 => format!("h{:e}V{:e}", n[0], n[1]),
                _ => format!("Zm{:e} {:e}", n[0], n[1]),
            };
        }
        if let Ok(outline) = Outline::path(&data) {
            prop_assert!(outline.area() > 0.0);
            with_transforms(&outline, p, by);
        }
    }
}
