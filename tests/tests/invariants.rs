//! What may not change an answer: mirrors, turns, units, and running it again.
use std::cell::RefCell;

use checks::agree::{Times, agreement, mirror_image, mirrored, placed, turned};
use checks::cases::build::{body, layout, linear, none, rect, tafel};
use checks::draws;
use checks::random;
use checks::values::values;
use checks::verdict::{Verdict, contacts, verdict};
use proptest::prelude::*;
use proptest::test_runner::{TestError, TestRunner};
use shapes::{Axis, Outline, Point};
use solver::quantity::*;
use solver::{Drive, Kinetics, Layout, Role, Solution, SolveError, SolveSettings, Supply, solve};

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

/// The answer to a layout that ought to have one; `None` for what the check or the laws refuse.
fn answer(layout: &Layout) -> Option<Solution> {
    layout.check().ok()?;
    let settings =
        SolveSettings { accuracy: ASKED, max_unknowns: 60_000, ..SolveSettings::default() };
    let found = solve(layout, &settings, &mut |_| {});
    match verdict(layout, &found) {
        Verdict::Solved => found.ok(),
        Verdict::IllPosed(_) => None,
        // beyond what a test has time for
        Verdict::Wrong(_) if matches!(found, Err(SolveError::TooLarge { .. })) => None,
        Verdict::Wrong(faults) => panic!("{}", faults.join("; ")),
    }
}

/// Accuracy at which random layouts are solved.
const ASKED: f64 = 0.02;

/// Layouts of seeds that have an answer.
fn solvable(of: fn(u64) -> Layout) -> impl Strategy<Value = (u64, Layout)> {
    let sound = move |seed: u32| {
        let layout = of(u64::from(seed));
        (layout.check().is_ok() && contacts(&layout) == 0).then_some((u64::from(seed), layout))
    };
    any::<u32>().prop_filter_map("has faults, or metals in contact", sound)
}

/// Layouts drawn for each property.
const CASES: u32 = 10;

fn config() -> ProptestConfig {
    ProptestConfig { max_shrink_iters: 0, ..draws::drawn(CASES) }
}

/// What the layouts of one property showed, together.
///
/// The stated uncertainty is right for 95 % of all stretches of all layouts, so that is what is asked
/// of all together; of one layout a third may differ, and of ten layouts two have a body whose current
/// does.
#[derive(Default)]
struct Seen {
    pairs: usize,
    strays: usize,
    layouts: u32,
    list: Vec<String>,
}

impl Seen {
    /// So many stretches of a layout, and those that differ by more than their uncertainties.
    fn add(&mut self, what: &str, pairs: usize, strays: usize) -> Result<(), TestCaseError> {
        let share = format!("{what}: {strays} of {pairs} differ");
        prop_assert!(3 * strays <= pairs, "{share}");
        self.pairs += pairs;
        self.strays += strays;
        if 20 * strays > pairs {
            self.list.push(share);
        }
        Ok(())
    }

    /// Currents of a layout's bodies that differ by more than their uncertainties.
    fn currents(&mut self, what: &str, faults: Vec<String>) {
        self.layouts += u32::from(!faults.is_empty());
        self.list.extend(faults.into_iter().map(|c| format!("{what}: {c}")));
    }

    /// Asserts what is asked of all layouts together.
    fn hold<T>(self, found: &Result<(), TestError<T>>) {
        let list = self.list.join("\n");
        if let Err(e) = found {
            panic!("{}\n{list}", reason(e));
        }
        let (strays, pairs) = (self.strays, self.pairs);
        assert!(20 * strays <= pairs, "{strays} of {pairs} stretches differ\n{list}");
        assert!(5 * self.layouts <= CASES, "currents of {} layouts differ\n{list}", self.layouts);
    }
}

/// The grid stays, the layout turns: only what the grid cannot resolve may change.
#[test]
fn turned_and_mirrored_layouts_have_one_answer() {
    let seen = RefCell::new(Seen::default());
    let one = |((seed, base), degrees): ((u64, Layout), f64)| {
        let Some(want) = answer(&base) else { return Ok(()) };
        type Way<'a> = (&'a dyn Fn(&Outline) -> Outline, &'a dyn Fn(Point) -> Point);
        let ways: [Way; 4] = [
            (&|o| o.turned_about(90.0, Point::ZERO), &|p| turned(p, 90.0)),
            (&|o| o.turned_about(degrees, Point::ZERO), &|p| turned(p, degrees)),
            (&|o| mirrored(o, Axis::X), &|p| mirror_image(p, Axis::X)),
            (&|o| mirrored(o, Axis::Y), &|p| mirror_image(p, Axis::Y)),
        ];
        let mut currents = Vec::new();
        for (way, (outline, place)) in ways.into_iter().enumerate() {
            let what = format!("seed {seed}, way {way}, {degrees} degrees");
            let other = placed(&base, outline);
            prop_assert!(other.check().is_ok(), "{what}: {:?}", other.check());
            let Some(got) = answer(&other) else {
                return Err(TestCaseError::fail(format!("{what}: no answer")));
            };
            let a = agreement(&want, &got, place, Times::ONE);
            prop_assert!(2 * a.pairs >= a.all, "{what}: {} of {} found", a.pairs, a.all);
            let (times, at) = &a.worst;
            let worst = format!("{what}, {times:.1} times at {at}");
            seen.borrow_mut().add(&worst, a.pairs, a.strays)?;
            currents.extend(a.currents.into_iter().map(|c| format!("way {way}: {c}")));
        }
        seen.borrow_mut().currents(&format!("seed {seed}, {degrees} degrees"), currents);
        Ok(())
    };
    let found = TestRunner::new(config()).run(&(solvable(random::layout), 1.0..359.0f64), one);
    seen.into_inner().hold(&found);
}

/// What failed, without the layout it failed on: the seed says that.
fn reason<T>(e: &TestError<T>) -> String {
    match e {
        TestError::Abort(why) | TestError::Fail(why, _) => why.to_string(),
    }
}

proptest! {
    #![proptest_config(config())]

    /// Conductivity times c and polarization resistance by c: the same densities at c-th the voltage.
    /// Currents as before, so the supply is set by current.
    #[test]
    fn conductivity_and_resistance_scale_the_voltage(
        (seed, base) in solvable(random::ohmic),
        c in 0.1..10.0f64,
    ) {
        let mut base = base;
        base.supplies = vec![Supply::all(Drive::Current(Current::new(1.0)))];
        let mut other = base.clone();
        other.conductivity = Conductivity::new(c * base.conductivity.si());
        for b in &mut other.bodies {
            if let Role::Screen { conductivity } = &mut b.role {
                *conductivity = Conductivity::new(c * conductivity.si());
            }
            if let Kinetics::Linear { resistance } = &mut b.law.kinetics {
                *resistance = AreaResistance::new(resistance.si() / c);
            }
        }
        let (Some(want), Some(got)) = (answer(&base), answer(&other)) else { return Ok(()) };
        let faults = agreement(&want, &got, |p| p, Times::ONE).faults_of_most();
        prop_assert!(faults.is_empty(), "seed {seed}, c {c}: {}", faults.join("; "));
        let (v, w) = (&want.supplies[0], &got.supplies[0]);
        let off = (v.voltage_v - c * w.voltage_v).abs();
        let slack = v.voltage_uncertainty_v + c * w.voltage_uncertainty_v;
        prop_assert!(off <= slack, "seed {seed}, c {c}: {v:?} {w:?}");
        // on one grid it is the same sum with other numbers
        if want.stats.unknowns == got.stats.unknowns {
            prop_assert!(off <= 1e-7 * v.voltage_v, "seed {seed}, c {c}: {v:?} {w:?}");
        }
    }

    /// Lengths times c and polarization resistance times c: the same densities at the same mean.
    #[test]
    fn a_scale_model_has_the_same_densities(
        (seed, base) in solvable(random::ohmic),
        c in 0.1..10.0f64,
    ) {
        let mut base = base;
        base.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(200.0)))];
        let mut other = placed(&base, |o| o.scaled(c));
        for b in &mut other.bodies {
            let from = b.outline.bounds().center().to_vec2();
            let own = base.bodies.iter().find(|o| o.name == b.name).expect("the same bodies");
            b.outline = b.outline.moved(own.outline.bounds().center().to_vec2() * c - from);
            if let Kinetics::Linear { resistance } = &mut b.law.kinetics {
                *resistance = AreaResistance::new(c * resistance.si());
            }
        }
        let at = base.tank.bounds().center().to_vec2();
        other.tank = other.tank.moved(at * c - other.tank.bounds().center().to_vec2());
        let (Some(want), Some(got)) = (answer(&base), answer(&other)) else { return Ok(()) };
        let place = |p: Point| Point::ORIGIN + p.to_vec2() * c;
        let times = Times { length: c, density: 1.0, current: c };
        let faults = agreement(&want, &got, place, times).faults();
        prop_assert!(faults.is_empty(), "seed {seed}, c {c}: {}", faults.join("; "));
        let (v, w) = (&want.supplies[0], &got.supplies[0]);
        let slack = v.voltage_uncertainty_v + w.voltage_uncertainty_v / c;
        prop_assert!((v.voltage_v - w.voltage_v / c).abs() <= slack, "seed {seed}: {v:?} {w:?}");
    }
}

/// With linear laws the answer to two drives together is the sum of the answers to each: a voltage
/// with some rest potentials, and another voltage with others. Twice the drive is twice everything.
#[test]
fn linear_laws_superpose() {
    let seen = RefCell::new(Seen::default());
    let one = |((seed, base), rests): ((u64, Layout), [f64; 8])| {
        let driven = |parts: &[(f64, &[f64])]| {
            let mut l = base.clone();
            let volts = parts.iter().map(|p| p.0).sum();
            l.supplies = vec![Supply::all(Drive::Voltage(Potential::new(volts)))];
            for (k, b) in l.bodies.iter_mut().enumerate() {
                let rest = parts.iter().map(|p| p.1[k % p.1.len()]).sum();
                b.law.rest = Potential::new(rest);
            }
            answer(&l)
        };
        let (one, two) = ((1.3, &rests[..4]), (0.6, &rests[4..]));
        let answers = (driven(&[one]), driven(&[two]), driven(&[one, two]), driven(&[one, one]));
        let (Some(a), Some(b), Some(sum), Some(twice)) = answers else { return Ok(()) };
        let (mut strays, mut all, mut currents) = (0, 0, Vec::new());
        for (k, s) in sum.bodies.iter().enumerate() {
            let (x, y) = (&a.bodies[k], &b.bodies[k]);
            let slack = s.current_uncertainty_a + x.current_uncertainty_a + y.current_uncertainty_a;
            let off = (s.current_a - x.current_a - y.current_a).abs();
            if off > slack {
                currents.push(format!("{}: {off} A, not {slack} A", s.name));
            }
            for ((s, x), y) in s.stretches.iter().zip(&x.stretches).zip(&y.stretches) {
                let slack = s.uncertainty_a_m2 + x.uncertainty_a_m2 + y.uncertainty_a_m2;
                let both = x.current_density_a_m2 + y.current_density_a_m2;
                all += 1;
                strays += usize::from((s.current_density_a_m2 - both).abs() > slack);
            }
        }
        let mut seen = seen.borrow_mut();
        seen.add(&format!("seed {seed}"), all, strays)?;
        seen.currents(&format!("seed {seed}"), currents);
        // the same grid: rounding alone
        for (x, y) in values(&a).iter().zip(values(&twice)) {
            let off = (2.0 * x.value - y.value).abs();
            let slack = 2.0 * x.uncertainty + y.uncertainty;
            prop_assert!(
                off <= slack.min(1e-4 * y.value.abs() + slack * 1e-2),
                "seed {seed}: {x:?} {y:?}"
            );
        }
        Ok(())
    };
    let found = TestRunner::new(config()).run(&(solvable(random::ohmic), rests()), one);
    seen.into_inner().hold(&found);
}

/// Rest potentials, V.
fn rests() -> impl Strategy<Value = [f64; 8]> {
    prop::array::uniform8(-0.2..0.2f64)
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
        let faults = agreement(&by_mean, other, |p| p, Times::ONE).faults_of_most();
        assert!(faults.is_empty(), "{}", faults.join("; "));
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
