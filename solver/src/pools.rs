//! Which bath carries current: pools between metals at different potentials.
//!
//! Bath enclosed by one electrode, or touched by insulators only, carries none; nor does bath whose
//! metals all pass current the same way, like a part and a thief with Tafel laws. It is left out of the
//! equations, which have no solution with Tafel laws there: the potential runs away.

use crate::domain::{Domain, Tag};
use crate::grid::mesh::Mesh;
use crate::layout::{Body, Layout, Role};
use crate::union::Sets;
use crate::wiring::Wiring;

/// What current can reach.
#[derive(Debug, Clone)]
pub(crate) struct Live {
    /// For each piece of the mesh.
    pub(crate) pieces: Vec<bool>,
    /// For each body: is any of its metal in a live pool?
    pub(crate) bodies: Vec<bool>,
    /// For each part: does some path lead to an anode?
    pub(crate) fed: Vec<bool>,
    /// The bodies that each live pool touches.
    pub(crate) pools: Vec<Vec<usize>>,
}

/// Node of the graph pools - metals: all metals of one bus are one node.
fn bus(layout: &Layout, wiring: &Wiring, body: usize) -> usize {
    let own = wiring.buses + body;
    match layout.bodies[body].role {
        Role::Thief { offset } if offset.si() != 0.0 => own,
        _ => wiring.bus_of[body].unwrap_or(own),
    }
}

/// Whether a wired body's metal can pass current into the bath, and take it out.
fn ways(body: &Body) -> [bool; 2] {
    let (both, anode) = (!body.law.is_one_way(), body.role == Role::Anode);
    [both || anode, both || !anode]
}

/// For each pool: does current find a way into the bath, and one out of it, in this pool or in those that
/// floating metal joins to it? What enters floating metal leaves it again.
fn flows(layout: &Layout, touched: &[Vec<usize>]) -> Vec<bool> {
    let pools = touched.len();
    let mut joined = Sets::new(pools + layout.bodies.len());
    let floats = |b: usize| layout.bodies[b].role == Role::Floating;
    for (pool, bodies) in touched.iter().enumerate() {
        bodies.iter().filter(|&&b| floats(b)).for_each(|&b| joined.join(pool, pools + b));
    }
    let mut found = vec![[false; 2]; pools];
    for (pool, bodies) in touched.iter().enumerate() {
        // the representative is the smallest member, which is a pool
        let found = &mut found[joined.find(pool)];
        for &b in bodies.iter().filter(|&&b| !floats(b)) {
            found.iter_mut().zip(ways(&layout.bodies[b])).for_each(|(f, way)| *f |= way);
        }
    }
    (0..pools).map(|pool| found[joined.find(pool)] == [true; 2]).collect()
}

impl Live {
    /// Follows the bath from metal to metal.
    pub(crate) fn new(mesh: &Mesh, domain: &Domain, layout: &Layout) -> Self {
        let pool_of = mesh.pools(domain);
        let pools = pool_of.iter().max().map_or(0, |m| m + 1);
        let mut touched: Vec<Vec<usize>> = vec![Vec::new(); pools];
        for (p, &pool) in pool_of.iter().enumerate() {
            for e in mesh.edges_of(p) {
                if let Tag::Metal { body, .. } = domain.edges[e as usize].tag {
                    touched[pool].push(body as usize);
                }
            }
        }
        for t in &mut touched {
            t.sort_unstable();
            t.dedup();
        }
        let wiring = Wiring::new(layout);
        let floats = |b: usize| layout.bodies[b].role == Role::Floating;
        let mut live = flows(layout, &touched);
        loop {
            let mut changed = false;
            for pool in 0..pools {
                if !live[pool] {
                    continue;
                }
                // a floating body leads on only if it reaches another live pool
                let mut buses: Vec<usize> = touched[pool]
                    .iter()
                    .filter(|&&b| {
                        !floats(b)
                            || (0..pools).any(|o| o != pool && live[o] && touched[o].contains(&b))
                    })
                    .map(|&b| bus(layout, &wiring, b))
                    .collect();
                buses.sort_unstable();
                buses.dedup();
                if buses.len() < 2 {
                    live[pool] = false;
                    changed = true;
                }
            }
            if !changed {
                break;
            }
        }
        let mut bodies = vec![false; layout.bodies.len()];
        let pools: Vec<Vec<usize>> =
            touched.iter().zip(&live).filter(|(_, live)| **live).map(|(t, _)| t.clone()).collect();
        for &b in pools.iter().flatten() {
            bodies[b] = true;
        }
        Self {
            pieces: pool_of.iter().map(|&p| live[p]).collect(),
            fed: reach(layout, &touched, &live),
            bodies,
            pools,
        }
    }
}

/// Bodies that a walk from the anodes through live pools and floating metal arrives at.
fn reach(layout: &Layout, touched: &[Vec<usize>], live: &[bool]) -> Vec<bool> {
    let mut reached: Vec<bool> = layout.bodies.iter().map(|b| b.role == Role::Anode).collect();
    loop {
        let mut changed = false;
        for (t, _) in touched.iter().zip(live).filter(|(_, l)| **l) {
            let conducts =
                |b: &usize| matches!(layout.bodies[*b].role, Role::Anode | Role::Floating);
            if t.iter().any(|b| reached[*b] && conducts(b)) {
                for &b in t {
                    changed |= !reached[b];
                    reached[b] = true;
                }
            }
        }
        if !changed {
            return reached;
        }
    }
}

#[cfg(test)]
mod tests {
    use shapes::{Outline, Point};

    use super::*;
    use crate::kinetics::Law;
    use crate::quantity::Potential;
    use crate::sample::{Grid, body, grid, ideal, layout, rect, tafel};

    fn live(bodies: Vec<Body>) -> (Grid, Live) {
        let layout = layout(bodies);
        let g = grid(&layout, 4, 6, 6);
        let live = Live::new(&g.mesh, &g.domain, &layout);
        (g, live)
    }

    fn part(x0: f64, x1: f64) -> Body {
        body("part", Role::Part, rect(x0, 0.031, x1, 0.067), ideal())
    }

    fn anode() -> Body {
        body("anode", Role::Anode, rect(0.17, 0.033, 0.18, 0.069), ideal())
    }

    /// A wall across the tank, its middle third of another role.
    fn wall(middle: Role) -> [Body; 3] {
        let piece = |name, role, y0, y1| body(name, role, rect(0.09, y0, 0.11, y1), ideal());
        [
            piece("low", Role::Shield, -0.01, 0.04),
            piece("middle", middle, 0.04, 0.06),
            piece("high", Role::Shield, 0.06, 0.11),
        ]
    }

    fn walled(bodies: [Body; 2], middle: Role) -> (Grid, Live) {
        live(bodies.into_iter().chain(wall(middle)).collect())
    }

    #[test]
    fn bath_enclosed_by_a_part_is_dead() {
        let (centre, outer, inner) = (Point::new(0.06, 0.05), 0.03, 0.02);
        let tube = Outline::ring(centre, outer, inner).unwrap();
        let loose = Outline::disc(centre, 0.006).unwrap();
        let (g, live) = live(vec![
            body("tube", Role::Part, tube, ideal()),
            body("loose", Role::Floating, loose, ideal()),
            anode(),
        ]);
        let mut dead = 0;
        for (piece, alive) in g.mesh.pieces.iter().zip(&live.pieces) {
            let (l, h) = (piece.cell.low(), piece.cell.high());
            let middle = g.domain.lattice.metres([(l[0] + h[0]) / 2, (l[1] + h[1]) / 2]);
            // cells are 3 mm, the tube's wall 10 mm
            assert_eq!(*alive, (middle - centre).hypot() > 0.5 * (outer + inner));
            dead += usize::from(!alive);
        }
        assert!(dead > 30);
        assert_eq!(live.bodies, [true, false, true]);
        assert_eq!(live.fed, [true, false, true]);
    }

    #[test]
    fn a_floating_body_leads_current_from_pool_to_pool() {
        let (_, live) = walled([part(0.02, 0.04), anode()], Role::Floating);
        assert!(live.pieces.iter().all(|l| *l));
        assert_eq!(live.bodies, [true, true, false, true, false]);
        assert!(live.fed[0]);
    }

    #[test]
    fn an_insulating_wall_leaves_the_part_without_current() {
        let (_, live) = walled([part(0.02, 0.04), anode()], Role::Shield);
        assert!(live.pieces.iter().all(|l| !l));
        assert!(live.bodies.iter().all(|b| !b));
        assert!(!live.fed[0]);
    }

    #[test]
    fn a_floating_body_in_an_open_bath_is_live() {
        let loose = body("loose", Role::Floating, rect(0.09, 0.03, 0.11, 0.06), ideal());
        let (_, live) = live(vec![part(0.02, 0.04), anode(), loose]);
        assert_eq!(live.bodies, [true, true, true]);
        assert!(live.pieces.iter().all(|l| *l));
    }

    #[test]
    fn metals_at_one_potential_drive_nothing_and_at_two_do() {
        // part and thief behind the wall: on the same bus unless the thief has an offset
        for (volts, alive) in [(0.0, false), (-0.2, true)] {
            let thief = Role::Thief { offset: Potential::new(volts) };
            let thief = body("thief", thief, rect(0.06, 0.03, 0.07, 0.06), ideal());
            let (_, live) = live(
                [part(0.02, 0.04), thief, anode()].into_iter().chain(wall(Role::Shield)).collect(),
            );
            assert_eq!(live.bodies[..3], [alive, alive, false]);
            assert!(!live.fed[0], "no anode on this side");
        }
    }

    /// Part and thief behind a wall with `middle` in it, the anode in front; their laws.
    fn behind(middle: Role, laws: [Law; 2]) -> Live {
        let thief = Role::Thief { offset: Potential::new(-0.2) };
        let mut bodies =
            vec![part(0.02, 0.04), body("thief", thief, rect(0.06, 0.03, 0.07, 0.06), ideal())];
        bodies.iter_mut().zip(laws).for_each(|(b, law)| b.law = law);
        live(bodies.into_iter().chain([anode()]).chain(wall(middle)).collect()).1
    }

    #[test]
    fn metals_that_all_take_current_have_none_unless_floating_metal_brings_it() {
        let one_way = tafel(0.3, 0.12);
        for (laws, alive) in [
            ([one_way.clone(), one_way.clone()], false),
            ([one_way.clone(), ideal()], true),
            ([ideal(), one_way.clone()], true),
        ] {
            assert_eq!(behind(Role::Shield, laws).bodies[..3], [alive, alive, false]);
        }
        let fed = behind(Role::Floating, [one_way.clone(), one_way]);
        assert_eq!(fed.bodies, [true, true, true, false, true, false]);
        assert!(fed.fed[0] && fed.pieces.iter().all(|l| *l));
    }
}
