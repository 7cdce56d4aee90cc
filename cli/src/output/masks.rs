//! Stopped-off stretches of an outline: a zebra line along them.

use shapes::{Point, Rect};
use solver::{Body, Layout};
use svg::node::element::Path;

use super::drawing::{Drawing, INK, path_data};
use super::legend;
use super::page::View;

/// Pixels between the points of the line.
const STEP: f64 = 3.0;
/// Points at most: a mask far larger than the picture needs no more inside it.
const MOST_STEPS: f64 = 20_000.0;

/// Draws the masks of a body as far as they lie in or near `room`.
pub fn draw(drawing: &mut Drawing, body: &Body, view: &View, room: Rect) {
    let around = room.inflate(3.0, 3.0);
    for mask in &body.masked {
        let Some(curve) = body.outline.loops().get(mask.loop_index) else { continue };
        let length = mask.to_m - mask.from_m;
        let steps = (length * view.scale / STEP).ceil().clamp(1.0, MOST_STEPS) as usize;
        // corners between, so that the line goes into them
        let mut places: Vec<f64> =
            (0..=steps).map(|k| mask.from_m + length * k as f64 / steps as f64).collect();
        let turns = [0.0, curve.length()];
        places.extend(
            turns
                .iter()
                .flat_map(|turn| curve.joint_positions().iter().map(move |s| s + turn))
                .filter(|s| *s > mask.from_m && *s < mask.to_m),
        );
        places.sort_by(f64::total_cmp);
        let mut runs: Vec<Vec<Point>> = vec![Vec::new()];
        for s in places {
            let at = view.pixel(curve.point_at(s));
            if around.contains(at) {
                if let Some(run) = runs.last_mut() {
                    run.push(at);
                }
            } else if runs.last().is_some_and(|run| !run.is_empty()) {
                runs.push(Vec::new());
            }
        }
        let data: String = runs.into_iter().map(|run| path_data(run, false)).collect();
        zebra(drawing, data);
    }
}

fn zebra(drawing: &mut Drawing, data: String) {
    let path = Path::new().set("d", data).set("fill", "none").set("stroke-linejoin", "round");
    drawing.add(path.clone().set("stroke", INK).set("stroke-width", 5.0));
    let dashes = path.set("stroke", "#ffffff").set("stroke-width", 3.2);
    drawing.add(dashes.set("stroke-dasharray", "4 4"));
}

/// One if something is masked, so that the legend needs a row for it.
pub fn count(layout: &Layout) -> usize {
    usize::from(layout.bodies.iter().any(|body| !body.masked.is_empty()))
}

/// The legend's row for masks, if there are any; returns where it ends.
pub fn explain(drawing: &mut Drawing, panel: Rect, top: f64, layout: &Layout) -> f64 {
    if count(layout) == 0 {
        return top;
    }
    let ends = [panel.x0, panel.x0 + 28.0].map(|x| Point::new(x, top + 8.0));
    zebra(drawing, path_data(ends, false));
    legend::words(drawing, panel, top, "masked (stopped off)")
}
