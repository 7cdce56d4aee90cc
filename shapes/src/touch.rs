//! What a ball can touch: the part of an outline that plating standards judge.
//!
//! ISO 27830 and ISO 1456 ask for a least thickness wherever a ball of 20 mm diameter can touch
//! the surface. In the section the ball is a disc that rests on the outline from outside: a point
//! can be touched if the disc tangent there overlaps the body nowhere. Its centre then lies one
//! radius out along the normal, and no other point of the outline is nearer to it than that.
//!
//! Lines and arcs shadow each other in closed form: the centre moves on a line or a circle, and it
//! enters and leaves the neighbourhood of another line or arc where that path crosses circles
//! round its ends and its parallels at the ball's radius. Béziers are searched by halving, a
//! stretch being done with once its centre's distance to the other curve tells the answer for all
//! of it; shadows shorter than 1/256 of a Bézier may be missed.
//!
//! Only the body itself counts, as the standards judge the article and not the rack. A closed bore
//! or a pocket behind a narrow neck counts wherever the ball fits, because it may come from out of
//! the page. Single points (the tip of a spike between two walls) do not count: they have no
//! length.

use kurbo::{Point, Rect, Vec2};

use crate::arc::Arc;
use crate::distance::nearest_on;
use crate::outline::Outline;
use crate::segment::Segment;
use crate::transform::Axis;

mod path;

use path::Path;

/// A stretch of a loop, in the direction of growing arc length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Which loop of the outline.
    pub loop_index: usize,
    /// Arc length where it begins, in `[0, length)`.
    pub from: f64,
    /// Arc length where it ends, above `from`; it may run past the loop's start, by less than one
    /// turn.
    pub to: f64,
}

/// Overlap of ball and body that is only rounding, as a share of ball and body together.
const HAIR: f64 = 1e-10;

impl Outline {
    /// The stretches of the outline that a ball of this radius can touch from outside, loop by
    /// loop in order of arc length; a loop touched everywhere is one stretch from 0.
    ///
    /// The ends are exact for lines and arcs (1e-10 of ball and body together over the sine of the
    /// angle between ball and obstacle), better than 1e-8 for Béziers. Joints that turn by less
    /// than [`SMOOTH_TURN`](crate::SMOOTH_TURN) cast no shadow. O(n²) boxes.
    pub fn touchable(&self, radius: f64) -> Vec<Reach> {
        touchable(self, radius, self.obstacles(true), false)
    }

    /// As [`Outline::touchable`] for half a section of a body of revolution about `x = 0`: the
    /// other half stands in the ball's way too. What lies on the axis is inside the body and is
    /// not touched.
    pub fn touchable_round_axis(&self, radius: f64) -> Vec<Reach> {
        let mirror = 2.0 * self.bounds().center().x;
        let other = self.mirrored(Axis::X).moved(Vec2::new(-mirror, 0.0));
        let mut obstacles = self.obstacles(true);
        obstacles.extend(other.obstacles(false));
        touchable(self, radius, obstacles, true)
    }

    fn obstacles(&self, own: bool) -> Vec<Obstacle> {
        let mut out = Vec::new();
        for (l, curve) in self.loops().iter().enumerate() {
            for (k, segment) in curve.segments().iter().enumerate() {
                out.push(Obstacle {
                    segment: segment.clone(),
                    from: curve.joints()[k],
                    to: curve.joint_after(k),
                    bounds: curve.boxes()[k],
                    own: own.then_some((l, k)),
                });
            }
        }
        out
    }
}

/// A segment that may be in the ball's way.
struct Obstacle {
    segment: Segment,
    from: Point,
    to: Point,
    bounds: Rect,
    /// Loop and index, if it belongs to the outline that is touched.
    own: Option<(usize, usize)>,
}

impl Obstacle {
    fn distance(&self, p: Point) -> f64 {
        (nearest_on(&self.segment, self.from, self.to, p).1 - p).hypot()
    }
}

fn touchable(
    outline: &Outline,
    radius: f64,
    obstacles: Vec<Obstacle>,
    round_axis: bool,
) -> Vec<Reach> {
    let size = outline.diagonal() + radius;
    let ball = Ball { radius, least: radius - HAIR * size };
    let mut out = Vec::new();
    for (loop_index, curve) in outline.loops().iter().enumerate() {
        let hair = 1e-9 * curve.length();
        let count = curve.segments().len();
        // clear stretches of this loop, joined as they come
        let mut clear: Vec<(f64, f64)> = Vec::new();
        for (k, segment) in curve.segments().iter().enumerate() {
            let start = curve.joint_positions()[k];
            let on_axis = round_axis && curve.boxes()[k].x1.abs() <= HAIR * size;
            let blocked = if on_axis || ball.is_too_big_for(segment) {
                vec![(0.0, segment.length())]
            } else {
                let is_straight_on = |o: &Obstacle| match o.own {
                    Some((l, i)) if l == loop_index => {
                        ((i + 1) % count == k && curve.is_smooth(k))
                            || ((k + 1) % count == i && curve.is_smooth(i))
                    }
                    _ => false,
                };
                let around = curve.boxes()[k].inflate(2.0 * radius, 2.0 * radius);
                let near = obstacles.iter().filter(|o| {
                    // a line or an arc is in its own way as told above
                    let counts =
                        o.own != Some((loop_index, k)) || matches!(segment, Segment::Cubic(_));
                    let lines = segment.is_line() && o.segment.is_line();
                    meets(around, o.bounds) && counts && !(lines && is_straight_on(o))
                });
                ball.shadows(&Path::new(segment, curve.joints()[k], radius), near)
            };
            let mut at = 0.0;
            for (from, to) in blocked.into_iter().chain([(segment.length(), f64::INFINITY)]) {
                if from > at {
                    match clear.last_mut() {
                        Some(last) if start + at - last.1 <= hair => last.1 = start + from,
                        _ => clear.push((start + at, start + from)),
                    }
                }
                at = to.max(at);
            }
        }
        // the last stretch may run on over the start of the loop
        let length = curve.length();
        if let [(first, end), .., (_, last)] = clear.as_mut_slice()
            && *first <= hair
            && length - *last <= hair
        {
            *last = length + *end;
            clear.remove(0);
        }
        clear.retain(|(from, to)| to - from > hair);
        out.extend(clear.into_iter().map(|(from, to)| Reach { loop_index, from, to }));
    }
    out
}

fn meets(a: Rect, b: Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

struct Ball {
    radius: f64,
    /// Obstacles nearer to the centre than this are overlapped.
    least: f64,
}

impl Ball {
    /// True on a hollow of a smaller radius: the ball spans it.
    fn is_too_big_for(&self, segment: &Segment) -> bool {
        matches!(segment, Segment::Arc(Arc { radius, sweep, .. }) if *sweep < 0.0 && *radius < self.least)
    }

    /// Where obstacles keep the ball off a segment: sorted arc lengths on it, not overlapping.
    fn shadows<'o>(
        &self,
        path: &Path<'_>,
        obstacles: impl Iterator<Item = &'o Obstacle>,
    ) -> Vec<(f64, f64)> {
        let mut found = Vec::new();
        for obstacle in obstacles {
            let over = |u: f64| obstacle.distance(path.at(u)) - self.least;
            let half = path.half_length();
            if half.is_some_and(|half| over(0.5 * path.end()) > half) {
                continue;
            }
            match path.entries(obstacle, self.radius) {
                Some(mut entries) => {
                    entries.extend([0.0, path.end()]);
                    entries.sort_by(f64::total_cmp);
                    for pair in entries.windows(2) {
                        if pair[1] > pair[0] && over(0.5 * (pair[0] + pair[1])) < 0.0 {
                            found.push((pair[0], pair[1]));
                        }
                    }
                }
                None => {
                    for k in 0..PIECES {
                        let at = |k: usize| path.end() * k as f64 / PIECES as f64;
                        halve(path, &over, (at(k), at(k + 1)), HALVINGS, &mut found);
                    }
                }
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut joined: Vec<(f64, f64)> = Vec::new();
        for (from, to) in found {
            match joined.last_mut() {
                Some(last) if from <= last.1 => last.1 = last.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        joined.into_iter().map(|(from, to)| (path.arc_length(from), path.arc_length(to))).collect()
    }
}

/// Pieces of a path at first, and how often each is halved where the answer is not plain.
const PIECES: usize = 8;
const HALVINGS: u32 = 5;

/// Finds where `over` is negative between the ends of `range`.
fn halve(
    path: &Path<'_>,
    over: &impl Fn(f64) -> f64,
    range: (f64, f64),
    halvings: u32,
    found: &mut Vec<(f64, f64)>,
) {
    let (a, b) = range;
    let m = 0.5 * (a + b);
    let here = over(m);
    let centre = path.at(m);
    // distances change no faster than the centre moves; a bent path moves a little further
    let moves = 1.25 * (path.at(a) - centre).hypot().max((path.at(b) - centre).hypot());
    if here > moves {
        return;
    }
    if here < -moves {
        found.push(range);
        return;
    }
    if halvings > 0 {
        halve(path, over, (a, m), halvings - 1, found);
        halve(path, over, (m, b), halvings - 1, found);
        return;
    }
    for (a, b) in [(a, m), (m, b)] {
        match (over(a) < 0.0, over(b) < 0.0) {
            (true, true) => found.push((a, b)),
            (true, false) => found.push((a, change(over, a, b))),
            (false, true) => found.push((change(over, a, b), b)),
            (false, false) => {}
        }
    }
}

/// Where the sign of `over` changes between `a` and `b`.
fn change(over: &impl Fn(f64) -> f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (a, b);
    let negative = over(a) < 0.0;
    for _ in 0..45 {
        let m = 0.5 * (low + high);
        if (over(m) < 0.0) == negative { low = m } else { high = m }
    }
    0.5 * (low + high)
}
