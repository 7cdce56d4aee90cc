//! Which cells to halve: where the error is made that the wanted densities feel.
//!
//! The dual-weighted idea (Becker & Rannacher, Acta Numerica 10 (2001) 1) with one backward solve:
//! the weight of a cell is how roughly potential and dual are resolved there, measured by their
//! quadratic surplus over the bilinear interpolant.

use crate::circuit::Circuit;
use crate::level::Level;
use crate::newton::Solved;
use crate::system::assemble::System;
use crate::system::basis::{NODES, PAIRS, pair, whole_stiffness};

/// Share of the indicator's sum that the marked cells carry.
const BULK: f64 = 0.7;

/// Marks leaves for halving; `weight` is ∂(goal)/∂(current density) on each stretch, per m.
pub(crate) fn mark(level: &Level, circuit: &Circuit, weight: &[f64], open: &[u8]) -> Vec<u8> {
    let (system, solved) = (&level.system, &level.solved);
    let leaves = level.tree.leaves.len();
    let dual = dual(system, circuit, solved, weight);
    let mut indicator = vec![0.0; leaves];
    for (p, piece) in system.mesh.pieces.iter().enumerate() {
        let kappa = system.domain.kappa[piece.piece().material as usize];
        let rough = |v: &[f64]| roughness(&system.numbering.gather(v, p));
        // small pieces borrow their polynomial: what they lack shows in their roots
        let share = piece.piece().fraction.sqrt();
        indicator[piece.leaf] += kappa * share * rough(&solved.state.u) * rough(&dual);
    }
    let mut order: Vec<usize> = (0..leaves).filter(|&i| indicator[i] > 0.0).collect();
    order.sort_by(|&a, &b| indicator[b].total_cmp(&indicator[a]));
    let total: f64 = indicator.iter().sum();
    let mut marked = vec![0; leaves];
    let mut sum = 0.0;
    for i in order {
        if sum >= BULK * total {
            break;
        }
        sum += indicator[i];
        marked[i] = 1;
    }
    // cells right at a stretch that is not yet good enough
    for piece in &system.boundary.metal {
        let points = &system.boundary.points[piece.first..piece.end];
        let most = points.iter().map(|q| open[q.stretch as usize]).max().unwrap_or(0);
        let leaf = &mut marked[system.mesh.pieces[piece.piece].leaf];
        *leaf = most.max(*leaf);
    }
    marked
}

/// H z = ∂goal/∂u: how much each part of the bath matters for the weighted densities.
fn dual(system: &System, circuit: &Circuit, solved: &Solved, weight: &[f64]) -> Vec<f64> {
    let mut b = vec![0.0; system.size()];
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let mut local = [0.0; NODES];
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let w = weight[point.stretch as usize];
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
