//! A first guess of mean current densities and potentials, from areas and laws alone.

use crate::circuit::{Circuit, Terminal};
use crate::layout::{Drive, Layout, Role, Supply};
use crate::surface::SurfacePlan;

/// What is expected before anything is solved.
#[derive(Debug, Clone)]
pub(crate) struct Guess {
    /// Magnitude of each body's mean current density, A/m².
    pub(crate) density: Vec<f64>,
    /// Bath potential near the cathodes, V.
    pub(crate) bath_v: f64,
    /// Anode bus of each supply against its cathode bus, V.
    pub(crate) anode_v: Vec<f64>,
}

/// Metal surface of each body, wetted or not, m² per m of depth (or m² around an axis).
pub(crate) fn metal_surfaces(layout: &Layout, plan: &SurfacePlan) -> Vec<f64> {
    let mut surfaces = vec![0.0; layout.bodies.len()];
    for s in plan.stretches.iter().filter(|s| !s.masked) {
        let curve = &layout.bodies[s.body].outline.loops()[s.loop_index];
        let middle = curve.point_at(curve.wrapped(0.5 * (s.from + s.to)));
        surfaces[s.body] += (s.to - s.from) * layout.symmetry.breadth(middle.x);
    }
    surfaces
}

/// One-dimensional estimate for each supply: its anodes in one, its cathodes in one, the bath
/// between them a bar as wide as the smaller of the two and as long as their distance. Bodies on
/// several supplies carry the sum.
pub(crate) fn guess(layout: &Layout, circuit: &Circuit, lengths: &[f64]) -> Guess {
    let mut current = vec![0.0; layout.bodies.len()];
    let mut out = Guess { density: Vec::new(), bath_v: 0.0, anode_v: Vec::new() };
    for (s, supply) in layout.supplies.iter().enumerate() {
        let cell = Cell::new(layout, circuit, lengths, supply);
        let i = cell.current(layout, supply);
        out.anode_v.push(cell.volts(i));
        if s == 0 {
            out.bath_v = -cell.drop(cell.cathode, -i / cell.cathodes_m);
        }
        for (list, total) in [
            (layout.anodes_of(supply), cell.anodes_m),
            (layout.cathodes_of(supply), cell.cathodes_m),
        ] {
            list.into_iter().for_each(|b| current[b] += i * lengths[b] / total);
        }
    }
    let usual = current.iter().sum::<f64>() / lengths.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let cathode = layout.bodies.iter().position(|b| b.role == Role::Part);
    let passing = cathode.map_or(usual, |b| current[b] / lengths[b].max(f64::MIN_POSITIVE));
    let density = |b: usize| match layout.bodies[b].role {
        // a floating body passes on a share of what comes its way
        Role::Floating => 0.3 * passing,
        _ => current[b] / lengths[b].max(f64::MIN_POSITIVE),
    };
    out.density = (0..layout.bodies.len()).map(density).collect();
    out
}

/// The bar of bath between the electrodes of one supply.
struct Cell<'a> {
    circuit: &'a Circuit,
    anode: Option<usize>,
    cathode: Option<usize>,
    anodes_m: f64,
    cathodes_m: f64,
    ohm_m: f64,
}

impl<'a> Cell<'a> {
    fn new(layout: &Layout, circuit: &'a Circuit, lengths: &[f64], supply: &Supply) -> Self {
        let (anodes, cathodes) = (layout.anodes_of(supply), layout.cathodes_of(supply));
        let total = |list: &[usize]| -> f64 {
            list.iter().map(|&b| lengths[b]).sum::<f64>().max(f64::MIN_POSITIVE)
        };
        let (anodes_m, cathodes_m) = (total(&anodes), total(&cathodes));
        let working =
            |list: &[usize]| list.iter().copied().find(|&b| circuit.electrodes[b].is_some());
        let parts = layout.parts_of(supply);
        let (anode, cathode) = (working(&anodes), working(&parts).or_else(|| working(&cathodes)));
        let centre = |b: usize| layout.bodies[b].outline.bounds().center();
        let distance = match (anode, cathode) {
            (Some(a), Some(c)) => (centre(c) - centre(a)).hypot(),
            _ => layout.tank.bounds().width(),
        };
        let bath = distance / (layout.conductivity.si() * 0.5 * cathodes_m.min(anodes_m));
        let ohm_m = bath + supply.lead.si() * layout.depth_m();
        Self { circuit, anode, cathode, anodes_m, cathodes_m, ohm_m }
    }

    /// Potential across an electrode at a current density into the bath, V.
    fn drop(&self, body: Option<usize>, j: f64) -> f64 {
        body.and_then(|b| self.circuit.electrodes[b].as_ref()).map_or(0.0, |e| {
            let j = match e.surface.limit() {
                Some(l) => j.clamp(-0.999 * l, 0.999 * l),
                None => j,
            };
            e.rest + e.surface.overpotential(j).unwrap_or(0.0)
        })
    }

    fn volts(&self, i: f64) -> f64 {
        self.drop(self.anode, i / self.anodes_m) - self.drop(self.cathode, -i / self.cathodes_m)
            + i * self.ohm_m
    }

    fn current(&self, layout: &Layout, supply: &Supply) -> f64 {
        match supply.drive {
            Drive::Current(i) => i.si() / layout.depth_m(),
            Drive::MeanDensity(j) => j.si() * self.cathodes_m,
            Drive::Voltage(v) => {
                let mut high = v.si().abs() / self.ohm_m;
                let mut low = 0.0;
                for _ in 0..60 {
                    let mid = 0.5 * (low + high);
                    if self.volts(mid) > v.si() { high = mid } else { low = mid }
                }
                high.max(1e-12)
            }
        }
    }
}

/// Density at a sharp corner against the mean: what its cells must be fine enough for.
const PEAK: f64 = 2.5;

/// Polarization length κ dη/di of each body at the density to expect at its corners, m.
pub(crate) fn polarization_lengths(
    layout: &Layout,
    circuit: &Circuit,
    density: &[f64],
) -> Vec<f64> {
    let kappa = layout.conductivity.si();
    circuit
        .electrodes
        .iter()
        .zip(density)
        .zip(&layout.bodies)
        .map(|((e, &i), body)| {
            let sign = if body.role == Role::Anode { 1.0 } else { -1.0 };
            e.as_ref().map_or(f64::INFINITY, |e| {
                let peak = PEAK * i;
                // η rises ever steeper towards a limit, but what lies beside the starved stretch
                // works where the curve is flattest: at half the limit for exponential laws
                let peak = e.surface.limit().map_or(peak, |l| peak.min(0.5 * l));
                kappa * e.surface.slope_at(sign * peak)
            })
        })
        .collect()
}

/// Start values of the unknowns of the circuit: potentials as guessed, no drops.
pub(crate) fn free_potentials(layout: &Layout, circuit: &Circuit, guess: &Guess) -> Vec<f64> {
    let mut free = vec![0.0; circuit.injected.len()];
    let own = |terminal: &Terminal| {
        let root = terminal.free.iter().copied().find(|k| circuit.roots.contains(k))?;
        Some((root, terminal.fixed))
    };
    for (line, volts) in circuit.lines.iter().zip(&guess.anode_v) {
        // the unknown that lifts the anode bus of a supply by current
        if let Some(&(k, c)) =
            line.terms.iter().find(|(k, c)| *c > 0.0 && circuit.roots.contains(k))
        {
            free[k] = c * (volts - line.fixed);
        }
    }
    for (e, body) in circuit.electrodes.iter().zip(&layout.bodies) {
        if let Some(e) = e
            && body.role == Role::Floating
            && let Some((k, fixed)) = own(&e.terminal)
        {
            free[k] = guess.bath_v + e.rest - fixed;
        }
    }
    free
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Body;
    use crate::quantity::{Current, Potential};
    use crate::sample::{KAPPA, body, ideal, layout, rect, tafel, two_blocks};

    fn guessed(layout: &Layout) -> (Circuit, Guess) {
        let n = layout.bodies.len();
        let circuit = Circuit::new(layout, &vec![true; n], &[(0..n).collect()]).unwrap();
        let lengths = metal_surfaces(layout, &SurfacePlan::new(layout));
        let g = guess(layout, &circuit, &lengths);
        (circuit, g)
    }

    #[test]
    fn a_bar_of_bath_between_two_blocks_in_series_with_their_laws() {
        let mut l = two_blocks();
        l.supplies = vec![Supply::all(Drive::Current(Current::new(2.0)))];
        let (_, g) = guessed(&l);
        let (part, anode) = (&l.bodies[0].outline, &l.bodies[1].outline);
        let (c, a) = (part.perimeter(), anode.perimeter());
        assert!((g.density[0] - 2.0 / c).abs() < 1e-9);
        assert!((g.density[1] - 2.0 / a).abs() < 1e-9);
        // both laws are 10⁻³ Ω m²; the bar is half of the smaller outline wide
        let distance = (part.bounds().center() - anode.bounds().center()).hypot();
        let volts = 1e-3 * 2.0 / c + 1e-3 * 2.0 / a + 2.0 * distance / (KAPPA * 0.5 * c.min(a));
        assert!((g.anode_v[0] - volts).abs() < 1e-9, "{} against {volts}", g.anode_v[0]);
        // the bath at the cathode is above it by the cathode's overpotential
        assert!((g.bath_v - 1e-3 * 2.0 / c).abs() < 1e-9);
    }

    #[test]
    fn a_voltage_guesses_the_current_that_guesses_the_voltage() {
        let mut l = two_blocks();
        l.bodies[0].law = tafel(0.3, 0.12);
        l.bodies[1].law = tafel(2.0, 0.06);
        l.supplies = vec![Supply::all(Drive::Voltage(Potential::new(1.7)))];
        let (_, g) = guessed(&l);
        let current = g.density[1] * l.bodies[1].outline.perimeter();
        l.supplies = vec![Supply::all(Drive::Current(Current::new(current)))];
        assert!((guessed(&l).1.anode_v[0] - 1.7).abs() < 1e-9);
    }

    #[test]
    fn a_linear_law_has_one_polarization_length_at_every_density() {
        let mut l = two_blocks();
        l.bodies[1].law = ideal();
        l.bodies.push(body("screen", Role::Shield, rect(0.09, 0.03, 0.1, 0.06), ideal()));
        let (circuit, _) = guessed(&l);
        for density in [1.0, 1e3] {
            let lengths = polarization_lengths(&l, &circuit, &[density; 3]);
            assert!((lengths[0] - KAPPA * 1e-3).abs() < 1e-12);
            assert_eq!(lengths[1..], [0.0, f64::INFINITY]);
        }
    }

    #[test]
    fn the_polarization_length_of_a_tafel_law_falls_with_the_density() {
        // dη/di = slope / (i ln 10), at 2.5 times the mean
        let mut l = two_blocks();
        l.bodies[0].law = tafel(0.3, 0.12);
        let (circuit, _) = guessed(&l);
        let length = polarization_lengths(&l, &circuit, &[200.0, 200.0])[0];
        let exact = KAPPA * 0.12 / (std::f64::consts::LN_10 * 2.5 * 200.0);
        assert!((length / exact - 1.0).abs() < 1e-9, "{length} against {exact}");
    }

    #[test]
    fn floating_metal_starts_at_rest_in_the_bath_and_the_anode_at_its_guess() {
        let mut l = two_blocks();
        let mut law = ideal();
        law.rest = Potential::new(0.17);
        l.bodies.push(Body {
            role: Role::Floating,
            ..body("loose", Role::Part, rect(0.09, 0.03, 0.1, 0.06), law)
        });
        l.supplies = vec![Supply::all(Drive::Current(Current::new(2.0)))];
        let (circuit, g) = guessed(&l);
        assert_eq!(free_potentials(&l, &circuit, &g), [g.anode_v[0], g.bath_v + 0.17]);
        let tank = layout(vec![]);
        assert!(metal_surfaces(&tank, &SurfacePlan::new(&tank)).is_empty());
    }
}
