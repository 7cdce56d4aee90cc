//! How thick where: the deposit along the outline of each part, from corner to corner.
//!
//! One strip for each part, all to one scale, with what the job wants, what the bath plates well,
//! and how sure the computation is. Of many parts the few that matter are shown: those with the
//! thinnest and the thickest places and one between.

use std::ops::Range;

use shapes::{Point, Rect};
use svg::node::element::{Line, Pattern};

use super::Context;
use super::band::{dashed, mark};
use super::bodies;
use super::chart::{self, Axis, Plot};
use super::drawing::{
    Anchor, Drawing, FAINT, INK, PictureError, TextStyle, line, path_data, rectangle,
};
use super::font::{self, Weight};
use super::labels::Placer;
use super::layout_picture::MOST_CORNERS;
use super::legend;
use super::page::{Words, sheet};
use super::profile::{Profile, Show};

/// Strips on a page.
const MOST_STRIPS: usize = 4;
/// Pixels across a strip.
const ACROSS: f64 = 900.0;
/// Pixels down a strip for one, two, three, four of them.
const DOWN: [f64; MOST_STRIPS] = [420.0, 250.0, 190.0, 160.0];
/// Above a strip: the part's name, and the numbers of the corners.
const HEAD: f64 = 40.0;
/// Below a strip: numbers and heading.
const FOOT: f64 = chart::BELOW + 6.0;
/// Colour of the line, and of what lies under it.
const LINE: &str = "#1f4e79";
const UNDER: &str = "#dbe6f1";
const DOUBT: &str = "#7fa3c7";
/// Ground where the bath plates well.
const GOOD: &str = "#e6f2dc";
/// Peaks beyond this many times the usual are cut off.
const CUT: f64 = 2.5;
/// Id of the hatching where a part is not significant.
const ASIDE: &str = "aside";

/// The picture `profile.png`.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn profile_png(context: &Context) -> Result<Vec<u8>, PictureError> {
    profile_drawing(context).png()
}

/// Draws the strips.
pub fn profile_drawing(context: &Context) -> Drawing {
    let show = Show::of(context);
    let shown = chosen(&show);
    let count = shown.len().clamp(1, MOST_STRIPS);
    let strip = HEAD + DOWN[count - 1] + FOOT;
    let range = GoodRange::of(&show);
    // the sheet leaves room below the last strip
    let size = (ACROSS, strip * count as f64 - FOOT);
    let words = words(&show, shown.len());
    let (mut drawing, room, panel) = sheet(&words, size, chart::LEFT, legend::height(0, 0, 16));
    define_hatching(&mut drawing);
    let axis = scale(&show, &shown);
    for (k, profile) in shown.iter().enumerate() {
        let top = room.y0 + strip * k as f64 + HEAD;
        let area = Rect::new(room.x0, top, room.x1, top + DOWN[count - 1]);
        draw_strip(&mut drawing, &show, profile, area, &axis, range);
    }
    explain(&mut drawing, &show, &shown, panel, &axis, range);
    drawing
}

fn words(show: &Show, shown: usize) -> Words {
    let mut words = show.words();
    words.subtitle = match show.is_thickness() {
        true => words.subtitle.replacen("Deposit", "Thickness along the outline", 1),
        false => words.subtitle.replacen("on the parts", "along the outline", 1),
    };
    if shown < show.profiles.len() {
        words.subtitle.push_str(&format!(
            " · {shown} of {} parts: with the thinnest and the thickest places, and one between",
            show.profiles.len()
        ));
    }
    words
}

/// The parts that get a strip, in the order of the layout.
fn chosen<'a, 'b>(show: &'b Show<'a>) -> Vec<&'b Profile<'a>> {
    let mut all: Vec<&Profile> = show.profiles.iter().collect();
    if all.len() <= MOST_STRIPS {
        return all;
    }
    all.sort_by(|a, b| a.spread.min.total_cmp(&b.spread.min));
    let mut picked = vec![all[0], all[1], all[all.len() / 2]];
    let thickest = all.iter().max_by(|a, b| a.spread.max.total_cmp(&b.spread.max));
    picked.extend(thickest);
    picked.sort_by_key(|p| p.index);
    picked.dedup_by_key(|p| p.index);
    picked
}

/// The upright axis that all strips share, in the unit that is shown.
fn scale(show: &Show, shown: &[&Profile]) -> Axis {
    let mut values: Vec<f64> = shown.iter().flat_map(|p| p.values.iter().copied()).collect();
    values.sort_by(f64::total_cmp);
    let pick = |q: f64| {
        let last = values.len().saturating_sub(1);
        values.get((last as f64 * q).round() as usize).copied().unwrap_or(0.0)
    };
    let greatest = pick(1.0).min(CUT * pick(0.95));
    let wanted = show.wanted.into_iter().chain(most(show)).fold(0.0, f64::max);
    let least = pick(0.0).max(1e-4 * greatest);
    // a place without any metal must be seen on the axis: then only differences will do
    let least = if pick(0.0) > 0.0 { least } else { 0.0 };
    let high = greatest.max(wanted).max(f64::MIN_POSITIVE);
    let heading = show.unit();
    Axis::fitting(show.number(least), show.number(high), heading)
}

/// The greatest thickness wanted, m.
fn most(show: &Show) -> Option<f64> {
    show.context.deposit.and(show.context.want.max_thickness).map(|l| l.si())
}

/// What lies between the bath's limits, in the unit of the values; an end is missing where no place
/// of the parts comes near that limit.
#[derive(Debug, Clone, Copy, PartialEq)]
struct GoodRange {
    low: Option<f64>,
    high: Option<f64>,
}

impl GoodRange {
    /// `None` where the bath states no limits, or thickness does not follow from current density
    /// (parts that move).
    fn of(show: &Show) -> Option<Self> {
        let window = show.context.window;
        if window.min.is_none() && window.max.is_none() {
            return None;
        }
        if !show.is_thickness() {
            return Some(Self {
                low: window.min.map(|i| i.si()),
                high: window.max.map(|i| i.si()),
            });
        }
        if !show.context.findings.positions.is_empty() {
            return None;
        }
        // thickness rises with current density: read it off the places that are there
        let mut pairs: Vec<(f64, f64)> = show
            .profiles
            .iter()
            .flat_map(|p| p.body.stretches.iter().zip(&p.values))
            .map(|(s, value)| (s.current_density_a_m2, *value))
            .collect();
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = |density: f64| {
            let k = pairs.partition_point(|pair| pair.0 < density);
            let (a, b) = (pairs.get(k.checked_sub(1)?)?, pairs.get(k)?);
            let share = if b.0 > a.0 { (density - a.0) / (b.0 - a.0) } else { 0.0 };
            Some(a.1 + share * (b.1 - a.1))
        };
        Some(Self {
            low: window.min.and_then(|i| at(i.si())),
            high: window.max.and_then(|i| at(i.si())),
        })
    }
}

/// A part's outline laid out straight: where each loop begins, m.
struct Course {
    starts: Vec<f64>,
    total: f64,
}

impl Course {
    fn of(show: &Show, profile: &Profile) -> Self {
        let mut starts = Vec::new();
        let mut total = 0.0;
        for curve in show.context.layout.bodies[profile.index].outline.loops() {
            starts.push(total);
            total += curve.length();
        }
        Self { starts, total }
    }

    fn at(&self, loop_index: usize, s_m: f64) -> f64 {
        self.starts.get(loop_index).copied().unwrap_or(0.0) + s_m
    }
}

fn draw_strip(
    drawing: &mut Drawing,
    show: &Show,
    profile: &Profile,
    area: Rect,
    axis: &Axis,
    range: Option<GoodRange>,
) {
    let units = show.context.units;
    let length = units.length_unit_m();
    let course = Course::of(show, profile);
    let heading = format!("along the outline ({})", units.length_unit());
    let plot =
        Plot { area, x: Axis::linear(0.0, course.total / length, &heading), y: axis.clone() };
    if let Some(range) = range {
        let [bottom, top] = axis.ends();
        let low = range.low.map_or(bottom, |v| show.number(v));
        let high = range.high.map_or(top, |v| show.number(v));
        plot.block(drawing, None, Some([low, high]), GOOD);
    }
    let body = &show.context.layout.bodies[profile.index];
    let runs = runs(profile);
    let place = |k: usize| {
        let s = &profile.body.stretches[k];
        course.at(s.loop_index, s.s_m) / length
    };
    let ends = |k: usize| {
        let half = profile.body.stretches[k].length_m / 2.0 / length;
        [place(k) - half, place(k) + half]
    };
    let doubts = doubts(show, profile);
    for run in &runs {
        let under: Vec<(f64, [f64; 2])> =
            steps(run, &place, &ends, &|k| [axis.ends()[0], show.number(profile.values[k])]);
        plot.band(drawing, &under, UNDER, if range.is_some() { 0.6 } else { 1.0 });
    }
    if let Some(marks) = profile.marks {
        for k in 0..profile.values.len() {
            if !marks.get(k).is_some_and(|on| *on) {
                plot.block(drawing, Some(ends(k)), None, &format!("url(#{ASIDE})"));
            }
        }
    }
    plot.frame(drawing, true);
    for run in &runs {
        let doubt: Vec<(f64, [f64; 2])> = steps(run, &place, &ends, &|k| {
            let (value, doubt) = (profile.values[k], doubts.get(k).copied().unwrap_or(0.0));
            [show.number((value - doubt).max(0.0)), show.number(value + doubt)]
        });
        plot.band(drawing, &doubt, DOUBT, 0.55);
        let values: Vec<(f64, f64)> =
            steps(run, &place, &ends, &|k| show.number(profile.values[k]));
        plot.line(drawing, &values, LINE, 1.8);
    }
    for wanted in show.wanted.into_iter().chain(most(show)) {
        plot.level(drawing, show.number(wanted), "#d1495b");
    }
    for start in course.starts.iter().skip(1) {
        plot.upright(drawing, start / length, INK);
    }
    let mut taken = Vec::new();
    corners(drawing, body, &course, &plot, length, &mut taken);
    name(drawing, show, profile, area);
    extremes(drawing, show, profile, &plot, &place);
}

/// Rows that follow one another without a gap.
fn runs(profile: &Profile) -> Vec<Range<usize>> {
    let rows = &profile.body.stretches;
    let mut found = Vec::new();
    let mut start = 0;
    for i in 1..=rows.len() {
        let joined = i < rows.len() && {
            let (a, b) = (&rows[i - 1], &rows[i]);
            let gap = b.s_m - a.s_m - (a.length_m + b.length_m) / 2.0;
            a.loop_index == b.loop_index && gap.abs() <= 0.05 * (a.length_m + b.length_m)
        };
        if !joined {
            found.push(start..i);
            start = i;
        }
    }
    found
}

/// Values at the middles of a run, held level to the run's ends.
fn steps<T>(
    run: &Range<usize>,
    place: &dyn Fn(usize) -> f64,
    ends: &dyn Fn(usize) -> [f64; 2],
    value: &dyn Fn(usize) -> T,
) -> Vec<(f64, T)> {
    let Some(last) = run.clone().next_back() else { return Vec::new() };
    let mut points = vec![(ends(run.start)[0], value(run.start))];
    points.extend(run.clone().map(|k| (place(k), value(k))));
    points.push((ends(last)[1], value(last)));
    points
}

/// The uncertainty of each value.
fn doubts(show: &Show, profile: &Profile) -> Vec<f64> {
    match show.context.deposit_on(profile.index).filter(|_| show.is_thickness()) {
        Some(on) => on.uncertainty_m.clone(),
        None => profile.body.stretches.iter().map(|s| s.uncertainty_a_m2).collect(),
    }
}

/// True if a body's corners get numbers: there are some, and not too many.
fn is_numbered(body: &solver::Body) -> bool {
    let count: usize = body.outline.loops().iter().map(|l| l.corners().len()).sum();
    (1..=MOST_CORNERS).contains(&count)
}

/// The numbers of the corners above the strip, as `throwmap check` writes them beside the outline.
fn corners(
    drawing: &mut Drawing,
    body: &solver::Body,
    course: &Course,
    plot: &Plot,
    length: f64,
    taken: &mut Vec<f64>,
) {
    if !is_numbered(body) {
        return;
    }
    let loops = body.outline.loops();
    let style = TextStyle::new(10.5).coloured(FAINT).anchored(Anchor::Middle);
    let mut number = 0;
    for (k, curve) in loops.iter().enumerate() {
        for corner in curve.corners() {
            number += 1;
            let x = plot.across(course.at(k, corner.s) / length);
            let (foot, head) = (Point::new(x, plot.area.y0), Point::new(x, plot.area.y0 - 4.0));
            drawing.add(line(foot, head).set("stroke", FAINT).set("stroke-width", 0.9));
            let text = number.to_string();
            let width = font::width(&text, style.size, Weight::Regular) + 3.0;
            if taken.iter().all(|other| (other - x).abs() > width) {
                drawing.text(Point::new(x, plot.area.y0 - 7.0), &text, style);
                taken.push(x);
            }
        }
    }
}

/// The part's name and mean over its strip.
fn name(drawing: &mut Drawing, show: &Show, profile: &Profile, area: Rect) {
    let word = match profile.marks {
        Some(_) => "mean on the significant surface",
        None => "mean",
    };
    let text = format!("{}: {word} {}", profile.body.name, show.text(profile.spread.mean));
    let style = TextStyle::new(12.5).bold();
    let text = font::shorten(&text, style.size, Weight::SemiBold, area.width() - 10.0);
    drawing.text(Point::new(area.x0, area.y0 - 23.0), &text, style);
}

/// The least and the greatest value with their numbers.
fn extremes(
    drawing: &mut Drawing,
    show: &Show,
    profile: &Profile,
    plot: &Plot,
    place: &dyn Fn(usize) -> f64,
) {
    if profile.is_even() {
        return;
    }
    let mut placer = Placer::new(plot.area.inflate(-2.0, -2.0), Vec::new());
    for (k, value) in profile.values.iter().enumerate() {
        let at = plot.pixel((place(k), show.number(*value)));
        placer.take(Rect::from_center_size(at, (4.0, 6.0)));
    }
    let spread = &profile.spread;
    let found = [
        (false, "least", spread.min, spread.min_at),
        (true, "greatest", spread.max, spread.max_at),
    ];
    for (greatest, word, value, at) in found {
        let rows = profile.body.stretches.iter().enumerate();
        let near = rows.min_by(|a, b| (a.1.at - at).hypot2().total_cmp(&(b.1.at - at).hypot2()));
        let Some((k, _)) = near else { continue };
        let at = plot.pixel((place(k), show.number(value)));
        let text = format!("{word} {}", show.text(value));
        let style = TextStyle::new(11.5);
        let width = font::width(&text, style.size, Weight::Regular) + 6.0;
        let way = shapes::Vec2::new(0.3, if greatest { 1.0 } else { -1.0 });
        if let Some(placed) = placer.near(at, way, width, style.size + 3.0) {
            bodies::write(drawing, placed, &text, style);
        }
        placer.take(Rect::from_center_size(at, (9.0, 9.0)));
        mark(drawing, at, 4.0, greatest);
    }
}

/// Grey lines on nothing, over what is not significant.
fn define_hatching(drawing: &mut Drawing) {
    let stroke = |from: (f64, f64), to: (f64, f64)| {
        Line::new()
            .set("x1", from.0)
            .set("y1", from.1)
            .set("x2", to.0)
            .set("y2", to.1)
            .set("stroke", "#9a9a9a")
            .set("stroke-width", 0.9)
    };
    drawing.define(
        Pattern::new()
            .set("id", ASIDE)
            .set("patternUnits", "userSpaceOnUse")
            .set("width", 7)
            .set("height", 7)
            .add(stroke((0.0, 7.0), (7.0, 0.0)))
            .add(stroke((-1.0, 1.0), (1.0, -1.0)))
            .add(stroke((6.0, 8.0), (8.0, 6.0))),
    );
}

/// The panel: what every line and ground means.
fn explain(
    drawing: &mut Drawing,
    show: &Show,
    shown: &[&Profile],
    panel: Rect,
    axis: &Axis,
    range: Option<GoodRange>,
) {
    let what = if show.is_thickness() { "thickness" } else { "current density" };
    let across = |y: f64| {
        let at = y + 8.0;
        (Point::new(panel.x0, at), Point::new(panel.x0 + 28.0, at))
    };
    let swatch = |y: f64| Rect::new(panel.x0, y, panel.x0 + 28.0, y + 15.0);
    let mut y = panel.y0 + HEAD;
    let (from, to) = across(y);
    let doubt = Rect::new(from.x, from.y - 4.0, to.x, to.y + 4.0);
    drawing.add(rectangle(doubt).set("fill", DOUBT).set("fill-opacity", 0.55));
    drawing.add(line(from, to).set("stroke", LINE).set("stroke-width", 1.8));
    let text = format!("{what}, with the computation's uncertainty as a band");
    y = legend::words(drawing, panel, y, &text);
    let dash = |drawing: &mut Drawing, y: f64, text: String| {
        let (from, to) = across(y);
        drawing.add(dashed(path_data([from, to], false)));
        legend::words(drawing, panel, y, &text)
    };
    if let Some(wanted) = show.wanted {
        y = dash(drawing, y, format!("wanted: at least {}", show.text(wanted)));
    }
    if let Some(wanted) = most(show) {
        y = dash(drawing, y, format!("wanted: at most {}", show.text(wanted)));
    }
    if let Some(range) = range {
        let area = rectangle(swatch(y)).set("fill", GOOD);
        drawing.add(area.set("stroke", FAINT).set("stroke-width", 0.8));
        y = legend::words(drawing, panel, y, &range.words(show));
    }
    if shown.iter().any(|p| p.marks.is_some()) {
        let area = rectangle(swatch(y)).set("fill", format!("url(#{ASIDE})"));
        drawing.add(area.set("stroke", FAINT).set("stroke-width", 0.8));
        y = legend::words(drawing, panel, y, "hatched: not on the significant surface");
    }
    if !shown.iter().all(|p| p.is_even()) {
        mark(drawing, Point::new(panel.x0 + 8.0, y + 8.0), 4.0, false);
        mark(drawing, Point::new(panel.x0 + 22.0, y + 8.0), 4.0, true);
        y = legend::words(drawing, panel, y, "least, greatest of a part");
    }
    let mut notes = Vec::new();
    if shown.iter().any(|p| is_numbered(&show.context.layout.bodies[p.index])) {
        notes.push("Numbers above: corners, as the layout picture counts them.");
    }
    let loops = |p: &Profile| show.context.layout.bodies[p.index].outline.loops().len();
    if shown.iter().any(|p| runs(p).len() > loops(p)) {
        notes.push("Gaps: stopped off, or out of the bath.");
    }
    if axis.is_logarithmic() {
        notes.push("Upright axis: even steps are ratios.");
    }
    let cut = show.number(1.0) * shown.iter().map(|p| p.spread.max).fold(0.0, f64::max);
    if cut > axis.ends()[1] {
        notes.push("Peaks at sharp corners are cut off at the top.");
    }
    let wide = Rect { x0: panel.x0 - 36.0, ..panel };
    for note in notes {
        y = legend::words(drawing, wide, y, note);
    }
}

impl GoodRange {
    /// What the ground means, for the panel.
    fn words(self, show: &Show) -> String {
        let units = show.context.units;
        let window = show.context.window;
        let density = |i: solver::quantity::CurrentDensity| units.density_text(i.si());
        let range = match (window.min, window.max) {
            (Some(min), Some(max)) => format!("{} to {}", density(min), density(max)),
            (Some(min), None) => format!("above {}", density(min)),
            (None, Some(max)) => format!("below {}", density(max)),
            (None, None) => String::new(),
        };
        format!("the bath plates well here ({range})")
    }
}

#[cfg(test)]
mod tests {
    use super::super::mock::{channel, plate};
    use super::*;

    /// A channel between flat plates: the same everywhere, so the line is level, and the axis
    /// starts at zero.
    #[test]
    fn an_even_deposit_is_a_level_line() {
        let mock = plate(channel(0.5, 0.2, 400.0), 20.0);
        let context = mock.context();
        let show = Show::of(&context);
        let shown = chosen(&show);
        let axis = scale(&show, &shown);
        assert!(!axis.is_logarithmic() && axis.ends()[0] == 0.0);
        let heights: Vec<f64> =
            shown[0].values.iter().map(|v| axis.fraction(show.number(*v))).collect();
        let spread = heights.iter().fold(0.0f64, |m, h| m.max((h - heights[0]).abs()));
        assert!(spread < 0.02, "{spread}");
    }
}
