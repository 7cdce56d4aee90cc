//! What holds for every layout of ohmic metals, whatever its shapes: theorems of potential theory.
//!
//! Reciprocity, more metal never lowers the current, and the maximum principle, each on layouts
//! drawn at random.
use checks::cases::build::{body, layout, linear, none, rect};
use checks::draws;
use checks::truth;
use proptest::prelude::*;
use shapes::{Outline, Point};
use solver::quantity::*;
use solver::{Body, Drive, Layout, Role, Solution, SolveSettings, solve};

const THIEF: Role = Role::Thief { offset: Potential::new(0.0) };

/// Where three bodies stand, each in its own third of a tank of 0.3 m by 0.1 m, and how wide,
/// high and polarized they are.
#[derive(Debug, Clone)]
struct Three([(f64, f64, f64, f64, bool); 3]);

fn three() -> impl Strategy<Value = Three> {
    let one = (0.02..0.08f64, 0.02..0.08f64, 0.004..0.018f64, 1e-5..1e-2f64, any::<bool>());
    prop::array::uniform3(one).prop_map(Three)
}

impl Three {
    fn body(&self, k: usize, role: Role) -> Body {
        let (x, y, half, resistance, round) = self.0[k];
        let at = Point::new(0.1 * k as f64 + x, y);
        let outline = match round {
            true => Outline::disc(at, half),
            false => Outline::rect(at, (2.0 * half, 1.7 * half), 0.0),
        };
        let name = ["first", "second", "third"][k];
        body(name, role, outline.expect("an outline"), linear(resistance))
    }

    fn layout(&self, roles: [Option<Role>; 3]) -> Layout {
        let bodies = (0..3).filter_map(|k| Some(self.body(k, roles[k]?))).collect();
        layout(rect(0.0, 0.0, 0.3, 0.1), 8.0, bodies, Drive::Voltage(Potential::new(1.0)))
    }
}

fn solved(l: &Layout) -> Result<Solution, TestCaseError> {
    prop_assert!(l.check().is_ok());
    let settings =
        SolveSettings { accuracy: 0.02, max_unknowns: 100_000, ..SolveSettings::default() };
    let found = solve(l, &settings, &mut |_| {});
    found.map_err(|e| TestCaseError::fail(e.to_string()))
}

fn current(s: &Solution, name: &str) -> (f64, f64) {
    let b = s.bodies.iter().find(|b| b.name == name).expect("a body of this name");
    (b.current_a, b.current_uncertainty_a)
}

proptest! {
    #![proptest_config(draws::drawn(12))]

    /// One volt on the first drives through the third what one volt on the third drives through
    /// the first, all others at zero.
    #[test]
    fn currents_are_reciprocal(t in three()) {
        let there = solved(&t.layout([Some(Role::Anode), Some(Role::Part), Some(THIEF)]))?;
        let back = solved(&t.layout([Some(THIEF), Some(Role::Part), Some(Role::Anode)]))?;
        let ((a, da), (b, db)) = (current(&there, "third"), current(&back, "first"));
        prop_assert!(a > 0.0 && b > 0.0);
        prop_assert!((a - b).abs() <= da + db, "{a} ± {da} there, {b} ± {db} back");
    }

    /// At a fixed voltage another anode never takes current from the part.
    #[test]
    fn more_anode_never_lowers_the_current_of_the_part(t in three()) {
        let one = solved(&t.layout([Some(Role::Part), None, Some(Role::Anode)]))?;
        let two = solved(&t.layout([Some(Role::Part), Some(Role::Anode), Some(Role::Anode)]))?;
        let ((a, da), (b, db)) = (current(&one, "first"), current(&two, "first"));
        prop_assert!(b >= a - da - db, "{a} ± {da} with one anode, {b} ± {db} with two");
    }

    /// Metal without a wire draws no net current and nothing leaves the range of the metals'
    /// potentials.
    #[test]
    fn floating_metal_stays_between_the_potentials_and_draws_nothing(t in three()) {
        let l = t.layout([Some(Role::Part), Some(Role::Floating), Some(Role::Anode)]);
        let s = solved(&l)?;
        let volts = s.bodies[1].metal_potential_v.expect("a potential");
        prop_assert!((0.0..=1.0).contains(&volts), "{volts} V");
        prop_assert!(s.bodies[1].current_a.abs() <= 1e-10 * s.supplies[0].current_a);
        // on the surfaces too: between the metals that drive
        for r in s.bodies.iter().flat_map(|b| &b.stretches) {
            prop_assert!((-1e-3..=1.001).contains(&r.potential_v), "{r:?}");
        }
        let faults = truth::faults(&l, &s);
        prop_assert!(faults.is_empty(), "{}", faults.join("\n"));
        prop_assert!(truth::excess(&l, &s) <= 1e-3);
    }

    /// An insulator in the way never raises the current.
    #[test]
    fn a_shield_never_raises_the_current(t in three()) {
        let mut l = t.layout([Some(Role::Part), None, Some(Role::Anode)]);
        let open = solved(&l)?;
        l.bodies.push(Body { law: none(), ..t.body(1, Role::Shield) });
        let shut = solved(&l)?;
        let ((a, da), (b, db)) = (current(&open, "first"), current(&shut, "first"));
        prop_assert!(b <= a + da + db, "{a} ± {da} open, {b} ± {db} with the shield");
    }
}
