//! Turns the shape keys of a body into an outline in drawing units.

use std::ops::Range;

use shapes::{Axis, Outline, Point, ShapeError, StripEnds, Vec2};

use super::cell::{At, Slot};
use super::context::Context;
use super::drawing_file;
use super::follow::{self, Hall, Neighbour};
use super::forms::Pair;
use super::tables::{BodyTable, OutlineTable};
use crate::diagnostic::Diagnostic;
use crate::units::nearest;

/// Most copies of one body: a rack of a thousand is a slip of the pen.
const MAX_COPIES: f64 = 1000.0;

fn point(pair: &Pair) -> Point {
    Point::new(pair.0.value, pair.1.value)
}

fn points(list: &[At<Pair>]) -> Vec<Point> {
    list.iter().map(|at| point(&at.value)).collect()
}

/// An outline with the place of its shape key.
pub type Drawn = (Outline, Range<usize>);

/// Turns a shape's refusal into a message at the shape.
fn drawn(
    made: Result<Outline, ShapeError>,
    span: &Range<usize>,
    cx: &mut Context<'_>,
) -> Option<Drawn> {
    match made {
        Ok(outline) => Some((outline, span.clone())),
        Err(error) => {
            let fault = Diagnostic::error("E014", format!("this shape cannot be drawn: {error}"));
            cx.fault(fault.at(span.clone(), "this shape"))
        }
    }
}

/// A key of a shape's own table; missing ones are faults.
fn part<'s, T>(
    slot: &'s Slot<T>,
    key: &str,
    shape: &str,
    span: &Range<usize>,
    cx: &mut Context<'_>,
) -> Option<&'s T> {
    let how = format!("`{shape}` takes: {}", keys_of(shape));
    cx.required(slot, key, &format!("`{shape}`"), Some(span.clone()), &how).map(|at| &at.value)
}

fn keys_of(shape: &str) -> &'static str {
    match shape {
        "rect" => "{ at = [x, y], size = [w, h], corner = r }, corner optional",
        "disc" => "{ at = [x, y], radius = r }",
        "ring" => "{ at = [x, y], outer = R, inner = r }",
        _ => "{ points = [[x, y], ...], thickness = t, ends = \"flat\" }, ends optional",
    }
}

/// The shapes a body or a tank may have, as references to the slots of its table.
struct Choice<'t> {
    rect: &'t Slot<super::tables::RectTable>,
    disc: &'t Slot<super::tables::DiscTable>,
    ring: &'t Slot<super::tables::RingTable>,
    polygon: &'t Slot<Vec<At<Pair>>>,
    path: &'t Slot<String>,
    strip: &'t Slot<super::tables::StripTable>,
    file: &'t Slot<super::tables::FileTable>,
    follow: &'t Slot<super::tables::FollowTable>,
    corner_radius: &'t Slot<f64>,
}

/// The outline of a tank.
pub fn tank(table: &At<OutlineTable>, unit_m: f64, cx: &mut Context<'_>) -> Option<Drawn> {
    let t = &table.value;
    let choice = Choice {
        rect: &t.rect,
        disc: &t.disc,
        ring: &Slot::Missing,
        polygon: &t.polygon,
        path: &t.path,
        strip: &Slot::Missing,
        file: &t.file,
        follow: &Slot::Missing,
        corner_radius: &t.corner_radius,
    };
    let allowed = "rect, disc, polygon, path, file";
    let around =
        Around { whose: "the tank's outline", called: "tank", unit_m, hall: None, all: &[] };
    choose(&choice, &around, allowed, &table.span, cx)
}

/// What a shape may need to know beside its own table.
struct Around<'a> {
    whose: &'a str,
    called: &'a str,
    unit_m: f64,
    hall: Option<&'a Hall>,
    all: &'a [Neighbour<'a>],
}

/// A body's shape on its way into the tank, in drawing units.
pub struct Shaped {
    /// As its key draws it.
    pub drawn: Outline,
    /// True if `mirror` turned its direction of travel round.
    pub mirrored: bool,
    /// After mirror, turn, move and repeat.
    pub outlines: Vec<Outline>,
    /// The value of its shape key.
    pub place: Range<usize>,
}

/// The outlines of a body; `unit_m` is the drawing's unit in metres, `all` what it may follow.
pub fn body(
    table: &At<BodyTable>,
    name: &str,
    unit_m: f64,
    hall: Option<&Hall>,
    all: &[Neighbour<'_>],
    cx: &mut Context<'_>,
) -> Option<Shaped> {
    let t = &table.value;
    let choice = Choice {
        rect: &t.rect,
        disc: &t.disc,
        ring: &t.ring,
        polygon: &t.polygon,
        path: &t.path,
        strip: &t.strip,
        file: &t.file,
        follow: &t.follow,
        corner_radius: &t.corner_radius,
    };
    let whose = format!("body `{name}`");
    let allowed = "rect, disc, ring, polygon, path, strip, file, follow";
    let around = Around { whose: &whose, called: name, unit_m, hall, all };
    let shape = choose(&choice, &around, allowed, &table.span, cx);
    let axis = match t.mirror.get() {
        None => None,
        Some(at) => match at.value.as_str() {
            "x" => Some(Axis::X),
            "y" => Some(Axis::Y),
            other => {
                let fault = Diagnostic::error("E012", format!("no axis `{other}` to mirror by"));
                let fault = fault.at(at.span.clone(), "expected \"x\" or \"y\"");
                return cx
                    .fault(fault.help("\"x\" flips left and right, \"y\" flips top and bottom"));
            }
        },
    };
    let copies = match t.repeat.get() {
        None => Some(None),
        Some(at) => copies(at, cx).map(Some),
    };
    let (drawn, span) = shape?;
    let mut outline = drawn.clone();
    if let Some(axis) = axis {
        outline = outline.mirrored(axis);
    }
    if let Some(turn) = t.turn.get() {
        outline = outline.turned(turn.value);
    }
    if let Some(shift) = t.r#move.get() {
        outline = outline.moved(point(&shift.value).to_vec2());
    }
    let outlines = match copies? {
        None => vec![outline],
        Some((count, step)) => outline.repeated(count, step),
    };
    if outlines.iter().all(Outline::is_finite) {
        return Some(Shaped { drawn, mirrored: axis.is_some(), outlines, place: span });
    }
    let fault =
        Diagnostic::error("E011", format!("the coordinates of body `{name}` are too large"));
    cx.fault(fault.at(span, "ends up outside the range of numbers"))
}

fn copies(table: &At<super::tables::RepeatTable>, cx: &mut Context<'_>) -> Option<(usize, Vec2)> {
    let how = "`repeat` takes: { count = 5, step = [60, 0] }";
    let span = Some(table.span.clone());
    let count = cx.required(&table.value.count, "count", "`repeat`", span.clone(), how);
    let step = cx.required(&table.value.step, "step", "`repeat`", span, how);
    let count = count?;
    if count.value.fract() != 0.0 || !(1.0..=MAX_COPIES).contains(&count.value) {
        return cx.out_of_range(count.span.clone(), "`count`", "a whole number from 1 to 1000");
    }
    // whole and at most MAX_COPIES, so the conversion is exact
    Some((count.value as usize, point(&step?.value).to_vec2()))
}

fn choose(
    shape: &Choice<'_>,
    around: &Around<'_>,
    allowed: &str,
    table: &Range<usize>,
    cx: &mut Context<'_>,
) -> Option<Drawn> {
    let given: Vec<(&str, bool, Option<Range<usize>>)> = vec![
        ("rect", shape.rect.is_missing(), shape.rect.span()),
        ("disc", shape.disc.is_missing(), shape.disc.span()),
        ("ring", shape.ring.is_missing(), shape.ring.span()),
        ("polygon", shape.polygon.is_missing(), shape.polygon.span()),
        ("path", shape.path.is_missing(), shape.path.span()),
        ("strip", shape.strip.is_missing(), shape.strip.span()),
        ("file", shape.file.is_missing(), shape.file.span()),
        ("follow", shape.follow.is_missing(), shape.follow.span()),
    ];
    let whose = around.whose;
    let named: Vec<_> = given.iter().filter(|(_, missing, _)| !missing).collect();
    if named.is_empty() {
        let fault = Diagnostic::error("E014", format!("{whose} has no shape"));
        let fault = fault.at(table.clone(), "needs exactly one shape");
        return cx.fault(fault.help(format!("shapes: {allowed}")));
    }
    if let [first, second, ..] = named.as_slice() {
        let fault = Diagnostic::error(
            "E014",
            format!("{whose} has two shapes, `{}` and `{}`", first.0, second.0),
        );
        let fault = match (&first.2, &second.2) {
            (Some(a), Some(b)) => {
                fault.at(b.clone(), "the second shape").and(a.clone(), "the first shape")
            }
            _ => fault.at(table.clone(), "needs exactly one shape"),
        };
        return cx.fault(fault.help("take one out, or make two bodies of it"));
    }
    if let (Some(radius), true) = (shape.corner_radius.get(), shape.polygon.is_missing()) {
        let fault = Diagnostic::error("E014", "`corner_radius` belongs to `polygon`");
        let fault = fault.at(radius.span.clone(), "no polygon here");
        let help = "round a rectangle with `corner` inside `rect`";
        return cx.fault(fault.help(help));
    }
    one_shape(shape, around, cx)
}

fn one_shape(shape: &Choice<'_>, around: &Around<'_>, cx: &mut Context<'_>) -> Option<Drawn> {
    if let Some(at) = shape.rect.get() {
        let place = part(&at.value.at, "at", "rect", &at.span, cx);
        let size = part(&at.value.size, "size", "rect", &at.span, cx);
        let corner = at.value.corner.get().map_or(0.0, |c| c.value);
        let ((w, h), place) = (size?, place?);
        return drawn(Outline::rect(point(place), (w.value, h.value), corner), &at.span, cx);
    }
    if let Some(at) = shape.disc.get() {
        let place = part(&at.value.at, "at", "disc", &at.span, cx);
        let radius = part(&at.value.radius, "radius", "disc", &at.span, cx);
        return drawn(Outline::disc(point(place?), *radius?), &at.span, cx);
    }
    if let Some(at) = shape.ring.get() {
        let place = part(&at.value.at, "at", "ring", &at.span, cx);
        let outer = part(&at.value.outer, "outer", "ring", &at.span, cx);
        let inner = part(&at.value.inner, "inner", "ring", &at.span, cx);
        return drawn(Outline::ring(point(place?), *outer?, *inner?), &at.span, cx);
    }
    if let Some(at) = shape.polygon.get() {
        let radius = shape.corner_radius.get().map_or(0.0, |r| r.value);
        return drawn(Outline::polygon(&points(&at.value), radius), &at.span, cx);
    }
    if let Some(at) = shape.path.get() {
        return drawn(Outline::path(&at.value), &at.span, cx);
    }
    if let Some(at) = shape.file.get() {
        return drawing_file::outline(at, around.unit_m, cx);
    }
    if let Some(at) = shape.follow.get() {
        return follow::outline(at, around.called, around.hall, around.all, cx);
    }
    let at = shape.strip.get()?;
    let line = part(&at.value.points, "points", "strip", &at.span, cx);
    let thickness = part(&at.value.thickness, "thickness", "strip", &at.span, cx);
    let ends = match at.value.ends.get() {
        None => StripEnds::Flat,
        Some(ends) => match ends.value.as_str() {
            "flat" => StripEnds::Flat,
            "round" => StripEnds::Round,
            other => {
                let near = nearest(other, ["flat", "round"]);
                let fault = Diagnostic::error("E012", format!("unknown strip ends `{other}`"))
                    .at(ends.span.clone(), "expected \"flat\" or \"round\"");
                let help =
                    near.map_or("ends: flat, round".to_owned(), |n| format!("did you mean `{n}`?"));
                return cx.fault(fault.help(help));
            }
        },
    };
    let thickness = thickness?.metres(around.unit_m) / around.unit_m;
    drawn(Outline::strip(&points(line?), thickness, ends), &at.span, cx)
}
