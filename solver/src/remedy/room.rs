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
    changed.iter().all(|&b| {
        let Some(body) = after.bodies.get(b) else { return false };
        let outline = &body.outline;
        let old = before.bodies.get(b).map(|body| &body.outline);
        let wanted = |gap_before: Option<f64>| {
            // what was nearer may stay as near, no nearer
            gap_before.map_or(clearance, |gap| gap.min(clearance)) * (1.0 - 1e-9)
        };
        in_tank(after, outline, wanted(old.map(|o| before.tank.gap(o))))
            && after.bodies.iter().enumerate().filter(|(k, _)| *k != b).all(|(k, other)| {
                let known = old.zip(before.bodies.get(k)).map(|(o, k)| o.gap(&k.outline));
                apart(outline, &other.outline, wanted(known))
            })
    })
}

fn in_tank(layout: &Layout, outline: &Outline, clearance: f64) -> bool {
    let bounds = outline.bounds();
    let start = outline.loops()[0].point_at(0.0);
    if layout.symmetry == Symmetry::Axial && bounds.x0 <= 1e-9 {
        // what touches the axis goes on to its other side
        let tank = layout.tank.bounds();
        return bounds.x0 >= -1e-9
            && bounds.x1 + clearance <= tank.x1
            && bounds.y0 - clearance >= tank.y0
            && bounds.y1 + clearance <= tank.y1;
    }
    layout.tank.contains(start) && layout.tank.gap(outline) >= clearance
}

fn apart(a: &Outline, b: &Outline, clearance: f64) -> bool {
    let far = {
        let (a, b) = (a.bounds(), b.bounds());
        (a.x0 - b.x1).max(b.x0 - a.x1).max(a.y0 - b.y1).max(b.y0 - a.y1)
    };
    if far > clearance {
        return true;
    }
    let inside = |inner: &Outline, outer: &Outline| outer.contains(inner.loops()[0].point_at(0.0));
    !inside(a, b) && !inside(b, a) && a.gap(b) >= clearance
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
        // the part itself is 1.6 mm at least from what it was that near to
        assert!((clearance(&before) - 0.04 * 0.04 * 2f64.sqrt()).abs() < 1e-12);
    }
}
