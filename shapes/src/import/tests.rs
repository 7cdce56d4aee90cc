use std::f64::consts::PI;

use proptest::prelude::*;

use super::*;
use crate::{Outline, Point, Segment};

fn svg(body: &str) -> Drawing {
    svg_with("width=\"100mm\" height=\"80mm\" viewBox=\"0 0 100 80\"", body)
}

fn svg_with(root: &str, body: &str) -> Drawing {
    let text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" {root}>{body}</svg>"
    );
    Drawing::svg(&text).expect(body)
}

fn area(drawing: &Drawing, pick: Option<&str>) -> f64 {
    drawing.outline(pick, None).expect("an outline").area()
}

/// A minimal DXF of `entities`, each a list of group codes and values.
fn dxf_text(blocks: &str, entities: &str) -> String {
    let lines = |text: &str| text.split_whitespace().collect::<Vec<_>>().join("\n");
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n{}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{}\n0\nENDSEC\n0\nEOF\n",
        lines(blocks),
        lines(entities),
    )
    .replace("\n\n", "\n")
}

fn dxf(entities: &str) -> Result<Drawing, DrawingError> {
    Drawing::dxf(dxf_text("", entities).as_bytes())
}

fn line(layer: &str, from: (f64, f64), to: (f64, f64)) -> String {
    format!("0 LINE 8 {layer} 10 {} 20 {} 11 {} 21 {} ", from.0, from.1, to.0, to.1)
}

#[test]
fn svg_shapes_keep_their_size_and_circles_stay_circles() {
    let disc = svg("<circle id='bar' cx='50' cy='30' r='10'/>");
    assert_eq!(disc.unit_m(), Some(1e-3));
    let outline = disc.outline(Some("bar"), None).expect("a disc");
    assert!((outline.area() - 100.0 * PI).abs() < 1e-9);
    // seen as it looks: 30 below the top of 80
    assert!(outline.contains(Point::new(50.0, 50.0)) && !outline.contains(Point::new(50.0, 30.0)));
    assert!(matches!(outline.loops()[0].segments(), [Segment::Arc(_)]));
    let plate = svg("<rect x='10' y='10' width='30' height='20' rx='4'/>");
    assert!((area(&plate, None) - (600.0 - (4.0 - PI) * 16.0)).abs() < 1e-9);
    let hollow = svg("<path d='M0 0H40V40H0Z M10 10H30V30H10Z'/>");
    assert!((area(&hollow, None) - 1200.0).abs() < 1e-9);
    let oval = svg("<ellipse cx='50' cy='40' rx='20' ry='10' transform='rotate(30 50 40)'/>");
    assert!((area(&oval, None) / (200.0 * PI) - 1.0).abs() < 1e-7);
}

#[test]
fn svg_units_are_those_of_the_root() {
    let square = "<rect width='10' height='10'/>";
    // 96 px are an inch, so without a view box 10 user units are 10/96 in
    let drawing = svg_with("width='4in' height='4in'", square);
    assert_eq!(drawing.unit_m(), Some(0.0254));
    assert!((area(&drawing, None) - (10.0f64 / 96.0).powi(2)).abs() < 1e-12);
    let drawing = svg_with("width='20cm' height='20cm' viewBox='0 0 50 50'", square);
    assert!((area(&drawing, None) - 16.0).abs() < 1e-12);
    let drawing = svg_with("width='200' height='200' viewBox='0 0 50 50'", square);
    assert_eq!(drawing.unit_m(), None);
    assert!((area(&drawing, None) - 100.0).abs() < 1e-12);
}

#[test]
fn svg_groups_transforms_and_uses_are_followed() {
    let drawing = svg("<defs><path id='tooth' d='M0 0h2v1h-2z'/></defs>\
         <g id='gear' transform='translate(20 20) scale(2)'><use href='#tooth'/>\
         <use xlink:href='#tooth' x='5' y='0'/></g><g display='none'><rect width='3' height='3'/></g>");
    // nothing of defs is drawn itself; two teeth of 2 × 1, twice as large
    assert!((area(&drawing, Some("gear")) - 16.0).abs() < 1e-12);
    let names: Vec<String> = drawing.names().into_iter().map(|n| n.0).collect();
    assert_eq!(names, ["gear", "tooth"]);
    let lost = drawing.outline(Some("geer"), None).expect_err("no such id").to_string();
    assert_eq!(lost, "the drawing has no id `geer`; it has `gear` (2 pieces), `tooth` (2 pieces)");
}

#[test]
fn dxf_loose_lines_join_in_any_order_and_direction() {
    let c = [(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)];
    let text = [
        line("cut", c[0], c[1]),
        line("cut", c[3], c[2]),
        line("cut", c[3], c[0]),
        line("cut", c[1], (40.0 + 2e-4, 30.0 - 1e-4)),
    ];
    let drawing = dxf(&text.concat()).expect("lines");
    assert_eq!(drawing.unit_m(), Some(1e-3));
    let outline = drawing.outline(Some("cut"), None).expect("a rectangle");
    assert!((outline.area() - 1200.0).abs() < 0.01);
    assert_eq!(outline.loops()[0].segments().len(), 4);
    let tight = drawing.outline(None, Some(1e-5)).expect_err("a gap");
    let DrawingError::Open { gap, tolerance, .. } = tight else { panic!("{tight}") };
    assert!((gap - 5f64.sqrt() * 1e-4).abs() < 1e-12 && tolerance == 1e-5);
    assert!(
        tight.to_string().contains("(40.0002, 29.9999)") || tight.to_string().contains("(40, 30)"),
        "{tight}"
    );
}

#[test]
fn dxf_arcs_circles_bulges_and_ellipses_are_exact() {
    // half a disc of radius 5 as an arc and a line
    let half =
        format!("0 ARC 8 a 10 0 20 0 40 5 50 0 51 180 {}", line("a", (-5.0, 0.0), (5.0, 0.0)));
    assert!((area(&dxf(&half).expect("half"), None) - 12.5 * PI).abs() < 1e-9);
    let circle = dxf("0 CIRCLE 8 a 10 7 20 -3 40 2").expect("a circle");
    assert!((area(&circle, None) - 4.0 * PI).abs() < 1e-12);
    // a slot: two half circles by a bulge of one, which is a half turn
    let slot = "0 LWPOLYLINE 8 a 90 4 70 1 10 0 20 0 10 10 20 0 42 1 10 10 20 4 10 0 20 4 42 1";
    assert!((area(&dxf(slot).expect("a slot"), None) - (40.0 + 4.0 * PI)).abs() < 1e-9);
    let ellipse = "0 ELLIPSE 8 a 10 0 20 0 11 6 21 0 40 0.5 41 0 42 6.283185307179586";
    assert!((area(&dxf(ellipse).expect("an ellipse"), None) / (18.0 * PI) - 1.0).abs() < 1e-7);
    // seen from behind: the arc of the other half
    let back = format!("0 ARC 8 a 10 0 20 0 40 5 50 0 51 90 230 -1 {}", "");
    let outline = format!(
        "{back}{}{}",
        line("a", (0.0, 0.0), (-5.0, 0.0)),
        line("a", (0.0, 0.0), (0.0, 5.0))
    );
    assert!((area(&dxf(&outline).expect("a quarter"), None) - 6.25 * PI).abs() < 1e-9);
}

#[test]
fn dxf_splines_follow_their_definition() {
    // a quarter circle as a rational quadratic: weights 1, 1/√2, 1 (L. Piegl and W. Tiller, The
    // NURBS Book, section 7.3)
    let w = 0.5f64.sqrt();
    let quarter = format!(
        "0 SPLINE 8 a 70 4 71 2 72 6 73 3 74 0 40 0 40 0 40 0 40 1 40 1 40 1 41 1 41 {w} 41 1 10 1 20 0 30 0 10 1 20 1 30 0 10 0 20 1 30 0 "
    );
    let text = quarter + &line("a", (0.0, 1.0), (0.0, 0.0)) + &line("a", (0.0, 0.0), (1.0, 0.0));
    assert!((area(&dxf(&text).expect("a quarter"), None) - 0.25 * PI).abs() < 1e-7);
    // a cubic with simple ends is its own Bézier: area under it by Green's theorem, 0.6 × 3
    let cubic = "0 SPLINE 8 a 70 8 71 3 72 8 73 4 40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1 10 0 20 0 30 0 10 0 20 2 30 0 10 3 20 2 30 0 10 3 20 0 30 0 ";
    let text = cubic.to_owned() + &line("a", (3.0, 0.0), (0.0, 0.0));
    let bez = Outline::path("M0 0C0 2 3 2 3 0Z").expect("the same").area();
    assert!((area(&dxf(&text).expect("a bow"), None) - bez).abs() < 1e-9);
    let short = "0 SPLINE 8 a 70 8 71 3 72 5 73 3 40 0 40 0 40 0 40 1 40 1 10 0 20 0 30 0 10 0 20 2 30 0 10 3 20 2 30 0";
    let why = dxf(short).expect_err("too few").to_string();
    assert_eq!(
        why,
        "a spline at (0, 0) cannot be drawn: it has too few control points for its degree"
    );
}

#[test]
fn dxf_blocks_are_placed_turned_and_scaled() {
    let tooth = line("0", (0.0, 0.0), (2.0, 0.0))
        + &line("0", (2.0, 0.0), (2.0, 1.0))
        + &line("0", (2.0, 1.0), (0.0, 1.0))
        + &line("0", (0.0, 1.0), (0.0, 0.0));
    let blocks = format!(
        "0 BLOCK 8 0 2 tooth 70 0 10 0 20 0 {tooth} 0 ENDBLK 8 0 \
         0 BLOCK 8 0 2 pair 70 0 10 0 20 0 0 INSERT 8 0 2 tooth 10 0 20 0 0 INSERT 8 0 2 tooth 10 4 20 0 50 90 0 ENDBLK 8 0"
    );
    let entities = "0 INSERT 8 cut 2 pair 10 10 20 10 41 2 42 2";
    let drawing = Drawing::dxf(dxf_text(&blocks, entities).as_bytes()).expect("blocks");
    let outline = drawing.outline(Some("cut"), None).expect("two teeth");
    assert!((outline.area() - 16.0).abs() < 1e-9);
    // the turned tooth stands at x from 4 − 1 to 4, twice as large and moved
    assert!(outline.contains(Point::new(10.0 + 2.0 * 3.5, 10.0 + 2.0 * 1.5)));
    let rows = "0 INSERT 8 cut 2 tooth 10 0 20 0 70 3 71 2 44 5 45 4";
    let drawing = Drawing::dxf(dxf_text(&blocks, rows).as_bytes()).expect("rows");
    assert!((area(&drawing, None) - 12.0).abs() < 1e-9);
    let circle = "0 BLOCK 8 0 2 r 70 0 10 0 20 0 0 INSERT 8 0 2 s 10 1 20 0 0 ENDBLK 8 0 \
                  0 BLOCK 8 0 2 s 70 0 10 0 20 0 0 INSERT 8 0 2 r 10 1 20 0 0 ENDBLK 8 0";
    let error = Drawing::dxf(dxf_text(circle, "0 INSERT 8 0 2 r 10 0 20 0").as_bytes());
    assert!(matches!(error, Err(DrawingError::Recursive { .. })), "{error:?}");
}

#[test]
fn what_cannot_be_an_outline_says_where() {
    let square = |x: f64| {
        let c = [(x, 0.0), (x + 4.0, 0.0), (x + 4.0, 4.0), (x, 4.0)];
        (0..4).map(|k| line("a", c[k], c[(k + 1) % 4])).collect::<String>()
    };
    let cases = [
        (
            line("a", (0.0, 0.0), (9.0, 0.0)) + &line("a", (9.0, 0.0), (9.0, 9.0)),
            "open at (9, 9): the nearest other end is 9 away at (9, 0)",
        ),
        (square(0.0) + &line("a", (0.0, 0.0), (4.0, 4.0)), "ends meet at"),
        (square(0.0) + &line("a", (4.0, 0.0), (0.0, 0.0)), "on top of each other at (2, 0)"),
        ("0 TEXT 8 a 10 0 20 0 40 1 1 Hello".to_owned(), "only text"),
        ("0 CIRCLE 8 a 10 1 20 2 40 0".to_owned(), "a circle at (1, 2) cannot be drawn"),
        ("0 CIRCLE 8 a 10 1 20 2 40 3 210 1 220 0 230 0".to_owned(), "does not lie in the plane"),
        (
            "0 LWPOLYLINE 8 a 90 4 70 1 10 0 20 0 10 4 20 4 10 4 20 0 10 0 20 4".to_owned(),
            "crosses or touches itself at (2, 2)",
        ),
        (
            square(0.0) + &square(9.0).replace("8 a", "8 b"),
            "several layers: `a` (4 pieces), `b` (4 pieces)",
        ),
    ];
    for (entities, expected) in cases {
        let error = dxf(&entities).and_then(|d| d.outline(None, None)).expect_err(expected);
        assert!(error.to_string().contains(expected), "{error}\nnot: {expected}");
    }
}

#[test]
fn damaged_files_are_refused_quickly() {
    let whole = dxf_text("", &line("a", (0.0, 0.0), (1.0, 1.0)));
    for cut in [0, 1, 17, whole.len() / 2, whole.len() - 6] {
        let error = Drawing::dxf(&whole.as_bytes()[..cut]).expect_err("cut short");
        assert!(
            matches!(error, DrawingError::Damaged { .. } | DrawingError::Empty { .. }),
            "{error}"
        );
    }
    assert!(Drawing::dxf(&[0u8; 4096]).is_err());
    assert!(Drawing::dxf(b"\x89PNG\r\n\x1a\n").is_err());
    for text in [
        "",
        "<svg",
        "<html/>",
        "<svg xmlns='http://www.w3.org/2000/svg'><path d='M 0 0 L x'/></svg>",
    ] {
        assert!(Drawing::svg(text).is_err(), "{text}");
    }
    // uses of uses, each twice: 2^40 of them
    let mut laughs = String::from("<g id='l0'/>");
    for k in 1..40 {
        laughs += &format!("<g id='l{k}'><use href='#l{0}'/><use href='#l{0}'/></g>", k - 1);
    }
    let text = format!("<svg xmlns='http://www.w3.org/2000/svg'>{laughs}<use href='#l39'/></svg>");
    assert!(matches!(Drawing::svg(&text), Err(DrawingError::TooLarge { .. })));
    // a use for each of many elements: looked up, not searched for
    let many: String =
        (0..50_000).map(|k| format!("<g id='e{k}'/><use href='#e{}'/>", 49_999 - k)).collect();
    let text = format!("<svg xmlns='http://www.w3.org/2000/svg'>{many}</svg>");
    assert!(Drawing::svg(&text).expect("empty groups").names().is_empty());
    let ring = "<svg xmlns='http://www.w3.org/2000/svg'><g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g></svg>";
    assert!(Drawing::svg(ring).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 64, ..Default::default() })]

    #[test]
    fn any_polygon_survives_shuffling_its_edges(
        radii in prop::collection::vec(5.0..20.0f64, 3..30),
        turns in prop::collection::vec(any::<bool>(), 30),
        start in 0usize..30,
    ) {
        let n = radii.len();
        let corner = |k: usize| {
            let angle = std::f64::consts::TAU * k as f64 / n as f64;
            (radii[k % n] * angle.cos(), radii[k % n] * angle.sin())
        };
        let points: Vec<Point> = (0..n).map(|k| corner(k).into()).collect();
        let want = Outline::polygon(&points, 0.0).expect("a star");
        let mut text = String::new();
        for k in 0..n {
            // any order: a step that has no factor in common with n would do; start and reverse do too
            let edge = (k * (n - 1) + start) % n;
            let (a, b) = (corner(edge), corner(edge + 1));
            text += &if turns[edge] { line("a", a, b) } else { line("a", b, a) };
        }
        let got = dxf(&text).and_then(|d| d.outline(None, None)).expect("joined");
        prop_assert!((got.area() - want.area()).abs() < 1e-6 * want.area());
        prop_assert!((got.perimeter() - want.perimeter()).abs() < 1e-6 * want.perimeter());
    }

    #[test]
    fn no_text_makes_the_readers_panic(bytes in prop::collection::vec(any::<u8>(), 0..400), cut in 0usize..800) {
        let _ = Drawing::dxf(&bytes);
        let _ = Drawing::svg(&String::from_utf8_lossy(&bytes));
        let mut text = dxf_text("", "0 CIRCLE 8 a 10 1 20 2 40 3").into_bytes();
        let at = cut % text.len();
        text.splice(at..(at + bytes.len()).min(text.len()), bytes);
        let _ = Drawing::dxf(&text).and_then(|d| d.outline(None, None));
    }
}
