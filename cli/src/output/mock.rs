//! Answers for the tests of pictures and tables: closed forms by hand, and small solved jobs.

use std::f64::consts::TAU;

use shapes::{Outline, Point, Vec2};
use solver::quantity::{
    AreaResistance, Conductivity, Current, CurrentDensity, Length, Potential, Temperature, Time,
};
use solver::{
    Body, BodyResult, Deposit, Drive, Efficiency, Field, FieldPoint, Kinetics, Law, Layout, Metal,
    Role, Solution, SolveSettings, SolveStats, Spread, Stretch, Supply, SupplyResult, Symmetry,
    Wagner,
};

use super::{Context, DisplayUnits, RunDeposit, Want, Window};

/// A layout with its hand-made answer.
pub struct Mock {
    pub layout: Layout,
    pub solution: Solution,
    pub deposit: Option<(Time, Deposit)>,
    pub title: String,
}

impl Mock {
    pub fn context(&self) -> Context<'_> {
        Context {
            title: &self.title,
            layout: &self.layout,
            solution: &self.solution,
            deposit: self
                .deposit
                .as_ref()
                .map(|(time, deposit)| RunDeposit { time: *time, deposit }),
            window: Window::default(),
            want: Want::default(),
            units: DisplayUnits::Metric,
            sources: &[],
            accuracy: 0.01,
            seconds: None,
            significant: None,
            findings: &super::findings::NOTHING,
        }
    }
}

pub fn body(name: &str, role: Role, outline: Outline) -> Body {
    let kinetics = match role {
        Role::Part | Role::Thief { .. } => {
            Kinetics::Tafel { exchange: CurrentDensity::new(1.0), slope: Potential::new(0.12) }
        }
        Role::Anode | Role::Floating => Kinetics::Linear { resistance: AreaResistance::new(2e-5) },
        _ => Kinetics::None,
    };
    let law = Law { kinetics, limiting: None, rest: Potential::new(0.0) };
    Body::new(name, role, outline, law)
}

/// Solves a layout for real, the supply at a mean density on the parts.
pub fn solved(title: &str, tank: Outline, bodies: Vec<Body>, density: f64) -> Mock {
    let layout = Layout {
        tank,
        symmetry: Symmetry::Planar,
        depth: Length::new(0.3),
        conductivity: Conductivity::new(10.0),
        temperature: Temperature::celsius(55.0),
        bodies,
        supplies: vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(density)))],
    };
    let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
    let solution =
        solver::solve(&layout, &settings, &mut |_| ()).unwrap_or_else(|e| panic!("{title}: {e}"));
    Mock { layout, solution, deposit: None, title: title.into() }
}

/// The same after some minutes of nickel plating at 95 % efficiency.
pub fn plate(mut mock: Mock, minutes: f64) -> Mock {
    let time = Time::minutes(minutes);
    let nickel = Metal::named("Ni").unwrap();
    let efficiency = Efficiency::constant(0.95).unwrap();
    mock.deposit = Some((time, solver::deposit(&mock.solution, nickel, &efficiency, time)));
    mock
}

pub fn rect(x: f64, y: f64, w: f64, h: f64) -> Outline {
    Outline::rect(Point::new(x, y), (w, h), 0.0).unwrap()
}

/// A plate of `width` across a channel of length `length` between plates at its ends: the current
/// density is the same everywhere.
pub fn channel(length: f64, width: f64, density: f64) -> Mock {
    let tank = rect(length / 2.0, width / 2.0, length, width);
    let t = 0.05 * length;
    let bodies = vec![
        body("left", Role::Anode, rect(t / 2.0, width / 2.0, t, width)),
        body("plate", Role::Part, rect(length - t / 2.0, width / 2.0, t, width)),
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
                stretch(s_m, width / 8.0, Point::new(x, y), [out, 0.0], -out * density)
            })
            .collect()
    };
    let results =
        vec![result(&bodies[0], face(t, 1.0)), result(&bodies[1], face(length - t, -1.0))];
    finish("Plate in a channel", tank, bodies, results, field)
}

/// A rod of radius `inner` inside a ring anode of radius `outer`: J = I' / (2 π r), I' in A/m.
pub fn concentric(inner: f64, outer: f64, current_a_m: f64) -> Mock {
    let c = 1.2 * outer;
    let centre = Point::new(c, c);
    let tank = rect(c, c, 2.0 * c, 2.0 * c);
    let bodies = vec![
        body("ring", Role::Anode, Outline::ring(centre, 1.1 * outer, outer).unwrap()),
        body("rod", Role::Part, Outline::disc(centre, inner).unwrap()),
    ];
    let field = Field::from_fn(move |p| {
        let d = p - centre;
        let r = d.hypot();
        (inner..=outer).contains(&r).then(|| FieldPoint {
            potential_v: current_a_m / TAU / 10.0 * (r / inner).ln(),
            current_a_m2: [-d.x / r * current_a_m / (TAU * r), -d.y / r * current_a_m / (TAU * r)],
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
    let results =
        vec![result(&bodies[0], circle(outer, -1.0)), result(&bodies[1], circle(inner, 1.0))];
    finish("Rod in a ring anode", tank, bodies, results, field)
}

fn stretch(s_m: f64, length_m: f64, at: Point, normal: [f64; 2], density: f64) -> Stretch {
    Stretch {
        loop_index: 0,
        s_m,
        length_m,
        area_m2: length_m * 0.3,
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
    let total: f64 = stretches.iter().map(|s| s.length_m * s.current_density_a_m2).sum();
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
        contact_v: 0.0,
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
    let current_a: f64 =
        -results.iter().filter(|b| b.role == Role::Anode).map(|b| b.current_a).sum::<f64>();
    let layout = Layout {
        tank,
        symmetry: Symmetry::Planar,
        depth: Length::new(0.3),
        conductivity: Conductivity::new(10.0),
        temperature: Temperature::celsius(55.0),
        bodies,
        supplies: vec![Supply::all(Drive::Current(Current::new(current_a)))],
    };
    let solution = Solution {
        bodies: results,
        symmetry: Symmetry::Planar,
        supplies: vec![SupplyResult {
            name: "supply".into(),
            current_a,
            current_uncertainty_a: 1e-3 * current_a.abs(),
            voltage_v: 5.87,
            voltage_uncertainty_v: 0.004,
            anode_v: 0.61,
            solution_v: 4.93,
            cathode_v: 0.33,
            bath_voltage_v: 5.87,
            power_w: current_a * 5.87,
            power_uncertainty_w: 1e-3 * current_a.abs() * 5.87 + 0.004 * current_a.abs(),
            ..SupplyResult::default()
        }],
        field,
        current_balance: 3.1e-15,
        wagner: Wagner { number: 0.12, length_m: 0.05 },
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
    Mock { layout, solution, deposit: None, title: title.into() }
}
