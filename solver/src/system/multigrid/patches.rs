//! Exact solves over the unknowns of one cut piece, or of a root and all that leans on it.
//!
//! Where boundary cuts a cell, the boundary term and the ghost penalty tie its unknowns together so
//! stiffly that relaxing one at a time hardly moves them; all unknowns of a piece at once do
//! (multiplicative Schwarz on cut cells, after de Prenter et al., Comput. Methods Appl. Mech. Eng.
//! 356 (2019) 449).

use super::order::LARGEST;

/// The inverses of small dense matrices, one for each patch.
#[derive(Debug, Clone, Default)]
pub(super) struct Patches {
    /// Lower triangles packed by rows, one after the other.
    inverse: Vec<f32>,
}

impl Patches {
    /// Memory held, bytes.
    pub(super) fn bytes(&self) -> usize {
        4 * self.inverse.len()
    }

    /// Inverses of `entries` packed entries altogether are to come.
    pub(super) fn with_capacity(entries: usize) -> Self {
        Self { inverse: Vec::with_capacity(entries) }
    }

    /// Takes the next patch, of m unknowns, by its lower triangle packed by rows, which is used up;
    /// `None` if it is not positive definite.
    pub(super) fn push(&mut self, block: &mut [f64], m: usize) -> Option<()> {
        cholesky(block, m)?;
        invert(block, m);
        // L⁻ᵀ L⁻¹, row by row
        let mut row = [0.0; LARGEST];
        for i in 0..m {
            row[..=i].fill(0.0);
            for k in i..m {
                let factor = &block[packed(k)..=packed(k) + i];
                row.iter_mut().zip(factor).for_each(|(z, l)| *z += l * factor[i]);
            }
            self.inverse.extend(row[..=i].iter().map(|&v| v as f32));
        }
        Some(())
    }

    /// All inverses, to be taken from either end.
    pub(super) fn inverses(&self) -> &[f32] {
        &self.inverse
    }
}

/// Entries of a packed triangle of m rows.
pub(super) fn packed(m: usize) -> usize {
    m * (m + 1) / 2
}

/// Numbers of one patch at a time.
pub(super) struct Scratch {
    /// Right side.
    pub(super) right: [f32; LARGEST],
    /// What solves it.
    pub(super) answer: [f32; LARGEST],
}

impl Default for Scratch {
    fn default() -> Self {
        Self { right: [0.0; LARGEST], answer: [0.0; LARGEST] }
    }
}

impl Scratch {
    /// Solves for the m first numbers of `right`.
    pub(super) fn solve(&mut self, inverse: &[f32], m: usize) {
        let mut rest = inverse;
        for k in 0..m {
            let row;
            (row, rest) = rest.split_at(k + 1);
            let (row, own) = row.split_at(k);
            let by = self.right[k];
            self.answer[k] = dot(row, &self.right[..k]) + own[0] * by;
            self.answer[..k].iter_mut().zip(row).for_each(|(z, a)| *z += a * by);
        }
    }
}

/// Four sums at a time.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0f32; 4];
    let (fours, others) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f32 = fours.remainder().iter().zip(others.remainder()).map(|(a, b)| a * b).sum();
    for (a, b) in fours.zip(others) {
        sums.iter_mut().zip(a).zip(b).for_each(|((s, a), b)| *s += a * b);
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// Cholesky in place, lower triangle packed by rows; the diagonal becomes its inverse.
fn cholesky(l: &mut [f64], m: usize) -> Option<()> {
    for i in 0..m {
        let (above, rest) = l.split_at_mut(packed(i));
        let row = &mut rest[..=i];
        for j in 0..i {
            let other = &above[packed(j)..=packed(j) + j];
            let sum: f64 = row[..j].iter().zip(other).map(|(a, b)| a * b).sum();
            row[j] = (row[j] - sum) * other[j];
        }
        let own = row[i] - row[..i].iter().map(|a| a * a).sum::<f64>();
        if own <= 0.0 || own.is_nan() {
            return None;
        }
        row[i] = 1.0 / own.sqrt();
    }
    Some(())
}

/// The inverse of such a factor, in place.
fn invert(l: &mut [f64], m: usize) {
    let mut new = [0.0; LARGEST];
    for i in 1..m {
        let (above, rest) = l.split_at_mut(packed(i));
        let row = &mut rest[..=i];
        // row i of the inverse: −(1/lᵢᵢ) Σ lᵢⱼ (row j of the inverse)
        new[..i].fill(0.0);
        for (j, l) in row[..i].iter().enumerate() {
            let other = &above[packed(j)..=packed(j) + j];
            new.iter_mut().zip(other).for_each(|(n, o)| *n += l * o);
        }
        let own = row[i];
        row.iter_mut().zip(&new[..i]).for_each(|(r, n)| *r = -own * n);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_patch_solves_its_own_equations() {
        // a chain of seven springs, held at one end, with one stiff tie
        let m = 7;
        let entry = |i: usize, j: usize| match (i, j) {
            (0, 0) => 3.0,
            (2, 2) | (5, 5) => 52.0,
            _ if i == j => 2.0,
            (5, 2) | (2, 5) => -50.0,
            _ if i.abs_diff(j) == 1 => -1.0,
            _ => 0.0,
        };
        let mut block: Vec<f64> = (0..m).flat_map(|i| (0..=i).map(move |j| entry(i, j))).collect();
        let x: Vec<f64> = (0..m).map(|i| (i as f64 * 0.7).sin()).collect();
        let b: Vec<f64> = (0..m).map(|i| (0..m).map(|j| entry(i, j) * x[j]).sum()).collect();
        let mut patches = Patches::with_capacity(packed(m));
        patches.push(&mut block, m).unwrap();
        let mut scratch = Scratch::default();
        scratch.right.iter_mut().zip(&b).for_each(|(r, b)| *r = *b as f32);
        scratch.solve(patches.inverses(), m);
        for (z, x) in scratch.answer.iter().zip(&x) {
            assert!((f64::from(*z) - x).abs() < 1e-4, "{z} against {x}");
        }
        let mut indefinite = vec![1.0, 2.0, 1.0];
        assert!(patches.push(&mut indefinite, 2).is_none());
    }
}
