//! How an axial section looks: the half that is solved, its mirror image pale beside it, and the
//! dash-dot line of the axis between them, as in a drawing of a turned part.

use shapes::{Outline, Point, Rect};
use solver::{Layout, Symmetry};

use super::drawing::{Anchor, Drawing, FAINT, INK, TextStyle, line, rectangle};
use super::format::DisplayUnits;
use super::labels::Placer;
use super::legend;
use super::page::View;

/// How much of the mirror image the white veil over it hides.
const VEIL: f64 = 0.58;
/// Dashes of a centre line, pixels: long, gap, short, gap.
const DASHES: &str = "14 4 3 4";

/// What to show of a round section: both halves. Planar ones stay as they are.
pub fn world(layout: &Layout, shown: Rect) -> Rect {
    match layout.symmetry {
        Symmetry::Planar => shown,
        Symmetry::Axial => {
            let far = shown.x1.max(-shown.x0);
            Rect::new(-far, shown.y0, far, shown.y1)
        }
    }
}

/// Draws the section with `content`; of a round one both halves and the axis. No texts in
/// `content`: they would be mirrored. Labels keep off the mirror image.
pub fn section(
    drawing: &mut Drawing,
    placer: &mut Placer,
    layout: &Layout,
    view: &View,
    content: impl FnOnce(&mut Drawing, &mut Placer),
) {
    if layout.symmetry == Symmetry::Planar {
        return content(drawing, placer);
    }
    let x = view.pixel(Point::ORIGIN).x;
    // lines at the edge of the tank are half outside of it
    let area = view.area.inflate(2.0, 2.0);
    let half = Rect::new(x, area.y0, area.x1, area.y1);
    drawing.mirrored(half, x, |drawing| content(drawing, placer));
    let image = Rect::new(area.x0, area.y0, x, area.y1);
    drawing.add(rectangle(image).set("fill", "#ffffff").set("fill-opacity", VEIL));
    placer.take(image);

    let (from, to) = (Point::new(x, area.y0 - 6.0), Point::new(x, area.y1 + 4.0));
    drawing.add(line(from, to).set("stroke", "#ffffff").set("stroke-width", 3.5));
    drawing.add(
        line(from, to).set("stroke", INK).set("stroke-width", 1.3).set("stroke-dasharray", DASHES),
    );
    let style = TextStyle::new(12.0).anchored(Anchor::End);
    drawing.text_on_plate(Point::new(x - 8.0, area.y0 + 18.0), "axis", style);
    let style = TextStyle::new(11.0).coloured(FAINT).anchored(Anchor::End);
    drawing.text_on_plate(Point::new(x - 8.0, area.y1 - 10.0), "mirror image", style);
}

/// Rows of the legend that [`explain`] takes.
pub fn rows(layout: &Layout) -> usize {
    if layout.symmetry == Symmetry::Axial { 3 } else { 0 }
}

/// Explains the line in the legend; returns where it ends.
pub fn explain(drawing: &mut Drawing, panel: Rect, top: f64, layout: &Layout) -> f64 {
    if layout.symmetry == Symmetry::Planar {
        return top;
    }
    let (from, to) = (Point::new(panel.x0, top + 8.0), Point::new(panel.x0 + 28.0, top + 8.0));
    drawing.add(
        line(from, to).set("stroke", INK).set("stroke-width", 1.3).set("stroke-dasharray", DASHES),
    );
    legend::words(drawing, panel, top, "axis: everything goes all around it; pale: mirror image")
}

/// The size of a body as it is written on a drawing: diameter of a disc or of a round body with its
/// height, else width and height of the section.
pub fn extent(symmetry: Symmetry, outline: &Outline, units: DisplayUnits) -> String {
    let b = outline.bounds();
    let (w, h, unit) = (units.size(b.width()), units.size(b.height()), units.length_unit());
    match symmetry {
        Symmetry::Axial if b.x0 <= 1e-9 => format!("Ø {} × {h} {unit}", units.size(2.0 * b.x1)),
        Symmetry::Axial => {
            format!("Ø {}/{} × {h} {unit}", units.size(2.0 * b.x1), units.size(2.0 * b.x0))
        }
        Symmetry::Planar if is_disc(outline) => format!("Ø {w} {unit}"),
        Symmetry::Planar => format!("{w} × {h} {unit}"),
    }
}

/// True for a disc or ring: its outer loop fills a circle as wide as it is.
fn is_disc(outline: &Outline) -> bool {
    let b = outline.bounds();
    let circle = 0.25 * std::f64::consts::PI * b.width() * b.width();
    let outer = outline.loops().first().map_or(0.0, |l| l.area().abs());
    (b.width() - b.height()).abs() <= 1e-9 * b.width() && (outer - circle).abs() <= 1e-9 * circle
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_has_a_diameter_and_a_square_has_sides() {
        let at = Point::new(0.05, 0.05);
        let disc = Outline::disc(at, 0.005).expect("a disc");
        let square = Outline::rect(at, (0.01, 0.01), 0.0).expect("a square");
        let metric = DisplayUnits::Metric;
        assert_eq!(extent(Symmetry::Planar, &disc, metric), "Ø 10 mm");
        assert_eq!(extent(Symmetry::Planar, &square, metric), "10 × 10 mm");
        assert_eq!(extent(Symmetry::Axial, &square, metric), "Ø 110/90 × 10 mm");
    }
}
