//! Contacts are closed: where two outlines touch, no hair of bath is left between them.
//!
//! Rounding alone would leave or close a slit of a few lattice ticks at random, and a slit at the
//! tip of an insulator leaks current through one cell on any grid. So every place where outlines
//! come within a stated distance of each other gets a vertex on both, and both vertices are pushed
//! a little into the other body, so that the polygon booleans see an overlap and nothing else.

use shapes::{Loop, Outline, Place, Vec2};

use crate::domain::{Source, TANK};
use crate::layout::{Layout, Role};

/// Bodies nearer to each other or to the wall than this share of the tank's diagonal touch: 0.2 µm
/// in a 2 m tank. Narrower gaps would be lost between the smallest cells.
pub(crate) const CONTACT: f64 = 1e-7;
/// How far touching vertices are pushed, as a share of that distance: some fifty ticks.
const PUSH: f64 = 0.5;
/// Cosine between the directions into two solids beyond which they lie on the same side.
const FLUSH: f64 = 0.1;

/// Two places that touch.
#[derive(Debug, Clone, Copy)]
struct Touch {
    owners: [u32; 2],
    places: [Place; 2],
}

/// All contacts of a layout.
#[derive(Debug, Clone, Default)]
pub(crate) struct Weld {
    touches: Vec<Touch>,
    tolerance: f64,
}

impl Weld {
    /// Finds the contacts between bodies and of bodies with the wall. Screens may lie over other
    /// bodies; where two screens touch, current passes from one to the other.
    pub(crate) fn new(layout: &Layout) -> Self {
        let tolerance = CONTACT * layout.tank.diagonal();
        let screen = |k: usize| matches!(layout.bodies[k].role, Role::Screen { .. });
        let mut touches = Vec::new();
        let mut add = |owners: [u32; 2], a: &Outline, b: &Outline| {
            let found = a.contacts(b, tolerance).into_iter();
            touches.extend(found.map(|places| Touch { owners, places }));
        };
        for (i, body) in layout.bodies.iter().enumerate() {
            add([i as u32, TANK], &body.outline, &layout.tank);
            for (k, other) in layout.bodies[..i].iter().enumerate() {
                if !(screen(i) && screen(k)) {
                    add([i as u32, k as u32], &body.outline, &other.outline);
                }
            }
        }
        Self { touches, tolerance }
    }

    /// Arc lengths of a loop at which there must be a vertex: those `planned` and the contacts.
    ///
    /// A contact right at a planned one or at a joint of the loop takes that vertex.
    pub(crate) fn breaks(
        &self,
        owner: u32,
        index: usize,
        curve: &Loop,
        planned: &[f64],
    ) -> Vec<f64> {
        let near = |a: f64, b: f64| (a - b).abs() <= self.tolerance;
        let mut all = planned.to_vec();
        for place in self.places(owner, index) {
            let s = place.s.rem_euclid(curve.length());
            let joint = curve.joint_positions().iter().any(|j| near(*j, s));
            if !joint && !all.iter().any(|b| near(*b, s)) {
                all.push(s);
            }
        }
        all.sort_by(f64::total_cmp);
        all
    }

    fn places(&self, owner: u32, index: usize) -> impl Iterator<Item = Place> {
        self.touches
            .iter()
            .flat_map(|t| t.owners.into_iter().zip(t.places))
            .filter(move |(o, p)| *o == owner && p.loop_index == index)
            .map(|(_, p)| p)
    }

    /// Pushes the vertices at contacts into the bodies that they touch.
    pub(crate) fn push(&self, sources: &mut [Source]) {
        let push = PUSH * self.tolerance;
        // all moves are found before any is made
        let mut moves: Vec<(usize, usize, u32, Vec2)> = Vec::new();
        for touch in &self.touches {
            let found = [0, 1].map(|k| self.vertex(sources, touch.owners[k], &touch.places[k]));
            let [Some(a), Some(b)] = found else { continue };
            let middle = touch.places[0].at.midpoint(touch.places[1].at);
            let into = [a, b].map(|(k, i)| inward(&sources[k], i));
            // solid on the same side, as where metal lies flush in a wall: no slit to close, and a
            // push would draw the metal back behind the wall
            if into[0].dot(into[1]) > FLUSH {
                continue;
            }
            let moved = [(a, into[1], touch.owners[1]), (b, into[0], touch.owners[0])];
            for ((k, i), into, owner) in moved {
                let to = middle + into * push;
                // several contacts of a vertex with one body are one
                if !moves.iter().any(|m| (m.0, m.1, m.2) == (k, i, owner)) {
                    moves.push((k, i, owner, to - sources[k].at[i]));
                }
            }
        }
        for (k, i, _, by) in moves {
            sources[k].at[i] += by;
        }
    }

    /// The vertex at a place: source and number.
    fn vertex(&self, sources: &[Source], owner: u32, place: &Place) -> Option<(usize, usize)> {
        let first = sources.iter().position(|s| s.owner == owner)?;
        let k = first + place.loop_index;
        let source = sources.get(k).filter(|s| s.owner == owner)?;
        let away = |s: f64| {
            let d = (s - place.s).rem_euclid(source.length);
            d.min(source.length - d)
        };
        let near =
            (0..source.s.len()).min_by(|&a, &b| away(source.s[a]).total_cmp(&away(source.s[b])))?;
        (away(source.s[near]) <= 2.0 * self.tolerance).then_some((k, near))
    }
}

/// Direction into what is solid at a vertex: the bisector at a corner.
fn inward(source: &Source, i: usize) -> Vec2 {
    let n = source.at.len();
    let (before, at, after) = (source.at[(i + n - 1) % n], source.at[i], source.at[(i + 1) % n]);
    let left = |v: Vec2| Vec2::new(-v.y, v.x) / v.hypot().max(f64::MIN_POSITIVE);
    let sum = left(at - before) + left(after - at);
    let unit = sum / sum.hypot().max(f64::MIN_POSITIVE);
    if source.owner == TANK { -unit } else { unit }
}

#[cfg(test)]
mod tests {
    use shapes::Point;

    use super::*;
    use crate::layout::Body;
    use crate::sample::{body, grid, ideal, layout, polygon};

    /// How many pools the bath falls into.
    fn pools(bodies: Vec<Body>) -> usize {
        let g = grid(&layout(bodies), 3, 5, 9);
        g.mesh.pools(&g.domain).into_iter().max().map_or(0, |most| most + 1)
    }

    /// A block through the floor with a slanted roof, and above it a body down from the ceiling.
    fn below(outline: Outline) -> Vec<Body> {
        let roof = polygon(&[[0.07, -0.01], [0.13, -0.01], [0.13, 0.051], [0.07, 0.0317]]);
        vec![
            body("block", Role::Part, roof, ideal()),
            body("above", Role::Shield, outline, ideal()),
        ]
    }

    /// A point on the roof.
    fn roof(t: f64) -> Point {
        Point::new(0.07, 0.0317).lerp(Point::new(0.13, 0.051), t)
    }

    #[test]
    fn a_tip_on_a_slanted_side_parts_the_bath() {
        for k in 1..40 {
            let p = roof(f64::from(k) / 41.0);
            for width in [2e-4, 0.01] {
                let tip = [[p.x, p.y], [p.x + width, 0.12], [p.x - width, 0.12]];
                assert_eq!(pools(below(polygon(&tip))), 2, "{k} {width}");
            }
        }
    }

    #[test]
    fn a_gap_below_the_stated_size_is_closed_and_one_above_it_stays_open() {
        let narrowest = CONTACT * layout(vec![]).tank.diagonal();
        for (share, parted) in [(0.1, 2), (0.9, 2), (5.0, 1), (100.0, 1)] {
            let p = roof(0.37) + Vec2::new(0.0, share * narrowest);
            let tip = [[p.x, p.y], [p.x + 0.01, 0.12], [p.x - 0.01, 0.12]];
            assert_eq!(pools(below(polygon(&tip))), parted, "{share}");
        }
    }

    #[test]
    fn a_round_body_that_just_touches_parts_the_bath() {
        let along = roof(1.0) - roof(0.0);
        let up = Vec2::new(-along.y, along.x) / along.hypot();
        for k in 0..20 {
            // wide enough to reach through the ceiling
            let radius = 0.034 + 5.3e-4 * f64::from(k);
            let drop = Outline::disc(roof(0.5) + up * radius, radius).unwrap();
            assert_eq!(pools(below(drop)), 2, "{k}");
        }
    }
}
