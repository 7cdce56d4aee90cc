//! Finds the same place of a part in two tanks, where it hangs moved, turned or mirrored.
//!
//! Places are arc lengths along closed loops. Two loops of the same shape differ in where they
//! start and which way they run; a candidate for both is tried by laying a rigid motion through
//! matched points (least squares) and looking how far they miss. Where a shape is its own image (a
//! square, a round bar), places keep their order along the outline as it is drawn.

use shapes::{Loop, Outline, Point, Vec2};

/// Outlines that agree within this share of their size are the same: drawings are rounded.
const TOLERANCE: f64 = 1e-4;
/// Points compared on each loop besides its joints.
const SAMPLES: usize = 64;

/// Where each place of one outline lies on another of the same shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// For each loop of the one outline.
    loops: Vec<LoopFit>,
    mirrored: bool,
}

/// `s` on a loop becomes `start + slope · s` on loop `to`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct LoopFit {
    to: usize,
    start: f64,
    /// 1 but for rounding of the drawing; negative where the loop runs the other way.
    slope: f64,
}

impl Fit {
    /// Every place on itself.
    pub fn itself(outline: &Outline) -> Self {
        let same = |to| LoopFit { to, start: 0.0, slope: 1.0 };
        Self { loops: (0..outline.loops().len()).map(same).collect(), mirrored: false }
    }

    /// How `from` lies on `to`; `None` if the shapes differ.
    pub fn of(from: &Outline, to: &Outline) -> Option<Self> {
        let size = from.diagonal().max(to.diagonal());
        let near = TOLERANCE * size;
        if from.loops().len() != to.loops().len()
            || (from.perimeter() - to.perimeter()).abs() > near
            || (from.area() - to.area()).abs() > near * size
        {
            return None;
        }
        let main = from.loops().first()?;
        let mut best: Option<(f64, Self)> = None;
        for (l, other) in to.loops().iter().enumerate() {
            for (rank, (start, slope)) in candidates(main, other) {
                let Some(motion) = Motion::through(main, other, start, slope, near) else {
                    continue;
                };
                // as drawn first, then the least turn, mirrored last
                let cost = rank + motion.turn() + if slope < 0.0 { 4.0 } else { 0.0 };
                if best.as_ref().is_none_or(|(least, _)| cost < *least)
                    && let Some(loops) =
                        all_loops(from, to, LoopFit { to: l, start, slope }, &motion, near)
                {
                    best = Some((cost, Self { loops, mirrored: slope < 0.0 }));
                }
            }
        }
        best.map(|(_, fit)| fit)
    }

    /// True if the outline is seen from its other side.
    pub fn is_mirrored(&self) -> bool {
        self.mirrored
    }

    /// Loop and arc length (not yet taken around) of a place, and how much longer lengths are there.
    pub fn place(&self, loop_index: usize, s: f64) -> Option<(usize, f64, f64)> {
        let fit = self.loops.get(loop_index)?;
        Some((fit.to, fit.start + fit.slope * s, fit.slope.abs()))
    }
}

/// Starts and slopes worth trying, each with a rank: how the loops are drawn comes first.
fn candidates(from: &Loop, to: &Loop) -> Vec<(f64, (f64, f64))> {
    let scale = to.length() / from.length();
    let mut out = vec![(-20.0, (0.0, scale)), (-10.0, (0.0, -scale))];
    let own = anchors(from).first().copied().unwrap_or(0.0) * scale;
    for there in anchors(to) {
        out.push((0.0, (there - own, scale)));
        out.push((0.0, (there + own, -scale)));
    }
    out
}

/// Arc lengths by which a loop is recognised: its corners, else its joints.
fn anchors(curve: &Loop) -> Vec<f64> {
    let corners: Vec<f64> = curve.corners().iter().map(|corner| corner.s).collect();
    if corners.is_empty() {
        let joints = curve.joint_positions();
        return joints[..joints.len().saturating_sub(1)].to_vec();
    }
    corners
}

/// The places of a loop that are compared.
fn places(curve: &Loop) -> impl Iterator<Item = f64> + '_ {
    let step = curve.length() / SAMPLES as f64;
    (0..SAMPLES).map(move |k| k as f64 * step).chain(curve.joint_positions().iter().copied())
}

/// Turn, shift and perhaps a flip of x, as complex numbers: `p ↦ to + turn · (p − from)`.
#[derive(Debug, Clone, Copy)]
struct Motion {
    flip: bool,
    from: Point,
    to: Point,
    cos: f64,
    sin: f64,
}

impl Motion {
    /// The motion that brings matched points of two loops together within `near`.
    fn through(from: &Loop, to: &Loop, start: f64, slope: f64, near: f64) -> Option<Self> {
        if (from.length() - to.length()).abs() > near {
            return None;
        }
        let flip = slope < 0.0;
        let pairs: Vec<(Point, Point)> = places(from)
            .map(|s| (flipped(from.point_at(s), flip), to.point_at(start + slope * s)))
            .collect();
        let n = pairs.len() as f64;
        let sum = pairs.iter().fold((Vec2::ZERO, Vec2::ZERO), |sum, (a, b)| {
            (sum.0 + a.to_vec2(), sum.1 + b.to_vec2())
        });
        let (a0, b0) = ((sum.0 / n).to_point(), (sum.1 / n).to_point());
        let (mut dot, mut cross) = (0.0, 0.0);
        for (a, b) in &pairs {
            let (a, b) = (*a - a0, *b - b0);
            dot += a.dot(b);
            cross += a.cross(b);
        }
        let length = dot.hypot(cross);
        if length <= 0.0 {
            return None;
        }
        let motion = Self { flip, from: a0, to: b0, cos: dot / length, sin: cross / length };
        let close = |(a, b): &(Point, Point)| (motion.turned(*a) - *b).hypot() <= near;
        pairs.iter().all(close).then_some(motion)
    }

    fn turned(&self, p: Point) -> Point {
        let d = p - self.from;
        self.to + Vec2::new(self.cos * d.x - self.sin * d.y, self.sin * d.x + self.cos * d.y)
    }

    fn point(&self, p: Point) -> Point {
        self.turned(flipped(p, self.flip))
    }

    /// How far it turns: 0 for not at all, 2 for half a turn.
    fn turn(&self) -> f64 {
        1.0 - self.cos
    }
}

fn flipped(p: Point, flip: bool) -> Point {
    if flip { Point::new(-p.x, p.y) } else { p }
}

/// Every loop of `from` where `motion` puts it, the first as found; `None` if one finds no partner.
fn all_loops(
    from: &Outline,
    to: &Outline,
    first: LoopFit,
    motion: &Motion,
    near: f64,
) -> Option<Vec<LoopFit>> {
    let mut found = vec![first];
    for curve in from.loops().iter().skip(1) {
        let begin = motion.point(curve.point_at(0.0));
        let partner = to.loops().iter().enumerate().find_map(|(l, other)| {
            let taken = found.iter().any(|fit| fit.to == l);
            if taken || (curve.length() - other.length()).abs() > near {
                return None;
            }
            let slope = other.length() / curve.length() * first.slope.signum();
            let start = other.nearest(begin).0;
            let miss = |s: f64| {
                (motion.point(curve.point_at(s)) - other.point_at(start + slope * s)).hypot()
            };
            // the way along the loop may slip a little more than the shapes do
            let same = places(curve).all(|s| miss(s) <= 4.0 * near);
            same.then_some(LoopFit { to: l, start, slope })
        })?;
        found.push(partner);
    }
    Some(found)
}
