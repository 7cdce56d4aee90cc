//! Texts and files of any kind, handed to everything that reads: accepted and usable, or refused in
//! words, never a panic. The fuzz targets in `fuzz/` and `tests/no_panic.rs` share these entries.
use shapes::import::Drawing;
use shapes::{Outline, Point};
use solver::quantity::{
    AreaResistance, Conductivity, Current, CurrentDensity, Length, Potential, Temperature, Time,
};
use throwmap::diagnostic::Source;
use throwmap::units::{Quantity, parse};

/// A text as a job.
///
/// # Panics
/// If it is refused without a word.
pub fn job(text: &str) {
    let source = Source { name: "job.toml".into(), text: text.into() };
    if let Err(faults) = throwmap::job::resolve(&source) {
        assert!(!faults.is_empty());
        for fault in faults {
            assert!(!fault.render(&source, false).is_empty());
        }
    }
}

/// A text as a quantity of every kind.
///
/// # Panics
/// If it is refused without a word.
pub fn quantity(text: &str) {
    fn one<Q: Quantity>(text: &str) {
        if let Err(error) = parse::<Q>(text) {
            assert!(!error.message().is_empty() && !error.label().is_empty());
            let _ = error.help();
        }
    }
    one::<Length>(text);
    one::<Current>(text);
    one::<CurrentDensity>(text);
    one::<Potential>(text);
    one::<Conductivity>(text);
    one::<AreaResistance>(text);
    one::<Temperature>(text);
    one::<Time>(text);
}

/// A text as SVG path data; what is accepted must be usable.
///
/// # Panics
/// If an accepted outline has no loop.
pub fn path(data: &str) {
    let Ok(outline) = Outline::path(data) else { return };
    assert!(!outline.loops().is_empty());
    let _ = (outline.area(), outline.self_crossing(), outline.contains(Point::new(0.5, 0.5)));
    for curve in outline.loops() {
        let _ = (curve.corners(), curve.flatten(&[], 1e-3 * curve.length()));
    }
}

/// Bytes as a drawing file, DXF and SVG.
///
/// # Panics
/// If an outline without a loop comes of it.
pub fn drawing(bytes: &[u8]) {
    let dxf = Drawing::dxf(bytes).ok();
    let svg = std::str::from_utf8(bytes).ok().and_then(|text| Drawing::svg(text).ok());
    for drawing in dxf.iter().chain(&svg) {
        let _ = drawing.names();
        if let Ok(outline) = drawing.outline(None, None) {
            assert!(!outline.loops().is_empty());
        }
    }
}
