//! A disk flush in an insulating plane, without polarization and with.
use solver::quantity::*;
use solver::{BodyResult, Drive, Law, Layout, Role, Symmetry};

use super::cell::KAPPA;
use super::{Row, Section, answer};
use crate::cases::axial;
use crate::cases::build::{body, layout, linear, none, rect};
use crate::closed_form::disk::Disk;
use crate::profile::Profile;

/// Radius of the disk with polarization, m. A row is about ratios: any size will do.
const RADIUS: f64 = 0.0217;
/// Radius and height of its tank in disk radii: the field of a disk has fallen to a thousandth.
const FAR: f64 = 30.0;
/// Share of the radius whose mean stands for the edge.
const EDGE: f64 = 0.01;

/// Centre i/i_avg by Wagner number κb/a: two or three digits.
const TABLE: [(f64, f64); 8] = [
    (0.01, 0.52),
    (0.1, 0.623),
    (0.2, 0.696),
    (0.5, 0.809),
    (1.0, 0.883),
    (2.0, 0.934),
    (5.0, 0.972),
    (10.0, 0.986),
];

fn upper_side(disk: &BodyResult) -> Profile {
    let top = disk.stretches.iter().map(|s| s.at.y).fold(f64::NEG_INFINITY, f64::max);
    Profile::of_rings(disk, |p| (p.y - top).abs() < 1e-9)
}

/// The disk under a confocal spheroid, whose field is that of a far anode.
fn primary() -> Vec<Row> {
    let reference = axial::disk(None);
    let solution = answer(&reference.layout);
    let a = axial::DISK_RADIUS;
    let profile = upper_side(&solution.bodies[0]);
    let whole = profile.between_radii(0.0, a);
    let problem = "C4: disk of radius a in an insulating plane, far anode";
    let mut rows: Vec<Row> = [0.0f64, 0.5, 0.9, 0.98]
        .into_iter()
        .map(|r| {
            let want = 0.5 / (1.0 - r * r).sqrt();
            let got = profile.at_radius(r * a) / whole;
            Row::relative(problem, format!("i/i_avg at r/a = {r}"), want, got, 0.01)
        })
        .collect();
    // beyond the spheroid the bath's resistance is that of the closed form
    let beyond = (std::f64::consts::FRAC_PI_2 - axial::DISK_XI.atan()) / std::f64::consts::TAU;
    let kappa = reference.layout.conductivity.si();
    let got = solution.supplies[0].voltage_v / solution.supplies[0].current_a * kappa * a + beyond;
    rows.push(Row::relative(problem, "resistance × κ × a", 0.25, got, 0.002));
    rows
}

fn far_anode(law: Law) -> Layout {
    let (a, far) = (RADIUS, FAR * RADIUS);
    let bodies = vec![
        body("disk", Role::Part, rect(-a, -0.01, a, 0.0), law),
        body("lid", Role::Anode, rect(-1.0, far, 1.1 * far, far + 0.02), none()),
    ];
    let drive = Drive::MeanDensity(CurrentDensity::new(100.0));
    let tank = rect(0.0, 0.0, far, far);
    Layout { symmetry: Symmetry::Axial, ..layout(tank, KAPPA, bodies, drive) }
}

fn secondary((wagner, centre): (f64, f64)) -> Vec<Row> {
    let solution = answer(&far_anode(linear(wagner * RADIUS / KAPPA)));
    let profile = upper_side(&solution.bodies[0]);
    let whole = profile.between_radii(0.0, RADIUS);
    let problem = format!("disk of radius a in an insulating plane, Wa = κb/a = {wagner}");
    // a unit of the last digit of the table
    let tolerance = if wagner < 0.1 { 0.02 } else { 0.006 };
    let got = profile.at_radius(0.0) / whole;
    let exact = Disk::new(1.0, FAR, wagner, 90);
    let edge = exact.mean_on_disk(1.0 - EDGE, 1.0) / exact.mean_on_disk(0.0, 1.0);
    let outer = profile.between_radii((1.0 - EDGE) * RADIUS, RADIUS) / whole;
    vec![
        Row::relative(&problem, "i/i_avg at the centre", centre, got, tolerance),
        Row::relative(problem, "i/i_avg, mean of the last 1 % of the radius", edge, outer, 0.01),
    ]
}

/// C4 and the disk with linear polarization.
pub fn sections() -> Vec<Section> {
    vec![Section {
        title: "Disk in an insulating plane",
        source: "without polarization: Newman (1966), J. Electrochem. Soc. 113, 501; with: computed, \
                 centre from a table made by another program (Newman's series, same volume, 1235), edge \
                 from the Legendre series in `closed_form/disk.rs`",
        note: "Without polarization under a confocal spheroid, the resistance from there to infinity \
               added in closed form; with polarization in a tank thirty times as large.",
        rows: primary().into_iter().chain(TABLE.into_iter().flat_map(secondary)).collect(),
    }]
}
