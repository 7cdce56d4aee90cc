//! Damaged and hostile drawings: an error that says what is wrong, soon and in little memory.

use std::time::{Duration, Instant};

use shapes::import::{Drawing, DrawingError};
use shapes::{Outline, export};

/// Far more than any of these needs on a slow machine; what it guards against takes hours.
const SOON: Duration = Duration::from_secs(60);

fn dxf_of(blocks: &str, entities: &str) -> Vec<u8> {
    let lines = |text: &str| text.split_whitespace().collect::<Vec<_>>().join("\n");
    let text = format!(
        "0 SECTION 2 HEADER 9 $ACADVER 1 AC1015 0 ENDSEC 0 SECTION 2 BLOCKS {blocks} 0 ENDSEC \
         0 SECTION 2 ENTITIES {entities} 0 ENDSEC 0 EOF"
    );
    (lines(&text) + "\n").into_bytes()
}

fn svg_of(body: &str) -> Result<Drawing, DrawingError> {
    Drawing::svg(&format!("<svg xmlns='http://www.w3.org/2000/svg'>{body}</svg>"))
}

/// What went wrong, in time.
fn refused<T>(read: impl FnOnce() -> Result<T, DrawingError>) -> DrawingError {
    let begin = Instant::now();
    let Err(error) = read() else { panic!("accepted") };
    assert!(begin.elapsed() < SOON, "{error} took {:?}", begin.elapsed());
    error
}

#[test]
fn a_file_cut_short_anywhere_is_refused() {
    let cup =
        Outline::path("M0 0H30V5H10A20 20 0 0 0 10 25H30V30C20 40 10 40 0 30Z").expect("a cup");
    let whole = export::dxf(&[("cup", &cup)], 1e-3);
    // the last line is EOF with its line break
    for cut in (0..whole.len() - 4).step_by(7) {
        refused(|| Drawing::dxf(&whole.as_bytes()[..cut]));
    }
    let whole = export::svg(&[("cup", &cup)], (40.0, 40.0), "mm");
    let end = whole.trim_end().len();
    for cut in (0..end).step_by(3) {
        let error = refused(|| Drawing::svg(&whole[..cut]));
        assert!(matches!(error, DrawingError::Damaged { .. }), "{error}");
    }
}

#[test]
fn blocks_and_uses_that_hold_themselves_are_named() {
    let block = |name: &str, inside: &str| {
        format!(
            "0 BLOCK 8 0 2 {name} 70 0 10 0 20 0 0 INSERT 8 0 2 {inside} 10 1 20 0 0 ENDBLK 8 0 "
        )
    };
    for blocks in [block("a", "a"), block("a", "b") + &block("b", "a")] {
        let bytes = dxf_of(&blocks, "0 INSERT 8 0 2 a 10 0 20 0");
        let error = refused(|| Drawing::dxf(&bytes));
        assert!(matches!(&error, DrawingError::Recursive { block } if block == "a"), "{error}");
    }
    for body in [
        "<g id='a'><use href='#a'/></g>",
        "<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>",
        "<symbol id='a'><use href='#a'/></symbol><use href='#a'/>",
    ] {
        let error = refused(|| svg_of(body));
        assert!(matches!(error, DrawingError::Recursive { .. }), "{error}");
    }
}

#[test]
fn copies_of_copies_of_copies_are_counted_not_drawn() {
    let mut blocks =
        String::from("0 BLOCK 8 0 2 b0 70 0 10 0 20 0 0 CIRCLE 8 0 10 0 20 0 40 1 0 ENDBLK 8 0 ");
    for k in 1..12 {
        let copy = format!("0 INSERT 8 0 2 b{} 10 1 20 0 ", k - 1).repeat(10);
        blocks += &format!("0 BLOCK 8 0 2 b{k} 70 0 10 0 20 0 {copy} 0 ENDBLK 8 0 ");
    }
    let bytes = dxf_of(&blocks, "0 INSERT 8 0 2 b11 10 0 20 0");
    let error = refused(|| Drawing::dxf(&bytes));
    assert!(matches!(error, DrawingError::TooLarge { most: 200_000, .. }), "{error}");
    // rows and columns are copies as well
    let bytes = dxf_of(&blocks, "0 INSERT 8 0 2 b0 10 0 20 0 70 32767 71 32767 44 1 45 1");
    assert!(matches!(refused(|| Drawing::dxf(&bytes)), DrawingError::TooLarge { .. }));
    // entities of XML that hold each other
    let mut laughs = String::from("<!ENTITY l0 'ha'>");
    for k in 1..10 {
        laughs += &format!("<!ENTITY l{k} '{}'>", format!("&l{};", k - 1).repeat(10));
    }
    let text = format!(
        "<!DOCTYPE svg [{laughs}]><svg xmlns='http://www.w3.org/2000/svg'><g id='&l9;'/></svg>"
    );
    assert!(matches!(refused(|| Drawing::svg(&text)), DrawingError::Damaged { .. }));
}

#[test]
fn files_over_the_limit_are_refused_before_they_are_read() {
    let large = vec![b'0'; 50 << 20];
    let begin = Instant::now();
    let error = refused(|| Drawing::dxf(&large));
    assert_eq!(error.to_string(), "the drawing has more than 33554432 bytes");
    let text = String::from_utf8(large).expect("digits");
    assert!(matches!(refused(|| Drawing::svg(&text)), DrawingError::TooLarge { .. }));
    assert!(begin.elapsed() < Duration::from_secs(5));
    // below that limit, the lines are counted
    let line = "0\nLINE\n8\na\n10\n0\n20\n0\n11\n1\n21\n1\n".repeat(200_001);
    let bytes =
        String::from_utf8(dxf_of("", "@")).expect("text").replace("@\n", &line).into_bytes();
    let error = refused(|| Drawing::dxf(&bytes));
    assert_eq!(error.to_string(), "the drawing has more than 200000 lines");
    let path = format!("<path d='M0 0{}'/>", "h1v1".repeat(100_001));
    let error = refused(|| svg_of(&path));
    assert_eq!(error.to_string(), "the drawing has more than 200000 lines");
}

#[test]
fn enormous_and_senseless_numbers_are_no_outline() {
    for number in ["1e308", "-1e308", "1e999", "nan", "inf"] {
        for entities in [
            format!("0 CIRCLE 8 a 10 {number} 20 2 40 3"),
            format!("0 CIRCLE 8 a 10 1 20 2 40 {number}"),
            format!("0 LWPOLYLINE 8 a 90 3 70 1 10 0 20 0 10 {number} 20 0 10 0 20 {number}"),
            format!("0 LWPOLYLINE 8 a 90 3 70 1 10 0 20 0 42 {number} 10 5 20 0 10 0 20 5"),
            format!("0 ARC 8 a 10 0 20 0 40 3 50 {number} 51 0"),
            format!("0 ELLIPSE 8 a 10 0 20 0 11 {number} 21 0 40 0.5 41 0 42 6.283185307179586"),
        ] {
            let bytes = dxf_of("", &entities);
            let begin = Instant::now();
            // a far place is a place: what is accepted must be an outline of ordinary numbers
            if let Ok(outline) = Drawing::dxf(&bytes).and_then(|d| d.outline(None, None)) {
                assert!(outline.is_finite() && outline.area() > 0.0, "{entities}");
            }
            assert!(begin.elapsed() < SOON);
        }
        for body in [
            format!("<circle cx='{number}' cy='0' r='3'/>"),
            format!("<circle cx='1' cy='0' r='{number}'/>"),
            format!("<path d='M0 0L{number} 0 0 {number}Z'/>"),
            format!("<rect width='5' height='5' transform='scale({number})'/>"),
            format!("<rect width='5' height='5' transform='translate({number} 0)'/>"),
        ] {
            if let Ok(outline) = svg_of(&body).and_then(|d| d.outline(None, None)) {
                assert!(outline.is_finite() && outline.area() > 0.0, "{body}");
            }
        }
    }
    // a count that promises more than there is
    let bytes =
        dxf_of("", "0 SPLINE 8 a 70 8 71 3 72 2147483647 73 2147483647 40 0 10 0 20 0 30 0");
    refused(|| Drawing::dxf(&bytes).and_then(|d| d.outline(None, None)));
}
