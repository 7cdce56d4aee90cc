//! A symmetric matrix in the order in which its unknowns are relaxed, and its sweeps.
//!
//! Between unknowns that are relaxed alone every entry is kept once: a sweep gathers from a row what
//! comes before it and spreads over the same row what goes back. Patches overlap, so their unknowns
//! carry the residual along, and keep whole rows among themselves.

use super::order::Order;
use super::patches::{Patches, Scratch, packed};
use crate::system::joint::Hessian;
use crate::system::linear::{Symmetric, Triplets};

mod product;

/// The rows and what relaxes them.
///
/// Entries are in single precision, which is far more than an approximate inverse needs; the
/// diagonal is not: it is what makes rows add up to the sums that hold up a common potential.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    /// Of an unknown alone: what lies below the diagonal. Of one in patches: its entries with those
    /// alone, then from `split` on all with others in patches.
    start: Vec<u32>,
    split: Vec<u32>,
    entries: Vec<Entry>,
    /// Of those alone the inverse once it is `ready`.
    diagonal: Vec<f64>,
    alone: usize,
    patches: Patches,
    /// Sums of whole rows, until it is `ready`.
    sum: Vec<f64>,
}

/// Share of an entry that single precision may have cost on a few levels.
const ROUNDED: f64 = 1e-6;

/// Column and value.
type Entry = (u32, f32);

impl Rows {
    pub(super) fn size(&self) -> usize {
        self.diagonal.len()
    }

    /// Diagonal entry of an unknown, once it is `ready`.
    pub(super) fn diagonal(&self, i: usize) -> f64 {
        if i < self.alone { 1.0 / self.diagonal[i] } else { self.diagonal[i] }
    }

    /// Memory held, bytes.
    pub(super) fn bytes(&self) -> usize {
        4 * (self.start.len() + self.split.len())
            + 8 * (self.entries.len() + self.diagonal.len() + self.sum.len())
            + self.patches.bytes()
    }

    /// What is stored of a row: of an unknown alone the entries below the diagonal.
    #[inline]
    fn row(&self, i: usize) -> &[Entry] {
        &self.entries[self.start[i] as usize..self.start[i + 1] as usize]
    }

    /// Entries of an unknown in patches with those alone, and with others in patches.
    #[inline]
    fn halves(&self, i: usize) -> (&[Entry], &[Entry]) {
        let split = self.split[i - self.alone] - self.start[i];
        self.row(i).split_at(split as usize)
    }

    /// The whole matrix in `order`, free potentials after the field.
    pub(super) fn joint(hessian: &Hessian, order: &Order) -> Self {
        let total = hessian.field.size() + hessian.border.len();
        let alone = order.alone;
        let mut sum = vec![0.0; total];
        hessian.sum.iter().enumerate().for_each(|(i, s)| sum[order.place(i)] = *s);
        let pair = |a: usize, b: usize| {
            let (a, b) = (order.place(a), order.place(b));
            (a.max(b), a.min(b))
        };
        let mut start = vec![0u32; total + 1];
        // entries with those alone
        let mut outer = vec![0u32; total - alone];
        hessian.each_pair(|a, b, _| {
            let (row, column) = pair(a, b);
            start[row + 1] += 1;
            if column >= alone {
                start[column + 1] += 1;
            } else if row >= alone {
                outer[row - alone] += 1;
            }
        });
        for i in 0..total {
            start[i + 1] += start[i];
        }
        let split: Vec<u32> = outer.iter().zip(&start[alone..]).map(|(o, s)| s + o).collect();
        drop(outer);
        let count = start[total] as usize;
        let mut entries = vec![(0, 0.0); count];
        let mut diagonal = sum.clone();
        let mut fill = start.clone();
        let mut fill_inner = split.clone();
        hessian.each_pair(|a, b, v| {
            let (r, c) = pair(a, b);
            let v = v as f32;
            diagonal[r] -= f64::from(v);
            diagonal[c] -= f64::from(v);
            let mut put = |fill: &mut u32, c: usize| {
                entries[*fill as usize] = (c as u32, v);
                *fill += 1;
            };
            if c >= alone {
                put(&mut fill_inner[r - alone], c);
                put(&mut fill_inner[c - alone], r);
            } else {
                put(&mut fill[r], c);
            }
        });
        Self { start, split, entries, diagonal, alone, patches: Patches::default(), sum }
    }

    /// Makes it ready for sweeps; `None` if something in it is not positive definite.
    pub(super) fn ready(mut self, order: &Order) -> Option<Self> {
        self.sum = Vec::new();
        if !self.diagonal.iter().all(|d| *d > 0.0) {
            return None;
        }
        let entries = order.patches().map(|m| packed(m.len())).sum();
        let mut patches = Patches::with_capacity(entries);
        let mut slot = vec![u32::MAX; self.size() - self.alone];
        let mut block = Vec::new();
        for members in order.patches() {
            for (k, &i) in members.iter().enumerate() {
                slot[i as usize - self.alone] = k as u32;
            }
            block.clear();
            for (k, &i) in members.iter().enumerate() {
                let row = block.len();
                block.resize(row + k, 0.0);
                block.push(self.diagonal[i as usize]);
                for &(j, a) in self.halves(i as usize).1 {
                    let l = slot[j as usize - self.alone] as usize;
                    if l < k {
                        block[row + l] = f64::from(a);
                    }
                }
            }
            patches.push(&mut block, members.len())?;
            members.iter().for_each(|&i| slot[i as usize - self.alone] = u32::MAX);
        }
        self.patches = patches;
        self.diagonal[..self.alone].iter_mut().for_each(|d| *d = 1.0 / *d);
        Some(self)
    }

    /// One sweep forward from zero: `x` is what it finds for the right side in `r`, of which the
    /// residual stays.
    pub(super) fn forward(&self, order: &Order, r: &mut [f64], x: &mut [f64]) {
        for i in 0..self.alone {
            let row = self.row(i);
            let xi = (r[i] - gather(row, x)) * self.diagonal[i];
            x[i] = xi;
            r[i] = 0.0;
            spread(row, xi, r);
        }
        x[self.alone..].fill(0.0);
        for i in self.alone..self.size() {
            let (outer, inner) = self.halves(i);
            // what is left once those before have spread what they found
            let left = r[i] - gather(outer, x);
            x[i] = left / self.diagonal[i];
            r[i] = 0.0;
            spread(inner, x[i], r);
        }
        let mut scratch = Scratch::default();
        let mut rest = self.patches.inverses();
        for members in order.patches() {
            let inverse;
            (inverse, rest) = rest.split_at(packed(members.len()));
            self.relax(members, inverse, &mut scratch, r, x);
        }
        for (i, x) in x.iter().enumerate().skip(self.alone) {
            spread(self.halves(i).0, *x, r);
        }
    }

    /// One sweep backward: `y`, a correction from elsewhere to what left the residual `r`, gets what
    /// the sweep adds to it. The residual is used up.
    pub(super) fn backward(&self, order: &Order, r: &mut [f64], y: &mut [f64]) {
        for i in self.alone..self.size() {
            r[i] -= gather(self.row(i), y) + self.diagonal[i] * y[i];
        }
        let mut scratch = Scratch::default();
        let mut rest = self.patches.inverses();
        for members in order.patches().rev() {
            let inverse;
            (rest, inverse) = rest.split_at(rest.len() - packed(members.len()));
            self.relax(members, inverse, &mut scratch, r, y);
        }
        for i in (self.alone..self.size()).rev() {
            let (outer, inner) = self.halves(i);
            let more = r[i] / self.diagonal[i];
            y[i] += more;
            spread(inner, more, r);
            spread(outer, y[i], r);
        }
        for i in (0..self.alone).rev() {
            let row = self.row(i);
            let yi = (r[i] - gather(row, y)) * self.diagonal[i];
            y[i] = yi;
            spread(row, yi, r);
        }
    }

    /// Solves a patch exactly; the residual of all that is in patches follows.
    fn relax(
        &self,
        members: &[u32],
        inverse: &[f32],
        scratch: &mut Scratch,
        r: &mut [f64],
        x: &mut [f64],
    ) {
        for (o, &i) in scratch.right.iter_mut().zip(members) {
            *o = r[i as usize] as f32;
        }
        scratch.solve(inverse, members.len());
        for (&i, c) in members.iter().zip(&scratch.answer) {
            let (i, c) = (i as usize, f64::from(*c));
            x[i] += c;
            r[i] -= self.diagonal[i] * c;
            spread(self.halves(i).1, c, r);
        }
    }

    /// As a matrix to factor, of a level without patches.
    ///
    /// A finer level may not tell two of its unknowns apart: then it is singular, and the rounding
    /// of its entries would make it indefinite. Every tie gains what rounding may have taken, which
    /// leaves a common potential as it is.
    pub(super) fn symmetric(&self) -> Symmetric {
        let mut triplets = Triplets::with_capacity(3 * self.entries.len() + self.size());
        for (i, d) in self.diagonal.iter().enumerate() {
            triplets.push(i as u32, i as u32, *d);
            for &(j, a) in self.row(i) {
                let a = f64::from(a);
                let gain = ROUNDED * a.abs();
                triplets.push(i as u32, j, a - gain);
                triplets.push(i as u32, i as u32, gain);
                triplets.push(j, j, gain);
            }
        }
        Symmetric::new(self.size(), &triplets)
    }
}

/// Σ a x over a part of a row.
#[inline]
fn gather(part: &[Entry], x: &[f64]) -> f64 {
    // two sums at a time: one would wait for itself
    let mut sums = [0.0; 2];
    let pairs = part.chunks_exact(2);
    let rest = pairs.remainder();
    for pair in pairs {
        for (s, (j, a)) in sums.iter_mut().zip(pair) {
            *s += f64::from(*a) * x[*j as usize];
        }
    }
    rest.iter().fold(sums[0] + sums[1], |sum, (j, a)| sum + f64::from(*a) * x[*j as usize])
}

/// Takes a times `by` from `out`, over a part of a row.
#[inline]
fn spread(part: &[Entry], by: f64, out: &mut [f64]) {
    for (j, a) in part {
        out[*j as usize] -= f64::from(*a) * by;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::linear::Direct;

    #[test]
    fn a_level_with_unknowns_that_no_finer_one_tells_apart_is_factored() {
        // the first two always occur together; rounding has taken 1e-8 of their diagonals
        let (tie, other) = (0.4157f32, -0.31f32);
        let own = f64::from(tie) * (1.0 - 1e-8);
        let rows = Rows {
            start: vec![0, 0, 1, 3],
            split: Vec::new(),
            entries: vec![(0, tie), (0, other), (1, other)],
            diagonal: vec![own, own, 1.0],
            alone: 3,
            patches: Patches::default(),
            sum: Vec::new(),
        };
        let matrix = rows.symmetric();
        let mut direct = Direct::new(&matrix).unwrap();
        direct.factor(&matrix).unwrap();
        // consistent with A (a, b, c) = (a + b) tie + c other, (a + b) other + c
        let x = direct
            .solve(&[&[f64::from(tie + other), f64::from(tie + other), f64::from(other) + 1.0]])
            .swap_remove(0);
        assert!((x[0] + x[1] - 1.0).abs() < 1e-5 && (x[2] - 1.0).abs() < 1e-5, "{x:?}");
    }
}
