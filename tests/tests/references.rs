//! The references checked among themselves, without the solver.
use checks::{Reference, cases, load_fixtures, load_held_out, walk};

/// Along every metal outline, mean density × length sums to the body's stated current. Shows that
/// shapes, arc lengths and signs of the reference and of this workspace agree.
fn densities_sum_to_currents(reference: &Reference, tolerance: f64) {
    let layout = &reference.layout;
    for (k, body) in layout.bodies.iter().enumerate() {
        let Some(want) = reference.currents_a[k] else { continue };
        let mut sum = 0.0;
        for s in walk::stretches(layout, k, 2e-5) {
            let i = (reference.density)(k, &s);
            sum += i.map_or(0.0, |i| i * s.area_m2);
        }
        let error = (sum - want).abs() / reference.current_a;
        assert!(error < tolerance, "{} {}: {sum} A, stated {want} A", reference.name, body.name);
    }
}

#[test]
fn fixture_densities_sum_to_body_currents() {
    let all = load_fixtures();
    assert!(all.len() >= 12, "only {} fixtures", all.len());
    for reference in all.iter().chain(&load_held_out()) {
        // singular ends of primary strips: the last piece may be cut off by the wall's end
        densities_sum_to_currents(reference, 2e-4);
    }
}

#[test]
fn closed_form_densities_sum_to_body_currents() {
    for reference in &cases::all() {
        densities_sum_to_currents(reference, 2e-3);
    }
}

#[test]
fn fixtures_agree_with_themselves_on_a_coarser_mesh() {
    for r in load_fixtures().into_iter().chain(load_held_out()) {
        assert!(r.own_error < 1e-4, "{}: {:.1e}", r.name, r.own_error);
    }
}

/// Currents of every reference balance, and floating metal takes none.
#[test]
fn currents_balance() {
    for r in load_fixtures().into_iter().chain(load_held_out()).chain(cases::all()) {
        let net: f64 = r.currents_a.iter().flatten().sum();
        assert!(net.abs() < 1e-8 * r.current_a, "{}: {net} A", r.name);
        for (b, i) in r.layout.bodies.iter().zip(&r.currents_a) {
            if b.role == solver::Role::Floating {
                assert!(i.expect("metal").abs() < 1e-8 * r.current_a);
            }
        }
    }
}
