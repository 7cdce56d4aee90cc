//! What may not change an answer: mirrors, turns, units, and running it again.
use checks::cases::build::{body, layout, linear, none, rect, tafel};
use checks::random;
use checks::values::values;
use shapes::{Axis, Outline, Point, Vec2};
use solver::quantity::*;
use solver::{Drive, Kinetics, Layout, Role, Solution, SolveSettings, Supply, solve};

fn solved(layout: &Layout) -> Solution {
    layout.check().expect("a sound layout");
    let settings =
        SolveSettings { accuracy: 0.01, max_unknowns: 200_000, ..SolveSettings::default() };
    solve(layout, &settings, &mut |_| {}).expect("a solution")
}

/// A part with corners and a rounded one, a shield, a floating rod, a screen and an anode.
fn mixed() -> Layout {
    let drawn = "M 0.1 0.1 L 0.16 0.1 L 0.16 0.13 L 0.12 0.13 C 0.11 0.2 0.14 0.2 0.1 0.22 Z";
    let screen = Role::Screen { conductivity: Conductivity::new(2.0) };
    let rod = Outline::disc(Point::new(0.3, 0.2), 0.02).expect("a disc");
    let bodies = vec![
        body("part", Role::Part, Outline::path(drawn).expect("a path"), tafel(1.0, 0.12)),
        body("shield", Role::Shield, rect(0.22, 0.03, 0.225, 0.12), none()),
        body("rod", Role::Floating, rod, linear(1e-3)),
        body("screen", screen, rect(0.4, 0.05, 0.41, 0.25), none()),
        body("anode", Role::Anode, rect(0.46, 0.06, 0.48, 0.24), linear(2e-4)),
    ];
    let supply = Drive::MeanDensity(CurrentDensity::new(250.0));
    layout(rect(0.0, 0.0, 0.5, 0.3), 20.0, bodies, supply)
}

fn placed(layout: &Layout, place: impl Fn(&Outline) -> Outline) -> Layout {
    let mut l = layout.clone();
    l.tank = place(&l.tank);
    for b in &mut l.bodies {
        b.outline = place(&b.outline);
    }
    l
}

/// Stretches of `b` lie where `place` puts those of `a`, with the same densities.
fn agree_in_place(what: &str, a: &Solution, b: &Solution, place: impl Fn(Point) -> Point) {
    let (mut pairs, mut strays) = (0, 0);
    for (x, y) in a.bodies.iter().zip(&b.bodies) {
        let slack = x.current_uncertainty_a + y.current_uncertainty_a;
        let off = (x.current_a - y.current_a).abs();
        assert!(off <= 3.0 * slack, "{what}: {} {} {}", x.name, x.current_a, y.current_a);
        for r in &x.stretches {
            let at = place(r.at);
            let near = |p: &&solver::Stretch| p.at.distance(at) < 0.02 * r.length_m;
            // rounding may divide a side into one stretch more or less
            let Some(other) = y.stretches.iter().find(near) else { continue };
            let slack = r.uncertainty_a_m2 + other.uncertainty_a_m2;
            let off = (r.current_density_a_m2 - other.current_density_a_m2).abs();
            assert!(off <= 3.0 * slack, "{what}: {} {r:?} {other:?}", x.name);
            pairs += 1;
            strays += usize::from(off > slack);
        }
    }
    let all: usize = a.bodies.iter().map(|b| b.stretches.len()).sum();
    assert!(2 * pairs > all, "{what}: {pairs} of {all} found");
    assert!(20 * strays <= pairs, "{what}: {strays} of {pairs} beyond their uncertainties");
}

#[test]
fn turning_everything_changes_nothing() {
    let base = mixed();
    let want = solved(&base);
    for degrees in [90.0f64, 180.0, 17.0, 45.0, 123.4] {
        let got = solved(&placed(&base, |o| o.turned_about(degrees, Point::ZERO)));
        let (sin, cos) = degrees.to_radians().sin_cos();
        let place = |p: Point| Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y);
        agree_in_place(&format!("{degrees}°"), &want, &got, place);
    }
}

/// Mirrored about the line through the origin.
fn mirrored(o: &Outline, axis: Axis) -> Outline {
    let centre = o.bounds().center().to_vec2();
    let back = match axis {
        Axis::X => Vec2::new(-2.0 * centre.x, 0.0),
        Axis::Y => Vec2::new(0.0, -2.0 * centre.y),
    };
    o.mirrored(axis).moved(back)
}

#[test]
fn a_mirror_image_has_mirrored_densities() {
    let base = mixed();
    let want = solved(&base);
    for axis in [Axis::X, Axis::Y] {
        let got = solved(&placed(&base, |o| mirrored(o, axis)));
        let place = |p: Point| match axis {
            Axis::X => Point::new(-p.x, p.y),
            Axis::Y => Point::new(p.x, -p.y),
        };
        agree_in_place(&format!("{axis:?}"), &want, &got, place);
    }
}

/// Where nothing polarizes, κ only scales the voltage: densities at a given current stay.
#[test]
fn conductivity_scales_the_primary_voltage() {
    let mut l = mixed();
    l.bodies.retain(|b| !matches!(b.role, Role::Screen { .. }));
    for b in &mut l.bodies {
        b.law = none();
    }
    let want = solved(&l);
    l.conductivity = Conductivity::new(7.0 * l.conductivity.si());
    let got = solved(&l);
    let ratio = want.supplies[0].voltage_v / got.supplies[0].voltage_v;
    assert!((ratio - 7.0).abs() < 1e-8, "{ratio}");
    for (a, b) in want.bodies.iter().zip(&got.bodies) {
        for (r, s) in a.stretches.iter().zip(&b.stretches) {
            let off = (r.current_density_a_m2 - s.current_density_a_m2).abs();
            assert!(off <= 1e-7 * r.current_density_a_m2.abs().max(1.0), "{r:?} {s:?}");
        }
    }
}

/// Lengths times ten and polarization resistances times ten: the same densities at the same mean.
#[test]
fn a_scale_model_has_the_same_densities() {
    let linear_everywhere = |scale: f64| {
        let mut l = placed(&mixed(), |o| o.scaled(scale));
        for b in &mut l.bodies {
            b.law = if b.role.is_metal() { linear(1e-3 * scale) } else { none() };
        }
        l
    };
    let (small, large) = (solved(&linear_everywhere(1.0)), solved(&linear_everywhere(10.0)));
    for (a, b) in small.bodies.iter().zip(&large.bodies) {
        let off = (a.density.mean - b.density.mean).abs();
        assert!(off <= 3.0 * (a.density.mean_uncertainty + b.density.mean_uncertainty) + 1e-6);
        assert!((10.0 * a.current_a - b.current_a).abs() <= 1e-3 * b.current_a.abs() + 1e-6);
    }
    let ratio = large.supplies[0].voltage_v / small.supplies[0].voltage_v;
    assert!((ratio - 10.0).abs() < 1e-2, "{ratio}");
}

/// With linear laws and no rest potentials, twice the voltage is twice everything.
#[test]
fn linear_laws_superpose() {
    let at = |volts: f64| {
        let mut l = mixed();
        for b in &mut l.bodies {
            b.law = linear(1e-3);
        }
        l.supplies = vec![Supply::all(Drive::Voltage(Potential::new(volts)))];
        solved(&l)
    };
    let (one, three) = (at(1.0), at(3.0));
    for (x, y) in values(&one).iter().zip(values(&three)) {
        let off = (3.0 * x.value - y.value).abs();
        assert!(off <= 1e-8 * y.value.abs() + 1e-9, "{x:?} {y:?}");
    }
}

/// Voltage, current and mean density say the same thing when they are each other's answer.
#[test]
fn supplies_agree_with_each_other() {
    let mut l = mixed();
    let by_mean = solved(&l);
    l.supplies = vec![Supply::all(Drive::Current(Current::new(by_mean.supplies[0].current_a)))];
    let by_current = solved(&l);
    l.supplies =
        vec![Supply::all(Drive::Voltage(Potential::new(by_current.supplies[0].voltage_v)))];
    let by_voltage = solved(&l);
    for other in [&by_current, &by_voltage] {
        agree_in_place("supplies", &by_mean, other, |p| p);
        let slack =
            by_mean.supplies[0].voltage_uncertainty_v + other.supplies[0].voltage_uncertainty_v;
        assert!((by_mean.supplies[0].voltage_v - other.supplies[0].voltage_v).abs() <= slack);
    }
}

#[test]
fn the_same_layout_gives_the_same_bits() {
    let mut layouts = vec![mixed()];
    layouts.extend((30_000..30_006).map(random::layout).filter(|l| l.check().is_ok()));
    let bits = |l: &Layout| -> Option<Vec<u64>> {
        let s = solve(
            l,
            &SolveSettings { accuracy: 0.05, max_unknowns: 50_000, ..SolveSettings::default() },
            &mut |_| {},
        );
        let s = s.ok()?;
        Some(values(&s).iter().flat_map(|v| [v.value.to_bits(), v.uncertainty.to_bits()]).collect())
    };
    let mut solved = 0;
    for l in &layouts {
        let first = bits(l);
        assert_eq!(first, bits(l));
        solved += usize::from(first.is_some());
    }
    assert!(solved >= 3, "{solved} solved");
}

/// A table with the points of a linear law is that law.
#[test]
fn a_straight_table_is_a_linear_law() {
    let with = |law: solver::Law| {
        let mut l = mixed();
        l.bodies[0].law = law;
        solved(&l)
    };
    let points = (1..=4)
        .map(|k| (Potential::new(0.1 * f64::from(k)), CurrentDensity::new(100.0 * f64::from(k))));
    let table = solver::Law { kinetics: Kinetics::Table { points: points.collect() }, ..none() };
    let (a, b) = (with(linear(1e-3)), with(table));
    for (x, y) in values(&a).iter().zip(values(&b)) {
        assert!((x.value - y.value).abs() <= 1e-6 * x.value.abs() + 1e-7, "{x:?} {y:?}");
    }
}
