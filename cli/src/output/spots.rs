//! Bare and burning places as strokes along the outlines of parts.

use shapes::{Point, Rect, Vec2};
use solver::Role;
use svg::node::element::Path;

use super::Context;
use super::drawing::{Drawing, INK, line, path_data};
use super::findings::Spot;
use super::legend;
use super::page::View;

/// What is marked, with the colour of its stroke and of the line inside it. They differ in
/// lightness, so that no picture needs colour to tell them apart.
const MARKS: [(Spot, &str, &str); 2] =
    [(Spot::Bare, "#ffffff", "#d81b60"), (Spot::Burning, "#d81b60", "#d81b60")];
const WIDTH: f64 = 4.0;

/// Marks the bare and burning stretches of all parts, or of one.
pub fn draw(drawing: &mut Drawing, context: &Context, view: &View, only: Option<usize>) {
    for (spot, outer, inner) in MARKS {
        let data = strokes(context, view, only, spot);
        if data.is_empty() {
            continue;
        }
        for (colour, width) in [(outer, WIDTH), (inner, 0.4 * WIDTH)] {
            let path = Path::new().set("d", data.clone()).set("fill", "none");
            drawing.add(
                path.set("stroke", colour).set("stroke-width", width).set("stroke-linecap", "butt"),
            );
        }
    }
}

fn strokes(context: &Context, view: &View, only: Option<usize>, spot: Spot) -> String {
    let mut data = String::new();
    for (index, body) in context.solution.bodies.iter().enumerate() {
        if body.role != Role::Part || only.is_some_and(|only| only != index) {
            continue;
        }
        for (row, stretch) in body.stretches.iter().enumerate() {
            if context.spot(index, row) == spot {
                let along = Vec2::new(-stretch.normal[1], stretch.normal[0]);
                let half = along * (0.5 * stretch.length_m);
                let ends = [stretch.at - half, stretch.at + half].map(|p| view.pixel(p));
                data.push_str(&path_data(ends, false));
            }
        }
    }
    data
}

/// Explains the marks that are in the picture; returns where the panel goes on.
pub fn explain(drawing: &mut Drawing, context: &Context, panel: Rect, top: f64) -> f64 {
    explain_all(drawing, std::slice::from_ref(context), panel, top)
}

/// The same for a picture of several runs.
pub fn explain_all(drawing: &mut Drawing, contexts: &[Context<'_>], panel: Rect, top: f64) -> f64 {
    let found: Vec<_> = contexts.iter().flat_map(Context::spot_places).collect();
    let Some(first) = contexts.first() else { return top };
    let mut y = top;
    for (spot, outer, inner) in MARKS {
        if !found.iter().any(|places| places.spot == spot) {
            continue;
        }
        let (from, to) = (Point::new(panel.x0, y + 8.0), Point::new(panel.x0 + 28.0, y + 8.0));
        drawing.add(line(from, to).set("stroke", INK).set("stroke-width", WIDTH + 1.5));
        drawing.add(line(from, to).set("stroke", outer).set("stroke-width", WIDTH));
        drawing.add(line(from, to).set("stroke", inner).set("stroke-width", 0.4 * WIDTH));
        let (word, side, limit): (_, _, fn(&Context<'_>) -> _) = match spot {
            Spot::Burning => ("burning", "above", |c| c.window.max),
            _ => ("bare", "below", |c| c.findings.bath.threshold),
        };
        let one = limit(first);
        let words = match one {
            Some(i) if contexts.iter().all(|c| limit(c) == one) => {
                format!("{word}: {side} {}", first.units.density_text(i.si()))
            }
            // baths differ
            _ => word.into(),
        };
        y = legend::words(drawing, panel, y, &words);
    }
    y
}

/// Rows that the explanation takes.
pub fn rows(context: &Context) -> usize {
    let found = context.spot_places();
    MARKS.iter().filter(|(spot, ..)| found.iter().any(|places| places.spot == *spot)).count()
}
