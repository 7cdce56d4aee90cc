//! What the job file says, drawn: outlines, names, corner numbers, sizes and clearances.
//!
//! Made by `throwmap check` before anything is solved, so that a slip of the pen (a part outside
//! the tank, an anode on the wrong side) is seen at once.

use std::collections::BTreeSet;

use shapes::{Outline, Point, Rect, Vec2};
use solver::{Body, Layout, Role, Symmetry};
use svg::node::element::Path;

use super::bodies;
use super::drawing::{Anchor, Drawing, FAINT, INK, PictureError, TextStyle, line, path_data};
use super::font::{self, Weight};
use super::format::DisplayUnits;
use super::labels::Placer;
use super::legend;
use super::masks;
use super::page::{Page, Size, Words};
use super::round;

/// More bodies than this (copies aside) and corner numbers would cover everything.
const MOST_NUMBERED: usize = 12;
/// A body with more corners (a traced drawing) is not numbered.
pub const MOST_CORNERS: usize = 24;
/// Clearances shown at most, the tightest first.
const MOST_CLEARANCES: usize = 24;
/// Colour of dimensions.
const MEASURE: &str = "#2a6f97";

/// The picture `layout.png`.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn layout_png(
    title: &str,
    layout: &Layout,
    units: DisplayUnits,
) -> Result<Vec<u8>, PictureError> {
    layout_drawing(title, layout, units).png()
}

/// Draws the layout with its dimensions.
pub fn layout_drawing(title: &str, layout: &Layout, units: DisplayUnits) -> Drawing {
    draw_sized(title, layout, units, Size::Sheet)
}

/// The same at another size.
pub(super) fn draw_sized(title: &str, layout: &Layout, units: DisplayUnits, size: Size) -> Drawing {
    let roles = bodies::roles(layout);
    let world = layout.tank.bounds();
    let shown = round::world(layout, world);
    let words = Words {
        title: title.into(),
        subtitle: format!(
            "Layout: tank section {} × {} {}, {}",
            match layout.symmetry {
                Symmetry::Planar => units.size(world.width()),
                Symmetry::Axial => format!("Ø {}", units.size(2.0 * world.x1)),
            },
            units.size(world.height()),
            units.length_unit(),
            match layout.symmetry {
                Symmetry::Planar => {
                    format!("{} deep (out of the page)", units.size_text(layout.depth.si()))
                }
                Symmetry::Axial => "round: all around the axis x = 0, x is the radius".into(),
            },
        ),
        notes: vec![
            "Small numbers count the corners of each outline (of copies only the first is numbered). Blue: shortest clear distances.".into(),
        ],
        size: Size::Sheet,
    }
    .sized(size);
    let extra = 1 + masks::count(layout) + round::rows(layout);
    let mut page = Page::new(&words, shown, legend::height(roles.len(), 0, extra));
    let numbers = page.axes(units, layout.symmetry);
    let Page { mut drawing, view, room, panel } = page;
    drawing.plot(view, None);
    bodies::define_patterns(&mut drawing, &roles);
    let mut placer = Placer::new(room, numbers);
    round::section(&mut drawing, &mut placer, layout, &view, |drawing, placer| {
        bodies::draw(drawing, placer, layout, &view, room);
        bodies::wall(drawing, placer, layout, &view, room);
    });

    let clearances = clearances(layout, units);
    let ends = |c: &Clearance| (view.pixel(c.from), view.pixel(c.to));
    for clearance in &clearances {
        let (from, to) = ends(clearance);
        measure(&mut drawing, &mut placer, &clearance.text, from, to);
    }
    let size = |index: usize| {
        let outline = &layout.bodies[index].outline;
        (layout.bodies.len() <= MOST_NUMBERED)
            .then(|| round::extent(layout.symmetry, outline, units))
    };
    bodies::names(&mut drawing, &mut placer, layout, &view, &size);
    let numbered = unlike(layout);
    if numbered.len() <= MOST_NUMBERED {
        for body in numbered {
            corners(&mut drawing, &mut placer, &body.outline, |p| view.pixel(p));
        }
    }
    let y = legend::roles(&mut drawing, panel, panel.y0 + 6.0, &roles);
    let y = masks::explain(&mut drawing, panel, y, layout);
    round::explain(&mut drawing, panel, y, layout);
    drawing
}

/// The bodies without the copies of earlier ones: same name but for its number, same outline.
fn unlike(layout: &Layout) -> Vec<&Body> {
    let base = |body: &Body| {
        body.name.rsplit_once('-').map_or_else(|| body.name.clone(), |(base, _)| base.to_owned())
    };
    let mut found: Vec<&Body> = Vec::new();
    for body in &layout.bodies {
        let size = |b: &Body| (b.outline.bounds().size().to_vec2(), b.outline.perimeter());
        let alike = |other: &&Body| {
            let ((a, p), (b, q)) = (size(body), size(other));
            base(body) == base(other) && (a - b).hypot() + (p - q).abs() < 1e-9 * p
        };
        if !found.iter().any(alike) {
            found.push(body);
        }
    }
    found
}

/// A shortest link between two outlines.
struct Clearance {
    from: Point,
    to: Point,
    text: String,
}

/// Each body's shortest way to its nearest neighbour and to the nearest wall, each part's to its
/// nearest anode as well, each pair once, the tightest first. On a crowded rack each distance is shown only once.
fn clearances(layout: &Layout, units: DisplayUnits) -> Vec<Clearance> {
    let mut pairs = BTreeSet::new();
    let mut found = Vec::new();
    for (i, body) in layout.bodies.iter().enumerate() {
        let links: Vec<(usize, Link)> = layout
            .bodies
            .iter()
            .enumerate()
            .filter(|(j, _)| *j != i)
            .map(|(j, other)| (j, shortest(&body.outline, &other.outline)))
            .collect();
        let nearest = |wanted: &dyn Fn(usize) -> bool| {
            let some = links.iter().filter(|(j, _)| wanted(*j));
            some.min_by(|a, b| a.1.2.total_cmp(&b.1.2)).copied()
        };
        let anode = |j: usize| body.role == Role::Part && layout.bodies[j].role == Role::Anode;
        for (j, link) in nearest(&|_| true).into_iter().chain(nearest(&anode)) {
            // the same gap to an anode again and again, along a rack, is told once
            let told = anode(j) && found.iter().any(|f: &Link| (f.2 - link.2).abs() < 1e-6 * f.2);
            if !told && pairs.insert((i.min(j), i.max(j))) {
                found.push(link);
            }
        }
        let to_wall = shortest(&body.outline, &layout.tank);
        // the axis is no wall
        if layout.symmetry == Symmetry::Planar || to_wall.0.x.max(to_wall.1.x) > 1e-9 {
            found.push(to_wall);
        }
    }
    // what another body stands in is no clear distance
    let blocked = |from: Point, to: Point| {
        let between = |body: &Body| {
            (1..SAMPLES).any(|k| {
                let p = from.lerp(to, f64::from(k) / f64::from(SAMPLES));
                body.outline.contains(p)
            })
        };
        layout.bodies.iter().any(between)
    };
    // bodies that touch have no clearance to show
    let least = 1e-4 * layout.tank.diagonal();
    found.retain(|l| l.2.is_finite() && l.2 > least && !blocked(l.0, l.1));
    found.sort_by(|a, b| a.2.total_cmp(&b.2));
    let mut seen = BTreeSet::new();
    let crowded = layout.bodies.len() > MOST_NUMBERED;
    found
        .into_iter()
        .map(|(from, to, gap)| Clearance { from, to, text: units.clearance_text(gap) })
        .filter(|c| !crowded || seen.insert(c.text.clone()))
        .take(MOST_CLEARANCES)
        .collect()
}

/// Points on a link at which a body in the way is looked for.
const SAMPLES: u32 = 64;
/// Points along a curve from which the nearest point of the other outline is looked for.
const STARTS: usize = 24;

/// Ends and length of a link.
type Link = (Point, Point, f64);

/// The shortest link between two outlines.
///
/// From corners and points between them to the other outline and back again until the link no
/// longer shrinks: exact for corners against anything, to a hair for curve against curve.
fn shortest(a: &Outline, b: &Outline) -> Link {
    let mut best = (Point::ORIGIN, Point::ORIGIN, f64::INFINITY);
    for (one, other, swapped) in [(a, b, false), (b, a, true)] {
        for curve in one.loops() {
            let even =
                (0..STARTS).map(|k| curve.point_at(curve.length() * k as f64 / STARTS as f64));
            for start in curve.joints().iter().copied().chain(even) {
                let (mut p, mut q) = (start, other.nearest(start).2);
                let gap = (q - p).hypot();
                // a start that is far off cannot win by sliding along its own outline
                if gap > best.2 + curve.length() / STARTS as f64 {
                    continue;
                }
                for _ in 0..20 {
                    p = one.nearest(q).2;
                    q = other.nearest(p).2;
                }
                for (p, q) in [(start, other.nearest(start).2), (p, q)] {
                    let gap = (q - p).hypot();
                    if gap < best.2 * (1.0 - 1e-9) {
                        best = if swapped { (q, p, gap) } else { (p, q, gap) };
                    }
                }
            }
        }
    }
    best
}

/// A thin line with an arrow head at each end.
fn arrow(drawing: &mut Drawing, from: Point, to: Point) {
    let length = (to - from).hypot();
    if length < 1.0 {
        return;
    }
    let along = (to - from) / length;
    let across = Vec2::new(-along.y, along.x);
    drawing.add(line(from, to).set("stroke", MEASURE).set("stroke-width", 1));
    let head = (length / 3.0).min(7.0);
    for (tip, back) in [(from, along), (to, -along)] {
        let base = tip + back * head;
        let points = [tip, base + across * (head * 0.35), base - across * (head * 0.35)];
        drawing.add(Path::new().set("d", path_data(points, true)).set("fill", MEASURE));
    }
}

/// Draws the distance between two points where its number finds room.
fn measure(drawing: &mut Drawing, placer: &mut Placer, text: &str, from: Point, to: Point) {
    let style = TextStyle::new(11.0).coloured(MEASURE);
    let width = font::width(text, style.size, Weight::Regular) + 4.0;
    let along = to - from;
    let beside = Vec2::new(along.y.abs(), -along.x.abs()) / along.hypot().max(1e-9);
    // an arrow without its number says nothing
    let found = placer.close_to(from.midpoint(to), beside, width, style.size + 2.0);
    if let Some(placed) = found {
        arrow(drawing, from, to);
        placer.line(from, to);
        bodies::write(drawing, placed, text, style);
    }
}

/// Where the number of a corner may stand, best first; `way` points out of the body.
fn number_spots(way: Vec2) -> impl Iterator<Item = Vec2> {
    [10.0, 14.0, 20.0, 28.0, 38.0].into_iter().flat_map(move |far| {
        [0.0f64, 30.0, -30.0, 60.0, -60.0, 90.0, -90.0].into_iter().map(move |degrees| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            far * Vec2::new(way.x * cos - way.y * sin, way.x * sin + way.y * cos)
        })
    })
}

/// Numbers the corners of an outline, outside the metal.
fn corners(
    drawing: &mut Drawing,
    placer: &mut Placer,
    outline: &Outline,
    pixel: impl Fn(Point) -> Point,
) {
    let count: usize = outline.loops().iter().map(|l| l.corners().len()).sum();
    if count > MOST_CORNERS {
        return;
    }
    let style = TextStyle::new(9.5).coloured(FAINT).anchored(Anchor::Middle);
    let mut number = 0;
    for curve in outline.loops() {
        for corner in curve.corners() {
            number += 1;
            let text = number.to_string();
            // between the outward normals just before and just after the corner
            let hair = 1e-4 * curve.length();
            let out = curve.outward_at(corner.s - hair) + curve.outward_at(corner.s + hair);
            let way = Vec2::new(out.x, -out.y) / out.hypot().max(1e-9);
            let at = pixel(corner.at);
            let size = (font::width(&text, style.size, Weight::Regular) + 2.0, style.size);
            // close by where there is room, farther off at a longer line where there is none
            let found =
                number_spots(way).find(|arm| placer.claim(Rect::from_center_size(at + *arm, size)));
            if let Some(arm) = found {
                let centre = at + arm;
                let tip = at + arm * ((arm.hypot() - 6.5) / arm.hypot());
                drawing.text(Point::new(centre.x, centre.y + 0.36 * style.size), &text, style);
                drawing.add(line(at, tip).set("stroke", INK).set("stroke-width", 0.8));
            }
        }
    }
}
