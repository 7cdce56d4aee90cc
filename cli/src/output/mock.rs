//! Hand-made answers for the tests of pictures and tables: closed forms, no solver.

use std::f64::consts::TAU;

use shapes::{Loop, Outline, Point, Vec2};
use solver::quantity::{Conductivity, Current, Length, Potential, Temperature, Time};
use solver::{
    Body, BodyResult, Field, FieldPoint, Kinetics, Law, Layout, Role, Solution, SolveStats, Spread,
    Stretch, Supply, SupplyResult, Wagner,
};

use super::deposit_picture::{DepositRows, RunDeposit};
use super::{Context, DisplayUnits, Want, Window};

/// A layout with its hand-made answer.
pub struct Mock {
    pub layout: Layout,
    pub solution: Solution,
    pub deposit: Option<RunDeposit>,
    pub title: String,
}

impl Mock {
    pub fn context(&self) -> Context<'_> {
        Context {
            title: &self.title,
            layout: &self.layout,
            solution: &self.solution,
            deposit: self.deposit.as_ref(),
            window: Window::default(),
            want: Want::default(),
            units: DisplayUnits::Metric,
            sources: &[],
            accuracy: 0.01,
            seconds: None,
            significant: None,
        }
    }
}

pub fn body(name: &str, role: Role, outline: Outline) -> Body {
    let law = Law {
        kinetics: Kinetics::None,
        limiting: None,
        rest: Potential::new(0.0),
    };
    Body {
        name: name.into(),
        role,
        outline,
        law,
    }
}

pub fn rect(x: f64, y: f64, w: f64, h: f64) -> Outline {
    Outline::rect(Point::new(x, y), (w, h), 0.0).unwrap()
}

/// A tank with bodies in a made-up field: the sum of line currents at the bodies' middles, so that
/// it is strong near metal, weak far away and points from anodes to cathodes. Not a solution of
/// the boundary conditions, but of the same nature, for looking at pictures.
pub fn made_up(title: &str, tank: Outline, bodies: Vec<Body>) -> Mock {
    let sources: Vec<(Point, f64)> = bodies
        .iter()
        .flat_map(|b| {
            let sign = match b.role {
                Role::Anode => 1.0,
                Role::Part | Role::Thief { .. } => -1.0,
                _ => 0.0,
            };
            let points = along(&b.outline.loops()[0], 40);
            let strength = sign * b.outline.loops()[0].length() / 40.0;
            points
                .into_iter()
                .map(move |(_, p, n)| (p - n * 1e-4, strength))
                .collect::<Vec<_>>()
        })
        .filter(|s| s.1 != 0.0)
        .collect();
    let positive: f64 = sources.iter().map(|s| s.1.max(0.0)).sum();
    let negative: f64 = -sources.iter().map(|s| s.1.min(0.0)).sum::<f64>();
    let sources: Vec<(Point, f64)> = sources
        .into_iter()
        .map(|(p, s)| (p, if s > 0.0 { s / positive } else { s / negative }))
        .collect();
    let solids: Vec<Outline> = bodies
        .iter()
        .filter(|b| !matches!(b.role, Role::Screen { .. }))
        .map(|b| b.outline.clone())
        .collect();
    let inside = tank.clone();
    let current = move |p: Point| {
        let mut j = Vec2::ZERO;
        for (q, s) in &sources {
            let d = p - *q;
            j += d * (s / d.hypot2().max(1e-8));
        }
        j * 60.0
    };
    let density = current.clone();
    let field = Field::from_fn(move |p| {
        if !inside.contains(p) || solids.iter().any(|s| s.contains(p)) {
            return None;
        }
        let j = current(p);
        Some(FieldPoint {
            potential_v: 1.0,
            current_a_m2: [j.x, j.y],
        })
    });
    let results = bodies
        .iter()
        .map(|b| {
            let stretches = if b.role.is_metal() {
                stretches(&b.outline, &tank, 160, |p, n| -density(p + n * 1e-4).dot(n))
            } else {
                Vec::new()
            };
            result(b, stretches)
        })
        .collect();
    finish(title, tank, bodies, results, field)
}

/// A plate of `width` across a channel of length `length` between plates at its ends: the current
/// density is the same everywhere.
pub fn channel(length: f64, width: f64, density: f64) -> Mock {
    let tank = rect(length / 2.0, width / 2.0, length, width);
    let t = 0.05 * length;
    let bodies = vec![
        body("left", Role::Anode, rect(t / 2.0, width / 2.0, t, width)),
        body(
            "plate",
            Role::Part,
            rect(length - t / 2.0, width / 2.0, t, width),
        ),
    ];
    let field = Field::from_fn(move |p| {
        let bath = (t..=length - t).contains(&p.x) && (0.0..=width).contains(&p.y);
        bath.then(|| FieldPoint {
            potential_v: (length - t - p.x) * density / 10.0,
            current_a_m2: [density, 0.0],
        })
    });
    let face = |x: f64, out: f64| -> Vec<Stretch> {
        (0..8)
            .map(|k| {
                let s_m = (f64::from(k) + 0.5) * width / 8.0;
                let y = if out > 0.0 { s_m } else { width - s_m };
                stretch(
                    s_m,
                    width / 8.0,
                    Point::new(x, y),
                    [out, 0.0],
                    -out * density,
                )
            })
            .collect()
    };
    let results = vec![
        result(&bodies[0], face(t, 1.0)),
        result(&bodies[1], face(length - t, -1.0)),
    ];
    finish("Plate in a channel", tank, bodies, results, field)
}

/// A rod of radius `inner` inside a ring anode of radius `outer`: J = I' / (2 π r), I' in A/m.
pub fn concentric(inner: f64, outer: f64, current_a_m: f64) -> Mock {
    let c = 1.2 * outer;
    let centre = Point::new(c, c);
    let tank = rect(c, c, 2.0 * c, 2.0 * c);
    let bodies = vec![
        body(
            "ring",
            Role::Anode,
            Outline::ring(centre, 1.1 * outer, outer).unwrap(),
        ),
        body("rod", Role::Part, Outline::disc(centre, inner).unwrap()),
    ];
    let field = Field::from_fn(move |p| {
        let d = p - centre;
        let r = d.hypot();
        (inner..=outer).contains(&r).then(|| FieldPoint {
            potential_v: current_a_m / TAU / 10.0 * (r / inner).ln(),
            current_a_m2: [
                -d.x / r * current_a_m / (TAU * r),
                -d.y / r * current_a_m / (TAU * r),
            ],
        })
    });
    let circle = |radius: f64, out: f64| -> Vec<Stretch> {
        (0..90)
            .map(|k| {
                let angle = out * TAU * (f64::from(k) + 0.5) / 90.0;
                let unit = Vec2::from_angle(angle);
                let n = unit * out;
                let s_m = radius * TAU * (f64::from(k) + 0.5) / 90.0;
                let length = radius * TAU / 90.0;
                let density = out * current_a_m / (TAU * radius);
                stretch(s_m, length, centre + unit * radius, [n.x, n.y], density)
            })
            .collect()
    };
    let results = vec![
        result(&bodies[0], circle(outer, -1.0)),
        result(&bodies[1], circle(inner, 1.0)),
    ];
    finish("Rod in a ring anode", tank, bodies, results, field)
}

/// `time` of plating at 100 % efficiency for a metal that grows 1 µm/min at 500 A/m².
pub fn plate(mut mock: Mock, minutes: f64) -> Mock {
    let rate = 1e-6 / 500.0 * minutes;
    let bodies = mock
        .solution
        .bodies
        .iter()
        .map(|b| {
            matches!(b.role, Role::Part | Role::Thief { .. }).then(|| DepositRows {
                thickness_m: b
                    .stretches
                    .iter()
                    .map(|s| s.current_density_a_m2 * rate)
                    .collect(),
                spread: times(&b.density, rate),
            })
        })
        .collect();
    mock.deposit = Some(RunDeposit {
        time: Time::minutes(minutes),
        bodies,
    });
    mock
}

fn times(s: &Spread, f: f64) -> Spread {
    Spread {
        mean: s.mean * f,
        min: s.min * f,
        max: s.max * f,
        mean_uncertainty: s.mean_uncertainty * f,
        min_uncertainty: s.min_uncertainty * f,
        max_uncertainty: s.max_uncertainty * f,
        ..*s
    }
}

fn along(curve: &Loop, count: usize) -> Vec<(f64, Point, Vec2)> {
    (0..count)
        .map(|k| {
            let s = curve.length() * (k as f64 + 0.5) / count as f64;
            (s, curve.point_at(s), curve.outward_at(s))
        })
        .collect()
}

fn stretches(
    outline: &Outline,
    tank: &Outline,
    count: usize,
    density: impl Fn(Point, Vec2) -> f64,
) -> Vec<Stretch> {
    let mut rows = Vec::new();
    for (index, curve) in outline.loops().iter().enumerate() {
        for (s, p, n) in along(curve, count) {
            if tank.contains(p) {
                let length = curve.length() / count as f64;
                rows.push(Stretch {
                    loop_index: index,
                    ..stretch(s, length, p, [n.x, n.y], density(p, n))
                });
            }
        }
    }
    rows
}

fn stretch(s_m: f64, length_m: f64, at: Point, normal: [f64; 2], density: f64) -> Stretch {
    Stretch {
        loop_index: 0,
        s_m,
        length_m,
        at,
        normal,
        potential_v: 0.5,
        overpotential_v: -0.25,
        current_density_a_m2: density,
        uncertainty_a_m2: 0.004 * density.abs(),
    }
}

fn result(body: &Body, stretches: Vec<Stretch>) -> BodyResult {
    let length: f64 = stretches.iter().map(|s| s.length_m).sum();
    let total: f64 = stretches
        .iter()
        .map(|s| s.length_m * s.current_density_a_m2)
        .sum();
    let by = |a: &&Stretch, b: &&Stretch| a.current_density_a_m2.total_cmp(&b.current_density_a_m2);
    let zero = stretch(0.0, 0.0, Point::ORIGIN, [0.0, 0.0], 0.0);
    let least = *stretches.iter().min_by(by).unwrap_or(&zero);
    let most = *stretches.iter().max_by(by).unwrap_or(&zero);
    let mean = if length > 0.0 { total / length } else { 0.0 };
    BodyResult {
        name: body.name.clone(),
        role: body.role,
        current_a: total * 0.3,
        current_uncertainty_a: 1e-3 * (total * 0.3).abs(),
        area_m2: length * 0.3,
        metal_potential_v: body.role.is_metal().then_some(0.0),
        density: Spread {
            mean,
            min: least.current_density_a_m2,
            max: most.current_density_a_m2,
            min_at: least.at,
            max_at: most.at,
            mean_uncertainty: 1e-3 * mean.abs(),
            min_uncertainty: least.uncertainty_a_m2,
            max_uncertainty: most.uncertainty_a_m2,
        },
        stretches,
    }
}

fn finish(
    title: &str,
    tank: Outline,
    bodies: Vec<Body>,
    results: Vec<BodyResult>,
    field: Field,
) -> Mock {
    let current_a: f64 = -results
        .iter()
        .filter(|b| b.role == Role::Anode)
        .map(|b| b.current_a)
        .sum::<f64>();
    let layout = Layout {
        tank,
        depth: Length::new(0.3),
        conductivity: Conductivity::new(10.0),
        temperature: Temperature::celsius(55.0),
        bodies,
        supply: Supply::Current(Current::new(current_a)),
    };
    let solution = Solution {
        bodies: results,
        supply: SupplyResult {
            current_a,
            current_uncertainty_a: 1e-3 * current_a.abs(),
            voltage_v: 5.87,
            voltage_uncertainty_v: 0.004,
            anode_v: 0.61,
            solution_v: 4.93,
            cathode_v: 0.33,
        },
        field,
        current_balance: 3.1e-15,
        wagner: Wagner {
            number: 0.12,
            length_m: 0.05,
        },
        stats: SolveStats {
            unknowns: 4211,
            cells: 3990,
            newton_steps: 7,
            grids: 3,
            levels: 8,
            finest_cell_m: 2.5e-4,
            estimated_error: 0.0072,
            worst_error: 0.021,
        },
    };
    Mock {
        layout,
        solution,
        deposit: None,
        title: title.into(),
    }
}
