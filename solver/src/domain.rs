//! The wetted boundary: which stretches of which outlines the bath really touches.
//!
//! Outlines are flattened to chords and laid on the lattice as closed loops of directed edges,
//! bath on the left. Where bodies touch each other or stick through the wall, polygon booleans
//! take the covered stretches away first. The bath may consist of several materials: the open
//! bath (0) and the inside of each screen; every material has a closed boundary of its own.

use rstar::primitives::{GeomWithData, Line};
use rstar::{AABB, RTree};
use shapes::{Outline, Point, boolean};

use crate::grid::lattice::{Cell, Lattice, Tick, orientation};
use crate::layout::{Layout, Role, Symmetry};
use crate::surface::SurfacePlan;
use crate::weld::{CONTACT, Weld};

/// What an edge of the bath's boundary is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tag {
    /// Insulator: tank wall or liquid surface, a shield, or a mask.
    Wall,
    /// Metal of a body, on a stretch of the surface plan.
    Metal { body: u32, stretch: u32 },
    /// Border between the open bath and a screen.
    Interface,
}

/// One straight piece of the boundary of one material, that material on its left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Edge {
    pub(crate) a: Tick,
    pub(crate) b: Tick,
    /// The edge that starts at `b`.
    pub(crate) next: u32,
    /// The edge that ends at `a`.
    pub(crate) prev: u32,
    pub(crate) material: u16,
    pub(crate) tag: Tag,
    /// Body of the outline it comes from (`u32::MAX`: the tank).
    pub(crate) owner: u32,
}

pub(crate) const TANK: u32 = u32::MAX;

/// All boundaries of a layout on the lattice.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Domain {
    pub(crate) lattice: Lattice,
    pub(crate) symmetry: Symmetry,
    pub(crate) edges: Vec<Edge>,
    /// Conductivity of each material, S/m.
    pub(crate) kappa: Vec<f64>,
    /// Arc length per chord length of each stretch: boundary terms count true lengths.
    pub(crate) stretch: Vec<f64>,
}

/// Chords differ from their arcs by less than this share; more means a partly covered stretch.
const BEND_LOSS: f64 = 5e-3;

/// A flattened loop of the tank or of a body.
pub(crate) struct Source {
    pub(crate) owner: u32,
    /// Arc length of each vertex.
    pub(crate) s: Vec<f64>,
    pub(crate) at: Vec<Point>,
    pub(crate) length: f64,
}

impl Domain {
    /// Flattens and joins all outlines of a checked layout.
    ///
    /// `sagitta(owner)` is the largest distance allowed between chord and curve, m.
    pub(crate) fn new(layout: &Layout, plan: &SurfacePlan, sagitta: &dyn Fn(u32) -> f64) -> Self {
        let b = layout.tank.bounds();
        let lattice = Lattice::around(Point::new(b.x0, b.y0), Point::new(b.x1, b.y1));
        let lattice = match layout.symmetry {
            Symmetry::Planar => lattice,
            Symmetry::Axial => lattice.with_axis(),
        };
        let screens: Vec<usize> = (0..layout.bodies.len())
            .filter(|&i| matches!(layout.bodies[i].role, Role::Screen { .. }))
            .collect();
        let mut kappa = vec![layout.conductivity.si()];
        for &i in &screens {
            if let Role::Screen { conductivity } = layout.bodies[i].role {
                kappa.push(conductivity.si());
            }
        }
        let mut sources = Vec::new();
        let free = stands_free(layout, CONTACT * layout.tank.diagonal(), sagitta);
        let weld = if free { Weld::default() } else { Weld::new(layout) };
        flatten_into(&mut sources, TANK, &layout.tank, |_| &[], sagitta(TANK), &weld);
        for (i, body) in layout.bodies.iter().enumerate() {
            let id = i as u32;
            let breaks = |l| plan.breaks(i, l);
            flatten_into(&mut sources, id, &body.outline, breaks, sagitta(id), &weld);
        }
        weld.push(&mut sources);
        let loops = if free {
            free_loops(layout, &screens, &sources, plan)
        } else {
            joined_loops(layout, &screens, &sources, plan, &lattice)
        };
        let mut edges = Vec::new();
        for (material, vertices) in loops {
            push_loop(&mut edges, &lattice, material, &vertices);
        }
        let symmetry = layout.symmetry;
        let mut domain = Self { lattice, symmetry, edges, kappa, stretch: Vec::new() };
        let chords = domain.chord_lengths(plan.stretches.len());
        domain.stretch = plan
            .stretches
            .iter()
            .zip(chords)
            .map(|(s, c)| {
                let ratio = (s.to - s.from) / c;
                if (1.0 / ratio - 1.0).abs() < BEND_LOSS { ratio } else { 1.0 }
            })
            .collect();
        domain
    }

    /// Breadth of the section over a cell: at its left side, and how much more at its right.
    pub(crate) fn breadth(&self, cell: Cell) -> [f64; 2] {
        match self.symmetry {
            Symmetry::Planar => [1.0, 0.0],
            // not clipped at the axis: linear over the cell, and no bath lies beyond it
            Symmetry::Axial => [
                std::f64::consts::TAU * self.lattice.metres(cell.low()).x,
                std::f64::consts::TAU * self.lattice.cell_m(cell.level),
            ],
        }
    }

    /// Wetted length of each stretch, along the chords, m.
    pub(crate) fn chord_lengths(&self, stretches: usize) -> Vec<f64> {
        let mut out = vec![0.0; stretches];
        let tick = self.lattice.tick_m();
        for e in &self.edges {
            if let Tag::Metal { stretch, .. } = e.tag {
                let (dx, dy) = ((e.b[0] - e.a[0]) as f64, (e.b[1] - e.a[1]) as f64);
                out[stretch as usize] += tick * dx.hypot(dy);
            }
        }
        out
    }
}

fn flatten_into<'a>(
    sources: &mut Vec<Source>,
    owner: u32,
    outline: &Outline,
    breaks: impl Fn(usize) -> &'a [f64],
    sagitta: f64,
    weld: &Weld,
) {
    for (l, curve) in outline.loops().iter().enumerate() {
        let flat = curve.flatten(&weld.breaks(owner, l, curve, breaks(l)), sagitta);
        sources.push(Source {
            owner,
            s: flat.iter().map(|v| v.s).collect(),
            at: flat.iter().map(|v| v.at).collect(),
            length: curve.length(),
        });
    }
}

/// True if no outline comes within `contact` of another one or of the tank wall, chords included:
/// they may cross where the curves do not.
fn stands_free(layout: &Layout, contact: f64, sagitta: &dyn Fn(u32) -> f64) -> bool {
    let bodies = &layout.bodies;
    // straight outlines have no sagitta to speak of
    let bulge = |owner: u32| Some(sagitta(owner)).filter(|s| *s < f64::MAX).unwrap_or(0.0);
    let bulges: Vec<f64> = (0..bodies.len()).map(|i| bulge(i as u32)).collect();
    let wall = bulge(TANK);
    bodies.iter().enumerate().all(|(i, b)| {
        !b.outline.touches(&layout.tank, contact + bulges[i] + wall)
            && bodies[..i].iter().zip(&bulges).all(|(other, bulge)| {
                !b.outline.touches(&other.outline, contact + bulges[i] + bulge)
            })
    })
}

/// A vertex of a boundary loop and the tag of the edge that starts there.
type TaggedVertex = (Point, Tag, u32);

fn metal_tag(layout: &Layout, plan: &SurfacePlan, owner: u32, loop_index: usize, s: f64) -> Tag {
    let body = owner as usize;
    if owner != TANK && layout.bodies[body].role.is_metal() {
        let stretch = plan.stretch_at(body, loop_index, s);
        // a mask is an insulator on metal
        if plan.stretches[stretch as usize].masked {
            return Tag::Wall;
        }
        Tag::Metal { body: owner, stretch }
    } else if owner != TANK && matches!(layout.bodies[body].role, Role::Screen { .. }) {
        Tag::Interface
    } else {
        Tag::Wall
    }
}

/// Loop number of each source within its own outline.
fn loop_numbers(sources: &[Source]) -> Vec<usize> {
    let mut numbers: Vec<usize> = Vec::with_capacity(sources.len());
    for (k, s) in sources.iter().enumerate() {
        let first = k == 0 || sources[k - 1].owner != s.owner;
        numbers.push(if first { 0 } else { numbers[k - 1] + 1 });
    }
    numbers
}

fn free_loops(
    layout: &Layout,
    screens: &[usize],
    sources: &[Source],
    plan: &SurfacePlan,
) -> Vec<(u16, Vec<TaggedVertex>)> {
    let numbers = loop_numbers(sources);
    let mut loops = Vec::new();
    for (source, &l) in sources.iter().zip(&numbers) {
        let n = source.at.len();
        let tagged = |i: usize| {
            let s1 = if i + 1 < n { source.s[i + 1] } else { source.length };
            metal_tag(layout, plan, source.owner, l, 0.5 * (source.s[i] + s1))
        };
        let forward =
            || (0..n).map(|i| (source.at[i], tagged(i), source.owner)).collect::<Vec<_>>();
        // reversed: the edge that starts at vertex i ends at vertex i − 1
        let backward = || {
            (0..n)
                .rev()
                .map(|i| (source.at[i], tagged((i + n - 1) % n), source.owner))
                .collect::<Vec<_>>()
        };
        let body = source.owner as usize;
        if source.owner == TANK {
            loops.push((0, forward()));
        } else if let Some(k) = screens.iter().position(|&i| i == body) {
            loops.push((k as u16 + 1, forward()));
            loops.push((0, backward()));
        } else {
            let inside =
                screens.iter().position(|&i| layout.bodies[i].outline.contains(source.at[0]));
            loops.push((inside.map_or(0, |k| k as u16 + 1), backward()));
        }
    }
    loops
}

fn joined_loops(
    layout: &Layout,
    screens: &[usize],
    sources: &[Source],
    plan: &SurfacePlan,
    lattice: &Lattice,
) -> Vec<(u16, Vec<TaggedVertex>)> {
    let rings_of = |want: &dyn Fn(u32) -> bool| -> Vec<Vec<Point>> {
        sources.iter().filter(|s| want(s.owner)).map(|s| s.at.clone()).collect()
    };
    let tank = rings_of(&|o| o == TANK);
    // bodies one after the other: they may touch, and a union first would merge their outlines
    let mut bath = tank;
    for i in 0..layout.bodies.len() {
        if !screens.contains(&i) {
            let body = rings_of(&|o| o == i as u32);
            bath = boolean::difference(&bath, &body);
        }
    }
    let mut regions = Vec::new();
    if screens.is_empty() {
        regions.push((0u16, bath));
    } else {
        let mut taken = Vec::new();
        for (k, &i) in screens.iter().enumerate() {
            let screen = rings_of(&|o| o == i as u32);
            let mut inside = boolean::intersection(&bath, &screen);
            let pieces = inside.len();
            inside.retain(|ring| !is_hair(ring, CONTACT * layout.tank.diagonal()));
            // what closing contacts leaves of a screen flush with a body's side counts as open bath
            taken.extend(if inside.len() < pieces { inside.clone() } else { screen });
            regions.push((k as u16 + 1, inside));
        }
        regions.insert(0, (0, boolean::difference(&bath, &taken)));
    }
    let tagger = Tagger::new(layout, sources, plan, 16.0 * lattice.tick_m());
    let mut loops = Vec::new();
    for (material, rings) in regions {
        for ring in rings {
            loops.push((material, tagger.tag(&ring)));
        }
    }
    loops
}

/// True if what a ring encloses is on average narrower than `width`.
fn is_hair(ring: &[Point], width: f64) -> bool {
    let next = ring.iter().cycle().skip(1);
    let around: f64 = ring.iter().zip(next).map(|(a, b)| a.distance(*b)).sum();
    (0.0..0.5 * width * around).contains(&boolean::ring_area(ring))
}

type SourceLine = GeomWithData<Line<[f64; 2]>, (u32, u32)>;

/// Finds which outline an edge of a boolean's result came from.
struct Tagger<'a> {
    layout: &'a Layout,
    sources: &'a [Source],
    numbers: Vec<usize>,
    plan: &'a SurfacePlan,
    tree: RTree<SourceLine>,
    tolerance: f64,
}

impl<'a> Tagger<'a> {
    fn new(
        layout: &'a Layout,
        sources: &'a [Source],
        plan: &'a SurfacePlan,
        tolerance: f64,
    ) -> Self {
        let mut lines = Vec::new();
        for (k, s) in sources.iter().enumerate() {
            for i in 0..s.at.len() {
                let (p, q) = (s.at[i], s.at[(i + 1) % s.at.len()]);
                let line = Line::new([p.x, p.y], [q.x, q.y]);
                lines.push(GeomWithData::new(line, (k as u32, i as u32)));
            }
        }
        let tree = RTree::bulk_load(lines);
        Self { layout, sources, numbers: loop_numbers(sources), plan, tree, tolerance }
    }

    /// The vertices of a ring with tags; edges are split where stretches meet.
    fn tag(&self, ring: &[Point]) -> Vec<TaggedVertex> {
        let mut out = Vec::new();
        for (i, &p) in ring.iter().enumerate() {
            let q = ring[(i + 1) % ring.len()];
            match self.source_of(p, q) {
                Some((k, j)) => self.split(p, q, k, j, &mut out),
                // an edge that only rounding made: an insulating hair
                None => out.push((p, Tag::Wall, TANK)),
            }
        }
        out
    }

    /// The best source edge under the middle of `p`..`q`: metal first, then walls, then screens.
    fn source_of(&self, p: Point, q: Point) -> Option<(usize, usize)> {
        let mid = p.midpoint(q);
        let t = self.tolerance;
        let envelope = AABB::from_corners([mid.x - t, mid.y - t], [mid.x + t, mid.y + t]);
        let rank = |k: u32| {
            let owner = self.sources[k as usize].owner;
            if owner == TANK {
                return 1;
            }
            match self.layout.bodies[owner as usize].role {
                Role::Screen { .. } => 2,
                Role::Shield => 1,
                _ => 0,
            }
        };
        self.tree
            .locate_in_envelope_intersecting(&envelope)
            .filter(|l| self.runs_along(l, p, q))
            .map(|l| (rank(l.data.0), l.data))
            .min()
            .map(|(_, (k, i))| (k as usize, i as usize))
    }

    fn runs_along(&self, line: &SourceLine, p: Point, q: Point) -> bool {
        let (a, b) = (line.geom().from, line.geom().to);
        let (ux, uy) = (b[0] - a[0], b[1] - a[1]);
        let len = ux.hypot(uy);
        let off = |r: Point| ((r.x - a[0]) * uy - (r.y - a[1]) * ux).abs() / len;
        len > 0.0 && off(p) < self.tolerance && off(q) < self.tolerance
    }

    /// Pushes `p` and every vertex of source `k` that lies on `p`..`q`, each with its edge's tag.
    fn split(&self, p: Point, q: Point, k: usize, j: usize, out: &mut Vec<TaggedVertex>) {
        let source = &self.sources[k];
        let n = source.at.len();
        let (dx, dy) = (q.x - p.x, q.y - p.y);
        let len = dx.hypot(dy).max(f64::MIN_POSITIVE);
        let along = |r: Point| ((r.x - p.x) * dx + (r.y - p.y) * dy) / len;
        let off = |r: Point| ((r.x - p.x) * dy - (r.y - p.y) * dx).abs() / len;
        let on = |i: usize| {
            let r = source.at[i];
            let t = along(r);
            off(r) < self.tolerance && t > self.tolerance && t < len - self.tolerance
        };
        // vertices of the source that follow each other on this edge, both ways from edge j
        let mut inner = Vec::new();
        let mut i = (j + 1) % n;
        while on(i) && inner.len() < n {
            inner.push(i);
            i = (i + 1) % n;
        }
        let mut i = j;
        while on(i) && inner.len() < n {
            inner.push(i);
            i = (i + n - 1) % n;
        }
        inner.sort_by(|&a, &b| along(source.at[a]).total_cmp(&along(source.at[b])));
        inner.dedup();
        let points: Vec<Point> = std::iter::once(p)
            .chain(inner.iter().map(|&i| source.at[i]))
            .chain(std::iter::once(q))
            .collect();
        for pair in points.windows(2) {
            let s = self.arc_length(k, j, pair[0].midpoint(pair[1]));
            let tag = metal_tag(self.layout, self.plan, source.owner, self.numbers[k], s);
            out.push((pair[0], tag, source.owner));
        }
    }

    /// Arc length on source `k` of a point on the straight run that edge `j` belongs to.
    fn arc_length(&self, k: usize, j: usize, r: Point) -> f64 {
        let source = &self.sources[k];
        let n = source.at.len();
        let (a, b) = (source.at[j], source.at[(j + 1) % n]);
        let (ux, uy) = (b.x - a.x, b.y - a.y);
        let t = ((r.x - a.x) * ux + (r.y - a.y) * uy) / (ux * ux + uy * uy);
        let s1 = if j + 1 < n { source.s[j + 1] } else { source.length };
        (source.s[j] + t * (s1 - source.s[j])).rem_euclid(source.length)
    }
}

/// Snaps a loop to the lattice and links its edges; hairs of zero length and area drop out.
fn push_loop(edges: &mut Vec<Edge>, lattice: &Lattice, material: u16, vertices: &[TaggedVertex]) {
    let mut kept: Vec<(Tick, Tag, u32)> = Vec::with_capacity(vertices.len());
    for &(p, tag, owner) in vertices {
        let t = lattice.snap(p);
        match kept.last_mut() {
            // the edge before shrank to nothing: this one starts where it did
            Some(last) if last.0 == t => *last = (t, tag, owner),
            _ => kept.push((t, tag, owner)),
        }
    }
    while kept.len() > 1 && kept[0].0 == kept[kept.len() - 1].0 {
        kept.pop();
    }
    // spikes: an edge that goes back over the one before
    let mut i = 0;
    while kept.len() >= 3 && i < kept.len() {
        let n = kept.len();
        let (a, b, c) = (kept[(i + n - 1) % n].0, kept[i].0, kept[(i + 1) % n].0);
        let dot = (b[0] - a[0]) as f64 * (c[0] - b[0]) as f64
            + (b[1] - a[1]) as f64 * (c[1] - b[1]) as f64;
        if a == b || (orientation(a, b, c) == 0 && dot < 0.0) {
            kept.remove(i);
            i = i.saturating_sub(2);
        } else {
            i += 1;
        }
    }
    if kept.len() < 3 {
        return;
    }
    let (first, n) = (edges.len() as u32, kept.len() as u32);
    for (i, &(a, tag, owner)) in kept.iter().enumerate() {
        let i = i as u32;
        let b = kept[((i + 1) % n) as usize].0;
        edges.push(Edge {
            a,
            b,
            next: first + (i + 1) % n,
            prev: first + (i + n - 1) % n,
            material,
            tag,
            owner,
        });
    }
}

#[cfg(test)]
mod tests;
