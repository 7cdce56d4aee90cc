use shapes::{Outline, Point};

use super::*;
use crate::quantity::Conductivity;
use crate::sample::{KAPPA, body, domain, ideal, layout, rect, two_blocks};

fn hints(length: f64, accuracy: f64) -> Hints {
    Hints { polarization_m: vec![length; 3], accuracy }
}

/// Deepest level wanted at a vertex of a body, and the least on its edges.
fn of(body: u32, domain: &Domain, wanted: &Wanted) -> (u8, u8) {
    let own = || (0..domain.edges.len()).filter(|&i| domain.edges[i].owner == body);
    (
        own().map(|i| wanted.vertex[i]).max().unwrap_or(0),
        own().map(|i| wanted.edge[i]).min().unwrap_or(0),
    )
}

#[test]
fn corners_want_finer_cells_than_sides_and_parts_finer_than_anodes() {
    let layout = two_blocks();
    let d = domain(&layout);
    let w = wanted(&d, &layout, &hints(0.01, 0.01));
    let (part, anode) = (of(0, &d, &w), of(1, &d, &w));
    assert!(part.0 > part.1 && anode.0 > anode.1);
    // corners of an anode may be four times as coarse: two levels less one for the sides
    assert!(part.0 > anode.0, "{part:?} {anode:?}");
    // the tank's own corners are hollow: nothing is singular there
    assert_eq!(of(TANK, &d, &w).0, 0);
}

#[test]
fn less_polarization_wants_finer_corners() {
    let layout = two_blocks();
    let d = domain(&layout);
    let corner = |length: f64| of(0, &d, &wanted(&d, &layout, &hints(length, 0.01))).0;
    assert!(corner(1e-2) < corner(1e-3) && corner(1e-3) < corner(1e-4));
    // and without any there is still a finest cell: 5·10⁻⁴ of the shorter side of 21 mm
    let finest = d.lattice.level_for(TIP * 0.021);
    assert!(corner(0.0).abs_diff(finest) <= 1);
}

#[test]
fn a_tenth_of_the_error_halves_the_cells() {
    // 10^(1/3) = 2.15: one level, or two where rounding up falls so
    let layout = two_blocks();
    let d = domain(&layout);
    let levels = |accuracy: f64| wanted(&d, &layout, &hints(0.01, accuracy));
    let (loose, tight) = (levels(0.01), levels(0.001));
    for (a, b) in loose.edge.iter().zip(&tight.edge) {
        assert!((1..=2).contains(&(b - a)), "{a} {b}");
    }
}

#[test]
fn curves_want_cells_of_a_third_of_their_radius() {
    let radius = 0.004;
    let rod = Outline::disc(Point::new(0.09, 0.05), radius).unwrap();
    let layout = layout(vec![body("rod", Role::Part, rod, ideal())]);
    let d = domain(&layout);
    let w = wanted(&d, &layout, &hints(0.0, 0.01));
    let (corner, side) = of(0, &d, &w);
    assert_eq!(corner, 0, "chords are no corners");
    assert!(side.abs_diff(d.lattice.level_for(CURVE * radius)) <= 1);
}

/// A block on which two opposite corners are rounded to a fiftieth of its side.
fn rounded(role: Role) -> Layout {
    let side = 0.02;
    let block = Outline::rect(Point::new(0.09, 0.05), (side, side), 0.02 * side).unwrap();
    layout(vec![body("block", role, block, ideal())])
}

#[test]
fn polarization_makes_a_bend_no_coarser_than_a_corner() {
    for (role, off) in [(Role::Part, 1.0), (Role::Anode, OFF_PART)] {
        let layout = rounded(role);
        let d = domain(&layout);
        let finest = |length: f64| {
            let w = wanted(&d, &layout, &hints(length, 0.01));
            d.edges
                .iter()
                .zip(&w.edge)
                .filter(|(e, _)| e.owner == 0)
                .map(|(_, l)| *l)
                .max()
                .unwrap()
        };
        // a quarter of the outline is a side less what the bends save
        let most = d.lattice.level_for(CORNER * off * 0.02);
        for length in [0.1, 1.0, 100.0] {
            assert!(finest(length) >= most, "{role:?} {length}: {} not {most}", finest(length));
        }
        assert!(finest(0.0) > finest(0.1), "without polarization the radius counts");
    }
}

#[test]
fn a_screen_that_hardly_conducts_has_the_corners_of_a_shield() {
    let corner = |share: f64| {
        let role = Role::Screen { conductivity: Conductivity::new(share * KAPPA) };
        let layout = layout(vec![body("screen", role, rect(0.08, 0.04, 0.1, 0.06), ideal())]);
        let d = domain(&layout);
        of(0, &d, &wanted(&d, &layout, &hints(0.0, 0.01))).0
    };
    let shield = {
        let layout =
            layout(vec![body("shield", Role::Shield, rect(0.08, 0.04, 0.1, 0.06), ideal())]);
        let d = domain(&layout);
        of(0, &d, &wanted(&d, &layout, &hints(0.0, 0.01))).0
    };
    assert_eq!(corner(1e-3), shield);
    assert!(corner(0.5) < shield && corner(1.0) < corner(0.5));
}
