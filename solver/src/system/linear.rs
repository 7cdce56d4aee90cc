//! The sparse matrix and its factorization.
//!
//! The upper triangle is kept by columns in an `sprs` matrix; `faer` factors it (supernodal or
//! simplicial Cholesky, AMD ordering, symbolic part reused over Newton steps). Another method,
//! such as preconditioned conjugate gradients, would implement [`Direct`]'s two calls.

use faer::prelude::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Mat, Side};
use sprs::CsMatI;

/// A symmetric matrix, upper triangle by columns.
#[derive(Debug, Clone)]
pub(crate) struct Symmetric(CsMatI<f64, u32>);

/// Entries (row ≤ column) before they are summed.
#[derive(Debug, Default)]
pub(crate) struct Triplets {
    entries: Vec<(u32, u32, f64)>,
}

impl Triplets {
    pub(crate) fn with_capacity(entries: usize) -> Self {
        Self { entries: Vec::with_capacity(entries) }
    }

    pub(crate) fn push(&mut self, a: u32, b: u32, value: f64) {
        let (row, col) = if a <= b { (a, b) } else { (b, a) };
        self.entries.push((row, col, value));
    }
}

impl Symmetric {
    /// Sums triplets into an n × n matrix, in a fixed order.
    pub(crate) fn new(n: usize, triplets: &Triplets) -> Self {
        // bucket by column, then sum each column
        let mut start = vec![0usize; n + 1];
        for &(_, c, _) in &triplets.entries {
            start[c as usize + 1] += 1;
        }
        for c in 0..n {
            start[c + 1] += start[c];
        }
        let mut bucket = vec![(0u32, 0.0f64); triplets.entries.len()];
        let mut fill = start.clone();
        for &(r, c, v) in &triplets.entries {
            bucket[fill[c as usize]] = (r, v);
            fill[c as usize] += 1;
        }
        let (mut indptr, mut rows, mut data) = (vec![0u32], Vec::new(), Vec::new());
        // sums of the column at hand, by row; a row belongs to it if its mark says so
        let mut sum = vec![0.0f64; n];
        let mut mark = vec![u32::MAX; n];
        for c in 0..n {
            let first = rows.len();
            for &(r, v) in &bucket[start[c]..start[c + 1]] {
                if mark[r as usize] == c as u32 {
                    sum[r as usize] += v;
                } else {
                    mark[r as usize] = c as u32;
                    sum[r as usize] = v;
                    rows.push(r);
                }
            }
            rows[first..].sort_unstable();
            data.extend(rows[first..].iter().map(|&r| sum[r as usize]));
            indptr.push(rows.len() as u32);
        }
        Self(CsMatI::new_csc((n, n), indptr, rows, data))
    }

    pub(crate) fn size(&self) -> usize {
        self.0.cols()
    }

    pub(crate) fn values(&self) -> &[f64] {
        self.0.data()
    }

    pub(crate) fn values_mut(&mut self) -> &mut [f64] {
        self.0.data_mut()
    }

    /// Where entry (a, b) is stored; `None` outside the pattern.
    pub(crate) fn position(&self, a: u32, b: u32) -> Option<u32> {
        let (row, col) = if a <= b { (a, b) } else { (b, a) };
        let ptr = self.starts();
        let range = ptr[col as usize] as usize..ptr[col as usize + 1] as usize;
        let rows = &self.0.indices()[range.clone()];
        rows.binary_search(&row).ok().map(|k| (range.start + k) as u32)
    }

    /// out = A u for a matrix whose rows sum to zero, as a sum of exchanges between pairs.
    ///
    /// What one unknown gains the other loses, so the entries of `out` sum to zero to rounding of
    /// the exchanges themselves. Row by row, the rounding of large entries (small pieces that lean
    /// on a distant root) times a common potential of some volts would pass for current.
    pub(crate) fn exchange(&self, u: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        let ptr = self.starts();
        let (rows, data) = (self.0.indices(), self.0.data());
        for col in 0..u.len() {
            let (uc, mut sum) = (u[col], 0.0);
            for k in ptr[col] as usize..ptr[col + 1] as usize {
                let row = rows[k] as usize;
                let gain = data[k] * (u[row] - uc);
                sum += gain;
                out[row] -= gain;
            }
            out[col] += sum;
        }
    }

    fn starts(&self) -> &[u32] {
        self.0.indptr().into_raw_storage()
    }

    fn as_faer(&self) -> SparseColMatRef<'_, u32, f64> {
        let n = self.size();
        let pattern =
            SymbolicSparseColMatRef::new_checked(n, n, self.starts(), None, self.0.indices());
        SparseColMatRef::new(pattern, self.0.data())
    }
}

/// Sparse Cholesky: a symbolic part for the pattern, a numeric part for the values.
pub(crate) struct Direct {
    symbolic: SymbolicLlt<u32>,
    numeric: Option<Llt<u32, f64>>,
}

/// The matrix is not positive definite.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NotPositive;

impl Direct {
    pub(crate) fn new(matrix: &Symmetric) -> Result<Self, NotPositive> {
        let symbolic = SymbolicLlt::try_new(matrix.as_faer().symbolic(), Side::Upper)
            .map_err(|_| NotPositive)?;
        Ok(Self { symbolic, numeric: None })
    }

    /// Factors the current values.
    pub(crate) fn factor(&mut self, matrix: &Symmetric) -> Result<(), NotPositive> {
        let llt = Llt::try_new_with_symbolic(self.symbolic.clone(), matrix.as_faer(), Side::Upper)
            .map_err(|_| NotPositive)?;
        self.numeric = Some(llt);
        Ok(())
    }

    /// Solves for several right sides at once, with the last factor.
    pub(crate) fn solve(&self, columns: &[&[f64]]) -> Vec<Vec<f64>> {
        let n = columns.first().map_or(0, |c| c.len());
        let mut b = Mat::from_fn(n, columns.len(), |i, j| columns[j][i]);
        if let Some(llt) = &self.numeric {
            llt.solve_in_place(b.as_mut());
        }
        (0..columns.len()).map(|j| (0..n).map(|i| b[(i, j)]).collect()).collect()
    }
}
