//! `deposit.png` of a sequence: the layers on the part, and the thickness of each along its outline.
//!
//! Above stands the part with its layers drawn as bands, one colour for each, many times thicker
//! than they are. Letters mark places round the outline. Below, one strip for each layer shows its
//! thickness from letter to letter, with what is wanted as a dashed line. Of several parts the one
//! that stands worst is shown.

use shapes::{Point, Rect, Vec2};
use solver::{Place, Role};
use svg::node::element::{Circle, Path};

use super::chart::{self, Track};
use super::{PartStack, StackContext, Standing, judge_stack, words};
use crate::output::bodies;
use crate::output::drawing::{
    Drawing, INK, PictureError, TextStyle, line, path_data, rectangle, rounded,
};
use crate::output::font;
use crate::output::font::Weight;
use crate::output::format::{duration, trimmed};
use crate::output::labels::{Placer, bounds};
use crate::output::legend;
use crate::output::page::{View, Words, length_scale, sheet};
use crate::output::scale::fine_below;

/// Room for the picture, pixels across; and for the part above the strips, down.
const ACROSS: f64 = 900.0;
const PART: f64 = 380.0;
/// Space between the part and the strips: length scale and heading.
const BETWEEN: f64 = 62.0;
/// How tall the mean of all layers is drawn, and at most how tall a peak.
const MEAN: f64 = 26.0;
const GREATEST: f64 = 58.0;
/// A layer that would be drawn thinner than this is drawn as a line, pixels.
const LINE: f64 = 1.5;
/// Letters round an outline.
const LETTERS: usize = 10;

/// Colours of the metals by symbol: hue and lightness both differ, also for the colour-blind.
const METALS: &[(&str, [&str; 2])] = &[
    ("Cu", ["#c8742e", "#8f4a14"]),
    ("Ni", ["#e8c95a", "#a98d1f"]),
    ("Cr", ["#3a78b8", "#1f4f80"]),
    ("Zn", ["#8fa3b0", "#5f7582"]),
];
/// Colours of all others, in turn.
const OTHERS: [&str; 4] = ["#9a7bb5", "#5fa58a", "#b5657b", "#777777"];

/// The picture.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn stack_png(context: &StackContext) -> Result<Vec<u8>, PictureError> {
    stack_drawing(context).png()
}

/// The colour of every layer; a second layer of a metal gets the darker one.
pub(super) fn colours(context: &StackContext) -> Vec<&'static str> {
    let mut seen: Vec<&str> = Vec::new();
    let mut others = 0;
    let mut out = Vec::new();
    for layer in context.layers {
        let element = layer.symbol.split('(').next().unwrap_or_default();
        let before = seen.iter().filter(|known| **known == element).count();
        seen.push(element);
        out.push(match METALS.iter().find(|(symbol, _)| *symbol == element) {
            Some((_, shades)) => shades[before % 2],
            None => {
                others += 1;
                OTHERS[(others - 1) % OTHERS.len()]
            }
        });
    }
    out
}

/// The part that stands worst against anything wanted; the one with the least total without wishes.
fn chosen(context: &StackContext, standings: &[Standing]) -> usize {
    let mut worst: Option<(f64, usize)> = None;
    for (index, found) in standings.iter().filter_map(Standing::worst) {
        let miss = if found.met { 1.0 } else { 0.0 };
        if worst.is_none_or(|(least, _)| miss < least) {
            worst = Some((miss, index));
        }
    }
    let thin = |a: &&PartStack, b: &&PartStack| {
        a.stack.total.thickness.min.total_cmp(&b.stack.total.thickness.min)
    };
    let thinnest = context.parts.iter().min_by(thin).map(|part| part.name);
    let first_missed = standings.iter().filter(|s| !s.met()).filter_map(Standing::worst).next();
    match (first_missed, worst) {
        (Some((index, _)), _) | (None, Some((_, index))) => index,
        (None, None) => {
            context.parts.iter().position(|part| Some(part.name) == thinnest).unwrap_or(0)
        }
    }
}

/// Draws the page.
pub fn stack_drawing(context: &StackContext) -> Drawing {
    let standings = judge_stack(context);
    let index = chosen(context, &standings);
    let colours = colours(context);
    let part = &context.parts[index];
    let tracks = chart::tracks(context, part, index, &standings, &colours);
    let seconds: f64 = context.layers.iter().map(|layer| layer.seconds()).sum();
    let of = match context.parts.len() {
        1 => String::new(),
        n => format!(" · {} of {n} parts, the one that stands worst", part.name),
    };
    let page = Words {
        title: context.title.to_owned(),
        subtitle: format!(
            "Thickness of {} layers after {} in the baths{of}",
            context.layers.len(),
            duration(seconds)
        ),
        notes: vec![words::trust(context)],
        ..Words::default()
    };
    let down = PART + BETWEEN + chart::height(&tracks);
    let panel_height = legend::height(context.layers.len() + 6, 0, 6);
    let (mut drawing, room, panel) = sheet(&page, (ACROSS, down), 50.0, panel_height);
    bodies::define_patterns(&mut drawing, &[Role::Part]);
    let above = Rect::new(room.x0, room.y0, room.x1, room.y0 + PART);
    let letters = letters(&part.stack.places);
    let times = draw_part(&mut drawing, context, part, above, &colours, &letters);
    let strips = Rect::new(room.x0, above.y1 + BETWEEN, room.x1, room.y1);
    chart::draw(&mut drawing, context, part, strips, &tracks, &letters);
    explain(&mut drawing, context, part, panel, &colours, times, &tracks);
    drawing
}

/// A marked place: its letter and the index of its place.
pub(super) type Letter = (char, usize);

/// Letters at even distances along each loop, in proportion to the loops' lengths.
fn letters(places: &[Place]) -> Vec<Letter> {
    let total: f64 = places.iter().map(|place| place.length_m).sum();
    let step = total / LETTERS as f64;
    let (mut along, mut next) = (0.0, 0.0);
    let mut out = Vec::new();
    let mut names = 'A'..='Z';
    let mut loop_index = None;
    for (k, place) in places.iter().enumerate() {
        // a loop begins with a letter
        if loop_index != Some(place.loop_index) {
            loop_index = Some(place.loop_index);
            next = along;
        }
        if along + place.length_m > next || out.is_empty() {
            out.extend(names.next().map(|name| (name, k)));
            next += step * ((along + place.length_m - next) / step).floor().max(0.0) + step;
        }
        along += place.length_m;
    }
    out
}

/// The part with its layers as bands; gives how many times too thick they are drawn.
fn draw_part(
    drawing: &mut Drawing,
    context: &StackContext,
    part: &PartStack,
    room: Rect,
    colours: &[&'static str],
    letters: &[Letter],
) -> f64 {
    let places = &part.stack.places;
    let world = bounds(places.iter().map(|place| place.at));
    let scale = View::fit(world, room.inflate(-1.9 * GREATEST, -1.45 * GREATEST)).scale;
    let size = room.size() / scale;
    let view = View { world: Rect::from_center_size(world.center(), size), area: room, scale };
    let mean = part.stack.total.thickness.mean.max(1e-12);
    let times = fine_below(MEAN / mean / scale);
    let pixels = |metres: f64| (metres.max(0.0) * times * scale).min(GREATEST);

    let polygons = bodies::polygons(part.outline, &view);
    drawing.add(rectangle(room).set("fill", "#eef3f6"));
    let mut placer = Placer::new(room, Vec::new());
    drawing.clipped(room, |drawing| {
        drawing.add(bodies::filled(Role::Part, bodies::loops_data(&polygons)));
        let mut below = vec![0.0; places.len()];
        for (k, layer) in part.stack.layers.iter().enumerate() {
            let sum: Vec<f64> = below.iter().zip(&layer.thickness_m).map(|(b, t)| b + t).collect();
            let thin = pixels(layer.thickness.mean) < LINE;
            let quads: Vec<[Point; 4]> = places
                .iter()
                .enumerate()
                .map(|(i, place)| {
                    let (low, high) = (pixels(below[i]), pixels(sum[i]));
                    // a line where the layer is too thin to see
                    let line = if thin && layer.thickness_m[i] > 0.0 { low + LINE } else { low };
                    quad(place, &view, low, high.max(line))
                })
                .collect();
            for (i, quad) in quads.iter().enumerate() {
                let mut data = path_data(*quad, true);
                // the wedge to the next place where the outline turns
                if let Some(next) = following(places, i).map(|next| quads[next]) {
                    data.push_str(&path_data([quad[1], next[0], next[3], quad[2]], true));
                }
                let path = Path::new().set("d", data).set("fill", colours[k]);
                drawing.add(path.set("stroke", colours[k]).set("stroke-width", 0.6));
            }
            below = sum;
        }
    });
    placer.body(polygons);
    for (i, place) in places.iter().enumerate() {
        if i % 3 == 0 {
            let top = pixels(part.stack.total.thickness_m[i]) + LINE;
            let corners = quad(place, &view, 0.0, top);
            placer.take(bounds(corners));
        }
    }
    for (name, k) in letters {
        let place = &places[*k];
        let way = normal(place);
        let top = pixels(part.stack.total.thickness_m[*k]) + 2.0;
        let foot = view.pixel(place.at);
        let at = foot + way * top;
        drawing.add(line(foot, at).set("stroke", INK).set("stroke-width", 1.0));
        let style = TextStyle::new(13.0).bold();
        let width = font::width(&name.to_string(), style.size, Weight::SemiBold) + 4.0;
        if let Some(placed) = placer.close_to(at, way, width, style.size + 1.0) {
            bodies::write(drawing, placed, &name.to_string(), style);
        }
        let dot = Circle::new().set("cx", rounded(foot.x)).set("cy", rounded(foot.y)).set("r", 2.4);
        drawing.add(dot.set("fill", INK));
    }
    bodies::frame(drawing, room);
    let from = Point::new(room.x0, room.y1 + 20.0);
    length_scale(drawing, from, 180.0, scale, context.units);
    times
}

/// The place that begins where place `i` ends, round the loop.
fn following(places: &[Place], i: usize) -> Option<usize> {
    let place = &places[i];
    let own = |k: &usize| places[*k].loop_index == place.loop_index;
    let next = (i + 1..places.len()).next().filter(own).or_else(|| (0..i).find(own))?;
    let reach = place.length_m + places[next].length_m;
    // bath does not reach every place: neighbours touch, up to the chord of a bend
    ((places[next].at - place.at).hypot() <= 0.55 * reach).then_some(next)
}

/// Out of the metal on the page.
fn normal(place: &Place) -> Vec2 {
    Vec2::new(place.normal[0], -place.normal[1])
}

/// The band of a place from one height above the metal to another.
fn quad(place: &Place, view: &View, low: f64, high: f64) -> [Point; 4] {
    let out = normal(place);
    let along = Vec2::new(-place.normal[1], place.normal[0]) * (place.length_m / 2.0);
    let (from, to) = (view.pixel(place.at - along), view.pixel(place.at + along));
    [from + out * low, to + out * low, to + out * high, from + out * high]
}

/// The panel: colours, letters, how the thickness is drawn.
fn explain(
    drawing: &mut Drawing,
    context: &StackContext,
    part: &PartStack,
    panel: Rect,
    colours: &[&'static str],
    times: f64,
    tracks: &[Track],
) {
    let heading = TextStyle::new(12.5).bold();
    drawing.text(Point::new(panel.x0, panel.y0 + 12.0), "Layers, outermost first", heading);
    let mut y = panel.y0 + 24.0;
    let rows = context.layers.iter().zip(colours).zip(&part.stack.layers);
    for ((layer, colour), profile) in rows.rev() {
        let swatch = Rect::new(panel.x0, y, panel.x0 + 28.0, y + 15.0);
        let fill = rectangle(swatch).set("fill", *colour);
        drawing.add(fill.set("stroke", INK).set("stroke-width", 0.6));
        let mean = context.units.thickness_text(profile.thickness.mean);
        y = legend::words(drawing, panel, y, &format!("{}: mean {mean}", layer.name));
    }
    y = legend::words(
        drawing,
        Rect { x0: panel.x0 - 36.0, ..panel },
        y + 4.0,
        &format!("Layers are drawn {} × too thick; the thinnest as a line.", trimmed(times, 0)),
    );
    if tracks.iter().any(|track| track.wanted.is_some()) {
        let at = y + 10.0;
        let ends = [Point::new(panel.x0, at), Point::new(panel.x0 + 28.0, at)];
        drawing.add(crate::output::band::dashed(path_data(ends, false)));
        y = legend::words(drawing, panel, y + 2.0, "wanted: at least");
        let swatch = Rect::new(panel.x0, y, panel.x0 + 28.0, y + 15.0);
        drawing.add(rectangle(swatch).set("fill", chart::MISSED));
        y = legend::words(drawing, panel, y, "too thin here");
    }
    if part.stack.places.iter().any(|place| !place.significant) {
        let swatch = Rect::new(panel.x0, y, panel.x0 + 28.0, y + 15.0);
        drawing.add(rectangle(swatch).set("fill", chart::ASIDE));
        y = legend::words(drawing, panel, y, "not on the significant surface: not judged");
    }
    legend::words(
        drawing,
        Rect { x0: panel.x0 - 36.0, ..panel },
        y + 4.0,
        "Letters mark the same places above and below.",
    );
}
