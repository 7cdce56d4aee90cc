//! One variable: the main figures against it, one panel over the other.

use shapes::{Point, Rect};
use solver::plan::{BURNING_SHARE, Figure};

use super::{Axis, Row, Status, Swept, heading};
use crate::output::chart::{self, BELOW, LEFT, Plot};
use crate::output::drawing::{Anchor, Drawing, FAINT, TextStyle};
use crate::output::font::{self, Weight};

/// Figures that share a panel, with their colours; nothing is drawn of what is not known.
const PANELS: [&[(Figure, &str)]; 5] = [
    &[(Figure::TimeToWanted, BLUE)],
    &[(Figure::Greatest, ORANGE), (Figure::Mean, GREEN), (Figure::Least, BLUE)],
    &[(Figure::Wasted, BLUE)],
    &[(Figure::Burning, ORANGE), (Figure::Bare, BLUE)],
    &[(Figure::Voltage, BLUE)],
];
// three colours that colour-blind eyes and grey print tell apart
const BLUE: &str = "#1f5aa6";
const ORANGE: &str = "#d9822b";
const GREEN: &str = "#5f9e6e";
const WANTED: &str = "#b02a2a";
const SHADE: &str = "#e4e4e4";

const WIDTH: f64 = 860.0;
const HEIGHT: f64 = 150.0;
const GAP: f64 = 34.0;
const TOP: f64 = 92.0;
const SMALL: TextStyle = TextStyle::new(12.0);

/// The chart.
pub fn drawing(swept: &Swept) -> Drawing {
    let Some(axis) = swept.axes.first() else { return Drawing::new(1.0, 1.0) };
    let known = |figure: Figure| swept.rows.iter().any(|row| row.figure(figure).is_some());
    let panels: Vec<Vec<(Figure, &'static str)>> = PANELS
        .iter()
        .map(|all| all.iter().copied().filter(|(figure, _)| known(*figure)).collect::<Vec<_>>())
        .filter(|panel| !panel.is_empty())
        .collect();
    let notes = notes(swept, axis);
    let bottom = TOP + panels.len() as f64 * (HEIGHT + GAP) - GAP;
    let foot = bottom + BELOW + 12.0;
    let mut page = Drawing::new(WIDTH, foot + 20.0 * notes.len() as f64 + 12.0);
    let title = font::shorten(swept.title, 18.0, Weight::SemiBold, WIDTH - 48.0);
    page.text(Point::new(24.0, 32.0), &title, TextStyle::new(18.0).bold());
    let subtitle = format!("{} varied, all else as drawn", axis.name);
    page.text(Point::new(24.0, 56.0), &subtitle, TextStyle::new(14.0));
    page.describe(swept.title, &subtitle);
    let x = level(axis, swept);
    for (k, panel) in panels.iter().enumerate() {
        let top = TOP + k as f64 * (HEIGHT + GAP);
        let area = Rect::new(24.0 + LEFT, top, WIDTH - 24.0, top + HEIGHT);
        one_panel(&mut page, swept, axis, (area, &x), panel, k + 1 == panels.len());
    }
    for (k, note) in notes.iter().enumerate() {
        let text = font::shorten(note, SMALL.size, Weight::Regular, WIDTH - 48.0);
        page.text(Point::new(24.0, foot + 14.0 + 20.0 * k as f64), &text, SMALL.coloured(FAINT));
    }
    page
}

fn level(axis: &Axis, swept: &Swept) -> chart::Axis {
    if !axis.words.is_empty() {
        return chart::Axis::names(axis.words.clone(), &axis.name);
    }
    let values = swept.rows.iter().filter_map(|row| row.values.first().copied());
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let shown = axis.heading();
    match axis.logarithmic {
        true => chart::Axis::logarithmic(low, high, &shown),
        false => chart::Axis::linear(low, high, &shown),
    }
}

fn one_panel(
    page: &mut Drawing,
    swept: &Swept,
    axis: &Axis,
    (area, x): (Rect, &chart::Axis),
    panel: &[(Figure, &'static str)],
    last: bool,
) {
    let Some(&(first, _)) = panel.first() else { return };
    let place = |row: &Row| {
        let value = row.values.first().copied().unwrap_or(0.0);
        if axis.words.is_empty() { value } else { value + 0.5 }
    };
    let all =
        panel.iter().flat_map(|(figure, _)| swept.rows.iter().filter_map(|r| r.figure(*figure)));
    let ends = all.clone().map(|m| [m.value - m.doubt, m.value + m.doubt]);
    let (mut low, mut high) =
        ends.fold((f64::INFINITY, 0.0_f64), |(l, h), [a, b]| (l.min(a), h.max(b)));
    let (unit, factor) = swept.shown(first.dimension(), high);
    let thickness = panel.iter().any(|(figure, _)| *figure == Figure::Least);
    let levels: Vec<f64> = match thickness {
        true => swept.wanted_m.iter().flatten().copied().collect(),
        false if first == Figure::Burning => vec![BURNING_SHARE],
        false => Vec::new(),
    };
    for level in &levels {
        (low, high) = (low.min(*level), high.max(*level));
    }
    let name = match thickness {
        true => format!("Thickness on the significant surface ({unit})"),
        false if panel.len() > 1 => format!("Share of the parts' surface ({unit})"),
        false => heading(first, unit),
    };
    let y = chart::Axis::fitting(factor * low, factor * high.max(1e-12), &name);
    let plot = Plot { area, x: x.clone(), y };
    shade(page, swept, &plot, &place);
    plot.frame(page, last);
    for (figure, colour) in panel {
        let rows = swept.rows.iter().filter_map(|row| Some((place(row), row.figure(*figure)?)));
        let mut rows: Vec<_> = rows.collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        // a gap in the values is a gap in the line
        for run in runs(swept, &rows, &place, axis) {
            let band = run
                .iter()
                .map(|(x, m)| (*x, [factor * (m.value - m.doubt), factor * (m.value + m.doubt)]));
            plot.band(page, &band.collect::<Vec<_>>(), colour, 0.25);
            let line: Vec<(f64, f64)> = run.iter().map(|(x, m)| (*x, factor * m.value)).collect();
            plot.line(page, &line, colour, 1.8);
        }
        if rows.len() <= 60 {
            let dots: Vec<(f64, f64)> = rows.iter().map(|(x, m)| (*x, factor * m.value)).collect();
            plot.dots(page, &dots, 2.6, colour);
        }
    }
    for level in levels {
        plot.level(page, factor * level, WANTED);
    }
    if let Some(stated) = axis.stated {
        let at = if axis.words.is_empty() { stated } else { stated + 0.5 };
        plot.upright(page, at, FAINT);
    }
    names(page, area, panel);
}

/// Names of several figures in their colours, at the right of the panel's heading.
fn names(page: &mut Drawing, area: Rect, panel: &[(Figure, &'static str)]) {
    if panel.len() < 2 {
        return;
    }
    let mut right = area.x1;
    for (figure, colour) in panel.iter().rev() {
        let word = match figure {
            Figure::Burning => "burns",
            Figure::Bare => "stays bare",
            other => other.name(),
        };
        let style = SMALL.bold().coloured(colour).anchored(Anchor::End);
        page.text(Point::new(right, area.y0 - 9.0), word, style);
        right -= font::width(word, SMALL.size, Weight::SemiBold) + 16.0;
    }
}

type Measures = Vec<(f64, solver::plan::Measured)>;

/// The rows in stretches without an unsolved combination between them; of choices no two hang together.
fn runs(swept: &Swept, rows: &Measures, place: &dyn Fn(&Row) -> f64, axis: &Axis) -> Vec<Measures> {
    if !axis.words.is_empty() {
        return Vec::new();
    }
    let gaps: Vec<f64> =
        swept.rows.iter().filter(|r| r.status != Status::Solved).map(place).collect();
    let mut out: Vec<Measures> = Vec::new();
    for row in rows {
        let joined = out
            .last()
            .and_then(|run| run.last())
            .is_some_and(|before| !gaps.iter().any(|gap| *gap > before.0 && *gap < row.0));
        match out.last_mut().filter(|_| joined) {
            Some(run) => run.push(*row),
            None => out.push(vec![*row]),
        }
    }
    out
}

/// Grey where there is no answer.
fn shade(page: &mut Drawing, swept: &Swept, plot: &Plot, place: &dyn Fn(&Row) -> f64) {
    let mut all: Vec<(f64, bool)> =
        swept.rows.iter().map(|row| (place(row), row.status == Status::Solved)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (k, (x, solved)) in all.iter().enumerate() {
        if *solved {
            continue;
        }
        let half = |other: Option<&(f64, bool)>| other.map_or(*x, |o| 0.5 * (x + o.0));
        let before = half(k.checked_sub(1).and_then(|k| all.get(k)));
        plot.block(page, Some([before, half(all.get(k + 1))]), None, SHADE);
    }
}

fn notes(swept: &Swept, axis: &Axis) -> Vec<String> {
    let mut out = vec!["Bands: numerical uncertainty.".to_owned()];
    if let Some(stated) = axis.stated {
        out[0] += &format!(" Upright dashes: the job as it stands, {}.", axis.value_words(stated));
    }
    let known = |figure: Figure| swept.rows.iter().any(|r| r.figure(figure).is_some());
    let mut levels = Vec::new();
    if known(Figure::Least) && swept.wanted_m.iter().any(Option::is_some) {
        levels.push("thickness wanted or allowed");
    }
    if known(Figure::Burning) {
        levels.push("1 % of the surface, more than which must not burn");
    }
    if !levels.is_empty() {
        out.push(format!("Level dashes: {}.", levels.join("; ")));
    }
    for (reason, count) in swept.obstacles().into_iter().take(2) {
        out.push(format!("Grey, no answer ({count}): {reason}"));
    }
    out
}
