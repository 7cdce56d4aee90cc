//! Potential and current density anywhere in the bath.

use std::sync::{Arc, OnceLock};

use shapes::Point;

use crate::domain::Domain;
use crate::grid::lattice::{Cell, Lattice, ROOT_BITS};
use crate::grid::mesh::Mesh;
use crate::grid::tree::{Index, Tree};
use crate::system::basis::{NODES, shape};
use crate::system::numbering::Numbering;

/// The solved field; cheap to clone.
#[derive(Clone)]
pub struct Field {
    inner: Arc<dyn Fn(Point) -> Option<FieldPoint> + Send + Sync>,
}

/// Potential and current density at one point of the bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldPoint {
    /// Potential of the bath against the cathode bus, V.
    pub potential_v: f64,
    /// Current density along x and y, A/m².
    pub current_a_m2: [f64; 2],
}

impl Field {
    /// A field given by a function (closed forms, tests of pictures).
    pub fn from_fn(f: impl Fn(Point) -> Option<FieldPoint> + Send + Sync + 'static) -> Self {
        Self { inner: Arc::new(f) }
    }

    /// Value at a point, or `None` inside solids and outside the tank. O(depth of the tree).
    pub fn at(&self, p: Point) -> Option<FieldPoint> {
        (self.inner)(p)
    }

    /// The field of an answer.
    pub(crate) fn new(answer: &Arc<Answer>) -> Self {
        let answer = Arc::clone(answer);
        Self::from_fn(move |p| answer.at(p))
    }
}

/// The potential on one grid, kept after the solve; what it takes to ask for values is worked out
/// when it is first asked.
pub(crate) struct Answer {
    domain: Arc<Domain>,
    cells: Vec<Cell>,
    mesh: Arc<Mesh>,
    numbering: Numbering,
    u: Vec<f64>,
    places: OnceLock<Places>,
    slopes: OnceLock<[Vec<[f64; NODES]>; 2]>,
}

/// Where things are: leaves by their cells, potentials at the nodes of every piece.
struct Places {
    index: Index,
    deepest: u8,
    nodal: Vec<[f64; NODES]>,
}

impl Answer {
    pub(crate) fn new(
        domain: &Arc<Domain>,
        tree: &Tree,
        mesh: &Arc<Mesh>,
        numbering: Numbering,
        u: Vec<f64>,
    ) -> Self {
        Self {
            domain: Arc::clone(domain),
            cells: tree.leaves.iter().map(|l| l.cell).collect(),
            mesh: Arc::clone(mesh),
            numbering,
            u,
            places: OnceLock::new(),
            slopes: OnceLock::new(),
        }
    }

    fn places(&self) -> &Places {
        self.places.get_or_init(|| Places {
            index: Index::of(self.cells.iter().copied()),
            deepest: self.cells.iter().map(|c| c.level).max().unwrap_or(0),
            nodal: self.at_nodes(&self.u),
        })
    }

    fn at_nodes(&self, v: &[f64]) -> Vec<[f64; NODES]> {
        (0..self.mesh.pieces.len()).map(|p| self.numbering.gather(v, p)).collect()
    }

    fn at(&self, p: Point) -> Option<FieldPoint> {
        let q = self.holder(p)?;
        let piece = &self.mesh.pieces[q];
        let (n, _) = shape(piece.cell.local(self.domain.lattice.ticks(p)));
        let value = |v: &[[f64; NODES]]| -> f64 { n.iter().zip(&v[q]).map(|(n, v)| n * v).sum() };
        let kappa = self.domain.kappa[piece.piece().material as usize];
        let [x, y] = self.slopes.get_or_init(|| self.slopes().map(|s| self.at_nodes(&s)));
        Some(FieldPoint {
            potential_v: value(&self.places().nodal),
            current_a_m2: [-kappa * value(x), -kappa * value(y)],
        })
    }

    /// The piece of bath that holds a point.
    pub(crate) fn holder(&self, p: Point) -> Option<usize> {
        let places = self.places();
        let t = self.domain.lattice.ticks(p);
        let leaf = find(&places.index, t, places.deepest)?;
        let inside = |&q: &usize| {
            let piece = &self.mesh.pieces[q];
            piece.piece().contains(piece.cell.local(t))
        };
        (self.mesh.first[leaf]..self.mesh.first[leaf + 1]).find(inside)
    }

    /// The piece that fills a cell of a lattice, where this answer has the same cell and one piece of
    /// bath in it.
    pub(crate) fn piece_of(&self, lattice: &Lattice, cell: Cell, material: u16) -> Option<usize> {
        let leaf = self.places().index.get(cell).filter(|_| self.domain.lattice == *lattice)?;
        let (first, end) = (self.mesh.first[leaf], self.mesh.first[leaf + 1]);
        let only = end == first + 1 && self.mesh.pieces[first].piece().material == material;
        only.then_some(first)
    }

    /// Potentials at the nodes of a piece, V.
    pub(crate) fn nodal(&self, piece: usize) -> &[f64; NODES] {
        &self.places().nodal[piece]
    }

    /// What the polynomial of a piece says at a point in it or up to a cell beyond, V.
    pub(crate) fn potential(&self, piece: usize, p: Point) -> f64 {
        let local = self.mesh.pieces[piece].cell.local(self.domain.lattice.ticks(p));
        let (n, _) = shape(local.map(|x| x.clamp(-1.0, 2.0)));
        n.iter().zip(&self.places().nodal[piece]).map(|(n, v)| n * v).sum()
    }

    /// Gradient of the potential at the unknowns, V/m: the mean of what the pieces around say.
    ///
    /// Each piece's own gradient jumps from cell to cell; the mean at the nodes does not, and is more
    /// accurate (Zienkiewicz & Zhu, Int. J. Numer. Meth. Eng. 24 (1987) 337). Pieces count by their
    /// share of their cell, so that a sliver's extrapolated polynomial does not spoil its neighbours.
    fn slopes(&self) -> [Vec<f64>; 2] {
        let (mesh, numbering, u) = (&self.mesh, &self.numbering, &self.u);
        let mut sums = [vec![0.0; u.len()], vec![0.0; u.len()]];
        let mut weights = vec![0.0; u.len()];
        for (p, piece) in mesh.pieces.iter().enumerate() {
            let v = numbering.gather(u, p);
            let side = self.domain.lattice.cell_m(piece.cell.level);
            let weight = piece.piece().fraction.max(1e-6);
            for k in 0..NODES {
                let (_, g) = shape([0.5 * (k % 3) as f64, 0.5 * (k / 3) as f64]);
                if let [(i, _)] = numbering.terms(p, k) {
                    let i = *i as usize;
                    weights[i] += weight;
                    for (axis, sum) in sums.iter_mut().enumerate() {
                        let slope: f64 = g.iter().zip(&v).map(|(g, v)| g[axis] * v).sum();
                        sum[i] += weight * slope / side;
                    }
                }
            }
        }
        for sum in &mut sums {
            for (s, w) in sum.iter_mut().zip(&weights) {
                *s /= w.max(f64::MIN_POSITIVE);
            }
        }
        sums
    }
}

impl std::fmt::Debug for Answer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Answer")
    }
}

/// The leaf that holds a point in ticks.
fn find(index: &Index, t: [f64; 2], deepest: u8) -> Option<usize> {
    let size = (1i64 << ROOT_BITS) as f64;
    if !t.iter().all(|v| (0.0..size).contains(v)) {
        return None;
    }
    let (x, y) = (t[0] as u64, t[1] as u64);
    (0..=deepest).rev().find_map(|level| {
        let shift = ROOT_BITS - u32::from(level);
        index.get(Cell { level, ix: (x >> shift) as u32, iy: (y >> shift) as u32 })
    })
}

impl std::fmt::Debug for Field {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Field")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{KAPPA, PLATES_APART, linear, plates};
    use crate::solve::{SolveSettings, solve};

    fn between_plates() -> (Field, f64, f64) {
        // one volt over b_c + d/κ + b_a in series: i = 1 V / Σ
        let (b_c, b_a) = (1.3e-3, 4.1e-3);
        let layout = plates(linear(b_c), linear(b_a));
        let found = solve(&layout, &SolveSettings::default(), &mut |_| {}).unwrap();
        (found.field, 1.0 / (b_c + PLATES_APART / KAPPA + b_a), b_c)
    }

    #[test]
    fn potential_and_current_of_a_uniform_field_are_exact() {
        let (field, i, b_c) = between_plates();
        for k in 0..200 {
            // a spiral of places between the plates, walls and corners included
            let (x, y) = (f64::from(k) * 0.618 % 1.0, f64::from(k) / 200.0);
            let p = Point::new(0.031 + (0.001 + 0.998 * x) * PLATES_APART, 0.0002 + 0.0996 * y);
            let found = field.at(p).unwrap();
            let exact = i * (b_c + (p.x - 0.031) / KAPPA);
            assert!((found.potential_v - exact).abs() < 1e-7, "{p:?}");
            // from the anode on the right to the cathode on the left
            assert!((found.current_a_m2[0] + i).abs() < 1e-5 * i, "{p:?} {found:?}");
            assert!(found.current_a_m2[1].abs() < 1e-5 * i, "{p:?} {found:?}");
        }
    }

    #[test]
    fn there_is_no_field_in_metal_nor_outside_the_tank() {
        let (field, _, _) = between_plates();
        for (x, y) in [(0.02, 0.05), (0.0309, 0.01), (0.1625, 0.09), (0.19, 0.05)] {
            assert_eq!(field.at(Point::new(x, y)), None, "in a plate");
        }
        for (x, y) in [(-0.001, 0.05), (0.1, -0.001), (0.1, 0.1001), (7.0, -3.0), (f64::NAN, 0.05)]
        {
            assert_eq!(field.at(Point::new(x, y)), None, "outside");
        }
    }
}
