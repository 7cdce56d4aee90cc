//! Where something fits into the tank: inside its walls, clear of every other body.
use shapes::Outline;

use crate::layout::{Layout, Role, Symmetry};

/// Clearance that a hook or a spider keeps (common practice, no source), m.
const CLEAR_M: f64 = 4e-3;
/// Of small parts, this share of their size.
const CLEAR_SHARE: f64 = 0.04;

/// The clearance between bodies that are added or moved and all others: 4 mm, less on small parts.
pub fn clearance(layout: &Layout) -> f64 {
    let parts = layout.bodies.iter().filter(|b| b.role == Role::Part);
    let size = parts.map(|b| b.outline.diagonal()).fold(0.0, f64::max);
    (CLEAR_SHARE * size).min(CLEAR_M)
}

/// True if every one of `changed` bodies lies in the tank and keeps its `clearance` to the wall and
/// to every body but those that it has always been nearer to.
pub fn fits(before: &Layout, after: &Layout, changed: &[usize], clearance: f64) -> bool {
    let fit =
        |&b: &usize| b < after.bodies.len() && tight(Some(before), after, b, clearance).is_none();
    changed.iter().all(fit)
}

/// A body that comes too near to something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tight {
    /// Which.
    pub body: usize,
    /// To which other; `None` for the wall.
    pub other: Option<usize>,
    /// By how much it misses the clearance, m; all of it where they lie in each other.
    pub short_m: f64,
}

/// What body `b` of a layout comes nearer to than `clearance`, the wall first. What was nearer to
/// it `before` (bodies of the same names) may stay as near, no nearer.
pub(crate) fn tight(
    before: Option<&Layout>,
    after: &Layout,
    b: usize,
    clearance: f64,
) -> Option<Tight> {
    let body = after.bodies.get(b)?;
    let old = |name: &str| {
        let found = before?.bodies.iter().find(|o| o.name == name)?;
        Some(&found.outline)
    };
    let own = old(&body.name);
    let wanted = |known: Option<f64>| known.map_or(clearance, |gap| gap.min(clearance));
    let wall = before.zip(own).map(|(before, own)| before.tank.gap(own));
    let short_m = match wall {
        // it lines the wall or sticks through it
        Some(0.0) => 0.0,
        _ => short_of_wall(after, &body.outline, wanted(wall)),
    };
    if short_m > 0.0 {
        return Some(Tight { body: b, other: None, short_m });
    }
    let others = after.bodies.iter().enumerate().filter(|(k, _)| *k != b);
    others
        .map(|(k, other)| {
            let known = own.zip(old(&other.name)).map(|(own, other)| own.gap(other));
            // what touched may go on touching: whether they lie in each other is checked anyway
            let short_m = match known {
                Some(0.0) => 0.0,
                _ => short_of(&body.outline, &other.outline, wanted(known)),
            };
            Tight { body: b, other: Some(k), short_m }
        })
        .find(|t| t.short_m > 0.0)
}

/// Numbers of the bodies that stand elsewhere, or are others, than `before`; all of them where the
/// tank is another one.
pub(crate) fn changed(before: Option<&Layout>, after: &Layout) -> Vec<usize> {
    let same = |b: usize| {
        let body = &after.bodies[b];
        before.filter(|o| o.tank == after.tank).is_some_and(|before| {
            before.bodies.iter().any(|o| o.name == body.name && o.outline == body.outline)
        })
    };
    (0..after.bodies.len()).filter(|&b| !same(b)).collect()
}

/// By how much a gap misses what is wanted, but for rounding.
fn miss(gap: f64, wanted: f64) -> f64 {
    if gap >= wanted * (1.0 - 1e-9) { 0.0 } else { wanted - gap }
}

fn short_of_wall(layout: &Layout, outline: &Outline, clearance: f64) -> f64 {
    let bounds = outline.bounds();
    let start = outline.loops()[0].point_at(0.0);
    if layout.symmetry == Symmetry::Axial && bounds.x0 <= 1e-9 {
        // what touches the axis goes on to its other side
        let tank = layout.tank.bounds();
        let gap = (tank.x1 - bounds.x1).min(bounds.y0 - tank.y0).min(tank.y1 - bounds.y1);
        return if bounds.x0 < -1e-9 {
            clearance.max(f64::MIN_POSITIVE)
        } else {
            miss(gap, clearance)
        };
    }
    if !layout.tank.contains(start) {
        return clearance.max(f64::MIN_POSITIVE);
    }
    miss(layout.tank.gap(outline), clearance)
}

fn short_of(a: &Outline, b: &Outline, clearance: f64) -> f64 {
    let far = {
        let (a, b) = (a.bounds(), b.bounds());
        (a.x0 - b.x1).max(b.x0 - a.x1).max(a.y0 - b.y1).max(b.y0 - a.y1)
    };
    if far > clearance {
        return 0.0;
    }
    let inside = |inner: &Outline, outer: &Outline| outer.contains(inner.loops()[0].point_at(0.0));
    if inside(a, b) || inside(b, a) {
        return clearance.max(f64::MIN_POSITIVE);
    }
    miss(a.gap(b), clearance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{body, layout, linear, rect};

    #[test]
    fn bodies_keep_clear_of_walls_and_of_each_other() {
        let part = body("part", Role::Part, rect(0.08, 0.03, 0.12, 0.07), linear(1e-3));
        let before = layout(vec![part]);
        let with = |outline: Outline| {
            let mut after = before.clone();
            after.bodies.push(body("rod", Role::Anode, outline, linear(1e-3)));
            fits(&before, &after, &[1], 0.004)
        };
        assert!(with(rect(0.13, 0.04, 0.14, 0.06)));
        assert!(!with(rect(0.122, 0.04, 0.14, 0.06)), "2 mm from the part");
        assert!(!with(rect(0.09, 0.04, 0.10, 0.06)), "inside the part");
        assert!(!with(rect(0.06, 0.02, 0.14, 0.08)), "around the part");
        assert!(!with(rect(0.13, 0.001, 0.14, 0.06)), "1 mm from the wall");
        assert!(!with(rect(0.19, 0.04, 0.21, 0.06)), "through the wall");
        // where it has always been nearer it may stay, no nearer
        let near = |x0: f64| {
            let mut layout = before.clone();
            layout.bodies.push(body(
                "rod",
                Role::Anode,
                rect(x0, 0.04, x0 + 0.01, 0.06),
                linear(1e-3),
            ));
            layout
        };
        assert!(fits(&near(0.122), &near(0.122), &[1], 0.004));
        let closer = tight(Some(&near(0.122)), &near(0.121), 1, 0.004).expect("1 mm, was 2 mm");
        assert!(closer.other == Some(0) && (closer.short_m - 0.001).abs() < 1e-12);
        assert_eq!(changed(Some(&near(0.122)), &near(0.121)), [1]);
        // the part itself is 1.6 mm at least from what it was that near to
        assert!((clearance(&before) - 0.04 * 0.04 * 2f64.sqrt()).abs() < 1e-12);
    }
}
