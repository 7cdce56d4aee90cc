//! What each stretch states about its error.
//!
//! The figure that decides where to refine is pessimistic on purpose. What is stated should be near:
//! a geometric mean of what can be seen of an error, each of them far too large by itself, but by
//! factors that differ. At each stretch (`SHARE` times the fourth root of their product):
//!
//! - the difference between the degrees, there and over all such metal (errors travel);
//! - twice the mismatch: of the density that the law gives and that of the potential's slope;
//! - how much of a wrong slope reaches the density: all of it without polarization, little where
//!   polarization holds the density;
//! - cells over stretch: errors of several cells partly cancel in a mean.

use super::{FLOOR, GEOMETRY, GRIDS, ROUNDING, mean_magnitudes, spread_out, throughput};
use crate::layout::Role;
use crate::measure::Measured;
use crate::problem::Problem;

/// Stated error over the fourth root: such that 97 % of all points of the references that the
/// estimate is fitted on are covered.
const SHARE: f64 = 0.10;
/// Share of the difference between degrees that the mismatch counts as at least: on sides that run
/// along the grid the slope can be right while the density is not.
const AT_LEAST: f64 = 0.3;
/// Share of a wrong slope that reaches the density however strong the polarization is.
const ALWAYS: f64 = 0.1;
/// A slope that differs from the density by more than this many times the density says no more than that
/// it is wrong: where polarization holds the density it can be so a thousandfold, to no harm.
const JUST_WRONG: f64 = 3.0;
/// No stretch states less than this share of the accuracy asked for, relative to its density: a grid
/// that happens to be better is known to be so by figures that may be small by chance. Random layouts,
/// turned, differed by up to a seventh of the accuracy.
const ASKED: f64 = 0.07;
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
    let on_anode = |i: usize| layout.bodies[plan.stretches[i].body].role == Role::Anode;
    let everywhere = [false, true].map(|anodes| {
        let (sum, count) = all
            .clone()
            .filter(|&i| wet[i] > 0.0 && !plan.stretches[i].tip && on_anode(i) == anodes)
            .map(|i| degrees[i] / scale(i).max(f64::MIN_POSITIVE))
            .fold((0.0, 0), |(sum, n), q| (sum + q * q, n + 1));
        libm::sqrt(sum / f64::from(count.max(1)))
    });
    let (degrees, mismatch) = (spread_out(plan, &degrees), spread_out(plan, &mismatch));
    let (traffic, metal) = throughput(fine, wet);
    all.map(|i| {
        let shown = degrees[i] * everywhere[usize::from(on_anode(i))] * scale(i);
        let wrong = mismatch[i].min(JUST_WRONG * scale(i));
        let slope = wrong * wrong + (AT_LEAST * degrees[i]) * (AT_LEAST * degrees[i]);
        let reach = ALWAYS + of(i, &|| fine.stretches[i].stiffness());
        let cells = of(i, &|| fine.stretches[i].cell / problem.wet_m[i]).clamp(CELLS[0], CELLS[1]);
        // roots first: products of four small numbers could vanish
        let mean = libm::sqrt(libm::sqrt(shown) * libm::sqrt(slope))
            * libm::sqrt(libm::sqrt(reach * cells));
        let least = ASKED * problem.accuracy * size(i);
        (SHARE * mean).max(GRIDS * moved[i]).max(least)
            + GEOMETRY * size(i)
            + ROUNDING * traffic / metal
    })
    .collect()
}
