//! The bath inside one cell: exact clipping of the boundary against the cell's square.
//!
//! The boundary runs through a cell as chains of edges, bath on the left. From where a chain
//! leaves the cell the bath continues counter-clockwise along the cell's side to where the next
//! chain enters; following this gives every connected piece of bath in the cell, however many
//! there are: a thin sheet through a cell leaves two.

use super::lattice::{Cell, Tick, is_left};
use crate::domain::Edge;

/// A point of a piece's outline in cell coordinates (0..1) and the edge that starts there.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Corner {
    pub(crate) at: [f64; 2],
    /// The boundary edge from here to the next corner; `None` along the cell's side.
    pub(crate) edge: Option<u32>,
}

/// One connected piece of one material within a cell.
#[derive(Debug, Clone)]
pub(crate) struct Piece {
    pub(crate) material: u16,
    /// Closed loops, bath on the left: the outer one, then holes. Empty for a whole cell.
    pub(crate) loops: Vec<Vec<Corner>>,
    /// Share of the cell's area.
    pub(crate) fraction: f64,
    /// Open intervals (0..1) on the bottom, right, top and left side.
    pub(crate) sides: [Vec<[f64; 2]>; 4],
    /// True if two stretches of boundary face each other across this piece.
    pub(crate) narrow: bool,
}

impl Piece {
    /// A cell without boundary.
    pub(crate) fn whole(material: u16) -> Self {
        let full = || vec![[0.0, 1.0]];
        Self {
            material,
            loops: Vec::new(),
            fraction: 1.0,
            sides: [full(), full(), full(), full()],
            narrow: false,
        }
    }

    /// True for a cell that no boundary touches.
    pub(crate) fn is_whole(&self) -> bool {
        self.loops.is_empty()
    }

    /// Even-odd test in cell coordinates.
    pub(crate) fn contains(&self, p: [f64; 2]) -> bool {
        if self.is_whole() {
            return true;
        }
        let mut inside = false;
        for lp in &self.loops {
            inside ^= inside_loop(lp, p);
        }
        inside
    }
}

fn inside_loop(lp: &[Corner], p: [f64; 2]) -> bool {
    let mut inside = false;
    for (i, c) in lp.iter().enumerate() {
        let (a, b) = (c.at, lp[(i + 1) % lp.len()].at);
        if (a[1] > p[1]) != (b[1] > p[1]) {
            let x = a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
            inside ^= x > p[0];
        }
    }
    inside
}

/// A place on the cell's perimeter.
#[derive(Debug, Clone, Copy)]
struct Spot {
    /// Side number + way along it, counter-clockwise.
    at: f64,
    /// The side: at a corner, the end of one side comes before the start of the next.
    side: u8,
}

/// Where an edge meets the cell's perimeter.
#[derive(Debug, Clone, Copy)]
struct Crossing {
    spot: Spot,
    enters: bool,
}

fn corner(cell: Cell, k: usize) -> Tick {
    let (l, h) = (cell.low(), cell.high());
    match k % 4 {
        0 => l,
        1 => [h[0], l[1]],
        2 => h,
        _ => [l[0], h[1]],
    }
}

/// Crossing of an edge with side `k` of a cell, decided exactly.
fn crossing(cell: Cell, e: &Edge, k: usize) -> Option<Crossing> {
    // axis across the side, and the side's position on it
    let axis = if k.is_multiple_of(2) { 1 } else { 0 };
    let at = if k == 1 || k == 2 { cell.high()[axis] } else { cell.low()[axis] };
    let (below_a, below_b) = (e.a[axis] < at, e.b[axis] < at);
    if below_a == below_b {
        return None;
    }
    let (c0, c1) = (corner(cell, k), corner(cell, k + 1));
    if is_left(e.a, e.b, c0) == is_left(e.a, e.b, c1) {
        return None;
    }
    let t = (at - e.a[axis]) as f64 / (e.b[axis] - e.a[axis]) as f64;
    let other = 1 - axis;
    let along = (e.a[other] - cell.low()[other]) as f64 + t * (e.b[other] - e.a[other]) as f64;
    let way = (along / cell.ticks() as f64).clamp(0.0, 1.0);
    let way = if k >= 2 { 1.0 - way } else { way };
    let inner_is_above = k == 0 || k == 3;
    let spot = Spot { at: k as f64 + way, side: k as u8 };
    Some(Crossing { spot, enters: below_a == inner_is_above })
}

fn inside(cell: Cell, t: Tick) -> bool {
    let (l, h) = (cell.low(), cell.high());
    t[0] > l[0] && t[0] < h[0] && t[1] > l[1] && t[1] < h[1]
}

/// True if an edge has a point in a cell.
pub(crate) fn meets(cell: Cell, e: &Edge) -> bool {
    let (l, h) = (cell.low(), cell.high());
    if (e.a[0] < l[0] && e.b[0] < l[0])
        || (e.a[0] > h[0] && e.b[0] > h[0])
        || (e.a[1] < l[1] && e.b[1] < l[1])
        || (e.a[1] > h[1] && e.b[1] > h[1])
    {
        return false;
    }
    inside(cell, e.a) || inside(cell, e.b) || (0..4).any(|k| crossing(cell, e, k).is_some())
}

fn on_perimeter(at: f64) -> [f64; 2] {
    let side = (at.floor() as usize).min(3);
    let way = at - side as f64;
    match side {
        0 => [way, 0.0],
        1 => [1.0, way],
        2 => [1.0 - way, 1.0],
        _ => [0.0, 1.0 - way],
    }
}

/// A run of edges through the cell.
struct Chain {
    corners: Vec<Corner>,
    /// Where it enters and leaves; `None` for a closed loop.
    ends: Option<(Spot, Spot)>,
}

struct Span {
    edge: u32,
    enter: Option<Spot>,
    exit: Option<Spot>,
}

fn spans(cell: Cell, edges: &[Edge], ids: &[u32]) -> Vec<Span> {
    ids.iter()
        .map(|&id| {
            let e = &edges[id as usize];
            let mut span = Span { edge: id, enter: None, exit: None };
            for c in (0..4).filter_map(|k| crossing(cell, e, k)) {
                if c.enters {
                    span.enter = Some(c.spot);
                } else {
                    span.exit = Some(c.spot);
                }
            }
            span
        })
        .collect()
}

fn chains(cell: Cell, edges: &[Edge], ids: &[u32]) -> Vec<Chain> {
    let spans = spans(cell, edges, ids);
    let slot = |edge: u32| spans.binary_search_by_key(&edge, |s| s.edge).ok();
    let local = |t: Tick| cell.local([t[0] as f64, t[1] as f64]);
    let mut seen = vec![false; spans.len()];
    let mut out = Vec::new();
    let follow = |start: usize, seen: &mut [bool]| -> Option<Chain> {
        let enter = spans[start].enter;
        let first = match enter {
            Some(spot) => on_perimeter(spot.at),
            None => local(edges[spans[start].edge as usize].a),
        };
        let mut corners = vec![Corner { at: first, edge: Some(spans[start].edge) }];
        let mut k = start;
        loop {
            seen[k] = true;
            if let Some(exit) = spans[k].exit {
                return enter.map(|e| Chain { corners, ends: Some((e, exit)) });
            }
            let next = edges[spans[k].edge as usize].next;
            k = slot(next)?;
            if k == start {
                return Some(Chain { corners, ends: None });
            }
            if seen[k] {
                return None;
            }
            corners.push(Corner { at: local(edges[next as usize].a), edge: Some(next) });
        }
    };
    // chains that enter first; what is left then are loops inside the cell
    for wants_entry in [true, false] {
        for k in 0..spans.len() {
            if !seen[k] && spans[k].enter.is_some() == wants_entry {
                out.extend(follow(k, &mut seen));
            }
        }
    }
    out
}

fn signed_area(lp: &[Corner]) -> f64 {
    let o = lp[0].at;
    let mut twice = 0.0;
    for i in 1..lp.len().saturating_sub(1) {
        let (p, q) = (lp[i].at, lp[i + 1].at);
        twice += (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0]);
    }
    0.5 * twice
}

/// All pieces of one material in a cell, from the edges of that material that meet the cell.
///
/// `ids` must be sorted and not empty; a cell without edges is [`Piece::whole`] or nothing.
pub(crate) fn pieces(cell: Cell, edges: &[Edge], ids: &[u32], material: u16) -> Vec<Piece> {
    let chains = chains(cell, edges, ids);
    let mut outer: Vec<Piece> = Vec::new();
    let mut holes: Vec<Vec<Corner>> = Vec::new();
    let mut events: Vec<Event> = Vec::new();
    for (k, c) in chains.iter().enumerate() {
        if let Some((enter, exit)) = c.ends {
            events.push(Event { spot: enter, chain: k, enters: true });
            events.push(Event { spot: exit, chain: k, enters: false });
        }
    }
    events.sort_by(|a, b| a.spot.at.total_cmp(&b.spot.at).then(a.spot.side.cmp(&b.spot.side)));
    alternate(&mut events);
    let mut used = vec![false; chains.len()];
    for start in 0..chains.len() {
        if chains[start].ends.is_none() || used[start] {
            continue;
        }
        if let Some(p) = walk(&chains, &events, &mut used, start, material) {
            outer.push(p);
        }
    }
    let mut pockets = Vec::new();
    for c in chains.iter().filter(|c| c.ends.is_none() && c.corners.len() >= 3) {
        if signed_area(&c.corners) > 0.0 {
            pockets.push(c.corners.clone());
        } else {
            holes.push(c.corners.clone());
        }
    }
    // nothing crosses the perimeter: it lies in the bath if the outermost loop is a hole
    if events.is_empty() {
        let size = |lp: &[Corner]| signed_area(lp).abs();
        let largest_pocket = pockets.iter().map(|l| size(l)).fold(0.0, f64::max);
        let largest_hole = holes.iter().map(|l| size(l)).fold(0.0, f64::max);
        if largest_hole > largest_pocket {
            let square = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
            let mut p = Piece::whole(material);
            p.loops = vec![square.iter().map(|&at| Corner { at, edge: None }).collect()];
            outer.push(p);
        }
    }
    for lp in pockets {
        let mut p = Piece::whole(material);
        p.sides = Default::default();
        p.fraction = signed_area(&lp);
        p.loops = vec![lp];
        outer.push(p);
    }
    for hole in holes {
        let inside = |p: &&mut Piece| inside_loop(&p.loops[0], hole[0].at);
        // the smallest loop around it
        let around = outer
            .iter_mut()
            .filter(inside)
            .min_by(|a, b| signed_area(&a.loops[0]).total_cmp(&signed_area(&b.loops[0])));
        if let Some(p) = around {
            p.fraction += signed_area(&hole);
            p.loops.push(hole);
        }
    }
    // a hair of bath below rounding carries nothing and would only spoil the matrix
    outer.retain(|p| p.fraction > 1e-12);
    outer
}

/// A chain enters or leaves the cell.
#[derive(Debug, Clone, Copy)]
struct Event {
    spot: Spot,
    chain: usize,
    enters: bool,
}

/// Puts entries and exits in turn where rounding has swapped two that coincide.
fn alternate(events: &mut [Event]) {
    for i in 1..events.len() {
        if events[i].enters == events[i - 1].enters
            && i + 1 < events.len()
            && events[i + 1].enters != events[i].enters
            && (events[i + 1].spot.at - events[i].spot.at).abs() < 1e-9
        {
            events.swap(i, i + 1);
        }
    }
}

fn walk(
    chains: &[Chain],
    events: &[Event],
    used: &mut [bool],
    start: usize,
    material: u16,
) -> Option<Piece> {
    let mut lp: Vec<Corner> = Vec::new();
    let mut sides: [Vec<[f64; 2]>; 4] = Default::default();
    let mut members = Vec::new();
    let mut k = start;
    loop {
        if used[k] {
            return None;
        }
        used[k] = true;
        members.push(k);
        lp.extend_from_slice(&chains[k].corners);
        let exit_slot = events.iter().position(|e| e.chain == k && !e.enters)?;
        let exit = events[exit_slot].spot.at;
        let next = events[(exit_slot + 1) % events.len()];
        if !next.enters {
            return None;
        }
        along_perimeter(exit, next.spot.at, exit_slot + 1 == events.len(), &mut lp, &mut sides);
        k = next.chain;
        if k == start {
            break;
        }
    }
    let fraction = signed_area(&lp);
    let narrow = faces_itself(chains, &members);
    Some(Piece { material, loops: vec![lp], fraction, sides, narrow })
}

/// Adds the way from perimeter position `from` counter-clockwise to `to`.
fn along_perimeter(
    from: f64,
    to: f64,
    wraps: bool,
    lp: &mut Vec<Corner>,
    sides: &mut [Vec<[f64; 2]>; 4],
) {
    let to = if wraps || to < from { to + 4.0 } else { to };
    let mut at = from;
    lp.push(Corner { at: on_perimeter(at.rem_euclid(4.0)), edge: None });
    while at < to {
        let end = (at.floor() + 1.0).min(to);
        let side = (at.floor() as usize) % 4;
        let (w0, w1) = (at - at.floor(), end - at.floor());
        if w1 > w0 {
            let interval = if side < 2 { [w0, w1] } else { [1.0 - w1, 1.0 - w0] };
            sides[side].push(interval);
        }
        if end < to {
            lp.push(Corner { at: on_perimeter(end.rem_euclid(4.0)), edge: None });
        }
        at = end;
    }
}

/// True if two chains of a piece run against each other: boundary on both sides of a narrow gap.
fn faces_itself(chains: &[Chain], members: &[usize]) -> bool {
    let direction = |k: usize| -> [f64; 2] {
        let first = chains[k].corners[0].at;
        let last = chains[k].ends.map_or(first, |(_, exit)| on_perimeter(exit.at));
        let (dx, dy) = (last[0] - first[0], last[1] - first[1]);
        let len = dx.hypot(dy).max(1e-300);
        [dx / len, dy / len]
    };
    members.iter().enumerate().any(|(i, &a)| {
        members[..i].iter().any(|&b| {
            let (u, v) = (direction(a), direction(b));
            u[0] * v[0] + u[1] * v[1] < -0.3
        })
    })
}

#[cfg(test)]
mod tests;
