//! A band along an outline whose height shows a value, and its marks.

use std::ops::Range;

use shapes::{Point, Vec2};
use solver::Stretch;
use svg::node::element::{Circle, Path, Pattern};

use super::drawing::{Drawing, INK, line, path_data, rounded};
use super::labels::Polygon;
use super::page::View;
use super::profile::{COLOURS, Heights};
use super::scale::{Scale, hex};

/// Cosine of the turn between neighbouring stretches up to which the band's face runs on evenly.
const STRAIGHT: f64 = 0.9;

/// The band along one body, in pixels.
pub struct Band {
    /// One quadrilateral for each stretch: two corners on the metal, two on the deposit's face.
    pub quads: Vec<Polygon>,
    /// Runs of stretches that follow one another.
    runs: Vec<Range<usize>>,
}

impl Band {
    /// The band of `values` along `stretches`.
    pub fn of(stretches: &[Stretch], values: &[f64], view: &View, heights: Heights) -> Self {
        let mut runs = Vec::new();
        let mut start = 0;
        for i in 1..=stretches.len() {
            // the next stretch begins where this one ends, or near it round a bend
            let joined = i < stretches.len() && {
                let (a, b) = (&stretches[i - 1], &stretches[i]);
                let gap = (b.s_m - a.s_m).abs() - (a.length_m + b.length_m) / 2.0;
                a.loop_index == b.loop_index && gap.abs() <= 0.05 * (a.length_m + b.length_m)
            };
            if !joined {
                runs.push(start..i);
                start = i;
            }
        }
        let mut quads = Vec::with_capacity(stretches.len());
        for run in &runs {
            let rows = &stretches[run.clone()];
            let tall: Vec<f64> = values[run.clone()].iter().map(|v| heights.of(*v)).collect();
            quads.extend((0..rows.len()).map(|i| quad(rows, &tall, i, view)));
        }
        Self { quads, runs }
    }

    /// The quadrilateral after number `i` of a run, round the whole loop if the run closes.
    fn next(&self, run: &Range<usize>, i: usize) -> Option<&Polygon> {
        if i + 1 < run.end {
            return self.quads.get(i + 1);
        }
        let first = self.quads.get(run.start)?;
        ((first[0] - self.quads[i][1]).hypot() < 0.5).then_some(first)
    }

    /// Path data along the face of a run.
    fn face(&self, run: &Range<usize>) -> String {
        let closed = self.next(run, run.end - 1).is_some();
        path_data(run.clone().flat_map(|i| [self.quads[i][3], self.quads[i][2]]), closed)
    }

    /// Fills the band with colours, hatches what is not significant and draws its face.
    pub fn draw(
        &self,
        drawing: &mut Drawing,
        values: &[f64],
        colours: &Scale,
        marks: Option<&[bool]>,
    ) {
        let significant = |i: usize| marks.is_none_or(|m| m.get(i).is_some_and(|on| *on));
        let colour = |i: usize| hex(COLOURS, colours.fraction(values[i]));
        for run in &self.runs {
            for i in run.clone() {
                let mut data = path_data(self.quads[i].iter().copied(), true);
                // the wedge to the next stretch where the outline turns a corner
                if let Some(next) = self.next(run, i) {
                    data.push_str(&path_data([self.quads[i][1], self.quads[i][2], next[3]], true));
                }
                let fill = colour(i);
                let path = Path::new().set("d", data).set("fill", fill.clone());
                // a hair of stroke closes the seams between neighbours
                drawing.add(path.set("stroke", fill).set("stroke-width", 0.6));
                if !significant(i) {
                    let data = path_data(self.quads[i].iter().copied(), true);
                    drawing
                        .add(Path::new().set("d", data).set("fill", format!("url(#{ELSEWHERE})")));
                }
            }
            let path = Path::new().set("d", self.face(run)).set("fill", "none");
            drawing.add(
                path.set("stroke", INK).set("stroke-width", 0.9).set("stroke-linejoin", "round"),
            );
        }
    }

    /// A dashed line where the wanted thickness would reach on the significant surface; gives the
    /// area up to it.
    pub fn draw_wanted(
        &self,
        drawing: &mut Drawing,
        stretches: &[Stretch],
        view: &View,
        heights: Heights,
        wanted: f64,
        marks: Option<&[bool]>,
    ) -> Vec<Polygon> {
        let on = |i: usize| marks.is_none_or(|m| m.get(i).is_some_and(|on| *on));
        let rows: Vec<Stretch> =
            stretches.iter().enumerate().filter(|(i, _)| on(*i)).map(|(_, s)| *s).collect();
        let level = vec![wanted; rows.len()];
        let wanted = Band::of(&rows, &level, view, heights);
        for run in &wanted.runs {
            drawing.add(dashed(wanted.face(run)));
        }
        wanted.quads
    }
}

/// Id of the hatching over what is not significant.
pub const ELSEWHERE: &str = "elsewhere";

/// White lines over a band's colours: seen on dark and, by their dark edges, on light ones.
pub fn define_hatching(drawing: &mut Drawing) {
    let stroke = |from: (f64, f64), to: (f64, f64), colour: &str, width: f64| {
        line(Point::new(from.0, from.1), Point::new(to.0, to.1))
            .set("stroke", colour)
            .set("stroke-width", width)
    };
    let mut pattern = Pattern::new()
        .set("id", ELSEWHERE)
        .set("patternUnits", "userSpaceOnUse")
        .set("width", 6)
        .set("height", 6);
    for (colour, width) in [("#202020", 3.2), ("#ffffff", 2.2)] {
        for shift in [-6.0, 0.0, 6.0] {
            pattern = pattern.add(stroke((shift - 1.0, -1.0), (shift + 7.0, 7.0), colour, width));
        }
    }
    drawing.define(pattern);
}

/// The quadrilateral of stretch `i`: its face runs from half way to the height of the stretch
/// before to half way to that of the one after, where the outline goes straight on.
fn quad(rows: &[Stretch], tall: &[f64], i: usize, view: &View) -> Polygon {
    let s = &rows[i];
    let on_page = |s: &Stretch| Vec2::new(s.normal[0], -s.normal[1]);
    let normal = on_page(s);
    let joint = |k: Option<usize>| match k.filter(|k| *k < rows.len()) {
        Some(k) if on_page(&rows[k]).dot(normal) > STRAIGHT => (tall[i] + tall[k]) / 2.0,
        _ => tall[i],
    };
    let along = Vec2::new(-s.normal[1], s.normal[0]) * (s.length_m / 2.0);
    let (from, to) = (view.pixel(s.at - along), view.pixel(s.at + along));
    let (before, after) = (joint(i.checked_sub(1)), joint(Some(i + 1)));
    vec![from, to, to + normal * after, from + normal * before]
}

/// A line in the way of the wanted thickness.
pub fn dashed(data: String) -> Path {
    Path::new()
        .set("d", data)
        .set("fill", "none")
        .set("stroke", "#d1495b")
        .set("stroke-width", 1.4)
        .set("stroke-dasharray", "6 4")
}

/// A ring for the least value, a full dot for the greatest.
pub fn mark(drawing: &mut Drawing, at: Point, radius: f64, greatest: bool) {
    let circle = Circle::new().set("cx", rounded(at.x)).set("cy", rounded(at.y)).set("r", radius);
    let fill = if greatest { "#d1495b" } else { "#ffffff" };
    drawing.add(circle.set("fill", fill).set("stroke", INK).set("stroke-width", 1.6));
}
