//! SVG drawings: paths and basic shapes under their transforms, in double precision, arcs as arcs.
//!
//! The elements `path`, `rect`, `circle`, `ellipse`, `line`, `polyline`, `polygon`, in `g`, `svg`,
//! `a`, `switch` and through `use` (W3C, *SVG 2*, chapters 5, 7 to 10). `y` is turned upwards, so
//! that the drawing is seen as it looks. Clipping, stroke width and style sheets do not change an
//! outline and are not read; `display="none"` hides.

use std::collections::BTreeMap;

use kurbo::{Affine, Point, Vec2};
use roxmltree::{Document, Node, ParsingOptions};
use svgtypes::{Length, LengthUnit, PointsParser, Transform, ViewBox};

use super::piece::{Piece, ellipse, mapped};
use super::{Drawing, DrawingError, MOST_BYTES, MOST_SEGMENTS, MOST_VISITS};
use crate::path::subpaths;
use crate::segment::Segment;

/// Groups in groups, and uses of uses, at most.
const MOST_DEPTH: usize = 64;
/// Elements of a file at most.
const MOST_NODES: u32 = 1_000_000;

impl Drawing {
    /// Reads an SVG file.
    ///
    /// The unit is that of the root's `width` (mm, cm, in, pt, pc); one px there is 1/96 in. A
    /// file without such a unit has none: [`Drawing::unit_m`] is `None` and coordinates are as
    /// they stand in the root.
    ///
    /// # Errors
    /// [`DrawingError`]: not an SVG file; too large; an element whose numbers make no sense.
    pub fn svg(text: &str) -> Result<Self, DrawingError> {
        if text.len() > MOST_BYTES {
            return Err(DrawingError::TooLarge { what: "bytes", most: MOST_BYTES });
        }
        let damaged = |why: String| DrawingError::Damaged { format: "SVG", why };
        let options =
            ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..Default::default() };
        let document =
            Document::parse_with_options(text, options).map_err(|e| damaged(e.to_string()))?;
        let root = document.root_element();
        if root.tag_name().name() != "svg" {
            let found = root.tag_name().name();
            return Err(damaged(format!("its root element is `{found}`, not `svg`")));
        }
        let (map, unit_m) = canvas(&root);
        let mut ids = BTreeMap::new();
        for node in document.descendants() {
            if let Some(id) = node.attribute("id") {
                ids.entry(id).or_insert(node);
            }
        }
        let mut reader = Reader { pieces: Vec::new(), segments: 0, visits: 0, ids };
        reader.children(&root, map, &[], 0)?;
        let skipped = if document.descendants().any(|n| n.tag_name().name() == "text") {
            vec!["text".to_owned()]
        } else {
            Vec::new()
        };
        Ok(Self { pieces: reader.pieces, kind: "id", unit_m, skipped })
    }
}

fn length(node: &Node, name: &str) -> Option<Length> {
    node.attribute(name)?.trim().parse().ok()
}

/// Metres in a unit of length that is one.
fn metres(unit: LengthUnit) -> Option<f64> {
    Some(match unit {
        LengthUnit::Mm => 1e-3,
        LengthUnit::Cm => 1e-2,
        LengthUnit::In => 0.0254,
        LengthUnit::Pt => 0.0254 / 72.0,
        LengthUnit::Pc => 0.0254 / 6.0,
        _ => return None,
    })
}

/// Map from the root's user units to the file's unit with `y` upwards, and that unit.
fn canvas(root: &Node) -> (Affine, Option<f64>) {
    let view = root.attribute("viewBox").and_then(|v| v.parse::<ViewBox>().ok());
    let width = length(root, "width");
    let unit_m = width.and_then(|w| metres(w.unit));
    // units of the file for one user unit
    let scale = match (&view, width) {
        (Some(view), Some(width)) if unit_m.is_some() && width.number > 0.0 => {
            width.number / view.w
        }
        // without a view box a user unit is a px, 1/96 in
        (None, Some(_)) => unit_m.map_or(1.0, |m| 0.0254 / 96.0 / m),
        _ => 1.0,
    };
    let (left, bottom) = match &view {
        Some(view) => (view.x, view.y + view.h),
        None => (0.0, length(root, "height").map_or(0.0, user)),
    };
    let flip = Affine::new([scale, 0.0, 0.0, -scale, -scale * left, scale * bottom]);
    (flip, unit_m)
}

/// A length in user units (px).
fn user(l: Length) -> f64 {
    match (l.unit, metres(l.unit)) {
        (LengthUnit::None | LengthUnit::Px, _) => l.number,
        (_, Some(m)) => l.number * m / 0.0254 * 96.0,
        _ => l.number,
    }
}

struct Reader<'a, 'b> {
    pieces: Vec<Piece>,
    segments: usize,
    visits: usize,
    /// The first element of each id.
    ids: BTreeMap<&'a str, Node<'a, 'b>>,
}

impl Reader<'_, '_> {
    fn children(
        &mut self,
        parent: &Node,
        map: Affine,
        names: &[String],
        depth: usize,
    ) -> Result<(), DrawingError> {
        if depth > MOST_DEPTH {
            return Err(DrawingError::TooLarge { what: "groups within groups", most: MOST_DEPTH });
        }
        for node in parent.children().filter(Node::is_element) {
            self.element(&node, map, names, depth)?;
        }
        Ok(())
    }

    fn element(
        &mut self,
        node: &Node,
        map: Affine,
        names: &[String],
        depth: usize,
    ) -> Result<(), DrawingError> {
        self.visits += 1;
        if self.visits > MOST_VISITS {
            return Err(DrawingError::TooLarge {
                what: "things, copies counted",
                most: MOST_VISITS,
            });
        }
        if node.attribute("display") == Some("none") {
            return Ok(());
        }
        let map = map * own_map(node)?;
        let mut names = names.to_vec();
        names.extend(node.attribute("id").map(str::to_owned));
        match node.tag_name().name() {
            "g" | "svg" | "a" | "switch" => {
                let inner = if node.tag_name().name() == "svg" { map * nested(node) } else { map };
                self.children(node, inner, &names, depth + 1)
            }
            "use" => self.reuse(node, map, &names, depth + 1),
            _ => {
                for (segments, closed) in drawn(node)? {
                    let segments = mapped(&segments, map);
                    self.segments += segments.len();
                    if self.segments > MOST_SEGMENTS {
                        return Err(DrawingError::TooLarge { what: "lines", most: MOST_SEGMENTS });
                    }
                    if !segments.is_empty() {
                        self.pieces.push(Piece { names: names.clone(), segments, closed });
                    }
                }
                Ok(())
            }
        }
    }

    /// `use` draws another element at its own place.
    fn reuse(
        &mut self,
        node: &Node,
        map: Affine,
        names: &[String],
        depth: usize,
    ) -> Result<(), DrawingError> {
        let link = node
            .attribute("href")
            .or_else(|| node.attribute(("http://www.w3.org/1999/xlink", "href")));
        let Some(id) = link.and_then(|l| l.strip_prefix('#')) else { return Ok(()) };
        let Some(&target) = self.ids.get(id) else { return Ok(()) };
        if depth > MOST_DEPTH || node.ancestors().any(|n| n == target) {
            return Err(DrawingError::Recursive { block: id.to_owned() });
        }
        let at = |name: &str| length(node, name).map_or(0.0, user);
        let map = map * Affine::translate((at("x"), at("y")));
        if target.tag_name().name() == "symbol" {
            return self.children(&target, map, names, depth + 1);
        }
        self.element(&target, map, names, depth + 1)
    }
}

fn own_map(node: &Node) -> Result<Affine, DrawingError> {
    let Some(text) = node.attribute("transform") else { return Ok(Affine::IDENTITY) };
    let t: Transform = text.parse().map_err(|_| DrawingError::Damaged {
        format: "SVG",
        why: format!("`{text}` is not a transform"),
    })?;
    Ok(Affine::new([t.a, t.b, t.c, t.d, t.e, t.f]))
}

/// Where an inner `svg` puts its user units.
fn nested(node: &Node) -> Affine {
    let at = |name: &str| length(node, name).map_or(0.0, user);
    let place = Affine::translate((at("x"), at("y")));
    match node.attribute("viewBox").and_then(|v| v.parse::<ViewBox>().ok()) {
        Some(view) if at("width") > 0.0 && at("height") > 0.0 => {
            let scale = (at("width") / view.w).min(at("height") / view.h);
            let slack = Vec2::new(at("width") - scale * view.w, at("height") - scale * view.h);
            place
                * Affine::translate(0.5 * slack)
                * Affine::scale(scale)
                * Affine::translate((-view.x, -view.y))
        }
        _ => place,
    }
}

/// The chains that an element draws, in its own user units.
fn drawn(node: &Node) -> Result<Vec<(Vec<Segment>, bool)>, DrawingError> {
    let at = |name: &str| length(node, name).map_or(0.0, user);
    let corner = Point::new(at("x"), at("y"));
    Ok(match node.tag_name().name() {
        "path" => {
            let data = node.attribute("d").unwrap_or_default();
            let list = subpaths(data).map_err(DrawingError::Shape)?;
            list.into_iter()
                .map(|sub| {
                    let closed = sub.is_closed;
                    (if closed { sub.closed() } else { sub.segments }, closed)
                })
                .collect()
        }
        "rect" => {
            let (w, h) = (at("width"), at("height"));
            if !(w > 0.0 && h > 0.0) {
                return Ok(Vec::new());
            }
            let radius = |name: &str| length(node, name).map(user);
            let (rx, ry) = (radius("rx").or(radius("ry")), radius("ry").or(radius("rx")));
            let (rx, ry) = (rx.unwrap_or(0.0).min(0.5 * w), ry.unwrap_or(0.0).min(0.5 * h));
            let p = rounded(corner, w, h, rx.max(0.0), ry.max(0.0));
            subpaths(&p)
                .map_err(DrawingError::Shape)?
                .into_iter()
                .map(|s| (s.closed(), true))
                .collect()
        }
        "circle" => oval(Point::new(at("cx"), at("cy")), Vec2::new(at("r"), at("r"))),
        "ellipse" => oval(Point::new(at("cx"), at("cy")), Vec2::new(at("rx"), at("ry"))),
        "line" => {
            let (from, to) = (Point::new(at("x1"), at("y1")), Point::new(at("x2"), at("y2")));
            vec![(vec![Segment::line(from, to)], false)]
        }
        name @ ("polyline" | "polygon") => {
            let points: Vec<Point> =
                PointsParser::from(node.attribute("points").unwrap_or_default())
                    .map(|(x, y)| Point::new(x, y))
                    .collect();
            let closed = name == "polygon";
            let last = if closed { points.len() } else { points.len().saturating_sub(1) };
            let next = |k: usize| points[(k + 1) % points.len()];
            let lines = (0..last).map(|k| Segment::line(points[k], next(k)));
            vec![(lines.filter(|s| s.length() > 0.0).collect(), closed)]
        }
        _ => Vec::new(),
    })
}

fn oval(centre: Point, radii: Vec2) -> Vec<(Vec<Segment>, bool)> {
    if radii.x > 0.0 && radii.y > 0.0 {
        vec![(ellipse(centre, radii, 0.0, 0.0, std::f64::consts::TAU), true)]
    } else {
        Vec::new()
    }
}

/// Path data of a rectangle with rounded corners (SVG 2, section 10.2).
fn rounded(at: Point, w: f64, h: f64, rx: f64, ry: f64) -> String {
    let Point { x, y } = at;
    if rx == 0.0 || ry == 0.0 {
        return format!("M{x} {y} h{w} v{h} h{} Z", -w);
    }
    let (right, bottom) = (x + w, y + h);
    format!(
        "M{} {y} L{} {y} A{rx} {ry} 0 0 1 {right} {} L{right} {} A{rx} {ry} 0 0 1 {} {bottom} L{} {bottom} A{rx} {ry} 0 0 1 {x} {} L{x} {} A{rx} {ry} 0 0 1 {} {y} Z",
        x + rx,
        right - rx,
        y + ry,
        bottom - ry,
        right - rx,
        x + rx,
        bottom - ry,
        y + ry,
        x + rx,
    )
}
