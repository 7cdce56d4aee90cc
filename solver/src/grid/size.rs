//! How fine the first grid is: a guess from geometry and polarization, mended by the estimate.

use super::lattice::Tick;
use super::tree::Wanted;
use crate::domain::{Domain, Edge, TANK, Tag};
use crate::layout::{Layout, Role};

/// What the sizes depend on beside the geometry.
#[derive(Debug, Clone)]
pub(crate) struct Hints {
    /// κ dη/di at each body's expected mean current density, m; 0 for no polarization.
    pub(crate) polarization_m: Vec<f64>,
    /// Wanted relative accuracy.
    pub(crate) accuracy: f64,
}

// All shares below were tuned by measurement: unknowns against true error over the reference
// layouts; the error estimate mends what they miss.

/// Cells on a part, as a share of the tank.
const PART: f64 = 0.08;
/// Cells on other metal, on shields and on the tank's walls, against those on a part.
const ANODE: f64 = 1.5;
const SHIELD: f64 = 5.0;
const WALL: f64 = 6.0;
/// Cells on a curve, as a share of its radius.
const CURVE: f64 = 0.35;
/// Cell at a sharp corner, as a share of the shorter side or of twice the polarization length.
const CORNER: f64 = 0.03;
/// Corners of other metal and of insulators against those of parts. Current bends around them as around
/// a part's own, and what is lost there is missing everywhere else: with cells twice as large, parts
/// beside them were off by more than they stated.
const OFF_PART: f64 = 4.0;
const OFF_SHIELD: f64 = 2.0;
/// Corners of a screen that conducts as well as the bath, where nothing happens.
const OFF_SCREEN: f64 = 16.0;
/// A loop's length against the side that a bend on it is measured by, as corners are by theirs.
const SIDES: f64 = 0.25;
/// Where a part meets an insulator, against a part's own corner: polarization weakens this
/// singularity less, and both degrees feel it alike, so that the estimate does not see it. With cells
/// twice as large, strips flush with a wall had 92 % of their points covered at 1 %, now 96 %.
const JUNCTION: f64 = 0.18;
/// Cells beside a corner, as a share of the distance to it.
const BESIDE: f64 = 0.5;
/// Least cell at a corner without polarization, as a share of the shorter side.
const TIP: f64 = 5e-4;
/// Cell where metals at different potentials meet, as a share of the shorter side: the density
/// grows like one over the distance until polarization holds it, and every decade of distance
/// carries as much current as the next.
const MEETING: f64 = 1e-6;
/// Largest cell anywhere, as a share of the tank.
const ANYWHERE: f64 = 0.3;
/// Least cell that a narrow gap may ask for, as a share of the tank.
const GAP: f64 = 1.0 / 65536.0;

/// Wanted levels for the first grid.
pub(crate) fn wanted(domain: &Domain, layout: &Layout, hints: &Hints) -> Wanted {
    let lattice = &domain.lattice;
    let tank = lattice.side_m();
    let fine = fineness(hints.accuracy);
    let mut corners = Corners::new(domain);
    let mut wanted = Wanted {
        edge: vec![0; domain.edges.len()],
        vertex: vec![0; domain.edges.len()],
        floor: lattice.level_for(ANYWHERE * tank * fine),
        gap: lattice.level_for(GAP * tank),
    };
    for (i, e) in domain.edges.iter().enumerate() {
        let share = PART * owner_factor(layout, e);
        let mut h = share * tank;
        if let Some(radius) = radius(domain, i) {
            let curve = CURVE * if on_part(layout, e) { 1.0 } else { 1.5 };
            // polarization smooths the density at a bend smaller than its length, but the current in
            // the bath turns there as at a corner
            let length = polarization(hints, e, e);
            let side = SIDES * corners.loop_length(i) * lattice.tick_m();
            let off = if is_cathode(layout, e) { 1.0 } else { OFF_PART };
            let soft = if length.is_finite() { CORNER * length.min(off * side) } else { 0.0 };
            h = h.min((curve * radius * lattice.tick_m()).max(soft));
        }
        wanted.edge[i] = lattice.level_for(h * fine);
        if let Some(factor) = corner_factor(domain, layout, i) {
            let side = corners.shorter_side(i) * lattice.tick_m();
            let length = polarization(hints, e, &domain.edges[e.prev as usize]);
            let h = (CORNER * side.min(2.0 * length)).max(TIP * side) * factor;
            wanted.vertex[i] = lattice.level_for(h * fine);
            corners.mark_singular(i, factor.sqrt(), length.min(side) / lattice.tick_m());
        }
        if let Some((a, b)) = metals(domain, i)
            && apart(layout.bodies[a].role, layout.bodies[b].role)
        {
            let side = corners.shorter_side(i) * lattice.tick_m();
            let level = lattice.level_for(MEETING * side * fine);
            wanted.vertex[i] = wanted.vertex[i].max(level);
        }
    }
    for (i, e) in domain.edges.iter().enumerate() {
        if matches!(e.tag, Tag::Metal { .. }) {
            let h = corners.near_corner(i, 0.5 * length(e.a, e.b)) * lattice.tick_m();
            wanted.edge[i] = wanted.edge[i].max(lattice.level_for(h * fine));
        }
    }
    wanted
}

/// Up to here cells follow the accuracy asked for as the error follows the cells.
const LOOSE: f64 = 0.05;

/// Size of cells against those for 1 %.
///
/// The error is of third order in the cells: a tenth of it needs cells of about half the size. What
/// is only to be known roughly is met by coarser cells than that, which smooth outlines allow.
fn fineness(accuracy: f64) -> f64 {
    let strict = libm::cbrt(accuracy.min(LOOSE) / 0.01);
    1.0 * (strict * libm::sqrt((accuracy / LOOSE).max(1.0))).clamp(0.2, 4.0)
}

fn owner_factor(layout: &Layout, e: &Edge) -> f64 {
    if e.owner == TANK {
        return WALL;
    }
    if e.tag == Tag::Wall {
        return SHIELD;
    }
    match layout.bodies[e.owner as usize].role {
        Role::Part => 1.0,
        Role::Thief { .. } | Role::Floating => 1.5,
        Role::Anode => ANODE,
        Role::Shield | Role::Screen { .. } => SHIELD,
    }
}

fn on_part(layout: &Layout, e: &Edge) -> bool {
    e.owner != TANK && e.tag != Tag::Wall && layout.bodies[e.owner as usize].role == Role::Part
}

/// Polarization length at a corner: the shorter of its two metals; without metal the corner's
/// field is as sharp as without polarization, but far less so once it reaches a part.
fn polarization(hints: &Hints, a: &Edge, b: &Edge) -> f64 {
    let of = |e: &Edge| match e.tag {
        Tag::Metal { body, .. } => hints.polarization_m[body as usize],
        Tag::Wall | Tag::Interface => f64::INFINITY,
    };
    of(a).min(of(b))
}

fn turn(domain: &Domain, i: usize) -> f64 {
    let e = &domain.edges[i];
    let p = &domain.edges[e.prev as usize];
    let v = |e: &Edge| [(e.b[0] - e.a[0]) as f64, (e.b[1] - e.a[1]) as f64];
    let (u, w) = (v(p), v(e));
    libm::atan2(u[0] * w[1] - u[1] * w[0], u[0] * w[0] + u[1] * w[1])
}

/// Turns of more than this are corners (8°); less is a curve's chords.
const CORNER_TURN: f64 = 0.14;

/// Radius of the curve that an edge is a chord of, in ticks; `None` on straight runs.
fn radius(domain: &Domain, i: usize) -> Option<f64> {
    let e = &domain.edges[i];
    let bends = |t: f64| t.abs() > 1e-4 && t.abs() < CORNER_TURN;
    let (here, next) = (turn(domain, i), turn(domain, e.next as usize));
    let t = match (bends(here), bends(next)) {
        (true, true) => 0.5 * (here.abs() + next.abs()),
        (true, false) => 0.5 * here.abs(),
        (false, true) => 0.5 * next.abs(),
        (false, false) => return None,
    };
    let len = ((e.b[0] - e.a[0]) as f64).hypot((e.b[1] - e.a[1]) as f64);
    Some(len / t)
}

/// Where the field is singular at the start of edge `i`, how much coarser than at a part's corner
/// the cells may be; `None` where it is smooth.
fn corner_factor(domain: &Domain, layout: &Layout, i: usize) -> Option<f64> {
    let e = &domain.edges[i];
    let p = &domain.edges[e.prev as usize];
    let bath_angle = std::f64::consts::PI - turn(domain, i);
    let metal = |e: &Edge| matches!(e.tag, Tag::Metal { .. });
    let same_kind = match (e.tag, p.tag) {
        (Tag::Metal { body: a, .. }, Tag::Metal { body: b, .. }) => a == b,
        (Tag::Wall, Tag::Wall) => true,
        (Tag::Interface, Tag::Interface) => {
            // as sharp as a shield's corner if the screen hardly conducts, none if it is like the bath
            let factor = OFF_SHIELD + (OFF_SCREEN - OFF_SHIELD) * openness(layout, e);
            return (turn(domain, i).abs() > CORNER_TURN).then_some(factor);
        }
        _ => false,
    };
    let smooth_up_to = if same_kind { 1.0 } else { 0.5 } * std::f64::consts::PI + CORNER_TURN;
    if bath_angle <= smooth_up_to {
        return None;
    }
    Some(if is_cathode(layout, e) || is_cathode(layout, p) {
        if same_kind { 1.0 } else { JUNCTION }
    } else if metal(e) || metal(p) {
        OFF_PART
    } else {
        OFF_SHIELD
    })
}

/// True on bare metal that is plated or may be.
fn is_cathode(layout: &Layout, e: &Edge) -> bool {
    matches!(e.tag, Tag::Metal { .. })
        && e.owner != TANK
        && matches!(
            layout.bodies[e.owner as usize].role,
            Role::Part | Role::Thief { .. } | Role::Floating
        )
}

/// How well a screen conducts, as a share of the bath.
fn openness(layout: &Layout, e: &Edge) -> f64 {
    match layout.bodies.get(e.owner as usize).map(|b| b.role) {
        Some(Role::Screen { conductivity }) => conductivity.si() / layout.conductivity.si(),
        _ => 1.0,
    }
}

/// The two bodies whose metal meets at the start of edge `i`.
fn metals(domain: &Domain, i: usize) -> Option<(usize, usize)> {
    let e = &domain.edges[i];
    match (e.tag, domain.edges[e.prev as usize].tag) {
        (Tag::Metal { body: a, .. }, Tag::Metal { body: b, .. }) if a != b => {
            Some((a as usize, b as usize))
        }
        _ => None,
    }
}

/// True if metals of these roles are at different potentials.
fn apart(a: Role, b: Role) -> bool {
    let cathode = |r: Role| matches!(r, Role::Part | Role::Thief { .. });
    let both = |of: &dyn Fn(Role) -> bool| of(a) && of(b);
    !(both(&cathode) || both(&|r| r == Role::Anode))
}

/// Where the corners of each boundary loop are.
struct Corners {
    /// Arc length of each edge's start along its loop, ticks.
    along: Vec<f64>,
    /// The loop of each edge.
    loop_of: Vec<u32>,
    /// For each loop the sorted arc lengths of its corners, then its whole length.
    lists: Vec<Vec<f64>>,
    /// For each loop its singular corners: (arc length, factor, polarization length), ticks.
    singular: Vec<Vec<(f64, f64, f64)>>,
}

impl Corners {
    fn new(domain: &Domain) -> Self {
        let n = domain.edges.len();
        let mut out = Self {
            along: vec![0.0; n],
            loop_of: vec![0; n],
            lists: Vec::new(),
            singular: Vec::new(),
        };
        let mut i = 0;
        while i < n {
            let first = i;
            let mut s = 0.0;
            let mut found = Vec::new();
            loop {
                let e = &domain.edges[i];
                out.along[i] = s;
                out.loop_of[i] = out.lists.len() as u32;
                let prev = &domain.edges[e.prev as usize];
                // another body, or the end of a mask
                let changes =
                    prev.owner != e.owner || (prev.tag == Tag::Wall) != (e.tag == Tag::Wall);
                if changes || turn(domain, i).abs() > CORNER_TURN {
                    found.push(s);
                }
                s += length(e.a, e.b);
                i += 1;
                if e.next as usize == first {
                    break;
                }
            }
            found.push(s);
            out.lists.push(found);
            out.singular.push(Vec::new());
        }
        out
    }

    fn mark_singular(&mut self, i: usize, factor: f64, polarization: f64) {
        self.singular[self.loop_of[i] as usize].push((self.along[i], factor, polarization));
    }

    /// Largest cell on an edge beside singular corners, ticks; `half` is half the edge's length.
    ///
    /// Where the density falls like a power of the distance, cells are a fixed share of it;
    /// within the polarization length, or the side's own length, it is smooth.
    fn near_corner(&self, i: usize, half: f64) -> f64 {
        let l = self.loop_of[i] as usize;
        let total = self.lists[l][self.lists[l].len() - 1];
        let list = &self.singular[l];
        if list.is_empty() {
            return f64::MAX;
        }
        let s = self.along[i] + half;
        let k = list.partition_point(|c| c.0 < s);
        let n = list.len();
        [list[(k + n - 1) % n], list[k % n]]
            .iter()
            .map(|&(c, factor, length)| {
                let d = (s - c).rem_euclid(total);
                BESIDE * factor * d.min(total - d).max(length)
            })
            .fold(f64::MAX, f64::min)
    }

    /// Length of the loop of edge `i`, ticks.
    fn loop_length(&self, i: usize) -> f64 {
        self.lists[self.loop_of[i] as usize].last().copied().unwrap_or(0.0)
    }

    /// Distance along the loop from the start of edge `i` to the nearest other corner, ticks.
    fn shorter_side(&self, i: usize) -> f64 {
        let list = &self.lists[self.loop_of[i] as usize];
        let (corners, total) = list.split_at(list.len() - 1);
        let total = total[0];
        let s = self.along[i];
        let k = corners.partition_point(|&c| c < s);
        if corners.len() < 2 {
            return total;
        }
        let n = corners.len();
        let before = corners[(k + n - 1) % n];
        let after = corners[if corners.get(k) == Some(&s) { (k + 1) % n } else { k % n }];
        (s - before).rem_euclid(total).min((after - s).rem_euclid(total))
    }
}

fn length(a: Tick, b: Tick) -> f64 {
    ((b[0] - a[0]) as f64).hypot((b[1] - a[1]) as f64)
}

#[cfg(test)]
mod tests;
