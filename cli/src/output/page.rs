//! The frame round every picture: title, axes with units, length scale, notes at the foot.

use shapes::{Point, Rect};
use solver::Symmetry;

use super::drawing::{Anchor, Drawing, FAINT, INK, TextStyle, line};
use super::font::{self, Weight};
use super::format::{DisplayUnits, trimmed};
use super::scale::{linear_ticks, nice_below};

/// Words round a picture.
#[derive(Debug, Clone, Default)]
pub struct Words {
    /// The job's title.
    pub title: String,
    /// What is shown, under the title.
    pub subtitle: String,
    /// Lines at the foot: uncertainty, assumptions.
    pub notes: Vec<String>,
    /// How large the picture is.
    pub size: Size,
}

/// How large a picture is, and who says what it shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Size {
    /// A page of its own.
    #[default]
    Sheet,
    /// Small, without title and notes: a figure in a text that says them, printed at half the
    /// width of its letters on a sheet.
    Figure,
}

impl Words {
    /// The same for a picture of another size.
    pub fn sized(self, size: Size) -> Self {
        match size {
            Size::Sheet => self,
            Size::Figure => {
                Self { title: String::new(), subtitle: String::new(), notes: Vec::new(), size }
            }
        }
    }
}

/// From metres in the tank to pixels on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Part of the tank that is shown, m.
    pub world: Rect,
    /// Pixels that it covers.
    pub area: Rect,
    /// Pixels per metre.
    pub scale: f64,
}

impl View {
    /// `world` as large as it goes in the middle of `room`.
    pub fn fit(world: Rect, room: Rect) -> Self {
        let scale = (room.width() / world.width()).min(room.height() / world.height());
        let size = world.size() * scale;
        let corner = room.center() - size.to_vec2() / 2.0;
        Self { world, area: Rect::from_origin_size(corner, size), scale }
    }

    /// Where a place of the tank is on the page.
    pub fn pixel(&self, p: Point) -> Point {
        Point::new(
            self.area.x0 + (p.x - self.world.x0) * self.scale,
            self.area.y0 + (self.world.y1 - p.y) * self.scale,
        )
    }

    /// Which place of the tank is at a pixel.
    pub fn place(&self, pixel: Point) -> Point {
        Point::new(
            self.world.x0 + (pixel.x - self.area.x0) / self.scale,
            self.world.y1 - (pixel.y - self.area.y0) / self.scale,
        )
    }
}

/// A page with its frame drawn, ready for the content.
#[derive(Debug)]
pub struct Page {
    /// The drawing so far.
    pub drawing: Drawing,
    /// How the tank maps onto the page.
    pub view: View,
    /// Room for the picture and its labels, pixels; at least as large as the view.
    pub room: Rect,
    /// Room for colour bar and legend, pixels.
    pub panel: Rect,
}

const MARGIN: f64 = 24.0;
/// Room for numbers left of the picture.
const AXIS_LEFT: f64 = 50.0;
/// Room for numbers, unit and length scale below it.
const AXIS_BELOW: f64 = 58.0;
const PANEL: f64 = 200.0;
const GAP: f64 = 22.0;
/// Picture at most so large, so that a page fits a screen.
const LARGEST: (f64, f64) = (900.0, 640.0);
/// Room at least so large: narrow tanks still need space for names beside them.
const SMALLEST: (f64, f64) = (460.0, 320.0);
/// The same for figures.
const LARGEST_FIGURE: (f64, f64) = (560.0, 400.0);
const SMALLEST_FIGURE: (f64, f64) = (460.0, 280.0);
/// The same for a picture that fills its room: sentences stand beside narrow parts.
const SMALLEST_FILLED: (f64, f64) = (680.0, 420.0);
const TITLE: TextStyle = TextStyle::new(21.0).bold();
const SUBTITLE: TextStyle = TextStyle::new(13.5).coloured(FAINT);
const NOTE: TextStyle = TextStyle::new(12.0).coloured(FAINT);
/// Numbers along axes and bars.
pub const NUMBER: TextStyle = TextStyle::new(11.5).coloured(FAINT);

impl Page {
    /// Lays out a page that shows `world` (m) with `panel_height` pixels of legend beside it.
    pub fn new(words: &Words, world: Rect, panel_height: f64) -> Self {
        let smallest = match words.size {
            Size::Sheet => SMALLEST,
            Size::Figure => SMALLEST_FIGURE,
        };
        Self::at_least(smallest, words, world, panel_height)
    }

    fn at_least(smallest: (f64, f64), words: &Words, world: Rect, panel_height: f64) -> Self {
        let fitted = View::fit(world, Self::largest_room(words.size)).area;
        let size = (fitted.width().max(smallest.0), fitted.height().max(smallest.1));
        let (drawing, room, panel) = sheet(words, size, AXIS_LEFT, panel_height);
        Self { drawing, view: View::fit(world, room), room, panel }
    }

    /// As [`Page::new`], showing as much round `world` as the room holds.
    pub fn filled(words: &Words, world: Rect, panel_height: f64) -> Self {
        let smallest = match words.size {
            Size::Sheet => SMALLEST_FILLED,
            Size::Figure => SMALLEST_FIGURE,
        };
        let mut page = Self::at_least(smallest, words, world, panel_height);
        let size = page.room.size() / page.view.scale;
        let world = Rect::from_center_size(world.center(), size);
        page.view = View { world, area: page.room, scale: page.view.scale };
        page
    }

    /// The largest room that a page gives to a picture, pixels.
    pub fn largest_room(size: Size) -> Rect {
        let largest = match size {
            Size::Sheet => LARGEST,
            Size::Figure => LARGEST_FIGURE,
        };
        Rect::from_origin_size(Point::ORIGIN, largest)
    }

    /// Draws numbers along the left and lower edge and a length scale; across a round section x is
    /// the radius, the same on both sides. Returns the boxes of the numbers, so that labels keep
    /// off them.
    pub fn axes(&mut self, units: DisplayUnits, symmetry: Symmetry) -> Vec<Rect> {
        let before = self.drawing.texts().len();
        let View { world, area, scale } = self.view;
        let metre = units.length_unit_m();
        let ticks = |low: f64, high: f64| {
            linear_ticks(low / metre, high / metre, (((high - low) * scale / 75.0) as usize).max(2))
        };
        let (shown, across): (fn(f64) -> f64, _) = match symmetry {
            Symmetry::Planar => (|x| x, "x →, y ↑"),
            Symmetry::Axial => (f64::abs, "radius x ↔, height y ↑"),
        };
        let columns = ticks(world.x0, world.x1);
        let decimals = decimals_of(&columns);
        for value in columns {
            let x = area.x0 + (value * metre - world.x0) * scale;
            self.drawing.add(tick(Point::new(x, area.y1), Point::new(x, area.y1 + 5.0)));
            let at = Point::new(x, area.y1 + 17.0);
            self.drawing.text(
                at,
                &trimmed(shown(value), decimals),
                NUMBER.anchored(Anchor::Middle),
            );
        }
        let rows = ticks(world.y0, world.y1);
        let decimals = decimals_of(&rows);
        for value in rows {
            let y = area.y1 - (value * metre - world.y0) * scale;
            self.drawing.add(tick(Point::new(area.x0 - 5.0, y), Point::new(area.x0, y)));
            let at = Point::new(area.x0 - 8.0, y + 4.0);
            self.drawing.text(at, &trimmed(value, decimals), NUMBER.anchored(Anchor::End));
        }
        let unit = format!("{across} ({})", units.length_unit());
        let at = Point::new(self.room.x1, self.room.y1 + 44.0);
        self.drawing.text(at, &unit, NUMBER.anchored(Anchor::End));
        // short enough to leave room for its text and the axes' unit on the same line
        let longest = (self.room.width() * 0.3).min(self.view.area.width().max(60.0));
        let from = Point::new(self.room.x0, self.room.y1 + 40.0);
        length_scale(&mut self.drawing, from, longest, scale, units);
        self.drawing.texts()[before..].iter().map(|t| t.area.inflate(2.0, 2.0)).collect()
    }
}

/// Lays out titles, notes, a room of a size for the picture and a panel beside it.
///
/// Below the room is space for numbers and a length scale.
pub fn sheet(
    words: &Words,
    size: (f64, f64),
    left: f64,
    panel_height: f64,
) -> (Drawing, Rect, Rect) {
    let margin = match words.size {
        Size::Sheet => MARGIN,
        Size::Figure => 8.0,
    };
    let width = margin + left + size.0 + GAP + PANEL + margin;
    let text_width = width - 2.0 * margin;
    let titles = font::wrap(&words.title, TITLE.size, Weight::SemiBold, text_width);
    let subtitles = font::wrap(&words.subtitle, SUBTITLE.size, Weight::Regular, text_width);
    let wrapped = |n: &String| font::wrap(n, NOTE.size, Weight::Regular, text_width);
    let notes: Vec<String> = words.notes.iter().flat_map(wrapped).collect();

    let top = margin + 26.0 * titles.len() as f64 + 19.0 * subtitles.len() as f64 + 10.0;
    let body = (size.1 + AXIS_BELOW).max(panel_height);
    let height = top + body + 17.0 * notes.len() as f64 + margin;
    let mut drawing = Drawing::new(width, height);
    drawing.describe(&words.title, &words.subtitle);
    let mut write = |lines: &[String], from: f64, up: f64, advance: f64, style: TextStyle| {
        let mut y = from;
        for text in lines {
            drawing.text(Point::new(margin, y + up), text, style);
            y += advance;
        }
        y
    };
    let y = write(&titles, margin - 4.0, 22.0, 26.0, TITLE);
    write(&subtitles, y, 17.0, 19.0, SUBTITLE);
    write(&notes, top + body + 8.0, 14.0, 17.0, NOTE);

    let room = Rect::from_origin_size(Point::new(margin + left, top), size);
    let panel = Rect::new(room.x1 + GAP, top, room.x1 + GAP + PANEL, top + body);
    (drawing, room, panel)
}

/// Draws a bar of a round length with its number and unit from `from` to the right, at most
/// `longest` pixels long.
pub fn length_scale(
    drawing: &mut Drawing,
    from: Point,
    longest: f64,
    scale: f64,
    units: DisplayUnits,
) {
    let metre = units.length_unit_m();
    let length = nice_below(longest / scale / metre);
    let to = from + (length * metre * scale, 0.0);
    let heavy = |l: svg::node::element::Line| l.set("stroke", INK).set("stroke-width", 2);
    drawing.add(heavy(line(from, to)));
    for end in [from, to] {
        drawing.add(heavy(line(end - (0.0, 5.0), end + (0.0, 5.0))));
    }
    let text = format!("{} {}", trimmed(length, 6), units.length_unit());
    drawing.text(to + (8.0, 4.0), &text, TextStyle::new(12.0));
}

fn tick(from: Point, to: Point) -> svg::node::element::Line {
    line(from, to).set("stroke", FAINT).set("stroke-width", 1)
}

/// Decimals that tell neighbouring ticks apart.
fn decimals_of(ticks: &[f64]) -> usize {
    let step = match ticks {
        [a, b, ..] => b - a,
        _ => 1.0,
    };
    if step > 0.0 { (-step.log10().floor()).clamp(0.0, 9.0) as usize } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_and_its_pixel_belong_together() {
        let view = View::fit(Rect::new(0.0, 0.0, 0.6, 0.4), Rect::new(50.0, 20.0, 950.0, 620.0));
        assert_eq!(view.pixel(Point::new(0.0, 0.4)), Point::new(50.0, 20.0));
        let p = Point::new(0.123, 0.321);
        assert!((view.place(view.pixel(p)) - p).hypot() < 1e-15);
    }

    /// 50 mm to 3 m, upright, flat and square: everything written stays on the page.
    #[test]
    fn titles_numbers_and_notes_stay_on_the_page() {
        for (w, h) in [(0.05, 0.05), (3.0, 0.3), (0.3, 3.0), (0.6, 0.4), (0.001, 0.9)] {
            for units in [DisplayUnits::Metric, DisplayUnits::Us] {
                let words = Words {
                    title: "A long title that says which part hangs where and in which bath it is plated, twice over".into(),
                    subtitle: "Current density".into(),
                    notes: vec!["A note. ".repeat(40)],
                    size: Size::Sheet,
                };
                let mut page = Page::new(&words, Rect::new(0.0, 0.0, w, h), 100.0);
                page.axes(units, Symmetry::Planar);
                let sheet = Rect::new(0.0, 0.0, page.drawing.width, page.drawing.height);
                for text in page.drawing.texts() {
                    let whole = sheet.intersect(text.area);
                    assert!(
                        (whole.area() - text.area.area()).abs() < 1e-9,
                        "{text:?} leaves {sheet:?}"
                    );
                }
            }
        }
    }
}
