//! What the deposit pictures show along each part, and the panel that explains it.

use colorous::{CIVIDIS, Gradient};
use shapes::{Point, Rect};
use solver::{BodyResult, Role, Spread, Stretch};

use super::Context;
use super::band::{ELSEWHERE, dashed};
use super::drawing::{Drawing, INK, path_data, rectangle};
use super::format::{duration, trimmed};
use super::legend;
use super::page::{Size, Words};
use super::rectifier;
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
    /// Mean and extremes on the significant surface (of a part without one: everywhere).
    pub spread: Spread,
    /// For each row whether it is significant; `None` where all are.
    pub marks: Option<&'a [bool]>,
}

/// What the bands show and how.
pub struct Show<'a> {
    /// The job and its answer.
    pub context: &'a Context<'a>,
    /// Every part with something on it. Thieves are there to take metal: how much stands beside
    /// their names, where does not matter.
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

/// How tall a band is drawn.
#[derive(Debug, Clone, Copy)]
pub struct Heights {
    /// Pixels per unit of value.
    pub per_value: f64,
    /// Taller bands are cut off here, pixels.
    pub most: f64,
}

impl Heights {
    /// Pixels of a value.
    pub fn of(&self, value: f64) -> f64 {
        (value.max(0.0) * self.per_value).min(self.most)
    }
}

/// The value that 97 % of the parts' outlines stay below, and the greatest of all.
fn usual_and_greatest(profiles: &[Profile]) -> (f64, f64) {
    let mut rows: Vec<(f64, f64)> = profiles
        .iter()
        .flat_map(|p| p.values.iter().zip(&p.body.stretches).map(|(v, s)| (*v, s.area_m2)))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = rows.iter().map(|r| r.1).sum();
    let mut passed = 0.0;
    let usual = rows.iter().find(|r| {
        passed += r.1;
        passed >= 0.97 * total
    });
    (usual.map_or(0.0, |r| r.0), rows.last().map_or(0.0, |r| r.0))
}

impl<'a> Show<'a> {
    /// What there is to show of a job.
    pub fn of(context: &'a Context<'a>) -> Self {
        let mut profiles = Vec::new();
        for (index, body) in context.solution.bodies.iter().enumerate() {
            if body.role != Role::Part || body.stretches.is_empty() {
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
            let spread = context.judged(index).map_or(spread, |judged| judged.spread);
            let marks = context.marks_on(index);
            profiles.push(Profile { index, body, values, spread, marks });
        }
        // from nothing on, in even steps, so that an even deposit looks even; a corner's peak does
        // not set the range
        let (usual, greatest) = usual_and_greatest(&profiles);
        let high = if greatest <= 1.3 * usual { greatest } else { usual };
        let colours = match high > 0.0 {
            true => Scale { more_above: greatest > high, ..Scale::between(0.0, high) },
            false => Scale::between(0.0, 1.0),
        };
        let wanted = context.deposit.and(context.want.min_thickness).map(|l| l.si());
        Self { context, profiles, colours, wanted }
    }

    /// One if some part has marks, so that the legend needs a row for them.
    pub fn marked(&self) -> usize {
        usize::from(self.profiles.iter().any(|p| p.marks.is_some()))
    }

    /// The mean on a thief; `None` for other bodies.
    pub fn mean_on_thief(&self, index: usize) -> Option<f64> {
        let body = self.context.solution.bodies.get(index)?;
        if !matches!(body.role, Role::Thief { .. }) {
            return None;
        }
        match self.context.deposit {
            Some(_) => self.context.deposit_on(index).map(|d| d.thickness.mean),
            None => Some(body.density.mean),
        }
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
        let setting = rectifier::setting(self.context.solution);
        let what = match self.context.deposit {
            Some(run) if !self.context.findings.positions.is_empty() => {
                let count = self.context.findings.positions.len();
                let time = duration(run.time.si());
                format!("Deposit after {time}, average of {count} positions, drawn in the first,")
            }
            Some(run) => format!("Deposit after {}", duration(run.time.si())),
            None => "Current density on the parts (no run time given)".into(),
        };
        Words {
            title: self.context.title.into(),
            subtitle: format!("{what} at {setting}"),
            notes: vec![self.context.uncertainty_note()],
            size: Size::Sheet,
        }
    }

    /// Heights such that the mean is easily seen (about `mean` pixels) and nothing is taller than
    /// `most` pixels; peaks over the usual values are cut if they must be.
    pub fn heights(&self, mean: f64, most: f64) -> Heights {
        let (usual, _) = usual_and_greatest(&self.profiles);
        let middle = self.profiles.iter().map(|p| p.spread.mean).fold(0.0, f64::max);
        let wanted = self.wanted.unwrap_or(0.0);
        let tall = usual.max(wanted);
        let per_value =
            if tall > 0.0 { (0.7 * most / tall).min(mean / middle.max(1e-3 * tall)) } else { 0.0 };
        Heights { per_value, most }
    }

    /// Colour bar, then a key that shows how thick a round value is drawn; returns the lower end.
    pub fn panel(
        &self,
        drawing: &mut Drawing,
        panel: Rect,
        heights: Heights,
        times: Option<f64>,
    ) -> f64 {
        let pixels = heights.per_value;
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
            // text and key have their middles on one line
            let key_top = y + (15.0 - height).max(0.0) / 2.0;
            let key = Rect::new(panel.x0, key_top, panel.x0 + 28.0, key_top + height);
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
        let (_, greatest) = usual_and_greatest(&self.profiles);
        if greatest * pixels > heights.most {
            let text = format!("peaks above {} are cut off", self.text(heights.most / pixels));
            y = legend::words(drawing, panel, y, &text);
        }
        if self.marked() > 0 {
            let swatch = Rect::new(panel.x0, y, panel.x0 + 28.0, y + 15.0);
            for fill in [hex(COLOURS, 0.7), format!("url(#{ELSEWHERE})")] {
                let box_ = rectangle(swatch).set("fill", fill);
                drawing.add(box_.set("stroke", INK).set("stroke-width", 0.8));
            }
            y = legend::words(drawing, panel, y, "hatched: not on the significant surface");
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
