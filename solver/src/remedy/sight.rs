//! What a place on a part sees: which anodes, which bodies stand between, how much of the half
//! plane before it its own part covers.
use shapes::{Outline, Point, Vec2};

use crate::layout::{Layout, Role};

/// Chords of a curved segment.
const BENDS: usize = 12;
/// Points of an anode that are looked for.
const LOOKED_FOR: usize = 32;
/// Rays over the half plane before a place.
const RAYS: usize = 37;

/// Outlines as chords, body by body.
#[derive(Debug)]
pub(crate) struct Sight {
    chords: Vec<Vec<(Point, Point)>>,
    anodes: Vec<(usize, Vec<Point>)>,
    /// Largest extent of the tank, m.
    size_m: f64,
}

/// What a place sees of the anodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct View {
    /// Share of the anodes' outlines that lies in the half plane before it.
    pub faces: f64,
    /// Share of that which no body hides.
    pub sees: f64,
    /// The body, other than the place's own, that hides most, with the share that it hides.
    pub hidden_by: Option<(usize, f64)>,
}

/// How its own part surrounds a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Cover {
    /// Share of the half plane, by the cosine to its normal, in which no other face of the part lies.
    pub open: f64,
}

/// Points along an outline, loop after loop, in order of arc length.
pub(crate) fn points(outline: &Outline) -> Vec<Vec<Point>> {
    let samples = |curve: &shapes::Loop| {
        let mut out = Vec::new();
        for segment in curve.segments() {
            let count = if segment.is_line() { 1 } else { BENDS };
            let at = |k: usize| segment.point_at(segment.length() * k as f64 / count as f64);
            out.extend((0..count).map(at));
        }
        out
    };
    outline.loops().iter().map(samples).collect()
}

impl Sight {
    pub fn new(layout: &Layout) -> Self {
        let chords = |outline: &Outline| {
            let closed = |loop_: Vec<Point>| {
                let n = loop_.len();
                (0..n).map(move |k| (loop_[k], loop_[(k + 1) % n])).collect::<Vec<_>>()
            };
            points(outline).into_iter().flat_map(closed).collect()
        };
        let anodes = layout.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Anode);
        let looked_for = |outline: &Outline| {
            let curve = &outline.loops()[0];
            let at = |k| curve.point_at(curve.length() * (k as f64 + 0.5) / LOOKED_FOR as f64);
            (0..LOOKED_FOR).map(at).collect()
        };
        Self {
            chords: layout.bodies.iter().map(|b| chords(&b.outline)).collect(),
            anodes: anodes.map(|(b, body)| (b, looked_for(&body.outline))).collect(),
            size_m: layout.tank.diagonal(),
        }
    }

    /// The first body that a straight line meets, and how far from its start, m.
    fn first(&self, from: Point, way: Vec2, far: f64, only: Option<usize>) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for (body, chords) in self.chords.iter().enumerate() {
            if only.is_some_and(|only| only != body) {
                continue;
            }
            for &(a, b) in chords {
                let along = b - a;
                let across = way.cross(along);
                if across.abs() < 1e-12 * along.hypot() {
                    continue;
                }
                let start = a - from;
                let (s, share) = (start.cross(along) / across, start.cross(way) / across);
                let hit = s > 0.0 && s < far && (0.0..=1.0).contains(&share);
                if hit && best.is_none_or(|(_, least)| s < least) {
                    best = Some((body, s));
                }
            }
        }
        best
    }

    fn lifted(&self, at: Point, outward: Vec2) -> Point {
        at + outward * (1e-6 * self.size_m)
    }

    /// What a place of `body` sees of the anodes.
    pub fn anodes(&self, body: usize, at: Point, outward: Vec2) -> View {
        let from = self.lifted(at, outward);
        let mut hides = vec![0usize; self.chords.len()];
        let (mut all, mut before, mut seen) = (0usize, 0usize, 0usize);
        for (anode, points) in &self.anodes {
            for &point in points {
                all += 1;
                let way = point - from;
                let far = way.hypot();
                if way.dot(outward) <= 0.0 || far <= 0.0 {
                    continue;
                }
                // the far side of an anode is hidden by itself: its near side is what counts
                match self.first(from, way / far, far * (1.0 - 1e-9), None) {
                    Some((hit, _)) if hit == *anode => {}
                    None => {
                        before += 1;
                        seen += 1;
                    }
                    Some((hit, _)) => {
                        before += 1;
                        hides[hit] += 1;
                    }
                }
            }
        }
        let share = |n: usize, of: usize| if of == 0 { 0.0 } else { n as f64 / of as f64 };
        let other = (0..hides.len()).filter(|&b| b != body && hides[b] > 0);
        let hidden_by = other
            .max_by_key(|&b| (hides[b], std::cmp::Reverse(b)))
            .map(|b| (b, share(hides[b], before)));
        View { faces: share(before, all), sees: share(seen, before), hidden_by }
    }

    /// How its own part surrounds a place.
    pub fn cover(&self, body: usize, at: Point, outward: Vec2) -> Cover {
        let from = self.lifted(at, outward);
        let (mut open, mut all) = (0.0, 0.0);
        for k in 0..RAYS {
            let angle = std::f64::consts::PI * ((k as f64 + 0.5) / RAYS as f64 - 0.5);
            let (sin, cos) = angle.sin_cos();
            let way = outward * cos + Vec2::new(-outward.y, outward.x) * sin;
            all += cos;
            if self.first(from, way, self.size_m, Some(body)).is_none() {
                open += cos;
            }
        }
        Cover { open: open / all }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{body, layout, linear, rect};

    /// A plate of 40 mm with an anode to its left and a shield that hides it from one of its ends.
    #[test]
    fn the_front_of_a_plate_sees_the_anode_and_its_back_does_not() {
        let law = || linear(1e-3);
        let tank = layout(vec![
            body("plate", Role::Part, rect(0.10, 0.03, 0.11, 0.07), law()),
            body("anode", Role::Anode, rect(0.01, 0.02, 0.02, 0.08), law()),
        ]);
        let sight = Sight::new(&tank);
        let front = sight.anodes(0, Point::new(0.10, 0.05), Vec2::new(-1.0, 0.0));
        assert!(front.faces > 0.3 && front.sees == 1.0, "{front:?}");
        let back = sight.anodes(0, Point::new(0.11, 0.05), Vec2::new(1.0, 0.0));
        assert_eq!((back.faces, back.hidden_by), (0.0, None));
        assert_eq!(sight.cover(0, Point::new(0.11, 0.05), Vec2::new(1.0, 0.0)).open, 1.0);
        let mut shaded = tank;
        shaded.bodies.push(body("board", Role::Shield, rect(0.05, 0.0, 0.055, 0.1), law()));
        let view = Sight::new(&shaded).anodes(0, Point::new(0.10, 0.05), Vec2::new(-1.0, 0.0));
        assert_eq!(view.sees, 0.0);
        assert_eq!(view.hidden_by.map(|(b, _)| b), Some(2));
    }

    /// In the middle of the bottom of a slot as deep as wide, the half plane is open within 26.57
    /// degrees on either side: by the cosine sin(26.57°) = 0.447.
    #[test]
    fn the_bottom_of_a_slot_is_open_as_far_as_its_mouth() {
        let slot = crate::sample::polygon(&[
            [0.06, 0.02],
            [0.12, 0.02],
            [0.12, 0.06],
            [0.10, 0.06],
            [0.10, 0.04],
            [0.08, 0.04],
            [0.08, 0.06],
            [0.06, 0.06],
        ]);
        let tank = layout(vec![body("slot", Role::Part, slot, linear(1e-3))]);
        let sight = Sight::new(&tank);
        let cover = sight.cover(0, Point::new(0.09, 0.04), Vec2::new(0.0, 1.0));
        assert!((cover.open - 0.447).abs() < 0.05, "{cover:?}");
    }
}
