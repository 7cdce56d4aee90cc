//! How the nodes of pieces are made of unknowns.

use super::basis::NODES;
use super::linear::Symmetric;
use super::numbering::Numbering;

/// How the nodes of one or two pieces are made of unknowns, with their places in the matrix.
#[derive(Debug, Clone, Default)]
pub(crate) struct Map {
    pub(crate) unknowns: Vec<u32>,
    /// Terms of all nodes, one after the other: place in `unknowns`, coefficient. Empty if node k
    /// is unknown k.
    terms: Vec<(u32, f64)>,
    /// First term of each node, and the end.
    start: Vec<u32>,
    /// Place of the upper triangle of the unknowns in the matrix values, by rows.
    pub(crate) positions: Vec<u32>,
    /// Traces of the boundary points over the unknowns.
    traces: Vec<f64>,
}

impl Map {
    /// That of some pieces; what was in it before lends its memory.
    pub(super) fn set(&mut self, numbering: &Numbering, pieces: &[usize]) {
        let nodes = || pieces.iter().flat_map(|&p| (0..NODES).map(move |k| (p, k)));
        self.unknowns.clear();
        self.terms.clear();
        self.start.clear();
        self.positions.clear();
        self.traces.clear();
        let plain = |p: usize, k: usize| match numbering.terms(p, k) {
            &[(i, 1.0)] => Some(i),
            _ => None,
        };
        if let &[p] = pieces {
            self.unknowns.extend((0..NODES).map_while(|k| plain(p, k)));
            if self.unknowns.len() == NODES {
                return;
            }
            self.unknowns.clear();
        }
        self.start.push(0);
        for (p, k) in nodes() {
            for &(i, c) in numbering.terms(p, k) {
                let place = self.unknowns.iter().position(|&u| u == i).unwrap_or_else(|| {
                    self.unknowns.push(i);
                    self.unknowns.len() - 1
                });
                self.terms.push((place as u32, c));
            }
            self.start.push(self.terms.len() as u32);
        }
    }

    /// How the nodes are made of the unknowns, whichever they are.
    pub(super) fn pattern(&self) -> (&[u32], &[(u32, f64)]) {
        (&self.start, &self.terms)
    }

    /// Looks up where the pairs of unknowns stand in a matrix that holds them all.
    pub(super) fn locate(&mut self, matrix: &Symmetric) {
        let m = self.unknowns.len();
        self.positions.reserve_exact(m * (m + 1) / 2);
        for (a, &i) in self.unknowns.iter().enumerate() {
            self.positions.extend(self.unknowns[a..].iter().filter_map(|&j| matrix.position(i, j)));
        }
    }

    fn is_plain(&self) -> bool {
        self.terms.is_empty()
    }

    fn terms(&self, node: usize) -> &[(u32, f64)] {
        &self.terms[self.start[node] as usize..self.start[node + 1] as usize]
    }

    /// Tᵀ K T for a symmetric K over the nodes, given by its rows: its upper triangle by rows is added to
    /// the end of `out`.
    pub(super) fn condense<const N: usize>(&self, k: &[[f64; N]; N], out: &mut Vec<f64>) {
        let m = self.unknowns.len();
        if self.is_plain() {
            k.iter().enumerate().for_each(|(a, row)| out.extend_from_slice(&row[a..]));
            return;
        }
        let first = out.len();
        out.resize(first + m * (m + 1) / 2, 0.0);
        let out = &mut out[first..];
        let mut half = [0.0; MOST];
        let mut spare = Vec::new();
        let half = match half.get_mut(..m) {
            Some(half) => half,
            None => {
                spare.resize(m, 0.0);
                spare.as_mut_slice()
            }
        };
        for (a, row) in k.iter().enumerate() {
            half.fill(0.0);
            for (range, k) in self.start.windows(2).zip(row) {
                let terms = &self.terms[range[0] as usize..range[1] as usize];
                terms.iter().for_each(|&(j, c)| half[j as usize] += k * c);
            }
            for &(i, c) in self.terms(a) {
                let i = i as usize;
                let row = i * m - i * (i + 1) / 2;
                for (o, h) in out[row + i..row + m].iter_mut().zip(&half[i..]) {
                    *o += c * h;
                }
            }
        }
    }

    /// Adds Tᵀ v over the nodes to the unknowns.
    pub(crate) fn scatter(&self, v: &[f64; NODES], out: &mut [f64]) {
        if self.is_plain() {
            for (&i, x) in self.unknowns.iter().zip(v) {
                out[i as usize] += x;
            }
            return;
        }
        for (k, x) in v.iter().enumerate() {
            for &(i, c) in self.terms(k) {
                out[self.unknowns[i as usize] as usize] += c * x;
            }
        }
    }

    /// T u: values at the nodes.
    pub(crate) fn gather(&self, u: &[f64]) -> [f64; NODES] {
        if self.is_plain() {
            return std::array::from_fn(|k| u[self.unknowns[k] as usize]);
        }
        std::array::from_fn(|k| {
            self.terms(k).iter().map(|&(i, c)| c * u[self.unknowns[i as usize] as usize]).sum()
        })
    }

    /// Takes the traces of boundary points, given over the nodes of one piece.
    pub(super) fn trace<'a>(&mut self, points: impl ExactSizeIterator<Item = &'a [f64; NODES]>) {
        let m = self.unknowns.len();
        self.traces.reserve_exact(m * points.len());
        for at_nodes in points {
            if self.is_plain() {
                self.traces.extend_from_slice(at_nodes);
                continue;
            }
            let first = self.traces.len();
            self.traces.resize(first + m, 0.0);
            for (k, t) in at_nodes.iter().enumerate() {
                let terms = self.start[k] as usize..self.start[k + 1] as usize;
                for &(i, c) in &self.terms[terms] {
                    self.traces[first + i as usize] += c * t;
                }
            }
        }
    }

    /// The traces of the boundary points over the unknowns, one after the other.
    pub(crate) fn traces(&self) -> impl Iterator<Item = &[f64]> {
        self.traces.chunks_exact(self.unknowns.len())
    }
}

/// Unknowns of a map that need no memory of their own.
const MOST: usize = 64;
