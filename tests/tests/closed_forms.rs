//! The solver against closed forms: resistance within 0.2 %, local density within 1 % at
//! accuracy 1 % and within 0.3 % at 0.3 % (every point at least 0.3 mm from a corner).
use checks::{Reference, cases, compare};
use solver::{SolveSettings, solve};

fn check(reference: &Reference, accuracy: f64) {
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    let solution = solve(&reference.layout, &settings, &mut |_| {})
        .unwrap_or_else(|e| panic!("{}: {e}", reference.name));
    let c = compare(&solution, reference);
    let name = &reference.name;
    assert!(
        solution.current_balance.abs() <= 1e-10,
        "{name}: balance {:e}",
        solution.current_balance
    );
    assert_eq!(c.unmatched, 0, "{name}: stretches off the outline");
    assert!(c.parts.points > 0, "{name}: no point on the parts");
    // at given voltage the current errs, at given current the voltage: either is the resistance
    assert!(c.current <= 0.002, "{name}: current {:e}", c.current);
    assert!(c.voltage <= 0.002, "{name}: voltage {:e}", c.voltage);
    assert!(c.parts.max <= accuracy, "{name}: parts {:e} at {:?}", c.parts.max, c.worst_at);
    // the accuracy asked for is that of the parts; anodes are held to three times as much
    let anodes = 3.0 * accuracy;
    assert!(c.others.max <= anodes, "{name}: other metal {:e} at {:?}", c.others.max, c.worst_at);
}

macro_rules! closed_forms {
    ($($name:ident: $case:expr;)*) => {$(
        #[test]
        fn $name() {
            for accuracy in [0.01, 0.003] {
                check(&$case, accuracy);
            }
        }
    )*};
}

closed_forms! {
    parallel_plates_linear: cases::plates::parallel_linear();
    parallel_plates_tafel: cases::plates::parallel_tafel();
    parallel_plates_butler_volmer: cases::plates::parallel_butler_volmer();
    parallel_plates_table: cases::plates::parallel_table();
    two_distances_wa_01: cases::plates::two_distances(0.1);
    two_distances_wa_1: cases::plates::two_distances(1.0);
    two_distances_wa_5: cases::plates::two_distances(5.0);
    concentric_cylinders: cases::cylinders::concentric();
    eccentric_cylinders: cases::cylinders::eccentric_primary(0.4, 0.3);
    eccentric_cylinders_far_off: cases::cylinders::eccentric_primary(0.2, 0.4);
    eccentric_cylinders_wa_001: cases::cylinders::eccentric_polarized(0.01);
    eccentric_cylinders_wa_01: cases::cylinders::eccentric_polarized(0.1);
    eccentric_cylinders_wa_1: cases::cylinders::eccentric_polarized(1.0);
    eccentric_cylinders_wa_10: cases::cylinders::eccentric_polarized(10.0);
    flush_strips_short: cases::strips::flush(0.5);
    flush_strips_square: cases::strips::flush(1.0);
    flush_strips_long: cases::strips::flush(4.0);
    flush_strips_between_masks: cases::strips::masked(1.0);
    strip_in_a_plane_wa_001: cases::strips::polarized(0.01);
    strip_in_a_plane_wa_01: cases::strips::polarized(0.1);
    strip_in_a_plane_wa_1: cases::strips::polarized(1.0);
    strip_in_a_plane_wa_10: cases::strips::polarized(10.0);
    concentric_spheres: cases::axial::concentric_spheres();
    eccentric_spheres: cases::axial::eccentric_spheres(0.3, 0.4);
    small_ball_near_a_wall: cases::axial::eccentric_spheres(0.1, 0.8);
    rod_in_a_round_tube: cases::axial::rod_in_a_tube();
    disk: cases::axial::disk(None);
    disk_wa_01: cases::axial::disk(Some(0.1));
    disk_wa_1: cases::axial::disk(Some(1.0));
    disk_wa_5: cases::axial::disk(Some(5.0));
    hemispherical_boss: cases::potentials::boss();
    point_anode_over_a_plane: cases::potentials::point_over_plane();
    rod_over_a_plane: cases::rod::over_plane();
}
