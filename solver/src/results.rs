//! From sums over stretches to the answer that is reported.

use shapes::Point;

use crate::estimate::Errors;
use crate::field::Field;
use crate::layout::{Role, Symmetry};
use crate::measure::Measured;
use crate::problem::Problem;
use crate::solution::{BodyResult, Solution, SolveStats, Spread, Stretch, SupplyResult, Wagner};
use crate::surface::PlanStretch;

/// Stretches wetted over less than this share of their length are partly covered.
const WHOLE: f64 = 0.995;

/// Everything a solution is made of.
pub(crate) struct Parts<'a> {
    pub(crate) problem: &'a Problem<'a>,
    pub(crate) measured: &'a Measured,
    pub(crate) errors: &'a Errors,
    pub(crate) field: Field,
    pub(crate) stats: SolveStats,
}

impl Parts<'_> {
    /// Puts the solution together.
    pub(crate) fn solution(self) -> Solution {
        let bodies: Vec<BodyResult> =
            (0..self.problem.layout.bodies.len()).map(|b| self.body(b)).collect();
        let net: f64 = self.measured.bodies.iter().sum();
        let traffic: f64 = self.measured.bodies.iter().map(|i| i.abs()).sum();
        Solution {
            symmetry: self.problem.layout.symmetry,
            supplies: vec![self.supply(&bodies)],
            wagner: self.wagner(&bodies),
            bodies,
            field: self.field,
            current_balance: if traffic > 0.0 { 2.0 * net / traffic } else { 0.0 },
            stats: self.stats,
        }
    }

    fn body(&self, b: usize) -> BodyResult {
        let body = &self.problem.layout.bodies[b];
        let depth = self.problem.layout.depth_m();
        let mut stretches = Vec::new();
        for (i, plan) in self.problem.plan.stretches.iter().enumerate().filter(|(_, s)| s.body == b)
        {
            if self.problem.wet[i] > 0.0 {
                stretches.push(self.stretch(i, plan));
            }
        }
        let area_m2: f64 = stretches.iter().map(|s| s.area_m2).sum();
        let current_a = self.measured.bodies[b] * depth;
        BodyResult {
            name: body.name.clone(),
            role: body.role,
            current_a,
            current_uncertainty_a: self.errors.bodies[b] * depth,
            area_m2,
            metal_potential_v: self.problem.circuit.potential(b, &self.measured.free),
            density: self.spread(b, &stretches, current_a, area_m2),
            contact_v: 0.0,
            stretches,
        }
    }

    fn stretch(&self, i: usize, plan: &PlanStretch) -> Stretch {
        let (length_m, surface) = (self.problem.wet_m[i], self.problem.wet[i]);
        let sum = &self.measured.stretches[i];
        let body = &self.problem.layout.bodies[plan.body];
        let curve = &body.outline.loops()[plan.loop_index];
        let whole = length_m >= WHOLE * (plan.to - plan.from);
        let s_m =
            curve.wrapped(if whole { 0.5 * (plan.from + plan.to) } else { sum.middle(curve) });
        let eta = sum.eta / sum.surface;
        let metal = self.problem.circuit.potential(plan.body, &self.measured.free).unwrap_or(0.0);
        let outward = curve.outward_at(s_m);
        Stretch {
            loop_index: plan.loop_index,
            s_m,
            length_m,
            area_m2: surface * self.problem.layout.depth_m(),
            at: curve.point_at(s_m),
            normal: [outward.x, outward.y],
            potential_v: metal - body.law.rest.si() - eta,
            overpotential_v: eta,
            current_density_a_m2: sum.current / surface,
            uncertainty_a_m2: self.errors.stretches[i],
        }
    }

    fn spread(&self, b: usize, stretches: &[Stretch], current_a: f64, area_m2: f64) -> Spread {
        let column = |f: &dyn Fn(&Stretch) -> f64| stretches.iter().map(f).collect::<Vec<f64>>();
        let places: Vec<Point> = stretches.iter().map(|s| s.at).collect();
        let spread = Spread::of(
            &column(&|s| s.current_density_a_m2),
            &column(&|s| s.area_m2),
            &places,
            &column(&|s| s.uncertainty_a_m2),
        );
        let nothing = Spread {
            mean: 0.0,
            min: 0.0,
            max: 0.0,
            min_at: Point::ZERO,
            max_at: Point::ZERO,
            mean_uncertainty: 0.0,
            min_uncertainty: 0.0,
            max_uncertainty: 0.0,
        };
        // the mean is the body's current over its area: the current's own uncertainty counts
        spread.map_or(nothing, |s| Spread {
            mean: current_a / area_m2,
            mean_uncertainty: self.errors.bodies[b] * self.problem.layout.depth_m() / area_m2,
            ..s
        })
    }

    fn supply(&self, bodies: &[BodyResult]) -> SupplyResult {
        let depth = self.problem.layout.depth_m();
        let anodes =
            || (0..bodies.len()).filter(|&b| self.problem.layout.bodies[b].role == Role::Anode);
        let current: f64 = -anodes().map(|b| self.measured.bodies[b]).sum::<f64>();
        let voltage = anodes().find_map(|b| bodies[b].metal_potential_v).unwrap_or(0.0);
        // share of a side: metal − bath, weighted by the current through each stretch
        let share = |wanted: &dyn Fn(Role) -> bool| -> f64 {
            let (mut volts, mut sum) = (0.0, 0.0);
            for b in bodies.iter().filter(|b| wanted(b.role)) {
                let metal = b.metal_potential_v.unwrap_or(0.0);
                for s in &b.stretches {
                    let i = (s.current_density_a_m2 * s.area_m2).abs();
                    volts += i * (metal - s.potential_v);
                    sum += i;
                }
            }
            if sum > 0.0 { volts / sum } else { 0.0 }
        };
        let anode_v = share(&|r| r == Role::Anode);
        let cathode_v = -share(&|r| matches!(r, Role::Part | Role::Thief { .. }));
        SupplyResult {
            name: self.problem.layout.supplies[0].name.clone(),
            current_a: current * depth,
            current_uncertainty_a: self.errors.supply_current * depth,
            voltage_v: voltage,
            voltage_uncertainty_v: self.errors.voltage,
            bath_voltage_v: voltage,
            bath_voltage_uncertainty_v: self.errors.voltage,
            anode_v,
            solution_v: voltage - anode_v - cathode_v,
            cathode_v,
            power_w: current * depth * voltage,
            ..SupplyResult::default()
        }
    }

    fn wagner(&self, bodies: &[BodyResult]) -> Wagner {
        let parts = || bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part);
        let extent = parts()
            .map(|(b, _)| {
                let r = self.problem.layout.bodies[b].outline.bounds();
                let width = match self.problem.layout.symmetry {
                    Symmetry::Planar => r.width(),
                    Symmetry::Axial => 2.0 * r.x1,
                };
                width.max(r.height())
            })
            .fold(0.0, f64::max);
        let length_m = 0.5 * extent;
        let (mut slope, mut area) = (0.0, 0.0);
        for (b, body) in parts() {
            if let Some(e) = &self.problem.circuit.electrodes[b] {
                slope += body.area_m2 * e.surface.slope_at(-body.density.mean);
                area += body.area_m2;
            }
        }
        let number = self.problem.layout.conductivity.si() * slope / (area * length_m);
        Wagner { number: if number.is_finite() { number } else { 0.0 }, length_m }
    }
}

#[cfg(test)]
mod tests {
    use crate::layout::{Drive, Role, Supply};
    use crate::quantity::{CurrentDensity, Length, Potential};
    use crate::sample::{KAPPA, PLATES_APART, body, linear, plates, rect, two_blocks};
    use crate::solve::{SolveSettings, solve};

    #[test]
    fn shares_of_the_voltage_between_plates_are_those_of_resistors_in_series() {
        let (b_c, b_a, depth) = (1.3e-3, 4.1e-3, 0.3);
        let mut layout = plates(linear(b_c), linear(b_a));
        layout.depth = Length::new(depth);
        layout.bodies[0].law.rest = Potential::new(-0.21);
        layout.bodies[1].law.rest = Potential::new(0.13);
        // rest potentials are in series too: 1 V = 0.13 + 0.21 + i Σ
        let i = (1.0 - 0.34) / (b_c + PLATES_APART / KAPPA + b_a);
        let found = solve(&layout, &SolveSettings::default(), &mut |_| {}).unwrap();
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-6 * b.abs(), "{a} against {b}");
        let s = &found.supplies[0];
        close(s.voltage_v, 1.0);
        close(s.anode_v, i * b_a + 0.13);
        close(s.cathode_v, i * b_c + 0.21);
        close(s.solution_v, i * PLATES_APART / KAPPA);
        close(s.current_a, i * 0.1 * depth);
        assert!(found.current_balance.abs() < 1e-10);
        let plate = &found.bodies[0];
        close(plate.area_m2, 0.1 * depth);
        close(plate.current_a, i * 0.1 * depth);
        close(plate.density.mean, i);
        close(plate.density.max, i);
        close(found.bodies[1].density.min, -i);
        // Wagner's number with half the part's height of 0.12 m
        close(found.wagner.length_m, 0.06);
        close(found.wagner.number, KAPPA * b_c / 0.06);
        for row in &plate.stretches {
            close(row.overpotential_v, -i * b_c);
            close(row.potential_v, 0.21 + i * b_c);
            assert!((row.normal[0] - 1.0).abs() < 1e-9 && (row.at.x - 0.031).abs() < 1e-9);
            assert!(row.at.y > 0.0 && row.at.y < 0.1, "only the wetted part is reported");
        }
        let wetted: f64 = plate.stretches.iter().map(|r| r.length_m).sum();
        close(wetted, 0.1);
    }

    #[test]
    fn insulators_have_no_rows_and_no_current() {
        let mut layout = two_blocks();
        layout.bodies.push(body("shield", Role::Shield, rect(0.09, 0.03, 0.1, 0.06), linear(1.0)));
        let settings = SolveSettings { accuracy: 0.05, ..SolveSettings::default() };
        let found = solve(&layout, &settings, &mut |_| {}).unwrap();
        let shield = &found.bodies[2];
        assert!(shield.stretches.is_empty() && shield.metal_potential_v.is_none());
        assert_eq!((shield.current_a, shield.area_m2, shield.density.mean), (0.0, 0.0, 0.0));
        assert_eq!(found.bodies[1].metal_potential_v, Some(1.0));
    }

    #[test]
    fn parts_get_their_mean_density_whatever_the_thieves_take() {
        let mut layout = two_blocks();
        let thief = Role::Thief { offset: Potential::new(-0.1) };
        layout.bodies.push(body("thief", thief, rect(0.031, 0.08, 0.05, 0.085), linear(2e-3)));
        layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(250.0)))];
        let settings = SolveSettings { accuracy: 0.05, ..SolveSettings::default() };
        let found = solve(&layout, &settings, &mut |_| {}).unwrap();
        let (part, thief) = (&found.bodies[0], &found.bodies[2]);
        assert!((part.density.mean / 250.0 - 1.0).abs() < 1e-8, "{}", part.density.mean);
        assert!(thief.current_a > 0.0);
        let taken = part.current_a + thief.current_a;
        assert!((found.supplies[0].current_a / taken - 1.0).abs() < 1e-9);
    }
}
