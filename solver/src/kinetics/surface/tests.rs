use proptest::prelude::*;

use super::*;
use crate::quantity::{AreaResistance, CurrentDensity, Potential};

fn law(kinetics: Kinetics, limiting: Option<f64>) -> Law {
    Law { kinetics, limiting: limiting.map(CurrentDensity::new), rest: Potential::new(0.0) }
}

fn surface(kinetics: Kinetics, limiting: Option<f64>, direction: Direction) -> Surface {
    Surface::new(&law(kinetics, limiting), direction, Temperature::celsius(25.0))
        .expect("within reach")
}

fn tafel(exchange: f64, slope: f64) -> Kinetics {
    Kinetics::Tafel { exchange: CurrentDensity::new(exchange), slope: Potential::new(slope) }
}

fn butler_volmer(exchange: f64, alpha_anodic: f64, alpha_cathodic: f64) -> Kinetics {
    Kinetics::ButlerVolmer { exchange: CurrentDensity::new(exchange), alpha_anodic, alpha_cathodic }
}

/// A number spread evenly over decades.
fn decades(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (low.log10()..high.log10()).prop_map(|x| 10f64.powf(x))
}

fn any_direction() -> impl Strategy<Value = Direction> {
    prop_oneof![Just(Direction::Anode), Just(Direction::Cathode), Just(Direction::Both)]
}

fn any_kinetics() -> impl Strategy<Value = Kinetics> {
    prop_oneof![
        decades(1e-7, 1e-1).prop_map(|r| Kinetics::Linear { resistance: AreaResistance::new(r) }),
        (decades(1e-9, 1e4), decades(5e-3, 0.4)).prop_map(|(i0, b)| tafel(i0, b)),
        (decades(1e-9, 1e4), decades(0.1, 2.0), decades(0.1, 2.0))
            .prop_map(|(i0, a, c)| butler_volmer(i0, a, c)),
        prop::collection::vec((1e-3..0.3f64, decades(1e-3, 500.0)), 1..9).prop_map(|steps| {
            let mut at = (0.0, 0.0);
            let sum = |(eta, j): (f64, f64)| {
                at = (at.0 + eta, at.1 + j);
                (Potential::new(at.0), CurrentDensity::new(at.1))
            };
            Kinetics::Table { points: steps.into_iter().map(sum).collect() }
        }),
    ]
}

fn any_surface() -> impl Strategy<Value = Surface> {
    (any_kinetics(), prop::option::of(decades(1.0, 1e4)), any_direction())
        .prop_map(|(kinetics, limit, direction)| surface(kinetics, limit, direction))
}

fn any_drop() -> impl Strategy<Value = f64> {
    prop_oneof![-3.0..3.0f64, -30.0..30.0f64, -1e6..1e6f64, decades(1e-12, 1e3)]
}

/// Natural potential scale of the exponent, V: what one rounding of η is measured against.
fn scale(surface: &Surface) -> f64 {
    match &surface.curve {
        Shape::Anodic(t) | Shape::Cathodic(t) => t.b,
        Shape::TwoSided(t) => t.anodic.min(t.cathodic).min(surface.limit * surface.slope_at(0.0)),
        Shape::Linear(resistance) => surface.limit * resistance,
        Shape::Table(_) | Shape::Ideal => f64::INFINITY,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..Default::default() })]

    #[test]
    fn only_a_law_that_works_one_way_has_no_potential_for_current_against_its_role(
        kinetics in any_kinetics(), anode in any::<bool>(), j in decades(1e-300, 1e3),
    ) {
        let direction = if anode { Direction::Anode } else { Direction::Cathode };
        let against = if anode { -j } else { j };
        let found = surface(kinetics.clone(), None, direction).overpotential(against);
        prop_assert_eq!(found.is_none(), law(kinetics, None).is_one_way());
    }

    #[test]
    fn the_drop_is_shared_out_without_remainder(
        surface in any_surface(), s in any_drop(), r in decades(1e-12, 1e3), guess in -2.0..2.0f64,
    ) {
        let got = surface.in_series(s, r, guess);
        prop_assert!(got.j.is_finite() && got.eta.is_finite());
        prop_assert!(got.dj_ds > 0.0 && got.dj_ds <= 1.0 / r, "{got:?}");
        let remainder = got.eta + r * got.j - s;
        // the logarithmic form knows η and ln j to roundings of ln(r i0 / b), whatever s is
        let (floor, exponent) = match &surface.curve {
            Shape::Anodic(t) | Shape::Cathodic(t) => {
                (1e-14 * t.b, (r * t.exchange / t.b).ln().abs())
            }
            _ => (0.0, 0.0),
        };
        let slack = 4e-15 * (s.abs() + got.eta.abs()) + floor;
        prop_assert!(remainder.abs() <= slack, "{got:?} {remainder:e}");
        // and j is the law's at that η: compare through the law, where the drop at the surface
        // is not lost in rounding
        let (j, dj) = surface.current(got.eta);
        let rounding = 1e-15 * (2.0 + got.eta.abs() / scale(&surface) + 0.2 * exponent);
        let slack = rounding * (j.abs() + got.eta.abs() * dj) + 4e-16 * s.abs() * dj + 1e-290;
        prop_assert!((j - got.j).abs() <= 4.0 * slack, "{got:?} law {j:e} slope {dj:e}");
    }

    #[test]
    fn the_guess_changes_nothing_but_rounding(
        surface in any_surface(), s in -3.0..3.0f64, r in decades(1e-9, 1.0), guess in -3.0..3.0f64,
    ) {
        let (one, other) = (surface.in_series(s, r, guess), surface.in_series(s, r, f64::NAN));
        prop_assert!((one.j - other.j).abs() <= 1e-13 * (one.j.abs() + s.abs() * one.dj_ds));
        // a tangent from a step of 1e-8 of the scale away
        prop_assert!((one.dj_ds - other.dj_ds).abs() <= 1e-7 * one.dj_ds);
        let again = surface.in_series(s, r, one.eta);
        prop_assert!((one.j - again.j).abs() <= 1e-13 * (one.j.abs() + s.abs() * one.dj_ds));
    }

    #[test]
    fn more_drop_is_never_less_current(
        surface in any_surface(), s in any_drop(), more in decades(1e-9, 1e3), r in decades(1e-9, 1e3),
    ) {
        let (low, high) = (surface.in_series(s, r, 0.0), surface.in_series(s + more, r, 0.0));
        prop_assert!(high.j >= low.j - 1e-14 * low.j.abs().max(s.abs() * low.dj_ds));
        let (low, high) = (surface.current(s).0, surface.current(s + more).0);
        prop_assert!(high >= low - 1e-15 * low.abs());
    }

    #[test]
    fn the_derivative_is_that_of_the_current(
        surface in any_surface(), s in -2.0..2.0f64, r in decades(1e-8, 1e-1),
    ) {
        // the curvature of a table has no scale
        if matches!(surface.curve, Shape::Table(_)) { return Ok(()); }
        let got = surface.in_series(s, r, 0.0);
        let h = 1e-4 * scale(&surface).min(1e-2);
        let rise = surface.in_series(s + h, r, 0.0).j - surface.in_series(s - h, r, 0.0).j;
        let noise = 1e-15 * (got.j.abs() * (1.0 + s.abs() / scale(&surface)) + s.abs() * got.dj_ds) / h;
        // second difference: (h/scale)²/6 of the slope, and the knee of a limited linear law
        prop_assert!((rise / (2.0 * h) - got.dj_ds).abs() <= 1e-6 * got.dj_ds + 8.0 * noise + 1e-300, "{got:?}");
    }

    #[test]
    fn the_slope_of_the_law_is_that_of_its_current(surface in any_surface(), share in -0.99..0.99f64) {
        let j = share * surface.limit.min(2000.0);
        let Some(eta) = surface.overpotential(j) else { return Ok(()) };
        let (_, dj) = surface.current(eta);
        // a table may all but stand still at a place, one-sided laws are read from a floor on
        let floor = match &surface.curve {
            Shape::Anodic(t) | Shape::Cathodic(t) => 2e-6 * t.exchange,
            _ => 0.0,
        };
        if j.abs() > floor && dj > 1e-3 {
            let product = surface.slope_at(j) * dj;
            prop_assert!((product - 1.0).abs() < 1e-6, "{product}");
        }
    }

    #[test]
    fn overpotential_undoes_current(surface in any_surface(), share in -0.999..0.999f64) {
        let j = share * surface.limit.min(2000.0);
        if let Some(eta) = surface.overpotential(j) {
            let (back, dj) = surface.current(eta);
            let slack = 1e-15 * (eta.abs() * dj + 1000.0 * j.abs());
            prop_assert!((back - j).abs() <= slack + 1e-13 * j.abs(), "{j} -> {eta} -> {back}");
        } else {
            let one_sided = matches!(surface.curve, Shape::Anodic(_) | Shape::Cathodic(_));
            prop_assert!(one_sided);
        }
    }

    #[test]
    fn the_limit_is_never_passed(surface in any_surface(), s in any_drop(), r in decades(1e-12, 1e3)) {
        if let Some(limit) = surface.limit() {
            prop_assert!(surface.in_series(s, r, 0.0).j.abs() <= limit * (1.0 + 1e-15));
            prop_assert!(surface.current(s).0.abs() <= limit);
            prop_assert!(surface.overpotential(limit).is_none());
            prop_assert!(surface.slope_at(limit).is_finite());
        }
        prop_assert!(surface.slope_at(0.0).is_finite() && surface.slope_at(0.0) > 0.0);
    }
}

#[test]
fn ten_times_the_current_costs_one_tafel_slope() {
    let cathode = surface(tafel(1e-2, 0.12), None, Direction::Cathode);
    let eta = |j| cathode.overpotential(j).expect("within reach");
    assert!((eta(-40.0) - eta(-400.0) - 0.12).abs() < 1e-15);
    // |i| = 1e-2 · 10^(0.48 / 0.12) = 100 A/m²
    assert!((cathode.current(-0.48).0 + 100.0).abs() < 1e-11);
    // b / (2.303 i): nickel at 4 A/dm² and 120 mV per decade, 0.13 mohm m²
    assert!((cathode.slope_at(-400.0) - 0.12 / (std::f64::consts::LN_10 * 400.0)).abs() < 1e-18);
    assert_eq!(cathode.overpotential(1.0), None);
}

#[test]
fn a_tafel_law_that_works_both_ways_is_odd_and_zero_at_rest() {
    let floating = surface(tafel(0.5, 0.1), None, Direction::Both);
    assert_eq!(floating.current(0.0).0, 0.0);
    assert!((floating.current(0.1).0 - 0.5 * (10.0 - 0.1)).abs() < 1e-14);
    assert_eq!(floating.current(0.1).0, -floating.current(-0.1).0);
}

#[test]
fn butler_volmer_is_a_resistance_rt_over_f_i0_for_small_overpotentials() {
    let law = surface(butler_volmer(30.0, 1.5, 0.5), None, Direction::Both);
    // R = 8.314462618 J/(mol K), F = 96485.33212 C/mol (CODATA 2018), 298.15 K
    let thermal = 8.314_462_618 * 298.15 / 96_485.332_12;
    let resistance = thermal / (30.0 * 2.0);
    assert!((law.slope_at(0.0) / resistance - 1.0).abs() < 1e-9);
    assert!(
        (law.overpotential(1e-6).expect("within reach") / (1e-6 * resistance) - 1.0).abs() < 1e-6
    );
    // and the anodic branch alone far from rest: i0 exp(1.5 η / VT)
    let far = 30.0 * (1.5 * 0.4 / thermal).exp();
    assert!((law.current(0.4).0 / far - 1.0).abs() < 1e-7);
}

#[test]
fn half_the_limit_is_reached_where_the_kinetic_current_equals_it() {
    let cathode = surface(tafel(1.0, 0.1), Some(1000.0), Direction::Cathode);
    assert!((cathode.current(-0.3).0 + 500.0).abs() < 1e-9);
    // a limit quadruples the slope there: 1 / (1 − 1/2)²
    let free = surface(tafel(1.0, 0.1), None, Direction::Cathode);
    assert!((cathode.slope_at(-500.0) / free.slope_at(-1000.0) - 4.0).abs() < 1e-12);
    assert!((cathode.in_series(-20.0, 1e-5, 0.0).j + 1000.0).abs() < 1e-6);
}

#[test]
fn an_ideal_surface_leaves_the_whole_drop_to_the_bath() {
    let ideal = surface(Kinetics::None, None, Direction::Cathode);
    let got = ideal.in_series(-2.0, 1e-3, 0.7);
    assert_eq!((got.j, got.eta), (-2000.0, 0.0));
    assert_eq!(ideal.slope_at(-100.0), 0.0);
    assert!(ideal.is_ideal());
}

#[test]
fn senseless_laws_are_refused_by_name() {
    let new = |l: &Law| Surface::new(l, Direction::Cathode, Temperature::celsius(55.0));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(new(&law(tafel(bad, 0.12), None)).is_err());
        assert!(new(&law(tafel(1.0, bad), None)).is_err());
        assert!(new(&law(butler_volmer(1.0, bad, 0.5), None)).is_err());
        assert!(new(&law(Kinetics::None, Some(bad))).is_err());
    }
    let message = new(&law(tafel(1.0, -0.12), None)).expect_err("a negative slope").to_string();
    assert_eq!(message, "the Tafel slope must lie between 1e-6 and 1e3 V per decade, not -0.12");
    let rest = Law { rest: Potential::new(f64::NAN), ..law(Kinetics::None, None) };
    assert!(new(&rest).is_err());
}
