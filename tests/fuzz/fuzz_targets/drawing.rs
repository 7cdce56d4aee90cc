//! Any bytes as a drawing file, DXF or SVG.
#![no_main]

use libfuzzer_sys::fuzz_target;
use shapes::import::Drawing;

fuzz_target!(|bytes: &[u8]| {
    let dxf = Drawing::dxf(bytes).ok();
    let svg = std::str::from_utf8(bytes).ok().and_then(|text| Drawing::svg(text).ok());
    for drawing in dxf.iter().chain(&svg) {
        let _ = drawing.names();
        if let Ok(outline) = drawing.outline(None, None) {
            assert!(!outline.loops().is_empty());
        }
    }
});
