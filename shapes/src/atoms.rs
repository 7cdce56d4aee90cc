//! An outline broken into lines and arcs, which can be intersected in closed form.
//!
//! Lines and arcs are taken as they are. A Bézier is followed by chords within 1e-7 of the
//! outline's diagonal.

use kurbo::{ParamCurve, ParamCurveDeriv, Point, Rect, Vec2};

use crate::arc::Arc;
use crate::distance::nearest_on;
use crate::outline::Outline;
use crate::segment::Segment;

/// How far chords may stray from a Bézier, as a part of the outline's diagonal: 1 µm on 10 m, for
/// about 700 chords a quarter of the way around.
const CHORD_STRAY: f64 = 1e-7;

/// A line or arc of an outline.
#[derive(Debug, Clone)]
pub(crate) struct Atom {
    /// A line or an arc, never a Bézier.
    pub(crate) segment: Segment,
    pub(crate) from: Point,
    pub(crate) to: Point,
    pub(crate) bounds: Rect,
    /// Loop it belongs to.
    pub(crate) on: usize,
    /// Place in the order of travel around its loop, and how many there are.
    pub(crate) order: usize,
    pub(crate) count: usize,
    /// Arc lengths of its ends on the loop.
    pub(crate) s: (f64, f64),
    /// True where it is a chord of a Bézier.
    pub(crate) is_chord: bool,
}

/// The lines and arcs of an outline, loop after loop in order of travel.
pub(crate) fn atoms(outline: &Outline) -> Vec<Atom> {
    let stray = CHORD_STRAY * outline.diagonal();
    let mut all = Vec::new();
    for (on, curve) in outline.loops().iter().enumerate() {
        let first = all.len();
        for (index, segment) in curve.segments().iter().enumerate() {
            let (from, to) = (curve.joints()[index], curve.joint_after(index));
            let s = (curve.joint_positions()[index], curve.joint_positions()[index + 1]);
            match segment {
                Segment::Cubic(_) => chords(segment, from, to, s, stray, on, &mut all),
                _ => {
                    let bounds = curve.boxes()[index];
                    let segment = segment.clone();
                    all.push(Atom {
                        segment,
                        from,
                        to,
                        bounds,
                        on,
                        order: 0,
                        count: 0,
                        s,
                        is_chord: false,
                    });
                }
            }
        }
        let count = all.len() - first;
        for (order, atom) in all[first..].iter_mut().enumerate() {
            (atom.order, atom.count) = (order, count);
        }
    }
    all
}

fn chords(
    segment: &Segment,
    from: Point,
    to: Point,
    s: (f64, f64),
    stray: f64,
    on: usize,
    all: &mut Vec<Atom>,
) {
    let Segment::Cubic(cubic) = segment else {
        return;
    };
    let mut start = (from, s.0);
    let parameters: Vec<f64> = cubic.node_parameters().collect();
    for pair in parameters.windows(2) {
        // the deviation of a Bézier from its chord is at most |B''| (Δt)² / 8
        let second = cubic.bez().deriv().deriv();
        let bend =
            second.eval(pair[0]).to_vec2().hypot().max(second.eval(pair[1]).to_vec2().hypot());
        let span = pair[1] - pair[0];
        let count = (span * (bend / (8.0 * stray)).sqrt()).ceil().clamp(1.0, 4096.0) as usize;
        for k in 1..=count {
            let t = pair[0] + span * k as f64 / count as f64;
            let end = if t >= 1.0 {
                (to, s.1)
            } else {
                (cubic.bez().eval(t), s.0 + cubic.s_at_parameter(t))
            };
            all.push(Atom {
                segment: Segment::line(start.0, end.0),
                from: start.0,
                to: end.0,
                bounds: Rect::from_points(start.0, end.0),
                on,
                order: 0,
                count: 0,
                s: (start.1, end.1),
                is_chord: true,
            });
            start = end;
        }
    }
}

impl Atom {
    /// True where `other` starts where this one ends.
    pub(crate) fn runs_into(&self, other: &Atom) -> bool {
        self.on == other.on && (self.order + 1) % self.count == other.order
    }

    /// Curvature, positive to the left of travel.
    pub(crate) fn curvature(&self) -> f64 {
        self.segment.curvature_at(0.0)
    }

    /// The place on it nearest to `p`: arc length on its loop, and point.
    pub(crate) fn nearest(&self, p: Point) -> (f64, Point) {
        let (along, at) = nearest_on(&self.segment, self.from, self.to, p);
        let length = self.segment.length();
        let part = if length > 0.0 { along / length } else { 0.0 };
        (self.s.0 + part * (self.s.1 - self.s.0), at)
    }

    /// Distance from `p`.
    pub(crate) fn distance(&self, p: Point) -> f64 {
        (self.nearest(p).1 - p).hypot()
    }

    /// Points where the two come within `hair` of each other: crossings, touching arcs, and ends
    /// of one on the other. Where they run along each other, the ends of that stretch.
    pub(crate) fn meets(&self, other: &Atom, hair: f64, found: &mut Vec<Point>) {
        self.crosses(other, hair, found);
        self.touches_ends([other.from, other.to], hair, found);
        other.touches_ends([self.from, self.to], hair, found);
    }

    fn touches_ends(&self, ends: [Point; 2], hair: f64, found: &mut Vec<Point>) {
        found.extend(ends.into_iter().filter(|end| self.distance(*end) <= hair));
    }

    /// Points where the two cross, or touch as a circle does.
    fn crosses(&self, other: &Atom, hair: f64, found: &mut Vec<Point>) {
        let mut candidates: [Option<Point>; 6] = [None; 6];
        match (&self.segment, &other.segment) {
            (Segment::Arc(a), Segment::Arc(b)) => {
                [candidates[0], candidates[1]] = arc_arc(a, b, hair);
            }
            (Segment::Arc(arc), _) => {
                [candidates[0], candidates[1]] = line_arc(other.from, other.to, arc, hair);
            }
            (_, Segment::Arc(arc)) => {
                [candidates[0], candidates[1]] = line_arc(self.from, self.to, arc, hair);
            }
            _ => candidates[0] = line_line(self, other),
        }
        for p in candidates.into_iter().flatten() {
            if self.distance(p) <= hair && other.distance(p) <= hair {
                found.push(p);
            }
        }
    }
}

/// Where two lines cross, ends stretched a little; the caller checks distances.
fn line_line(a: &Atom, b: &Atom) -> Option<Point> {
    let (along, across) = (a.to - a.from, b.to - b.from);
    let cross = along.cross(across);
    if cross.abs() <= 1e-14 * along.hypot() * across.hypot() {
        return None;
    }
    let between = b.from - a.from;
    let (t, u) = (between.cross(across) / cross, between.cross(along) / cross);
    let within = |x: f64| (-1e-9..=1.0 + 1e-9).contains(&x);
    (within(t) && within(u)).then(|| a.from + along * t.clamp(0.0, 1.0))
}

fn line_arc(from: Point, to: Point, arc: &Arc, hair: f64) -> [Option<Point>; 2] {
    let along = to - from;
    let length = along.hypot();
    if length == 0.0 {
        return [None; 2];
    }
    let along = along / length;
    let foot = from + along * (arc.centre - from).dot(along);
    let off = (arc.centre - foot).hypot();
    if off > arc.radius + hair {
        return [None; 2];
    }
    let half = ((arc.radius - off) * (arc.radius + off)).max(0.0).sqrt();
    [Some(foot - along * half), Some(foot + along * half)]
}

fn arc_arc(a: &Arc, b: &Arc, hair: f64) -> [Option<Point>; 2] {
    let between = b.centre - a.centre;
    let apart = between.hypot();
    let concentric = apart <= hair;
    if concentric
        || apart > a.radius + b.radius + hair
        || apart < (a.radius - b.radius).abs() - hair
    {
        // on one circle only the ends matter, and those are looked at for all
        return [None; 2];
    }
    let towards = between / apart;
    let along = 0.5 * (apart + (a.radius - b.radius) * (a.radius + b.radius) / apart);
    let half = ((a.radius - along) * (a.radius + along)).max(0.0).sqrt();
    // touching within a hair: the point of contact, not one beyond the circle
    let foot = a.centre + towards * along.max(-a.radius).min(a.radius);
    let side = Vec2::new(-towards.y, towards.x) * half;
    [Some(foot - side), Some(foot + side)]
}
