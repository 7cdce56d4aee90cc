//! The one entry: a layout in, a solution out.
use crate::circuit::Circuit;
use crate::domain::Domain;
use crate::grid::mesh::Mesh;
use crate::grid::size::{Hints, wanted};
use crate::grid::tree::Tree;
use crate::layout::Layout;
use crate::measure::{Measured, measure};
use crate::newton::{Solved, State, Stalled, minimise};
use crate::pools::Live;
use crate::solution::Solution;
use crate::start;
use crate::surface::SurfacePlan;
use crate::system::assemble::{GAMMA, System};
use crate::system::numbering::Degree;
use crate::transfer;

/// How to solve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolveSettings {
    /// Wanted relative accuracy of the local current density on the parts.
    pub accuracy: f64,
    /// Largest number of unknowns that may be used.
    pub max_unknowns: usize,
}

impl Default for SolveSettings {
    fn default() -> Self {
        Self { accuracy: 0.01, max_unknowns: 400_000 }
    }
}

/// Why a checked layout could not be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// The layout does not make sense.
    #[error("{0}")]
    Layout(String),
    /// The supply asks for more than the limiting current densities allow.
    #[error("{wanted_a:.4} A wanted, but the limiting current density of the {side} lets through at most {possible_a:.4} A")]
    BeyondLimit {
        /// Current asked for, A.
        wanted_a: f64,
        /// Largest possible current, A.
        possible_a: f64,
        /// "cathodes" or "anodes".
        side: &'static str,
    },
    /// The grid needed exceeds the budget.
    #[error("accuracy {asked} needs more than {max_unknowns} unknowns; {reached:.4} would fit")]
    TooLarge {
        /// Accuracy asked for.
        asked: f64,
        /// Budget.
        max_unknowns: usize,
        /// Accuracy estimated on the largest grid that fits.
        reached: f64,
    },
    /// Newton's iteration stalled.
    #[error("the solution did not converge on grid {grid} after {steps} Newton steps")]
    NotConverged {
        /// Which grid.
        grid: usize,
        /// Steps taken.
        steps: usize,
    },
}

/// One solved grid, reported while the work goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Grid number, from 1.
    pub grid: usize,
    /// Unknowns on it.
    pub unknowns: usize,
    /// Estimated relative error so far.
    pub estimated_error: f64,
}

/// Solves `layout` to the accuracy of `settings`.
pub fn solve(
    layout: &Layout,
    settings: &SolveSettings,
    progress: &mut dyn FnMut(Progress),
) -> Result<Solution, SolveError> {
    let _ = (layout, settings, progress);
    Err(SolveError::Layout("the solver is not wired up yet".into()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinetics::{Kinetics, Law};
    use crate::layout::{Body, Role, Supply};
    use crate::quantity::*;
    use shapes::{Outline, Point};
    use std::time::Instant;

    fn law(kinetics: Kinetics) -> Law {
        Law { kinetics, limiting: None, rest: Potential::new(0.0) }
    }

    fn eccentric(wa: f64) -> Layout {
        let k = || {
            if wa == 0.0 {
                law(Kinetics::None)
            } else {
                law(Kinetics::Linear { resistance: AreaResistance::new(wa) })
            }
        };
        Layout {
            tank: Outline::disc(Point::new(0.0, 0.0), 1.5).unwrap(),
            depth: Length::new(1.0),
            conductivity: Conductivity::new(1.0),
            temperature: Temperature::celsius(25.0),
            bodies: vec![
                Body {
                    name: "outer".into(),
                    role: Role::Anode,
                    outline: Outline::ring(Point::new(0.0, 0.0), 1.2, 1.0).unwrap(),
                    law: k(),
                },
                Body {
                    name: "inner".into(),
                    role: Role::Part,
                    outline: Outline::disc(Point::new(0.2457, 0.1721), 0.4).unwrap(),
                    law: k(),
                },
            ],
            supply: Supply::Voltage(Potential::new(1.0)),
        }
    }

    #[test]
    fn trial() {
        for wa in [0.0, 0.01, 0.1, 1.0] {
            for acc in [0.08, 0.01, 0.00125] {
                let layout = eccentric(wa);
                let t0 = Instant::now();
                let plan = SurfacePlan::new(&layout);
                let t1 = Instant::now();
                let domain = Domain::new(&layout, &plan, &|_| 2e-4 * 0.4);
                let t2 = Instant::now();
                let hints = Hints { polarization_m: vec![wa, wa], accuracy: acc };
                let w = wanted(&domain, &layout, &hints);
                let tree = Tree::build(&domain, &w);
                let mut mesh = Mesh::new(&tree);
                let live = Live::new(&mesh, &domain, &layout);
                mesh.retain(&live.pieces);
                let t3 = Instant::now();
                let circuit = Circuit::new(&layout, &live.bodies).unwrap();
                let mut out = Vec::new();
                for degree in [Degree::One, Degree::Two] {
                    let t3 = Instant::now();
                    let system = System::new(&mesh, &domain, degree, GAMMA);
                    let t4 = Instant::now();
                    let n = system.size();
                    let state = State {
                        u: vec![0.0; n],
                        free: vec![0.0; circuit.injected.len()],
                        eta: vec![0.0; system.boundary.points.len()],
                    };
                    let solved = minimise(&system, &circuit, state).map_err(|_| ()).unwrap();
                    let t5 = Instant::now();
                    let m = measure(&system, &circuit, &solved.state, plan.stretches.len());
                    out.push(m.bodies[1]);
                    let e2: f64 = 0.09;
                    let exact = 2.0 * std::f64::consts::PI
                        / ((1.0f64 + 0.16 - e2) / 0.8).acosh();
                    println!(
                        "wa {wa} acc {acc} n {n} steps {} I {:.8} bal {:.1e} exact0 {:.8} | plan {:?} domain {:?} grid {:?} sys {:?} newton {:?}",
                        solved.steps, m.bodies[1], (m.bodies[0]+m.bodies[1])/m.bodies[1], exact, t1 - t0, t2 - t1, t3 - t2, t4-t3, t5 - t4
                    );
                }
            }
        }
    }
}
