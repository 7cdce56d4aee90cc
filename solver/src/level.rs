//! One grid solved: bilinear first, then biquadratic on the same cells.

use std::sync::Arc;

use crate::grid::mesh::Mesh;
use crate::grid::tree::Tree;
use crate::hold;
use crate::measure::{Measured, measure};
use crate::newton::{Aim, Solved, Stalled, State};
use crate::problem::Problem;
use crate::start;
use crate::system::assemble::{Cells, GAMMA, System};
use crate::system::joint::Joint;
use crate::system::numbering::Degree;
use crate::transfer;

/// A grid with its answers.
pub(crate) struct Level {
    pub(crate) tree: Tree,
    pub(crate) mesh: Arc<Mesh>,
    answers: Answers,
}

/// The answers of both degrees on one mesh.
pub(crate) struct Answers {
    pub(crate) system: System,
    pub(crate) solved: Solved,
    /// What the biquadratic answer says.
    pub(crate) fine: Measured,
    /// What the bilinear answer says.
    pub(crate) low: Measured,
    low_steps: usize,
}

impl std::ops::Deref for Level {
    type Target = Answers;

    fn deref(&self) -> &Answers {
        &self.answers
    }
}

impl Level {
    /// Newton steps of both degrees.
    pub(crate) fn steps(&self) -> usize {
        self.low_steps + self.solved.steps
    }

    /// Factors the last Newton matrix anew; false if it is not positive definite.
    pub(crate) fn factor(&mut self) -> bool {
        self.answers.solved.joint.factor().is_ok()
    }

    /// Solves on `tree`, starting from the grid before if there is one.
    pub(crate) fn solve(
        problem: &mut Problem,
        tree: Tree,
        mesh: Option<Mesh>,
        before: Option<&Level>,
    ) -> Result<Self, Stalled> {
        let mesh = mesh.unwrap_or_else(|| {
            let mut mesh = Mesh::new(&tree);
            let live = crate::pools::Live::new(&mesh, problem.domain(), problem.layout);
            mesh.retain(&live.pieces);
            mesh
        });
        let mesh = Arc::new(mesh);
        // a matrix that is not positive definite wants thinner layers
        let mut gamma = GAMMA;
        loop {
            match both_degrees(problem, &mesh, gamma, before) {
                Ok(answers) => return Ok(Self { tree, mesh, answers }),
                Err(Stalled::NotPositive) if gamma > THINNEST => gamma *= 0.5,
                Err(e) => return Err(e),
            }
        }
    }
}

/// Bilinear, then biquadratic from it; or both from the grid before, side by side.
fn both_degrees(
    problem: &mut Problem,
    mesh: &Arc<Mesh>,
    gamma: f64,
    before: Option<&Level>,
) -> Result<Answers, Stalled> {
    let cells = Cells::new(mesh, problem.domain(), gamma);
    let (low_system, system) =
        rayon::join(|| System::new(&cells, Degree::One), || System::new(&cells, Degree::Two));
    let warm = |system: &System, b: &Level| {
        let u = transfer::finer(b, mesh, &system.numbering);
        state(system, u, b.solved.state.free.clone())
    };
    let (free, method) = (problem.circuit.injected.len(), problem.method);
    let mut low_circuit = problem.circuit.clone();
    let mut circuit = problem.circuit.clone();
    let (low, solved) = match before {
        Some(b) => rayon::join(
            || {
                let start = warm(&low_system, b);
                let joint = Joint::new(&low_system, free, method)?;
                hold::at_supplies(problem, &mut low_circuit, &low_system, start, joint, Aim::Start)
            },
            || {
                let start = warm(&system, b);
                let joint = Joint::new(&system, free, method)?;
                hold::at_supplies(problem, &mut circuit, &system, start, joint, Aim::Balance)
            },
        ),
        None => {
            let start = cold(&low_system, problem);
            let (low, joint) = rayon::join(
                || {
                    let joint = Joint::new(&low_system, free, method)?;
                    hold::at_supplies(
                        problem,
                        &mut low_circuit,
                        &low_system,
                        start,
                        joint,
                        Aim::Start,
                    )
                },
                || Joint::new(&system, free, method),
            );
            let (low, joint) = (low?, joint?);
            let u = transfer::same_mesh(&low_system, &low.state.u, &system.numbering);
            let start = state(&system, u, low.state.free.clone());
            circuit.clone_from(&low_circuit);
            let solved =
                hold::at_supplies(problem, &mut circuit, &system, start, joint, Aim::Balance);
            (Ok(low), solved)
        }
    };
    let (low, solved) = (low?, solved?);
    problem.circuit = circuit;
    Ok(Answers {
        fine: measure(&system, problem, &problem.circuit, &solved.state),
        low: measure(&low_system, problem, &low_circuit, &low.state),
        low_steps: low.steps,
        system,
        solved,
    })
}

/// Thinnest layer that is tried before giving up.
const THINNEST: f64 = 1e-5;

fn state(system: &System, u: Vec<f64>, free: Vec<f64>) -> State {
    State { u, free, eta: vec![0.0; system.boundary.points.len()] }
}

fn cold(system: &System, problem: &Problem) -> State {
    let free = start::free_potentials(problem.layout, &problem.circuit, &problem.guess);
    state(system, vec![problem.guess.bath_v; system.size()], free)
}
