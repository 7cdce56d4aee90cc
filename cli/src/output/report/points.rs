//! The outline of every part as points for the script: where each lies in every picture, and what
//! to read out there.

use serde::Serialize;
use solver::{Role, Symmetry};

use super::Figure;
use crate::output::Context;
use crate::output::drawing::Plot;
use crate::output::places::Places;

/// Points at most; of a large rack every second, third, ... stretch is left in.
const MOST: usize = 4000;

/// How places map onto a picture: of the section, or of a chart.
#[derive(Debug, Clone, Serialize)]
#[serde(untagged)]
pub enum PlotJson {
    /// Pixels per mm of the section.
    Section {
        /// The only body that is shown.
        body: Option<usize>,
        /// Left edge, pixels.
        x0: f64,
        /// Upper edge, pixels.
        y0: f64,
        /// x at the left edge, mm.
        wx: f64,
        /// y at the upper edge, mm.
        wy: f64,
        /// Pixels per mm.
        scale: f64,
    },
    /// Pixels per mm along the outline and per unit of the value.
    Chart {
        /// Always true.
        chart: bool,
        /// The body.
        body: Option<usize>,
        /// Pixel of the outline's start.
        x0: f64,
        /// Pixel of zero.
        y0: f64,
        /// Pixels per mm.
        sx: f64,
        /// Pixels per µm, mil, A/dm² or A/ft².
        sy: f64,
    },
}

impl PlotJson {
    /// The mapping of a drawing's plot.
    pub fn section(plot: &Plot) -> Self {
        let view = plot.view;
        Self::Section {
            body: plot.body,
            x0: cut(view.area.x0, 2),
            y0: cut(view.area.y0, 2),
            wx: cut(view.world.x0 * 1e3, 4),
            wy: cut(view.world.y1 * 1e3, 4),
            scale: view.scale * 1e-3,
        }
    }
}

#[derive(Serialize)]
struct Data {
    /// True where the left half of the pictures is a mirror image.
    round: bool,
    pictures: Vec<PictureJson>,
    points: Vec<PointJson>,
}

#[derive(Serialize)]
struct PictureJson {
    id: &'static str,
    width: f64,
    height: f64,
    plots: Vec<PlotJson>,
}

/// Body, place in mm, way along the outline in mm, value in shop units, text.
#[derive(Serialize)]
struct PointJson {
    b: usize,
    x: f64,
    y: f64,
    u: f64,
    v: f64,
    t: String,
}

/// The data as JSON that may stand in a page.
///
/// # Errors
/// None in practice: the object holds no map with odd keys.
pub fn json<'f>(
    context: &Context,
    places: &Places,
    figures: impl Iterator<Item = &'f Figure>,
) -> Result<String, serde_json::Error> {
    let picture = |f: &Figure| PictureJson {
        id: f.id,
        width: f.width,
        height: f.height,
        plots: f.plots.clone(),
    };
    let data = Data {
        round: context.layout.symmetry == Symmetry::Axial,
        pictures: figures.map(picture).collect(),
        points: points(context, places),
    };
    // no name in a job can end the script or begin an entity
    let text = serde_json::to_string(&data)?;
    Ok(text.replace('&', "\\u0026").replace('<', "\\u003c").replace('>', "\\u003e"))
}

fn points(context: &Context, places: &Places) -> Vec<PointJson> {
    let parts = || context.solution.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part);
    let total: usize = parts().map(|(_, b)| b.stretches.len()).sum();
    let step = total.div_ceil(MOST).max(1);
    let mut out = Vec::with_capacity(total / step);
    for (index, body) in parts() {
        let starts = loop_starts(context, index);
        for (row, stretch) in body.stretches.iter().enumerate().step_by(step) {
            let (value, text) = told(context, places, index, row);
            out.push(PointJson {
                b: index,
                x: cut(stretch.at.x * 1e3, 3),
                y: cut(stretch.at.y * 1e3, 3),
                u: cut((starts.get(stretch.loop_index).unwrap_or(&0.0) + stretch.s_m) * 1e3, 3),
                v: cut(value, 5),
                t: text,
            });
        }
    }
    out
}

/// Where each loop of a body begins on a common axis, m.
pub fn loop_starts(context: &Context, body: usize) -> Vec<f64> {
    let mut start = 0.0;
    let loops = context.layout.bodies[body].outline.loops().iter();
    loops
        .map(|curve| {
            let here = start;
            start += curve.length();
            here
        })
        .collect()
}

/// The value of a stretch as the pictures show it, in shop units.
pub fn value(context: &Context, body: usize, row: usize) -> (f64, f64) {
    let units = context.units;
    let stretch = &context.solution.bodies[body].stretches[row];
    match context.deposit_on(body) {
        Some(on) => (units.thickness(on.thickness_m[row]), units.thickness(on.uncertainty_m[row])),
        None => {
            (units.density(stretch.current_density_a_m2), units.density(stretch.uncertainty_a_m2))
        }
    }
}

fn told(context: &Context, places: &Places, body: usize, row: usize) -> (f64, String) {
    let units = context.units;
    let result = &context.solution.bodies[body];
    let stretch = &result.stretches[row];
    let mut text = result.name.clone();
    if let Some(words) = places.words(body, stretch) {
        text.push_str(&format!(", {words}"));
    }
    text.push_str(&format!(" ({}): ", units.place_text(stretch.at)));
    if let Some(on) = context.deposit_on(body) {
        text.push_str(&units.thickness_pm(on.thickness_m[row], on.uncertainty_m[row]));
        text.push_str(", ");
    }
    let density = units.density_pm(stretch.current_density_a_m2, stretch.uncertainty_a_m2);
    text.push_str(&density);
    if context.significant_on(body).is_some_and(|marks| marks.get(row) == Some(&false)) {
        text.push_str(", not significant");
    }
    (value(context, body, row).0, text)
}

fn cut(value: f64, decimals: i32) -> f64 {
    let unit = 10f64.powi(decimals);
    (value * unit).round() / unit + 0.0
}
