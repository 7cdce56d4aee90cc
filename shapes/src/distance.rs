//! Inside or outside, how far, and where on the outline is nearest.

use kurbo::{ParamCurve, Point, Rect};

use crate::arc::Arc;
use crate::closed_loop::Loop;
use crate::cubic::Cubic;
use crate::outline::Outline;
use crate::segment::Segment;

impl Outline {
    /// True where `p` is inside the body.
    ///
    /// A ray to the right crosses the outline an odd number of times; arcs and lines are crossed
    /// exactly, Béziers to the last digits. On the outline itself either answer may come.
    pub fn contains(&self, p: Point) -> bool {
        self.bounds().contains_closed(p)
            && self.loops().iter().fold(false, |inside, curve| inside != curve.encloses(p))
    }

    /// Distance from `p` to the outline, inside or outside; infinite without loops.
    pub fn distance(&self, p: Point) -> f64 {
        self.nearest_squared(p).3.sqrt()
    }

    /// Distance from `p` to the outline, positive outside the body and negative inside it.
    pub fn signed_distance(&self, p: Point) -> f64 {
        let distance = self.distance(p);
        if self.contains(p) { -distance } else { distance }
    }

    /// The place on the outline nearest to `p`: index of the loop, arc length on it, the point.
    pub fn nearest(&self, p: Point) -> (usize, f64, Point) {
        let (index, s, at, _) = self.nearest_squared(p);
        (index, s, at)
    }

    fn nearest_squared(&self, p: Point) -> (usize, f64, Point, f64) {
        let mut best = (0, 0.0, p, f64::INFINITY);
        for (index, curve) in self.loops().iter().enumerate() {
            if box_distance_squared(curve.bounds(), p) >= best.3 {
                continue;
            }
            let (s, at, squared) = curve.nearest_within(p, best.3);
            if squared < best.3 {
                best = (index, s, at, squared);
            }
        }
        best
    }
}

impl Loop {
    /// True where the loop encloses `p`, whichever way it runs.
    pub fn encloses(&self, p: Point) -> bool {
        let bounds = self.bounds();
        if !(p.x <= bounds.x1 && p.y >= bounds.y0 && p.y <= bounds.y1) {
            return false;
        }
        let mut inside = false;
        for (index, segment) in self.segments().iter().enumerate() {
            let around = self.boxes()[index];
            if p.x > around.x1 || p.y < around.y0 || p.y > around.y1 {
                continue;
            }
            let (from, to) = (self.joints()[index], self.joint_after(index));
            inside ^= match segment {
                Segment::Line(_) => straddles(from.y, to.y, p.y) && line_x(from, to, p.y) > p.x,
                Segment::Arc(arc) => arc_crossed(arc, from, to, p),
                Segment::Cubic(cubic) => cubic_crossed(cubic, from, to, p),
            };
        }
        inside
    }

    /// The place on the loop nearest to `p`: arc length and point.
    pub fn nearest(&self, p: Point) -> (f64, Point) {
        let (s, at, _) = self.nearest_within(p, f64::INFINITY);
        (s, at)
    }

    /// Nearest place with its squared distance; only places nearer than `limit` (squared) are
    /// sure to be found.
    fn nearest_within(&self, p: Point, limit: f64) -> (f64, Point, f64) {
        let mut best = (0.0, self.joints()[0], (self.joints()[0] - p).hypot2());
        for (index, segment) in self.segments().iter().enumerate() {
            if box_distance_squared(self.boxes()[index], p) >= limit.min(best.2) {
                continue;
            }
            let (from, to) = (self.joints()[index], self.joint_after(index));
            let (along, at) = nearest_on(segment, from, to, p);
            let squared = (at - p).hypot2();
            if squared < best.2 {
                best = (self.wrapped(self.joint_positions()[index] + along), at, squared);
            }
        }
        best
    }
}

/// The place on a segment nearest to `p`: arc length from its start, and point.
pub(crate) fn nearest_on(segment: &Segment, from: Point, to: Point, p: Point) -> (f64, Point) {
    match segment {
        Segment::Line(_) => {
            let along = to - from;
            let t = ((p - from).dot(along) / along.hypot2()).clamp(0.0, 1.0);
            if t >= 1.0 { (along.hypot(), to) } else { (t * along.hypot(), from + along * t) }
        }
        Segment::Arc(arc) => match arc.s_towards(p) {
            Some(s) => {
                let away = p - arc.centre;
                let size = away.hypot();
                let at = if size > 0.0 {
                    arc.centre + away * (arc.radius / size)
                } else {
                    arc.at_angle(arc.angle_at(s))
                };
                (s, at)
            }
            None if (p - from).hypot2() <= (p - to).hypot2() => (0.0, from),
            None => (arc.length(), to),
        },
        Segment::Cubic(cubic) => {
            let t = cubic.nearest_parameter(p);
            (cubic.s_at_parameter(t), cubic.bez().eval(t))
        }
    }
}

/// Squared distance from `p` to a box; zero inside.
pub(crate) fn box_distance_squared(around: Rect, p: Point) -> f64 {
    let dx = (around.x0 - p.x).max(p.x - around.x1).max(0.0);
    let dy = (around.y0 - p.y).max(p.y - around.y1).max(0.0);
    dx * dx + dy * dy
}

/// True where a rise or fall from `y0` to `y1` passes `y`; a joint shared by two such stretches
/// counts for one of them only.
fn straddles(y0: f64, y1: f64, y: f64) -> bool {
    (y0 <= y) != (y1 <= y)
}

fn line_x(from: Point, to: Point, y: f64) -> f64 {
    from.x + (to.x - from.x) * ((y - from.y) / (to.y - from.y))
}

fn arc_crossed(arc: &Arc, from: Point, to: Point, p: Point) -> bool {
    let dy = p.y - arc.centre.y;
    let half = ((arc.radius - dy) * (arc.radius + dy)).max(0.0).sqrt();
    let mut crossed = false;
    let mut piece = |y0: f64, y1: f64, angle: f64| {
        if straddles(y0, y1, p.y) {
            let x = arc.centre.x + if angle.cos() >= 0.0 { half } else { -half };
            crossed ^= x > p.x;
        }
    };
    let (mut y, mut angle) = (from.y, arc.start);
    for turn in arc.y_turns() {
        let extreme =
            if turn.sin() > 0.0 { arc.centre.y + arc.radius } else { arc.centre.y - arc.radius };
        piece(y, extreme, 0.5 * (angle + turn));
        (y, angle) = (extreme, turn);
    }
    piece(y, to.y, 0.5 * (angle + arc.start + arc.sweep));
    crossed
}

fn cubic_crossed(cubic: &Cubic, from: Point, to: Point, p: Point) -> bool {
    let bez = cubic.bez();
    let turns = cubic.y_turns();
    let last = turns.len() - 1;
    let y_at = |k: usize| match k {
        0 => from.y,
        k if k == last => to.y,
        k => bez.eval(turns[k]).y,
    };
    let mut crossed = false;
    for k in 0..last {
        let (y0, y1) = (y_at(k), y_at(k + 1));
        if !straddles(y0, y1, p.y) {
            continue;
        }
        // bisection: monotone in y, so it cannot fail, and only few pieces come this far
        let (mut low, mut high) = (turns[k], turns[k + 1]);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if (bez.eval(middle).y <= p.y) == (y0 <= p.y) { low = middle } else { high = middle }
        }
        crossed ^= bez.eval(0.5 * (low + high)).x > p.x;
    }
    crossed
}

trait ClosedBox {
    fn contains_closed(&self, p: Point) -> bool;
}

impl ClosedBox for Rect {
    fn contains_closed(&self, p: Point) -> bool {
        p.x >= self.x0 && p.x <= self.x1 && p.y >= self.y0 && p.y <= self.y1
    }
}
