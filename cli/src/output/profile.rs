//! What the deposit pictures show along each part, and the panel that explains it.

use colorous::{CIVIDIS, Gradient};
use shapes::{Point, Rect};
use solver::{BodyResult, Role, Spread, Stretch};

use super::Context;
use super::band::dashed;
use super::drawing::{Drawing, INK, path_data, rectangle};
use super::format::{duration, three, trimmed};
use super::legend;
use super::page::Words;
use super::scale::{Scale, hex, nice_below};

/// Colours of the band.
pub const COLOURS: Gradient = CIVIDIS;
/// Below this spread (share of the mean) a deposit is even and its extremes are chance.
const EVEN: f64 = 0.01;

/// What is drawn along one body.
pub struct Profile<'a> {
    /// Which body of the layout.
    pub index: usize,
    /// The body's results.
    pub body: &'a BodyResult,
    /// Thickness, m, or current density, A/m², on each stretch; not below zero.
    pub values: Vec<f64>,
    /// Mean and extremes.
    pub spread: Spread,
}

/// What the bands show and how.
pub struct Show<'a> {
    /// The job and its answer.
    pub context: &'a Context<'a>,
    /// Every part and thief with something on it.
    pub profiles: Vec<Profile<'a>>,
    /// Colours, in SI.
    pub colours: Scale,
    /// The wanted least thickness, m.
    pub wanted: Option<f64>,
}

impl Profile<'_> {
    /// True where the least and greatest hardly differ.
    pub fn is_even(&self) -> bool {
        self.spread.max - self.spread.min <= EVEN * self.spread.mean
    }
}

impl<'a> Show<'a> {
    /// What there is to show of a job.
    pub fn of(context: &'a Context<'a>) -> Self {
        let mut profiles = Vec::new();
        for (index, body) in context.solution.bodies.iter().enumerate() {
            let cathode = matches!(body.role, Role::Part | Role::Thief { .. });
            if !cathode || body.stretches.is_empty() {
                continue;
            }
            let (values, spread) = match context.deposit {
                Some(_) => match context.deposit_on(index) {
                    Some(on) => (on.thickness_m.clone(), on.thickness),
                    None => continue,
                },
                None => {
                    let density = |s: &Stretch| s.current_density_a_m2;
                    (body.stretches.iter().map(density).collect(), body.density)
                }
            };
            let values = values.into_iter().map(|v| if v > 0.0 { v } else { 0.0 }).collect();
            profiles.push(Profile { index, body, values, spread });
        }
        let all = profiles.iter().flat_map(|p| p.values.iter().copied()).collect();
        let mean = profiles.iter().map(|p: &Profile| p.spread.mean).fold(0.0, f64::max);
        let range = Scale::robust(all, 0.0, 0.97, mean);
        // from nothing on, in even steps, so that an even deposit looks even
        let colours = Scale { logarithmic: false, low: 0.0, more_below: false, ..range };
        let wanted = context.deposit.and(context.want.min_thickness).map(|l| l.si());
        Self { context, profiles, colours, wanted }
    }

    /// True if thickness is shown, false for current density.
    pub fn is_thickness(&self) -> bool {
        self.context.deposit.is_some()
    }

    /// A value with its unit.
    pub fn text(&self, value: f64) -> String {
        let units = self.context.units;
        if self.is_thickness() { units.thickness_text(value) } else { units.density_text(value) }
    }

    /// A value as a number in the unit of the colour bar.
    pub fn number(&self, value: f64) -> f64 {
        let units = self.context.units;
        if self.is_thickness() { units.thickness(value) } else { units.density(value) }
    }

    /// Unit of the colour bar.
    pub fn unit(&self) -> &'static str {
        let units = self.context.units;
        if self.is_thickness() { units.thickness_unit() } else { units.density_unit() }
    }

    /// Words round the picture.
    pub fn words(&self) -> Words {
        let s = &self.context.solution.supply;
        let what = match self.context.deposit {
            Some(run) => format!("Deposit after {}", duration(run.time.si())),
            None => "Current density on the parts (no run time given)".into(),
        };
        Words {
            title: self.context.title.into(),
            subtitle: format!("{what} at {} A and {} V", three(s.current_a), three(s.voltage_v)),
            notes: vec![self.context.uncertainty_note()],
        }
    }

    /// Pixels per unit of value such that the mean is easily seen and the greatest fits: a mean of
    /// about `mean` pixels unless the greatest would then exceed `most` pixels.
    pub fn pixels_per_value(&self, mean: f64, most: f64) -> f64 {
        let greatest =
            self.profiles.iter().map(|p| p.spread.max).chain(self.wanted).fold(0.0, f64::max);
        let middle = self.profiles.iter().map(|p| p.spread.mean).fold(0.0, f64::max);
        if greatest > 0.0 { (most / greatest).min(mean / middle.max(greatest * 1e-3)) } else { 0.0 }
    }

    /// Colour bar, then a key that shows how thick a round value is drawn; returns the lower end.
    pub fn panel(
        &self,
        drawing: &mut Drawing,
        panel: Rect,
        pixels: f64,
        times: Option<f64>,
    ) -> f64 {
        let heading = if self.is_thickness() { "Thickness" } else { "Current density" };
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
            let tallest = (28.0 / pixels).min(self.colours.high);
            let value = nice_below(tallest * factor) / factor;
            let height = value * pixels;
            let key = Rect::new(panel.x0, y, panel.x0 + 28.0, y + height);
            let fill = hex(COLOURS, self.colours.fraction(value));
            drawing
                .add(rectangle(key).set("fill", fill).set("stroke", INK).set("stroke-width", 0.8));
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
