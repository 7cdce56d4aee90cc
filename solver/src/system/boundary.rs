//! The boundary term: one formula for every polarization law, from none to very steep.
//!
//! On metal the energy gets the Moreau envelope of the law's dissipation: the law in series with
//! a resistance r = d/κ of a thin layer d of bath. With m = N − d ∂N/∂n and g = d ∂N/∂n,
//!
//! ```text
//! s = V − rest − Σ m u,    η + r j(η) = s,
//! residual −= ∫ j m + (1/r) g Σ g u,    Hessian += ∫ j′(s) m mᵀ − (1/r) g gᵀ.
//! ```
//!
//! For linear laws this is the form of Juntunen & Stenberg, Math. Comp. 78 (2009) 1353, which is
//! symmetric Nitsche for no polarization and the natural condition for much of it. The border of
//! a screen is the same term with the neighbour's potential in place of the metal's.

use shapes::Point;

use super::basis::{GAUSS4, NODES, shape};
use super::ghost::Roots;
use crate::domain::{Domain, Tag};
use crate::grid::mesh::Mesh;

/// One quadrature point on metal.
#[derive(Debug, Clone, Copy)]
pub(crate) struct MetalPoint {
    /// N − d ∂N/∂n at the nine nodes.
    pub(crate) m: [f64; NODES],
    /// d ∂N/∂n at the nine nodes.
    pub(crate) g: [f64; NODES],
    /// Length of boundary it stands for, m.
    pub(crate) weight: f64,
    /// d/κ, Ω m².
    pub(crate) series: f64,
    /// Its place, m.
    pub(crate) at: Point,
    pub(crate) body: u32,
    pub(crate) stretch: u32,
}

/// All metal points of one piece.
#[derive(Debug, Clone)]
pub(crate) struct MetalPiece {
    pub(crate) piece: usize,
    pub(crate) first: usize,
    pub(crate) end: usize,
}

/// One quadrature point on the border of a screen: the open bath is side 0.
#[derive(Debug, Clone, Copy)]
pub(crate) struct InterfacePoint {
    pub(crate) pieces: [usize; 2],
    /// N − d ∂N/∂n on either side, outward normals.
    pub(crate) m: [[f64; NODES]; 2],
    /// d ∂N/∂n on either side.
    pub(crate) g: [[f64; NODES]; 2],
    pub(crate) weight: f64,
    /// d/κ on either side, Ω m².
    pub(crate) series: [f64; 2],
}

/// Boundary quadrature of a mesh.
#[derive(Debug, Clone, Default)]
pub(crate) struct Boundary {
    pub(crate) metal: Vec<MetalPiece>,
    pub(crate) points: Vec<MetalPoint>,
    pub(crate) interface: Vec<InterfacePoint>,
}

/// A straight run of boundary in cell coordinates.
struct Run {
    from: [f64; 2],
    to: [f64; 2],
    tag: Tag,
}

fn runs(mesh: &Mesh, domain: &Domain, p: usize) -> Vec<Run> {
    let mut out = Vec::new();
    for lp in &mesh.pieces[p].piece().loops {
        for (k, c) in lp.iter().enumerate() {
            let Some(e) = c.edge else { continue };
            let tag = domain.edges[e as usize].tag;
            if tag != Tag::Wall {
                out.push(Run { from: c.at, to: lp[(k + 1) % lp.len()].at, tag });
            }
        }
    }
    out
}

fn length(r: &Run) -> f64 {
    (r.to[0] - r.from[0]).hypot(r.to[1] - r.from[1])
}

/// Number of separate runs of one kind: several mean that the piece lies between electrodes.
fn separate(runs: &[Run]) -> usize {
    runs.iter()
        .enumerate()
        .filter(|(i, r)| {
            let before = &runs[(i + runs.len() - 1) % runs.len()];
            (before.to[0] - r.from[0]).hypot(before.to[1] - r.from[1]) > 1e-9
        })
        .count()
        .max(1)
}

/// Layer thickness d of a piece, in cell sides.
///
/// `gamma` times the cell or twice the area per length of electrode, whichever is less. Where the
/// piece is stabilised by a root, the root's area counts; only a fifth of it if several
/// electrodes run through the piece, because then the piece's own shape limits it.
fn layer(mesh: &Mesh, roots: &Roots, p: usize, runs: &[Run], length: f64, gamma: f64) -> f64 {
    let own = mesh.pieces[p].piece().fraction;
    let share = if separate(runs) > 1 { 0.2 } else { 1.0 };
    let area = own.max(share * roots.area(mesh, p));
    gamma * (2.0 * area / length).min(1.0)
}

/// A run of a screen's border with the pieces on either side.
struct Pair {
    /// In the open bath.
    outside: usize,
    /// In the screen.
    inside: usize,
    run: Run,
}

impl Boundary {
    /// Quadrature points along all metal and all screen borders.
    pub(crate) fn new(mesh: &Mesh, domain: &Domain, roots: &Roots, gamma: f64) -> Self {
        let mut out = Self::default();
        let mut borders: Vec<(usize, Vec<Run>)> = Vec::new();
        for p in 0..mesh.pieces.len() {
            if mesh.pieces[p].piece().is_whole() {
                continue;
            }
            let all = runs(mesh, domain, p);
            let total: f64 = all.iter().map(length).sum();
            let (border, metal): (Vec<Run>, Vec<Run>) =
                all.into_iter().partition(|r| r.tag == Tag::Interface);
            if !metal.is_empty() {
                let d = layer(mesh, roots, p, &metal, total, gamma);
                let first = out.points.len();
                for r in &metal {
                    out.push_metal(mesh, domain, p, r, d);
                }
                out.metal.push(MetalPiece { piece: p, first, end: out.points.len() });
            }
            if !border.is_empty() {
                borders.push((p, border));
            }
        }
        out.couple(mesh, domain, roots, gamma, borders);
        out
    }

    fn push_metal(&mut self, mesh: &Mesh, domain: &Domain, p: usize, r: &Run, d: f64) {
        let Tag::Metal { body, stretch } = r.tag else { return };
        let side = domain.lattice.cell_m(mesh.pieces[p].cell.level);
        let kappa = domain.kappa[mesh.pieces[p].piece().material as usize];
        let len = length(r);
        if len < 1e-13 {
            return;
        }
        let normal = outward(r, len);
        let low = domain.lattice.metres(mesh.pieces[p].cell.low());
        let place = |at: [f64; 2]| Point::new(low.x + at[0] * side, low.y + at[1] * side);
        for (t, w) in GAUSS4 {
            let at = along(r, t);
            let (m, g) = trace(at, normal, d);
            self.points.push(MetalPoint {
                m,
                g,
                weight: w * len * side * domain.stretch[stretch as usize],
                series: d * side / kappa,
                at: place(at),
                body,
                stretch,
            });
        }
    }

    /// Couples the two sides of every screen border, seen from the screen's side.
    fn couple(
        &mut self,
        mesh: &Mesh,
        domain: &Domain,
        roots: &Roots,
        gamma: f64,
        borders: Vec<(usize, Vec<Run>)>,
    ) {
        // length of conducting boundary on each piece: its own, or what is coupled to it if that
        // is more (the two sides are rounded apart, and a piece may get a run of its neighbour's)
        let mut load: Vec<(f64, f64)> = vec![(0.0, 0.0); mesh.pieces.len()];
        for (p, _) in &borders {
            load[*p].0 = runs(mesh, domain, *p).iter().map(length).sum();
        }
        let (screens, open): (Vec<_>, Vec<_>) =
            borders.into_iter().partition(|b| mesh.pieces[b.0].piece().material != 0);
        let mut pairs = Vec::new();
        for (p, runs) in screens {
            for run in runs.into_iter().filter(|r| length(r) >= 1e-13) {
                let Some(outside) = across(mesh, p, &run, &open) else { continue };
                load[outside].1 += length(&run);
                pairs.push(Pair { outside, inside: p, run });
            }
        }
        let layer_of =
            |p: usize, runs: &[Run]| layer(mesh, roots, p, runs, load[p].0.max(load[p].1), gamma);
        for pair in &pairs {
            let (q, p) = (pair.outside, pair.inside);
            let own = |p: usize| runs(mesh, domain, p);
            let (d0, d1) = (layer_of(q, &own(q)), layer_of(p, &own(p)));
            let len = length(&pair.run);
            let normal = outward(&pair.run, len);
            let side = domain.lattice.cell_m(mesh.pieces[p].cell.level);
            let kappa = |x: usize| domain.kappa[mesh.pieces[x].piece().material as usize];
            for (t, w) in GAUSS4 {
                let at = along(&pair.run, t);
                let (m0, g0) = trace(at, [-normal[0], -normal[1]], d0);
                let (m1, g1) = trace(at, normal, d1);
                self.interface.push(InterfacePoint {
                    pieces: [q, p],
                    m: [m0, m1],
                    g: [g0, g1],
                    weight: w * len * side,
                    series: [d0 * side / kappa(q), d1 * side / kappa(p)],
                });
            }
        }
    }
}

/// The piece of open bath across a run of piece `p`: the one right beside it, else the one whose
/// own border runs nearest.
fn across(mesh: &Mesh, p: usize, run: &Run, open: &[(usize, Vec<Run>)]) -> Option<usize> {
    let leaf = mesh.pieces[p].leaf;
    let normal = outward(run, length(run));
    let mid = along(run, 0.5);
    let probe = [mid[0] + 1e-7 * normal[0], mid[1] + 1e-7 * normal[1]];
    let beside = (mesh.first[leaf]..mesh.first[leaf + 1]).find(|&q| {
        let piece = mesh.pieces[q].piece();
        piece.material == 0 && piece.contains(probe)
    });
    let from = open.partition_point(|b| b.0 < mesh.first[leaf]);
    let to = open.partition_point(|b| b.0 < mesh.first[leaf + 1]);
    let away = |b: &(usize, Vec<Run>)| {
        let middle = |r: &Run| along(r, 0.5);
        b.1.iter()
            .map(|r| (middle(r)[0] - mid[0]).hypot(middle(r)[1] - mid[1]))
            .fold(f64::INFINITY, f64::min)
    };
    beside.or_else(|| open[from..to].iter().min_by(|a, b| away(a).total_cmp(&away(b))).map(|b| b.0))
}

/// Unit normal out of the bath: right of the direction of travel.
fn outward(r: &Run, len: f64) -> [f64; 2] {
    [(r.to[1] - r.from[1]) / len, (r.from[0] - r.to[0]) / len]
}

fn along(r: &Run, t: f64) -> [f64; 2] {
    [r.from[0] + t * (r.to[0] - r.from[0]), r.from[1] + t * (r.to[1] - r.from[1])]
}

/// m = N − d ∂N/∂n and g = d ∂N/∂n; `d` in cell sides, so the cell's size drops out.
fn trace(at: [f64; 2], normal: [f64; 2], d: f64) -> ([f64; NODES], [f64; NODES]) {
    let (n, grad) = shape(at);
    let g: [f64; NODES] =
        std::array::from_fn(|k| d * (normal[0] * grad[k][0] + normal[1] * grad[k][1]));
    (std::array::from_fn(|k| n[k] - g[k]), g)
}
