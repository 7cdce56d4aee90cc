//! SVG path data, read as an outline.

use std::f64::consts::TAU;

use kurbo::{CubicBez, Point, QuadBez, SvgArc, Vec2};

use crate::arc::Arc;
use crate::error::ShapeError;
use crate::outline::Outline;
use crate::segment::Segment;

impl Outline {
    /// An outline from SVG path data.
    ///
    /// The grammar is that of the W3C's *SVG 2*, chapter 9 ("Paths"), all commands in absolute
    /// and relative form. Two things differ because a body is a filled shape: subpaths that are
    /// not closed are closed by a straight line, and which parts are holes follows from how the
    /// subpaths lie inside each other. Coordinates are taken as they stand, with `y` upwards, so
    /// an arc with the sweep flag 1 runs counter-clockwise.
    ///
    /// Arcs with two equal radii stay exact arcs; elliptical ones become Béziers within 1e-8 of
    /// their greater radius.
    ///
    /// # Errors
    /// [`ShapeError::PathSyntax`] with the place in the text; a number is not finite; the outline
    /// crosses itself or encloses nothing.
    pub fn path(data: &str) -> Result<Outline, ShapeError> {
        let chains: Vec<Vec<Segment>> = subpaths(data)?.into_iter().map(Subpath::closed).collect();
        if chains.is_empty() {
            return Err(ShapeError::NoArea);
        }
        Outline::from_segments(chains)
    }
}

/// One subpath as it is written.
pub(crate) struct Subpath {
    pub(crate) segments: Vec<Segment>,
    /// True if the command Z ends it.
    pub(crate) is_closed: bool,
    start: Point,
    end: Point,
}

impl Subpath {
    /// Its segments, with a straight line back to the start if that is needed.
    pub(crate) fn closed(mut self) -> Vec<Segment> {
        let length: f64 = self.segments.iter().map(Segment::length).sum();
        // relative coordinates seldom come home to the last digit
        if (self.end - self.start).hypot() > 1e-9 * length {
            self.segments.push(Segment::line(self.end, self.start));
        }
        self.segments
    }
}

/// The subpaths of SVG path data that draw anything.
///
/// # Errors
/// [`ShapeError::PathSyntax`] with the place in the text.
pub(crate) fn subpaths(data: &str) -> Result<Vec<Subpath>, ShapeError> {
    let mut pen = Pen::default();
    let mut reader = Reader { data: data.as_bytes(), position: 0 };
    while let Some(command) = reader.command(pen.last)? {
        pen.draw(command, &mut reader)?;
    }
    pen.finish_subpath(false);
    Ok(pen.subpaths)
}

/// Reads numbers, flags and commands.
struct Reader<'a> {
    data: &'a [u8],
    position: usize,
}

impl Reader<'_> {
    fn peek(&self) -> Option<u8> {
        self.data.get(self.position).copied()
    }

    fn skip_spaces(&mut self) {
        while self.peek().is_some_and(|c| matches!(c, b' ' | b'\t' | b'\n' | b'\r' | 0x0c)) {
            self.position += 1;
        }
    }

    fn skip_separator(&mut self) {
        self.skip_spaces();
        if self.peek() == Some(b',') {
            self.position += 1;
            self.skip_spaces();
        }
    }

    fn error<T>(&self, expected: &'static str) -> Result<T, ShapeError> {
        Err(ShapeError::PathSyntax { position: self.position, expected })
    }

    /// The next command letter; without one, the last command once more if a number follows.
    fn command(&mut self, last: Option<u8>) -> Result<Option<u8>, ShapeError> {
        self.skip_spaces();
        let Some(c) = self.peek() else {
            return Ok(None);
        };
        match c {
            b'M' | b'm' => {}
            _ if last.is_none() => return self.error("the command M or m first"),
            _ if b"LlHhVvCcSsQqTtAaZz".contains(&c) => {}
            _ => {
                let again = match last {
                    Some(b'M') => b'L',
                    Some(b'm') => b'l',
                    Some(b'Z' | b'z') | None => return self.error("a command letter"),
                    Some(other) => other,
                };
                self.skip_separator();
                if self.peek().is_some_and(|c| matches!(c, b'0'..=b'9' | b'+' | b'-' | b'.')) {
                    return Ok(Some(again));
                }
                return self.error("a number or one of the commands M L H V C S Q T A Z");
            }
        }
        self.position += 1;
        Ok(Some(c))
    }

    fn number(&mut self) -> Result<f64, ShapeError> {
        self.skip_separator();
        let start = self.position;
        let mut end = start;
        let digit = |at: usize| self.data.get(at).is_some_and(u8::is_ascii_digit);
        let is = |at: usize, set: &[u8]| self.data.get(at).is_some_and(|c| set.contains(c));
        if is(end, b"+-") {
            end += 1;
        }
        let mut digits = 0;
        while digit(end) {
            (end, digits) = (end + 1, digits + 1);
        }
        if is(end, b".") {
            end += 1;
            while digit(end) {
                (end, digits) = (end + 1, digits + 1);
            }
        }
        if digits == 0 {
            return self.error("a number");
        }
        if is(end, b"eE") {
            let signed = end + 1 + usize::from(is(end + 1, b"+-"));
            if digit(signed) {
                end = signed;
                while digit(end) {
                    end += 1;
                }
            }
        }
        let text = std::str::from_utf8(&self.data[start..end]).unwrap_or_default();
        match text.parse() {
            Ok(value) => {
                self.position = end;
                Ok(value)
            }
            Err(_) => self.error("a number"),
        }
    }

    fn flag(&mut self) -> Result<bool, ShapeError> {
        self.skip_separator();
        match self.peek() {
            Some(c @ (b'0' | b'1')) => {
                self.position += 1;
                Ok(c == b'1')
            }
            _ => self.error("a flag, 0 or 1"),
        }
    }

    /// A point, counted from `base`.
    fn point(&mut self, base: Vec2) -> Result<Point, ShapeError> {
        Ok(Point::new(self.number()?, self.number()?) + base)
    }
}

/// Where drawing has got to.
#[derive(Default)]
struct Pen {
    subpaths: Vec<Subpath>,
    chain: Vec<Segment>,
    at: Point,
    start: Point,
    last: Option<u8>,
    /// Control point that a smooth curve after this one mirrors.
    control: Point,
}

impl Pen {
    fn draw(&mut self, command: u8, reader: &mut Reader) -> Result<(), ShapeError> {
        let base = if command.is_ascii_lowercase() { self.at.to_vec2() } else { Vec2::ZERO };
        match command.to_ascii_uppercase() {
            b'M' => {
                self.finish_subpath(false);
                self.at = reader.point(base)?;
                self.start = self.at;
            }
            b'L' => self.line_to(reader.point(base)?),
            b'H' => self.line_to(Point::new(reader.number()? + base.x, self.at.y)),
            b'V' => self.line_to(Point::new(self.at.x, reader.number()? + base.y)),
            b'C' => {
                let first = reader.point(base)?;
                self.cubic_to(first, reader.point(base)?, reader.point(base)?);
            }
            b'S' => {
                let first = self.mirrored_control(b"CcSs");
                self.cubic_to(first, reader.point(base)?, reader.point(base)?);
            }
            b'Q' => self.quad_to(reader.point(base)?, reader.point(base)?),
            b'T' => {
                let control = self.mirrored_control(b"QqTt");
                self.quad_to(control, reader.point(base)?);
            }
            b'A' => {
                let radii = Vec2::new(reader.number()?.abs(), reader.number()?.abs());
                let rotation = reader.number()?;
                let (large, sweep) = (reader.flag()?, reader.flag()?);
                self.arc_to(radii, rotation, large, sweep, reader.point(base)?);
            }
            _ => {
                self.finish_subpath(true);
                self.at = self.start;
            }
        }
        self.last = Some(command);
        Ok(())
    }

    fn finish_subpath(&mut self, is_closed: bool) {
        if !self.chain.is_empty() {
            let segments = std::mem::take(&mut self.chain);
            let (start, end) = (self.start, self.at);
            self.subpaths.push(Subpath { segments, is_closed, start, end });
        }
    }

    fn line_to(&mut self, to: Point) {
        self.chain.push(Segment::line(self.at, to));
        self.at = to;
    }

    fn cubic_to(&mut self, first: Point, second: Point, to: Point) {
        self.chain.push(Segment::cubic(CubicBez::new(self.at, first, second, to)));
        (self.at, self.control) = (to, second);
    }

    fn quad_to(&mut self, control: Point, to: Point) {
        self.chain.push(Segment::cubic(QuadBez::new(self.at, control, to).raise()));
        (self.at, self.control) = (to, control);
    }

    /// The last control point mirrored at the pen if the last command is one of `kin`, else the
    /// pen.
    fn mirrored_control(&self, kin: &[u8]) -> Point {
        if self.last.is_some_and(|last| kin.contains(&last)) {
            self.at + (self.at - self.control)
        } else {
            self.at
        }
    }

    fn arc_to(&mut self, radii: Vec2, rotation: f64, large: bool, sweep: bool, to: Point) {
        let chord = to - self.at;
        let size = chord.hypot();
        if radii.x == 0.0 || radii.y == 0.0 || size == 0.0 {
            // the standard's section 9.5.1: a straight line, or nothing at all
            if size > 0.0 {
                self.line_to(to);
            }
            return;
        }
        if (radii.x - radii.y).abs() <= 1e-12 * radii.x {
            self.chain.push(Segment::Arc(circular(self.at, to, radii.x, large, sweep)));
        } else {
            // in units of the chord, and not so small that they are taken for zero
            let radii = radii / size;
            let radii = radii * (0.5 / radii.x.max(radii.y)).max(1.0);
            let unit = |p: Point| ((p - self.at) / size).to_point();
            let arc = SvgArc {
                from: Point::ORIGIN,
                to: unit(to),
                radii,
                x_rotation: rotation.to_radians(),
                large_arc: large,
                sweep,
            };
            let Some(arc) = kurbo::Arc::from_svg_arc(&arc) else {
                self.line_to(to);
                return;
            };
            let base = self.at;
            let mut from = self.at;
            arc.to_cubic_beziers(1e-8 * arc.radii.x.max(arc.radii.y), |p1, p2, p3| {
                let [p1, p2, p3] = [p1, p2, p3].map(|p| base + p.to_vec2() * size);
                self.chain.push(Segment::cubic(CubicBez::new(from, p1, p2, p3)));
                from = p3;
            });
        }
        self.at = to;
    }
}

/// The arc of a circle between two points; the radius grows where it cannot reach.
fn circular(from: Point, to: Point, radius: f64, large: bool, sweep: bool) -> Arc {
    let half_chord = 0.5 * (to - from);
    let half = half_chord.hypot();
    let radius = radius.max(half);
    let rise = ((radius - half) * (radius + half)).max(0.0).sqrt();
    let left = Vec2::new(-half_chord.y, half_chord.x) / half;
    // the centre of a short counter-clockwise arc is to the left of its chord
    let side = if large == sweep { -1.0 } else { 1.0 };
    let centre = from + half_chord + left * (side * rise);
    let short = 2.0 * half.atan2(rise);
    let turn = if large { TAU - short } else { short };
    let sweep = if sweep { turn } else { -turn };
    Arc { centre, radius, start: (from - centre).atan2(), sweep }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn area(data: &str) -> f64 {
        Outline::path(data).expect(data).area()
    }

    #[test]
    fn every_command_draws_the_shape_it_should() {
        // one 4 x 3 rectangle, written in many ways
        for data in [
            "M0 0 L4 0 L4 3 L0 3 Z",
            "m0,0 4,0 0,3 -4,0z",
            "M0 0H4V3H0Z",
            "m 0 0 h4v3h-4",
            "M.0-0L4e0,0 4 30e-1,0 3",
            "M0 0C1 0 3 0 4 0L4 3Q2 3 0 3",
        ] {
            let outline = Outline::path(data).expect(data);
            assert!((outline.area() - 12.0).abs() < 1e-12, "{data}: {}", outline.area());
        }
        // under the parabola x = 2t, y = 4t(1-t): area 4/3; T mirrors it below the axis
        assert!((area("M0 0Q1 2 2 0Z") - 4.0 / 3.0).abs() < 1e-12);
        assert!((area("M0 0Q1 2 2 0T4 0V-3H0Z") - 12.0).abs() < 1e-12);
        assert!((area("M0 0C0 2 2 2 2 0S4 -2 4 0V-3H0Z") - 12.0).abs() < 1e-12);
    }

    #[test]
    fn four_quarter_arcs_are_the_disc_itself() {
        let data = "M5 1A5 5 0 0 1 0 6 5 5 0 01-5 1a5 5 90 0 1 5-5A5 5 0 0 1 5 1";
        let drawn = Outline::path(data).expect(data);
        let disc = Outline::disc(Point::new(0.0, 1.0), 5.0).expect("a disc");
        assert!((drawn.area() - disc.area()).abs() < 1e-12);
        assert!((drawn.perimeter() - disc.perimeter()).abs() < 1e-12);
        assert!(drawn.loops()[0].corners().is_empty());
        for k in 0..50 {
            let s = disc.perimeter() * f64::from(k) / 50.0;
            let gap = drawn.loops()[0].point_at(s) - disc.loops()[0].point_at(s);
            assert!(gap.hypot() < 1e-12);
        }
    }

    #[test]
    fn large_and_sweep_flags_choose_among_four_arcs() {
        // chord from (0,0) to (2,0) of a circle of radius 2: the short arc turns 60 degrees
        let segment = 2.0 * (PI / 3.0 - 3f64.sqrt() / 2.0);
        let whole = 4.0 * PI;
        for (flags, side, expected) in [
            ("0 0", 1.0, segment),
            ("0 1", -1.0, segment),
            ("1 0", 1.0, whole - segment),
            ("1 1", -1.0, whole - segment),
        ] {
            let outline = Outline::path(&format!("M0 0A2 2 0 {flags} 2 0Z")).expect(flags);
            assert!((outline.area() - expected).abs() < 1e-12, "{flags}: {}", outline.area());
            assert!(outline.contains(Point::new(1.0, 0.1 * side)), "{flags}");
        }
    }

    #[test]
    fn arcs_too_small_to_reach_grow_and_flat_ones_are_lines() {
        assert!((area("M-3 0A1 1 0 0 1 3 0Z") - 4.5 * PI).abs() < 1e-12);
        // an ellipse of half axes 1 : 2 grown to reach 3
        assert!((area("M-3 0A1 2 0 0 1 3 0Z") - 9.0 * PI).abs() < 1e-6);
        assert!((area("M0 0L4 0A0 7 0 0 1 0 3Z") - 6.0).abs() < 1e-12);
        // in metres: radii of a few micrometres are radii all the same
        assert!((area("M5e-6 0A5e-6 5e-6 0 0 1 -5e-6 0Z") / (12.5e-12 * PI) - 1.0).abs() < 1e-12);
        assert!((area("M5e-6 0A5e-6 4e-6 0 0 1 -5e-6 0Z") / (10e-12 * PI) - 1.0).abs() < 1e-7);
    }

    #[test]
    fn a_turned_ellipse_has_its_area() {
        let outline = Outline::path("M3 4A5 2 53.13 0 1 -3-4A5 2 53.13 0 1 3 4Z").expect("ellipse");
        assert!((outline.area() / (10.0 * PI) - 1.0).abs() < 1e-5);
    }

    #[test]
    fn subpaths_nest_by_parity_whichever_way_they_run() {
        let outer = "M0 0H10V10H0Z";
        let hole = "M1 1V9H9V1Z";
        let island = "M2 2H4V4H2Z";
        let same_way = "M1 1H9V9H1Z";
        for data in [
            format!("{outer}{hole}{island}"),
            format!("{island}{same_way}{outer}"),
            format!("{hole}{outer}{island}"),
        ] {
            let outline = Outline::path(&data).expect("nested squares");
            assert!((outline.area() - 40.0).abs() < 1e-12, "{data}");
            let holes = outline.loops().iter().filter(|curve| curve.is_hole()).count();
            assert_eq!(holes, 1, "{data}");
        }
    }

    #[test]
    fn closing_starts_the_next_subpath_where_the_last_began() {
        let outline = Outline::path("M1 1h2v2h-2z m4 0h1v1h-1z").expect("two squares");
        assert!((outline.area() - 5.0).abs() < 1e-12);
        assert!(outline.contains(Point::new(5.5, 1.5)));
        let outline = Outline::path("M1 1h2v2h-2zh-1v-1h1").expect_err("the corner is shared");
        assert_eq!(outline, ShapeError::SelfCrossing { at: Point::new(1.0, 1.0) });
    }

    #[test]
    fn syntax_errors_name_the_character() {
        let text = |data: &str| Outline::path(data).expect_err(data).to_string();
        assert_eq!(text("M 0 0 L 10 x"), "path data, character 12: expected a number");
        assert_eq!(text("L 0 0"), "path data, character 1: expected the command M or m first");
        assert_eq!(
            text("M0 0 B 1 2"),
            "path data, character 6: expected a number or one of the commands M L H V C S Q T A Z"
        );
        assert_eq!(
            text("M0 0 A 1 1 0 2 0 3 3"),
            "path data, character 14: expected a flag, 0 or 1"
        );
        assert_eq!(text("M0 0 L 5"), "path data, character 9: expected a number");
        assert_eq!(text("M0 0 H5 V5 Z 3 4"), "path data, character 14: expected a command letter");
        assert_eq!(text(""), "the outline encloses no area");
        assert_eq!(text("M 3 4"), "the outline encloses no area");
        assert_eq!(text("M 0 0 L 5 5 Z"), text("M 0 0 L 5 5"));
        assert_eq!(
            text("M 0 0 L 1e999 0 L 0 1"),
            "every coordinate of an outline must be an ordinary number"
        );
    }
}
