//! Two variables: what is aimed for as a map of cells, the best over all other variables.

use shapes::{Point, Rect};
use svg::node::element::Pattern;

use super::{Aim, Axis, Row, Status, Swept, heading};
use crate::output::chart::{self, LEFT, Plot};
use crate::output::drawing::{Anchor, Drawing, INK, TextStyle, line, rectangle};
use crate::output::font::{self, Weight};
use crate::output::format::three;
use crate::output::legend;
use crate::output::map::COLOURS;
use crate::output::scale::{Scale, hex};

/// Ids of the hatchings.
const BLOCKED: &str = "no-layout";
const WORTHLESS: &str = "burns-or-bare";

const TOP: f64 = 112.0;
const MAP: (f64, f64) = (540.0, 420.0);
const PANEL: f64 = 230.0;

/// What a cell of the map holds.
enum Cell<'s> {
    /// No combination was tried.
    Empty,
    /// No combination makes a layout that can be solved.
    Blocked,
    /// All burn or leave a significant place bare.
    Worthless,
    /// The best.
    Worth(f64, &'s Row),
}

/// The map of axes `pair`: the first level, the second upright.
pub fn drawing(swept: &Swept, pair: [usize; 2]) -> Drawing {
    let aim = swept.aim();
    let (Some(a), Some(b)) = (swept.axes.get(pair[0]), swept.axes.get(pair[1])) else {
        return Drawing::new(1.0, 1.0);
    };
    let cells = cells(swept, pair, (a, b), aim);
    let worth = |cell: &Cell| match cell {
        Cell::Worth(value, _) => Some(*value),
        _ => None,
    };
    let values: Vec<f64> = cells.iter().filter_map(worth).collect();
    let greatest = values.iter().copied().fold(0.0, f64::max);
    let (unit, factor) = swept.shown(aim.figure.dimension(), greatest);
    let scale = scale(&values).times(factor);

    let label = |axis: &Axis, k: usize| axis.value_text(axis.bins[k]);
    let widest = (0..b.bins.len()).map(|k| font::width(&label(b, k), 11.5, Weight::Regular));
    let left = 24.0 + widest.fold(LEFT, |w, t| f64::max(w, t + 14.0));
    let area = Rect::new(left, TOP, left + MAP.0, TOP + MAP.1);
    let width = area.x1 + 36.0 + PANEL;
    let mut page = Drawing::new(width, area.y1 + 66.0);
    let title = font::shorten(swept.title, 18.0, Weight::SemiBold, width - 48.0);
    page.text(Point::new(24.0, 32.0), &title, TextStyle::new(18.0).bold());
    let subtitle = subtitle(swept, pair, aim);
    let short = font::shorten(&subtitle, 14.0, Weight::Regular, width - 48.0);
    page.text(Point::new(24.0, 56.0), &short, TextStyle::new(14.0));
    page.describe(swept.title, &subtitle);
    hatchings(&mut page);

    let plot = Plot {
        area,
        x: chart::Axis::names(labels(a, MAP.0 / 44.0), &a.heading()),
        y: chart::Axis::names(labels(b, MAP.1 / 16.0), &b.heading()),
    };
    plot.frame(&mut page, true);
    let best = swept.best().first().map(|row| row.number);
    let mut frame = None;
    for (k, cell) in cells.iter().enumerate() {
        let (i, j) = (k % a.bins.len(), k / a.bins.len());
        let (x, y) = (i as f64, j as f64);
        let box_of = Rect::new(plot.across(x), plot.up(y + 1.0), plot.across(x + 1.0), plot.up(y));
        match cell {
            Cell::Empty => page.add(rectangle(box_of).set("fill", "#ffffff")),
            Cell::Blocked => page.add(rectangle(box_of).set("fill", format!("url(#{BLOCKED})"))),
            Cell::Worthless => {
                page.add(rectangle(box_of).set("fill", format!("url(#{WORTHLESS})")))
            }
            Cell::Worth(value, row) => {
                let share = scale.fraction(factor * value);
                page.add(rectangle(box_of).set("fill", hex(COLOURS, share)));
                let text = three(factor * value);
                let size = if box_of.width() > 52.0 { 12.0 } else { 10.5 };
                if font::width(&text, size, Weight::Regular) + 6.0 < box_of.width()
                    && box_of.height() > 15.0
                {
                    let fill = if share < 0.6 { "#ffffff" } else { INK };
                    let style = TextStyle::new(size).coloured(fill).anchored(Anchor::Middle);
                    page.text(box_of.center() + shapes::Vec2::new(0.0, 4.0), &text, style);
                }
                if Some(row.number) == best {
                    frame = Some(box_of);
                }
            }
        }
    }
    if let Some(frame) = frame {
        for (colour, stroke) in [("#ffffff", 5.0), (MARK, 2.6)] {
            let mark = rectangle(frame.inset(-1.0)).set("fill", "none");
            page.add(mark.set("stroke", colour).set("stroke-width", stroke));
        }
    }
    let outline = rectangle(area).set("fill", "none").set("stroke", INK);
    page.add(outline.set("stroke-width", 0.8));
    let panel = Rect::new(area.x1 + 30.0, area.y0, width - 12.0, area.y1);
    let foot = key(&mut page, swept, (panel, &scale), &heading(aim.figure, unit), &cells, factor);
    page.height = page.height.max(foot + 12.0);
    page.trim_foot();
    page
}

/// Every value within the colours, the best and the worst at their ends; ratios where they span much.
fn scale(values: &[f64]) -> Scale {
    let ends = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(*v), high.max(*v)));
    match ends {
        (low, high) if low < high => {
            Scale { logarithmic: low > 0.0 && high > WIDE * low, ..Scale::between(low, high) }
        }
        (same, _) if same.is_finite() => {
            Scale::between(same - 0.5 * same.abs(), same + same.abs().max(1e-9))
        }
        _ => Scale::between(0.0, 1.0),
    }
}

/// Greatest over least value from which colours follow ratios.
const WIDE: f64 = 8.0;

/// Frame of the best cell: red stands out from every colour of the map.
const MARK: &str = "#d01c1c";

fn subtitle(swept: &Swept, pair: [usize; 2], aim: Aim) -> String {
    let others = swept.axes.iter().enumerate().filter(|(k, _)| !pair.contains(k));
    let others: Vec<&str> = others.map(|(_, axis)| axis.name.as_str()).collect();
    let what = aim.figure.words();
    let what =
        if aim.all { format!("{what} (every one burns or stays bare)") } else { what.into() };
    let binned = pair.iter().any(|k| swept.axes.get(*k).is_some_and(|a| a.binned));
    match (others.is_empty(), binned) {
        (true, false) => format!("{what}, all else as drawn"),
        (true, true) => format!("{what}: the best in each cell, all else as drawn"),
        (false, _) => format!("{what}: the best over {}", others.join(", ")),
    }
}

fn cells<'s>(
    swept: &'s Swept,
    pair: [usize; 2],
    (a, b): (&Axis, &Axis),
    aim: Aim,
) -> Vec<Cell<'s>> {
    let mut out: Vec<Cell<'s>> = Vec::new();
    out.resize_with(a.bins.len() * b.bins.len(), || Cell::Empty);
    for row in &swept.rows {
        let at = |axis: &Axis, k: usize| row.values.get(k).map(|v| axis.bin(*v));
        let (Some(i), Some(j)) = (at(a, pair[0]), at(b, pair[1])) else { continue };
        let Some(cell) = out.get_mut(j * a.bins.len() + i) else { continue };
        match swept.worth(row, aim) {
            Some(worth) => {
                let better = match cell {
                    Cell::Worth(value, _) => {
                        (worth.value < *value) == aim.less && worth.value != *value
                    }
                    _ => true,
                };
                if better {
                    *cell = Cell::Worth(worth.value, row);
                }
            }
            None if row.status == Status::Solved => {
                if matches!(cell, Cell::Empty | Cell::Blocked) {
                    *cell = Cell::Worthless;
                }
            }
            None => {
                if matches!(cell, Cell::Empty) {
                    *cell = Cell::Blocked;
                }
            }
        }
    }
    out
}

/// One label for each cell; where there is no room for all, every so many.
fn labels(axis: &Axis, room: f64) -> Vec<String> {
    let every = (axis.bins.len() as f64 / room).ceil().max(1.0) as usize;
    let bins = axis.bins.iter().enumerate();
    let text =
        |(k, v): (usize, &f64)| if k % every == 0 { axis.value_text(*v) } else { String::new() };
    bins.map(text).collect()
}

fn hatchings(page: &mut Drawing) {
    let stroke = |from: (f64, f64), to: (f64, f64), colour: &str| {
        line(Point::new(from.0, from.1), Point::new(to.0, to.1))
            .set("stroke", colour)
            .set("stroke-width", 1.2)
    };
    for (id, ground, colour, rising) in
        [(BLOCKED, "#efefef", "#8a8a8a", true), (WORTHLESS, "#fbeee2", "#c2702a", false)]
    {
        let mut pattern = Pattern::new()
            .set("id", id)
            .set("patternUnits", "userSpaceOnUse")
            .set("width", 8)
            .set("height", 8)
            .add(rectangle(Rect::new(0.0, 0.0, 8.0, 8.0)).set("fill", ground));
        for shift in [-8.0, 0.0, 8.0] {
            let (from, to) = match rising {
                true => ((shift - 1.0, 9.0), (shift + 9.0, -1.0)),
                false => ((shift - 1.0, -1.0), (shift + 9.0, 9.0)),
            };
            pattern = pattern.add(stroke(from, to, colour));
        }
        page.define(pattern);
    }
}

/// Colours, signs and words at the right; returns where they end.
fn key(
    page: &mut Drawing,
    swept: &Swept,
    (panel, scale): (Rect, &Scale),
    what: &str,
    cells: &[Cell<'_>],
    factor: f64,
) -> f64 {
    let mut y = panel.y0 - 12.0;
    if cells.iter().any(|c| matches!(c, Cell::Worth(..))) {
        let lines = font::wrap(what, 12.5, Weight::SemiBold, panel.width());
        let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
        y = legend::colour_bar(page, panel, y, &lines, scale, COLOURS).0;
    }
    let mut row = |fill: String, stroke: Option<&str>, text: &str| {
        let swatch = Rect::new(panel.x0, y, panel.x0 + 28.0, y + 15.0);
        let sign = rectangle(swatch).set("fill", fill).set("stroke", stroke.unwrap_or(INK));
        page.add(sign.set("stroke-width", if stroke.is_some() { 2.6 } else { 0.6 }));
        y = legend::words(page, panel, y, text) + 4.0;
    };
    if let Some(best) = swept.best().first() {
        let worth = swept.worth(best, swept.aim()).map_or(0.0, |m| m.value);
        let values = swept.axes.iter().zip(&best.values);
        let values = values.map(|(axis, v)| format!("{} {}", axis.name, axis.value_words(*v)));
        let text = format!(
            "{}: {} at {}",
            if swept.aim().all { "least of all" } else { "best of all" },
            three(factor * worth),
            values.collect::<Vec<_>>().join(", ")
        );
        row("none".into(), Some(MARK), &text);
    }
    if cells.iter().any(|c| matches!(c, Cell::Worthless)) {
        let text = "more than 1 % of the surface burns, or a significant place stays bare";
        row(format!("url(#{WORTHLESS})"), None, text);
    }
    if cells.iter().any(|c| matches!(c, Cell::Blocked)) {
        let reasons = swept.obstacles();
        let said: Vec<String> =
            reasons.iter().take(3).map(|(reason, count)| format!("{reason} ({count})")).collect();
        let more = if reasons.len() > 3 { "; others in the table" } else { "" };
        row(format!("url(#{BLOCKED})"), None, &format!("no answer: {}{more}", said.join("; ")));
    }
    if cells.iter().any(|c| matches!(c, Cell::Empty)) {
        row("#ffffff".into(), None, "not tried");
    }
    y
}
