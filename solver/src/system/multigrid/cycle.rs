//! One symmetric V-cycle: an approximate inverse of the matrix.

use super::levels::Levels;
use super::patches::Patches;
use super::rows::Rows;
use crate::system::joint::Hessian;
use crate::system::linear::{Direct, NotPositive};

/// A diagonal entry that has changed by this factor asks for a new cycle.
const CHANGED: f64 = 1.5;

/// One level's matrix and smoother.
struct Level {
    matrix: Rows,
    patches: Patches,
}

/// The matrices of all levels.
pub(super) struct Cycle {
    /// Diagonal that it was made for.
    diagonal: Vec<f32>,
    levels: Vec<Level>,
    coarsest: Direct,
}

impl Cycle {
    /// Builds all levels' matrices, Pᵀ A P each, and the smoothers.
    pub(super) fn new(shape: &Levels, hessian: &Hessian) -> Result<Self, NotPositive> {
        let mut matrix = Rows::joint(hessian);
        let diagonal = matrix.diagonal.iter().map(|d| *d as f32).collect();
        let mut levels = Vec::with_capacity(shape.steps.len());
        for (l, step) in shape.steps.iter().enumerate() {
            if matrix.diagonal.iter().any(|d| *d <= 0.0) {
                return Err(NotPositive);
            }
            let coarse = matrix.galerkin(step);
            let stiff = if l == 0 { shape.stiff.as_slice() } else { &[] };
            let patches = Patches::new(&matrix, stiff).ok_or(NotPositive)?;
            levels.push(Level { matrix, patches });
            matrix = coarse;
        }
        let last = matrix.symmetric();
        let mut coarsest = Direct::new(&last)?;
        coarsest.factor(&last)?;
        Ok(Self { diagonal, levels, coarsest })
    }

    /// True if the matrix has changed little since.
    pub(super) fn fits(&self, hessian: &Hessian) -> bool {
        let near = |(now, then): (f64, &f32)| {
            let then = f64::from(*then);
            now < CHANGED * then && then < CHANGED * now
        };
        let own = hessian.own.diagonal();
        let now = hessian.field.diagonal().chain(own.iter().copied());
        now.zip(&self.diagonal).all(near)
    }

    /// An approximate solution of A x = b.
    pub(super) fn apply(&self, shape: &Levels, b: &[f64]) -> Vec<f64> {
        self.descend(shape, 0, b)
    }

    fn descend(&self, shape: &Levels, l: usize, b: &[f64]) -> Vec<f64> {
        let Some(level) = self.levels.get(l) else {
            return self.coarsest.solve(&[b]).swap_remove(0);
        };
        let (matrix, step) = (&level.matrix, &shape.steps[l]);
        let mut x = level.forward(b);
        for p in 0..level.patches.count() {
            level.patches.relax(p, matrix, b, &mut x);
        }
        let mut coarse = vec![0.0; step.coarse()];
        step.restrict(|i| matrix.residual(i, b, &x), &mut coarse);
        step.add(&self.descend(shape, l + 1, &coarse), &mut x);
        for p in (0..level.patches.count()).rev() {
            level.patches.relax(p, matrix, b, &mut x);
        }
        for i in (0..b.len()).rev() {
            x[i] += matrix.residual(i, b, &x) / matrix.diagonal[i];
        }
        x
    }
}

impl Level {
    /// One Gauss-Seidel sweep from zero: what lies below the diagonal is all it needs.
    fn forward(&self, b: &[f64]) -> Vec<f64> {
        let mut x: Vec<f64> = Vec::with_capacity(b.len());
        for (i, (bi, diagonal)) in b.iter().zip(&self.matrix.diagonal).enumerate() {
            let below = self.matrix.row(i).take_while(|(j, _)| *j < i);
            let sum: f64 = below.map(|(j, a)| a * x[j]).sum();
            x.push((bi - sum) / diagonal);
        }
        x
    }
}
