//! Outlines as a drawing: DXF or SVG that a drawing program opens and [`crate::import`] reads back.
//!
//! Arcs stay arcs (bulges and circles in DXF, arc commands in SVG), Béziers stay Béziers (splines in
//! DXF). Numbers are written with all their digits. Each outline is on a layer, or under an id, of
//! its name.

use std::f64::consts::PI;
use std::fmt::Write;

use kurbo::Point;

use crate::arc::Arc;
use crate::closed_loop::Loop;
use crate::outline::Outline;
use crate::segment::Segment;

/// An arc that turns farther is drawn as two: its ends would fix it badly.
const WIDEST: f64 = 1.5 * PI;

/// The outlines as a DXF file (AC1021, text in UTF-8), `unit_m` metres in a unit.
///
/// Layers have the outlines' names, with `_` for what DXF forbids in them. Units that DXF has no
/// number for are left open. O(segments).
pub fn dxf(outlines: &[(&str, &Outline)], unit_m: f64) -> String {
    let mut pen = Dxf { text: String::new(), handle: 0x100 };
    pen.pairs(&[(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1021")]);
    pen.pairs(&[(9, "$INSUNITS"), (70, insunits(unit_m)), (0, "ENDSEC")]);
    pen.pairs(&[(0, "SECTION"), (2, "ENTITIES")]);
    for (name, outline) in outlines {
        let layer = layer(name);
        for curve in outline.loops() {
            pen.curve(curve, &layer);
        }
    }
    pen.pairs(&[(0, "ENDSEC"), (0, "EOF")]);
    pen.text
}

/// A name as a layer of DXF may have it.
pub fn layer(name: &str) -> String {
    let allowed = |c: char| !c.is_control() && !"<>/\\\":;?*|=`',".contains(c);
    name.trim().chars().map(|c| if allowed(c) { c } else { '_' }).collect()
}

/// The number of a unit (DXF reference, header variable $INSUNITS).
fn insunits(unit_m: f64) -> &'static str {
    const KNOWN: [(f64, &str); 8] = [
        (1e-3, "4"),
        (1e-2, "5"),
        (1.0, "6"),
        (0.0254, "1"),
        (0.3048, "2"),
        (1e-6, "13"),
        (2.54e-5, "9"),
        (0.1, "14"),
    ];
    let same = |known: f64| (unit_m / known - 1.0).abs() < 1e-12;
    KNOWN.iter().find(|(known, _)| same(*known)).map_or("0", |(_, number)| number)
}

struct Dxf {
    text: String,
    /// Of the next thing; each has its own.
    handle: u32,
}

impl Dxf {
    fn pair(&mut self, code: i32, value: impl std::fmt::Display) {
        // writing to a string cannot fail
        let _ = writeln!(self.text, "{code}\n{value}");
    }

    fn pairs(&mut self, pairs: &[(i32, &str)]) {
        pairs.iter().for_each(|(code, value)| self.pair(*code, value));
    }

    fn entity(&mut self, kind: &str, class: &str, layer: &str) {
        self.handle += 1;
        let handle = format!("{:X}", self.handle);
        self.pairs(&[(0, kind), (5, &handle), (100, "AcDbEntity"), (8, layer), (100, class)]);
    }

    fn point(&mut self, at: Point, code: i32) {
        self.pair(code, at.x);
        self.pair(code + 10, at.y);
    }

    fn curve(&mut self, curve: &Loop, layer: &str) {
        if let [Segment::Arc(arc)] = curve.segments() {
            self.entity("CIRCLE", "AcDbCircle", layer);
            self.point(arc.centre, 10);
            self.pair(30, 0);
            return self.pair(40, arc.radius);
        }
        let is_bent = |s: &Segment| matches!(s, Segment::Cubic(_));
        let mut run: Vec<(Point, f64)> = Vec::new();
        for (index, segment) in curve.segments().iter().enumerate() {
            let (from, to) = (curve.joints()[index], curve.joint_after(index));
            match segment {
                Segment::Cubic(cubic) => {
                    self.polyline(&std::mem::take(&mut run), Some(from), layer);
                    self.spline([from, cubic.bez().p1, cubic.bez().p2, to], layer);
                }
                Segment::Arc(arc) => {
                    for (at, piece) in halves(arc, from) {
                        run.push((at, (0.25 * piece.sweep).tan()));
                    }
                }
                Segment::Line(_) => run.push((from, 0.0)),
            }
        }
        let end = curve.segments().iter().any(is_bent).then(|| curve.joints()[0]);
        self.polyline(&run, end, layer);
    }

    /// A polyline through points with their bulges, to its end; closed without one.
    fn polyline(&mut self, run: &[(Point, f64)], end: Option<Point>, layer: &str) {
        if run.is_empty() {
            return;
        }
        self.entity("LWPOLYLINE", "AcDbPolyline", layer);
        self.pair(90, run.len() + usize::from(end.is_some()));
        self.pair(70, u8::from(end.is_none()));
        for (at, bulge) in run {
            self.point(*at, 10);
            self.pair(42, bulge);
        }
        if let Some(end) = end {
            self.point(end, 10);
        }
    }

    /// A Bézier as the spline it is.
    fn spline(&mut self, points: [Point; 4], layer: &str) {
        self.entity("SPLINE", "AcDbSpline", layer);
        self.pairs(&[(70, "8"), (71, "3"), (72, "8"), (73, "4"), (74, "0")]);
        for knot in ["0", "0", "0", "0", "1", "1", "1", "1"] {
            self.pair(40, knot);
        }
        for at in points {
            self.point(at, 10);
            self.pair(30, 0);
        }
    }
}

/// The arc, in two where it turns far, each piece with its start; `from` is that of the whole.
fn halves(arc: &Arc, from: Point) -> Vec<(Point, Arc)> {
    if arc.sweep.abs() <= WIDEST {
        return vec![(from, *arc)];
    }
    let first = Arc { sweep: 0.5 * arc.sweep, ..*arc };
    let second = Arc { start: arc.start + 0.5 * arc.sweep, ..first };
    vec![(from, first), (second.at_angle(second.start), second)]
}

/// The outline as SVG path data, `y` upwards as in [`Outline::path`].
pub fn svg_path(outline: &Outline) -> String {
    path_data(outline, 1.0)
}

/// Path data with `y` times `up`, which is 1 or -1.
fn path_data(outline: &Outline, up: f64) -> String {
    let mut text = String::new();
    // adding zero makes no "-0"
    let place = |p: Point| format!("{} {}", p.x + 0.0, up * p.y + 0.0);
    for curve in outline.loops() {
        let _ = write!(text, "M{}", place(curve.joints()[0]));
        for (index, segment) in curve.segments().iter().enumerate() {
            let to = curve.joint_after(index);
            let _ = match segment {
                Segment::Line(_) => write!(text, "L{}", place(to)),
                Segment::Cubic(cubic) => {
                    let bez = cubic.bez();
                    write!(text, "C{} {} {}", place(bez.p1), place(bez.p2), place(to))
                }
                Segment::Arc(arc) => {
                    let pieces = halves(arc, curve.joints()[index]);
                    for (k, (_, piece)) in pieces.iter().enumerate() {
                        let end = pieces.get(k + 1).map_or(to, |next| next.0);
                        let far = u8::from(piece.sweep.abs() > PI);
                        let turn = u8::from(piece.sweep * up > 0.0);
                        let r = arc.radius;
                        let _ = write!(text, "A{r} {r} 0 {far} {turn} {}", place(end));
                    }
                    Ok(())
                }
            };
        }
        text.push('Z');
    }
    text
}

/// The outlines as an SVG file of `size` (width and height) with its origin in the lower left
/// corner, in `unit` ("mm", "cm" or "in").
pub fn svg(outlines: &[(&str, &Outline)], size: (f64, f64), unit: &str) -> String {
    let (w, h) = size;
    let hair = 0.002 * w.max(h);
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}{unit}\" height=\"{h}{unit}\" \
         viewBox=\"0 {} {w} {h}\" overflow=\"visible\" fill=\"none\" stroke=\"black\" \
         stroke-width=\"{hair}\">\n",
        -h
    );
    for (name, outline) in outlines {
        let data = path_data(outline, -1.0);
        let _ = writeln!(text, "<path id=\"{}\" d=\"{data}\"/>", escaped(name));
    }
    text.push_str("</svg>\n");
    text
}

fn escaped(name: &str) -> String {
    name.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;")
}
