//! Local density over whole layouts: the worst point of each.
use solver::Role;

use super::{Measure, Row, Section, answer};
use crate::cases;
use crate::compare::{CLEAR_OF_CORNERS, FLOOR};
use crate::reference::{Reference, load_fixtures, load_held_out};

/// Allowed at the worst point: three times the accuracy asked for, as the solver promises.
const WORST: f64 = 3.0;

/// The point on the parts where the density is farthest from the truth, beside the supply's voltage
/// or current, whichever is not given.
fn rows(reference: &Reference) -> Vec<Row> {
    let solution = answer(&reference.layout);
    // (relative error, true density, computed density, scale)
    let mut worst = (-1.0, 0.0, 0.0, 1.0);
    let mut points = 0;
    for (k, body) in solution.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part) {
        let rows: Vec<_> = body
            .stretches
            .iter()
            .map(|s| {
                let truth = (reference.density)(k, s);
                (s, truth.unwrap_or_else(|| panic!("{}: off the outline", reference.name)))
            })
            .collect();
        let length: f64 = rows.iter().map(|r| r.0.length_m).sum();
        let mean = rows.iter().map(|r| r.0.length_m * r.1.abs()).sum::<f64>() / length;
        for (s, truth) in rows {
            if reference.corners.iter().any(|c| c.distance(s.at) < CLEAR_OF_CORNERS) {
                continue;
            }
            points += 1;
            let scale = truth.abs().max(FLOOR * mean);
            let error = (s.current_density_a_m2 - truth).abs() / scale;
            if error.is_nan() || error > worst.0 {
                worst = (error, truth, s.current_density_a_m2, scale);
            }
        }
    }
    let name = &reference.name;
    let quantity = format!("density at the worst of {points} points, A/m²");
    let row = Row::relative(name, quantity, worst.1, worst.2, WORST * super::ASKED);
    // where next to nothing flows, errors are relative to a share of the mean
    let mut out = vec![Row { measure: Measure::Against(worst.3), ..row }];
    let supply = &solution.supplies[0];
    out.push(match reference.layout.supplies[0].drive {
        solver::Drive::Voltage(_) => Row::relative(
            name,
            "current of the supply, A",
            reference.current_a,
            supply.current_a,
            0.002,
        ),
        _ => Row::relative(
            name,
            "voltage of the supply, V",
            reference.voltage_v,
            supply.voltage_v,
            0.002,
        ),
    });
    out
}

/// Every layout with a closed form, turned and moved so that nothing lines up with the grid.
pub fn closed_forms() -> Section {
    Section {
        title: "Local density and resistance, closed forms",
        source: "plates: Ohm's law in series; cylinders and rod over a plane: Kasper (1940), Trans. \
                 Electrochem. Soc. 77, 353; strips: Wagner (1951), J. Electrochem. Soc. 98, 116; \
                 polarized cylinders and strips: computed (Fourier series, integral equation)",
        note: "Every point on the parts at least 0.3 mm from a corner is compared; the row shows the \
               one that is farthest off.",
        rows: cases::all().iter().flat_map(rows).collect(),
    }
}

/// Every body of revolution with a closed form.
pub fn around_an_axis() -> Section {
    Section {
        title: "Local density and resistance around an axis, closed forms",
        source: "spheres: image charges (Maxwell, Treatise I, ch. XI); tube: Ohm's law in series; disk \
                 with linear polarization: computed (Legendre series, after Newman (1966), \
                 J. Electrochem. Soc. 113, 501 and 1235); boss and point: exact potentials",
        note: "Every point on the parts at least 0.3 mm from a corner is compared; the row shows the \
               one that is farthest off.",
        rows: cases::all_axial().iter().flat_map(rows).collect(),
    }
}

/// Layouts with corners, shields, thieves, screens and steep laws.
pub fn body_fitted() -> Section {
    Section {
        title: "Local density and resistance, body-fitted curved elements of fourth order",
        source: "computed by `tests/reference` (gmsh, scipy), self-converged to 1e-4 or better",
        note: "The weights of the error estimate were fitted on these layouts. Where less than 5 % of \
               the part's mean flows, errors are relative to 5 % of the mean.",
        rows: load_fixtures().iter().flat_map(rows).collect(),
    }
}

/// Layouts that were held out when numbers of the solver were chosen.
pub fn library() -> Section {
    Section {
        title: "Local density and resistance, general-purpose finite-element library",
        source: "computed by scikit-fem on gmsh's curved triangles (`tests/peer`), self-converged to \
                 1e-4 or better",
        note: "Held out: no number of the solver was chosen on these layouts.",
        rows: load_held_out().iter().flat_map(rows).collect(),
    }
}
