//! The trade-off between two figures: every layout that keeps to the limits as a dot, those that no
//! other one beats joined, the best ones numbered.

use shapes::{Point, Rect};
use solver::plan::Figure;
use svg::node::element::Circle;

use super::DisplayUnits;
use super::chart::{Axis, LEFT, Plot};
use super::drawing::{Anchor, Drawing, FAINT, INK, TextStyle, line, rounded};
use super::figures::{figure_heading, figure_number};
use super::page::{Words, sheet};

/// What is drawn; places are pairs of SI values of the two figures.
#[derive(Debug, Clone)]
pub struct Front<'a> {
    /// The job's title.
    pub title: &'a str,
    /// The two figures: across and up.
    pub figures: [Figure; 2],
    /// Layouts that keep to the limits.
    pub good: Vec<[f64; 2]>,
    /// Those that no other one beats, by the first figure.
    pub front: Vec<[f64; 2]>,
    /// The best ones with their numbers.
    pub best: Vec<(usize, [f64; 2])>,
    /// The layout as it is, and whether it keeps to the limits.
    pub own: Option<([f64; 2], bool)>,
    /// Lines at the foot.
    pub notes: Vec<String>,
}

const SIZE: (f64, f64) = (640.0, 420.0);
const GOOD: &str = "#b9c6d6";
const FRONT: &str = "#3b6fb6";
const BEST: &str = "#ffd166";
const OWN: &str = "#d9822b";
/// Radius of a numbered dot, pixels.
const NUMBERED: f64 = 10.0;

/// Draws the trade-off.
pub fn front_drawing(front: &Front<'_>, units: DisplayUnits) -> Drawing {
    let [across, up] = front.figures;
    let words = Words {
        title: front.title.to_owned(),
        subtitle: format!("{} against {}", capital(across.words()), up.words()),
        notes: front.notes.clone(),
        ..Words::default()
    };
    let (mut drawing, room, panel) = sheet(&words, SIZE, LEFT, 150.0);
    let number = |[x, y]: [f64; 2]| (figure_number(across, x, units), figure_number(up, y, units));
    let all: Vec<(f64, f64)> = front.good.iter().map(|p| number(*p)).collect();
    let line: Vec<(f64, f64)> = front.front.iter().map(|p| number(*p)).collect();
    let best: Vec<(usize, (f64, f64))> = front.best.iter().map(|(k, p)| (*k, number(*p))).collect();
    let own = front.own.map(|(p, good)| (number(p), good));
    let near: Vec<(f64, f64)> = line.iter().copied().chain(best.iter().map(|b| b.1)).collect();
    // the front and what is beside it: layouts far off would press it into a corner
    let own = own.filter(|(place, _)| is_near(*place, &near));
    let shown: Vec<(f64, f64)> = near.into_iter().chain(own.map(|o| o.0)).collect();
    let plot = Plot {
        // room for the heading of the upright axis
        area: Rect::new(room.x0, room.y0 + 22.0, room.x1, room.y1),
        x: axis(shown.iter().map(|p| p.0), &figure_heading(across, units)),
        y: axis(shown.iter().map(|p| p.1), &figure_heading(up, units)),
    };
    plot.frame(&mut drawing, true);
    let inside = |p: &&(f64, f64)| plot.x.holds(p.0) && plot.y.holds(p.1);
    let dots: Vec<(f64, f64)> = all.iter().filter(inside).copied().collect();
    plot.dots(&mut drawing, &dots, 3.0, GOOD);
    plot.line(&mut drawing, &steps(&line), FRONT, 1.6);
    plot.dots(&mut drawing, &line, 4.0, FRONT);
    if let Some((place, _)) = own {
        plot.dots(&mut drawing, &[place], 6.5, OWN);
    }
    let mut taken: Vec<Point> = Vec::new();
    for (number, place) in best {
        let at = plot.pixel(place);
        let mut label = at;
        // numbers at the same place stand beside each other
        while taken.iter().any(|t| t.distance(label) < 2.0 * NUMBERED) {
            label.x += 2.0 * NUMBERED + 1.0;
        }
        taken.push(label);
        numbered(&mut drawing, at, label, number);
    }
    legend(&mut drawing, panel, front, own.is_some());
    drawing
}

fn numbered(drawing: &mut Drawing, at: Point, label: Point, number: usize) {
    if at != label {
        drawing.add(line(at, label).set("stroke", INK).set("stroke-width", 1));
    }
    let dot = Circle::new().set("cx", rounded(label.x)).set("cy", rounded(label.y));
    let dot = dot.set("r", NUMBERED).set("fill", BEST);
    drawing.add(dot.set("stroke", INK).set("stroke-width", 1));
    let style = TextStyle::new(12.5).bold().anchored(Anchor::Middle);
    drawing.text(Point::new(label.x, label.y + 4.5), &number.to_string(), style);
}

fn legend(drawing: &mut Drawing, panel: Rect, front: &Front<'_>, own_shown: bool) {
    let mut rows: Vec<(&str, f64, &str)> = Vec::new();
    if !front.best.is_empty() {
        rows.push((BEST, 7.0, "the best, by number"));
    }
    match front.own {
        Some(_) if !own_shown => rows.push((OWN, 0.0, "as it is: off the chart")),
        Some((_, true)) => rows.push((OWN, 6.5, "as it is")),
        Some((_, false)) => rows.push((OWN, 6.5, "as it is, beyond limits")),
        None => {}
    }
    if !front.front.is_empty() {
        rows.push((FRONT, 4.0, "no other beats it in both"));
    }
    if !front.good.is_empty() {
        rows.push((GOOD, 3.0, "keeps to the limits"));
    }
    for (k, (fill, radius, text)) in rows.into_iter().enumerate() {
        let at = Point::new(panel.x0 + 8.0, panel.y0 + 34.0 + 24.0 * k as f64);
        let dot = Circle::new().set("cx", rounded(at.x)).set("cy", rounded(at.y));
        let dot = dot.set("r", radius).set("fill", fill);
        drawing.add(dot.set("stroke", INK).set("stroke-width", 0.8));
        let style = TextStyle::new(12.5).coloured(FAINT);
        drawing.text(Point::new(at.x + 14.0, at.y + 4.5), text, style);
    }
}

/// From one point of the front to the next by way of what both beat: nothing between is promised.
fn steps(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = Vec::new();
    for &(x, y) in points {
        if let Some(&(_, before)) = out.last() {
            out.push((x, before));
        }
        out.push((x, y));
    }
    out
}

fn axis(values: impl Iterator<Item = f64> + Clone, heading: &str) -> Axis {
    let low = values.clone().fold(f64::INFINITY, f64::min);
    let high = values.fold(f64::NEG_INFINITY, f64::max);
    let room = 0.12 * (high - low).max(0.02 * high.abs());
    Axis::linear(
        (low - room).max(if low >= 0.0 { 0.0 } else { f64::MIN }),
        high + 2.0 * room,
        heading,
    )
}

/// True if a place stretches the spread of others by no more than fourfold, each way.
fn is_near((x, y): (f64, f64), others: &[(f64, f64)]) -> bool {
    let fits = |value: f64, of: &dyn Fn(&(f64, f64)) -> f64| {
        let low = others.iter().map(of).fold(f64::INFINITY, f64::min);
        let high = others.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        let span = (high - low).max(0.05 * high.abs());
        value >= low - 3.0 * span && value <= high + 3.0 * span
    };
    others.is_empty() || fits(x, &|p| p.0) && fits(y, &|p| p.1)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_is_shown_and_nothing_is_cut() {
        let front = Front {
            title: "A job with a title",
            figures: [Figure::TimeToWanted, Figure::Wasted],
            good: vec![[1500.0, 0.02], [1600.0, 0.01], [9000.0, 0.5]],
            front: vec![[1500.0, 0.02], [1600.0, 0.01]],
            // two at the same place
            best: vec![(1, [1500.0, 0.02]), (2, [1500.0, 0.02]), (3, [1600.0, 0.01])],
            own: Some(([1500.0, 0.03], false)),
            notes: vec!["Loose solves.".into()],
        };
        let drawing = front_drawing(&front, DisplayUnits::Metric);
        let texts: Vec<&str> = drawing.texts().iter().map(|t| t.text.as_str()).collect();
        for text in ["1", "2", "3", "time to the least wanted, min", "as it is, beyond limits"] {
            assert!(texts.contains(&text), "{text}: {texts:?}");
        }
        for (k, text) in drawing.texts().iter().enumerate() {
            let page = Rect::new(0.0, 0.0, drawing.width, drawing.height);
            assert!(page.contains_rect(text.area), "{text:?}");
            let numbers = |t: &str| t.parse::<f64>().is_ok();
            for other in &drawing.texts()[..k] {
                let hit = super::super::labels::overlap(text.area, other.area);
                assert!(!hit || numbers(&text.text) != numbers(&other.text), "{text:?} {other:?}");
            }
        }
    }

    #[test]
    fn one_layout_alone_has_axes_too() {
        let front = Front {
            title: "One",
            figures: [Figure::Voltage, Figure::Current],
            good: vec![[4.0, 20.0]],
            front: vec![[4.0, 20.0]],
            best: vec![(1, [4.0, 20.0])],
            own: None,
            notes: Vec::new(),
        };
        assert!(front_drawing(&front, DisplayUnits::Us).png().is_ok());
    }
}
