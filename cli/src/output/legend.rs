//! The panel beside a picture: colour bar with unit, and what each pattern means.

use colorous::Gradient;
use shapes::{Point, Rect};
use solver::Role;

use super::bodies::{filled, legend_words};
use super::drawing::{Drawing, FAINT, INK, Raster, TextStyle, line, path_data, rectangle};
use super::font::{self, Weight};
use super::format::three;
use super::page::NUMBER;
use super::scale::{Scale, rgb};

/// Pixels of a colour bar from end to end.
const BAR: f64 = 210.0;
const BAR_WIDTH: f64 = 20.0;
const ROW: f64 = 22.0;
const HEADING: TextStyle = TextStyle::new(12.5).bold();

/// Height of a panel with these contents, pixels.
pub fn height(roles: usize, bars: usize, extra_lines: usize) -> f64 {
    bars as f64 * (BAR + 52.0) + (roles + extra_lines) as f64 * ROW + 50.0
}

/// Draws a colour bar with its heading from `top` down; returns where it ends and the bar's box.
///
/// `scale` is in the units of the heading. Values beyond the ends show as ≤ and ≥.
pub fn colour_bar(
    drawing: &mut Drawing,
    panel: Rect,
    top: f64,
    heading: &[&str],
    scale: &Scale,
    map: Gradient,
) -> (f64, Rect) {
    let mut y = top;
    for text in heading {
        y += 15.0;
        drawing.text(Point::new(panel.x0, y), text, HEADING);
        y += 2.0;
    }
    y += 14.0;
    let bar = Rect::new(panel.x0, y, panel.x0 + BAR_WIDTH, y + BAR);
    let rows = BAR as usize;
    let rgba = (0..rows)
        .flat_map(|k| {
            let [r, g, b] = rgb(map, 1.0 - (k as f64 + 0.5) / rows as f64);
            [r, g, b, 255]
        })
        .collect();
    drawing.raster(Raster { area: bar, columns: 1, rows, rgba });
    drawing.add(rectangle(bar).set("fill", "none").set("stroke", INK).set("stroke-width", 0.8));
    let mut mark = |value: f64, text: &str, style: TextStyle| {
        let y = bar.y1 - scale.fraction(value) * BAR;
        drawing.add(line(Point::new(bar.x1, y), Point::new(bar.x1 + 5.0, y)).set("stroke", FAINT));
        drawing.text(Point::new(bar.x1 + 9.0, y + 4.0), text, style);
        y
    };
    let low = format!("{}{}", if scale.more_below { "≤ " } else { "" }, three(scale.low));
    let high = format!("{}{}", if scale.more_above { "≥ " } else { "" }, three(scale.high));
    let ends = [
        mark(scale.low, &low, NUMBER.coloured(INK)),
        mark(scale.high, &high, NUMBER.coloured(INK)),
    ];
    let mut last = f64::INFINITY;
    for value in scale.ticks(5) {
        let y = bar.y1 - scale.fraction(value) * BAR;
        if ends.iter().all(|e| (e - y).abs() > 15.0) && (last - y).abs() > 15.0 {
            mark(value, &tick_text(value), NUMBER);
            last = y;
        }
    }
    (bar.y1 + 16.0, bar)
}

/// Round numbers need no trailing zeros.
fn tick_text(value: f64) -> String {
    if value.abs() >= 1e7 || (value != 0.0 && value.abs() < 1e-4) {
        return three(value);
    }
    super::format::trimmed(value, 6)
}

/// Draws a swatch and a word for each role from `top` down; returns where it ends.
pub fn roles(drawing: &mut Drawing, panel: Rect, top: f64, roles: &[Role]) -> f64 {
    let mut y = top;
    for role in roles {
        let swatch = Rect::new(panel.x0, y, panel.x0 + 28.0, y + 15.0);
        let corners = [
            (swatch.x0, swatch.y0),
            (swatch.x1, swatch.y0),
            (swatch.x1, swatch.y1),
            (swatch.x0, swatch.y1),
        ];
        drawing.add(filled(*role, path_data(corners.map(|(x, y)| Point::new(x, y)), true)));
        y = words(drawing, panel, y, legend_words(*role));
    }
    y
}

/// Writes the meaning of a sign drawn at the left of a row; returns where the row ends.
pub fn words(drawing: &mut Drawing, panel: Rect, top: f64, text: &str) -> f64 {
    let style = TextStyle::new(12.0);
    let left = panel.x0 + 36.0;
    let mut y = top + 12.0;
    for line in font::wrap(text, style.size, Weight::Regular, panel.x1 - left) {
        drawing.text(Point::new(left, y), &line, style);
        y += 15.0;
    }
    (y - 12.0).max(top) + ROW - 15.0
}
