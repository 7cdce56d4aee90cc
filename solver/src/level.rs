//! One grid solved: the first one bilinear, then biquadratic on the same cells; the others biquadratic
//! from the coarser grid's answer.

use std::sync::Arc;

use crate::domain::Domain;
use crate::field::Answer;
use crate::grid::mesh::Mesh;
use crate::grid::tree::Tree;
use crate::hold;
use crate::measure::{Measured, measure};
use crate::newton::{Aim, Solved, Stalled, State};
use crate::problem::Problem;
use crate::solve::Method;
use crate::start;
use crate::system::assemble::{Cells, GAMMA, System};
use crate::system::joint::{Elimination, Joint};
use crate::system::linear::{NotPositive, Order};
use crate::system::numbering::Degree;
use crate::transfer;
use crate::warm::Neighbour;

/// What a grid is started from.
#[derive(Clone, Copy)]
pub(crate) enum Before<'a> {
    /// A guess from areas and laws.
    Nothing,
    /// The coarser grid.
    Grid(&'a Level),
    /// The answer of another layout.
    Neighbour(&'a Neighbour),
}

/// A grid with its answers.
pub(crate) struct Level {
    pub(crate) tree: Arc<Tree>,
    pub(crate) mesh: Arc<Mesh>,
    answers: Answers,
}

/// The answers of both degrees on one mesh.
pub(crate) struct Answers {
    pub(crate) system: Arc<System>,
    pub(crate) solved: Solved,
    /// What the biquadratic answer says.
    pub(crate) fine: Measured,
    /// The bilinear answer, on a first grid.
    pub(crate) low: Option<Low>,
}

/// The answer of lower degree.
pub(crate) struct Low {
    system: Arc<System>,
    solved: Solved,
    /// What it says.
    pub(crate) measured: Measured,
}

impl std::ops::Deref for Level {
    type Target = Answers;

    fn deref(&self) -> &Answers {
        &self.answers
    }
}

/// What outlives the last grid.
pub(crate) struct Remains {
    pub(crate) answer: Answer,
    pub(crate) measured: Measured,
}

/// A grid that has been solved, kept for a layout of the same outlines: equations and answers.
pub(crate) struct Grid {
    tree: Arc<Tree>,
    mesh: Arc<Mesh>,
    low: Ready,
    fine: Ready,
}

impl Grid {
    /// The potentials, biquadratic and bilinear.
    pub(crate) fn answers(&self, domain: &Arc<Domain>) -> [Answer; 2] {
        [&self.fine, &self.low].map(|ready| {
            let u = ready.start.as_ref().expect("a solved grid has its answer").u.clone();
            let numbering = ready.system.numbering.clone();
            Answer::new(domain, &self.tree, &self.mesh, numbering, u)
        })
    }

    /// The free potentials, V.
    pub(crate) fn free(&self) -> Vec<f64> {
        self.fine.start.as_ref().expect("a solved grid has its answer").free.clone()
    }
}

/// The equations of one degree, with the order of elimination and an answer once they are known.
struct Ready {
    system: Arc<System>,
    order: Option<Order>,
    start: Option<State>,
}

impl Ready {
    fn new(system: System, start: Option<State>) -> Self {
        Self { system: Arc::new(system), order: None, start }
    }

    fn of(system: &Arc<System>, solved: &Solved) -> Self {
        let start = Some(solved.state.clone());
        Self { system: Arc::clone(system), order: solved.joint.order(), start }
    }

    /// What solves the equations; `like` is the order for those of lower degree on the same
    /// mesh.
    fn joint(
        &self,
        problem: &Problem,
        like: Option<(&System, &Order)>,
    ) -> Result<Joint, NotPositive> {
        let free = problem.circuit.injected.len();
        let numbering = &self.system.numbering;
        let listed =
            |(low, order): (&System, &Order)| numbering.elimination(&low.numbering, &order.ranks());
        let order = match &self.order {
            Some(order) => Elimination::Known(order),
            None => like.map_or(Elimination::Unknown, |low| Elimination::Listed(listed(low))),
        };
        Joint::new(&self.system, free, problem.method, order)
    }

    /// The start, if it is of as many unknowns as `problem` has.
    fn start(&self, problem: &Problem) -> Option<State> {
        self.start.clone().filter(|s| s.free.len() == problem.circuit.injected.len())
    }
}

impl Level {
    /// Newton steps of both degrees.
    pub(crate) fn steps(&self) -> usize {
        self.low.as_ref().map_or(0, |low| low.solved.steps) + self.solved.steps
    }

    /// Factors the last Newton matrix anew; false if it is not positive definite.
    pub(crate) fn factor(&mut self) -> bool {
        self.answers.solved.joint.factor().is_ok()
    }

    /// Gives back the memory of matrices and factors: nothing more is solved on this grid.
    pub(crate) fn forget(&mut self) {
        self.answers.solved.joint.forget();
    }

    /// What solves the biquadratic equations, made anew.
    pub(crate) fn joint(&self, free: usize, method: Method) -> Result<Joint, NotPositive> {
        let order = match &self.low {
            Some(low) if method != Method::Multigrid => {
                let ranks = Order::new(&low.system.constant)?.ranks();
                let fine = &self.system.numbering;
                Elimination::Listed(fine.elimination(&low.system.numbering, &ranks))
            }
            _ => Elimination::Unknown,
        };
        Joint::new(&self.system, free, method, order)
    }

    /// What layouts like this one can use again of a first grid.
    pub(crate) fn grid(&self) -> Option<Grid> {
        let low = self.low.as_ref()?;
        Some(Grid {
            tree: Arc::clone(&self.tree),
            mesh: Arc::clone(&self.mesh),
            low: Ready::of(&low.system, &low.solved),
            fine: Ready::of(&self.system, &self.solved),
        })
    }

    /// What is kept of it once it is the last.
    pub(crate) fn keep(self, domain: &Arc<Domain>) -> Remains {
        let Answers { system, solved, fine, .. } = self.answers;
        let numbering = match Arc::try_unwrap(system) {
            Ok(system) => system.numbering,
            Err(shared) => shared.numbering.clone(),
        };
        let answer = Answer::new(domain, &self.tree, &self.mesh, numbering, solved.state.u);
        Remains { answer, measured: fine }
    }

    /// Solves on `tree`.
    pub(crate) fn solve(
        problem: &mut Problem,
        tree: Tree,
        mesh: Option<Mesh>,
        before: Before,
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
            let equations = Equations::new(problem, &mesh, gamma, before);
            match equations.solve(problem) {
                Ok(answers) => return Ok(Self { tree: Arc::new(tree), mesh, answers }),
                Err(Stalled::NotPositive) if gamma > THINNEST => gamma *= 0.5,
                Err(e) => return Err(e),
            }
        }
    }

    /// Solves on a grid that is kept from a layout of the same outlines.
    pub(crate) fn again(problem: &mut Problem, grid: &Grid) -> Result<Self, Stalled> {
        let answers = both_degrees(problem, &grid.low, &grid.fine)?;
        Ok(Self { tree: Arc::clone(&grid.tree), mesh: Arc::clone(&grid.mesh), answers })
    }
}

/// The equations of a grid, with what to start them from.
enum Equations {
    /// Of both degrees: the way to the answer is far.
    Both(Box<[Ready; 2]>),
    /// Of the higher degree, from the coarser grid's answer.
    Near(Box<Ready>),
}

impl Equations {
    fn new(problem: &Problem, mesh: &Arc<Mesh>, gamma: f64, before: Before) -> Self {
        let cells = Cells::new(mesh, problem.domain(), gamma);
        if let Before::Grid(coarse) = before {
            let system = System::new(&cells, Degree::Two);
            let u = transfer::finer(coarse, mesh, &system.numbering);
            let start = state(&system, u, coarse.solved.state.free.clone());
            return Self::Near(Box::new(Ready::new(system, Some(start))));
        }
        let neighbour = match before {
            Before::Neighbour(n) => Some((n, n.sources(problem, mesh))),
            Before::Nothing | Before::Grid(_) => None,
        };
        let ready = |degree| {
            let system = System::new(&cells, degree);
            let start = neighbour.as_ref().map(|(n, sources)| {
                let u = n.potentials(problem, sources, &system.numbering);
                state(&system, u, n.free(problem))
            });
            Ready::new(system, start)
        };
        let (low, fine) = rayon::join(|| ready(Degree::One), || ready(Degree::Two));
        Self::Both(Box::new([low, fine]))
    }

    fn solve(&self, problem: &mut Problem) -> Result<Answers, Stalled> {
        let fine = match self {
            Self::Both(equations) => return both_degrees(problem, &equations[0], &equations[1]),
            Self::Near(fine) => fine,
        };
        let start = fine.start(problem).unwrap_or_else(|| cold(&fine.system, problem));
        let joint = fine.joint(problem, None)?;
        let mut circuit = problem.circuit.clone();
        let system = &fine.system;
        let solved = hold::at_supplies(problem, &mut circuit, system, start, joint, Aim::Balance)?;
        problem.circuit = circuit;
        Ok(Answers {
            fine: measure(system, problem, &problem.circuit, &solved.state),
            low: None,
            system: Arc::clone(system),
            solved,
        })
    }
}

/// Bilinear, then biquadratic from it: the way is gone at the lower degree, where steps are cheap, and
/// the higher one takes the change over.
fn both_degrees(problem: &mut Problem, low: &Ready, fine: &Ready) -> Result<Answers, Stalled> {
    let (low_system, system) = (&low.system, &fine.system);
    let mut circuit = problem.circuit.clone();
    let fixed: &Problem = problem;
    let low_start = low.start(fixed);
    let start = fine.start(fixed).zip(low_start.clone());
    let low_start = low_start.unwrap_or_else(|| cold(low_system, fixed));
    let low_joint = low.joint(fixed, None)?;
    let list = low_joint.order();
    let (low_solved, joint) = rayon::join(
        || hold::at_supplies(fixed, &mut circuit, low_system, low_start, low_joint, Aim::Start),
        || fine.joint(fixed, list.as_ref().map(|order| (low_system.as_ref(), order))),
    );
    let (mut low_solved, joint) = (low_solved?, joint?);
    let measured = measure(low_system, fixed, &circuit, &low_solved.state);
    let start = risen(low_system, system, &low_solved.state, start);
    let solved = hold::at_supplies(fixed, &mut circuit, system, start, joint, Aim::Balance)?;
    low_solved.joint.forget();
    problem.circuit = circuit;
    Ok(Answers {
        fine: measure(system, problem, &problem.circuit, &solved.state),
        low: Some(Low { system: Arc::clone(low_system), solved: low_solved, measured }),
        system: Arc::clone(system),
        solved,
    })
}

/// A start for the higher degree: the answer of the lower one, or a start of its own with the
/// change from the lower one's start to its answer.
fn risen(low: &System, system: &System, answer: &State, known: Option<(State, State)>) -> State {
    let rise = |u: &[f64]| transfer::same_mesh(low, u, &system.numbering);
    let Some((mut start, first)) = known else {
        return state(system, rise(&answer.u), answer.free.clone());
    };
    let change = |to: &[f64], from: &[f64]| -> Vec<f64> {
        to.iter().zip(from).map(|(t, f)| t - f).collect()
    };
    let add = |to: &mut [f64], change: &[f64]| to.iter_mut().zip(change).for_each(|(t, c)| *t += c);
    add(&mut start.u, &rise(&change(&answer.u, &first.u)));
    add(&mut start.free, &change(&answer.free, &first.free));
    start
}

/// Thinnest layer that is tried before giving up.
pub(crate) const THINNEST: f64 = 1e-5;

/// Potentials `u` and `free` on `system`.
pub(crate) fn state(system: &System, u: Vec<f64>, free: Vec<f64>) -> State {
    State { u, free, eta: vec![0.0; system.boundary.points.len()] }
}

fn cold(system: &System, problem: &Problem) -> State {
    let free = start::free_potentials(problem.layout, &problem.circuit, &problem.guess);
    state(system, vec![problem.guess.bath_v; system.size()], free)
}
