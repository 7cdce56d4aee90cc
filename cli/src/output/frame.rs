//! One frame of an animation: the current density in the tank on a colour scale that is given.

use image::RgbImage;
use shapes::{Point, Rect};
use solver::{Layout, Solution};

use super::bodies;
use super::drawing::{Anchor, Drawing, FAINT, INK, PictureError, TextStyle, rectangle};
use super::map::{self, Samples};
use super::page::View;
use super::scale::{Scale, rgb};

/// What a frame shows.
pub struct Frame<'a> {
    /// The tank.
    pub layout: &'a Layout,
    /// The answer.
    pub solution: &'a Solution,
    /// Pixels across.
    pub width: f64,
    /// Current density of the first and the last colour, A/m²; even steps are ratios.
    pub scale_a_m2: [f64; 2],
    /// Heading.
    pub title: String,
    /// Lines under the picture.
    pub lines: Vec<String>,
}

const MARGIN: f64 = 12.0;
const LINE: f64 = 20.0;

impl Frame<'_> {
    /// The picture.
    ///
    /// # Errors
    /// [`PictureError`]: only for a fault of this program.
    pub fn pixels(&self) -> Result<RgbImage, PictureError> {
        let world = self.layout.tank.bounds();
        let across = self.width - 2.0 * MARGIN;
        let high = (across * world.height() / world.width()).round();
        let top = MARGIN + 24.0;
        let room = Rect::new(MARGIN, top, MARGIN + across, top + high);
        let height = room.y1 + 46.0 + LINE * self.lines.len() as f64;
        let mut drawing = Drawing::new(self.width, height);
        let view = View::fit(world, room);
        let [low, most] = self.scale_a_m2;
        let scale = Scale { logarithmic: true, ..Scale::between(low, most) };
        drawing.raster(Samples::take(self.solution, &view).raster(&scale, &view));
        drawing.text(Point::new(MARGIN, 26.0), &self.title, TextStyle::new(17.0).bold());
        bodies::define_patterns(&mut drawing, &bodies::roles(self.layout));
        for body in &self.layout.bodies {
            let data = bodies::loops_data(&bodies::polygons(&body.outline, &view));
            drawing.add(bodies::filled(body.role, data));
        }
        drawing.add(rectangle(room).set("fill", "none").set("stroke", INK));
        self.bar(&mut drawing, &scale, room.y1 + 10.0);
        for (k, line) in self.lines.iter().enumerate() {
            let y = room.y1 + 56.0 + LINE * k as f64;
            drawing.text(Point::new(MARGIN, y), line, TextStyle::new(15.0));
        }
        drawing.rgb()
    }

    fn bar(&self, drawing: &mut Drawing, scale: &Scale, top: f64) {
        let (left, width) = (MARGIN, 0.5 * self.width);
        const STEPS: usize = 64;
        for k in 0..STEPS {
            let x = left + width * k as f64 / STEPS as f64;
            let [r, g, b] = rgb(map::COLOURS, (k as f64 + 0.5) / STEPS as f64);
            let area = Rect::new(x, top, x + width / STEPS as f64 + 0.5, top + 9.0);
            drawing.add(rectangle(area).set("fill", format!("#{r:02x}{g:02x}{b:02x}")));
        }
        let style = TextStyle::new(12.0).coloured(FAINT).anchored(Anchor::Middle);
        for tick in [0.2, 0.5, 1.0, 2.0, 5.0] {
            let x = left + width * scale.fraction(tick * 100.0);
            if scale.low <= tick * 100.0 && tick * 100.0 <= scale.high {
                let text = format!("{tick}");
                let x = x.max(left + 12.0);
                drawing.text(Point::new(x, top + 22.0), &text, style);
            }
        }
        let style = TextStyle::new(12.0).coloured(FAINT);
        let words = "current density, A/dm²";
        drawing.text(Point::new(left + width + 8.0, top + 9.0), words, style);
    }
}
