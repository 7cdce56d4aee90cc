//! Conjugate gradients on the field and the free potentials.

use nalgebra::{DMatrix, DVector};

use super::cycle::Work;
use crate::system::joint::Hessian;
use crate::system::linear::NotPositive;

/// What came of the iteration.
pub(super) struct Answer {
    pub(super) x: Vec<f64>,
    pub(super) iterations: usize,
    pub(super) converged: bool,
}

/// Memory of a solve's vectors, its own and those of `work`, bytes.
pub(super) fn bytes(work: &Work) -> usize {
    size_of::<f64>() * (4 * work.size() + work.len())
}

/// Solves H x = b with the preconditioner `inverse`.
///
/// Stops when the energy of the error, as the preconditioner sees it, falls to `enough` of the
/// energy bᵀx reached. A direction without energy means that the matrix is not positive definite.
pub(super) fn conjugate_gradients(
    hessian: &Hessian,
    mut inverse: impl FnMut(&[f64], &mut Vec<f64>),
    b: &[f64],
    enough: impl Fn(f64) -> f64,
    most: usize,
) -> Result<Answer, NotPositive> {
    let n = b.len();
    let mut x = vec![0.0; n];
    if b.iter().all(|v| *v == 0.0) {
        return Ok(Answer { x, iterations: 0, converged: true });
    }
    let mut r = b.to_vec();
    let mut p = vec![0.0; n];
    inverse(&r, &mut p);
    // H p, then what the preconditioner makes of the residual
    let mut q = vec![0.0; n];
    let mut rho = dot(&r, &p);
    let mut energy = 0.0;
    for iteration in 1..=most {
        hessian.times(&p, &mut q);
        let curvature = dot(&p, &q);
        if rho <= 0.0 || curvature <= 0.0 {
            return Err(NotPositive);
        }
        let step = rho / curvature;
        energy += step * rho;
        for (x, p) in x.iter_mut().zip(&p) {
            *x += step * p;
        }
        for (r, q) in r.iter_mut().zip(&q) {
            *r -= step * q;
        }
        inverse(&r, &mut q);
        let next = dot(&r, &q);
        if next.abs() <= enough(energy) {
            return Ok(Answer { x, iterations: iteration, converged: true });
        }
        let beta = next / rho;
        for (p, z) in p.iter_mut().zip(&q) {
            *p = z + beta * *p;
        }
        rho = next;
    }
    Ok(Answer { x, iterations: most, converged: false })
}

/// Lifts the whole field and each free potential so that no net current is left over.
///
/// The best correction among these few: H on them is small and dense. What remains after it has
/// no sum over the field and nothing on any free potential.
pub(super) fn balance(hessian: &Hessian, b: &[f64], x: &mut [f64]) {
    let (n, m) = (hessian.field.size(), hessian.border.len());
    let mut product = vec![0.0; x.len()];
    hessian.times(x, &mut product);
    let left: Vec<f64> = b.iter().zip(&product).map(|(b, p)| b - p).collect();
    let columns: Vec<f64> = hessian.border.iter().map(|c| c.iter().sum()).collect();
    let grounded: f64 = hessian.sum.iter().sum();
    let small = DMatrix::from_fn(m + 1, m + 1, |i, j| match (i, j) {
        (0, 0) => grounded - columns.iter().sum::<f64>(),
        (0, f) | (f, 0) => columns[f - 1],
        _ if i == j => hessian.own[(i - 1, i - 1)],
        _ => 0.0,
    });
    let right = DVector::from_fn(m + 1, |i, _| match i {
        0 => left[..n].iter().sum(),
        f => left[n + f - 1],
    });
    let Some(lift) = small.cholesky().map(|c| c.solve(&right)) else { return };
    for x in &mut x[..n] {
        *x += lift[0];
    }
    for (x, l) in x[n..].iter_mut().zip(lift.iter().skip(1)) {
        *x += l;
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
