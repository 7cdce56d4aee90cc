//! Thickness (without a run: current density) along the outline of the part that stands worst, as a
//! chart that takes the page's colours.

use std::fmt::Write as _;

use solver::Stretch;

use super::measure_points::GaugePoint;
use super::points::{PlotJson, loop_starts, value};
use super::tables;
use super::{Figure, Table};
use crate::output::drawing::rounded;
use crate::output::format::trimmed;
use crate::output::places::Places;
use crate::output::scale::linear_ticks;
use crate::output::{Context, rack};

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 220.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 34.0;
const BELOW: f64 = 40.0;
/// Corner numbers stand at least this far apart, pixels.
const APART: f64 = 16.0;

/// A value and its uncertainty at a place along the outline.
struct Sample {
    u: f64,
    value: f64,
    doubt: f64,
    significant: bool,
}

/// From millimetres and shop units to pixels.
struct Axes {
    sx: f64,
    sy: f64,
}

impl Axes {
    fn x(&self, u: f64) -> f64 {
        rounded(LEFT + self.sx * u)
    }

    fn y(&self, value: f64) -> f64 {
        rounded(HEIGHT - BELOW - self.sy * value)
    }
}

/// The chart; none where no part is wetted.
pub fn profile(context: &Context, _places: &Places, gauge: &[GaugePoint]) -> Option<Figure> {
    let parts = tables::worst_first(context);
    let index = *parts.first()?;
    let body = &context.solution.bodies[index];
    let runs = runs(context, index);
    let units = context.units;
    let per_mm = units.length(1e-3);
    let wanted = |length: Option<solver::quantity::Length>| {
        length.filter(|_| context.deposit.is_some()).map(|l| units.thickness(l.si()))
    };
    let (least, most) = (wanted(context.want.min_thickness), wanted(context.want.max_thickness));
    let samples = || runs.iter().flatten();
    let top = samples().map(|s| s.value + s.doubt).chain(least).chain(most).fold(0.0, f64::max);
    let total: f64 = context.layout.bodies[index].outline.perimeter() * 1e3;
    let top = if top > 0.0 { 1.06 * top } else { 1.0 };
    let axes = Axes { sx: (WIDTH - LEFT - RIGHT) / total, sy: (HEIGHT - TOP - BELOW) / top };
    let (what, unit) = match context.deposit {
        Some(_) => ("Thickness", units.thickness_unit()),
        None => ("Current density", units.density_unit()),
    };
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{what} along the outline of the part that stands worst; the numbers are in the table below the deposit picture\">"
    );
    frame(&mut svg, &axes, total * per_mm, per_mm, top, units.length_unit());
    text(&mut svg, LEFT, TOP - 20.0, "start", "", &format!("{what} ({unit})"));
    corners(&mut svg, context, index, &axes);
    for run in &runs {
        band(&mut svg, run, &axes);
    }
    for run in &runs {
        for piece in run.chunk_by(|a, b| a.significant == b.significant) {
            let class = if piece[0].significant { "value" } else { "off" };
            let data = line(piece.iter().map(|s| (axes.x(s.u), axes.y(s.value))));
            let _ = write!(svg, "<path class=\"{class}\" d=\"{data}\" />");
        }
    }
    for (want, word) in [(least, "wanted at least"), (most, "allowed at most")] {
        if let Some(want) = want {
            let y = axes.y(want);
            let data = line([(LEFT, y), (WIDTH - RIGHT, y)].into_iter());
            let _ = write!(svg, "<path class=\"wanted\" d=\"{data}\" />");
            let label = format!("{word} {} {unit}", trimmed(want, 2));
            text(&mut svg, WIDTH - RIGHT, TOP - 20.0, "end", "want", &label);
        }
    }
    let starts = loop_starts(context, index);
    for point in gauge.iter().filter(|point| point.body == index) {
        let stretch = &body.stretches[point.row];
        let u = (starts.get(stretch.loop_index).unwrap_or(&0.0) + stretch.s_m) * 1e3;
        let (x, y) = (axes.x(u), axes.y(value(context, index, point.row).0));
        let _ = write!(
            svg,
            "<g class=\"tag\"><circle cx=\"{x}\" cy=\"{y}\" r=\"7.5\" /><text x=\"{x}\" y=\"{}\">{}</text></g>",
            rounded(y + 4.0),
            point.letter
        );
    }
    svg.push_str("</svg>");
    let marked = samples().any(|s| !s.significant);
    Some(Figure {
        id: "profile",
        // beside a rack's many cells there is no room for it on paper
        class: if parts.len() > rack::FEW { "screen" } else { "" },
        width: WIDTH,
        height: HEIGHT,
        png: None,
        svg,
        alt: String::new(),
        caption: format!(
            "{what} along the outline of {}, counter-clockwise from the start of its shape. Pale: numerical uncertainty. Dotted: corners, numbered as in the layout.{}",
            body.name,
            if marked { " Dashed line: not significant." } else { "" }
        ),
        tables: Vec::<Table>::new(),
        plots: vec![PlotJson::Chart {
            chart: true,
            body: Some(index),
            x0: LEFT,
            y0: HEIGHT - BELOW,
            sx: axes.sx,
            sy: axes.sy,
        }],
    })
}

/// Runs of stretches that follow one another.
fn runs(context: &Context, index: usize) -> Vec<Vec<Sample>> {
    let stretches = &context.solution.bodies[index].stretches;
    let starts = loop_starts(context, index);
    let marks = context.significant_on(index);
    let mut out: Vec<Vec<Sample>> = Vec::new();
    let mut last: Option<&Stretch> = None;
    for (row, s) in stretches.iter().enumerate() {
        let joined = last.is_some_and(|l| {
            let half = 0.5 * (l.length_m + s.length_m);
            l.loop_index == s.loop_index && ((s.s_m - l.s_m) - half).abs() <= 0.2 * half
        });
        let (value, doubt) = value(context, index, row);
        let sample = Sample {
            u: (starts.get(s.loop_index).unwrap_or(&0.0) + s.s_m) * 1e3,
            value,
            doubt: doubt.abs(),
            significant: marks.is_none_or(|m| m.get(row) == Some(&true)),
        };
        match out.last_mut().filter(|_| joined) {
            Some(run) => run.push(sample),
            None => out.push(vec![sample]),
        }
        last = Some(s);
    }
    out
}

fn band(svg: &mut String, run: &[Sample], axes: &Axes) {
    let upper = run.iter().map(|s| (axes.x(s.u), axes.y(s.value + s.doubt)));
    let lower = run.iter().rev().map(|s| (axes.x(s.u), axes.y((s.value - s.doubt).max(0.0))));
    let _ = write!(svg, "<path class=\"band\" d=\"{}Z\" />", line(upper.chain(lower)));
}

fn line(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut data = String::new();
    for (k, (x, y)) in points.enumerate() {
        let _ = write!(data, "{}{x} {y}", if k == 0 { 'M' } else { 'L' });
    }
    data
}

fn text(svg: &mut String, x: f64, y: f64, anchor: &str, class: &str, words: &str) {
    let _ = write!(
        svg,
        "<text class=\"{class}\" x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\">{words}</text>",
        rounded(x),
        rounded(y)
    );
}

/// Axes with their numbers; `total` in the unit of lengths.
fn frame(svg: &mut String, axes: &Axes, total: f64, per_mm: f64, top: f64, unit: &str) {
    let (right, foot) = (WIDTH - RIGHT, HEIGHT - BELOW);
    let data = line([(LEFT, TOP), (LEFT, foot), (right, foot)].into_iter());
    let _ = write!(svg, "<path class=\"axis\" d=\"{data}\" />");
    for tick in linear_ticks(0.0, top, 5) {
        let y = axes.y(tick);
        let data = line([(LEFT - 4.0, y), (LEFT, y)].into_iter());
        let _ = write!(svg, "<path class=\"axis\" d=\"{data}\" />");
        text(svg, LEFT - 7.0, y + 4.0, "end", "", &trimmed(tick, 4));
    }
    for tick in linear_ticks(0.0, total, 8) {
        let x = axes.x(tick / per_mm);
        let data = line([(x, foot), (x, foot + 4.0)].into_iter());
        let _ = write!(svg, "<path class=\"axis\" d=\"{data}\" />");
        text(svg, x, foot + 17.0, "middle", "", &trimmed(tick, 4));
    }
    text(svg, right, foot + 34.0, "end", "", &format!("along the outline ({unit})"));
}

/// Dotted lines at the corners, with their numbers where there is room.
fn corners(svg: &mut String, context: &Context, index: usize, axes: &Axes) {
    let starts = loop_starts(context, index);
    let loops = context.layout.bodies[index].outline.loops().iter().zip(starts);
    let all: Vec<f64> = loops
        .flat_map(|(curve, start)| curve.corners().into_iter().map(move |c| (start + c.s) * 1e3))
        .collect();
    if all.len() > 40 {
        return;
    }
    let mut last = f64::NEG_INFINITY;
    for (k, u) in all.iter().enumerate() {
        let x = axes.x(*u);
        let data = line([(x, TOP), (x, HEIGHT - BELOW)].into_iter());
        let _ = write!(svg, "<path class=\"corner\" d=\"{data}\" />");
        if x - last >= APART {
            text(svg, x, TOP - 4.0, "middle", "", &(k + 1).to_string());
            last = x;
        }
    }
}
