//! Axial sections stood on their heads and moved along the axis, and what is refused.
use checks::{Reference, cases, compare};
use shapes::{Outline, Point};
use solver::{LayoutFault, SolveSettings, solve};

fn rect(at: (f64, f64), size: (f64, f64)) -> Outline {
    Outline::rect(Point::new(at.0, at.1), size, 0.0).expect("a rectangle")
}

/// 1 % everywhere on the parts, 0.2 % of the current, wherever the section lies along its axis.
#[test]
fn turned_over_and_moved_along_the_axis() {
    let all: [fn() -> Reference; 4] = [
        || cases::axial::eccentric_spheres(0.3, 0.4),
        || cases::axial::disk(Some(1.0)),
        cases::potentials::boss,
        cases::potentials::point_over_plane,
    ];
    for case in all {
        for (turned, shift) in [(true, 0.0), (false, 0.01237), (true, -0.2071), (false, 1.9)] {
            let reference = case().along_axis(turned, shift);
            let name = &reference.name;
            let settings = SolveSettings { accuracy: 0.01, ..SolveSettings::default() };
            let solution = solve(&reference.layout, &settings, &mut |_| {})
                .unwrap_or_else(|e| panic!("{name}: {e}"));
            let c = compare(&solution, &reference);
            assert_eq!(c.unmatched, 0, "{name}");
            assert!(c.current <= 0.002, "{name}: current {:e}", c.current);
            assert!(c.parts.max <= 0.01, "{name}: {:e} at {:?}", c.parts.max, c.worst_at);
            assert!(solution.current_balance.abs() <= 1e-10, "{name}");
        }
    }
}

fn faults(reference: &Reference) -> Vec<LayoutFault> {
    reference.layout.check().err().unwrap_or_default()
}

#[test]
fn a_tank_across_the_axis_is_refused() {
    let mut reference = cases::axial::rod_in_a_tube();
    reference.layout.tank = rect((0.0, 0.07), (0.1, 0.0633));
    let found = faults(&reference);
    assert!(found.iter().any(|f| matches!(f, LayoutFault::TankBeyondAxis { .. })), "{found:?}");
}

#[test]
fn a_body_beyond_the_axis_is_refused() {
    let mut reference = cases::axial::rod_in_a_tube();
    reference.layout.bodies[1].outline = rect((-0.02, 0.07), (0.01, 0.09));
    let found = faults(&reference);
    assert!(
        found.iter().any(|f| matches!(f, LayoutFault::BodyBeyondAxis { body: 1, .. })),
        "{found:?}"
    );
}
