//! DXF drawings, text or binary, through the crate `dxf`.
//!
//! Lines, arcs, circles, ellipses, polylines with bulges, splines, and blocks at any depth.
//! Coordinates are those of the model space seen from above; a thing drawn mirrored (extrusion
//! direction 0, 0, −1) is seen as it lies. Text, dimensions, hatches and the like are left out.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;

use dxf::Vector;
use dxf::entities::{Entity, EntityType, Insert, LwPolyline, Polyline};
use dxf::enums::Units;
use kurbo::{Affine, Point, Vec2};

use super::piece::{Piece, bulge, ellipse, mapped};
use super::spline::Spline;
use super::{Drawing, DrawingError, MOST_BYTES, MOST_SEGMENTS, MOST_VISITS};
use crate::arc::Arc;
use crate::segment::Segment;

/// Blocks in blocks at most.
const MOST_DEPTH: usize = 16;

impl Drawing {
    /// Reads a DXF file.
    ///
    /// # Errors
    /// [`DrawingError`]: not a DXF file or cut short; blocks that hold themselves; too large;
    /// things out of the plane of the drawing or without sense.
    pub fn dxf(bytes: &[u8]) -> Result<Self, DrawingError> {
        if bytes.len() > MOST_BYTES {
            return Err(DrawingError::TooLarge { what: "bytes", most: MOST_BYTES });
        }
        let damaged = |why: String| DrawingError::Damaged { format: "DXF", why };
        // tables of styles are not needed, and some programs write them in ways that the reader of
        // DXF refuses: a second look does without them
        let file = load(bytes)
            .or_else(|error| essential(bytes).and_then(|less| load(&less).ok()).ok_or(error))
            .map_err(|error| damaged(error.to_string()))?;
        if !complete(bytes) {
            return Err(damaged("it does not end with EOF: the file is cut short".to_owned()));
        }
        let mut reader = Reader {
            blocks: file.blocks().map(|b| (b.name.to_uppercase(), b)).collect(),
            pieces: Vec::new(),
            segments: 0,
            visits: 0,
            skipped: BTreeSet::new(),
            path: Vec::new(),
        };
        for entity in file.entities() {
            if !entity.common.is_in_paper_space {
                reader.entity(entity, Affine::IDENTITY, None)?;
            }
        }
        Ok(Self {
            pieces: reader.pieces,
            kind: "layer",
            unit_m: unit_m(file.header.default_drawing_units),
            skipped: reader.skipped.into_iter().map(str::to_owned).collect(),
        })
    }
}

fn load(bytes: &[u8]) -> dxf::DxfResult<dxf::Drawing> {
    dxf::Drawing::load(&mut Cursor::new(bytes))
}

/// The sections of a text file that hold what is drawn: header, blocks, entities.
fn essential(bytes: &[u8]) -> Option<Vec<u8>> {
    const KEPT: [&[u8]; 3] = [b"HEADER", b"BLOCKS", b"ENTITIES"];
    let lines: Vec<&[u8]> = bytes.split(|b| *b == b'\n').collect();
    let pairs: Vec<[&[u8]; 2]> =
        lines.chunks_exact(2).map(|pair| [pair[0].trim_ascii(), pair[1].trim_ascii()]).collect();
    let is = |k: usize, code: &[u8], value: &[u8]| {
        pairs.get(k).is_some_and(|pair| pair[0] == code && pair[1] == value)
    };
    let mut out = Vec::with_capacity(bytes.len());
    let (mut keeping, mut any) = (true, false);
    for (k, pair) in pairs.iter().enumerate() {
        if is(k, b"0", b"SECTION") {
            keeping = pairs.get(k + 1).is_some_and(|name| KEPT.contains(&name[1]));
            any = true;
        }
        if keeping {
            pair.iter().for_each(|line| {
                out.extend_from_slice(line);
                out.push(b'\n');
            });
        }
        keeping |= is(k, b"0", b"ENDSEC");
    }
    any.then_some(out)
}

/// A whole file ends with the marker EOF; the reader itself forgives its absence.
fn complete(bytes: &[u8]) -> bool {
    let tail = &bytes[bytes.len().saturating_sub(64)..];
    tail.windows(3).any(|w| w == b"EOF")
}

/// Metres in one drawing unit (DXF reference, header variable $INSUNITS).
fn unit_m(units: Units) -> Option<f64> {
    Some(match units {
        Units::Inches => 0.0254,
        Units::Feet => 0.3048,
        Units::Millimeters => 1e-3,
        Units::Centimeters => 1e-2,
        Units::Meters => 1.0,
        Units::Microinches => 2.54e-8,
        Units::Mils => 2.54e-5,
        Units::Yards => 0.9144,
        Units::Microns => 1e-6,
        Units::Decimeters => 0.1,
        Units::USSurveyFeet => 1200.0 / 3937.0,
        Units::USSurveyInch => 100.0 / 3937.0,
        _ => return None,
    })
}

struct Reader<'a> {
    blocks: BTreeMap<String, &'a dxf::Block>,
    pieces: Vec<Piece>,
    segments: usize,
    visits: usize,
    skipped: BTreeSet<&'static str>,
    /// Names of the blocks that are being drawn.
    path: Vec<String>,
}

impl Reader<'_> {
    /// Draws one entity; `map` is that of the block it stands in, `layer` what layer 0 means there.
    fn entity(
        &mut self,
        entity: &Entity,
        map: Affine,
        layer: Option<&str>,
    ) -> Result<(), DrawingError> {
        self.visit()?;
        if !entity.common.is_visible {
            return Ok(());
        }
        let layer = match (entity.common.layer.as_str(), layer) {
            ("0", Some(outer)) => outer,
            (own, _) => own,
        };
        let (segments, closed) = match &entity.specific {
            EntityType::Line(l) => (vec![Segment::line(flat(&l.p1), flat(&l.p2))], false),
            EntityType::Arc(a) => {
                let seen = seen("an arc", &a.normal, &a.center)?;
                let start = a.start_angle.to_radians();
                let turn = (a.end_angle - a.start_angle).rem_euclid(360.0);
                let sweep = if turn == 0.0 { 360.0 } else { turn }.to_radians();
                let arc = round("an arc", &a.center, a.radius, start, sweep)?;
                (mapped(&[arc], seen), false)
            }
            EntityType::Circle(c) => {
                let seen = seen("a circle", &c.normal, &c.center)?;
                let arc = round("a circle", &c.center, c.radius, 0.0, std::f64::consts::TAU)?;
                (mapped(&[arc], seen), true)
            }
            EntityType::Ellipse(e) => (oval(e)?, false),
            EntityType::LwPolyline(p) => light(p)?,
            EntityType::Polyline(p) => match heavy(p)? {
                Some(chain) => chain,
                None => {
                    self.skipped.insert("meshes");
                    return Ok(());
                }
            },
            EntityType::Spline(s) => (spline(s)?, s.flags & 1 == 1),
            EntityType::Insert(i) => return self.insert(i, map, layer),
            other => {
                self.skipped.insert(word(other));
                return Ok(());
            }
        };
        let segments = mapped(&segments, map);
        self.segments += segments.len();
        if self.segments > MOST_SEGMENTS {
            return Err(DrawingError::TooLarge { what: "lines", most: MOST_SEGMENTS });
        }
        if !segments.is_empty() {
            self.pieces.push(Piece { names: vec![layer.to_owned()], segments, closed });
        }
        Ok(())
    }

    fn visit(&mut self) -> Result<(), DrawingError> {
        self.visits += 1;
        if self.visits > MOST_VISITS {
            return Err(DrawingError::TooLarge {
                what: "things, copies counted",
                most: MOST_VISITS,
            });
        }
        Ok(())
    }

    fn insert(&mut self, insert: &Insert, map: Affine, layer: &str) -> Result<(), DrawingError> {
        let name = insert.name.to_uppercase();
        let Some(&block) = self.blocks.get(&name) else {
            self.skipped.insert("blocks that are not in the file");
            return Ok(());
        };
        if self.path.contains(&name) || self.path.len() >= MOST_DEPTH {
            return Err(DrawingError::Recursive { block: insert.name.clone() });
        }
        let seen = seen("a block", &insert.extrusion_direction, &insert.location)?;
        let place = flat(&insert.location).to_vec2();
        let turned = Affine::rotate(insert.rotation.to_radians());
        let scaled = Affine::scale_non_uniform(insert.x_scale_factor, insert.y_scale_factor);
        let base = Affine::translate(-flat(&block.base_point).to_vec2());
        let (columns, rows) = (insert.column_count.max(1), insert.row_count.max(1));
        self.path.push(name);
        for row in 0..rows {
            for column in 0..columns {
                self.visit()?;
                let step = Vec2::new(
                    f64::from(column) * insert.column_spacing,
                    f64::from(row) * insert.row_spacing,
                );
                let at = Affine::translate(place) * turned * Affine::translate(step);
                let inner = map * seen * at * scaled * base;
                for entity in &block.entities {
                    self.entity(entity, inner, Some(layer))?;
                }
            }
        }
        self.path.pop();
        Ok(())
    }
}

fn flat(p: &dxf::Point) -> Point {
    Point::new(p.x, p.y)
}

/// The map from a thing's own plane to the drawing: the identity, or its mirror image for a thing
/// that is seen from behind (DXF reference, "Object Coordinate Systems").
fn seen(what: &'static str, normal: &Vector, at: &dxf::Point) -> Result<Affine, DrawingError> {
    let slant = normal.x.hypot(normal.y);
    if slant > 1e-9 * normal.z.abs() {
        return Err(DrawingError::NotFlat { what, at: flat(at) });
    }
    Ok(if normal.z < 0.0 { Affine::FLIP_X } else { Affine::IDENTITY })
}

fn round(
    what: &'static str,
    centre: &dxf::Point,
    radius: f64,
    start: f64,
    sweep: f64,
) -> Result<Segment, DrawingError> {
    let centre = flat(centre);
    if radius > 0.0 && radius.is_finite() && start.is_finite() && sweep.is_finite() {
        return Ok(Segment::Arc(Arc { centre, radius, start, sweep }));
    }
    let why = "its radius is not above zero, or an angle is no number";
    Err(DrawingError::Senseless { what, at: centre, why })
}

fn oval(e: &dxf::entities::Ellipse) -> Result<Vec<Segment>, DrawingError> {
    let (what, at) = ("an ellipse", flat(&e.center));
    // centre and axis of an ellipse are in the drawing's own plane
    let flipped = seen(what, &e.normal, &e.center)? == Affine::FLIP_X;
    let axis = Vec2::new(e.major_axis.x, e.major_axis.y);
    let (major, minor) = (axis.hypot(), axis.hypot() * e.minor_axis_ratio.abs());
    let turn = std::f64::consts::TAU;
    let swept = (e.end_parameter - e.start_parameter).rem_euclid(turn);
    let sweep = if swept < 1e-12 { turn } else { swept };
    if !(major > 0.0 && minor > 0.0 && major.is_finite() && minor.is_finite() && sweep.is_finite())
    {
        let why = "one of its axes has no length, or an angle is no number";
        return Err(DrawingError::Senseless { what, at, why });
    }
    let (start, sweep) =
        if flipped { (-e.start_parameter, -sweep) } else { (e.start_parameter, sweep) };
    Ok(ellipse(at, Vec2::new(major, minor), axis.atan2(), start, sweep))
}

/// Points with their bulges as a chain.
fn chain(points: &[(Point, f64)], closed: bool) -> Vec<Segment> {
    let count = points.len();
    let last = if closed { count } else { count.saturating_sub(1) };
    (0..last)
        .map(|k| bulge(points[k].0, points[(k + 1) % count].0, points[k].1))
        .filter(|segment| segment.length() > 0.0)
        .collect()
}

fn light(p: &LwPolyline) -> Result<(Vec<Segment>, bool), DrawingError> {
    let first = p.vertices.first().map_or(Point::ORIGIN, |v| Point::new(v.x, v.y));
    let seen = seen("a polyline", &p.extrusion_direction, &dxf::Point::new(first.x, first.y, 0.0))?;
    let points: Vec<(Point, f64)> =
        p.vertices.iter().map(|v| (Point::new(v.x, v.y), v.bulge)).collect();
    let closed = p.flags & 1 == 1;
    Ok((mapped(&chain(&points, closed), seen), closed))
}

/// A polyline of the old kind; `None` for meshes.
fn heavy(p: &Polyline) -> Result<Option<(Vec<Segment>, bool)>, DrawingError> {
    if p.flags & (16 | 64) != 0 {
        return Ok(None);
    }
    let seen = seen("a polyline", &p.normal, &p.location)?;
    // vertices of the frame of a spline-fitted polyline are not on it
    let points: Vec<(Point, f64)> =
        p.vertices().filter(|v| v.flags & 16 == 0).map(|v| (flat(&v.location), v.bulge)).collect();
    let closed = p.flags & 1 == 1;
    Ok(Some((mapped(&chain(&points, closed), seen), closed)))
}

fn spline(s: &dxf::entities::Spline) -> Result<Vec<Segment>, DrawingError> {
    let points: Vec<Point> = s.control_points.iter().map(flat).collect();
    let fitted = s.fit_points.first().map(flat);
    let at = points.first().copied().or(fitted).unwrap_or(Point::ORIGIN);
    let senseless = |why| DrawingError::Senseless { what: "a spline", at, why };
    if points.is_empty() {
        return Err(senseless("it has no control points, only points to pass through"));
    }
    let degree = usize::try_from(s.degree_of_curve).unwrap_or(0);
    Spline { degree, knots: &s.knot_values, points: &points, weights: &s.weight_values }
        .segments()
        .map_err(senseless)
}

/// What a thing that draws no outline is called.
fn word(entity: &EntityType) -> &'static str {
    match entity {
        EntityType::Text(_) | EntityType::MText(_) | EntityType::RText(_) => "text",
        EntityType::RotatedDimension(_)
        | EntityType::RadialDimension(_)
        | EntityType::DiameterDimension(_)
        | EntityType::AngularThreePointDimension(_)
        | EntityType::OrdinateDimension(_)
        | EntityType::Leader(_)
        | EntityType::Tolerance(_) => "dimensions",
        EntityType::Attribute(_) | EntityType::AttributeDefinition(_) => "attributes",
        EntityType::ModelPoint(_) => "points",
        EntityType::Ray(_) | EntityType::XLine(_) => "endless lines",
        EntityType::Solid(_) | EntityType::Trace(_) => "filled areas",
        EntityType::Face3D(_) | EntityType::Solid3D(_) | EntityType::Body(_) => "solids",
        EntityType::Image(_) | EntityType::Ole2Frame(_) | EntityType::OleFrame(_) => "pictures",
        _ => "other things",
    }
}
