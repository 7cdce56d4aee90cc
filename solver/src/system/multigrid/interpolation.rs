//! From a coarser level's unknowns to a finer level's: the coarser polynomial at the finer nodes.

use crate::grid::lattice::Cell;
use crate::system::basis::NODES;
use crate::system::numbering::Numbering;

/// A sparse matrix, finer unknowns by coarser ones, by rows; free potentials go through unchanged.
#[derive(Debug, Clone)]
pub(super) struct Interpolation {
    start: Vec<u32>,
    column: Vec<u32>,
    weight: Vec<f32>,
    coarse: usize,
}

impl Interpolation {
    /// Bilinear from `coarse` to `fine`: `parent` is each fine piece's coarse piece, `free` the
    /// number of free potentials, which follow the field in every vector.
    pub(super) fn new(
        (fine, fine_cells): (&Numbering, &[Cell]),
        (coarse, coarse_cells): (&Numbering, &[Cell]),
        parent: &dyn Fn(usize) -> usize,
        free: usize,
    ) -> Self {
        // where each fine unknown is a node
        let mut seat = vec![(u32::MAX, 0u8); fine.unknowns];
        for p in 0..fine_cells.len() {
            for k in 0..NODES {
                if let [(i, c)] = fine.terms(p, k)
                    && *c == 1.0
                    && seat[*i as usize].0 == u32::MAX
                {
                    seat[*i as usize] = (p as u32, k as u8);
                }
            }
        }
        let mut out = Self {
            start: vec![0],
            column: Vec::new(),
            weight: Vec::new(),
            coarse: coarse.unknowns + free,
        };
        let mut row: Vec<(u32, f64)> = Vec::new();
        for (p, k) in seat {
            row.clear();
            // every unknown is the value at some node
            if p != u32::MAX {
                let (p, k) = (p as usize, usize::from(k));
                let to = parent(p);
                let at = place(fine_cells[p], k, coarse_cells[to]);
                for (node, w) in [
                    (0, (1.0 - at[0]) * (1.0 - at[1])),
                    (2, at[0] * (1.0 - at[1])),
                    (6, (1.0 - at[0]) * at[1]),
                    (8, at[0] * at[1]),
                ] {
                    if w == 0.0 {
                        continue;
                    }
                    for &(i, c) in coarse.terms(to, node) {
                        match row.iter_mut().find(|t| t.0 == i) {
                            Some(t) => t.1 += w * c,
                            None => row.push((i, w * c)),
                        }
                    }
                }
            }
            out.push(&row);
        }
        for f in 0..free {
            out.push(&[((coarse.unknowns + f) as u32, 1.0)]);
        }
        out
    }

    fn push(&mut self, row: &[(u32, f64)]) {
        self.column.extend(row.iter().map(|t| t.0));
        self.weight.extend(row.iter().map(|t| t.1 as f32));
        self.start.push(self.column.len() as u32);
    }

    /// Memory held, bytes.
    pub(super) fn bytes(&self) -> usize {
        4 * (self.start.len() + self.column.len() + self.weight.len())
    }

    pub(super) fn fine(&self) -> usize {
        self.start.len() - 1
    }

    pub(super) fn coarse(&self) -> usize {
        self.coarse
    }

    /// Coarse unknowns and weights of one fine unknown.
    pub(super) fn row(&self, i: usize) -> impl Iterator<Item = (usize, f64)> + Clone + '_ {
        let range = self.start[i] as usize..self.start[i + 1] as usize;
        self.column[range.clone()]
            .iter()
            .zip(&self.weight[range])
            .map(|(&c, &w)| (c as usize, f64::from(w)))
    }

    /// fine = P coarse.
    pub(super) fn product(&self, coarse: &[f64], fine: &mut [f64]) {
        for (i, x) in fine.iter_mut().enumerate() {
            *x = self.row(i).map(|(c, w)| w * coarse[c]).sum::<f64>();
        }
    }

    /// Some rows, in this order.
    pub(super) fn taken(&self, rows: &[u32]) -> Self {
        let mut out = Self {
            start: vec![0],
            column: Vec::with_capacity(self.column.len()),
            weight: Vec::with_capacity(self.weight.len()),
            coarse: self.coarse,
        };
        for &i in rows {
            let range = self.start[i as usize] as usize..self.start[i as usize + 1] as usize;
            out.column.extend_from_slice(&self.column[range.clone()]);
            out.weight.extend_from_slice(&self.weight[range]);
            out.start.push(out.column.len() as u32);
        }
        out
    }

    /// coarse = Pᵀ fine.
    pub(super) fn restrict(&self, fine: &[f64], coarse: &mut [f64]) {
        coarse.fill(0.0);
        for (i, x) in fine.iter().enumerate() {
            for (c, w) in self.row(i) {
                coarse[c] += w * x;
            }
        }
    }

    /// Fine unknowns and weights of each coarse one, by rows.
    pub(super) fn transposed(&self) -> Self {
        let mut start = vec![0u32; self.coarse + 1];
        for &c in &self.column {
            start[c as usize + 1] += 1;
        }
        for c in 0..self.coarse {
            start[c + 1] += start[c];
        }
        let mut fill = start.clone();
        let mut column = vec![0u32; self.column.len()];
        let mut weight = vec![0.0f32; self.column.len()];
        for i in 0..self.fine() {
            for k in self.start[i] as usize..self.start[i + 1] as usize {
                let slot = &mut fill[self.column[k] as usize];
                column[*slot as usize] = i as u32;
                weight[*slot as usize] = self.weight[k];
                *slot += 1;
            }
        }
        Self { start, column, weight, coarse: self.fine() }
    }
}

/// Node `k` of `cell` in the coordinates of `coarse`.
fn place(cell: Cell, k: usize, coarse: Cell) -> [f64; 2] {
    let (low, size) = (cell.low(), cell.ticks() as f64);
    coarse.local([
        low[0] as f64 + 0.5 * size * (k % 3) as f64,
        low[1] as f64 + 0.5 * size * (k / 3) as f64,
    ])
}
