//! A symmetric matrix by whole rows, as sums of exchanges between pairs of unknowns.
//!
//! (A x)_i = Σ_j a_ij (x_j − x_i) + s_i x_i with s_i the row's sum: the sum is kept apart because it
//! is far smaller than the entries where metal is far or well polarized, and all that holds up a
//! common potential.

use super::interpolation::Interpolation;
use crate::system::joint::Hessian;
use crate::system::linear::{Symmetric, Triplets};

/// Whole rows without the diagonal. Entries are in single precision, which is far more than an
/// approximate inverse needs; what they add up to is not: a common potential hangs on it.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    pub(super) start: Vec<u32>,
    pub(super) column: Vec<u32>,
    pub(super) value: Vec<f32>,
    /// Row sums.
    pub(super) sum: Vec<f64>,
    /// Diagonal.
    pub(super) diagonal: Vec<f64>,
}

impl Rows {
    pub(super) fn size(&self) -> usize {
        self.sum.len()
    }

    /// Off-diagonal entries of row i.
    pub(super) fn row(&self, i: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let range = self.start[i] as usize..self.start[i + 1] as usize;
        self.column[range.clone()]
            .iter()
            .zip(&self.value[range])
            .map(|(&c, &v)| (c as usize, f64::from(v)))
    }

    /// The diagonal entry that goes with the others and the sum.
    fn diagonal_of(&self, i: usize) -> f64 {
        self.sum[i] - self.row(i).map(|(_, a)| a).sum::<f64>()
    }

    /// b_i − (A x)_i.
    pub(super) fn residual(&self, i: usize, b: &[f64], x: &[f64]) -> f64 {
        let xi = x[i];
        let range = self.start[i] as usize..self.start[i + 1] as usize;
        let (columns, values) = (&self.column[range.clone()], &self.value[range]);
        // four sums at a time: one would wait for itself
        let mut sums = [0.0; 4];
        let (four, four_values) = (columns.chunks_exact(4), values.chunks_exact(4));
        let rest = four.remainder().iter().zip(four_values.remainder());
        for (c, v) in four.zip(four_values) {
            for ((s, &j), &a) in sums.iter_mut().zip(c).zip(v) {
                *s += f64::from(a) * (x[j as usize] - xi);
            }
        }
        let rest: f64 = rest.map(|(&j, &a)| f64::from(a) * (x[j as usize] - xi)).sum();
        b[i] - ((sums[0] + sums[1]) + (sums[2] + sums[3]) + rest) - self.sum[i] * xi
    }

    /// The whole matrix, free potentials after the field.
    pub(super) fn joint(hessian: &Hessian) -> Self {
        let (field, border) = (&hessian.field, &hessian.border);
        let mut sum = hessian.sum.clone();
        sum.resize(sum.len() + border.len(), 0.0);
        let n = field.size();
        let total = n + border.len();
        let mut start = vec![0u32; total + 1];
        field.each(|r, c, _| {
            if r != c {
                start[r + 1] += 1;
                start[c + 1] += 1;
            }
        });
        for (f, column) in border.iter().enumerate() {
            for (i, _) in column.iter().enumerate().filter(|(_, v)| **v != 0.0) {
                start[i + 1] += 1;
                start[n + f + 1] += 1;
            }
        }
        for i in 0..total {
            start[i + 1] += start[i];
        }
        let mut fill = start.clone();
        let count = start[total] as usize;
        let (mut column, mut value) = (vec![0u32; count], vec![0.0f32; count]);
        let mut put = |r: usize, c: usize, v: f64| {
            let k = fill[r] as usize;
            (column[k], value[k]) = (c as u32, v as f32);
            fill[r] += 1;
        };
        // by columns: first what is above the diagonal, then, as later columns come, what is below
        field.each(|r, c, v| {
            if r != c {
                put(c, r, v);
                put(r, c, v);
            }
        });
        for (f, column) in border.iter().enumerate() {
            for (i, &v) in column.iter().enumerate().filter(|(_, v)| **v != 0.0) {
                put(i, n + f, v);
                put(n + f, i, v);
            }
        }
        let mut out = Self { start, column, value, sum, diagonal: Vec::new() };
        out.diagonal = (0..total).map(|i| out.diagonal_of(i)).collect();
        out
    }

    /// Pᵀ A P.
    pub(super) fn galerkin(&self, p: &Interpolation) -> Self {
        let back = p.transposed();
        let n = p.coarse();
        let mut sum = vec![0.0; n];
        p.restrict(|i| self.sum[i], &mut sum);
        let mut out = Self {
            start: vec![0],
            column: Vec::new(),
            value: Vec::new(),
            sum,
            diagonal: Vec::with_capacity(n),
        };
        let mut mark = vec![u32::MAX; n];
        let mut gathered = vec![0.0; n];
        let mut seen: Vec<u32> = Vec::new();
        for big in 0..n {
            seen.clear();
            for (i, wi) in back.row(big) {
                let own = std::iter::once((i, self.diagonal[i]));
                for (j, a) in own.chain(self.row(i)) {
                    for (c, wj) in p.row(j) {
                        if mark[c] != big as u32 {
                            mark[c] = big as u32;
                            gathered[c] = 0.0;
                            seen.push(c as u32);
                        }
                        gathered[c] += wi * a * wj;
                    }
                }
            }
            seen.sort_unstable();
            for &c in seen.iter().filter(|c| **c as usize != big) {
                out.column.push(c);
                out.value.push(gathered[c as usize] as f32);
            }
            out.start.push(out.column.len() as u32);
            out.diagonal.push(out.diagonal_of(big));
        }
        out.column.shrink_to_fit();
        out.value.shrink_to_fit();
        out
    }

    /// As a matrix to factor.
    pub(super) fn symmetric(&self) -> Symmetric {
        let mut triplets = Triplets::with_capacity(self.value.len() / 2 + self.size());
        for i in 0..self.size() {
            triplets.push(i as u32, i as u32, self.diagonal[i]);
            for (j, a) in self.row(i).filter(|(j, _)| *j > i) {
                triplets.push(i as u32, j as u32, a);
            }
        }
        Symmetric::new(self.size(), &triplets)
    }
}
