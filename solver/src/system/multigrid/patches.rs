//! Exact solves over the unknowns of one cut piece at a time.
//!
//! Where boundary cuts a cell, the boundary term and the ghost penalty tie its unknowns together so
//! stiffly that relaxing one at a time hardly moves them; all unknowns of a piece at once do
//! (multiplicative Schwarz on cut cells, after de Prenter et al., Comput. Methods Appl. Mech. Eng.
//! 356 (2019) 449).

use super::rows::Rows;

/// Small dense Cholesky factors, one for each cut piece.
#[derive(Debug, Clone, Default)]
pub(super) struct Patches {
    start: Vec<u32>,
    unknowns: Vec<u32>,
    /// Start of each factor, packed lower triangle by rows, with inverse diagonals.
    factor_start: Vec<u32>,
    factor: Vec<f32>,
}

/// Largest patch: a piece with a dozen that lean on it. What is larger is left to the other sweeps.
const LARGEST: usize = 128;

impl Patches {
    /// Factors the blocks of `matrix` over each set of unknowns; `None` if one is not positive
    /// definite.
    pub(super) fn new(matrix: &Rows, sets: &[Vec<u32>]) -> Option<Self> {
        let mut out = Self { start: vec![0], factor_start: vec![0], ..Self::default() };
        let mut slot = vec![u32::MAX; matrix.size()];
        let mut block: Vec<f64> = Vec::new();
        for set in sets.iter().filter(|s| s.len() <= LARGEST) {
            for (k, &i) in set.iter().enumerate() {
                slot[i as usize] = k as u32;
            }
            block.clear();
            for (k, &i) in set.iter().enumerate() {
                let row = block.len();
                block.resize(row + k + 1, 0.0);
                block[row + k] = matrix.diagonal[i as usize];
                for (j, a) in matrix.row(i as usize) {
                    let l = slot[j] as usize;
                    if l < k {
                        block[row + l] = a;
                    }
                }
            }
            cholesky(&mut block, set.len())?;
            out.factor.extend(block.iter().map(|&v| v as f32));
            for &i in set {
                slot[i as usize] = u32::MAX;
            }
            out.unknowns.extend_from_slice(set);
            out.start.push(out.unknowns.len() as u32);
            out.factor_start.push(out.factor.len() as u32);
        }
        out.factor.shrink_to_fit();
        Some(out)
    }

    pub(super) fn count(&self) -> usize {
        self.start.len().saturating_sub(1)
    }

    /// Solves patch `p` exactly for the unknowns in it.
    pub(super) fn relax(&self, p: usize, matrix: &Rows, b: &[f64], x: &mut [f64]) {
        let set = &self.unknowns[self.start[p] as usize..self.start[p + 1] as usize];
        let l = &self.factor[self.factor_start[p] as usize..self.factor_start[p + 1] as usize];
        let mut y = [0.0; LARGEST];
        for (y, &i) in y.iter_mut().zip(set) {
            *y = matrix.residual(i as usize, b, x);
        }
        let m = set.len();
        let mut row = 0;
        for k in 0..m {
            let mut sum = y[k];
            for j in 0..k {
                sum -= f64::from(l[row + j]) * y[j];
            }
            y[k] = sum * f64::from(l[row + k]);
            row += k + 1;
        }
        for k in (0..m).rev() {
            row -= k + 1;
            y[k] *= f64::from(l[row + k]);
            let yk = y[k];
            for j in 0..k {
                y[j] -= f64::from(l[row + j]) * yk;
            }
        }
        for (y, &i) in y.iter().zip(set) {
            x[i as usize] += y;
        }
    }
}

/// In place, packed by rows; the diagonal becomes its inverse.
fn cholesky(l: &mut [f64], m: usize) -> Option<()> {
    let at = |i: usize| i * (i + 1) / 2;
    for i in 0..m {
        for j in 0..=i {
            let mut sum = l[at(i) + j];
            for k in 0..j {
                sum -= l[at(i) + k] * l[at(j) + k];
            }
            l[at(i) + j] = if i != j {
                sum * l[at(j) + j]
            } else if sum > 0.0 {
                1.0 / sum.sqrt()
            } else {
                return None;
            };
        }
    }
    Some(())
}
