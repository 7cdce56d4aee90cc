//! Layouts whose answers are closed forms, turned and shifted so that nothing lines up with a grid.
pub mod axial;
pub mod build;
pub mod cylinders;
pub mod plates;
pub mod potentials;
pub mod rod;
pub mod strips;

use crate::reference::Reference;

/// Every closed-form case.
pub fn all() -> Vec<Reference> {
    let mut out = vec![
        plates::parallel_linear(),
        plates::parallel_tafel(),
        plates::parallel_butler_volmer(),
        plates::parallel_table(),
    ];
    out.extend([0.1, 1.0, 5.0].map(plates::two_distances));
    out.push(cylinders::concentric());
    out.push(cylinders::eccentric_primary(0.4, 0.3));
    out.push(cylinders::eccentric_primary(0.2, 0.4));
    out.extend([0.01, 0.1, 1.0, 10.0].map(cylinders::eccentric_polarized));
    out.extend([0.5, 1.0, 4.0].map(strips::flush));
    out.push(strips::masked(1.0));
    out.extend([0.01, 0.1, 1.0, 10.0].map(strips::polarized));
    out.push(rod::over_plane());
    out
}

/// Every closed-form case of a body of revolution.
pub fn all_axial() -> Vec<Reference> {
    let mut out = vec![axial::concentric_spheres(), axial::rod_in_a_tube(), axial::disk(None)];
    out.push(axial::eccentric_spheres(0.3, 0.4));
    out.push(axial::eccentric_spheres(0.1, 0.8));
    out.push(potentials::boss());
    out.push(potentials::point_over_plane());
    out.extend([0.1, 0.5, 1.0, 5.0].map(|wa| axial::disk(Some(wa))));
    out
}
