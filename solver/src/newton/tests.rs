use shapes::{Point, Vec2};

use super::*;
use crate::kinetics::Law;
use crate::layout::{Drive, Layout, Role, Supply};
use crate::quantity::{Current, CurrentDensity, Potential};
use crate::sample::{
    Grid, KAPPA, PLATES_APART, body, grid, ideal, linear, node, plates, rect, tafel, two_blocks,
};
use crate::solve::Method;
use crate::system::assemble::{Cells, GAMMA};
use crate::system::basis::NODES;
use crate::system::joint::Elimination;
use crate::system::numbering::Degree;

const HEIGHT: f64 = 0.1;

fn prepare(layout: &Layout) -> (Grid, System, Circuit) {
    let g = grid(layout, 3, 4, 5);
    let system = System::new(&Cells::new(&g.mesh, &g.domain, GAMMA), Degree::Two);
    let n = layout.bodies.len();
    let circuit = Circuit::new(layout, &vec![true; n], &[(0..n).collect()]).unwrap();
    (g, system, circuit)
}

fn start(system: &System, circuit: &Circuit, volts: f64) -> State {
    let u = (0..system.size()).map(|i| volts * (1.0 + (i as f64 * 1.7).sin())).collect();
    let free = vec![-volts; circuit.injected.len()];
    State { u, free, eta: vec![0.0; system.boundary.points.len()] }
}

fn sharp<'a>(system: &'a System, circuit: &'a Circuit) -> Energy<'a> {
    Energy { system, circuit, bend: KNEE, raised: 1.0 }
}

fn joint(system: &System, circuit: &Circuit) -> Joint {
    Joint::new(system, circuit.injected.len(), Method::Direct, Elimination::Unknown).unwrap()
}

fn balanced(system: &System, circuit: &Circuit, from: State) -> Result<Solved, Stalled> {
    minimise(system, circuit, from, joint(system, circuit), Aim::Balance)
}

fn slope_at(system: &System, circuit: &Circuit, state: &mut State) -> (Vec<f64>, Slope) {
    let mut product = vec![0.0; system.size()];
    system.constant.exchange(&state.u, &mut product);
    let now = slope(Energy { system, circuit, bend: KNEE, raised: 1.0 }, &product, state);
    (product, now)
}

/// All outlines turned together: no cell side is parallel to a plate any more.
fn turned(mut layout: Layout, degrees: f64) -> Layout {
    let about = Point::new(0.1, 0.05);
    layout.tank = layout.tank.turned_about(degrees, about);
    for b in &mut layout.bodies {
        b.outline = b.outline.turned_about(degrees, about);
    }
    layout
}

#[test]
fn the_slope_vanishes_at_the_exact_potential_between_plates() {
    // one volt over b_c + d/κ + b_a in series; φ = i (b_c + x/κ) at x from the cathode
    let (b_c, b_a) = (1.3e-3, 4.1e-3);
    let i = 1.0 / (b_c + PLATES_APART / KAPPA + b_a);
    for degrees in [0.0, 17.3, -61.0] {
        let layout = turned(plates(linear(b_c), linear(b_a)), degrees);
        let (g, system, circuit) = prepare(&layout);
        let mut state = start(&system, &circuit, 0.0);
        let along = Vec2::from_angle(degrees.to_radians());
        let phi = |p: Point| {
            let x = (p - Point::new(0.1, 0.05)).dot(along) + 0.1 - 0.031;
            i * (b_c + x / KAPPA)
        };
        for (p, piece) in g.mesh.pieces.iter().enumerate() {
            for k in 0..NODES {
                if let [(n, _)] = system.numbering.terms(p, k) {
                    let at = node(piece.cell, k).map(|t| t as i64);
                    state.u[*n as usize] = phi(g.domain.lattice.metres(at));
                }
            }
        }
        let (_, now) = slope_at(&system, &circuit, &mut state);
        assert!((now.traffic / (2.0 * i * HEIGHT) - 1.0).abs() < 1e-6, "{degrees}");
        // corners are rounded to ticks of 2·10⁻¹⁰ m, the layers are some 10⁻⁴ m
        let worst = now.field.iter().fold(0.0, |w: f64, x| w.max(x.abs()));
        assert!(worst < 1e-6 * now.traffic, "{degrees}: {worst}");
    }
}

#[test]
fn a_linear_problem_takes_at_most_three_steps() {
    for law in [ideal(), linear(1e-3)] {
        let (_, system, circuit) = prepare(&turned(plates(law.clone(), law), 17.3));
        let found = balanced(&system, &circuit, start(&system, &circuit, 5.0));
        assert!(found.unwrap().steps <= 3);
    }
}

#[test]
fn a_given_current_finds_its_voltage() {
    let (b_c, b_a, i) = (1.3e-3, 4.1e-3, 217.0);
    let mut layout = plates(linear(b_c), linear(b_a));
    layout.supplies = vec![Supply::all(Drive::Current(Current::new(i * HEIGHT)))];
    let (_, system, circuit) = prepare(&layout);
    let found = balanced(&system, &circuit, start(&system, &circuit, 0.3)).unwrap();
    let volts = i * (b_c + PLATES_APART / KAPPA + b_a);
    assert!((found.state.free[0] / volts - 1.0).abs() < 1e-7);
    assert!(found.steps <= 3);
}

#[test]
fn a_current_beyond_a_limit_is_told_with_what_passes() {
    // at the limit all laws in reach are flat, and the way out is a voltage without end
    for (cathode, anode) in [(100.0, 1e9), (1e9, 100.0), (100.0, 140.0)] {
        let limited = |l: f64| Law { limiting: Some(CurrentDensity::new(l)), ..ideal() };
        let mut layout = plates(limited(cathode), limited(anode));
        layout.supplies = vec![Supply::all(Drive::Current(Current::new(217.0 * HEIGHT)))];
        let (_, system, circuit) = prepare(&layout);
        match balanced(&system, &circuit, start(&system, &circuit, 0.3)).map(|s| s.steps) {
            Err(Stalled::Blocked { supply: 0, possible }) => {
                assert!((possible / (100.0 * HEIGHT) - 1.0).abs() < 1e-6, "{possible}");
            }
            other => panic!("{other:?}"),
        }
    }
}

fn tafel_pair(i: f64) -> (Law, Law, f64) {
    let volts =
        i * PLATES_APART / KAPPA + 0.12 * libm::log10(i / 0.011) + 0.04 * libm::log10(i / 23.0);
    (tafel(0.011, 0.12), tafel(23.0, 0.04), volts)
}

#[test]
fn tafel_laws_converge_from_any_start() {
    let i = 413.0;
    let (cathode, anode, volts) = tafel_pair(i);
    let mut layout = plates(cathode, anode);
    layout.supplies = vec![Supply::all(Drive::Voltage(Potential::new(volts)))];
    let (_, system, circuit) = prepare(&layout);
    for bad in [0.0, 3.0, -40.0, 1e3, -1e4] {
        let from = start(&system, &circuit, bad);
        let mut found = balanced(&system, &circuit, from).unwrap().state;
        let (_, now) = slope_at(&system, &circuit, &mut found);
        let density = now.traffic / (2.0 * HEIGHT);
        assert!((density / i - 1.0).abs() < 1e-7, "from {bad} V: {density}");
    }
}

#[test]
fn currents_balance_at_the_answer() {
    let mut layout = two_blocks();
    layout.bodies.push(body(
        "loose",
        Role::Floating,
        rect(0.09, 0.03, 0.11, 0.07),
        tafel(5.0, 0.1),
    ));
    layout.supplies = vec![Supply::all(Drive::Current(Current::new(3.0)))];
    let (_, system, circuit) = prepare(&layout);
    let from = start(&system, &circuit, 0.5);
    let mut found = balanced(&system, &circuit, from).unwrap().state;
    let (_, now) = slope_at(&system, &circuit, &mut found);
    assert!(now.field.iter().sum::<f64>().abs() < 1e-10 * now.traffic);
    // the anode gives its current, the floating body none
    assert!(now.free.iter().all(|f| f.abs() < 1e-10 * now.traffic));
}

#[test]
fn a_step_never_overshoots_where_the_energy_falls_no_more() {
    let (cathode, anode, volts) = tafel_pair(413.0);
    let mut layout = plates(cathode, anode);
    layout.supplies = vec![Supply::all(Drive::Voltage(Potential::new(volts)))];
    let (_, system, circuit) = prepare(&layout);
    for bad in [-20.0, -1.0, 0.3, 2.0, 7.0, 300.0] {
        let mut state = start(&system, &circuit, bad);
        let (mut product, now) = slope_at(&system, &circuit, &mut state);
        let mut joint = joint(&system, &circuit);
        joint.refactor(|hessian| fill(&system, &circuit, &now, hessian)).unwrap();
        let down: Vec<f64> = now.field.iter().map(|x| -x).collect();
        let (p, _) = joint.solve_roughly(&down, &[]);
        let decrement = dot(&p, &down);
        assert!(decrement > 0.0);
        let there = line_search(
            sharp(&system, &circuit),
            &mut product,
            &mut state,
            (&p, &[]),
            decrement,
            LOOSE,
        );
        // the slope along the way rises from −decrement and may not pass +½ decrement
        let along = dot(&there.field, &p);
        assert!(along >= -decrement * (1.0 + 1e-9), "{bad}: {along} {decrement}");
        assert!(along <= 0.5 * decrement * (1.0 + 1e-9), "{bad}: {along} {decrement}");
        // what is kept along the way is what a fresh product says
        let (fresh, _) = slope_at(&system, &circuit, &mut state);
        let size = fresh.iter().fold(0.0, |w: f64, x| w.max(x.abs()));
        assert!(fresh.iter().zip(&product).all(|(a, b)| (a - b).abs() < 1e-9 * size));
    }
}

#[test]
fn the_factored_matrix_is_the_derivative_of_the_slope() {
    let (cathode, anode, volts) = tafel_pair(413.0);
    let mut layout = plates(cathode, anode);
    layout.supplies = vec![Supply::all(Drive::Voltage(Potential::new(volts)))];
    let (_, system, circuit) = prepare(&layout);
    let from = start(&system, &circuit, 0.0);
    let at = balanced(&system, &circuit, from).unwrap().state;
    let way: Vec<f64> = (0..system.size()).map(|i| (i as f64 * 0.37).cos()).collect();
    let moved = |t: f64| {
        let mut state = at.clone();
        for (u, w) in state.u.iter_mut().zip(&way) {
            *u += t * w;
        }
        slope_at(&system, &circuit, &mut state).1
    };
    // central differences: third order terms of exp(0.1 mV / 17 mV) are about 10⁻⁵
    let t = 1e-4;
    let (up, low) = (moved(t), moved(-t));
    let change: Vec<f64> =
        up.field.iter().zip(&low.field).map(|(a, b)| (a - b) / (2.0 * t)).collect();
    let mut joint = joint(&system, &circuit);
    joint.refactor(|hessian| fill(&system, &circuit, &moved(0.0), hessian)).unwrap();
    let (back, _) = joint.solve_roughly(&change, &[]);
    let worst = back.iter().zip(&way).fold(0.0, |w: f64, (a, b)| w.max((a - b).abs()));
    assert!(worst < 1e-3, "{worst}");
}
