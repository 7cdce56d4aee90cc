//! An outline written as a drawing and read again is the same outline.

use proptest::prelude::*;
use shapes::import::Drawing;
use shapes::{Outline, Point, export};

/// Share of the size that may be lost.
const SAME: f64 = 1e-6;

/// Outlines of lines, arcs and Béziers, with and without holes.
fn outline() -> impl Strategy<Value = Outline> {
    let star = (prop::collection::vec(20.0..60.0f64, 3..12), 0.0..3.0f64).prop_filter_map(
        "corners too sharp for the radius",
        |(radii, corner)| {
            let turn = std::f64::consts::TAU / radii.len() as f64;
            let at = |(k, r): (usize, &f64)| {
                Point::new(r * (turn * k as f64).cos(), r * (turn * k as f64).sin())
            };
            let points: Vec<Point> = radii.iter().enumerate().map(at).collect();
            Outline::polygon(&points, corner).ok()
        },
    );
    let keyhole =
        (5.0..40.0f64, 0.05..1.0f64, any::<bool>()).prop_filter_map("no keyhole", |(r, w, far)| {
            // an arc of nearly a full turn or of a short one, closed by a straight line
            let half = r * w;
            Outline::path(&format!("M{half} 0A{r} {r} 0 {} 1 {} 0Z", u8::from(far), -half)).ok()
        });
    let drop = (1.0..40.0f64, 1.0..40.0f64).prop_filter_map("no drop", |(a, b)| {
        Outline::path(&format!("M0 0L{a} 0C{a} {b} {b} {a} 0 {b}A{b} {b} 0 0 1 {} 0Z", -b)).ok()
    });
    let ring = (2.0..50.0f64, 0.1..0.9f64).prop_filter_map("no ring", |(outer, share)| {
        Outline::ring(Point::new(3.0, 4.0), outer, share * outer).ok()
    });
    (prop_oneof![star, keyhole, drop, ring], -180.0..180.0f64, -1e3..1e3f64)
        .prop_map(|(shape, turn, x)| shape.turned(turn).moved((x, 70.0).into()))
}

fn same(got: &Outline, want: &Outline) -> Result<(), TestCaseError> {
    let size = want.diagonal();
    prop_assert_eq!(got.loops().len(), want.loops().len());
    prop_assert!((got.area() - want.area()).abs() <= SAME * size * size);
    prop_assert!((got.perimeter() - want.perimeter()).abs() <= SAME * want.perimeter());
    for (one, other) in [(got, want), (want, got)] {
        for curve in one.loops() {
            let between = (0..100).map(|k| curve.point_at(curve.length() * f64::from(k) / 100.0));
            for p in curve.joints().iter().copied().chain(between) {
                prop_assert!(
                    other.distance(p) <= SAME * size,
                    "{} off at {}",
                    other.distance(p),
                    p
                );
            }
        }
    }
    for vertex in want.loops().iter().flat_map(|curve| curve.joints()) {
        // a circle has no vertex of its own
        let near =
            got.loops().iter().flat_map(|l| l.joints()).any(|v| v.distance(*vertex) <= SAME * size);
        prop_assert!(near || want.loops().iter().any(|l| l.segments().len() == 1));
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 300, ..Default::default() })]

    #[test]
    fn both_formats_keep_every_outline(outline in outline()) {
        let text = export::dxf(&[("cup: 1", &outline)], 1e-3);
        let drawing = Drawing::dxf(text.as_bytes()).expect("our own DXF");
        prop_assert_eq!(drawing.unit_m(), Some(1e-3));
        same(&drawing.outline(Some("cup_ 1"), None).expect("joined"), &outline)?;
        let text = export::svg(&[("cup & \"saucer\"", &outline)], (600.0, 400.0), "cm");
        let drawing = Drawing::svg(&text).expect("our own SVG");
        prop_assert_eq!(drawing.unit_m(), Some(1e-2));
        same(&drawing.outline(Some("cup & \"saucer\""), None).expect("closed"), &outline)?;
        same(&Outline::path(&export::svg_path(&outline)).expect("path data"), &outline)?;
    }
}
