//! From nodes of pieces to unknowns.
//!
//! Nodes that linked pieces share are one. Where a coarse side meets two finer ones, the fine
//! nodes follow the coarse side's polynomial (hanging nodes): they are combinations of unknowns,
//! eliminated when the matrix is assembled, which keeps it symmetric and the currents balanced.
//! The degree is chosen here and nowhere else: at degree one, mid-side and centre nodes are the
//! means of their neighbours.

use super::basis::{MIDDLE, NODES};
use crate::grid::mesh::{Link, Mesh};
use crate::union::Sets;

/// Polynomial degree of the potential in a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Degree {
    /// Bilinear.
    One,
    /// Biquadratic.
    Two,
}

/// For every node of every piece the unknowns it is made of.
#[derive(Debug, Clone)]
pub(crate) struct Numbering {
    pub(crate) degree: Degree,
    pub(crate) unknowns: usize,
    /// Start of each node's terms; node k of piece p is entry p · 9 + k.
    start: Vec<u32>,
    terms: Vec<(u32, f64)>,
}

impl Numbering {
    /// Terms (unknown, coefficient) of a node.
    pub(crate) fn terms(&self, piece: usize, node: usize) -> &[(u32, f64)] {
        let i = piece * NODES + node;
        &self.terms[self.start[i] as usize..self.start[i + 1] as usize]
    }

    /// Values at the nine nodes of a piece.
    pub(crate) fn gather(&self, u: &[f64], piece: usize) -> [f64; NODES] {
        std::array::from_fn(|k| self.terms(piece, k).iter().map(|&(i, c)| c * u[i as usize]).sum())
    }

    /// Numbers the unknowns of `mesh` at `degree`.
    pub(crate) fn new(mesh: &Mesh, degree: Degree) -> Self {
        Self::condensed(mesh, degree, &|_| None)
    }

    /// The same; at degree two the node in the middle of a piece follows the other eight where
    /// `middle` gives their weights.
    ///
    /// With the weights of least energy this is static condensation: the equations that are left
    /// are those after the middle has been eliminated, and the answer is the same.
    pub(crate) fn condensed(
        mesh: &Mesh,
        degree: Degree,
        middle: &dyn Fn(usize) -> Option<[f64; NODES]>,
    ) -> Self {
        let level = |p: usize| mesh.pieces[p].cell.level;
        Self::number(mesh.pieces.len(), &level, &mesh.links, degree, middle)
    }

    /// The same for `pieces` that hang together by `links`, in cells of a `level` each.
    pub(crate) fn of(
        pieces: usize,
        level: &dyn Fn(usize) -> u8,
        links: &[Link],
        degree: Degree,
    ) -> Self {
        Self::number(pieces, level, links, degree, &|_| None)
    }

    fn number(
        pieces: usize,
        level: &dyn Fn(usize) -> u8,
        links: &[Link],
        degree: Degree,
        middle: &dyn Fn(usize) -> Option<[f64; NODES]>,
    ) -> Self {
        let total = pieces * NODES;
        let mut sets = Sets::new(total);
        for l in links {
            join(&mut sets, l, degree);
        }
        let mut rules = Rules { of: vec![NONE; total], list: Vec::new() };
        for l in links {
            hang(&mut sets, l, level(l.b), degree, &mut rules);
        }
        Self::resolve(sets, &rules, total, degree, middle)
    }

    /// A good order of elimination, given when each unknown of degree one on the same mesh is
    /// eliminated in a good order there.
    ///
    /// An unknown of degree one ties the cells around it into one when it is eliminated; whatever
    /// lies between them is best eliminated just before.
    pub(crate) fn elimination(&self, low: &Self, ranks: &[u32]) -> Vec<u32> {
        let mut key = vec![u32::MAX; self.unknowns];
        for node in 0..self.start.len() - 1 {
            let (piece, k) = (node / NODES, node % NODES);
            if let &[(i, 1.0)] = self.terms(piece, k) {
                let terms = low.terms(piece, k);
                let first = terms.iter().map(|t| ranks[t.0 as usize]).min().unwrap_or(0);
                let same = terms.len() == 1;
                key[i as usize] = key[i as usize].min(2 * first + u32::from(same));
            }
        }
        // every unknown is the value at some node, so has a key: sort them by counting
        let mut first = vec![0u32; 2 * ranks.len() + 2];
        for &k in &key {
            first[k.min(2 * ranks.len() as u32) as usize + 1] += 1;
        }
        for k in 1..first.len() {
            first[k] += first[k - 1];
        }
        let mut list = vec![0; self.unknowns];
        for (i, &k) in key.iter().enumerate() {
            let slot = &mut first[k.min(2 * ranks.len() as u32) as usize];
            list[*slot as usize] = i as u32;
            *slot += 1;
        }
        list
    }

    fn resolve(
        mut sets: Sets,
        rules: &Rules,
        total: usize,
        degree: Degree,
        middle: &dyn Fn(usize) -> Option<[f64; NODES]>,
    ) -> Self {
        let mut classes = Classes {
            rules,
            of: vec![Class::New; total],
            start: vec![0],
            sums: Vec::new(),
            unknowns: 0,
        };
        let mut start = Vec::with_capacity(total + 1);
        let mut terms = Vec::with_capacity(2 * total);
        for p in 0..total / NODES {
            let weights = if degree == Degree::Two { middle(p) } else { None };
            let follows = |k: usize| match degree {
                Degree::One => !followed(k).is_empty(),
                Degree::Two => k == MIDDLE && weights.is_some(),
            };
            // what others follow first
            let mut of = [0; NODES];
            for k in (0..NODES).filter(|&k| !follows(k)) {
                of[k] = sets.find(p * NODES + k);
                classes.get(of[k], &mut sets, 0);
            }
            for k in 0..NODES {
                start.push(terms.len() as u32);
                let first = terms.len();
                if !follows(k) {
                    classes.add(of[k], 1.0, first, &mut terms);
                } else if let Some(weights) = weights {
                    for (j, w) in weights.into_iter().enumerate().filter(|(_, w)| *w != 0.0) {
                        classes.add(of[j], w, first, &mut terms);
                    }
                } else {
                    let corners = followed(k);
                    for &corner in corners {
                        classes.add(of[corner], 1.0 / corners.len() as f64, first, &mut terms);
                    }
                }
            }
        }
        start.push(terms.len() as u32);
        Self { degree, unknowns: classes.unknowns as usize, start, terms }
    }
}

/// The corners whose mean a node is at degree one; none for a corner.
fn followed(node: usize) -> &'static [usize] {
    match node {
        1 => &[0, 2],
        3 => &[0, 6],
        4 => &[0, 2, 6, 8],
        5 => &[2, 8],
        7 => &[6, 8],
        _ => &[],
    }
}

/// What a class of nodes is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Class {
    /// Not looked at yet.
    New,
    /// An unknown of its own.
    Unknown(u32),
    /// A combination of unknowns, by number.
    Sum(u32),
}

/// Numbers unknowns and follows rules, each class when it is first needed.
struct Classes<'a> {
    rules: &'a Rules,
    of: Vec<Class>,
    /// First term of each sum, and the end.
    start: Vec<u32>,
    sums: Vec<(u32, f64)>,
    unknowns: u32,
}

impl Classes<'_> {
    fn get(&mut self, class: usize, sets: &mut Sets, depth: usize) -> Class {
        if self.of[class] != Class::New {
            return self.of[class];
        }
        let found = match self.rules.get(class).filter(|_| depth < MAX_CHAIN) {
            None => {
                self.unknowns += 1;
                Class::Unknown(self.unknowns - 1)
            }
            Some(rule) => {
                let sources = || rule.from.into_iter().zip(rule.weight).filter(|s| s.1 != 0.0);
                // sums that it needs end before its own begins
                for (from, _) in sources() {
                    self.get(sets.find(from as usize), sets, depth + 1);
                }
                let mut sums = std::mem::take(&mut self.sums);
                let first = sums.len();
                for (from, weight) in sources() {
                    self.add_to(sets.find(from as usize), weight, first, &mut sums);
                }
                self.sums = sums;
                self.start.push(self.sums.len() as u32);
                Class::Sum(self.start.len() as u32 - 2)
            }
        };
        self.of[class] = found;
        found
    }

    /// Adds a weighted class that has been looked at to the terms from `first` on.
    fn add(&self, class: usize, weight: f64, first: usize, terms: &mut Vec<(u32, f64)>) {
        match self.of[class] {
            Class::Unknown(k) => add(terms, first, (k, weight)),
            Class::Sum(k) => {
                let range = self.start[k as usize] as usize..self.start[k as usize + 1] as usize;
                for &(i, w) in &self.sums[range] {
                    add(terms, first, (i, weight * w));
                }
            }
            Class::New => {}
        }
    }

    /// The same to the end of the list of sums itself.
    fn add_to(&self, class: usize, weight: f64, first: usize, sums: &mut Vec<(u32, f64)>) {
        match self.of[class] {
            Class::Unknown(k) => add(sums, first, (k, weight)),
            Class::Sum(k) => {
                for t in self.start[k as usize] as usize..self.start[k as usize + 1] as usize {
                    let (i, w) = sums[t];
                    add(sums, first, (i, weight * w));
                }
            }
            Class::New => {}
        }
    }
}

/// Adds a term to those from `first` on.
fn add(terms: &mut Vec<(u32, f64)>, first: usize, (i, w): (u32, f64)) {
    match terms[first..].iter_mut().find(|t| t.0 == i) {
        Some(t) => t.1 += w,
        None => terms.push((i, w)),
    }
}

/// A node given by others: up to four of them with coefficients, from a side of level `level`.
#[derive(Debug, Clone, Copy)]
struct Rule {
    from: [u32; 4],
    weight: [f64; 4],
    level: u8,
}

/// The rules of the few classes that have one.
struct Rules {
    /// Number of each class's rule, or [`NONE`].
    of: Vec<u32>,
    list: Vec<Rule>,
}

const NONE: u32 = u32::MAX;

impl Rules {
    fn get(&self, class: usize) -> Option<&Rule> {
        self.list.get(self.of[class] as usize)
    }

    fn set(&mut self, class: usize, rule: Rule) {
        self.of[class] = self.list.len() as u32;
        self.list.push(rule);
    }
}

/// Longest chain of hanging nodes that is followed; a balanced tree has far shorter ones.
const MAX_CHAIN: usize = 40;

/// The three nodes along a side, in rising coordinate.
pub(crate) fn side_nodes(side: usize) -> [usize; 3] {
    [[0, 1, 2], [2, 5, 8], [6, 7, 8], [0, 3, 6]][side]
}

fn join(sets: &mut Sets, l: &Link, degree: Degree) {
    let (sa, sb) = (side_nodes(l.side), side_nodes((l.side + 2) % 4));
    let mut same = |ka: usize, kb: usize| sets.join(l.a * NODES + sa[ka], l.b * NODES + sb[kb]);
    match l.half {
        None => {
            same(0, 0);
            same(2, 2);
            if degree == Degree::Two {
                same(1, 1);
            }
        }
        Some(h) => {
            // the end of the coarse side that the fine side reaches
            same(2 * h, 2 * h);
            if degree == Degree::Two {
                // the coarse mid node is the fine side's other end
                same(2 - 2 * h, 1);
            }
        }
    }
}

fn hang(sets: &mut Sets, l: &Link, level: u8, degree: Degree, rules: &mut Rules) {
    let Some(h) = l.half else { return };
    let (sa, sb) = (side_nodes(l.side), side_nodes((l.side + 2) % 4));
    let coarse = |k: usize| (l.b * NODES + sb[k]) as u32;
    let (node, rule) = match degree {
        Degree::One => (
            // the fine side's end in the middle of the coarse side
            sa[2 - 2 * h],
            Rule { from: [coarse(0), coarse(2), 0, 0], weight: [0.5, 0.5, 0.0, 0.0], level },
        ),
        Degree::Two => (
            // the fine side's middle, a quarter of the way along the coarse side
            sa[1],
            Rule {
                from: [coarse(2 * h), coarse(1), coarse(2 - 2 * h), 0],
                weight: [0.375, 0.75, -0.125, 0.0],
                level,
            },
        ),
    };
    let class = sets.find(l.a * NODES + node);
    // several coarse sides can only disagree behind a thin sheet's end: the coarsest rules
    if rules.get(class).is_none_or(|r| r.level > level) {
        rules.set(class, rule);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{Grid, bilinear, biquadratic, grid, layout, node, two_blocks};

    /// Unknowns that carry the values of a function at their nodes.
    fn sampled(g: &Grid, numbering: &Numbering, f: fn([f64; 2]) -> f64) -> Vec<f64> {
        let mut u = vec![f64::NAN; numbering.unknowns];
        for (p, piece) in g.mesh.pieces.iter().enumerate() {
            for k in 0..NODES {
                if let [(i, c)] = numbering.terms(p, k)
                    && *c == 1.0
                {
                    u[*i as usize] = f(node(piece.cell, k));
                }
            }
        }
        u
    }

    /// Largest error at any node of any piece when the unknowns carry `f`.
    fn worst(g: &Grid, numbering: &Numbering, f: fn([f64; 2]) -> f64) -> f64 {
        let u = sampled(g, numbering, f);
        assert!(u.iter().all(|v| v.is_finite()), "every unknown is the value at some node");
        let mut worst = 0.0f64;
        for (p, piece) in g.mesh.pieces.iter().enumerate() {
            for (k, v) in numbering.gather(&u, p).into_iter().enumerate() {
                worst = worst.max((v - f(node(piece.cell, k))).abs());
            }
        }
        worst
    }

    #[test]
    fn biquadratic_polynomials_pass_hanging_nodes_unchanged() {
        let g = grid(&two_blocks(), 2, 4, 7);
        assert!(g.mesh.links.iter().any(|l| l.half.is_some()), "there must be hanging nodes");
        let n = Numbering::new(&g.mesh, Degree::Two);
        assert!(worst(&g, &n, biquadratic) < 1e-13);
        // and the test can tell: one power more does not pass
        assert!(worst(&g, &n, |t| biquadratic(t) * t[0] / 1e9) > 1e-4);
    }

    #[test]
    fn bilinear_polynomials_pass_hanging_nodes_unchanged_at_degree_one() {
        let g = grid(&two_blocks(), 2, 4, 7);
        let n = Numbering::new(&g.mesh, Degree::One);
        assert!(worst(&g, &n, bilinear) < 1e-13);
        assert!(worst(&g, &n, biquadratic) > 1e-4);
    }

    #[test]
    fn terms_of_every_node_sum_to_one() {
        let g = grid(&two_blocks(), 2, 4, 8);
        for degree in [Degree::One, Degree::Two] {
            let n = Numbering::new(&g.mesh, degree);
            for p in 0..g.mesh.pieces.len() {
                for k in 0..NODES {
                    let sum: f64 = n.terms(p, k).iter().map(|t| t.1).sum();
                    assert!((sum - 1.0).abs() < 1e-14);
                }
            }
        }
    }

    #[test]
    fn an_even_grid_has_one_unknown_for_each_node() {
        // 8 × 8 cells, of which the tank (half as high as wide) touches 8 × 5
        let g = grid(&layout(vec![]), 3, 3, 3);
        let (columns, rows) = (8, g.mesh.pieces.len() / 8);
        assert_eq!(columns * rows, g.mesh.pieces.len());
        let unknowns = |d| Numbering::new(&g.mesh, d).unknowns;
        assert_eq!(unknowns(Degree::One), (columns + 1) * (rows + 1));
        assert_eq!(unknowns(Degree::Two), (2 * columns + 1) * (2 * rows + 1));
    }

    #[test]
    fn pieces_that_are_not_linked_share_no_unknown() {
        let mut g = grid(&two_blocks(), 3, 4, 4);
        let mut mesh = (*g.mesh).clone();
        mesh.links.clear();
        g.mesh = std::sync::Arc::new(mesh);
        assert_eq!(Numbering::new(&g.mesh, Degree::Two).unknowns, NODES * g.mesh.pieces.len());
    }
}
