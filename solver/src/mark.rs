//! Which cells to halve: where the error is made that the wanted densities feel.
//!
//! The dual-weighted idea (Becker & Rannacher, Acta Numerica 10 (2001) 1) with one backward solve:
//! the weight of a cell is how roughly potential and dual are resolved there, measured by their
//! quadratic surplus over the bilinear interpolant.

use crate::circuit::Circuit;
use crate::estimate::Wish;
use crate::level::Level;
use crate::newton::Solved;
use crate::system::assemble::System;
use crate::system::basis::{NODES, PAIRS, pair, volume, whole_stiffness};

/// Marks leaves for halving, by what is wished for each stretch: those that carry the share `bulk` of
/// the indicator's sum, and those right at stretches that ask for it.
pub(crate) fn mark(level: &Level, circuit: &Circuit, wishes: &[Wish], bulk: f64) -> Vec<u8> {
    let (system, solved) = (&level.system, &level.solved);
    let leaves = level.tree.leaves.len();
    let dual = dual(system, circuit, solved, wishes);
    let mut indicator = vec![0.0; leaves];
    for (p, piece) in system.mesh.pieces.iter().enumerate() {
        let kappa = system.domain.kappa[piece.piece().material as usize];
        let rough = |v: &[f64]| roughness(&system.numbering.gather(v, p));
        // small pieces borrow their polynomial: what they lack shows in their roots
        let fraction = piece.piece().fraction;
        let breadth = volume(piece.piece(), system.domain.breadth(piece.cell)) / fraction;
        indicator[piece.leaf] +=
            kappa * breadth * fraction.sqrt() * rough(&solved.state.u) * rough(&dual);
    }
    let mut order: Vec<usize> = (0..leaves).filter(|&i| indicator[i] > 0.0).collect();
    order.sort_by(|&a, &b| indicator[b].total_cmp(&indicator[a]));
    let total: f64 = indicator.iter().sum();
    let mut marked = vec![0; leaves];
    let mut sum = 0.0;
    for i in order {
        if sum >= bulk * total {
            break;
        }
        sum += indicator[i];
        marked[i] = 1;
    }
    // cells right at a stretch that is not yet good enough
    for piece in &system.boundary.metal {
        let side = system.domain.lattice.cell_m(system.mesh.pieces[piece.piece].cell.level);
        let here = system.boundary.points[piece.first..piece.end]
            .iter()
            .map(|q| &wishes[q.stretch as usize])
            .filter(|w| side > w.enough);
        let most = here.map(|w| w.halvings).max().unwrap_or(0);
        let leaf = &mut marked[system.mesh.pieces[piece.piece].leaf];
        *leaf = most.max(*leaf);
    }
    marked
}

/// H z = ∂goal/∂u: how much each part of the bath matters for the weighted densities.
fn dual(system: &System, circuit: &Circuit, solved: &Solved, wishes: &[Wish]) -> Vec<f64> {
    let mut b = vec![0.0; system.size()];
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let mut local = [0.0; NODES];
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let w = wishes[point.stretch as usize].weight;
            let Some(e) = &circuit.electrodes[point.body as usize] else { continue };
            if w == 0.0 {
                continue;
            }
            let eta = solved.state.eta[q];
            let (j, _) = e.surface.current(eta);
            // at no polarization η is zero and the series resistance alone counts
            let slope = if e.surface.is_ideal() {
                1.0 / point.series
            } else {
                e.surface.in_series(eta + point.series * j, point.series, eta).dj_ds
            };
            for (l, m) in local.iter_mut().zip(&point.m) {
                *l += w * point.weight * slope * m;
            }
        }
        map.scatter(&local, &mut b);
    }
    let zero = vec![0.0; circuit.injected.len()];
    solved.back_solve(&b, &zero).0
}

/// Estimated gradient error of a biquadratic over its cell, from its quadratic surplus: with q the
/// surplus over the whole gradient, the next order is missing about q times the surplus.
fn roughness(v: &[f64; NODES]) -> f64 {
    let bilinear = [
        v[0],
        0.5 * (v[0] + v[2]),
        v[2],
        0.5 * (v[0] + v[6]),
        0.25 * (v[0] + v[2] + v[6] + v[8]),
        0.5 * (v[2] + v[8]),
        v[6],
        0.5 * (v[6] + v[8]),
        v[8],
    ];
    let surplus: [f64; NODES] = std::array::from_fn(|k| v[k] - bilinear[k]);
    let k = whole_stiffness();
    let (s, g) = (energy(k, &surplus).sqrt(), energy(k, v).sqrt());
    if g > 0.0 { s * (s / g).min(1.0) } else { 0.0 }
}

fn energy(k: &[f64; PAIRS], v: &[f64; NODES]) -> f64 {
    let mut sum = 0.0;
    for a in 0..NODES {
        for b in 0..NODES {
            sum += k[pair(a, b)] * v[a] * v[b];
        }
    }
    sum.max(0.0)
}

/// For each leaf, true if there is metal in it and it is fine enough for every stretch there.
pub(crate) fn fine_enough(level: &Level, wishes: &[Wish]) -> Vec<bool> {
    let system = &level.system;
    let mut enough: Vec<Option<bool>> = vec![None; level.tree.leaves.len()];
    for piece in &system.boundary.metal {
        let of = &system.mesh.pieces[piece.piece];
        let side = system.domain.lattice.cell_m(of.cell.level);
        let mut here = system.boundary.points[piece.first..piece.end].iter();
        let fine = here.all(|q| side <= wishes[q.stretch as usize].enough);
        enough[of.leaf] = Some(enough[of.leaf].unwrap_or(true) && fine);
    }
    enough.into_iter().map(|e| e.unwrap_or(false)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Problem;
    use crate::sample::two_blocks;
    use crate::solve::{Method, SolveSettings};

    const NOTHING: Wish = Wish { weight: 0.0, halvings: 0, enough: 0.0 };
    const BULK: f64 = 0.7;

    fn at_nodes(f: impl Fn(f64, f64) -> f64) -> [f64; NODES] {
        std::array::from_fn(|k| f(0.5 * (k % 3) as f64, 0.5 * (k / 3) as f64))
    }

    #[test]
    fn bilinear_values_are_smooth_and_a_bump_is_rough() {
        assert!(roughness(&at_nodes(|x, y| 3.0 - 2.0 * x + 5.0 * y - 7.0 * x * y)) < 1e-12);
        assert_eq!(roughness(&[4.0; NODES]), 0.0);
        // x (1 − x): ∫ (1 − 2x)² = 1/3, all of it surplus
        let bump = roughness(&at_nodes(|x, _| x * (1.0 - x)));
        assert!((bump - (1.0f64 / 3.0).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn a_small_bend_on_a_steep_slope_counts_by_its_square() {
        // x + c x (1 − x): surplus² = c²/3, whole gradient² = 1 + c²/3
        for c in [0.01, 0.1, 1.0] {
            let found = roughness(&at_nodes(|x, _| x + c * x * (1.0 - x)));
            let exact = c * c / 3.0 / (1.0 + c * c / 3.0).sqrt();
            assert!((found / exact - 1.0).abs() < 1e-9, "{c}: {found} against {exact}");
        }
    }

    fn solved(layout: &crate::layout::Layout) -> (Problem<'_>, Level) {
        let settings =
            SolveSettings { accuracy: 0.05, max_unknowns: 100_000, method: Method::Automatic };
        let (mut problem, tree, mesh) = Problem::new(layout, &settings).unwrap();
        let level =
            Level::solve(&mut problem, tree, Some(mesh), crate::level::Before::Nothing).unwrap();
        (problem, level)
    }

    #[test]
    fn cells_at_an_open_stretch_are_marked_as_often_as_it_asks() {
        let layout = two_blocks();
        let (problem, level) = solved(&layout);
        let n = problem.plan.stretches.len();
        let mut wishes = vec![NOTHING; n];
        wishes[n / 3].halvings = 2;
        let marked = mark(&level, &problem.circuit, &wishes, BULK);
        let mut at_it = vec![false; marked.len()];
        for metal in &level.system.boundary.metal {
            let points = &level.system.boundary.points[metal.first..metal.end];
            if points.iter().any(|q| q.stretch as usize == n / 3) {
                at_it[level.system.mesh.pieces[metal.piece].leaf] = true;
            }
        }
        assert!(at_it.iter().any(|a| *a));
        for (m, at) in marked.iter().zip(at_it) {
            assert_eq!(*m, if at { 2 } else { 0 });
        }
        // cells that are small enough are left alone
        wishes[n / 3].enough = 1.0;
        assert!(mark(&level, &problem.circuit, &wishes, BULK).iter().all(|m| *m == 0));
    }

    #[test]
    fn a_weighted_stretch_marks_cells_around_it_first() {
        let layout = two_blocks();
        let (problem, level) = solved(&layout);
        let n = problem.plan.stretches.len();
        let mut wishes = vec![NOTHING; n];
        let wanted = n / 3;
        wishes[wanted].weight = 1.0;
        let marked = mark(&level, &problem.circuit, &wishes, BULK);
        let count = marked.iter().filter(|m| **m > 0).count();
        assert!(count > 0 && count < marked.len() / 4, "{count} of {}", marked.len());
        let at = level.system.boundary.points.iter().find(|q| q.stretch as usize == wanted);
        let at = level.system.domain.lattice.ticks(at.unwrap().at);
        let holds =
            |c: crate::grid::lattice::Cell| c.local(at).iter().all(|x| (-1.0..2.0).contains(x));
        let near = level.tree.leaves.iter().zip(&marked).filter(|(l, m)| **m > 0 && holds(l.cell));
        assert!(near.count() > 0, "cells at the stretch itself are among them");
    }
}
