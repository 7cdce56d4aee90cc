//! Where the current flows: magnitude of the current density in the bath, with current tubes.
//!
//! Colours run between the 2nd and 98th percentile of what is seen (at least up to what nine
//! tenths of the parts' outlines carry), because the density at a sharp corner has no bound and
//! would wash out everything else; the ends of the colour bar say so with ≤ and ≥.

use colorous::{Gradient, VIRIDIS};
use rayon::prelude::*;
use shapes::{Point, Rect};
use solver::{Layout, Role, Solution, Symmetry, current_tubes};
use svg::node::element::Path;

use super::Context;
use super::bodies;
use super::drawing::{Drawing, INK, PictureError, Raster, line, path_data, rectangle};
use super::format::three;
use super::labels::Placer;
use super::legend;
use super::masks;
use super::page::{Page, Size, View, Words};
use super::rectifier;
use super::round;
use super::scale::{Scale, rgb};
use super::spots;

/// Colours of the map.
pub const COLOURS: Gradient = VIRIDIS;
/// Pixels of the page per sample of the field, each way: the field is smooth, and a sample costs
/// more than a pixel.
const SAMPLE: f64 = 2.0;

/// The map.
pub fn map_drawing(context: &Context) -> Drawing {
    draw(context).0
}

/// The picture `map.png`.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn map_png(context: &Context) -> Result<Vec<u8>, PictureError> {
    map_drawing(context).png()
}

/// The same as a small figure without title and notes, for a page that says them.
///
/// # Errors
/// As [`map_png`].
pub fn map_figure_png(context: &Context) -> Result<Vec<u8>, PictureError> {
    let mut drawing = draw_sized(context, Size::Figure).0;
    drawing.trim_foot();
    drawing.fine_png(1)
}

/// Draws the map; gives the scale (A/m²) and the box of the colour bar for tests.
pub(super) fn draw(context: &Context) -> (Drawing, Scale, Rect) {
    draw_sized(context, Size::Sheet)
}

/// The same at another size.
pub(super) fn draw_sized(context: &Context, size: Size) -> (Drawing, Scale, Rect) {
    let Context { layout, solution, units, .. } = *context;
    let roles = bodies::roles(layout);
    let words = Words {
        title: context.title.into(),
        subtitle: format!(
            "Current density in the bath at {}{}",
            rectifier::setting(solution),
            if context.findings.positions.is_empty() { "" } else { ", first position" }
        ),
        notes: vec![context.uncertainty_note()],
        size: Size::Sheet,
    }
    .sized(size);
    let extra = 4 + masks::count(layout) + spots::rows(context) + round::rows(layout);
    let world = round::world(layout, layout.tank.bounds());
    let mut page = Page::new(&words, world, legend::height(roles.len(), 1, extra));
    let numbers = page.axes(units, layout.symmetry);
    let Page { mut drawing, view, room, panel } = page;

    drawing.plot(view, None);
    let samples = Samples::take(solution, &view);
    let scale = samples.scale(solution);
    let idle = samples.idle(layout, &view);
    drawing.raster(samples.raster(&scale, &view));
    let mut placer = Placer::new(room, numbers);
    bodies::define_patterns(&mut drawing, &roles);
    let mut share = None;
    round::section(&mut drawing, &mut placer, layout, &view, |drawing, placer| {
        bodies::tank(drawing, layout, &view);
        share = tubes(drawing, solution, &view);
        bodies::draw(drawing, placer, layout, &view, room);
        bodies::wall(drawing, placer, layout, &view, room);
        spots::draw(drawing, context, &view, None);
    });
    bodies::names(&mut drawing, &mut placer, layout, &view, &|_| None);

    let factor = units.density(1.0);
    let heading = ["Current density", units.density_unit()];
    let (y, bar) =
        legend::colour_bar(&mut drawing, panel, panel.y0, &heading, &scale.times(factor), COLOURS);
    let y = legend::roles(&mut drawing, panel, y, &roles);
    let y = masks::explain(&mut drawing, panel, y, layout);
    let y = spots::explain(&mut drawing, context, panel, y);
    let y = round::explain(&mut drawing, panel, y, layout);
    let y = if idle { explain_idle(&mut drawing, panel, y) } else { y };
    if let Some(share_a) = share {
        let (from, to) = (Point::new(panel.x0, y + 8.0), Point::new(panel.x0 + 28.0, y + 8.0));
        drawing.add(line(from, to).set("stroke", INK).set("stroke-width", 4.5));
        drawing.add(line(from, to).set("stroke", "#ffffff").set("stroke-width", 2));
        let text = format!("current tubes: each carries {} A", three(share_a));
        legend::words(&mut drawing, panel, y, &text);
    }
    (drawing, scale, bar)
}

/// Says what bath without a colour is; returns where the panel goes on.
fn explain_idle(drawing: &mut Drawing, panel: Rect, top: f64) -> f64 {
    let swatch = Rect::new(panel.x0, top, panel.x0 + 28.0, top + 15.0);
    drawing.add(rectangle(swatch).set("fill", "#ffffff").set("stroke", INK));
    legend::words(drawing, panel, top, "bath without current")
}

/// Magnitudes on a raster over the view, row by row from the top; NaN where there is no bath.
pub(super) struct Samples {
    columns: usize,
    rows: usize,
    a_m2: Vec<f32>,
}

impl Samples {
    pub(super) fn take(solution: &Solution, view: &View) -> Self {
        let count = |pixels: f64| ((pixels / SAMPLE).round() as usize).max(2);
        let (columns, rows) = (count(view.area.width()), count(view.area.height()));
        let (dx, dy) = (view.world.width() / columns as f64, view.world.height() / rows as f64);
        let mut a_m2 = vec![f32::NAN; columns * rows];
        a_m2.par_chunks_mut(columns).enumerate().for_each(|(row, values)| {
            let y = view.world.y1 - (row as f64 + 0.5) * dy;
            for (column, value) in values.iter_mut().enumerate() {
                let x = view.world.x0 + (column as f64 + 0.5) * dx;
                let x = if solution.symmetry == Symmetry::Axial { x.abs() } else { x };
                if let Some(f) = solution.field.at(Point::new(x, y)) {
                    *value = f.current_a_m2[0].hypot(f.current_a_m2[1]) as f32;
                }
            }
        });
        Self { columns, rows, a_m2 }
    }

    pub(super) fn scale(&self, solution: &Solution) -> Scale {
        let values = self.a_m2.iter().map(|v| f64::from(*v)).collect();
        Scale::robust(values, 0.02, 0.98, part_density(solution, 0.9))
    }

    /// True if some of the bath carries no current, such as what one electrode encloses.
    fn idle(&self, layout: &Layout, view: &View) -> bool {
        // every few samples: what is smaller than that needs no word
        const EVERY: usize = 4;
        let (dx, dy) =
            (view.world.width() / self.columns as f64, view.world.height() / self.rows as f64);
        let bath = |row: usize, column: usize| {
            let x = view.world.x0 + (column as f64 + 0.5) * dx;
            let y = view.world.y1 - (row as f64 + 0.5) * dy;
            let p = Point::new(if layout.symmetry == Symmetry::Axial { x.abs() } else { x }, y);
            layout.tank.contains(p) && !layout.bodies.iter().any(|b| b.outline.contains(p))
        };
        let blank = |row: usize, column: usize| self.a_m2[row * self.columns + column].is_nan();
        // a sample alone may lie between an outline and the chords that stand for it
        let around = |k: usize, count: usize| k.saturating_sub(1)..(k + 2).min(count);
        let dry = |row: usize, column: usize| {
            let mut near = around(row, self.rows)
                .flat_map(|r| around(column, self.columns).map(move |c| (r, c)));
            near.all(|(r, c)| blank(r, c) && bath(r, c))
        };
        (0..self.rows)
            .step_by(EVERY)
            .any(|row| (0..self.columns).step_by(EVERY).any(|column| dry(row, column)))
    }

    pub(super) fn raster(&self, scale: &Scale, view: &View) -> Raster {
        let mut rgba = vec![0u8; 4 * self.a_m2.len()];
        for (pixel, value) in rgba.chunks_exact_mut(4).zip(&self.a_m2) {
            if !value.is_nan() {
                let [r, g, b] = rgb(COLOURS, scale.fraction(f64::from(*value)));
                pixel.copy_from_slice(&[r, g, b, 255]);
            }
        }
        // colour reaches a little under the bodies and walls, which are drawn over it sharply
        for _ in 0..3 {
            rgba = grown(&rgba, self.columns, self.rows);
        }
        Raster { area: view.area, columns: self.columns, rows: self.rows, rgba }
    }
}

/// Fills each empty pixel next to filled ones with a neighbour's colour.
fn grown(rgba: &[u8], columns: usize, rows: usize) -> Vec<u8> {
    let mut out = rgba.to_vec();
    let pixel = |row: usize, column: usize| {
        let start = 4 * (row * columns + column);
        &rgba[start..start + 4]
    };
    for row in 0..rows {
        for column in 0..columns {
            if pixel(row, column)[3] != 0 {
                continue;
            }
            let beside = [
                (row > 0).then(|| (row - 1, column)),
                (row + 1 < rows).then_some((row + 1, column)),
                (column > 0).then(|| (row, column - 1)),
                (column + 1 < columns).then_some((row, column + 1)),
            ];
            let filled = beside.into_iter().flatten().map(|(r, c)| pixel(r, c)).find(|p| p[3] != 0);
            if let Some(colour) = filled {
                let start = 4 * (row * columns + column);
                out[start..start + 4].copy_from_slice(colour);
            }
        }
    }
    out
}

/// The current density that `share` of the parts' outlines stays below, A/m².
fn part_density(solution: &Solution, share: f64) -> f64 {
    let mut rows: Vec<(f64, f64)> = solution
        .bodies
        .iter()
        .filter(|b| b.role == Role::Part)
        .flat_map(|b| &b.stretches)
        .map(|s| (s.current_density_a_m2.abs(), s.area_m2))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = rows.iter().map(|r| r.1).sum();
    let mut passed = 0.0;
    for (density, area) in rows {
        passed += area;
        if passed >= share * total {
            return density;
        }
    }
    0.0
}

/// Draws the tubes; gives the current of each, A.
pub(super) fn tubes(drawing: &mut Drawing, solution: &Solution, view: &View) -> Option<f64> {
    let tubes = current_tubes(solution, tube_count(solution.total_current_a()));
    let data: String = tubes
        .iter()
        .map(|t| path_data(thinned(t.points.iter().map(|p| view.pixel(*p))), false))
        .collect();
    let strokes = [("#000000", 2.6, 0.35), ("#ffffff", 1.2, 0.9)];
    for (colour, width, opacity) in strokes {
        drawing.add(
            Path::new()
                .set("d", data.clone())
                .set("fill", "none")
                .set("stroke", colour)
                .set("stroke-width", width)
                .set("stroke-opacity", opacity)
                .set("stroke-linejoin", "round"),
        );
    }
    tubes.first().map(|t| t.current_a)
}

/// Points at least a pixel apart, ends kept.
fn thinned(points: impl Iterator<Item = Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    let mut end = None;
    for p in points {
        if kept.last().is_none_or(|q| (p - *q).hypot() >= 1.5) {
            kept.push(p);
            end = None;
        } else {
            end = Some(p);
        }
    }
    kept.extend(end);
    kept
}

/// A number of tubes from 24 to 30 whose share of the current is a round number if any is.
fn tube_count(current_a: f64) -> usize {
    let misfit = |count: &usize| {
        let share = current_a / *count as f64;
        let unit = 10f64.powf(share.abs().log10().floor() - 1.0);
        let digits = share / unit;
        if digits.is_finite() { ((digits - digits.round()).abs() * 1e9) as u64 } else { 0 }
    };
    (24..=30).min_by_key(misfit).unwrap_or(24)
}

#[cfg(test)]
mod tests {
    use super::super::mock::concentric;
    use super::*;

    /// The map of a rod in a ring anode, 32 × 20 characters: dense at the rod, thin at the ring,
    /// round, and nothing in the metal or outside.
    #[test]
    fn character_map_of_concentric_cylinders() {
        let mock = concentric(0.03, 0.1, 90.0);
        let view = View::fit(mock.layout.tank.bounds(), Rect::new(0.0, 0.0, 64.0, 40.0));
        let view = View { area: Rect::new(0.0, 0.0, 64.0, 40.0), ..view };
        let samples = Samples::take(&mock.solution, &view);
        let scale = samples.scale(&mock.solution);
        let letters: Vec<char> = ".:-=+*#%@".chars().collect();
        let letter = |v: &f32| match v.is_nan() {
            true => ' ',
            false => letters[(scale.fraction(f64::from(*v)) * 8.999) as usize],
        };
        let text: Vec<String> = samples
            .a_m2
            .chunks(samples.columns)
            .map(|row| row.iter().map(letter).collect::<String>().trim_end().to_owned())
            .collect();
        insta::assert_snapshot!(text.join("\n"));
    }

    #[test]
    fn a_blank_sample_alone_is_no_bath_without_current() {
        let mock = concentric(0.03, 0.1, 90.0);
        let view = View::fit(mock.layout.tank.bounds(), Rect::new(0.0, 0.0, 400.0, 400.0));
        let mut samples = Samples::take(&mock.solution, &view);
        // current everywhere, also outside the ring
        samples.a_m2.iter_mut().filter(|v| v.is_nan()).for_each(|v| *v = 0.0);
        assert!(!samples.idle(&mock.layout, &view));
        // half way between rod and ring, on the samples that are asked
        let (row, column) = (samples.rows / 8 * 4, samples.columns * 13 / 64 * 4);
        let blank = |samples: &mut Samples, by: usize| {
            for r in row - by..=row + by {
                for c in column - by..=column + by {
                    samples.a_m2[r * samples.columns + c] = f32::NAN;
                }
            }
            samples.idle(&mock.layout, &view)
        };
        assert!(!blank(&mut samples, 0));
        assert!(blank(&mut samples, 1));
    }

    /// The colour bar runs from the first to the last colour of viridis, and a place in the bath
    /// has the colour of its current density, I' / (2 π r).
    #[test]
    fn colours_in_the_picture_are_those_of_the_bar() {
        let mock = concentric(0.02, 0.1, 90.0);
        let (drawing, scale, bar) = draw(&mock.context());
        let image = image::load_from_memory(&drawing.png().unwrap()).unwrap().to_rgb8();
        let near = |at: Point, wanted: [u8; 3], by: i32| {
            let found = image.get_pixel(at.x as u32, at.y as u32).0;
            let off = (0..3).map(|k| (i32::from(found[k]) - i32::from(wanted[k])).abs()).max();
            assert!(off.unwrap() <= by, "{found:?} at {at:?}, wanted {wanted:?}");
        };
        near(Point::new(bar.center().x, bar.y1 - 2.0), rgb(COLOURS, 0.01), 6);
        near(Point::new(bar.center().x, bar.y0 + 2.0), rgb(COLOURS, 0.99), 6);
        // away from the tubes: lines run along radii, so go round until one finds none
        let view = Page::new(&Words::default(), mock.layout.tank.bounds(), 0.0).view;
        let r = 0.05;
        let expected = rgb(COLOURS, scale.fraction(90.0 / (std::f64::consts::TAU * r)));
        let room_top = bar.y0 - 15.0 * 2.0 - 2.0 * 2.0 - 14.0;
        let hits = (0..360)
            .map(|k| {
                let at = Point::new(0.12, 0.12)
                    + r * shapes::Vec2::from_angle(f64::from(k).to_radians());
                let pixel = view.pixel(at);
                Point::new(pixel.x, pixel.y - view.area.y0 + room_top)
            })
            .filter(|p| {
                let found = image.get_pixel(p.x as u32, p.y as u32).0;
                (0..3).all(|k| (i32::from(found[k]) - i32::from(expected[k])).abs() <= 6)
            })
            .count();
        assert!(hits > 200, "only {hits} of 360 places have the colour {expected:?}");
    }

    #[test]
    fn tubes_carry_round_shares_where_that_is_possible() {
        // 30 A / 25 = 1.2 A; 50 A / 25 = 2 A
        assert_eq!(30.0 / tube_count(30.0) as f64, 1.2);
        assert_eq!(50.0 / tube_count(50.0) as f64, 2.0);
        assert_eq!(tube_count(f64::NAN), 24);
    }
}
