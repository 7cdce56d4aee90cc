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

use super::basis::{NODES, along_run, shape, volume};
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
    /// Surface it stands for: length times the section's breadth, m² per m of depth (or m²).
    pub(crate) weight: f64,
    /// Length of boundary it stands for, m.
    pub(crate) length: f64,
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

/// Length of a run in a cell of piece `p` times the section's breadth, cell sides.
fn surface(mesh: &Mesh, domain: &Domain, p: usize, r: &Run) -> f64 {
    let [b0, b1] = domain.breadth(mesh.pieces[p].cell);
    length(r) * (b0 + b1 * 0.5 * (r.from[0] + r.to[0])).max(0.0)
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
/// `gamma` times the cell or twice the volume per surface of electrode, whichever is less. Where the
/// piece is stabilised by a root, the root's area counts; only a fifth of it if several
/// electrodes run through the piece, because then the piece's own shape limits it.
fn layer(
    (mesh, domain, roots): (&Mesh, &Domain, &Roots),
    p: usize,
    runs: &[Run],
    surface: f64,
    gamma: f64,
) -> f64 {
    let own = volume(mesh.pieces[p].piece(), domain.breadth(mesh.pieces[p].cell));
    let share = if separate(runs) > 1 { 0.2 } else { 1.0 };
    let room = own.max(share * roots.area(mesh, domain, p));
    // where electrode only touches the axis both are nothing, and the cell alone counts
    gamma * (2.0 * room / surface).min(1.0)
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
            let total: f64 = all.iter().map(|r| surface(mesh, domain, p, r)).sum();
            let (border, metal): (Vec<Run>, Vec<Run>) =
                all.into_iter().partition(|r| r.tag == Tag::Interface);
            if !metal.is_empty() {
                let d = layer((mesh, domain, roots), p, &metal, total, gamma);
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
        for &(t, w) in along_run(len) {
            let at = along(r, t);
            let (m, g) = trace(at, normal, d);
            let length = w * len * side * domain.stretch[stretch as usize];
            let at = place(at);
            self.points.push(MetalPoint {
                m,
                g,
                weight: length * domain.symmetry.breadth(at.x),
                length,
                series: d * side / kappa,
                at,
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
        // conducting surface on each piece: its own, or what is coupled to it if that
        // is more (the two sides are rounded apart, and a piece may get a run of its neighbour's)
        let mut load: Vec<(f64, f64)> = vec![(0.0, 0.0); mesh.pieces.len()];
        for (p, _) in &borders {
            load[*p].0 = runs(mesh, domain, *p).iter().map(|r| surface(mesh, domain, *p, r)).sum();
        }
        let (screens, open): (Vec<_>, Vec<_>) =
            borders.into_iter().partition(|b| mesh.pieces[b.0].piece().material != 0);
        let mut pairs = Vec::new();
        for (p, runs) in screens {
            for run in runs.into_iter().filter(|r| length(r) >= 1e-13) {
                let Some(outside) = across(mesh, p, &run, &open) else { continue };
                load[outside].1 += surface(mesh, domain, p, &run);
                pairs.push(Pair { outside, inside: p, run });
            }
        }
        let layer_of = |p: usize, runs: &[Run]| {
            layer((mesh, domain, roots), p, runs, load[p].0.max(load[p].1), gamma)
        };
        for pair in &pairs {
            let (q, p) = (pair.outside, pair.inside);
            let own = |p: usize| runs(mesh, domain, p);
            let (d0, d1) = (layer_of(q, &own(q)), layer_of(p, &own(p)));
            let len = length(&pair.run);
            let normal = outward(&pair.run, len);
            let side = domain.lattice.cell_m(mesh.pieces[p].cell.level);
            let kappa = |x: usize| domain.kappa[mesh.pieces[x].piece().material as usize];
            let [b0, b1] = domain.breadth(mesh.pieces[p].cell);
            for &(t, w) in along_run(len) {
                let at = along(&pair.run, t);
                let (m0, g0) = trace(at, [-normal[0], -normal[1]], d0);
                let (m1, g1) = trace(at, normal, d1);
                self.interface.push(InterfacePoint {
                    pieces: [q, p],
                    m: [m0, m1],
                    g: [g0, g1],
                    weight: w * len * side * (b0 + b1 * at[0]).max(0.0),
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

#[cfg(test)]
mod tests {
    use shapes::Outline;

    use super::*;
    use crate::layout::{Layout, Role};
    use crate::quantity::Conductivity;
    use crate::sample::{KAPPA, body, grid, ideal, layout, node, polygon, rect, star};
    use crate::system::assemble::GAMMA;

    fn boundary(layout: &Layout) -> (crate::sample::Grid, Boundary) {
        let g = grid(layout, 3, 5, 7);
        let boundary = Boundary::new(&g.mesh, &g.domain, &Roots::new(&g.mesh), GAMMA);
        (g, boundary)
    }

    fn pointed() -> (Layout, f64) {
        let outline = polygon(&star([0.09, 0.05], &[0.04, 0.02, 0.031, 0.026, 0.037]));
        let length = outline.perimeter();
        (layout(vec![body("part", Role::Part, outline, ideal())]), length)
    }

    #[test]
    fn weights_sum_to_the_length_of_the_metal() {
        let (layout, length) = pointed();
        let (g, b) = boundary(&layout);
        let sum: f64 = b.points.iter().map(|q| q.weight).sum();
        // each of some hundred vertices moves by a tick or so
        assert!((sum - length).abs() < 1e3 * g.domain.lattice.tick_m(), "{sum} against {length}");
    }

    #[test]
    fn chords_of_a_circle_weigh_as_much_as_the_circle() {
        let disc = Outline::disc(Point::new(0.09, 0.05), 0.03).unwrap();
        let (_, b) = boundary(&layout(vec![body("rod", Role::Part, disc, ideal())]));
        let sum: f64 = b.points.iter().map(|q| q.weight).sum();
        assert!((sum / (std::f64::consts::TAU * 0.03) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn traces_are_those_of_a_linear_potential() {
        let (layout, _) = pointed();
        let (g, b) = boundary(&layout);
        let mut turn = [0.0; 2];
        for piece in &b.metal {
            let cell = g.mesh.pieces[piece.piece].cell;
            let place: [Point; NODES] =
                std::array::from_fn(|k| g.domain.lattice.metres(node(cell, k).map(|t| t as i64)));
            for q in &b.points[piece.first..piece.end] {
                let sum = |v: &[f64; NODES], f: &dyn Fn(Point) -> f64| -> f64 {
                    v.iter().zip(&place).map(|(v, p)| v * f(*p)).sum()
                };
                // of u = 1: value one, no slope
                assert!((sum(&q.m, &|_| 1.0) - 1.0).abs() < 1e-12);
                assert!(sum(&q.g, &|_| 1.0).abs() < 1e-12);
                // of u = x and u = y: value m + g at the point, slope d n
                let d = q.series * KAPPA;
                let n = [sum(&q.g, &|p| p.x) / d, sum(&q.g, &|p| p.y) / d];
                assert!((n[0].hypot(n[1]) - 1.0).abs() < 1e-9);
                assert!((sum(&q.m, &|p| p.x) + d * n[0] - q.at.x).abs() < 1e-12);
                assert!((sum(&q.m, &|p| p.y) + d * n[1] - q.at.y).abs() < 1e-12);
                turn = [turn[0] + q.weight * n[0], turn[1] + q.weight * n[1]];
            }
        }
        // the normals around a closed outline cancel, up to its length times rounding
        assert!(turn[0].hypot(turn[1]) < 1e-6 * 0.2, "{turn:?}");
    }

    #[test]
    fn no_layer_is_thicker_than_gamma_cells() {
        let (layout, _) = pointed();
        let (g, b) = boundary(&layout);
        for piece in &b.metal {
            let side = g.domain.lattice.cell_m(g.mesh.pieces[piece.piece].cell.level);
            for q in &b.points[piece.first..piece.end] {
                assert!(q.series > 0.0 && q.series * KAPPA <= GAMMA * side * (1.0 + 1e-12));
            }
        }
    }

    #[test]
    fn both_sides_of_a_screen_are_coupled_all_around() {
        let role = Role::Screen { conductivity: Conductivity::new(0.5 * KAPPA) };
        let screen = rect(0.061, 0.027, 0.103, 0.071);
        let length = screen.perimeter();
        let (g, b) = boundary(&layout(vec![body("basket", role, screen, ideal())]));
        let sum: f64 = b.interface.iter().map(|q| q.weight).sum();
        assert!((sum / length - 1.0).abs() < 1e-6, "{sum} against {length}");
        for q in &b.interface {
            assert_eq!(q.pieces.map(|p| g.mesh.pieces[p].piece().material), [0, 1]);
            for (m, slope) in q.m.iter().zip(&q.g) {
                assert!((m.iter().sum::<f64>() - 1.0).abs() < 1e-12);
                assert!(slope.iter().sum::<f64>().abs() < 1e-12);
            }
        }
        assert!(b.points.is_empty(), "a screen has no metal");
    }
}
