//! The sparse matrix and its factorization.
//!
//! The upper triangle is kept by columns in an `sprs` matrix; `faer` factors it (supernodal or simplicial Cholesky, AMD
//! ordering or one that is given, symbolic part reused over Newton steps).

use std::sync::Arc;

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::perm::PermRef;

use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, Mat, Par, Side};
use sprs::CsMatBase;

/// Compressed columns; copies share where the entries are.
type Columns = CsMatBase<f64, u32, Arc<[u32]>, Arc<[u32]>, Vec<f64>>;

/// A symmetric matrix, upper triangle by columns, rows in rising order.
#[derive(Debug, Clone)]
pub(crate) struct Symmetric(Columns);

impl Default for Symmetric {
    fn default() -> Self {
        Self::from_columns(vec![0], Vec::new(), Vec::new())
    }
}

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
        Self::from_columns(indptr, rows, data)
    }

    /// From its columns: where each starts and the last ends, rows in rising order, values.
    pub(crate) fn from_columns(start: Vec<u32>, rows: Vec<u32>, values: Vec<f64>) -> Self {
        let n = start.len().saturating_sub(1);
        Self(CsMatBase::new_csc((n, n), start.into(), rows.into(), values))
    }

    pub(crate) fn size(&self) -> usize {
        self.0.cols()
    }

    /// Memory held, bytes.
    pub(crate) fn bytes(&self) -> usize {
        let (starts, entries) = (self.starts().len(), self.values().len());
        size_of::<u32>() * (starts + entries) + size_of::<f64>() * entries
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

    /// Every stored entry (row ≤ column), column by column.
    pub(crate) fn each(&self, mut see: impl FnMut(usize, usize, f64)) {
        let (ptr, rows, data) = (self.starts(), self.0.indices(), self.0.data());
        for col in 0..self.size() {
            for k in ptr[col] as usize..ptr[col + 1] as usize {
                see(rows[k] as usize, col, data[k]);
            }
        }
    }

    /// The diagonal of a matrix that has one in full.
    pub(crate) fn diagonal(&self) -> impl Iterator<Item = f64> + '_ {
        // last in its column
        self.starts().iter().skip(1).map(|&end| self.0.data()[end as usize - 1])
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
    order: Order,
    /// Values of the factor; empty before the first.
    factor: Vec<f64>,
}

/// The matrix is not positive definite.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NotPositive;

/// Order of elimination and pattern of the factor: the same for all values of a matrix.
#[derive(Debug, Clone)]
pub(crate) struct Order(Arc<SymbolicCholesky<u32>>);

impl Order {
    /// By approximate minimum degree.
    pub(crate) fn new(matrix: &Symmetric) -> Result<Self, NotPositive> {
        Self::with(matrix, SymmetricOrdering::Amd)
    }

    /// That lists the unknowns in the order of elimination.
    pub(crate) fn given(matrix: &Symmetric, list: &[u32]) -> Result<Self, NotPositive> {
        let mut place = vec![0; list.len()];
        for (k, &i) in list.iter().enumerate() {
            place[i as usize] = k as u32;
        }
        let perm = PermRef::new_checked(list, &place, list.len());
        Self::with(matrix, SymmetricOrdering::Custom(perm))
    }

    fn with(matrix: &Symmetric, by: SymmetricOrdering<'_, u32>) -> Result<Self, NotPositive> {
        let pattern = matrix.as_faer().symbolic();
        let params = CholeskySymbolicParams::default();
        // it can only fail for want of memory or beyond four thousand million entries
        let symbolic = factorize_symbolic_cholesky(pattern, Side::Upper, by, params)
            .map_err(|_| NotPositive)?;
        Ok(Self(Arc::new(symbolic)))
    }

    /// When each unknown is eliminated.
    pub(crate) fn ranks(&self) -> Vec<u32> {
        match self.0.perm() {
            Some(perm) => perm.arrays().1.to_vec(),
            None => (0..self.0.nrows() as u32).collect(),
        }
    }
}

impl Direct {
    /// For matrices of the pattern that `order` is of.
    pub(crate) fn ordered(order: Order) -> Self {
        Self { order, factor: Vec::new() }
    }

    /// Gives the factor's memory back.
    pub(crate) fn forget(&mut self) {
        self.factor = Vec::new();
    }

    /// Memory of the factor's values, bytes.
    pub(crate) fn bytes(&self) -> usize {
        size_of_val(self.factor.as_slice())
    }

    pub(crate) fn order(&self) -> &Order {
        &self.order
    }

    pub(crate) fn new(matrix: &Symmetric) -> Result<Self, NotPositive> {
        Ok(Self::ordered(Order::new(matrix)?))
    }

    /// Factors the current values.
    pub(crate) fn factor(&mut self, matrix: &Symmetric) -> Result<(), NotPositive> {
        let symbolic = &self.order.0;
        // every value is written anew
        if self.factor.len() != symbolic.len_val() {
            self.factor = vec![0.0; symbolic.len_val()];
        }
        let needed = symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default());
        let mut scratch = MemBuffer::try_new(needed).map_err(|_| NotPositive)?;
        let done = symbolic.factorize_numeric_llt(
            &mut self.factor,
            matrix.as_faer(),
            Side::Upper,
            Default::default(),
            Par::Seq,
            MemStack::new(&mut scratch),
            Default::default(),
        );
        let done = done.map(|_| ()).map_err(|_| NotPositive);
        if done.is_err() {
            self.factor.clear();
        }
        done
    }

    /// Solves for several right sides at once, with the last factor.
    pub(crate) fn solve(&self, columns: &[&[f64]]) -> Vec<Vec<f64>> {
        let n = columns.first().map_or(0, |c| c.len());
        let mut b = Mat::from_fn(n, columns.len(), |i, j| columns[j][i]);
        if !self.factor.is_empty() {
            let symbolic = &self.order.0;
            let needed = symbolic.solve_in_place_scratch::<f64>(columns.len(), Par::Seq);
            LltRef::new(symbolic, &self.factor).solve_in_place_with_conj(
                Conj::No,
                b.as_mut(),
                Par::Seq,
                MemStack::new(&mut MemBuffer::new(needed)),
            );
        }
        (0..columns.len()).map(|j| (0..n).map(|i| b[(i, j)]).collect()).collect()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const N: usize = 12;

    /// Conductances between pairs of unknowns: a matrix whose rows sum to zero.
    fn network(links: &[(usize, usize, f64)]) -> Symmetric {
        let mut t = Triplets::with_capacity(3 * links.len());
        for &(a, b, g) in links.iter().filter(|l| l.0 != l.1) {
            t.push(a as u32, a as u32, g);
            t.push(b as u32, b as u32, g);
            t.push(a as u32, b as u32, -g);
        }
        Symmetric::new(N, &t)
    }

    fn dense(m: &Symmetric) -> Vec<Vec<f64>> {
        let at = |a: usize, b: usize| {
            m.position(a as u32, b as u32).map_or(0.0, |k| m.values()[k as usize])
        };
        (0..N).map(|a| (0..N).map(|b| at(a, b)).collect()).collect()
    }

    fn links() -> impl Strategy<Value = Vec<(usize, usize, f64)>> {
        prop::collection::vec((0..N, 0..N, 0.1..5.0), 1..50)
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

        #[test]
        fn the_exchange_is_the_dense_product(links in links(), u in prop::array::uniform12(-3.0..3.0f64)) {
            let m = network(&links);
            let mut out = vec![f64::NAN; N];
            m.exchange(&u, &mut out);
            for (row, x) in dense(&m).iter().zip(&out) {
                let product: f64 = row.iter().zip(&u).map(|(a, b)| a * b).sum();
                prop_assert!((product - x).abs() < 1e-12 * 200.0);
            }
        }

        #[test]
        fn what_one_unknown_gains_the_others_lose(links in links(), u in prop::array::uniform12(-3.0..3.0f64)) {
            // a common potential of a million volts makes no current
            let lifted: Vec<f64> = u.iter().map(|x| x + 1048576.0).collect();
            let mut out = vec![0.0; N];
            network(&links).exchange(&lifted, &mut out);
            let gross: f64 = out.iter().map(|x| x.abs()).sum();
            prop_assert!(out.iter().sum::<f64>().abs() <= 1e-14 * gross.max(1.0));
        }

        #[test]
        fn a_solve_gives_back_what_was_multiplied(
            links in links(), x in prop::array::uniform12(-3.0..3.0f64), y in prop::array::uniform12(-3.0..3.0f64),
        ) {
            let mut m = network(&links);
            // a way to ground from everywhere makes it definite
            let mut t = Triplets::default();
            for (a, row) in dense(&m).iter().enumerate() {
                for (b, v) in row.iter().enumerate().skip(a) {
                    t.push(a as u32, b as u32, if a == b { v + 1.0 } else { *v });
                }
            }
            m = Symmetric::new(N, &t);
            let times = |v: &[f64]| -> Vec<f64> {
                dense(&m).iter().map(|r| r.iter().zip(v).map(|(a, b)| a * b).sum()).collect()
            };
            let (p, q) = (times(&x), times(&y));
            let mut direct = Direct::new(&m).unwrap();
            direct.factor(&m).unwrap();
            let found = direct.solve(&[&p, &q]);
            for k in 0..N {
                prop_assert!((found[0][k] - x[k]).abs() < 1e-10);
                prop_assert!((found[1][k] - y[k]).abs() < 1e-10);
            }
        }
    }

    #[test]
    fn entries_given_twice_are_added_whichever_way_round() {
        let mut t = Triplets::default();
        for (a, b, v) in [(0, 2, 1.0), (2, 0, 0.5), (1, 1, 4.0), (0, 2, 0.25)] {
            t.push(a, b, v);
        }
        let m = Symmetric::new(3, &t);
        assert_eq!(m.size(), 3);
        assert_eq!(m.position(0, 2), m.position(2, 0));
        assert_eq!(m.values()[m.position(0, 2).unwrap() as usize], 1.75);
        assert_eq!(m.position(0, 1), None);
        assert_eq!(m.values().len(), 2);
    }

    #[test]
    fn an_indefinite_matrix_is_refused() {
        // [[1, 2], [2, 1]] has the eigenvalue −1
        let mut t = Triplets::default();
        for (a, b, v) in [(0, 0, 1.0), (0, 1, 2.0), (1, 1, 1.0)] {
            t.push(a, b, v);
        }
        let m = Symmetric::new(2, &t);
        assert_eq!(Direct::new(&m).unwrap().factor(&m), Err(NotPositive));
    }
}
