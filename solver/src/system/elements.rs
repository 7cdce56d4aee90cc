//! Small matrices over few unknowns each, and their sum.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

use super::basis::{NODES, full, whole_stiffness_in};
use super::ghost::{Lie, penalty};
use super::linear::Symmetric;
use super::map::Map;
use crate::grid::tree::CellHasher;

/// Symmetric matrices over few unknowns each.
#[derive(Default)]
pub(super) struct Elements {
    /// First unknown of each element, and the end.
    start: Vec<u32>,
    unknowns: Vec<u32>,
    form: Vec<Form>,
    /// Upper triangles by rows.
    entries: Vec<f64>,
    shapes: Vec<Shape>,
    /// The first shape of each mix of kind and terms.
    known: HashMap<u64, u32, BuildHasherDefault<CellHasher>>,
}

/// The entries of one element.
#[derive(Clone, Copy)]
enum Form {
    /// The two matrices of a shape, times these.
    Shared(u32, [f64; 2]),
    /// From here on in the list.
    Stored(u32),
}

/// Elements of one kind whose nodes are made of unknowns in the same way.
struct Shape {
    kind: Kind,
    start: Vec<u32>,
    terms: Vec<(u32, f64)>,
    /// In full, row by row; a kind of one matrix leaves the second empty.
    matrices: [Vec<f64>; 2],
}

/// Elements that differ by factors only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Kind {
    /// The stiffness of a whole cell in an even section.
    Whole,
    /// The same, and that where the breadth is that of x.
    Graded,
    /// The penalty between a piece and its root that lie so to each other.
    Ghost(Lie),
}

impl Shape {
    fn new(kind: Kind, map: &Map) -> Self {
        let (start, terms) = map.pattern();
        let whole = |breadth| condensed(map, &full(&whole_stiffness_in(breadth)));
        let matrices = match kind {
            Kind::Whole => [whole([1.0, 0.0]), Vec::new()],
            Kind::Graded => [whole([1.0, 0.0]), whole([0.0, 1.0])],
            Kind::Ghost(lie) => [condensed(map, &penalty(lie)), Vec::new()],
        };
        Self { kind, start: start.to_vec(), terms: terms.to_vec(), matrices }
    }
}

/// The matrix of an element over its unknowns, row by row.
fn condensed<const N: usize>(map: &Map, k: &[[f64; N]; N]) -> Vec<f64> {
    let m = map.unknowns.len();
    let mut upper = Vec::with_capacity(m * (m + 1) / 2);
    map.condense(k, &mut upper);
    let mut out = vec![0.0; m * m];
    let mut rest = upper.iter();
    for a in 0..m {
        for (b, v) in (a..m).zip(&mut rest) {
            out[a * m + b] = *v;
            out[b * m + a] = *v;
        }
    }
    out
}

/// Where entry (a, b), a ≤ b, stands in an upper triangle by rows.
fn place(m: usize, a: usize, b: usize) -> usize {
    a * m - a * (a + 1) / 2 + b
}

impl Elements {
    pub(super) fn with_capacity(count: usize) -> Self {
        let mut start = Vec::with_capacity(count + 1);
        start.push(0);
        let unknowns = Vec::with_capacity(NODES * count);
        Self { start, unknowns, form: Vec::with_capacity(count), ..Self::default() }
    }

    /// Adds a whole cell in a section of this breadth, times κ.
    pub(super) fn push_whole(&mut self, map: &Map, breadth: [f64; 2]) {
        let kind = if breadth[1] == 0.0 { Kind::Whole } else { Kind::Graded };
        self.push_shared(kind, map, breadth);
    }

    /// Adds the penalty between a piece and its root.
    pub(super) fn push_ghost(&mut self, map: &Map, lie: Lie, weight: f64) {
        self.push_shared(Kind::Ghost(lie), map, [weight, 0.0]);
    }

    fn push_shared(&mut self, kind: Kind, map: &Map, factors: [f64; 2]) {
        let (start, terms) = map.pattern();
        let mut mix = CellHasher::default();
        kind.hash(&mut mix);
        for &(i, c) in terms {
            mix.write_u32(i);
            mix.write_u64(c.to_bits());
        }
        let found = *self.known.entry(mix.finish()).or_insert(self.shapes.len() as u32);
        let same = |s: &Shape| s.kind == kind && s.start == start && s.terms == terms;
        let shape = match self.shapes.get(found as usize) {
            Some(s) if same(s) => found,
            // nothing like it yet, or two that mix alike
            _ => {
                self.shapes.push(Shape::new(kind, map));
                self.shapes.len() as u32 - 1
            }
        };
        self.unknowns.extend_from_slice(&map.unknowns);
        self.form.push(Form::Shared(shape, factors));
        self.start.push(self.unknowns.len() as u32);
    }

    /// Adds a matrix over the nodes of a map.
    pub(super) fn push<const N: usize>(&mut self, map: &Map, k: &[[f64; N]; N]) {
        self.unknowns.extend_from_slice(&map.unknowns);
        self.form.push(Form::Stored(self.entries.len() as u32));
        map.condense(k, &mut self.entries);
        self.start.push(self.unknowns.len() as u32);
    }

    /// Their sum over `n` unknowns, in a fixed order.
    pub(super) fn sum(&self, n: usize) -> Symmetric {
        // for each unknown the elements that hold it, and where
        let mut first = vec![0u32; n + 1];
        for &i in &self.unknowns {
            first[i as usize + 1] += 1;
        }
        for i in 0..n {
            first[i + 1] += first[i];
        }
        let mut fill = first.clone();
        let mut holders = vec![(0u32, 0u32); self.unknowns.len()];
        for e in 0..self.form.len() {
            let range = self.start[e] as usize..self.start[e + 1] as usize;
            for (l, &i) in self.unknowns[range].iter().enumerate() {
                holders[fill[i as usize] as usize] = (e as u32, l as u32);
                fill[i as usize] += 1;
            }
        }
        drop(fill);
        let mut starts = Vec::with_capacity(n + 1);
        starts.push(0u32);
        // half of what all pairs would be: neighbours share most of them
        let (mut rows, mut data) = (Vec::with_capacity(9 * n), Vec::with_capacity(9 * n));
        // sums of the column at hand, by row; a row belongs to it if its mark says so
        let mut sum = vec![0.0f64; n];
        let mut mark = vec![u32::MAX; n];
        for c in 0..n as u32 {
            let from = rows.len();
            let mut add = |r: u32, v: f64| {
                if r > c {
                    return;
                }
                if mark[r as usize] == c {
                    sum[r as usize] += v;
                } else {
                    mark[r as usize] = c;
                    sum[r as usize] = v;
                    rows.push(r);
                }
            };
            for &(e, l) in &holders[first[c as usize] as usize..first[c as usize + 1] as usize] {
                let (e, l) = (e as usize, l as usize);
                let unknowns = &self.unknowns[self.start[e] as usize..self.start[e + 1] as usize];
                let m = unknowns.len();
                match self.form[e] {
                    Form::Shared(shape, [f, g]) => {
                        let row = l * m..(l + 1) * m;
                        let [first, second] = &self.shapes[shape as usize].matrices;
                        if second.is_empty() {
                            unknowns.iter().zip(&first[row]).for_each(|(&r, x)| add(r, f * x));
                        } else {
                            let entries = first[row.clone()].iter().zip(&second[row]);
                            for (&r, (x, y)) in unknowns.iter().zip(entries) {
                                add(r, f * x + g * y);
                            }
                        }
                    }
                    Form::Stored(at) => {
                        let entries = &self.entries[at as usize..];
                        for (k, &r) in unknowns.iter().enumerate() {
                            add(r, entries[place(m, k.min(l), k.max(l))]);
                        }
                    }
                }
            }
            rows[from..].sort_unstable();
            data.extend(rows[from..].iter().map(|&r| sum[r as usize]));
            starts.push(rows.len() as u32);
        }
        rows.shrink_to_fit();
        data.shrink_to_fit();
        Symmetric::from_columns(starts, rows, data)
    }
}
