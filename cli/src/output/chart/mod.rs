//! Diagrams on the drawing model: axes with round numbers, lines, bands, bars and dots.
//!
//! A [`Plot`] is a rectangle of the page with an [`Axis`] each way. What is drawn is given in the
//! axes' own units and never leaves the rectangle.

mod axis;

use shapes::{Point, Rect};
use svg::node::element::{Circle, Path};

pub use axis::Axis;

use super::drawing::{Anchor, Drawing, FAINT, INK, TextStyle, line, path_data, rectangle, rounded};
use super::font::{self, Weight};

/// Room left of a plot for numbers, and below it for numbers and a heading, pixels.
pub const LEFT: f64 = 56.0;
/// See [`LEFT`].
pub const BELOW: f64 = 42.0;
/// Numbers along the axes.
const NUMBER: TextStyle = TextStyle::new(11.5).coloured(FAINT);
/// Lines behind what is drawn.
const GRID: &str = "#d9d9d9";

/// A rectangle of the page with an axis each way.
#[derive(Debug, Clone)]
pub struct Plot {
    /// Pixels that it covers, without numbers and headings.
    pub area: Rect,
    /// The level axis.
    pub x: Axis,
    /// The upright axis.
    pub y: Axis,
}

impl Plot {
    /// Where a pair of values is on the page, kept inside the plot.
    pub fn pixel(&self, (x, y): (f64, f64)) -> Point {
        Point::new(self.across(x), self.up(y))
    }

    /// Pixels from the left edge of the page to a value of the level axis.
    pub fn across(&self, x: f64) -> f64 {
        self.area.x0 + self.x.fraction(x) * self.area.width()
    }

    /// Pixels from the upper edge of the page to a value of the upright axis.
    pub fn up(&self, y: f64) -> f64 {
        self.area.y1 - self.y.fraction(y) * self.area.height()
    }

    /// Draws grid, numbers and headings. `numbers` says whether the level axis gets any, which
    /// plots over one another share.
    pub fn frame(&self, drawing: &mut Drawing, numbers: bool) {
        let area = self.area;
        for (value, text) in self.y.ticks(area.height() / 34.0) {
            let y = self.up(value);
            drawing.add(thin(Point::new(area.x0, y), Point::new(area.x1, y), GRID));
            let style = NUMBER.anchored(Anchor::End);
            drawing.text(Point::new(area.x0 - 7.0, y + 4.0), &text, style);
        }
        let mut end = f64::NEG_INFINITY;
        for (value, text) in self.x.ticks(area.width() / 80.0) {
            let x = self.across(value);
            drawing.add(thin(Point::new(x, area.y1), Point::new(x, area.y1 + 5.0), FAINT));
            let half = font::width(&text, NUMBER.size, Weight::Regular) / 2.0;
            // names of bars may be long: what does not fit is left out
            if numbers && x - half > end {
                let style = NUMBER.anchored(Anchor::Middle);
                drawing.text(Point::new(x, area.y1 + 18.0), &text, style);
                end = x + half + 4.0;
            }
        }
        let frame = rectangle(area).set("fill", "none").set("stroke", FAINT);
        drawing.add(frame.set("stroke-width", 0.8));
        if !self.y.heading.is_empty() {
            let at = Point::new(area.x0 - LEFT + 6.0, area.y0 - 9.0);
            drawing.text(at, &self.y.heading, TextStyle::new(12.0));
        }
        if numbers && !self.x.heading.is_empty() {
            let style = TextStyle::new(12.0).anchored(Anchor::End);
            drawing.text(Point::new(area.x1, area.y1 + 36.0), &self.x.heading, style);
        }
    }

    /// A line through points.
    pub fn line(&self, drawing: &mut Drawing, points: &[(f64, f64)], colour: &str, width: f64) {
        let data = path_data(points.iter().map(|p| self.pixel(*p)), false);
        let path = Path::new().set("d", data).set("fill", "none").set("stroke", colour);
        drawing.add(path.set("stroke-width", width).set("stroke-linejoin", "round"));
    }

    /// The area between two lines with the same x.
    pub fn band(&self, drawing: &mut Drawing, rows: &[(f64, [f64; 2])], fill: &str, opacity: f64) {
        let upper = rows.iter().map(|(x, [_, high])| self.pixel((*x, *high)));
        let lower = rows.iter().rev().map(|(x, [low, _])| self.pixel((*x, *low)));
        let data = path_data(upper.chain(lower), true);
        drawing.add(Path::new().set("d", data).set("fill", fill).set("fill-opacity", opacity));
    }

    /// The rectangle between two values each way: a bar, a range. Without ends it reaches to the
    /// plot's edges.
    pub fn block(
        &self,
        drawing: &mut Drawing,
        x: Option<[f64; 2]>,
        y: Option<[f64; 2]>,
        fill: &str,
    ) {
        let (x0, x1) = x.map_or((self.area.x0, self.area.x1), |[a, b]| {
            let (a, b) = (self.across(a), self.across(b));
            (a.min(b), a.max(b))
        });
        let (y0, y1) = y.map_or((self.area.y0, self.area.y1), |[a, b]| {
            let (a, b) = (self.up(a), self.up(b));
            (a.min(b), a.max(b))
        });
        let area = Rect::new(x0, y0, x1, y1);
        if area.width() > 0.0 && area.height() > 0.0 {
            drawing.add(rectangle(area).set("fill", fill.to_owned()));
        }
    }

    /// A dashed line across the plot at a value; nothing if it lies outside.
    pub fn level(&self, drawing: &mut Drawing, y: f64, colour: &str) {
        if self.y.holds(y) {
            let at = self.up(y);
            let ends = line(Point::new(self.area.x0, at), Point::new(self.area.x1, at));
            let dashes = ends.set("stroke", colour).set("stroke-dasharray", "6 4");
            drawing.add(dashes.set("stroke-width", 1.5));
        }
    }

    /// A dashed line up the plot at a value; nothing if it lies outside.
    pub fn upright(&self, drawing: &mut Drawing, x: f64, colour: &str) {
        if self.x.holds(x) {
            let at = self.across(x);
            let ends = line(Point::new(at, self.area.y0), Point::new(at, self.area.y1));
            let dashes = ends.set("stroke", colour).set("stroke-dasharray", "3 3");
            drawing.add(dashes.set("stroke-width", 1));
        }
    }

    /// A dot for each point.
    pub fn dots(&self, drawing: &mut Drawing, points: &[(f64, f64)], radius: f64, fill: &str) {
        for p in points {
            let at = self.pixel(*p);
            let dot = Circle::new().set("cx", rounded(at.x)).set("cy", rounded(at.y));
            let dot = dot.set("r", radius).set("fill", fill.to_owned());
            drawing.add(dot.set("stroke", INK).set("stroke-width", 0.8));
        }
    }
}

fn thin(from: Point, to: Point, colour: &str) -> svg::node::element::Line {
    line(from, to).set("stroke", colour.to_owned()).set("stroke-width", 0.8)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plot(x: Axis, y: Axis) -> Plot {
        Plot { area: Rect::new(60.0, 30.0, 560.0, 330.0), x, y }
    }

    #[test]
    fn values_outside_stay_at_the_edge() {
        let plot = plot(Axis::linear(0.0, 10.0, "s (mm)"), Axis::linear(0.0, 5.0, "µm"));
        assert_eq!(plot.pixel((-3.0, 9.0)), Point::new(60.0, 30.0));
        assert_eq!(plot.pixel((5.0, 2.5)), Point::new(310.0, 180.0));
    }

    #[test]
    fn no_number_covers_another_or_leaves_the_page() {
        let long: Vec<String> = (0..12).map(|k| format!("a long name {k}")).collect();
        let axes = [
            (Axis::linear(0.0, 1234.0, "mm"), Axis::linear(-3.0, 7.5, "µm")),
            (Axis::logarithmic(0.3, 4000.0, "A"), Axis::logarithmic(0.011, 90.0, "µm")),
            (Axis::names(long, "what"), Axis::linear(0.0, 1e-6, "m")),
            (Axis::linear(2.0, 2.0, ""), Axis::linear(f64::NAN, 1.0, "")),
        ];
        for (x, y) in axes {
            let mut drawing = Drawing::new(620.0, 380.0);
            plot(x, y).frame(&mut drawing, true);
            let page = Rect::new(0.0, 0.0, 620.0, 380.0);
            for (i, text) in drawing.texts().iter().enumerate() {
                assert!(page.contains_rect(text.area), "{text:?} is cut");
                for other in &drawing.texts()[..i] {
                    let hit = super::super::labels::overlap(text.area, other.area);
                    assert!(!hit, "{text:?} covers {other:?}");
                }
            }
        }
    }
}
