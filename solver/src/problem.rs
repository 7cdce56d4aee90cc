//! A layout made ready: boundaries, stretches, circuit, first grid.

use std::sync::Arc;

use crate::circuit::Circuit;
use crate::domain::{Domain, TANK, Tag};
use crate::grid::fit::first_grid;
use crate::grid::mesh::Mesh;
use crate::grid::size::{Hints, wanted};
use crate::grid::tree::{Tree, Wanted};
use crate::layout::{Drive, Layout, Role};
use crate::pools::Live;
use crate::short::{self, Short};
use crate::solve::{Method, SolveError, SolveSettings};
use crate::start::{self, Guess};
use crate::surface::SurfacePlan;
use crate::weld::CONTACT;
use crate::wiring::Wiring;

/// What stays the same over all grids of one layout.
pub(crate) struct Problem<'a> {
    pub(crate) layout: &'a Layout,
    pub(crate) plan: SurfacePlan,
    domain: Arc<Domain>,
    pub(crate) wiring: Wiring,
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

/// Largest sagitta of a chord, as a share of the smallest radius of its outline and of the accuracy
/// asked for.
///
/// Chords are laid so that they keep the curve's mean radius; what is left of the error in currents is
/// of fourth order in the chord's angle. Means over stretches keep one of second order, about as large
/// as the sagitta, without polarization: where chords of two lengths meet the vertex suits neither.
const SAGITTA: f64 = 2e-2;
/// The accuracies between which it follows: no coarser below a hundred chords to the circle, no finer
/// than any estimate can tell.
const FOLLOWED: (f64, f64) = (1e-4, 1e-2);

/// The same as a share of the gap to a neighbour.
const GAP_SHARE: f64 = 0.1;

impl<'a> Problem<'a> {
    /// Prepares `layout` and cuts its first grid.
    pub(crate) fn new(
        layout: &'a Layout,
        settings: &SolveSettings,
    ) -> Result<(Self, Tree, Mesh), SolveError> {
        let plan = SurfacePlan::new(layout);
        let domain = Domain::new(layout, &plan, &|owner| sagitta(layout, owner, settings.accuracy));
        let every = vec![true; layout.bodies.len()];
        let law = |e: crate::kinetics::LawError| SolveError::Layout(e.to_string());
        let metals = (0..every.len()).filter(|&b| layout.bodies[b].role.is_metal()).collect();
        let all = Circuit::new(layout, &every, &[metals]).map_err(law)?;
        let guess = start::guess(layout, &all, &start::metal_surfaces(layout, &plan));
        let hints = Hints {
            polarization_m: start::polarization_lengths(layout, &all, &guess.density),
            accuracy: settings.accuracy,
        };
        let mut wanted = wanted(&domain, layout, &hints);
        let tree = first_grid(&domain, &mut wanted, settings.max_unknowns);
        let mut mesh = Mesh::new(&tree);
        let live = Live::new(&mesh, &domain, layout);
        for (body, &fed) in layout.bodies.iter().zip(&live.fed) {
            if body.role == Role::Part && !fed {
                return Err(SolveError::NoPath { part: body.name.clone() });
            }
        }
        let (wet, wet_m) = reached(&plan, &domain, &mesh, &live);
        mesh.retain(&live.pieces);
        let circuit = Circuit::new(layout, &live.bodies, &live.pools).map_err(law)?;
        if let Some(s) = circuit.open {
            return Err(SolveError::NoCircuit { supply: layout.supplies[s].name.clone() });
        }
        if let Some(Short { bodies, at }) = short::find(&domain, &circuit) {
            let bodies = bodies.map(|b| layout.bodies[b].name.clone());
            return Err(SolveError::ShortCircuit { bodies, at });
        }
        let domain = Arc::new(domain);
        let wiring = Wiring::new(layout);
        // multigrid knows potentials of one unknown each
        let method = if circuit.is_plain() { settings.method } else { Method::Direct };
        let mut problem =
            Self { layout, plan, domain, wiring, circuit, guess, wanted, method, wet, wet_m };
        problem.check_limits()?;
        problem.first_currents();
        Ok((problem, tree, mesh))
    }

    pub(crate) fn domain(&self) -> &Arc<Domain> {
        &self.domain
    }

    /// Reached surface of some bodies, m² per m of depth (or m²).
    fn wet_surface(&self, wanted: impl Fn(usize) -> bool) -> f64 {
        let rows = self.plan.stretches.iter().zip(&self.wet);
        rows.filter(|(s, _)| wanted(s.body)).map(|(_, l)| l).sum()
    }

    /// For each body whether it is a part that a supply feeds.
    pub(crate) fn parts_of(&self, supply: usize) -> Vec<bool> {
        let parts = self.layout.parts_of(&self.layout.supplies[supply]);
        (0..self.layout.bodies.len()).map(|b| parts.contains(&b)).collect()
    }

    /// Current wanted on its parts, A/m, if a supply holds their mean density.
    pub(crate) fn parts_target(&self, supply: usize) -> Option<f64> {
        let Drive::MeanDensity(density) = self.layout.supplies[supply].drive else { return None };
        let parts = self.parts_of(supply);
        Some(density.si() * self.wet_surface(|b| parts[b]))
    }

    /// What the limiting current densities of some bodies let through, A/m; infinite if one of
    /// them has none.
    pub(crate) fn capacity(&self, of: &dyn Fn(usize) -> bool) -> f64 {
        let rows = self.plan.stretches.iter().zip(&self.wet);
        rows.filter(|(s, l)| of(s.body) && **l > 0.0)
            .map(|(s, l)| Some(self.circuit.electrodes[s.body].as_ref()?.surface.limit()? * l))
            .try_fold(0.0, |sum, x| x.map(|x| sum + x))
            .unwrap_or(f64::INFINITY)
    }

    /// The current asked for on a bus must be below what the limiting current densities there let
    /// through, and so must that on parts whose mean density is held. Where another supply sets the
    /// voltage, it gives way.
    fn check_limits(&self) -> Result<(), SolveError> {
        let depth = self.layout.depth_m();
        let refuse = |supply, wanted: f64, possible: f64, side| {
            let (wanted_a, possible_a) = (depth * wanted, depth * possible);
            let over = wanted_a >= possible_a;
            if over {
                Err(SolveError::BeyondLimit { supply, wanted_a, possible_a, side })
            } else {
                Ok(())
            }
        };
        for (s, supply) in self.layout.supplies.iter().enumerate() {
            if let Some(target) = self.parts_target(s) {
                let parts = self.parts_of(s);
                refuse(s, target, self.capacity(&|b| parts[b]), "cathodes")?;
                let others = self.given_by_others(s, 0);
                if let Some((own, others)) = self.settled(s).zip(others) {
                    let anodes = self.wiring.poles[s][0];
                    let here = self.capacity(&|b| self.wiring.bus_of[b] == Some(anodes));
                    refuse(s, own + others, here, "anodes")?;
                    // what the parts have too much would have to go back through anodes that only dissolve
                    if own + others < 0.0 && self.work_one_way(anodes) {
                        let wanted_a = depth * target;
                        let least_a = wanted_a - depth * (own + others);
                        return Err(SolveError::ThiefFeeds { supply: s, wanted_a, least_a });
                    }
                }
            }
            for (pole, side) in [(1, "cathodes"), (0, "anodes")] {
                let bus = self.wiring.poles[s][pole];
                // parts have been looked at, and what thieves take besides is not known
                let wanted = |t: usize| match self.layout.supplies[t].drive {
                    Drive::Current(i) => Some(i.si() / depth),
                    Drive::MeanDensity(_) if side == "anodes" && t == s => self.parts_target(t),
                    Drive::MeanDensity(_) if t == s => None,
                    // nothing, or it adds to what must pass
                    Drive::MeanDensity(_) | Drive::Voltage(_) => {
                        self.sends_forwards(t, pole).then_some(0.0)
                    }
                };
                if matches!(supply.drive, Drive::Voltage(_)) {
                    continue;
                }
                if matches!(supply.drive, Drive::MeanDensity(_))
                    && self.wiring.supplies_on(bus, pole).count() > 1
                {
                    continue;
                }
                let all: Option<f64> = self.wiring.supplies_on(bus, pole).map(wanted).sum();
                if let Some(all) = all {
                    let here = self.capacity(&|b| self.wiring.bus_of[b] == Some(bus));
                    refuse(s, all, here, side)?;
                }
            }
        }
        Ok(())
    }
}

fn sagitta(layout: &Layout, owner: u32, accuracy: f64) -> f64 {
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
    let sagitta = SAGITTA * accuracy.clamp(FOLLOWED.0, FOLLOWED.1) / bend;
    let tank = (owner != TANK).then_some(&layout.tank);
    let others = (0..layout.bodies.len()).filter(|&i| i as u32 != owner);
    others
        .map(|i| &layout.bodies[i].outline)
        .chain(tank)
        .filter(|other| outline.touches(other, sagitta / GAP_SHARE))
        .map(|other| outline.gap(other))
        .filter(|gap| *gap > CONTACT * layout.tank.diagonal())
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
        assert!((problem.wet_surface(|b| b == 0) - 0.1).abs() < 1e-7);
        assert!((problem.wet_surface(|b| b == 1) - 0.1).abs() < 1e-7);
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
            Some(SolveError::BeyondLimit { supply: 0, wanted_a, possible_a, side }) => {
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
    }
}
