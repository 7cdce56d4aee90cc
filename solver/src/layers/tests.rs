use proptest::prelude::*;
use shapes::{Axis, Outline, Point, Vec2};

use super::*;
use crate::deposit::{Deposit, Efficiency, deposit};
use crate::faraday::Metal;
use crate::layout::{Layout, Role};
use crate::quantity::Time;
use crate::sample::{body, linear, polygon, rect, two_blocks};
use crate::solution::Stretch;
use crate::solve::{SolveSettings, solve};

/// An L with a hole: no turn or mirror brings it onto itself.
fn bracket() -> Outline {
    Outline::path("M0 0H60V20H25V40H0Z M5 5H15V12H5Z").expect("a bracket").scaled(1e-3)
}

/// A result and a deposit on `outline`, each loop cut at the given shares of its length, with a
/// wetted share of each stretch and its thickness.
fn made(outline: &Outline, cut: &[(f64, f64, f64)]) -> (BodyResult, BodyDeposit) {
    let mut stretches = Vec::new();
    let (mut thickness_m, mut uncertainty_m) = (Vec::new(), Vec::new());
    for (loop_index, curve) in outline.loops().iter().enumerate() {
        let mut ends: Vec<(f64, f64, f64)> = cut.to_vec();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (k, &(from, wet, um)) in ends.iter().enumerate() {
            let to = ends.get(k + 1).map_or(ends[0].0 + 1.0, |next| next.0);
            let (from, to) = (from * curve.length(), to * curve.length());
            let s_m = curve.wrapped(0.5 * (from + to));
            stretches.push(Stretch {
                loop_index,
                s_m,
                length_m: wet * (to - from),
                area_m2: wet * (to - from),
                at: curve.point_at(s_m),
                normal: [0.0, 1.0],
                potential_v: 0.0,
                overpotential_v: 0.0,
                current_density_a_m2: um,
                uncertainty_a_m2: 0.0,
            });
            thickness_m.push(um * 1e-6);
            uncertainty_m.push(0.01 * um * 1e-6);
        }
    }
    let lengths: Vec<f64> = stretches.iter().map(|s| s.length_m).collect();
    let places: Vec<Point> = stretches.iter().map(|s| s.at).collect();
    let thickness = Spread::of(&thickness_m, &lengths, &places, &uncertainty_m).expect("wet");
    let result = BodyResult {
        name: "part".into(),
        role: Role::Part,
        current_a: 1.0,
        current_uncertainty_a: 0.0,
        area_m2: lengths.iter().sum(),
        metal_potential_v: Some(0.0),
        contact_v: 0.0,
        density: thickness,
        stretches,
    };
    let deposit = BodyDeposit {
        body: 0,
        evenness: Evenness::of(&thickness_m, &lengths),
        mass_kg: 0.0,
        mass_uncertainty_kg: 0.0,
        efficiency: Some(1.0),
        thickness_m,
        uncertainty_m,
        thickness,
    };
    (result, deposit)
}

fn coat<'a>(outline: &'a Outline, made: &'a (BodyResult, BodyDeposit)) -> Coat<'a> {
    Coat { outline, result: &made.0, deposit: &made.1, significant: None }
}

/// ∫ thickness ds of a deposit as solved.
fn metal(made: &(BodyResult, BodyDeposit)) -> f64 {
    made.0.stretches.iter().zip(&made.1.thickness_m).map(|(s, t)| s.length_m * t).sum()
}

/// The same of a profile of a stack.
fn laid(stack: &Stack, profile: &Profile) -> f64 {
    stack.places.iter().zip(&profile.thickness_m).map(|(p, t)| p.length_m * t).sum()
}

/// How a part may hang in another tank.
fn hung(outline: &Outline, flip: bool, degrees: f64, by: (f64, f64)) -> Outline {
    let outline = if flip { outline.mirrored(Axis::X) } else { outline.clone() };
    outline.turned(degrees).moved(Vec2::new(by.0, by.1))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 60, ..Default::default() })]

    /// Whatever the stretches and however the part hangs, each layer keeps its metal, its least
    /// and its greatest, and the total is the sum.
    #[test]
    fn every_layer_keeps_its_metal_and_its_extremes(
        first in prop::collection::vec((0.0..1.0f64, 0.999..1.0f64, 1.0..30.0f64), 2..12),
        second in prop::collection::vec((0.0..1.0f64, 0.3..1.0f64, 1.0..30.0f64), 2..12),
        flip: bool, degrees in -180.0..180.0f64, by in (-0.5..0.5f64, -0.5..0.5f64),
    ) {
        let here = bracket();
        let there = hung(&here, flip, degrees, by);
        let (one, two) = (made(&here, &first), made(&there, &second));
        let stack = stack(&[coat(&here, &one), coat(&there, &two)]).expect("the same shape");
        for (made, profile) in [(&one, &stack.layers[0]), (&two, &stack.layers[1])] {
            let (before, after) = (metal(made), laid(&stack, profile));
            prop_assert!((after / before - 1.0).abs() < 1e-9, "{before} became {after}");
            let greatest = made.1.thickness.max;
            prop_assert!(profile.thickness.max <= greatest * (1.0 + 1e-9));
        }
        let sum = laid(&stack, &stack.layers[0]) + laid(&stack, &stack.layers[1]);
        prop_assert!((laid(&stack, &stack.total) / sum - 1.0).abs() < 1e-12);
        for k in 0..stack.places.len() {
            let sum = stack.layers[0].thickness_m[k] + stack.layers[1].thickness_m[k];
            prop_assert!((stack.total.thickness_m[k] - sum).abs() <= 1e-12 * sum);
        }
    }

    /// The bracket has only one way to lie on itself, so a place must be found where the motion
    /// puts it, to the rounding of the coordinates.
    #[test]
    fn a_place_is_found_again_however_the_part_hangs(
        flip: bool, degrees in -180.0..180.0f64, by in (-0.5..0.5f64, -0.5..0.5f64), s in 0.0..1.0f64,
    ) {
        let here = bracket();
        let there = hung(&here, flip, degrees, by);
        let fit = Fit::of(&there, &here).expect("the same shape");
        prop_assert_eq!(fit.is_mirrored(), flip);
        for (l, curve) in there.loops().iter().enumerate() {
            let s = s * curve.length();
            let (found, at, longer) = fit.place(l, s).expect("a loop");
            let p = here.loops()[found].point_at(at);
            let back = hung_point(&here, flip, degrees, by, p);
            prop_assert!((back - curve.point_at(s)).hypot() < 1e-12, "{:?} {:?}", back, curve.point_at(s));
            prop_assert!((longer - 1.0).abs() < 1e-12);
        }
    }
}

/// The motion of [`hung`] on one point: about the middle of the outline's box at each step.
fn hung_point(outline: &Outline, flip: bool, degrees: f64, by: (f64, f64), p: Point) -> Point {
    let middle = outline.bounds().center();
    let d = p - middle;
    let d = if flip { Vec2::new(-d.x, d.y) } else { d };
    let (sin, cos) = degrees.to_radians().sin_cos();
    middle + Vec2::new(cos * d.x - sin * d.y, sin * d.x + cos * d.y) + Vec2::new(by.0, by.1)
}

#[test]
fn a_shape_drawn_from_another_corner_is_the_same_shape() {
    let here = polygon(&[[0.0, 0.0], [0.06, 0.0], [0.06, 0.02], [0.0, 0.05]]);
    let there = polygon(&[[1.06, 0.02], [1.0, 0.05], [1.0, 0.0], [1.06, 0.0]]);
    let fit = Fit::of(&there, &here).expect("the same shape");
    let (l, at, _) = fit.place(0, 0.0).expect("a loop");
    assert!((here.loops()[l].point_at(at) - Point::new(0.06, 0.02)).hypot() < 1e-12);
}

#[test]
fn other_shapes_are_refused() {
    let one = made(&bracket(), &[(0.1, 1.0, 3.0), (0.6, 1.0, 4.0)]);
    let notched =
        Outline::path("M0 0H60V20H25V40H0Z M5 5H15V12.5H5Z").expect("a bracket").scaled(1e-3);
    let others = [
        bracket().scaled(1.001),
        notched,
        rect(0.0, 0.0, 0.06, 0.04),
        Outline::disc(Point::ORIGIN, 0.03).expect("a disc"),
    ];
    let here = bracket();
    for other in others {
        let two = made(&other, &[(0.1, 1.0, 3.0), (0.6, 1.0, 4.0)]);
        let found = stack(&[coat(&here, &one), coat(&other, &two)]);
        assert_eq!(found, Err(StackError::Shape { layer: 2 }));
    }
    assert_eq!(stack(&[]), Err(StackError::Nothing));
}

/// By hand: a square of side 10 mm, first layer 4 µm on the first half and 8 µm on the other, second
/// 1 µm on the middle half of that and 2 µm elsewhere.
#[test]
fn layers_add_place_by_place() {
    let square = rect(0.0, 0.0, 0.01, 0.01);
    let one = made(&square, &[(0.0, 1.0, 4.0), (0.5, 1.0, 8.0)]);
    let two = made(&square, &[(0.25, 1.0, 1.0), (0.75, 1.0, 2.0)]);
    let mut first = coat(&square, &one);
    first.significant = Some(&[true, false]);
    let stack = stack(&[first, coat(&square, &two)]).expect("the same square");
    let um: Vec<f64> = stack.total.thickness_m.iter().map(|t| (t * 1e8).round() / 100.0).collect();
    assert_eq!(um, [6.0, 5.0, 9.0, 10.0]);
    let marks: Vec<bool> = stack.places.iter().map(|p| p.significant).collect();
    assert_eq!(marks, [true, true, false, false]);
    let seen = stack.on_significant(&stack.total).expect("half of it");
    assert!((seen.max - 6e-6).abs() < 1e-15 && (seen.mean - 5.5e-6).abs() < 1e-15);
    let first = stack.sum(&[0]).expect("places");
    assert_eq!(first, stack.layers[0]);
}

#[test]
fn what_no_bath_reaches_has_no_place_and_what_one_reaches_counts_as_bare_in_the_other() {
    let square = rect(0.0, 0.0, 0.01, 0.01);
    // middles of the quarters only
    let one =
        made(&square, &[(0.0, 0.5, 4.0), (0.25, 0.5, 4.0), (0.5, 0.5, 4.0), (0.75, 0.5, 4.0)]);
    let mut two = made(&square, &[(0.0, 0.25, 2.0), (0.5, 0.5, 2.0)]);
    two.0.stretches.pop();
    two.1.thickness_m.pop();
    let stack = stack(&[coat(&square, &one), coat(&square, &two)]).expect("the same square");
    let wet: f64 = stack.places.iter().map(|p| p.length_m).sum();
    // 4 × 5 mm, and of the second's 5 mm round the corner at 10 mm half is new
    assert!((wet - 0.025).abs() < 1e-12, "{wet}");
    assert_eq!(stack.layers[1].thickness.min, 0.0);
    assert_eq!(stack.layers[0].thickness.min, 0.0);
}

fn plated(layout: &Layout, minutes: f64) -> (crate::Solution, Deposit) {
    let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
    let solution = solve(layout, &settings, &mut |_| ()).expect("solves");
    let nickel = Metal::named("Ni").expect("in the table");
    let full = Efficiency::constant(0.95).expect("a share");
    let deposit = deposit(&solution, nickel, &full, Time::minutes(minutes));
    (solution, deposit)
}

/// The whole tank turned by a quarter: the same deposit, found on the other side of the page.
fn quarter_turn(layout: &Layout) -> Layout {
    let turn = |outline: &Outline| outline.turned_about(90.0, Point::ORIGIN);
    let mut layout = layout.clone();
    layout.tank = turn(&layout.tank);
    for body in &mut layout.bodies {
        body.outline = turn(&body.outline);
    }
    layout
}

#[test]
fn two_short_runs_in_turned_tanks_are_one_long_run() {
    let mut layout = two_blocks();
    let shape = polygon(&[[0.03, 0.03], [0.06, 0.03], [0.06, 0.05], [0.04, 0.07], [0.03, 0.07]]);
    layout.bodies[0] = body("part", Role::Part, shape, linear(1e-3));
    let turned = quarter_turn(&layout);
    let (long, short) = (plated(&layout, 30.0), plated(&layout, 10.0));
    let after = plated(&turned, 20.0);
    let coat = |layout: &Layout, run: &(crate::Solution, Deposit)| {
        (layout.bodies[0].outline.clone(), run.0.bodies[0].clone(), run.1.bodies[0].clone())
    };
    let (one, two) = (coat(&layout, &short), coat(&turned, &after));
    let of = |c: &(Outline, BodyResult, BodyDeposit)| {
        stack(&[Coat { outline: &c.0, result: &c.1, deposit: &c.2, significant: None }])
    };
    let both = stack(&[
        Coat { outline: &one.0, result: &one.1, deposit: &one.2, significant: None },
        Coat { outline: &two.0, result: &two.1, deposit: &two.2, significant: None },
    ])
    .expect("the same part");
    let whole = of(&coat(&layout, &long)).expect("one layer");
    // each solve is good to 2 %, three times that at worst
    let (a, b) = (both.total.thickness, whole.total.thickness);
    assert!((a.mean / b.mean - 1.0).abs() < 0.02, "{} {}", a.mean, b.mean);
    assert!((a.min / b.min - 1.0).abs() < 0.06 && (a.max / b.max - 1.0).abs() < 0.06);
    assert!((a.min_at - b.min_at).hypot() < 2e-3, "{:?} {:?}", a.min_at, b.min_at);
    // without the turn the answers are the same to rounding
    let again = plated(&layout, 20.0);
    let again = coat(&layout, &again);
    let both = stack(&[
        Coat { outline: &one.0, result: &one.1, deposit: &one.2, significant: None },
        Coat { outline: &again.0, result: &again.1, deposit: &again.2, significant: None },
    ])
    .expect("the same part");
    assert_eq!(both.places.len(), whole.places.len());
    for (a, b) in both.total.thickness_m.iter().zip(&whole.total.thickness_m) {
        assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
    }
}
