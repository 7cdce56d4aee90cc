//! A layout made ready: boundaries, stretches, circuit, first grid.

use std::sync::Arc;

use crate::circuit::Circuit;
use crate::domain::{Domain, TANK, Tag};
use crate::grid::mesh::Mesh;
use crate::grid::size::{Hints, wanted};
use crate::grid::tree::{Tree, Wanted};
use crate::layout::{Drive, Layout, Role};
use crate::pools::Live;
use crate::solve::{Method, SolveError, SolveSettings};
use crate::start::{self, Guess};
use crate::surface::SurfacePlan;

/// What stays the same over all grids of one layout.
pub(crate) struct Problem<'a> {
    pub(crate) layout: &'a Layout,
    pub(crate) plan: SurfacePlan,
    domain: Arc<Domain>,
    pub(crate) circuit: Circuit,
    pub(crate) guess: Guess,
    pub(crate) wanted: Wanted,
    pub(crate) method: Method,
    /// Surface of each stretch that current can reach, along the true curve: m² per m of depth in
    /// a planar section, m² in an axial one.
    pub(crate) wet: Vec<f64>,
    /// Its length, m.
    pub(crate) wet_m: Vec<f64>,
}

/// Largest sagitta of a chord, as a share of the smallest radius of its outline.
///
/// Chords are laid so that they keep the curve's mean radius; what is left of the error is of
/// fourth order in the chord's angle.
const SAGITTA: f64 = 2e-4;

/// The same as a share of the gap to a neighbour.
const GAP_SHARE: f64 = 0.1;
/// Gaps below this share of the tank are contacts.
const NARROWEST: f64 = 1e-7;

impl<'a> Problem<'a> {
    /// Prepares `layout` and cuts its first grid.
    pub(crate) fn new(
        layout: &'a Layout,
        settings: &SolveSettings,
    ) -> Result<(Self, Tree, Mesh), SolveError> {
        let plan = SurfacePlan::new(layout);
        let domain = Domain::new(layout, &plan, &|owner| sagitta(layout, owner));
        let every = vec![true; layout.bodies.len()];
        let law = |e: crate::kinetics::LawError| SolveError::Layout(e.to_string());
        let all = Circuit::new(layout, &every).map_err(law)?;
        let guess = start::guess(layout, &all, &start::metal_surfaces(layout, &plan));
        let hints = Hints {
            polarization_m: start::polarization_lengths(layout, &all, &guess.density),
            accuracy: settings.accuracy,
        };
        let wanted = wanted(&domain, layout, &hints);
        let tree = Tree::build(&domain, &wanted);
        let mut mesh = Mesh::new(&tree);
        let live = Live::new(&mesh, &domain, layout);
        for (body, &fed) in layout.bodies.iter().zip(&live.fed) {
            if body.role == Role::Part && !fed {
                return Err(SolveError::NoPath { part: body.name.clone() });
            }
        }
        let (wet, wet_m) = reached(&plan, &domain, &mesh, &live);
        mesh.retain(&live.pieces);
        let circuit = Circuit::new(layout, &live.bodies).map_err(law)?;
        let domain = Arc::new(domain);
        let method = settings.method;
        let mut problem = Self { layout, plan, domain, circuit, guess, wanted, method, wet, wet_m };
        problem.check_limits()?;
        if let Some(target) = problem.parts_target() {
            problem.circuit.injected[0] = target;
        }
        Ok((problem, tree, mesh))
    }

    pub(crate) fn domain(&self) -> &Arc<Domain> {
        &self.domain
    }

    /// Reached surface of the bodies with a role, m² per m of depth (or m²).
    fn wet_surface(&self, wanted: impl Fn(Role) -> bool) -> f64 {
        let rows = self.plan.stretches.iter().zip(&self.wet);
        rows.filter(|(s, _)| wanted(self.layout.bodies[s.body].role)).map(|(_, l)| l).sum()
    }

    /// Current wanted on the parts, A/m, if the supply holds their mean density.
    pub(crate) fn parts_target(&self) -> Option<f64> {
        let Drive::MeanDensity(density) = self.layout.supplies[0].drive else { return None };
        Some(density.si() * self.wet_surface(|r| r == Role::Part))
    }

    /// True if thieves take a share of a current that is set by the parts.
    pub(crate) fn shares_cathode_bus(&self) -> bool {
        self.layout.bodies.iter().any(|b| matches!(b.role, Role::Thief { .. }))
    }

    /// True if no anode lets current back in, as with Tafel's law.
    pub(crate) fn anodes_work_one_way(&self) -> bool {
        let back = |b: usize| {
            let e = self.circuit.electrodes[b].as_ref();
            e.is_some_and(|e| e.surface.overpotential(-f64::MIN_POSITIVE).is_some())
        };
        let bodies = &self.layout.bodies;
        !(0..bodies.len()).any(|b| bodies[b].role == Role::Anode && back(b))
    }

    /// What the limiting current densities of the bodies with a role let through, A/m; infinite
    /// if one of them has none.
    pub(crate) fn capacity(&self, of: &dyn Fn(Role) -> bool) -> f64 {
        let rows = self.plan.stretches.iter().zip(&self.wet);
        rows.filter(|(s, l)| of(self.layout.bodies[s.body].role) && **l > 0.0)
            .map(|(s, l)| Some(self.circuit.electrodes[s.body].as_ref()?.surface.limit()? * l))
            .try_fold(0.0, |sum, x| x.map(|x| sum + x))
            .unwrap_or(f64::INFINITY)
    }

    /// The current asked for must be below what the limiting current densities let through.
    fn check_limits(&self) -> Result<(), SolveError> {
        let depth = self.layout.depth_m();
        let cathode = |r: Role| matches!(r, Role::Part | Role::Thief { .. });
        let wanted = match self.layout.supplies[0].drive {
            Drive::Voltage(_) => return Ok(()),
            Drive::Current(i) => i.si(),
            Drive::MeanDensity(_) => depth * self.parts_target().unwrap_or(0.0),
        };
        let capacity = |of: &dyn Fn(Role) -> bool| depth * self.capacity(of);
        let parts_only = matches!(self.layout.supplies[0].drive, Drive::MeanDensity(_));
        let cathodes = if parts_only { capacity(&|r| r == Role::Part) } else { capacity(&cathode) };
        for (possible_a, side) in
            [(cathodes, "cathodes"), (capacity(&|r| r == Role::Anode), "anodes")]
        {
            if wanted >= possible_a {
                return Err(SolveError::BeyondLimit { wanted_a: wanted, possible_a, side });
            }
        }
        Ok(())
    }
}

fn sagitta(layout: &Layout, owner: u32) -> f64 {
    let outline = if owner == TANK { &layout.tank } else { &layout.bodies[owner as usize].outline };
    let bend = outline
        .loops()
        .iter()
        .flat_map(|l| l.segments())
        .filter(|s| !s.is_line())
        .map(|s| s.curvature_at(0.5 * s.length()).abs())
        .fold(0.0, f64::max);
    if bend <= 0.0 {
        return f64::MAX;
    }
    // near another outline the chords must not close the gap
    let sagitta = SAGITTA / bend;
    let tank = (owner != TANK).then_some(&layout.tank);
    let others = (0..layout.bodies.len()).filter(|&i| i as u32 != owner);
    others
        .map(|i| &layout.bodies[i].outline)
        .chain(tank)
        .filter(|other| outline.touches(other, sagitta / GAP_SHARE))
        .map(|other| outline.gap(other))
        .filter(|gap| *gap > NARROWEST * layout.tank.diagonal())
        .fold(sagitta, |s, gap| s.min(GAP_SHARE * gap))
}

/// Surface and length of every stretch that lie in live bath, along the true curve.
///
/// Summed over the live pieces, as the currents are: a stretch may run from a live pool past a
/// place where two bodies touch into a dead one.
fn reached(plan: &SurfacePlan, domain: &Domain, mesh: &Mesh, live: &Live) -> (Vec<f64>, Vec<f64>) {
    let mut wet = vec![0.0; plan.stretches.len()];
    let mut wet_m = vec![0.0; plan.stretches.len()];
    for (p, _) in live.pieces.iter().enumerate().filter(|(_, l)| **l) {
        let cell = mesh.pieces[p].cell;
        let (side, [b0, b1]) = (domain.lattice.cell_m(cell.level), domain.breadth(cell));
        for (e, length, middle) in mesh.runs_of(p) {
            if let Tag::Metal { stretch, .. } = domain.edges[e as usize].tag {
                let length = length * side * domain.stretch[stretch as usize];
                wet[stretch as usize] += length * (b0 + b1 * middle[0]).max(0.0);
                wet_m[stretch as usize] += length;
            }
        }
    }
    (wet, wet_m)
}

#[cfg(test)]
mod tests {
    use crate::layout::Supply;
    use shapes::{Outline, Point};

    use super::*;
    use crate::kinetics::Law;
    use crate::quantity::{Current, CurrentDensity};
    use crate::sample::{body, ideal, linear, plates, rect, two_blocks};

    fn fault(layout: &Layout) -> Option<SolveError> {
        Problem::new(layout, &SolveSettings::default()).err()
    }

    #[test]
    fn wet_lengths_are_those_inside_the_tank() {
        let layout = plates(ideal(), ideal());
        let (problem, _, _) = Problem::new(&layout, &SolveSettings::default()).unwrap();
        assert!((problem.wet_surface(|r| r == Role::Part) - 0.1).abs() < 1e-7);
        assert!((problem.wet_surface(|r| r == Role::Anode) - 0.1).abs() < 1e-7);
        assert_eq!(problem.wet_surface(|r| r == Role::Floating), 0.0);
    }

    #[test]
    fn a_current_beyond_the_limit_of_the_wetted_surface_is_refused() {
        // 0.1 m of plate, 1 m deep, at most 150 A/m²: 15 A
        let limited = Law { limiting: Some(CurrentDensity::new(150.0)), ..linear(1e-3) };
        let mut layout = plates(limited.clone(), linear(1e-3));
        layout.supplies = vec![Supply::all(Drive::Current(Current::new(14.99)))];
        assert_eq!(fault(&layout), None);
        layout.supplies = vec![Supply::all(Drive::Current(Current::new(15.01)))];
        match fault(&layout) {
            Some(SolveError::BeyondLimit { wanted_a, possible_a, side }) => {
                assert_eq!((wanted_a, side), (15.01, "cathodes"));
                assert!((possible_a - 15.0).abs() < 1e-5);
            }
            other => panic!("{other:?}"),
        }
        // the same by mean density, and on the anode's side
        layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(150.1)))];
        assert!(matches!(fault(&layout), Some(SolveError::BeyondLimit { side: "cathodes", .. })));
        let mut layout = plates(linear(1e-3), limited);
        layout.supplies = vec![Supply::all(Drive::Current(Current::new(15.01)))];
        assert!(matches!(fault(&layout), Some(SolveError::BeyondLimit { side: "anodes", .. })));
    }

    #[test]
    fn a_part_behind_a_wall_has_no_path() {
        let mut layout = two_blocks();
        layout.bodies.push(body("wall", Role::Shield, rect(0.09, -0.01, 0.1, 0.11), ideal()));
        assert_eq!(fault(&layout), Some(SolveError::NoPath { part: "part".into() }));
    }

    #[test]
    fn a_mean_density_is_a_current_over_the_reached_length_of_the_parts() {
        // the inside of a tube is wetted but not reached
        let mut layout = two_blocks();
        layout.bodies[0].outline = Outline::ring(Point::new(0.05, 0.05), 0.02, 0.01).unwrap();
        layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(200.0)))];
        let (problem, _, _) = Problem::new(&layout, &SolveSettings::default()).unwrap();
        let exact = 200.0 * std::f64::consts::TAU * 0.02;
        assert!((problem.circuit.injected[0] / exact - 1.0).abs() < 1e-6);
        assert!(!problem.shares_cathode_bus());
    }
}
