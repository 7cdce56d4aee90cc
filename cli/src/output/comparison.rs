//! Several runs side by side, to one scale of colour and one of length, so that they can be compared
//! by eye.

use colorous::Gradient;
use shapes::{Point, Rect};
use solver::Role;

use super::Context;
use super::band::Band;
use super::bodies;
use super::drawing::{Drawing, FAINT, TextStyle};
use super::font::{self, Weight};
use super::labels::{Placer, bounds};
use super::legend;
use super::map::{self, Samples};
use super::page::{View, Words, length_scale, sheet};
use super::profile::{self, Heights, Show};
use super::round;
use super::scale::Scale;
use super::spots;

/// Runs on a page; more would be too small to read.
pub const MOST_COMPARED: usize = 6;
/// Pixels across all cells, and down at most one.
const ACROSS: f64 = 960.0;
const TALLEST: f64 = 420.0;
/// Space above a cell for its title and numbers, and between cells, pixels.
const HEAD: f64 = 42.0;
const GAP: f64 = 14.0;
/// How tall a band is drawn, pixels: the mean, and at most.
const MEAN: f64 = 12.0;
const GREATEST: f64 = 26.0;

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    /// Current density in the bath.
    Map,
    /// Thickness on the parts (current density where a run states no time).
    Deposit,
}

/// Draws up to [`MOST_COMPARED`] runs in a grid, each under its own title, with one legend.
pub fn comparison_drawing<'a>(title: &str, contexts: &[Context<'a>], what: Compared) -> Drawing {
    let contexts = &contexts[..contexts.len().min(MOST_COMPARED)];
    // thickness only where all runs state a time: one scale has one unit
    let timed = contexts.iter().all(|context| context.deposit.is_some());
    let one_kind = |c: &Context<'a>| Context { deposit: c.deposit.filter(|_| timed), ..*c };
    let contexts: Vec<Context<'a>> = contexts.iter().map(one_kind).collect();
    let contexts = contexts.as_slice();
    let shows: Vec<Show> = contexts.iter().map(Show::of).collect();
    let worlds: Vec<Rect> = shows.iter().map(|show| world(show, what)).collect();
    let grid = Grid::of(&worlds);
    let roles = roles(contexts);
    let first = contexts.first();
    let words = Words {
        title: title.into(),
        subtitle: subtitle(&shows, what, worlds.len()),
        notes: first.map(Context::uncertainty_note).into_iter().collect(),
        ..Words::default()
    };
    let panel_height = legend::height(roles.len(), 1, 4);
    let (mut drawing, room, panel) = sheet(&words, grid.size(), 0.0, panel_height);
    bodies::define_patterns(&mut drawing, &roles);
    if shows.iter().any(|show| show.marked() > 0) {
        super::band::define_hatching(&mut drawing);
    }
    let Some(first) = first else { return drawing };
    let views: Vec<View> = worlds.iter().enumerate().map(|(k, w)| grid.view(k, *w, room)).collect();
    for view in &views {
        drawing.plot(*view, None);
    }
    let (scale, colours, heading, unit) = match what {
        Compared::Map => {
            let scale = draw_maps(&mut drawing, contexts, &views);
            let units = first.units;
            (scale.times(units.density(1.0)), map::COLOURS, "Current density", units.density_unit())
        }
        Compared::Deposit => {
            let scale = draw_deposits(&mut drawing, &shows, &views);
            let show = &shows[0];
            let heading = if show.is_thickness() { "Thickness" } else { "Current density" };
            (scale.times(show.number(1.0)), profile::COLOURS, heading, show.unit())
        }
    };
    for (show, view) in shows.iter().zip(&views) {
        bodies::frame(&mut drawing, view.area);
        head(&mut drawing, show, what, view.area);
    }
    explain(&mut drawing, panel, &scale, colours, [heading, unit], &roles, contexts);
    length_scale(&mut drawing, Point::new(room.x0, room.y1 + 24.0), 200.0, grid.scale, first.units);
    drawing
}

fn subtitle(shows: &[Show], what: Compared, count: usize) -> String {
    let thickness = shows.first().is_some_and(Show::is_thickness);
    let what = match (what, thickness) {
        (Compared::Map, _) => "Current density in the bath",
        (Compared::Deposit, true) => "Deposit on the parts",
        (Compared::Deposit, false) => "Current density on the parts",
    };
    format!("{what}: {count} runs with the same colours and the same scale")
}

/// Every role that one of the runs has, in the order of a legend.
fn roles(contexts: &[Context<'_>]) -> Vec<Role> {
    let all: Vec<Role> = contexts.iter().flat_map(|c| bodies::roles(c.layout)).collect();
    let mut found: Vec<Role> = Vec::new();
    for role in all {
        if !found.iter().any(|known| known.word() == role.word()) {
            found.push(role);
        }
    }
    found
}

/// What of the tank is shown of a run.
fn world(show: &Show, what: Compared) -> Rect {
    let layout = show.context.layout;
    let tank = layout.tank.bounds();
    let parts = show.profiles.iter().map(|p| bounds(p.body.stretches.iter().map(|s| s.at)));
    let all = match what {
        Compared::Map => tank,
        Compared::Deposit => parts.reduce(|a, b| a.union(b)).map_or(tank, |all| {
            let side = 0.25 * all.width().max(all.height()).max(1e-6);
            all.inflate(side, side)
        }),
    };
    round::world(layout, all)
}

/// Where the cells are.
struct Grid {
    columns: usize,
    rows: usize,
    cell: (f64, f64),
    /// Pixels per metre.
    scale: f64,
}

impl Grid {
    /// The number of columns that shows the runs largest.
    fn of(worlds: &[Rect]) -> Self {
        let widest = worlds.iter().map(Rect::width).fold(1e-6, f64::max);
        let tallest = worlds.iter().map(Rect::height).fold(1e-6, f64::max);
        let count = worlds.len().max(1);
        let fit = |columns: usize| {
            let rows = count.div_ceil(columns);
            let across = (ACROSS - GAP * (columns - 1) as f64) / columns as f64;
            let most = TALLEST.min(760.0 / rows as f64);
            let scale = (across / widest).min(most / tallest);
            Self { columns, rows, cell: (across, scale * tallest), scale }
        };
        let mut best = fit(1);
        for columns in 2..=count.min(3) {
            let other = fit(columns);
            if other.scale > best.scale {
                best = other;
            }
        }
        best
    }

    fn size(&self) -> (f64, f64) {
        (ACROSS, self.rows as f64 * (HEAD + self.cell.1 + GAP))
    }

    /// The view of cell `k`, filled with as much round `world` as it holds.
    fn view(&self, k: usize, world: Rect, room: Rect) -> View {
        let column = (k % self.columns) as f64;
        let row = (k / self.columns) as f64;
        let corner = Point::new(
            room.x0 + column * (self.cell.0 + GAP),
            room.y0 + HEAD + row * (HEAD + self.cell.1 + GAP),
        );
        let area = Rect::from_origin_size(corner, self.cell);
        let size = area.size() / self.scale;
        View { world: Rect::from_center_size(world.center(), size), area, scale: self.scale }
    }
}

/// The part of a view that shows the tank.
fn tank(context: &Context, view: &View) -> View {
    let world = round::world(context.layout, context.layout.tank.bounds());
    let corner = view.pixel(Point::new(world.x0, world.y1));
    View { world, area: Rect::from_origin_size(corner, world.size() * view.scale), ..*view }
}

/// Maps on one scale of colours, which it gives (A/m²).
fn draw_maps(drawing: &mut Drawing, contexts: &[Context<'_>], views: &[View]) -> Scale {
    // colours reach as far as the tank, not as far as the cell
    let tanks: Vec<View> = contexts.iter().zip(views).map(|(c, view)| tank(c, view)).collect();
    let samples: Vec<Samples> =
        contexts.iter().zip(&tanks).map(|(c, view)| Samples::take(c.solution, view)).collect();
    let scales = contexts.iter().zip(&samples).map(|(c, samples)| samples.scale(c.solution));
    let scale = common(scales.collect());
    for samples in samples.iter().zip(&tanks) {
        drawing.raster(samples.0.raster(&scale, samples.1));
    }
    for (context, view) in contexts.iter().zip(views) {
        let mut placer = Placer::new(view.area, Vec::new());
        drawing.clipped(view.area, |drawing| {
            round::section(drawing, &mut placer, context.layout, view, |drawing, placer| {
                bodies::tank(drawing, context.layout, view);
                map::tubes(drawing, context.solution, view);
                bodies::draw(drawing, placer, context.layout, view, view.area);
                bodies::wall(drawing, placer, context.layout, view, view.area);
                spots::draw(drawing, context, view, None);
            });
        });
    }
    scale
}

/// Bands on one scale of colours and heights; gives the colours.
fn draw_deposits(drawing: &mut Drawing, shows: &[Show], views: &[View]) -> Scale {
    let scale = common(shows.iter().map(|show| show.colours).collect());
    let per_value = shows
        .iter()
        .map(|show| show.heights(MEAN, GREATEST).per_value)
        .filter(|height| *height > 0.0)
        .fold(f64::INFINITY, f64::min);
    let per_value = if per_value.is_finite() { per_value } else { 0.0 };
    let heights = Heights { per_value, most: GREATEST };
    for (show, view) in shows.iter().zip(views) {
        let layout = show.context.layout;
        let mut placer = Placer::new(view.area, Vec::new());
        drawing.clipped(view.area, |drawing| {
            round::section(drawing, &mut placer, layout, view, |drawing, placer| {
                bodies::draw(drawing, placer, layout, view, view.area);
                bodies::wall(drawing, placer, layout, view, view.area);
                for profile in &show.profiles {
                    let band = Band::of(&profile.body.stretches, &profile.values, view, heights);
                    band.draw(drawing, &profile.values, &scale, profile.marks);
                }
                spots::draw(drawing, show.context, view, None);
            });
        });
    }
    scale
}

/// One scale that serves all.
fn common(scales: Vec<Scale>) -> Scale {
    let Some(first) = scales.first().copied() else { return Scale::between(0.0, 1.0) };
    scales.iter().fold(first, |all, scale| {
        let low = all.low.min(scale.low);
        Scale {
            low,
            high: all.high.max(scale.high),
            logarithmic: all.logarithmic && scale.logarithmic && low > 0.0,
            more_below: (all.more_below && all.low <= low)
                || (scale.more_below && scale.low <= low),
            more_above: all.more_above || scale.more_above,
        }
    })
}

/// Title and numbers of a run over its cell.
fn head(drawing: &mut Drawing, show: &Show, what: Compared, area: Rect) {
    let title = TextStyle::new(13.0).bold();
    let text = font::shorten(show.context.title, title.size, Weight::SemiBold, area.width());
    drawing.text(Point::new(area.x0, area.y0 - 22.0), &text, title);
    let setting = super::rectifier::setting(show.context.solution);
    let spreads = show.profiles.iter().map(|p| (p.spread.min, p.spread.max));
    let range = spreads.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let text = match (what, range) {
        (Compared::Deposit, Some((least, most))) => {
            format!("{} to {}; {setting}", show.text(least), show.text(most))
        }
        _ => setting,
    };
    let style = TextStyle::new(11.5).coloured(FAINT);
    let text = font::shorten(&text, style.size, Weight::Regular, area.width());
    drawing.text(Point::new(area.x0, area.y0 - 7.0), &text, style);
}

fn explain(
    drawing: &mut Drawing,
    panel: Rect,
    scale: &Scale,
    colours: Gradient,
    heading: [&str; 2],
    roles: &[Role],
    contexts: &[Context<'_>],
) {
    let (y, _) = legend::colour_bar(drawing, panel, panel.y0, &heading, scale, colours);
    let y = legend::roles(drawing, panel, y, roles);
    spots::explain_all(drawing, contexts, panel, y);
}

#[cfg(test)]
mod tests {
    use super::super::labels;
    use super::super::mock::{channel, concentric, plate};
    use super::*;

    /// One to six runs of different sizes: no text is cut or covered, and all cells have one scale.
    #[test]
    fn up_to_six_runs_stand_side_by_side_to_one_scale() {
        let small = plate(channel(0.05, 0.02, 400.0), 20.0);
        let large = plate(concentric(0.1, 1.5, 90.0), 20.0);
        for count in 1..=7 {
            let runs: Vec<Context> = (0..count)
                .map(|k| if k % 2 == 0 { small.context() } else { large.context() })
                .collect();
            for what in [Compared::Map, Compared::Deposit] {
                let drawing = comparison_drawing("Which anode?", &runs, what);
                let page = Rect::new(0.0, 0.0, drawing.width, drawing.height);
                assert_eq!(drawing.plots().len(), count.min(MOST_COMPARED));
                let scale = drawing.plots()[0].view.scale;
                assert!(drawing.plots().iter().all(|plot| plot.view.scale == scale));
                for (i, text) in drawing.texts().iter().enumerate() {
                    assert!(page.contains_rect(text.area), "{count} {what:?}: {text:?} is cut");
                    for other in &drawing.texts()[..i] {
                        let hit = labels::overlap(text.area.inflate(-0.5, -0.5), other.area);
                        assert!(!hit, "{count} {what:?}: {text:?} covers {other:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn one_scale_holds_the_values_of_all() {
        let scale = common(vec![Scale::between(1.0, 5.0), Scale::between(0.0, 3.0)]);
        assert_eq!((scale.low, scale.high), (0.0, 5.0));
        let ratios = Scale { logarithmic: true, ..Scale::between(0.5, 9.0) };
        assert!(!common(vec![ratios, Scale::between(0.0, 3.0)]).logarithmic);
        assert!(common(vec![ratios, ratios]).logarithmic);
    }
}
