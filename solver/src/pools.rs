//! Which bath carries current: pools between metals at different potentials.
//!
//! Bath enclosed by one electrode, or touched by insulators only, carries none; it is left out of
//! the equations (a Tafel law alone in a closed pool has no solution at all).

use crate::domain::{Domain, Tag};
use crate::grid::mesh::Mesh;
use crate::layout::{Layout, Role};

/// What current can reach.
#[derive(Debug, Clone)]
pub(crate) struct Live {
    /// For each piece of the mesh.
    pub(crate) pieces: Vec<bool>,
    /// For each body: is any of its metal in a live pool?
    pub(crate) bodies: Vec<bool>,
    /// For each part: does some path lead to an anode?
    pub(crate) fed: Vec<bool>,
}

/// Node of the graph pools - metals: all metals of one bus are one node.
fn bus(layout: &Layout, body: usize) -> usize {
    match layout.bodies[body].role {
        Role::Anode => 0,
        Role::Thief { offset } if offset.si() != 0.0 => 2 + body,
        Role::Floating => 2 + body,
        _ => 1,
    }
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
        let floats = |b: usize| layout.bodies[b].role == Role::Floating;
        let mut live = vec![true; pools];
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
                    .map(|&b| bus(layout, b))
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
        for (pool, t) in touched.iter().enumerate().filter(|(pool, _)| live[*pool]) {
            let _ = pool;
            for &b in t {
                bodies[b] = true;
            }
        }
        Self {
            pieces: pool_of.iter().map(|&p| live[p]).collect(),
            fed: reach(layout, &touched, &live),
            bodies,
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
