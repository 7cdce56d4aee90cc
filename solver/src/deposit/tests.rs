use shapes::Point;

use super::*;
use crate::field::Field;
use crate::layout::{Role, Symmetry};
use crate::solution::{SolveStats, Stretch, Wagner};

/// A body whose stretches of 10 mm carry these current densities ± uncertainties, depth 0.1 m.
fn body(role: Role, rows: &[(f64, f64)]) -> BodyResult {
    let stretch = |(k, &(i, uncertainty)): (usize, &(f64, f64))| Stretch {
        loop_index: 0,
        s_m: 0.01 * (k as f64 + 0.5),
        length_m: 0.01,
        area_m2: 0.01 * 0.1,
        at: Point::new(0.01 * (k as f64 + 0.5), 0.0),
        normal: [0.0, 1.0],
        potential_v: 0.0,
        overpotential_v: 0.0,
        current_density_a_m2: i,
        uncertainty_a_m2: uncertainty,
    };
    let stretches: Vec<Stretch> = rows.iter().enumerate().map(stretch).collect();
    let area_m2 = 0.01 * 0.1 * rows.len() as f64;
    BodyResult {
        name: "plate".into(),
        role,
        current_a: rows.iter().map(|row| row.0 * 1e-3).sum(),
        current_uncertainty_a: 0.0,
        area_m2,
        metal_potential_v: Some(0.0),
        contact_v: 0.0,
        stretches,
        density: Spread {
            mean: 0.0,
            min: 0.0,
            max: 0.0,
            min_at: Point::ORIGIN,
            max_at: Point::ORIGIN,
            mean_uncertainty: 0.0,
            min_uncertainty: 0.0,
            max_uncertainty: 0.0,
        },
    }
}

fn solution(bodies: Vec<BodyResult>) -> Solution {
    Solution {
        bodies,
        symmetry: Symmetry::Planar,
        supplies: Vec::new(),
        field: Field::from_fn(|_| None),
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

fn nickel() -> &'static Metal {
    Metal::named("Ni").expect("in the table")
}

fn full() -> Efficiency {
    Efficiency::constant(1.0).expect("100 %")
}

fn one(rows: &[(f64, f64)], efficiency: &Efficiency, minutes: f64) -> BodyDeposit {
    let all = deposit(
        &solution(vec![body(Role::Part, rows)]),
        nickel(),
        efficiency,
        Time::minutes(minutes),
    );
    all.of_body(0).expect("a wetted part").clone()
}

#[test]
fn nickel_for_25_minutes_at_4_a_dm2_is_twenty_microns() {
    // 12.29 µm/h at 1 A/dm² (computed from M, n, ρ) × 4 × 25/60 = 20.48 µm
    let got = one(&[(400.0, 0.0)], &full(), 25.0);
    assert!((got.thickness_m[0] * 1e6 - 20.48).abs() < 0.01);
    // by mass: 4 A/dm² × 0.1 dm² × 25/60 h × 1.095 g/Ah = 0.1825 g
    assert!((got.mass_kg * 1e3 - 0.1825).abs() < 1e-4);
    assert_eq!(got.efficiency, Some(1.0));
}

#[test]
fn a_published_nickel_chart_at_95_per_cent() {
    // plating chart: 2 µm in 20 min at 0.5 A/dm² and 10 min at 1 A/dm² (rounded to minutes;
    // 20.6 and 10.3 computed), 0.18 g/dm²
    let efficiency = Efficiency::constant(0.95).expect("95 %");
    for (a_m2, minutes) in [(50.0, 20.6), (100.0, 10.3)] {
        let got = one(&[(a_m2, 0.0)], &efficiency, minutes);
        assert!((got.thickness.mean * 1e6 - 2.0).abs() < 0.006);
        assert!((got.mass_kg * 1e3 / 0.1 - 0.18).abs() < 0.003);
    }
}

#[test]
fn hard_chromium_grows_about_25_microns_an_hour_at_2_asi() {
    // common practice: about 25 µm/h; 31 A/dm² at 18 %
    let chromium = Metal::named("Cr(VI)").expect("in the table");
    let share = Efficiency::constant(0.18).expect("18 %");
    let bath = solution(vec![body(Role::Part, &[(3100.0, 0.0)])]);
    let got = deposit(&bath, chromium, &share, Time::minutes(60.0));
    assert!((got.bodies[0].thickness.mean * 1e6 - 25.1).abs() < 0.1);
}

#[test]
fn efficiency_is_straight_between_points_and_flat_beyond() {
    let at = |i| CurrentDensity::new(i);
    let curve = Efficiency::curve(&[(at(50.0), 0.8), (at(100.0), 0.9), (at(400.0), 0.6)]);
    let curve = curve.expect("a valid curve");
    for (i, share) in
        [(0.0, 0.8), (50.0, 0.8), (75.0, 0.85), (100.0, 0.9), (250.0, 0.75), (9e9, 0.6)]
    {
        assert!((curve.at(at(i)) - share).abs() < 1e-15, "{i}");
    }
    assert_eq!(curve.at(at(-75.0)), curve.at(at(75.0)));
}

#[test]
fn senseless_efficiencies_are_refused_at_their_point() {
    let at = |i| CurrentDensity::new(i);
    assert_eq!(Efficiency::curve(&[]), Err(EfficiencyError::Empty));
    assert!(matches!(Efficiency::constant(1.01), Err(EfficiencyError::Share { point: 1, .. })));
    assert!(Efficiency::constant(f64::NAN).is_err());
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(
            Efficiency::curve(&[(at(0.0), 0.5), (at(bad), 0.6)]),
            Err(EfficiencyError::Density { point: 2, .. })
        ));
    }
}

#[test]
fn nothing_is_deposited_where_current_leaves_the_metal() {
    let bath = solution(vec![
        body(Role::Shield, &[]),
        body(Role::Anode, &[(-300.0, 1.0)]),
        body(Role::Floating, &[(-200.0, 1.0), (200.0, 1.0)]),
    ]);
    let got = deposit(&bath, nickel(), &full(), Time::minutes(10.0));
    assert_eq!(got.bodies.len(), 2);
    let (anode, bar) = (&got.bodies[0], &got.bodies[1]);
    assert_eq!((anode.body, anode.thickness.max, anode.mass_kg), (1, 0.0, 0.0));
    assert_eq!((anode.efficiency, anode.evenness), (None, None));
    assert_eq!((bar.body, bar.thickness_m[0]), (2, 0.0));
    assert!(bar.thickness_m[1] > 0.0);
    assert!(got.of_body(0).is_none());
}

#[test]
fn a_falling_efficiency_evens_the_deposit_and_a_rising_one_does_the_opposite() {
    let at = |i| CurrentDensity::new(i);
    let rows = [(100.0, 0.0), (400.0, 0.0)];
    let ratio = |points: &[(CurrentDensity, f64)]| {
        let curve = Efficiency::curve(points).expect("a valid curve");
        let even = one(&rows, &curve, 10.0).evenness.expect("metal");
        even.max_over_min.expect("metal everywhere")
    };
    assert!((ratio(&[(at(0.0), 0.95)]) - 4.0).abs() < 1e-12);
    // 0.9 at 100, 0.6 at 400: 4 · 0.6/0.9; and the other way round
    assert!((ratio(&[(at(100.0), 0.9), (at(400.0), 0.6)]) - 8.0 / 3.0).abs() < 1e-12);
    assert!((ratio(&[(at(100.0), 0.6), (at(400.0), 0.9)]) - 6.0).abs() < 1e-12);
}

#[test]
fn uncertainty_of_the_current_is_carried_to_the_thickness() {
    let flat = one(&[(100.0, 2.0), (400.0, 4.0)], &full(), 10.0);
    for k in 0..2 {
        let relative = [0.02, 0.01][k];
        assert!((flat.uncertainty_m[k] / flat.thickness_m[k] - relative).abs() < 1e-14);
    }
    assert_eq!(flat.thickness.max_uncertainty, flat.uncertainty_m[1]);
    // mean 250, mean uncertainty 3
    assert!((flat.mass_uncertainty_kg / flat.mass_kg - 3.0 / 250.0).abs() < 1e-14);
    // efficiency i/1000 makes the rate go with i²: 1.01² − 1 upwards
    let at = |i| CurrentDensity::new(i);
    let rising = Efficiency::curve(&[(at(0.0), 0.0), (at(1000.0), 1.0)]).expect("a valid curve");
    let steep = one(&[(400.0, 4.0)], &rising, 10.0);
    assert!((steep.uncertainty_m[0] / steep.thickness_m[0] - 0.0201).abs() < 1e-12);
}

#[test]
fn nothing_deposits_below_the_covering_threshold() {
    let efficiency = Efficiency::constant(0.9).expect("90 %");
    let covering = efficiency.clone().with_threshold(CurrentDensity::new(50.0));
    let rows = [(49.9, 1.0), (50.0, 0.0), (200.0, 0.0)];
    let (with, without) = (one(&rows, &covering, 10.0), one(&rows, &efficiency, 10.0));
    assert_eq!(with.thickness_m[0], 0.0);
    assert_eq!(with.thickness_m[1..], without.thickness_m[1..]);
    // its uncertainty crosses the threshold: the place may be covered after all
    assert!(with.uncertainty_m[0] > 0.9 * without.thickness_m[0]);
    // 90 % of what flows in above the threshold, of all that flows in
    let share = 0.9 * 250.0 / 299.9;
    assert!((with.efficiency.expect("current flows in") - share).abs() < 1e-12);
    let charge = 299.9 * 0.01 * 0.1 * 600.0;
    let mass = charge * share * nickel().mass_per_charge_kg_c();
    assert!((with.mass_kg / mass - 1.0).abs() < 1e-9, "{}", with.mass_kg);
}
