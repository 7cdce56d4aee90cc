//! The strips below the part: thickness along the outline, one strip for each layer.

use shapes::{Point, Rect};
use solver::{Place, Profile};
use svg::node::element::Path;

use super::picture::Letter;
use super::{PartStack, StackContext, Standing};
use crate::job::Limit;
use crate::output::band::dashed;
use crate::output::drawing::{Anchor, Drawing, FAINT, INK, TextStyle, line, path_data, rectangle};
use crate::output::font::{self, Weight};
use crate::output::format::three;
use crate::output::scale::linear_ticks;

/// Ground of stretches that are too thin.
pub const MISSED: &str = "#f6c9cd";
/// Ground of stretches that are not judged.
pub const ASIDE: &str = "#e4e4e4";
/// Colour of a sum of layers.
const SUM: &str = "#6b6b6b";
/// Pixels of a strip, its heading above and the space below it.
const STRIP: f64 = 78.0;
const HEADING: f64 = 20.0;
const BELOW: f64 = 12.0;
/// Peaks above this many times the usual are cut off.
const CUT: f64 = 1.5;
/// Pixels between closed loops.
const LOOP_GAP: f64 = 14.0;

/// One strip.
pub struct Track {
    /// What it shows.
    title: String,
    /// How it stands, in words, and whether that is well.
    standing: Option<(String, bool)>,
    colour: &'static str,
    profile: Profile,
    /// The least thickness wanted, m.
    pub wanted: Option<f64>,
}

/// The strips of a part: every layer, sums that are judged, the total.
pub fn tracks(
    context: &StackContext,
    part: &PartStack,
    index: usize,
    standings: &[Standing],
    colours: &[&'static str],
) -> Vec<Track> {
    let least = |layers: &[usize]| {
        let of = standings.iter().filter(|s| s.demand.layers == layers);
        let least = of.filter_map(|s| match s.demand.limit {
            Limit::Least(length) => Some((length.si(), s)),
            Limit::Most(_) | Limit::LowestShare(_) => None,
        });
        least.max_by(|a, b| a.0.total_cmp(&b.0))
    };
    let units = context.units;
    let track = |title: String, layers: &[usize], colour, profile: Profile| {
        let found = least(layers);
        let spread = profile.thickness;
        let range = format!(
            "{} least, {} mean, {} greatest",
            units.thickness_text(spread.min),
            units.thickness_text(spread.mean),
            units.thickness_text(spread.max),
        );
        let standing = found.and_then(|(wanted, standing)| {
            let own = standing.parts.get(index)?;
            let word = if own.met { "met" } else { "MISSED" };
            Some((format!("wanted at least {}: {word}", units.thickness_text(wanted)), own.met))
        });
        Track {
            title: format!("{title}: {range}"),
            standing,
            colour,
            profile,
            wanted: found.map(|(wanted, _)| wanted),
        }
    };
    let mut out: Vec<Track> = Vec::new();
    for (k, layer) in context.layers.iter().enumerate() {
        let profile = part.stack.layers[k].clone();
        out.push(track(layer.name.to_owned(), &[k], colours[k], profile));
    }
    let all: Vec<usize> = (0..context.layers.len()).collect();
    let mut done: Vec<&[usize]> = Vec::new();
    for standing in standings {
        let layers = standing.demand.layers.as_slice();
        if layers.len() > 1 && layers != all && !done.contains(&layers) {
            done.push(layers);
            let colour = layers.first().map_or(SUM, |k| colours[*k]);
            let title = format!("{} in all", standing.demand.what);
            let sum = part.stack.sum(layers).filter(|_| least(layers).is_some());
            out.extend(sum.map(|sum| track(title, layers, colour, sum)));
        }
    }
    if all.len() > 1 {
        out.push(track("All layers".into(), &all, SUM, part.stack.total.clone()));
    }
    out
}

/// Height of the strips with letters below them, pixels.
pub fn height(tracks: &[Track]) -> f64 {
    tracks.len() as f64 * (STRIP + HEADING + BELOW) - 30.0
}

/// From a place of the outline to pixels across.
struct Axis {
    /// Left and right end of each place.
    ends: Vec<(f64, f64)>,
}

impl Axis {
    fn of(places: &[Place], room: Rect) -> Self {
        let breaks = places.windows(2).filter(|p| p[0].loop_index != p[1].loop_index).count();
        let total: f64 = places.iter().map(|place| place.length_m).sum();
        let scale = (room.width() - LOOP_GAP * breaks as f64) / total.max(1e-12);
        let mut x = room.x0;
        let mut ends = Vec::with_capacity(places.len());
        for (k, place) in places.iter().enumerate() {
            if k > 0 && places[k - 1].loop_index != place.loop_index {
                x += LOOP_GAP;
            }
            ends.push((x, x + place.length_m * scale));
            x += place.length_m * scale;
        }
        Self { ends }
    }
}

/// Draws the strips.
pub fn draw(
    drawing: &mut Drawing,
    context: &StackContext,
    part: &PartStack,
    room: Rect,
    tracks: &[Track],
    letters: &[Letter],
) {
    let places = &part.stack.places;
    let axis = Axis::of(places, room);
    let mut y = room.y0;
    for track in tracks {
        let strip = Rect::new(room.x0, y + HEADING, room.x1, y + HEADING + STRIP);
        heading(drawing, track, Point::new(room.x0, y + 14.0));
        draw_track(drawing, context, places, track, strip, &axis, letters);
        y = strip.y1 + BELOW;
    }
    for (name, k) in letters {
        let (from, _) = axis.ends[*k];
        let at = Point::new(from, y + 6.0);
        let style = TextStyle::new(13.0).bold().anchored(Anchor::Middle);
        drawing.text(at, &name.to_string(), style);
    }
    let style = TextStyle::new(11.5).coloured(FAINT).anchored(Anchor::End);
    drawing.text(
        Point::new(room.x1, y + 22.0),
        "along the outline, from letter to letter →",
        style,
    );
}

fn heading(drawing: &mut Drawing, track: &Track, at: Point) {
    let style = TextStyle::new(12.5).bold();
    drawing.text(at, &track.title, style);
    if let Some((words, met)) = &track.standing {
        let left = at.x + font::width(&track.title, style.size, Weight::SemiBold) + 14.0;
        let colour = if *met { "#2b7a3d" } else { "#b3202f" };
        drawing.text(Point::new(left, at.y), words, style.coloured(colour));
    }
}

/// The top of a strip's scale: the usual, not a corner's peak.
fn top(track: &Track, places: &[Place]) -> f64 {
    let mut rows: Vec<(f64, f64)> =
        track.profile.thickness_m.iter().zip(places).map(|(t, p)| (*t, p.length_m)).collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = rows.iter().map(|row| row.1).sum();
    let mut passed = 0.0;
    let usual = rows.iter().find(|row| {
        passed += row.1;
        passed >= 0.95 * total
    });
    let usual = usual.map_or(0.0, |row| row.0);
    let greatest = track.profile.thickness.max.min(CUT * usual);
    1.08 * greatest.max(track.wanted.unwrap_or(0.0)).max(1e-12)
}

fn draw_track(
    drawing: &mut Drawing,
    context: &StackContext,
    places: &[Place],
    track: &Track,
    strip: Rect,
    axis: &Axis,
    letters: &[Letter],
) {
    let top = top(track, places);
    let height = |metres: f64| strip.y1 - (metres.max(0.0) / top).min(1.0) * strip.height();
    grounds(drawing, places, track, strip, axis);
    // grid below the curve
    let unit = context.units;
    for value in linear_ticks(0.0, unit.thickness(top), 3) {
        let y = height(value / unit.thickness(1.0));
        let (from, to) = (Point::new(strip.x0, y), Point::new(strip.x1, y));
        drawing.add(line(from, to).set("stroke", "#cccccc").set("stroke-width", 0.7));
        let style = TextStyle::new(10.5).coloured(FAINT).anchored(Anchor::End);
        drawing.text(Point::new(strip.x0 - 6.0, y + 4.0), &three_or_zero(value), style);
    }
    let words = TextStyle::new(10.5).coloured(FAINT).anchored(Anchor::End);
    drawing.text(Point::new(strip.x0 - 6.0, strip.y0 - 6.0), unit.thickness_unit(), words);
    for (_, k) in letters {
        let x = axis.ends[*k].0;
        let ends = (Point::new(x, strip.y0), Point::new(x, strip.y1));
        drawing.add(line(ends.0, ends.1).set("stroke", "#b5b5b5").set("stroke-width", 0.7));
    }
    let mut start = 0;
    for k in 1..=places.len() {
        if k < places.len() && places[k].loop_index == places[start].loop_index {
            continue;
        }
        curve(drawing, track, strip, axis, start..k, &height);
        start = k;
    }
    if let Some(wanted) = track.wanted {
        let y = height(wanted);
        let ends = [Point::new(strip.x0, y), Point::new(strip.x1, y)];
        drawing.add(dashed(path_data(ends, false)));
    }
    let foot = (Point::new(strip.x0, strip.y1), Point::new(strip.x1, strip.y1));
    drawing.add(line(foot.0, foot.1).set("stroke", INK).set("stroke-width", 1.0));
}

/// Colours the ground where the part is too thin or not judged.
fn grounds(drawing: &mut Drawing, places: &[Place], track: &Track, strip: Rect, axis: &Axis) {
    let ground = |k: usize| {
        let thin = track.wanted.is_some_and(|wanted| track.profile.thickness_m[k] < wanted);
        match (places[k].significant, thin) {
            (false, _) => Some(ASIDE),
            (true, true) => Some(MISSED),
            (true, false) => None,
        }
    };
    let same =
        |a: usize, b: usize| ground(a) == ground(b) && places[a].loop_index == places[b].loop_index;
    let mut start = 0;
    for k in 1..=places.len() {
        if k < places.len() && same(k, start) {
            continue;
        }
        if let Some(colour) = ground(start) {
            let (from, to) = (axis.ends[start].0, axis.ends[k - 1].1);
            let area = Rect::new(from, strip.y0, to.max(from + 0.6), strip.y1);
            drawing.add(rectangle(area).set("fill", colour));
        }
        start = k;
    }
}

fn three_or_zero(value: f64) -> String {
    let text = three(value);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// The filled steps of one closed loop.
fn curve(
    drawing: &mut Drawing,
    track: &Track,
    strip: Rect,
    axis: &Axis,
    places: std::ops::Range<usize>,
    height: &dyn Fn(f64) -> f64,
) {
    let mut steps = Vec::with_capacity(2 * places.len());
    for k in places.clone() {
        let y = height(track.profile.thickness_m[k]);
        steps.push(Point::new(axis.ends[k].0, y));
        steps.push(Point::new(axis.ends[k].1, y));
    }
    let (Some(first), Some(last)) = (steps.first().copied(), steps.last().copied()) else { return };
    let mut area = steps.clone();
    area.push(Point::new(last.x, strip.y1));
    area.push(Point::new(first.x, strip.y1));
    let fill = Path::new().set("d", path_data(area, true)).set("fill", track.colour);
    drawing.add(fill.set("fill-opacity", 0.85));
    let stroke = Path::new().set("d", path_data(steps, false)).set("fill", "none");
    drawing.add(stroke.set("stroke", INK).set("stroke-width", 1.1));
}
