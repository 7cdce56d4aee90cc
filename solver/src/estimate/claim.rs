//! What each stretch states about its error.
//!
//! The figure that decides where to refine is pessimistic on purpose. What is stated should be near:
//! a product of powers of what can be seen of an error, each of them far too large by itself, but by
//! factors that differ. At each stretch:
//!
//! - the difference between the degrees;
//! - the mismatch: of the density that the law gives and that of the potential's slope;
//! - how much of a wrong slope reaches the density: all of it without polarization, little where
//!   polarization holds the density;
//! - cells over stretch: errors of several cells partly cancel in a mean.
//!
//! All numbers were chosen together such that the stated over the true error is least, median over all
//! points, while few layouts have less than 95 % of their points covered: references of `tests`, 150
//! random layouts with their own fine answers as truth.

use super::{FLOOR, GEOMETRY, GRIDS, ROUNDING, mean_magnitudes, spread_out, throughput};
use crate::measure::Measured;
use crate::problem::Problem;

/// Stated error over the product.
const SHARE: f64 = 0.095;
/// Powers of the difference between degrees (the mismatch has the rest to one), of what reaches the
/// density, and of cells over stretch.
const BY_DEGREES: f64 = 0.4;
const BY_REACH: f64 = 0.3;
const BY_CELLS: f64 = 0.3;
/// Share of the difference between degrees that the mismatch counts as at least: on sides that run
/// along the grid the slope can be right while the density is not.
const AT_LEAST: f64 = 0.3;
/// Share of a wrong slope that reaches the density however strong the polarization is.
const ALWAYS: f64 = 0.1;
/// A slope that differs from the density by more than this many times the density says no more than that
/// it is wrong: where polarization holds the density it can be so a thousandfold, to no harm.
const JUST_WRONG: f64 = 3.0;
/// No stretch states less than this share of the accuracy asked for, relative to its density: a grid
/// that happens to be better is known to be so by figures that may be small by chance.
const ASKED: f64 = 0.05;
/// Bounds of cells over stretch.
const CELLS: [f64; 2] = [0.1, 10.0];

/// Stated error of each stretch's mean current density, A/m².
pub(super) fn claims(
    problem: &Problem,
    fine: &Measured,
    low: &Measured,
    moved: &[f64],
) -> Vec<f64> {
    let (layout, plan, wet) = (problem.layout, &problem.plan, &problem.wet);
    let of = |i: usize, f: &dyn Fn() -> f64| if wet[i] > 0.0 { f() } else { 0.0 };
    let all = 0..plan.stretches.len();
    let density = |m: &Measured, i: usize| m.stretches[i].current / wet[i];
    let degrees: Vec<f64> =
        all.clone().map(|i| of(i, &|| (density(fine, i) - density(low, i)).abs())).collect();
    let mismatch: Vec<f64> = all.clone().map(|i| of(i, &|| fine.stretches[i].mismatch())).collect();
    let means = mean_magnitudes(layout, plan, wet, fine);
    let size = |i: usize| of(i, &|| density(fine, i).abs());
    let scale = |i: usize| size(i).max(FLOOR * means[plan.stretches[i].body]);
    let (degrees, mismatch) = (spread_out(plan, &degrees), spread_out(plan, &mismatch));
    let (traffic, metal) = throughput(fine, wet);
    all.map(|i| {
        let wrong = mismatch[i].min(JUST_WRONG * scale(i));
        let slope = libm::hypot(wrong, AT_LEAST * degrees[i]);
        let reach = ALWAYS + of(i, &|| fine.stretches[i].stiffness());
        let cells = of(i, &|| fine.stretches[i].cell / problem.wet_m[i]).clamp(CELLS[0], CELLS[1]);
        let mean = libm::pow(degrees[i], BY_DEGREES)
            * libm::pow(slope, 1.0 - BY_DEGREES)
            * libm::pow(reach, BY_REACH)
            * libm::pow(cells, BY_CELLS);
        let least = ASKED * problem.accuracy * size(i);
        (SHARE * mean).max(GRIDS * moved[i]).max(least)
            + GEOMETRY * size(i)
            + ROUNDING * traffic / metal
    })
    .collect()
}
