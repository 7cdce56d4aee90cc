//! Drawings that general-purpose libraries and programs have written (`drawings/make.py`: ezdxf,
//! svgwrite, graphviz, potrace), read as outlines.
use std::f64::consts::PI;
use std::path::Path;

use shapes::Outline;
use shapes::import::{Drawing, DrawingError};

fn bytes(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("drawings").join(name);
    std::fs::read(path).expect("a drawing")
}

fn dxf(name: &str, layer: &str) -> Result<Outline, DrawingError> {
    Drawing::dxf(&bytes(name))?.outline(Some(layer), None)
}

#[test]
fn a_plate_is_the_same_in_every_version() {
    // 80 × 50 mm, one corner rounded to 10, a hole of radius 8, a slot of 15 + 10 by 10
    let area = 4000.0 - (1.0 - 0.25 * PI) * 100.0 - 64.0 * PI - (150.0 + 25.0 * PI);
    for name in ["R12.dxf", "R2000.dxf", "R2018.dxf"] {
        let plate = dxf(name, "CUT").unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!((plate.area() / area - 1.0).abs() < 1e-9, "{name}: {}", plate.area());
        assert_eq!(plate.loops().len(), 3, "{name}");
        let unit = Drawing::dxf(&bytes(name)).expect("read before").unit_m();
        // R12 has no header variable for the unit
        assert_eq!(unit, (name != "R12.dxf").then_some(1e-3), "{name}");
    }
}

#[test]
fn ellipses_splines_and_blocks_have_their_area() {
    for name in ["R2000.dxf", "R2018.dxf"] {
        let area = |layer: &str| dxf(name, layer).unwrap_or_else(|e| panic!("{name}: {e}")).area();
        // axes √(30² + 10²) and 0.4 of it
        assert!((area("OVAL") / (400.0 * PI) - 1.0).abs() < 1e-6, "{}", area("OVAL"));
        // trapezium of 4 and 2 by 5, two by three times as large
        assert!((area("TEETH") / 90.0 - 1.0).abs() < 1e-9, "{}", area("TEETH"));
        // printed by make.py
        assert!((area("SPLINE") / SPLINE - 1.0).abs() < 1e-5, "{}", area("SPLINE"));
    }
}

const SPLINE: f64 = 1627.7777;

#[test]
fn a_turned_group_of_an_svg_keeps_its_size() {
    let text = String::from_utf8(bytes("turned.svg")).expect("text");
    let part = Drawing::svg(&text).expect("a drawing");
    assert_eq!(part.unit_m(), Some(1e-3));
    let outline = part.outline(Some("part"), None).expect("an outline");
    // 40 × 30 with corners of 5, less a hole of radius 6
    let area = 1200.0 - (4.0 - PI) * 25.0 - 36.0 * PI;
    assert!((outline.area() / area - 1.0).abs() < 1e-9, "{}", outline.area());
}

#[test]
fn shapes_of_a_graph_have_their_area_in_points() {
    let text = String::from_utf8(bytes("graphviz.svg")).expect("text");
    let graph = Drawing::svg(&text).expect("a drawing");
    assert!((graph.unit_m().expect("points") - 0.0254 / 72.0).abs() < 1e-15);
    let area = |id: &str| graph.outline(Some(id), None).unwrap_or_else(|e| panic!("{e}")).area();
    assert!((area("disc") / (PI * 72.0 * 72.0) - 1.0).abs() < 1e-9, "{}", area("disc"));
    // 216 × 108 without four triangles of 54 × 54
    assert!((area("tile") / 17_496.0 - 1.0).abs() < 1e-9, "{}", area("tile"));
    // the line between them is no outline
    let error = graph.outline(Some("edge1"), None).expect_err("an open line").to_string();
    assert!(error.contains("the outline is open at"), "{error}");
}

#[test]
fn a_traced_bitmap_is_the_plate_that_it_shows() {
    let text = String::from_utf8(bytes("potrace.svg")).expect("text");
    let plate = Drawing::svg(&text).and_then(|d| d.outline(None, None)).expect("a plate");
    // 160 × 120 with a hole of radius 40; traced to a fraction of a pixel
    let area = 19_200.0 - 1600.0 * PI;
    assert!((plate.area() / area - 1.0).abs() < 5e-3, "{}", plate.area());
    assert_eq!(plate.loops().len(), 2);
}

#[test]
fn a_whole_drawing_without_a_layer_lists_its_layers() {
    let error = Drawing::dxf(&bytes("R2000.dxf")).and_then(|d| d.outline(None, None));
    let told = error.expect_err("several layers").to_string();
    assert!(
        told.contains("`CUT` (7 pieces), `OVAL` (1 piece), `SPLINE` (1 piece), `TEETH` (1 piece)"),
        "{told}"
    );
}
