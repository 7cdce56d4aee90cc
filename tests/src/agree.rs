//! Two solutions of layouts that ought to have one answer, compared stretch by stretch.
use shapes::{Axis, Outline, Point, Vec2};
use solver::{Layout, Solution, Stretch};

/// The layout with every outline put elsewhere.
pub fn placed(layout: &Layout, place: impl Fn(&Outline) -> Outline) -> Layout {
    let mut l = layout.clone();
    l.tank = place(&l.tank);
    for b in &mut l.bodies {
        b.outline = place(&b.outline);
    }
    l
}

/// The outline mirrored about the line x = 0 (`Axis::X`) or y = 0.
pub fn mirrored(o: &Outline, axis: Axis) -> Outline {
    let centre = o.bounds().center().to_vec2();
    let back = match axis {
        Axis::X => Vec2::new(-2.0 * centre.x, 0.0),
        Axis::Y => Vec2::new(0.0, -2.0 * centre.y),
    };
    o.mirrored(axis).moved(back)
}

/// Where [`mirrored`] puts a point.
pub fn mirror_image(p: Point, axis: Axis) -> Point {
    match axis {
        Axis::X => Point::new(-p.x, p.y),
        Axis::Y => Point::new(p.x, -p.y),
    }
}

/// Where a turn about the origin puts a point.
pub fn turned(p: Point, degrees: f64) -> Point {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y)
}

/// How two solutions agree; errors are told in stated uncertainties of both together.
#[derive(Debug, Clone, Default)]
pub struct Agreement {
    /// Stretches of the first solution.
    pub all: usize,
    /// Those with a counterpart: rounding may divide a side into one stretch more or less.
    pub pairs: usize,
    /// Pairs that differ by more than both uncertainties.
    pub strays: usize,
    /// Pairs that differ by more than three times both.
    pub far: usize,
    /// Largest difference, and where.
    pub worst: (f64, String),
    /// Currents of bodies that differ by more than both uncertainties.
    pub currents: Vec<String>,
}

impl Agreement {
    /// The same, and at least half of all stretches must have a counterpart.
    pub fn faults_of_most(&self) -> Vec<String> {
        let mut out = self.faults();
        if 2 * self.pairs < self.all {
            out.push(format!("only {} of {} stretches found", self.pairs, self.all));
        }
        out
    }

    /// Everything that the claim of both uncertainties, right for 95 % of all stretches, does not
    /// allow.
    pub fn faults(&self) -> Vec<String> {
        let mut out = self.currents.clone();
        if 20 * self.strays > self.pairs {
            out.push(format!("{} of {} beyond uncertainty", self.strays, self.pairs));
        }
        if 100 * self.far > self.pairs {
            let (times, place) = &self.worst;
            let share = format!("{} of {}", self.far, self.pairs);
            out.push(format!(
                "{share} beyond thrice their uncertainty, {times:.1} times at {place}"
            ));
        }
        out
    }
}

/// No more than one stretch in a hundred may differ by more than this many uncertainties.
const FAR: f64 = 3.0;

/// What the second of two layouts is of the first: lengths, current densities and currents times as
/// much.
#[derive(Debug, Clone, Copy)]
pub struct Times {
    /// Of lengths.
    pub length: f64,
    /// Of current densities.
    pub density: f64,
    /// Of currents.
    pub current: f64,
}

impl Times {
    /// The same in all.
    pub const ONE: Times = Times { length: 1.0, density: 1.0, current: 1.0 };
}

/// Compares `a` with `b`, whose stretches lie where `place` puts those of `a`.
pub fn agreement(
    a: &Solution,
    b: &Solution,
    place: impl Fn(Point) -> Point,
    times: Times,
) -> Agreement {
    let mut out = Agreement::default();
    for (x, y) in a.bodies.iter().zip(&b.bodies) {
        let slack = x.current_uncertainty_a + y.current_uncertainty_a / times.current;
        let off = (x.current_a - y.current_a / times.current).abs();
        if off > slack {
            let by = off / slack;
            out.currents.push(format!(
                "{}: {} A and {} A, {by:.1} uncertainties",
                x.name,
                x.current_a,
                y.current_a / times.current
            ));
        }
        for r in &x.stretches {
            out.all += 1;
            let at = place(r.at);
            let length_m = times.length * r.length_m;
            let out_of = place(r.at + Vec2::new(r.normal[0], r.normal[1])) - at;
            let near = |p: &&Stretch| p.at.distance(at) < 0.02 * length_m;
            // a thin body has another side near by
            let same = |p: &&Stretch| {
                near(p)
                    && (p.length_m / length_m - 1.0).abs() < 0.05
                    && out_of.dot(Vec2::new(p.normal[0], p.normal[1])) > 0.0
            };
            let Some(other) = y.stretches.iter().find(same) else { continue };
            // both may be nothing at all
            let slack = r.uncertainty_a_m2 + other.uncertainty_a_m2 / times.density;
            let off = (r.current_density_a_m2 - other.current_density_a_m2 / times.density).abs();
            let ratio = off / slack.max(f64::MIN_POSITIVE);
            out.pairs += 1;
            out.strays += usize::from(ratio > 1.0);
            out.far += usize::from(ratio > FAR);
            if ratio > out.worst.0 {
                out.worst = (ratio, format!("{} {r:?} {other:?}", x.name));
            }
        }
    }
    out
}
