//! Where the metal went: thickness drawn along each part's outline, out into the bath.
//!
//! The band is drawn many times thicker than it is; by how much stands in the picture, with a key
//! of a round thickness. Without a run time the band shows the current density instead. A few
//! large parts are shown where they hang; a rack of small ones part by part, all to one scale.

use shapes::{Point, Rect, Vec2};
use solver::{Role, Symmetry};

use super::Context;
use super::band::{self, Band, mark};
use super::bodies;
use super::drawing::{Drawing, PictureError, TextStyle};
use super::font::{self, Weight};
use super::labels::Placer;
use super::legend;
use super::masks;
use super::page::{Page, Size, View};
use super::profile::{Heights, Profile, Show};
use super::rack;
use super::round;
use super::scale::fine_below;
use super::spots;

/// The picture `deposit.png`.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn deposit_png(context: &Context) -> Result<Vec<u8>, PictureError> {
    deposit_drawing(context).png()
}

/// Draws the bands, where the parts hang or part by part.
pub fn deposit_drawing(context: &Context) -> Drawing {
    draw_sized(context, Size::Sheet)
}

/// The same at another size.
pub(super) fn draw_sized(context: &Context, size: Size) -> Drawing {
    let show = Show::of(context);
    match common_world(&show) {
        Some(world) => draw_in_place(&show, world, size),
        None => rack::draw(&show, size),
    }
}

/// The part of the tank that shows all parts where they hang; `None` if they would be too small.
fn common_world(show: &Show) -> Option<Rect> {
    let wetted = |p: &Profile| super::labels::bounds(p.body.stretches.iter().map(|s| s.at));
    let boxes: Vec<Rect> = show.profiles.iter().map(wetted).collect();
    let all = boxes.iter().copied().reduce(|a, b| a.union(b));
    let all = all.unwrap_or_else(|| show.context.layout.tank.bounds());
    let all = round::world(show.context.layout, all);
    let side = all.width().max(all.height()).max(1e-6);
    let world = all.inflate(0.22 * side, 0.22 * side);
    let scale = View::fit(world, Page::largest_room(Size::Sheet)).scale;
    let smallest = boxes.iter().map(|b| b.width().max(b.height())).fold(f64::INFINITY, f64::min);
    let turned = show.context.layout.symmetry == Symmetry::Axial;
    (turned || boxes.len() <= 1 || (boxes.len() <= 6 && smallest * scale > 110.0)).then_some(world)
}

/// How many pixels the mean and the greatest value get.
const MEAN: f64 = 24.0;
const GREATEST: f64 = 52.0;

fn draw_in_place(show: &Show, world: Rect, size: Size) -> Drawing {
    let Context { layout, units, .. } = *show.context;
    let roles = bodies::roles(layout);
    let mut page = Page::filled(
        &show.words().sized(size),
        world,
        legend::height(
            roles.len(),
            1,
            5 + masks::count(layout)
                + show.marked()
                + spots::rows(show.context)
                + round::rows(layout),
        ),
    );
    let numbers = page.axes(units, layout.symmetry);
    let Page { mut drawing, view, room, panel } = page;

    drawing.plot(view, None);
    let mut heights = show.heights(MEAN, GREATEST);
    // a round exaggeration for thickness
    let times = fine_below(heights.per_value / view.scale);
    if show.is_thickness() && heights.per_value > 0.0 {
        heights.per_value = times * view.scale;
    }

    bodies::define_patterns(&mut drawing, &roles);
    if show.marked() > 0 {
        band::define_hatching(&mut drawing);
    }
    let mut placer = Placer::new(room, numbers);
    let mut bands = Vec::new();
    round::section(&mut drawing, &mut placer, layout, &view, |drawing, placer| {
        drawing.clipped(room, |drawing| {
            bodies::draw(drawing, placer, layout, &view, room);
            bodies::wall(drawing, placer, layout, &view, room);
            for profile in &show.profiles {
                let band = Band::of(&profile.body.stretches, &profile.values, &view, heights);
                band.draw(drawing, &profile.values, &show.colours, profile.marks);
                if let Some(wanted) = show.wanted {
                    let rows = &profile.body.stretches;
                    let marks = profile.marks;
                    bands.push(band.draw_wanted(drawing, rows, &view, heights, wanted, marks));
                }
                bands.push(band.quads);
            }
            spots::draw(drawing, show.context, &view, None);
        });
    });
    for quads in bands {
        placer.body(quads);
    }
    bodies::frame(&mut drawing, room);
    for profile in &show.profiles {
        extremes(&mut drawing, &mut placer, show, profile, &view, heights);
    }
    let mean = |index: usize| {
        let Some(profile) = show.profiles.iter().find(|p| p.index == index) else {
            return show.mean_on_thief(index).map(|mean| format!("mean {}", show.text(mean)));
        };
        let word = match (profile.is_even(), profile.marks) {
            (true, _) => "even,",
            (false, None) => "mean",
            (false, Some(_)) => "significant mean",
        };
        Some(format!("{word} {}", show.text(profile.spread.mean)))
    };
    bodies::names(&mut drawing, &mut placer, layout, &view, &mean);

    let y = show.panel(&mut drawing, panel, heights, Some(times));
    let even = show.profiles.iter().all(Profile::is_even);
    let y = if even { y } else { marks(&mut drawing, show, panel, y) };
    let seen = |role: &Role| {
        let same = |b: &solver::Body| b.role.word() == role.word();
        layout.bodies.iter().enumerate().any(|(i, b)| same(b) && placer.is_seen(i))
    };
    let roles: Vec<Role> = roles.into_iter().filter(seen).collect();
    let y = legend::roles(&mut drawing, panel, y, &roles);
    let y = masks::explain(&mut drawing, panel, y, layout);
    let y = spots::explain(&mut drawing, show.context, panel, y);
    round::explain(&mut drawing, panel, y, layout);
    drawing
}

/// Explains the marks of the least and greatest value.
pub(super) fn marks(drawing: &mut Drawing, show: &Show, panel: Rect, top: f64) -> f64 {
    mark(drawing, Point::new(panel.x0 + 8.0, top + 8.0), 4.0, false);
    mark(drawing, Point::new(panel.x0 + 22.0, top + 8.0), 4.0, true);
    let text = match show.marked() {
        0 => "least, greatest of a part",
        _ => "least, greatest on a part's significant surface",
    };
    legend::words(drawing, panel, top, text)
}

fn extremes(
    drawing: &mut Drawing,
    placer: &mut Placer,
    show: &Show,
    profile: &Profile,
    view: &View,
    heights: Heights,
) {
    let spread = &profile.spread;
    if profile.is_even() {
        return;
    }
    let found = [
        (false, "least", spread.min, spread.min_at),
        (true, "greatest", spread.max, spread.max_at),
    ];
    for (greatest, word, value, place) in found {
        // beyond the band, along the normal of the stretch at that place
        let way = profile
            .body
            .stretches
            .iter()
            .min_by(|a, b| (a.at - place).hypot2().total_cmp(&(b.at - place).hypot2()))
            .map(|s| Vec2::new(s.normal[0], -s.normal[1]))
            .unwrap_or_default();
        let at = view.pixel(place) + way * heights.of(value);
        let place = show.context.units.place_text(place);
        let text = format!("{word} {} at {place}", show.text(value));
        let style = TextStyle::new(11.5);
        let width = font::width(&text, style.size, Weight::Regular) + 6.0;
        if let Some(placed) = placer.near(at, way, width, style.size + 3.0) {
            bodies::write(drawing, placed, &text, style);
        }
        placer.take(Rect::from_center_size(at, (9.0, 9.0)));
        mark(drawing, at, 4.0, greatest);
    }
}
