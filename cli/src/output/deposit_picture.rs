//! Where the metal went: thickness drawn along each part's outline, out into the bath.
//!
//! The band is drawn many times thicker than it is; by how much stands in the picture, with a key
//! of a round thickness. Without a run time the band shows the current density instead. A few
//! large parts are shown where they hang; a rack of small ones part by part, all to one scale.

use colorous::{CIVIDIS, Gradient};
use shapes::{Point, Rect, Vec2};
use solver::quantity::Time;
use solver::{BodyResult, Role, Spread, Stretch};
use svg::node::element::{Circle, Path};

use super::Context;
use super::bodies;
use super::drawing::{Drawing, INK, PictureError, TextStyle, path_data, rounded};
use super::font::{self, Weight};
use super::format::{three, trimmed};
use super::labels::{Placer, Polygon};
use super::legend;
use super::page::{Page, View, Words};
use super::rack;
use super::scale::{Scale, hex, nice_below};

/// Colours of the band.
pub const COLOURS: Gradient = CIVIDIS;

/// Thickness after a run.
#[derive(Debug, Clone)]
pub struct RunDeposit {
    /// How long the run is.
    pub time: Time,
    /// For each body, in the order of the layout; `None` where no metal is deposited.
    pub bodies: Vec<Option<DepositRows>>,
}

/// Thickness along one body.
#[derive(Debug, Clone)]
pub struct DepositRows {
    /// Thickness on each stretch of the body, m.
    pub thickness_m: Vec<f64>,
    /// Mean and extremes, m.
    pub spread: Spread,
}

impl RunDeposit {
    /// Thickness on each stretch of a body, m.
    pub fn thickness_m(&self, body: usize) -> Option<&[f64]> {
        self.bodies
            .get(body)?
            .as_ref()
            .map(|rows| rows.thickness_m.as_slice())
    }

    /// Mean and extremes of a body's thickness, m.
    pub fn spread(&self, body: usize) -> Option<&Spread> {
        self.bodies.get(body)?.as_ref().map(|rows| &rows.spread)
    }
}

/// What is drawn along one body.
pub(super) struct Profile<'a> {
    /// Which body of the layout.
    pub(super) index: usize,
    /// The body's results.
    pub(super) body: &'a BodyResult,
    /// Thickness, m, or current density, A/m², on each stretch; not below zero.
    pub(super) values: Vec<f64>,
    /// Mean and extremes.
    pub(super) spread: Spread,
}

/// What the bands show and how.
pub(super) struct Show<'a> {
    /// The job and its answer.
    pub(super) context: &'a Context<'a>,
    /// Every part and thief with something on it.
    pub(super) profiles: Vec<Profile<'a>>,
    /// Colours, in SI.
    pub(super) colours: Scale,
    /// The wanted least thickness, m.
    pub(super) wanted: Option<f64>,
}

/// The picture `deposit.png`.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn deposit_png(context: &Context) -> Result<Vec<u8>, PictureError> {
    draw(context).png()
}

/// Draws the bands, where the parts hang or part by part.
pub(super) fn draw(context: &Context) -> Drawing {
    let show = Show::of(context);
    match common_world(&show) {
        Some(world) => draw_in_place(&show, world),
        None => rack::draw(&show),
    }
}

impl<'a> Show<'a> {
    fn of(context: &'a Context<'a>) -> Self {
        let mut profiles = Vec::new();
        for (index, body) in context.solution.bodies.iter().enumerate() {
            let cathode = matches!(body.role, Role::Part | Role::Thief { .. });
            if !cathode || body.stretches.is_empty() {
                continue;
            }
            let (values, spread) = match context.deposit {
                Some(run) => match (run.thickness_m(index), run.spread(index)) {
                    (Some(values), Some(spread)) => (values.to_vec(), *spread),
                    _ => continue,
                },
                None => {
                    let density = |s: &Stretch| s.current_density_a_m2;
                    (body.stretches.iter().map(density).collect(), body.density)
                }
            };
            let values = values
                .into_iter()
                .map(|v| if v > 0.0 { v } else { 0.0 })
                .collect();
            profiles.push(Profile {
                index,
                body,
                values,
                spread,
            });
        }
        let all = profiles
            .iter()
            .flat_map(|p| p.values.iter().copied())
            .collect();
        let mean = profiles.iter().map(|p| p.spread.mean).fold(0.0, f64::max);
        let mut colours = Scale::robust(all, 0.0, 0.97, mean);
        if colours.logarithmic {
            // the band's height already shows ratios; colours stay even steps from nothing
            colours = Scale {
                logarithmic: false,
                low: 0.0,
                more_below: false,
                ..colours
            };
        }
        let wanted = context
            .deposit
            .and(context.want.min_thickness)
            .map(|l| l.si());
        Self {
            context,
            profiles,
            colours,
            wanted,
        }
    }

    /// True if thickness is shown, false for current density.
    pub(super) fn is_thickness(&self) -> bool {
        self.context.deposit.is_some()
    }

    /// A value with its unit.
    pub(super) fn text(&self, value: f64) -> String {
        let units = self.context.units;
        if self.is_thickness() {
            units.thickness_text(value)
        } else {
            units.density_text(value)
        }
    }

    /// A value as a number in the unit of the colour bar.
    pub(super) fn number(&self, value: f64) -> f64 {
        let units = self.context.units;
        if self.is_thickness() {
            units.thickness(value)
        } else {
            units.density(value)
        }
    }

    /// Unit of the colour bar.
    pub(super) fn unit(&self) -> &'static str {
        let units = self.context.units;
        if self.is_thickness() {
            units.thickness_unit()
        } else {
            units.density_unit()
        }
    }

    /// Words round the picture.
    pub(super) fn words(&self) -> Words {
        let s = &self.context.solution.supply;
        let what = match self.context.deposit {
            Some(run) => format!("Deposit after {}", super::format::duration(run.time.si())),
            None => "Current density on the parts (no run time given)".into(),
        };
        Words {
            title: self.context.title.into(),
            subtitle: format!(
                "{what} at {} A and {} V",
                three(s.current_a),
                three(s.voltage_v)
            ),
            notes: vec![self.context.uncertainty_note()],
        }
    }

    /// Pixels per unit of value such that the mean is easily seen and the greatest fits: a mean of
    /// about `mean` pixels unless the greatest would then exceed `most` pixels.
    pub(super) fn pixels_per_value(&self, mean: f64, most: f64) -> f64 {
        let greatest = self
            .profiles
            .iter()
            .map(|p| p.spread.max)
            .chain(self.wanted)
            .fold(0.0, f64::max);
        let middle = self
            .profiles
            .iter()
            .map(|p| p.spread.mean)
            .fold(0.0, f64::max);
        if greatest > 0.0 {
            (most / greatest).min(mean / middle.max(greatest * 1e-3))
        } else {
            0.0
        }
    }

    /// Colour bar, then a key that shows how thick a round value is drawn; returns the lower end.
    pub(super) fn panel(
        &self,
        drawing: &mut Drawing,
        panel: Rect,
        pixels: f64,
        times: Option<f64>,
    ) -> f64 {
        let heading = if self.is_thickness() {
            "Thickness"
        } else {
            "Current density"
        };
        let factor = self.number(1.0);
        let headings = [heading, self.unit()];
        let (y, _) = legend::colour_bar(
            drawing,
            panel,
            panel.y0,
            &headings,
            &self.colours.times(factor),
            COLOURS,
        );
        let mut y = y;
        if pixels > 0.0 {
            let value = nice_below(28.0 / pixels * factor) / factor;
            let height = value * pixels;
            let key = Rect::new(panel.x0, y, panel.x0 + 28.0, y + height);
            let fill = hex(COLOURS, self.colours.fraction(value));
            drawing.add(
                super::drawing::rectangle(key)
                    .set("fill", fill)
                    .set("stroke", INK)
                    .set("stroke-width", 0.8),
            );
            let number = trimmed(self.number(value), 6);
            let text = match times {
                Some(times) if self.is_thickness() => {
                    format!("= {number} {}, drawn {} ×", self.unit(), trimmed(times, 0))
                }
                _ => format!("= {number} {}", self.unit()),
            };
            y = legend::words(drawing, panel, y + (height - 15.0).max(0.0) / 2.0, &text)
                .max(y + height + 8.0);
        }
        if let Some(wanted) = self.wanted {
            let at = y + 8.0;
            drawing.add(dashed(path_data(
                [Point::new(panel.x0, at), Point::new(panel.x0 + 28.0, at)],
                false,
            )));
            y = legend::words(
                drawing,
                panel,
                y,
                &format!("wanted: at least {}", self.text(wanted)),
            );
        }
        y
    }
}

/// The part of the tank that shows all parts where they hang; `None` if they would be too small.
fn common_world(show: &Show) -> Option<Rect> {
    let wetted = |p: &Profile| super::labels::bounds(p.body.stretches.iter().map(|s| s.at));
    let boxes: Vec<Rect> = show.profiles.iter().map(wetted).collect();
    let all = boxes.iter().copied().reduce(|a, b| a.union(b));
    let all = all.unwrap_or_else(|| show.context.layout.tank.bounds());
    let side = all.width().max(all.height()).max(1e-6);
    let world = all.inflate(0.22 * side, 0.22 * side);
    let scale = View::fit(world, Page::largest_room()).scale;
    let smallest = boxes
        .iter()
        .map(|b| b.width().max(b.height()))
        .fold(f64::INFINITY, f64::min);
    (boxes.len() <= 1 || (boxes.len() <= 6 && smallest * scale > 110.0)).then_some(world)
}

/// How many pixels the mean and the greatest value get.
const MEAN: f64 = 26.0;
const GREATEST: f64 = 80.0;

fn draw_in_place(show: &Show, world: Rect) -> Drawing {
    let Context { layout, units, .. } = *show.context;
    let roles = bodies::roles(layout);
    let mut page = Page::new(&show.words(), world, legend::height(roles.len(), 1, 5));
    let numbers = page.axes(units);
    let Page {
        mut drawing,
        view,
        room,
        panel,
    } = page;

    let pixels = show.pixels_per_value(MEAN, GREATEST);
    // a round exaggeration for thickness
    let times = nice_below(pixels / view.scale);
    let pixels = if show.is_thickness() && pixels > 0.0 {
        times * view.scale
    } else {
        pixels
    };

    bodies::define_patterns(&mut drawing, &roles);
    let mut placer = Placer::new(room, numbers);
    let mut bands = Vec::new();
    drawing.clipped(room, |drawing| {
        bodies::draw(drawing, &mut placer, layout, &view, room);
        bodies::wall(drawing, &mut placer, layout, &view, room);
        for profile in &show.profiles {
            let band = Band::of(&profile.body.stretches, &profile.values, &view, pixels);
            band.draw(drawing, &profile.values, &show.colours);
            if let Some(wanted) = show.wanted.filter(|_| profile.body.role == Role::Part) {
                band.draw_wanted(drawing, &profile.body.stretches, &view, wanted * pixels);
            }
            bands.push(band.quads);
        }
    });
    for quads in bands {
        placer.body(quads);
    }
    bodies::frame(&mut drawing, room);
    for profile in &show.profiles {
        extremes(&mut drawing, &mut placer, show, profile, &view, pixels);
    }
    let mean = |index: usize| {
        let profile = show.profiles.iter().find(|p| p.index == index)?;
        Some(format!("mean {}", show.text(profile.spread.mean)))
    };
    bodies::names(&mut drawing, &mut placer, layout, &view, &mean);

    let y = show.panel(&mut drawing, panel, pixels, Some(times));
    let mut y = marks(&mut drawing, panel, y);
    y += 2.0;
    legend::roles(&mut drawing, panel, y, &roles);
    drawing
}

/// Explains the marks of the least and greatest value.
pub(super) fn marks(drawing: &mut Drawing, panel: Rect, top: f64) -> f64 {
    mark(drawing, Point::new(panel.x0 + 8.0, top + 8.0), false);
    mark(drawing, Point::new(panel.x0 + 22.0, top + 8.0), true);
    legend::words(drawing, panel, top, "least, greatest of a part")
}

/// A ring for the least value, a full dot for the greatest.
pub(super) fn mark(drawing: &mut Drawing, at: Point, greatest: bool) {
    let circle = Circle::new()
        .set("cx", rounded(at.x))
        .set("cy", rounded(at.y))
        .set("r", 4);
    let fill = if greatest { "#d1495b" } else { "#ffffff" };
    drawing.add(
        circle
            .set("fill", fill)
            .set("stroke", INK)
            .set("stroke-width", 1.6),
    );
}

fn extremes(
    drawing: &mut Drawing,
    placer: &mut Placer,
    show: &Show,
    profile: &Profile,
    view: &View,
    pixels: f64,
) {
    let spread = &profile.spread;
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
        let at = view.pixel(place) + way * (value.max(0.0) * pixels);
        let text = format!(
            "{word} {} at {}",
            show.text(value),
            show.context.units.place_text(place)
        );
        let style = TextStyle::new(11.5);
        let width = font::width(&text, style.size, Weight::Regular) + 6.0;
        if let Some(placed) = placer.near(at, way, width, style.size + 3.0) {
            bodies::write(drawing, placed, &text, style);
        }
        placer.take(Rect::from_center_size(at, (9.0, 9.0)));
        mark(drawing, at, greatest);
    }
}

/// The band along one body, in pixels.
pub(super) struct Band {
    /// One quadrilateral for each stretch: two corners on the metal, two on the deposit's face.
    pub(super) quads: Vec<Polygon>,
    /// Runs of stretches that follow one another.
    runs: Vec<std::ops::Range<usize>>,
}

impl Band {
    /// `pixels` per unit of value.
    pub(super) fn of(stretches: &[Stretch], values: &[f64], view: &View, pixels: f64) -> Self {
        let quads: Vec<Polygon> = stretches
            .iter()
            .zip(values)
            .map(|(s, value)| {
                let normal = Vec2::new(s.normal[0], -s.normal[1]);
                // metal is on the left going along in the tank, so on the right on the page
                let along = Vec2::new(-s.normal[1], s.normal[0]) * (s.length_m / 2.0);
                let (from, to) = (view.pixel(s.at - along), view.pixel(s.at + along));
                let out = normal * (value * pixels);
                vec![from, to, to + out, from + out]
            })
            .collect();
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
        Self { quads, runs }
    }

    /// Fills the band with colours and draws its face.
    pub(super) fn draw(&self, drawing: &mut Drawing, values: &[f64], colours: &Scale) {
        let colour = |i: usize| hex(COLOURS, colours.fraction(values[i]));
        for run in &self.runs {
            for i in run.clone() {
                let mut data = path_data(self.quads[i].iter().copied(), true);
                if i + 1 < run.end {
                    // the wedge to the next stretch where the outline turns a corner
                    let next = &self.quads[i + 1];
                    data.push_str(&path_data(
                        [self.quads[i][1], self.quads[i][2], next[3]],
                        true,
                    ));
                }
                let fill = colour(i);
                let path = Path::new().set("d", data).set("fill", fill.clone());
                // a hair of stroke closes the seams between neighbours
                drawing.add(path.set("stroke", fill).set("stroke-width", 0.6));
            }
            let face = run
                .clone()
                .flat_map(|i| [self.quads[i][3], self.quads[i][2]]);
            let path = Path::new()
                .set("d", path_data(face, false))
                .set("fill", "none");
            drawing.add(
                path.set("stroke", INK)
                    .set("stroke-width", 0.9)
                    .set("stroke-linejoin", "round"),
            );
        }
    }

    /// A dashed line where the wanted thickness would reach.
    pub(super) fn draw_wanted(
        &self,
        drawing: &mut Drawing,
        stretches: &[Stretch],
        view: &View,
        height: f64,
    ) {
        let level: Vec<f64> = vec![1.0; stretches.len()];
        let wanted = Band::of(stretches, &level, view, height);
        for run in &wanted.runs {
            let face = run
                .clone()
                .flat_map(|i| [wanted.quads[i][3], wanted.quads[i][2]]);
            drawing.add(dashed(path_data(face, false)));
        }
    }
}

fn dashed(data: String) -> Path {
    Path::new()
        .set("d", data)
        .set("fill", "none")
        .set("stroke", "#d1495b")
        .set("stroke-width", 1.4)
        .set("stroke-dasharray", "6 4")
}
