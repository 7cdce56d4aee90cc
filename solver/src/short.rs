//! Metals that touch without polarization between them: a current without bound.
//!
//! Where two metals at different potentials meet in the bath, the current density between them
//! grows like one over the distance from the place where they meet, and so does not add up to any
//! finite current. A polarization law or a limiting current density on one of the two is enough
//! to bound it.

use shapes::Point;

use crate::circuit::{Circuit, Electrode};
use crate::domain::{Domain, Edge, Tag};

/// Two bodies in a short circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Short {
    /// The two bodies, the earlier first.
    pub(crate) bodies: [usize; 2],
    /// Where they meet, m.
    pub(crate) at: Point,
}

/// Insulating hairs of rounding between two metals are no insulation: up to this many ticks.
const HAIR: f64 = 64.0;

/// The first place along the wetted boundary where current has no bound.
pub(crate) fn find(domain: &Domain, circuit: &Circuit) -> Option<Short> {
    domain.edges.iter().find_map(|e| {
        let body = metal(e)?;
        let other = metal(before(domain, e))?;
        let pair = [body.min(other), body.max(other)];
        let [a, b] = pair.map(|k| circuit.electrodes[k].as_ref());
        let at = domain.lattice.metres(e.a);
        (body != other && unbounded(a?, b?)).then_some(Short { bodies: pair, at })
    })
}

fn metal(e: &Edge) -> Option<usize> {
    match e.tag {
        Tag::Metal { body, .. } => Some(body as usize),
        Tag::Wall | Tag::Interface => None,
    }
}

/// The edge before `e`, hairs passed over.
fn before<'a>(domain: &'a Domain, e: &Edge) -> &'a Edge {
    let mut p = &domain.edges[e.prev as usize];
    let mut passed = 0.0;
    while p.tag == Tag::Wall {
        passed += ((p.b[0] - p.a[0]) as f64).hypot((p.b[1] - p.a[1]) as f64);
        if passed > HAIR {
            break;
        }
        p = &domain.edges[p.prev as usize];
    }
    p
}

/// Potentials nearer than this are one: far below what any supply can set, V.
const SAME_V: f64 = 1e-9;

fn unbounded(a: &Electrode, b: &Electrode) -> bool {
    let bare = |e: &Electrode| e.surface.is_ideal() && e.surface.limit().is_none();
    let apart = if a.terminal.free == b.terminal.free {
        (a.terminal.fixed - a.rest) - (b.terminal.fixed - b.rest)
    } else {
        f64::INFINITY
    };
    bare(a) && bare(b) && apart.abs() > SAME_V
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Body, Layout, Role};
    use crate::quantity::{CurrentDensity, Potential};
    use crate::sample::{body, domain, ideal, layout, linear, rect};

    /// A part, and another body against its right side.
    fn touching(role: Role, mend: impl Fn(&mut [Body])) -> Option<Short> {
        let mut bodies = vec![
            body("part", Role::Part, rect(0.04, 0.03, 0.06, 0.06), ideal()),
            body("other", role, rect(0.06, 0.04, 0.09, 0.07), ideal()),
        ];
        mend(&mut bodies);
        let layout: Layout = layout(bodies);
        let circuit = Circuit::new(&layout, &[true; 2], &[vec![0, 1]]).unwrap();
        find(&domain(&layout), &circuit)
    }

    fn thief(volts: f64) -> Role {
        Role::Thief { offset: Potential::new(volts) }
    }

    #[test]
    fn bare_metals_at_two_potentials_are_found_where_they_meet() {
        for role in [Role::Anode, Role::Floating, thief(-0.1)] {
            let short = touching(role, |_| ()).unwrap();
            assert_eq!(short.bodies, [0, 1]);
            assert!((short.at.x - 0.06).abs() < 1e-8, "{short:?}");
            let corner = (short.at.y - 0.04).abs().min((short.at.y - 0.06).abs());
            assert!(corner < 1e-8, "{short:?}");
        }
    }

    #[test]
    fn one_potential_is_no_short_circuit() {
        assert_eq!(touching(Role::Part, |_| ()), None);
        assert_eq!(touching(thief(0.0), |_| ()), None);
        // the same bus, but the bath at the surface would be at two potentials
        let other_rest = |b: &mut [Body]| b[1].law.rest = Potential::new(0.2);
        assert!(touching(Role::Part, other_rest).is_some());
    }

    #[test]
    fn polarization_or_a_limit_on_one_of_the_two_bounds_the_current() {
        assert_eq!(touching(Role::Anode, |b| b[0].law = linear(1e-6)), None);
        assert_eq!(touching(Role::Anode, |b| b[1].law = linear(1e-6)), None);
        let limit = Some(CurrentDensity::new(1e3));
        assert_eq!(touching(Role::Anode, |b| b[1].law.limiting = limit), None);
    }

    #[test]
    fn metals_apart_and_contacts_out_of_the_bath_are_fine() {
        assert_eq!(touching(Role::Anode, |b| b[1].outline = rect(0.061, 0.04, 0.09, 0.07)), None);
        // side by side across the whole tank: the stretch where they touch ends in the wall
        let across = |b: &mut [Body]| {
            b[0].outline = rect(-0.01, -0.01, 0.06, 0.11);
            b[1].outline = rect(0.06, -0.01, 0.21, 0.11);
        };
        assert_eq!(touching(Role::Anode, across), None);
    }
}
