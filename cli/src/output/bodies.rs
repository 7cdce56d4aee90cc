//! How bodies look: every role has a grey and a pattern of its own, so that no picture needs
//! colour to tell an anode from a part.

use shapes::{Outline, Point, Rect};
use solver::{Layout, Role};
use svg::node::element::{Circle, Path, Pattern, Rectangle};

use super::drawing::{Anchor, Drawing, FAINT, INK, TextStyle, line, path_data, rectangle};
use super::font::{self, Weight};
use super::labels::{Placed, Placer, Polygon, bounds};
use super::masks;
use super::page::View;

/// Flattening of curves for pictures, pixels.
const FLAT: f64 = 0.15;

/// The loops of an outline in pixels.
pub fn polygons(outline: &Outline, view: &View) -> Vec<Polygon> {
    let tolerance = FLAT / view.scale;
    outline
        .loops()
        .iter()
        .map(|l| l.flatten(&[], tolerance).iter().map(|v| view.pixel(v.at)).collect())
        .collect()
}

/// What of closed loops lies in `room` and a little around it (Sutherland and Hodgman 1974,
/// *Commun. ACM* 17, 32-42; the border's own pieces lie outside `room`).
fn cut(loops: Vec<Polygon>, room: Rect) -> Vec<Polygon> {
    let around = room.inflate(20.0, 20.0);
    /// A coordinate that is at least the level inside.
    type Side = (fn(Point) -> f64, f64);
    let sides: [Side; 4] = [
        (|p| p.x, around.x0),
        (|p| -p.x, -around.x1),
        (|p| p.y, around.y0),
        (|p| -p.y, -around.y1),
    ];
    let clipped = loops.into_iter().map(|polygon| {
        sides.iter().fold(polygon, |polygon, (height, level)| {
            let mut kept = Polygon::with_capacity(polygon.len());
            for (k, b) in polygon.iter().enumerate() {
                let a = polygon[(k + polygon.len() - 1) % polygon.len()];
                let (ha, hb) = (height(a) - level, height(*b) - level);
                if (ha < 0.0) != (hb < 0.0) {
                    kept.push(a.lerp(*b, ha / (ha - hb)));
                }
                if hb >= 0.0 {
                    kept.push(*b);
                }
            }
            kept
        })
    });
    clipped.filter(|polygon| polygon.len() > 2).collect()
}

/// Path data of several closed loops.
pub fn loops_data(loops: &[Polygon]) -> String {
    loops.iter().map(|l| path_data(l.iter().copied(), true)).collect()
}

/// How a role is filled: id of its pattern and the colour under the pattern's marks.
struct Look {
    id: &'static str,
    ground: &'static str,
    opacity: f64,
}

fn look(role: Role) -> Look {
    let (id, ground, opacity) = match role {
        Role::Part => ("part", "#3d3d3d", 1.0),
        Role::Anode => ("anode", "#d4d4d4", 1.0),
        Role::Shield => ("shield", "#ffffff", 1.0),
        Role::Thief { .. } => ("thief", "#8a8a8a", 1.0),
        Role::Floating => ("floating", "#b4b4b4", 1.0),
        Role::Screen { .. } => ("screen", "#ffffff", 0.35),
    };
    Look { id, ground, opacity }
}

/// Legend words of a role.
pub fn legend_words(role: Role) -> &'static str {
    match role {
        Role::Part => "part (cathode)",
        Role::Anode => "anode",
        Role::Shield => "shield (insulator)",
        Role::Thief { .. } => "thief (cathode)",
        Role::Floating => "floating metal",
        Role::Screen { .. } => "screen (lets some current through)",
    }
}

/// The roles of a layout, each once, in the order of a legend.
pub fn roles(layout: &Layout) -> Vec<Role> {
    let mut found: Vec<Role> = Vec::new();
    for word in ["part", "thief", "anode", "floating", "shield", "screen"] {
        found.extend(layout.bodies.iter().map(|b| b.role).find(|r| r.word() == word));
    }
    found
}

/// Makes the patterns of these roles known to the drawing.
pub fn define_patterns(drawing: &mut Drawing, roles: &[Role]) {
    for role in roles {
        let look = look(*role);
        let size = if matches!(role, Role::Anode) { 10.0 } else { 8.0 };
        let mut pattern = Pattern::new()
            .set("id", look.id)
            .set("patternUnits", "userSpaceOnUse")
            .set("width", size)
            .set("height", size)
            .add(
                Rectangle::new()
                    .set("width", size)
                    .set("height", size)
                    .set("fill", look.ground)
                    .set("fill-opacity", look.opacity),
            );
        let stroke = |from: (f64, f64), to: (f64, f64)| {
            line(Point::new(from.0, from.1), Point::new(to.0, to.1))
                .set("stroke", "#303030")
                .set("stroke-width", 1)
        };
        let dot = |x: f64, y: f64, r: f64| {
            Circle::new().set("cx", x).set("cy", y).set("r", r).set("fill", "#202020")
        };
        pattern = match role {
            // plain, the darkest
            Role::Part => pattern,
            // plus signs
            Role::Anode => {
                pattern.add(stroke((2.5, 5.0), (7.5, 5.0))).add(stroke((5.0, 2.5), (5.0, 7.5)))
            }
            // slanting lines
            Role::Shield => pattern
                .add(stroke((-1.0, 1.0), (1.0, -1.0)))
                .add(stroke((0.0, 8.0), (8.0, 0.0)))
                .add(stroke((7.0, 9.0), (9.0, 7.0))),
            // level lines
            Role::Thief { .. } => {
                pattern.add(stroke((0.0, 4.0), (8.0, 4.0)).set("stroke-width", 2))
            }
            // crossing lines
            Role::Floating => {
                pattern.add(stroke((0.0, 0.0), (8.0, 8.0))).add(stroke((0.0, 8.0), (8.0, 0.0)))
            }
            // dots
            Role::Screen { .. } => pattern.add(dot(2.0, 2.0, 1.2)).add(dot(6.0, 6.0, 1.2)),
        };
        drawing.define(pattern);
    }
}

/// A closed shape filled as its role.
pub fn filled(role: Role, data: String) -> Path {
    let mut path = Path::new()
        .set("d", data)
        .set("fill", format!("url(#{})", look(role).id))
        .set("fill-rule", "evenodd")
        .set("stroke", INK)
        .set("stroke-width", 1.2)
        .set("stroke-linejoin", "round");
    if matches!(role, Role::Screen { .. }) {
        path = path.set("stroke-dasharray", "5 3");
    }
    path
}

/// Draws all bodies; the placer learns where they are. Body `i` of the layout is body `i` there.
///
/// Outlines are cut a little outside `room`: a body that reaches far out of the picture would make
/// the renderer paint pixels that nobody sees.
pub fn draw(drawing: &mut Drawing, placer: &mut Placer, layout: &Layout, view: &View, room: Rect) {
    // screens first: what stands in them stays visible
    let mut order: Vec<usize> = (0..layout.bodies.len()).collect();
    order.sort_by_key(|i| !matches!(layout.bodies[*i].role, Role::Screen { .. }));
    let shapes: Vec<Vec<Polygon>> =
        layout.bodies.iter().map(|b| cut(polygons(&b.outline, view), room)).collect();
    for index in order {
        drawing.add(filled(layout.bodies[index].role, loops_data(&shapes[index])));
        masks::draw(drawing, &layout.bodies[index], view, room);
    }
    for loops in shapes {
        placer.body(loops);
    }
}

/// Sizes at which names are tried, pixels: small ones only where there is no room.
const NAME_SIZES: [f64; 3] = [12.5, 11.0, 9.5];

/// Writes each body's name inside or beside it. A body too thin to show its pattern gets its role
/// beside the name; `more` adds words to a body's name.
pub fn names(
    drawing: &mut Drawing,
    placer: &mut Placer,
    layout: &Layout,
    view: &View,
    more: &dyn Fn(usize) -> Option<String>,
) {
    // the largest first: they have room inside; small ones then find what is left outside
    let mut order: Vec<usize> = (0..layout.bodies.len()).filter(|i| placer.is_seen(*i)).collect();
    let size = |i: &usize| layout.bodies[*i].outline.bounds().area();
    order.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let many = order.len() > 20;
    for index in order {
        let body = &layout.bodies[index];
        let area = body.outline.bounds();
        let thin = area.width().min(area.height()) * view.scale < 7.0;
        let word = body.role.word();
        let text = if thin && !many && !body.name.contains(word) {
            format!("{} ({word})", body.name)
        } else {
            body.name.clone()
        };
        let text = match more(index) {
            Some(more) => format!("{text}: {more}"),
            None => text,
        };
        let text = font::shorten(&text, NAME_SIZES[0], Weight::SemiBold, 320.0);
        let sizes = if many { &NAME_SIZES[1..] } else { &NAME_SIZES[..] };
        let last = sizes.iter().rev().take(1).map(|s| (s, true));
        for (size, last) in sizes.iter().map(|s| (s, false)).chain(last) {
            let style = TextStyle::new(*size).bold();
            let width = font::width(&text, *size, Weight::SemiBold) + 6.0;
            if let Some(placed) = placer.name(index, width, size + 3.0, last) {
                write(drawing, placed, &text, style);
                break;
            }
        }
    }
}

/// Writes a text where the placer found room for it, with its leader.
pub fn write(drawing: &mut Drawing, placed: Placed, text: &str, style: TextStyle) {
    if let Some((from, to)) = placed.leader {
        drawing.add(
            line(from, to)
                .set("stroke", "#ffffff")
                .set("stroke-width", 3)
                .set("stroke-opacity", 0.7),
        );
        drawing.add(line(from, to).set("stroke", INK).set("stroke-width", 1));
    }
    let centre = placed.area.center();
    let style = style.anchored(Anchor::Middle);
    if placed.upright {
        let at = Point::new(centre.x + 0.36 * style.size, centre.y);
        drawing.text_on_plate(at, text, style.upright());
    } else {
        drawing.text_on_plate(Point::new(centre.x, centre.y + 0.36 * style.size), text, style);
    }
}

/// White over everything outside the tank.
pub fn tank(drawing: &mut Drawing, layout: &Layout, view: &View) {
    let loops = polygons(&layout.tank, view);
    let around = bounds(loops.iter().flatten().copied()).inflate(6.0, 6.0);
    let frame = vec![
        Point::new(around.x0, around.y0),
        Point::new(around.x1, around.y0),
        Point::new(around.x1, around.y1),
        Point::new(around.x0, around.y1),
    ];
    let data = format!("{}{}", path_data(frame, true), loops_data(&loops));
    drawing.add(Path::new().set("d", data).set("fill", "#ffffff").set("fill-rule", "evenodd"));
}

/// A thin frame round the room of a picture that shows only a part of the tank.
pub fn frame(drawing: &mut Drawing, room: Rect) {
    drawing.add(rectangle(room).set("fill", "none").set("stroke", FAINT).set("stroke-width", 0.8));
}

/// The tank's wall as a heavy line; the placer learns where it is.
pub fn wall(drawing: &mut Drawing, placer: &mut Placer, layout: &Layout, view: &View, room: Rect) {
    let loops = cut(polygons(&layout.tank, view), room);
    let data = loops_data(&loops);
    placer.walls(loops);
    drawing.add(
        Path::new()
            .set("d", data)
            .set("fill", "none")
            .set("stroke", INK)
            .set("stroke-width", 2)
            .set("stroke-linejoin", "miter"),
    );
}
