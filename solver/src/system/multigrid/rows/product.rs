//! The matrix of the next coarser level, Pᵀ A P: half of it, then its sum with its transpose.

use super::{Entry, Rows};
use crate::system::multigrid::interpolation::Interpolation;
use crate::system::multigrid::patches::Patches;

impl Rows {
    /// Pᵀ A P.
    pub(in super::super) fn galerkin(&self, p: &Interpolation) -> Self {
        let mut sum = vec![0.0; p.coarse()];
        p.restrict(&self.sum, &mut sum);
        self.half_product(p).joined(sum)
    }

    /// Pᵀ S P for the S with A = S + Sᵀ, without its diagonal.
    fn half_product(&self, p: &Interpolation) -> Half {
        let back = p.transposed();
        let n = p.coarse();
        let mut out = Half { start: vec![0], column: Vec::new(), value: Vec::new() };
        let mut mark = vec![u32::MAX; n];
        let mut gathered = vec![0.0; n];
        let mut seen: Vec<u32> = Vec::new();
        for big in 0..n {
            seen.clear();
            mark[big] = big as u32;
            let mut add = |j: usize, a: f64| {
                for (c, w) in p.row(j) {
                    if mark[c] == big as u32 {
                        gathered[c] += a * w;
                    } else {
                        mark[c] = big as u32;
                        gathered[c] = a * w;
                        seen.push(c as u32);
                    }
                }
            };
            for (i, w) in back.row(big) {
                for &(j, a) in self.row(i).iter().filter(|(j, _)| (*j as usize) < i) {
                    add(j as usize, w * f64::from(a));
                }
                add(i, 0.5 * w * self.diagonal[i]);
            }
            out.column.extend_from_slice(&seen);
            out.value.extend(seen.iter().map(|&c| gathered[c as usize]));
            out.start.push(out.column.len() as u32);
        }
        out
    }
}

/// A matrix by rows of which only the sum with its transpose is wanted, without diagonal.
struct Half {
    start: Vec<u32>,
    column: Vec<u32>,
    value: Vec<f64>,
}

impl Half {
    fn row(&self, i: usize) -> impl Iterator<Item = (u32, f64)> + '_ {
        let range = self.start[i] as usize..self.start[i + 1] as usize;
        self.column[range.clone()].iter().copied().zip(self.value[range].iter().copied())
    }

    /// The sum with its transpose, whose rows add up to `sum`.
    fn joined(&self, sum: Vec<f64>) -> Rows {
        let n = sum.len();
        // what the rows above have for each
        let mut from = vec![0u32; n + 1];
        let above = |i: usize| self.row(i).filter(move |(j, _)| *j > i as u32);
        for i in 0..n {
            above(i).for_each(|(j, _)| from[j as usize + 1] += 1);
        }
        for i in 0..n {
            from[i + 1] += from[i];
        }
        let mut fill = from.clone();
        let mut turned = vec![(0u32, 0.0f64); from[n] as usize];
        for i in 0..n {
            for (j, v) in above(i) {
                turned[fill[j as usize] as usize] = (i as u32, v);
                fill[j as usize] += 1;
            }
        }
        let (mut start, mut entries) = (vec![0u32], Vec::<Entry>::new());
        let mut columns: Vec<u32> = Vec::new();
        let mut diagonal = sum.clone();
        let mut mark = vec![u32::MAX; n];
        let mut gathered = vec![0.0; n];
        for i in 0..n {
            columns.clear();
            let own = self.row(i).filter(|(j, _)| *j < i as u32);
            let other = &turned[from[i] as usize..from[i + 1] as usize];
            for (j, v) in own.chain(other.iter().copied()) {
                let k = j as usize;
                if mark[k] == i as u32 {
                    gathered[k] += v;
                } else {
                    mark[k] = i as u32;
                    gathered[k] = v;
                    columns.push(j);
                }
            }
            // what is found last in a sweep is best wanted last
            columns.sort_unstable();
            for &j in &columns {
                let v = gathered[j as usize] as f32;
                diagonal[i] -= f64::from(v);
                diagonal[j as usize] -= f64::from(v);
                entries.push((j, v));
            }
            start.push(entries.len() as u32);
        }
        entries.shrink_to_fit();
        let patches = Patches::default();
        Rows { start, split: Vec::new(), entries, diagonal, alone: n, patches, sum }
    }
}
