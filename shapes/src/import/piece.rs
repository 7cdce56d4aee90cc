//! One drawn thing: a chain of segments under its names.

use kurbo::{Affine, Point, Rect, Vec2};

use crate::arc::Arc;
use crate::segment::Segment;

/// A chain of segments, each starting where the one before ends.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    /// The layer, or the ids of the thing and of the groups around it.
    pub(super) names: Vec<String>,
    /// Never empty.
    pub(super) segments: Vec<Segment>,
    /// True if it is drawn as closed.
    pub(super) closed: bool,
}

impl Piece {
    pub(super) fn bounds(&self) -> Rect {
        let boxes = self.segments.iter().map(Segment::bounds);
        boxes.reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
    }
}

/// Elliptic arcs become Béziers within this share of their greater radius.
const ELLIPSE: f64 = 1e-8;

/// Segments of an elliptic arc, from the angle `start` over `sweep` (of the circle it was before
/// it was squeezed).
pub(super) fn ellipse(
    centre: Point,
    radii: Vec2,
    rotation: f64,
    start: f64,
    sweep: f64,
) -> Vec<Segment> {
    if (radii.x - radii.y).abs() <= 1e-12 * radii.x {
        return vec![Segment::Arc(Arc { centre, radius: radii.x, start: start + rotation, sweep })];
    }
    let arc = kurbo::Arc::new(centre, radii, start, sweep, rotation);
    let turned = Affine::rotate(rotation);
    let (sin, cos) = start.sin_cos();
    let mut from = centre + (turned * Point::new(radii.x * cos, radii.y * sin)).to_vec2();
    let mut out = Vec::new();
    arc.to_cubic_beziers(ELLIPSE * radii.x.max(radii.y), |p1, p2, p3| {
        out.push(Segment::cubic(kurbo::CubicBez::new(from, p1, p2, p3)));
        from = p3;
    });
    out
}

/// Two ends and the bulge between them: the tangent of a quarter of the arc's angle, positive
/// where the arc runs counter-clockwise (DXF reference, LWPOLYLINE, group code 42).
pub(crate) fn bulge(from: Point, to: Point, bulge: f64) -> Segment {
    let chord = to - from;
    let length = chord.hypot();
    if bulge.abs() < 1e-12 || length == 0.0 {
        return Segment::line(from, to);
    }
    let sweep = 4.0 * bulge.atan();
    let left = Vec2::new(-chord.y, chord.x);
    // distance of the centre to the left of the chord, in chords: cot(sweep/2)/2
    let centre = from + 0.5 * chord + left * (0.25 * (1.0 - bulge * bulge) / bulge);
    let radius = 0.25 * length * (bulge + bulge.recip()).abs();
    Segment::Arc(Arc { centre, radius, start: (from - centre).atan2(), sweep })
}

/// Segments under an affine map; circles stay circles where the map keeps them.
pub(super) fn mapped(segments: &[Segment], map: Affine) -> Vec<Segment> {
    if map == Affine::IDENTITY {
        return segments.to_vec();
    }
    let [a, b, c, d, _, _] = map.as_coeffs();
    let scale = a.hypot(b);
    let keeps_circles = (scale - c.hypot(d)).abs() <= 1e-12 * scale
        && (a * c + b * d).abs() <= 1e-12 * scale * scale;
    let mut out = Vec::with_capacity(segments.len());
    for segment in segments {
        match segment {
            Segment::Line(line) => out.push(Segment::line(map * line.p0, map * line.p1)),
            Segment::Cubic(cubic) => out.push(Segment::cubic(map * cubic.bez())),
            Segment::Arc(arc) if keeps_circles => {
                let (sin, cos) = arc.start.sin_cos();
                let start = Vec2::new(a * cos + c * sin, b * cos + d * sin).atan2();
                let sweep = if a * d - b * c < 0.0 { -arc.sweep } else { arc.sweep };
                let centre = map * arc.centre;
                out.push(Segment::Arc(Arc { centre, radius: scale * arc.radius, start, sweep }));
            }
            Segment::Arc(arc) => {
                let radii = Vec2::new(arc.radius, arc.radius);
                let round = kurbo::Arc::new(arc.centre, radii, arc.start, arc.sweep, 0.0);
                let mut from = segment.start();
                round.to_cubic_beziers(ELLIPSE * arc.radius, |p1, p2, p3| {
                    let bez = kurbo::CubicBez::new(from, p1, p2, p3);
                    out.push(Segment::cubic(map * bez));
                    from = p3;
                });
            }
        }
    }
    out
}

/// The same segment between other ends, which are close to its own.
pub(super) fn between(segment: &Segment, from: Point, to: Point) -> Segment {
    match segment {
        Segment::Line(_) => Segment::line(from, to),
        Segment::Arc(arc) if arc.sweep.abs() < 0.999 * std::f64::consts::TAU => {
            bulge(from, to, (0.25 * arc.sweep).tan())
        }
        Segment::Arc(_) => segment.clone(),
        Segment::Cubic(cubic) => {
            let mut bez = cubic.bez();
            bez.p1 += from - bez.p0;
            bez.p2 += to - bez.p3;
            (bez.p0, bez.p3) = (from, to);
            Segment::cubic(bez)
        }
    }
}
