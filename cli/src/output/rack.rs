//! The deposit on a rack of small parts: one cell for each part, all to one scale.
//!
//! On a rack of thirty bars in a two-metre tank no band would be seen where the bars hang; here
//! each bar stands alone, with the same length scale and the same exaggeration as its neighbours.

use shapes::{Point, Rect};
use solver::Role;

use super::band::{self, Band, mark};
use super::bodies;
use super::deposit_picture::marks;
use super::drawing::{Anchor, Drawing, FAINT, INK, TextStyle, rectangle};
use super::font::{self, Weight};
use super::labels::bounds;
use super::legend;
use super::masks;
use super::page::{Size, View, length_scale, sheet};
use super::profile::{Heights, Profile, Show};
use super::spots;

/// Cells on a page; of a larger rack those with the least and greatest values and an even choice
/// of ranks between are shown.
const MOST_CELLS: usize = 42;
/// A figure of so few cells is small.
pub const FEW: usize = 9;
/// Space for the name above and two lines of numbers below, pixels.
const ABOVE: f64 = 20.0;
const BELOW: f64 = 34.0;

/// Draws the cells.
pub fn draw(show: &Show, size: Size) -> Drawing {
    let shown = chosen(show);
    let columns = ((shown.len() as f64 * 1.3).sqrt().ceil() as usize).clamp(2, 7);
    let rows = shown.len().div_ceil(columns).max(1);
    let room = match size {
        Size::Figure if shown.len() <= FEW => (620.0, 400.0),
        _ => (900.0, 660.0),
    };
    let cell = (room.0 / columns as f64, (room.1 / rows as f64).clamp(118.0, 280.0));
    let roles = [Role::Part];
    let mut words = show.words().sized(size);
    if shown.len() < show.profiles.len() && size == Size::Sheet {
        words.subtitle.push_str(&format!(
            " · {} of {} parts: those with the least and greatest value and an even choice between",
            shown.len(),
            show.profiles.len()
        ));
    }
    let room = (cell.0 * columns as f64, cell.1 * rows as f64);
    let extra = 5 + masks::count(show.context.layout) + show.marked() + spots::rows(show.context);
    let panel_height = legend::height(roles.len(), 1, extra);
    let (mut drawing, room, panel) = sheet(&words, room, 0.0, panel_height);
    bodies::define_patterns(&mut drawing, &roles);
    if show.marked() > 0 {
        band::define_hatching(&mut drawing);
    }

    // inside a cell: the part in the middle, a band round it
    let inner = (cell.0 - 10.0, cell.1 - ABOVE - BELOW);
    let band = 0.16 * inner.0.min(inner.1);
    let largest = shown
        .iter()
        .map(|p| wetted(p).size())
        .fold((0.0f64, 0.0f64), |m, s| (m.0.max(s.width), m.1.max(s.height)));
    let scale = ((inner.0 - 2.0 * band) / largest.0.max(1e-9))
        .min((inner.1 - 2.0 * band) / largest.1.max(1e-9));
    let heights = show.heights(0.55 * band, band);

    let least = extreme(show, |p| -p.spread.min);
    let greatest = extreme(show, |p| p.spread.max);
    for (k, profile) in shown.iter().enumerate() {
        let corner = room.origin() + (cell.0 * (k % columns) as f64, cell.1 * (k / columns) as f64);
        let area = Rect::from_origin_size(corner, cell).inflate(-3.0, -3.0);
        let note = match (Some(profile.index) == least, Some(profile.index) == greatest) {
            (true, true) => Some("both extremes"),
            (true, false) => Some("least"),
            (false, true) => Some("greatest"),
            _ => None,
        };
        draw_cell(&mut drawing, show, profile, area, scale, heights, note);
    }
    let from = Point::new(room.x0 + 4.0, room.y1 + 30.0);
    length_scale(&mut drawing, from, 160.0, scale, show.context.units);

    let y = show.panel(&mut drawing, panel, heights, Some((heights.per_value / scale).round()));
    let y = marks(&mut drawing, show, panel, y);
    let y = legend::roles(&mut drawing, panel, y, &roles);
    let y = masks::explain(&mut drawing, panel, y, show.context.layout);
    spots::explain(&mut drawing, show.context, panel, y);
    drawing
}

fn draw_cell(
    drawing: &mut Drawing,
    show: &Show,
    profile: &Profile,
    area: Rect,
    scale: f64,
    heights: Heights,
    note: Option<&str>,
) {
    let (stroke, width) = if note.is_some() { (INK, 1.8) } else { ("#c8c8c8", 0.8) };
    let frame = rectangle(area).set("rx", 3).set("fill", "none");
    drawing.add(frame.set("stroke", stroke).set("stroke-width", width));

    let whole = wetted(profile);
    let size = whole.size() * scale;
    let middle = Point::new(area.center().x, (area.y0 + ABOVE + area.y1 - BELOW) / 2.0);
    let view = View { world: whole, area: Rect::from_center_size(middle, size), scale };
    drawing.plot(view, Some(profile.index));
    let outline = &show.context.layout.bodies[profile.index].outline;
    let data = bodies::loops_data(&bodies::polygons(outline, &view));
    drawing.add(bodies::filled(profile.body.role, data));
    let band = Band::of(&profile.body.stretches, &profile.values, &view, heights);
    masks::draw(drawing, &show.context.layout.bodies[profile.index], &view, area);
    band.draw(drawing, &profile.values, &show.colours, profile.marks);
    if let Some(wanted) = show.wanted {
        let rows = &profile.body.stretches;
        band.draw_wanted(drawing, rows, &view, heights, wanted, profile.marks);
    }
    spots::draw(drawing, show.context, &view, Some(profile.index));
    mark(drawing, view.pixel(profile.spread.min_at), 2.6, false);
    mark(drawing, view.pixel(profile.spread.max_at), 2.6, true);

    let room = area.width() - 10.0;
    let name = TextStyle::new(11.5).bold();
    let remark = TextStyle::new(10.5).coloured(FAINT).anchored(Anchor::End);
    let taken = note.map_or(0.0, |n| font::width(n, remark.size, Weight::Regular) + 6.0);
    let text = font::shorten(&profile.body.name, name.size, Weight::SemiBold, room - taken);
    drawing.text(Point::new(area.x0 + 5.0, area.y0 + 14.0), &text, name);
    if let Some(note) = note {
        drawing.text(Point::new(area.x1 - 5.0, area.y0 + 14.0), note, remark);
    }
    let small = TextStyle::new(10.5).anchored(Anchor::Middle);
    let number = |v: f64| super::format::three(show.number(v));
    let range =
        format!("{} … {} {}", number(profile.spread.min), number(profile.spread.max), show.unit());
    let word = if profile.marks.is_some() { "significant mean" } else { "mean" };
    let mean = format!("{word} {} {}", number(profile.spread.mean), show.unit());
    for (text, up) in [(range, 19.0), (mean, 6.0)] {
        drawing.text(Point::new(area.center().x, area.y1 - up), &text, small);
    }
}

fn wetted(profile: &Profile) -> Rect {
    bounds(profile.body.stretches.iter().map(|s| s.at))
}

fn extreme(show: &Show, value: impl Fn(&Profile) -> f64) -> Option<usize> {
    show.profiles.iter().max_by(|a, b| value(a).total_cmp(&value(b))).map(|p| p.index)
}

/// The parts that get a cell, in the order of the layout.
fn chosen<'a, 'b>(show: &'b Show<'a>) -> Vec<&'b Profile<'a>> {
    let mut all: Vec<&Profile> = show.profiles.iter().collect();
    if all.len() <= MOST_CELLS {
        return all;
    }
    all.sort_by(|a, b| a.spread.min.total_cmp(&b.spread.min));
    let last = all.len() - 1;
    let mut picked: Vec<&Profile> =
        (0..MOST_CELLS - 1).map(|k| all[(k * last) / (MOST_CELLS - 2)]).collect();
    let greatest = extreme(show, |p| p.spread.max);
    if !picked.iter().any(|p| Some(p.index) == greatest) {
        picked.extend(all.iter().find(|p| Some(p.index) == greatest));
    }
    picked.sort_by_key(|p| p.index);
    picked.dedup_by_key(|p| p.index);
    picked
}
