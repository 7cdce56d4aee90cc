//! Any text as SVG path data; what is accepted must be usable.
#![no_main]

use libfuzzer_sys::fuzz_target;
use shapes::{Outline, Point};

fuzz_target!(|data: &str| {
    let Ok(outline) = Outline::path(data) else { return };
    assert!(!outline.loops().is_empty());
    let _ = (outline.area(), outline.self_crossing(), outline.contains(Point::new(0.5, 0.5)));
    for curve in outline.loops() {
        let _ = (curve.corners(), curve.flatten(&[], 1e-3 * curve.length()));
    }
});
