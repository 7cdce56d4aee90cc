//! Current tubes: lines through the bath between which the same current flows.
//!
//! Where the lines crowd, the current density is high. The current that leaves the anodes is cut
//! into equal shares along their outlines; from the middle of each share a line is traced along
//! the current density with the Cash-Karp pair of Runge-Kutta formulas (Cash and Karp 1990, *ACM
//! Trans. Math. Softw.* 16, 201-222), in arc length, until it meets metal or leaves the bath.
//! Floating metal takes lines in on one side and lets lines of the same share out on the other.
//!
//! Limits: a share that spans two anodes is drawn from the one that holds its middle, so near an
//! anode with few lines a tube's current is right only to within one share.

use shapes::{Point, Vec2};

use crate::field::Field;
use crate::layout::{Role, Symmetry};
use crate::solution::{BodyResult, Solution, Stretch};

/// One line in the middle of a current tube.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// The line from the metal where the current enters the bath to where it leaves it, m.
    pub points: Vec<Point>,
    /// Current that the tube carries, A: the same for all tubes of one call.
    pub current_a: f64,
    /// Index of the body that the line starts from.
    pub from: usize,
    /// Index of the body that the line ends on; `None` where tracing stopped in the bath.
    pub to: Option<usize>,
}

/// Traces `count` lines from the anodes (and in proportion from floating metal), each in the
/// middle of a tube that carries `anode current / count`.
///
/// Lines come in the order of bodies and arc length. Empty when no current flows or `count` is 0.
///
/// O(count × steps), steps of at most a hundredth of the electrodes' extent.
pub fn current_tubes(solution: &Solution, count: usize) -> Vec<Tube> {
    let anodes = |b: &BodyResult| b.role == Role::Anode;
    let total: f64 = solution.bodies.iter().filter(|b| anodes(b)).map(outflow).sum();
    let metal = Metal::of(solution);
    if count == 0 || !total.is_finite() || total <= 0.0 || metal.extent <= 0.0 {
        return Vec::new();
    }
    let share = total / count as f64;

    let mut starts = Vec::with_capacity(count);
    // the anodes together, so that shares run on from one anode to the next
    let mut passed = 0.0;
    for (body, _) in solution.bodies.iter().enumerate().filter(|(_, b)| anodes(b)) {
        starts_along(solution, body, share, &mut passed, &mut starts);
    }
    for (body, result) in solution.bodies.iter().enumerate() {
        if result.role == Role::Floating {
            let through = outflow(result);
            let lines = (through / share).round();
            if lines >= 1.0 {
                starts_along(solution, body, through / lines, &mut 0.0, &mut starts);
            }
        }
    }
    starts.into_iter().filter_map(|start| trace(&solution.field, &metal, &start, share)).collect()
}

/// Current from the metal into the bath over the stretches where it flows that way, A.
fn outflow(body: &BodyResult) -> f64 {
    body.stretches.iter().map(|s| (-s.current_density_a_m2).max(0.0) * s.area_m2).sum()
}

/// Where a line begins: on the metal, with the way out.
struct Start {
    body: usize,
    at: Point,
    normal: Vec2,
    length: f64,
}

/// Start points in the middles of equal shares; `passed` is the current met so far.
fn starts_along(
    solution: &Solution,
    body: usize,
    share: f64,
    passed: &mut f64,
    starts: &mut Vec<Start>,
) {
    for stretch in &solution.bodies[body].stretches {
        let current = (-stretch.current_density_a_m2).max(0.0) * stretch.area_m2;
        if current <= 0.0 {
            continue;
        }
        let normal = Vec2::new(stretch.normal[0], stretch.normal[1]);
        let along = Vec2::new(-normal.y, normal.x);
        // middles of shares lie at (k + 1/2) share
        let mut k = (*passed / share - 0.5).ceil().max(0.0);
        while (k + 0.5) * share < *passed + current {
            let fraction = ((k + 0.5) * share - *passed) / current;
            let fraction = length_share(solution.symmetry, stretch, fraction);
            let at = stretch.at + along * ((fraction - 0.5) * stretch.length_m);
            starts.push(Start { body, at, normal, length: stretch.length_m });
            k += 1.0;
        }
        *passed += current;
    }
}

/// The share of a stretch's length within which the share `of_area` of its area lies: around an
/// axis a straight stretch is a cone, and its wider end holds more.
fn length_share(symmetry: Symmetry, stretch: &Stretch, of_area: f64) -> f64 {
    match symmetry {
        // radius² grows evenly with the area of a cone: r² = r0² + share (r1² − r0²)
        Symmetry::Axial => {
            let half = -0.5 * stretch.normal[1] * stretch.length_m;
            let (first, last) = ((stretch.at.x - half).max(0.0), (stretch.at.x + half).max(0.0));
            let radius = (first * first + of_area * (last * last - first * first)).sqrt();
            // (r − r0) / (r1 − r0) without its 0/0 on a cylinder
            of_area * (first + last) / (first + radius).max(f64::MIN_POSITIVE)
        }
        Symmetry::Planar => of_area,
    }
}

/// Straight pieces of all metal outlines, sorted by x for quick crossing tests.
struct Metal {
    pieces: Vec<Piece>,
    /// Half the longest piece: how far a piece can reach from its middle.
    reach: f64,
    /// Diagonal of the box round all pieces.
    extent: f64,
}

struct Piece {
    body: usize,
    middle: Point,
    half: Vec2,
}

impl Metal {
    fn of(solution: &Solution) -> Self {
        let mut pieces = Vec::new();
        let (mut low, mut high) = (Vec2::new(f64::MAX, f64::MAX), Vec2::new(f64::MIN, f64::MIN));
        let mut reach: f64 = 0.0;
        for (body, result) in solution.bodies.iter().enumerate() {
            for s in &result.stretches {
                let half = Vec2::new(-s.normal[1], s.normal[0]) * (s.length_m / 2.0);
                low = Vec2::new(low.x.min(s.at.x), low.y.min(s.at.y));
                high = Vec2::new(high.x.max(s.at.x), high.y.max(s.at.y));
                reach = reach.max(s.length_m / 2.0);
                pieces.push(Piece { body, middle: s.at, half });
            }
        }
        pieces.sort_by(|a, b| a.middle.x.total_cmp(&b.middle.x));
        let extent = if pieces.is_empty() { 0.0 } else { (high - low).hypot() };
        Self { pieces, reach, extent }
    }

    /// First crossing of the segment `a`-`b` with metal: fraction along it and the body.
    fn crossing(&self, a: Point, b: Point) -> Option<(f64, usize)> {
        let (left, right) = (a.x.min(b.x) - self.reach, a.x.max(b.x) + self.reach);
        let first = self.pieces.partition_point(|p| p.middle.x < left);
        let step = b - a;
        let mut best: Option<(f64, usize)> = None;
        for piece in self.pieces[first..].iter().take_while(|p| p.middle.x <= right) {
            let across = step.cross(piece.half);
            if across == 0.0 {
                continue;
            }
            let to_middle = piece.middle - a;
            let t = to_middle.cross(piece.half) / across;
            let u = to_middle.cross(step) / across;
            // a little longer than the piece, so that no line slips between two chords
            if (0.0..=1.0).contains(&t) && u.abs() <= 1.02 && best.is_none_or(|(old, _)| t < old) {
                best = Some((t, piece.body));
            }
        }
        best
    }

    /// The body whose outline passes within `distance` of `p`, the nearest if several do.
    fn near(&self, p: Point, distance: f64) -> Option<usize> {
        let first = self.pieces.partition_point(|q| q.middle.x < p.x - distance - self.reach);
        self.pieces[first..]
            .iter()
            .take_while(|q| q.middle.x <= p.x + distance + self.reach)
            .map(|q| ((q.middle - p).hypot() - q.half.hypot(), q.body))
            .filter(|(gap, _)| *gap <= distance)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, body)| body)
    }
}

/// Longest step, as a share of the electrodes' extent: keeps drawn lines smooth.
const LONGEST: f64 = 0.01;
/// Below this share of the extent a step no longer shows in any picture.
const SHORTEST: f64 = 1e-5;
/// Allowed error of one step, as a share of the extent.
const TOLERANCE: f64 = 1e-6;
/// A line that wanders for longer than this has met a point without current.
const MOST_STEPS: usize = 4000;

fn trace(field: &Field, metal: &Metal, start: &Start, current_a: f64) -> Option<Tube> {
    let shortest = SHORTEST * metal.extent;
    let longest = LONGEST * metal.extent;
    let mut p = first_point_in_bath(field, start)?;
    let mut points = vec![start.at, p];
    let mut to = None;
    let mut h = (start.length / 2.0).clamp(shortest, longest);
    for _ in 0..MOST_STEPS {
        let Some((next, error)) = cash_karp(field, p, h) else {
            if h > shortest {
                h = (h / 2.0).max(shortest);
                continue;
            }
            // within a hair of a wall or metal, where the field ends: go straight on to the metal
            let ahead = p + direction(field, p)? * (4.0 * shortest);
            if let Some((fraction, body)) = metal.crossing(p, ahead) {
                points.push(p.lerp(ahead, fraction));
                to = Some(body);
            } else {
                to = metal.near(p, 4.0 * shortest);
            }
            break;
        };
        let limit = TOLERANCE * metal.extent;
        if error > limit && h > shortest {
            h = (h * (0.9 * libm::pow(limit / error, 0.25)).clamp(0.1, 0.9)).max(shortest);
            continue;
        }
        if let Some((fraction, body)) = metal.crossing(p, next) {
            points.push(p.lerp(next, fraction));
            to = Some(body);
            break;
        }
        if (next - p).hypot() < 1e-3 * h {
            break;
        }
        p = next;
        points.push(p);
        let grow = if error > 0.0 { 0.9 * libm::pow(limit / error, 0.2) } else { 4.0 };
        h = (h * grow.clamp(0.3, 4.0)).clamp(shortest, longest);
    }
    (points.len() > 2).then_some(Tube { points, current_a, from: start.body, to })
}

/// The first point off the metal along the normal where the field is known and leads away.
fn first_point_in_bath(field: &Field, start: &Start) -> Option<Point> {
    [1e-3, 4e-3, 1.6e-2, 6.4e-2, 0.25, 1.0].into_iter().find_map(|share| {
        let p = start.at + start.normal * (share * start.length);
        let value = field.at(p)?;
        let [ix, iy] = value.current_a_m2;
        (ix * start.normal.x + iy * start.normal.y > 0.0).then_some(p)
    })
}

/// Direction of the current at a point; `None` outside the bath or without current.
fn direction(field: &Field, p: Point) -> Option<Vec2> {
    let [ix, iy] = field.at(p)?.current_a_m2;
    let size = ix.hypot(iy);
    (size.is_finite() && size > 0.0).then(|| Vec2::new(ix / size, iy / size))
}

/// One Cash-Karp step of length `h`: the fifth-order point and its distance to the fourth-order one.
fn cash_karp(field: &Field, p: Point, h: f64) -> Option<(Point, f64)> {
    let k1 = direction(field, p)?;
    let k2 = direction(field, p + h * (k1 / 5.0))?;
    let k3 = direction(field, p + h * (k1 * (3.0 / 40.0) + k2 * (9.0 / 40.0)))?;
    let k4 = direction(field, p + h * (k1 * 0.3 - k2 * 0.9 + k3 * 1.2))?;
    let k5 = direction(
        field,
        p + h * (k1 * (-11.0 / 54.0) + k2 * 2.5 - k3 * (70.0 / 27.0) + k4 * (35.0 / 27.0)),
    )?;
    let k6 = direction(
        field,
        p + h
            * (k1 * (1631.0 / 55296.0)
                + k2 * (175.0 / 512.0)
                + k3 * (575.0 / 13824.0)
                + k4 * (44275.0 / 110592.0)
                + k5 * (253.0 / 4096.0)),
    )?;
    let fifth =
        k1 * (37.0 / 378.0) + k3 * (250.0 / 621.0) + k4 * (125.0 / 594.0) + k6 * (512.0 / 1771.0);
    let fourth = k1 * (2825.0 / 27648.0)
        + k3 * (18575.0 / 48384.0)
        + k4 * (13525.0 / 55296.0)
        + k5 * (277.0 / 14336.0)
        + k6 * 0.25;
    Some((p + h * fifth, (h * (fifth - fourth)).hypot()))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;
    use crate::field::FieldPoint;
    use crate::solution::{SolveStats, Spread, Wagner};

    fn body(role: Role, area_m2: f64, stretches: Vec<Stretch>) -> BodyResult {
        let o = Point::ORIGIN;
        let density = Spread {
            mean: 0.0,
            min: 0.0,
            max: 0.0,
            min_at: o,
            max_at: o,
            mean_uncertainty: 0.0,
            min_uncertainty: 0.0,
            max_uncertainty: 0.0,
        };
        BodyResult {
            name: role.word().into(),
            role,
            current_a: 0.0,
            current_uncertainty_a: 0.0,
            area_m2,
            metal_potential_v: None,
            contact_v: 0.0,
            stretches,
            density,
        }
    }

    /// In a section 0.5 m deep.
    fn stretch(at: Point, normal: [f64; 2], length_m: f64, density: f64) -> Stretch {
        Stretch {
            loop_index: 0,
            s_m: 0.0,
            length_m,
            area_m2: 0.5 * length_m,
            at,
            normal,
            potential_v: 0.0,
            overpotential_v: 0.0,
            current_density_a_m2: density,
            uncertainty_a_m2: 0.0,
        }
    }

    fn solution(bodies: Vec<BodyResult>, field: Field) -> Solution {
        Solution {
            bodies,
            symmetry: Symmetry::Planar,
            supplies: Vec::new(),
            field,
            current_balance: 0.0,
            wagner: Wagner { number: 0.0, length_m: 1.0 },
            stats: SolveStats {
                unknowns: 0,
                cells: 0,
                newton_steps: 0,
                grids: 0,
                levels: 0,
                finest_cell_m: 0.0,
                estimated_error: 0.0,
                worst_error: 0.0,
                accuracy_met: true,
            },
        }
    }

    /// A wall of metal along x = `x` for 0 < y < 1 in ten stretches, facing the way of `out`.
    fn wall(role: Role, x: f64, out: f64, density: f64) -> BodyResult {
        let rows = (0..10).map(|k| {
            let y = (f64::from(k) + 0.5) / 10.0;
            // metal on the left of the outline's direction: upwards where the bath is to the right
            let y = if out > 0.0 { y } else { 1.0 - y };
            stretch(Point::new(x, y), [out, 0.0], 0.1, density)
        });
        body(role, 0.5, rows.collect())
    }

    /// Uniform field 100 A/m² along x between plates at x = 0 and x = 2: lines are straight, and
    /// 24 of them over a height of 1 m lie 1/24 m apart.
    #[test]
    fn parallel_plates_give_straight_lines_evenly_spaced() {
        let field = Field::from_fn(|p| {
            ((0.0..=2.0).contains(&p.x) && (0.0..=1.0).contains(&p.y))
                .then_some(FieldPoint { potential_v: 0.0, current_a_m2: [100.0, 0.0] })
        });
        let solution = solution(
            vec![wall(Role::Anode, 0.0, 1.0, -100.0), wall(Role::Part, 2.0, -1.0, 100.0)],
            field,
        );
        let tubes = current_tubes(&solution, 24);
        assert_eq!(tubes.len(), 24);
        let mut heights = Vec::new();
        for tube in &tubes {
            assert_eq!((tube.from, tube.to), (0, Some(1)));
            // 100 A/m² × 1 m × 0.5 m in 24 shares
            assert!((tube.current_a - 50.0 / 24.0).abs() < 1e-12);
            let y = tube.points[0].y;
            assert!(tube.points.iter().all(|p| (p.y - y).abs() < 1e-12));
            assert!((tube.points.last().unwrap().x - 2.0).abs() < 1e-9);
            heights.push(y);
        }
        heights.sort_by(f64::total_cmp);
        for (k, y) in heights.iter().enumerate() {
            assert!((y - (k as f64 + 0.5) / 24.0).abs() < 1e-12, "line {k} at {y}");
        }
    }

    /// Outer ring of radius 1 feeds a rod of radius 0.25: J = −c/r² · (x, y); lines run along radii.
    #[test]
    fn concentric_cylinders_give_radial_lines() {
        let field = Field::from_fn(|p| {
            let r2 = p.to_vec2().hypot2();
            (0.0625..=1.0).contains(&r2).then(|| FieldPoint {
                potential_v: 0.0,
                current_a_m2: [-40.0 * p.x / r2, -40.0 * p.y / r2],
            })
        });
        let ring = |role, radius: f64, out: f64, density| {
            let n = 60;
            let rows = (0..n).map(|k| {
                let angle = -out * TAU * (f64::from(k) + 0.5) / f64::from(n);
                let unit = Vec2::from_angle(angle);
                let normal = unit * out;
                let length = TAU * radius / f64::from(n);
                stretch((unit * radius).to_point(), [normal.x, normal.y], length, density)
            });
            body(role, 0.5 * TAU * radius, rows.collect())
        };
        let solution = solution(
            vec![ring(Role::Anode, 1.0, -1.0, -40.0), ring(Role::Part, 0.25, 1.0, 160.0)],
            field,
        );
        let tubes = current_tubes(&solution, 30);
        assert_eq!(tubes.len(), 30);
        for tube in &tubes {
            assert_eq!(tube.to, Some(1));
            let angle = tube.points[1].to_vec2().angle();
            for p in &tube.points[1..] {
                let turned = (p.to_vec2().angle() - angle).sin().asin();
                assert!(turned.abs() < 1e-5, "turned by {turned} at {p:?}");
            }
            // the rod's outline is given as 60 straight pieces: the line ends within their sagitta
            assert!((tube.points.last().unwrap().to_vec2().hypot() - 0.25).abs() < 4e-4);
        }
    }

    /// A floating sheet half way takes in as many lines as it lets out, and none crosses it.
    #[test]
    fn floating_metal_interrupts_and_restarts_the_lines() {
        let field = Field::from_fn(|p| {
            let inside = (0.0..=2.0).contains(&p.x) && (0.0..=1.0).contains(&p.y);
            let sheet = (0.999..=1.001).contains(&p.x);
            (inside && !sheet)
                .then_some(FieldPoint { potential_v: 0.0, current_a_m2: [100.0, 0.0] })
        });
        let mut sheet = wall(Role::Floating, 0.999, -1.0, 100.0);
        sheet.stretches.extend(wall(Role::Floating, 1.001, 1.0, -100.0).stretches);
        sheet.area_m2 = 1.0;
        let solution = solution(
            vec![wall(Role::Anode, 0.0, 1.0, -100.0), wall(Role::Part, 2.0, -1.0, 100.0), sheet],
            field,
        );
        let tubes = current_tubes(&solution, 10);
        let ends: Vec<_> = tubes.iter().map(|t| (t.from, t.to)).collect();
        assert_eq!(ends[..10], [(0, Some(2)); 10]);
        assert_eq!(ends[10..], [(2, Some(1)); 10]);
    }

    /// Half the area of a disk lies within 1/√2 of its radius, that of a cylinder within half of it,
    /// that of a ring from 1 to 3 within √5; walked outwards or inwards.
    #[test]
    fn equal_areas_around_an_axis() {
        let half = |from: f64, to: f64| {
            let up = if to > from { -1.0 } else { 1.0 };
            let row =
                stretch(Point::new(0.5 * (from + to), 0.0), [0.0, up], (to - from).abs(), 1.0);
            from + (to - from) * length_share(Symmetry::Axial, &row, 0.5)
        };
        assert!((half(0.0, 1.0) - 0.5f64.sqrt()).abs() < 1e-12);
        assert!((half(1.0, 0.0) - 0.5f64.sqrt()).abs() < 1e-12);
        assert!((half(1.0, 3.0) - 5f64.sqrt()).abs() < 1e-12);
        let tube = stretch(Point::new(2.0, 0.0), [1.0, 0.0], 0.4, 1.0);
        assert!((length_share(Symmetry::Axial, &tube, 0.3) - 0.3).abs() < 1e-12);
    }

    #[test]
    fn no_current_gives_no_lines() {
        let field = Field::from_fn(|_| None);
        let still = solution(vec![wall(Role::Anode, 0.0, 1.0, 0.0)], field);
        assert!(current_tubes(&still, 24).is_empty());
    }
}
