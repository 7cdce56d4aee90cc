//! Where along an outline results are reported: short stretches that shrink towards corners,
//! small radii and neighbours, fixed by the outlines alone.
//!
//! Means over fixed stretches converge with second order even without polarization, where the
//! point value at a chord's or a part's corner does not exist. Because the stretches do not know
//! of the grid, they move with the body when it moves.

use shapes::{Loop, Outline, Vec2};

use crate::layout::{Body, Layout, Role, Symmetry};

/// Longest stretch as a share of its loop.
const SHARE: f64 = 1.0 / 96.0;
/// Stretch next to a sharp corner, m: what a plater can still tell apart on the part.
const TIP_M: f64 = 1e-4;
/// Stretches nearer to a corner than this many of the shortest ones belong to its tip: no more
/// than 0.3 mm.
const TIP_REACH: f64 = 3.0;
/// The same as a share of the shorter side at the corner, for small parts.
const TIP_SHARE: f64 = 0.02;
/// Growth of stretches with the distance from a corner: small enough that the mean over a stretch
/// is the value at its middle within 0.1 % even where the density falls like distance^(−1/2).
const GROWTH: f64 = 0.25;
/// Stretch on a curve as a share of its radius.
const BEND: f64 = 0.15;
/// Stretch as a share of the distance to the nearest other body.
const GAP: f64 = 0.3;

/// One stretch of a loop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct PlanStretch {
    pub(crate) body: usize,
    pub(crate) loop_index: usize,
    /// Arc length where it begins and ends (may run past the loop's length), m.
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// True if it lies at a corner or where other metal touches or nearly so: the density there
    /// has no bound, and the accuracy asked for is not promised.
    pub(crate) tip: bool,
    /// True if it is stopped off: an insulator without results.
    pub(crate) masked: bool,
}

/// The stretches of all metal outlines of a layout.
#[derive(Debug, Clone)]
pub(crate) struct SurfacePlan {
    pub(crate) stretches: Vec<PlanStretch>,
    /// For each body, for each loop: sorted arc lengths of the breaks and the first stretch.
    loops: Vec<Vec<LoopPlan>>,
}

#[derive(Debug, Clone, Default)]
struct LoopPlan {
    breaks: Vec<f64>,
    first: usize,
}

impl SurfacePlan {
    /// Plans the stretches of every body with metal.
    pub(crate) fn new(layout: &Layout) -> Self {
        let mut plan = Self { stretches: Vec::new(), loops: Vec::new() };
        for (b, body) in layout.bodies.iter().enumerate() {
            let mut loops = Vec::new();
            if body.role.is_metal() {
                let coarse = if body.role == Role::Anode { 2.0 } else { 1.0 };
                let others: Vec<&Outline> = (0..layout.bodies.len())
                    .filter(|&o| o != b && !matches!(layout.bodies[o].role, Role::Screen { .. }))
                    .map(|o| &layout.bodies[o].outline)
                    .collect();
                let metal: Vec<&Outline> = (0..layout.bodies.len())
                    .filter(|&o| o != b && layout.bodies[o].role.is_metal())
                    .map(|o| &layout.bodies[o].outline)
                    .collect();
                for (l, curve) in body.outline.loops().iter().enumerate() {
                    let mask_ends: Vec<f64> = body.mask_ends(l).collect();
                    let ruler = Ruler::new(curve, coarse, &mask_ends, &others, layout.symmetry);
                    let first = plan.stretches.len();
                    loops.push(plan.add_loop((b, body), l, curve, &ruler));
                    mark_contacts(&mut plan.stretches[first..], curve, &metal);
                }
            } else {
                loops = vec![LoopPlan::default(); body.outline.loops().len()];
            }
            plan.loops.push(loops);
        }
        plan
    }

    fn add_loop(
        &mut self,
        (index, body): (usize, &Body),
        l: usize,
        curve: &Loop,
        ruler: &Ruler,
    ) -> LoopPlan {
        let total = curve.length();
        let anchors = ruler.anchors(body.significant_ends(l));
        let first = self.stretches.len();
        let mut breaks = Vec::new();
        for (i, &(from, sharp)) in anchors.iter().enumerate() {
            let (next, next_sharp) = anchors[(i + 1) % anchors.len()];
            let to = if i + 1 < anchors.len() { next } else { next + total };
            let cuts = ruler.divide(curve, from, to);
            let last = cuts.len() - 2;
            for (k, pair) in cuts.windows(2).enumerate() {
                let middle = 0.5 * (pair[0] + pair[1]);
                let reach = TIP_REACH * ruler.tip(from, to);
                let tip = (sharp && (k == 0 || middle - from < reach))
                    || (next_sharp && (k == last || to - middle < reach));
                self.stretches.push(PlanStretch {
                    body: index,
                    loop_index: l,
                    from: pair[0],
                    to: pair[1],
                    tip,
                    masked: body.is_masked(l, middle),
                });
                breaks.push(pair[0]);
            }
        }
        // the last stretches may begin past the end of the loop if the first corner is not at 0
        let shift = breaks.iter().filter(|&&b| b >= total).count();
        let mut stretches = self.stretches.split_off(first);
        let split = stretches.len() - shift;
        stretches.rotate_left(split);
        for s in &mut stretches[..shift] {
            s.from -= total;
            s.to -= total;
        }
        let breaks = stretches.iter().map(|s| s.from).collect();
        self.stretches.extend(stretches);
        LoopPlan { breaks, first }
    }

    /// Sorted arc lengths where stretches of a loop meet.
    pub(crate) fn breaks(&self, body: usize, loop_index: usize) -> &[f64] {
        &self.loops[body][loop_index].breaks
    }

    /// The stretch that holds arc length `s` of a loop.
    pub(crate) fn stretch_at(&self, body: usize, loop_index: usize, s: f64) -> u32 {
        let plan = &self.loops[body][loop_index];
        let after = plan.breaks.partition_point(|&b| b <= s);
        let n = plan.breaks.len();
        (plan.first + (after + n - 1) % n) as u32
    }
}

/// Other metal nearer than this share of a stretch's length makes it a contact.
const CONTACT: f64 = 0.5;
/// Stretches to either side of a contact that its unbounded density still rules.
const BESIDE_CONTACT: usize = 2;

/// Marks the stretches of a loop where other metal touches or nearly so, and those beside them.
fn mark_contacts(stretches: &mut [PlanStretch], curve: &Loop, metal: &[&Outline]) {
    let near = |s: &PlanStretch| {
        let reach = CONTACT * (s.to - s.from);
        [s.from, 0.5 * (s.from + s.to), s.to].into_iter().any(|at| {
            let p = curve.point_at(at.rem_euclid(curve.length()));
            metal
                .iter()
                .any(|o| o.bounds().inflate(reach, reach).contains(p) && o.distance(p) < reach)
        })
    };
    let touching: Vec<bool> = stretches.iter().map(near).collect();
    let n = stretches.len();
    for i in (0..n).filter(|&i| touching[i]) {
        for k in 0..=2 * BESIDE_CONTACT {
            stretches[(i + k + n - BESIDE_CONTACT.min(n)) % n].tip = true;
        }
    }
}

/// Breaks nearer to each other than this are one, m, or this share of a loop.
const SAME_BREAK_M: f64 = 2e-6;
const SAME_BREAK_SHARE: f64 = 1e-5;

/// Adds arc lengths of a loop to a sorted list, except where it has one already.
fn merge(list: &mut Vec<(f64, bool)>, more: impl Iterator<Item = f64>, mark: bool, total: f64) {
    let same = SAME_BREAK_M.min(SAME_BREAK_SHARE * total);
    for s in more {
        let s = s.rem_euclid(total);
        let near = |c: &(f64, bool)| {
            let d = (s - c.0).abs();
            d.min(total - d) < same
        };
        if !list.iter().any(near) {
            list.insert(list.partition_point(|c| c.0 < s), (s, mark));
        }
    }
}

/// Tells how long a stretch may be at any place of a loop.
struct Ruler<'a> {
    longest: f64,
    /// (arc length, shortest stretch) of each corner, by arc length.
    corners: Vec<(f64, f64)>,
    /// Arc lengths where the outline meets the axis of an axial section: a stretch begins there,
    /// or slivers would be left; no corner of the body, whose surface goes on across the axis.
    on_axis: Vec<f64>,
    /// (from, to, stretch) of each curved run.
    bends: Vec<(f64, f64, f64)>,
    total: f64,
    others: &'a [&'a Outline],
}

/// Turns of less than this are the chords of somebody's curve, not corners.
const CORNER_TURN: f64 = 0.14;

/// True where a loop arrives at the axis x = 0, or leaves it, at right angles.
fn meets_axis_squarely(curve: &Loop, s: f64) -> bool {
    let hair = 1e-6 * curve.length();
    let at = curve.point_at(curve.wrapped(s));
    let outer = [s - hair, s + hair]
        .map(|s| curve.point_at(curve.wrapped(s)) - at)
        .into_iter()
        .fold(Vec2::ZERO, |a, b| if b.x > a.x { b } else { a });
    at.x.abs() < 1e-9 * curve.length() && outer.y.abs() <= CORNER_TURN * outer.x && outer.x > 0.0
}

/// Arc lengths at which a loop crosses the axis x = 0, by bisection.
fn axis_crossings(curve: &Loop) -> Vec<f64> {
    /// Places looked at on each segment.
    const LOOKS: usize = 16;
    const HALVINGS: usize = 60;
    let (total, hair) = (curve.length(), 1e-12 * curve.length());
    let x = |s: f64| curve.point_at(curve.wrapped(s)).x;
    let joints = curve.joint_positions();
    let mut out = Vec::new();
    for (i, &from) in joints.iter().enumerate() {
        let to = joints.get(i + 1).copied().unwrap_or(total);
        for k in 0..LOOKS {
            let at = |k: usize| from + (to - from) * k as f64 / LOOKS as f64;
            let (mut a, mut b) = (at(k), at(k + 1));
            let (xa, xb) = (x(a), x(b));
            if xa.abs() <= hair && xb.abs() > hair {
                out.push(a);
            } else if xb.abs() <= hair && xa.abs() > hair {
                out.push(curve.wrapped(b));
            } else if xa * xb < 0.0 {
                for _ in 0..HALVINGS {
                    let middle = 0.5 * (a + b);
                    if x(middle) * xa > 0.0 { a = middle } else { b = middle }
                }
                out.push(a);
            }
        }
    }
    out
}

impl<'a> Ruler<'a> {
    fn new(
        curve: &Loop,
        coarse: f64,
        mask_ends: &[f64],
        others: &'a [&'a Outline],
        symmetry: Symmetry,
    ) -> Self {
        let total = curve.length();
        let longest = coarse * SHARE * total;
        let turns = curve
            .corners()
            .into_iter()
            .filter(|c| (std::f64::consts::PI - c.interior_angle_rad).abs() > CORNER_TURN);
        let (flat, turns): (Vec<_>, Vec<_>) =
            turns.partition(|c| symmetry == Symmetry::Axial && meets_axis_squarely(curve, c.s));
        let mut on_axis: Vec<f64> = flat.iter().map(|c| c.s).collect();
        if symmetry == Symmetry::Axial {
            on_axis.extend(axis_crossings(curve));
        }
        // a corner that the bath lies in is quiet: no fine stretches needed there
        let hollow = |angle: f64| angle > std::f64::consts::PI;
        let mut found: Vec<(f64, bool)> =
            turns.iter().map(|c| (c.s, hollow(c.interior_angle_rad))).collect();
        // where a mask ends the density has no bound either
        merge(&mut found, mask_ends.iter().copied(), false, total);
        let n = found.len();
        let corners = (0..n)
            .map(|i| {
                let (s, hollow) = found[i];
                let next = if i + 1 < n { found[i + 1].0 } else { found[0].0 + total };
                let before = if i > 0 { found[i - 1].0 } else { found[n - 1].0 - total };
                let side = (next - s).min(s - before).min(total);
                let tip = (TIP_SHARE * side).min(TIP_M) * if hollow { 5.0 } else { 1.0 };
                (s, (coarse * tip).min(0.25 * side))
            })
            .collect();
        let mut bends = Vec::new();
        let mut at = 0.0;
        for seg in curve.segments() {
            let len = seg.length();
            if !seg.is_line() {
                // the tightest of a few places: exact on arcs
                let bend = (0..=4)
                    .map(|k| seg.curvature_at(len * f64::from(k) / 4.0).abs())
                    .fold(0.0, f64::max);
                if bend > 0.0 {
                    bends.push((at, at + len, (coarse * BEND / bend).min(longest)));
                }
            }
            at += len;
        }
        Self { longest, corners, on_axis, bends, total, others }
    }

    /// Where stretches must end, in order, and whether the density is without bound there: corners
    /// and ends of masks, and `others`. At least one.
    fn anchors(&self, others: impl Iterator<Item = f64>) -> Vec<(f64, bool)> {
        let mut anchors = self.corners.iter().map(|c| (c.0, true)).collect();
        merge(&mut anchors, self.on_axis.iter().copied().chain(others), false, self.total);
        if anchors.is_empty() {
            anchors.push((0.0, false));
        }
        anchors
    }

    /// Shortest stretch at the corners that bound a run.
    fn tip(&self, from: f64, to: f64) -> f64 {
        let at = |s: f64| {
            let s = s.rem_euclid(self.total);
            self.corners.iter().find(|c| (c.0 - s).abs() < 1e-9 * self.total).map_or(0.0, |c| c.1)
        };
        at(from).max(at(to)).min(TIP_M)
    }

    fn stretch(&self, curve: &Loop, s: f64) -> f64 {
        let around = |a: f64| {
            let d = (s - a).rem_euclid(self.total);
            d.min(self.total - d)
        };
        let mut len = self.longest;
        for &(c, tip) in &self.corners {
            len = len.min(tip.max(GROWTH * around(c)));
        }
        let at = s.rem_euclid(self.total);
        for &(from, to, bend) in &self.bends {
            let away = if (from..=to).contains(&at) { 0.0 } else { around(from).min(around(to)) };
            len = len.min(bend + GROWTH * away);
        }
        let p = curve.point_at(at);
        for o in self.others {
            let b = o.bounds();
            let (dx, dy) =
                ((b.x0 - p.x).max(p.x - b.x1).max(0.0), (b.y0 - p.y).max(p.y - b.y1).max(0.0));
            if GAP * dx.hypot(dy) < len {
                // never below a twentieth: bodies may touch
                len = len.min((GAP * o.distance(p)).max(0.05 * len).max(0.5 * TIP_M));
            }
        }
        len.max(1e-9 * self.total)
    }

    /// Cuts `from`..`to` into stretches; both ends are among the cuts.
    fn divide(&self, curve: &Loop, from: f64, to: f64) -> Vec<f64> {
        // count = ∫ ds / stretch(s), by the midpoint rule in steps of a third of a stretch
        let mut table = vec![(from, 0.0)];
        let (mut s, mut count) = (from, 0.0);
        let mut len = self.stretch(curve, from);
        while s < to {
            let step = (0.34 * len).min(to - s);
            let mid = self.stretch(curve, s + 0.5 * step);
            count += step / mid;
            s = if to - s <= step { to } else { s + step };
            len = mid;
            table.push((s, count));
        }
        let n = (count - 1e-9).ceil().max(1.0);
        let mut cuts = vec![from];
        let mut k = 0;
        for i in 1..n as usize {
            let wanted = count * i as f64 / n;
            while table[k + 1].1 < wanted {
                k += 1;
            }
            let ((s0, c0), (s1, c1)) = (table[k], table[k + 1]);
            cuts.push(s0 + (s1 - s0) * (wanted - c0) / (c1 - c0));
        }
        cuts.push(to);
        cuts
    }
}

#[cfg(test)]
mod tests;
