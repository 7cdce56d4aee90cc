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
use crate::estimate::{self, Errors};
use crate::field::Field;
use crate::layout::Role;
use crate::mark::mark;
use crate::results::{Parts, wetted_lengths};
use crate::solution::{Solution, SolveStats};
use crate::system::numbering::Numbering;
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
///
/// # Errors
/// [`SolveError`], see its variants.
pub fn solve(
    layout: &Layout,
    settings: &SolveSettings,
    progress: &mut dyn FnMut(Progress),
) -> Result<Solution, SolveError> {
    let plan = SurfacePlan::new(layout);
    let domain = Domain::new(layout, &plan, &|owner| sagitta(layout, owner));
    let lengths = start::metal_lengths(layout, &plan);
    let all = vec![true; layout.bodies.len()];
    let circuit = Circuit::new(layout, &all).map_err(|e| SolveError::Layout(e.to_string()))?;
    let guess = start::guess(layout, &circuit, &lengths);
    let hints = Hints {
        polarization_m: start::polarization_lengths(layout, &circuit, &guess.density),
        accuracy: settings.accuracy,
    };
    let wanted = wanted(&domain, layout, &hints);
    let mut run = Run { layout, plan: &plan, domain: &domain, circuit, steps: 0 };
    let mut tree = Tree::build(&domain, &wanted);
    let mut before: Option<Before> = None;
    let most: usize = std::env::var("GRIDS").ok().and_then(|s| s.parse().ok()).unwrap_or(8);
    for grid in 1.. {
        let mesh = run.mesh(&tree, grid == 1)?;
        let mut times = vec![std::time::Instant::now()];
        let (low, low_state) = run.degree(&mesh, Degree::One, |system, run| match &before {
            None => run.cold(system, &guess),
            Some(b) => run.warm(system, &mesh, b),
        })?;
        times.push(std::time::Instant::now());
        let (fine, solved) = run.degree(&mesh, Degree::Two, |system, run| match &before {
            None => {
                let u = transfer::same_mesh(&mesh, &low_state.numbering, &low_state.solved.state.u, &system.numbering);
                run.state(system, u, low_state.solved.state.free.clone())
            }
            Some(b) => run.warm(system, &mesh, b),
        })?;
        times.push(std::time::Instant::now());
        let wet = wetted_lengths(&plan, &fine);
        let errors = estimate::errors(layout, &plan, &wet, &fine, &low, before.as_ref().map(|b| &b.measured));
        let unknowns = solved.numbering.unknowns;
        progress(Progress { grid, unknowns, estimated_error: errors.typical });
        if std::env::var("TRACE").is_ok() {
            eprintln!("grid {grid} n {} {} leaves {} est {:.5} worst {:.5} steps {} {} t1 {:?} t2 {:?}", low_state.numbering.unknowns, unknowns, tree.leaves.len(), errors.typical, errors.worst, low_state.solved.steps, solved.solved.steps, times[1]-times[0], times[2]-times[1]);
        }
        let done = (before.is_some() && errors.typical <= settings.accuracy && errors.worst <= 3.0 * settings.accuracy) || grid >= most;
        if done {
            let stats = SolveStats {
                unknowns,
                cells: tree.leaves.len(),
                newton_steps: run.steps,
                grids: grid,
                levels: tree.leaves.iter().map(|l| l.cell.level as usize).max().unwrap_or(0),
                finest_cell_m: tree.leaves.iter().map(|l| domain.lattice.cell_m(l.cell.level)).fold(f64::INFINITY, f64::min),
                estimated_error: errors.typical,
                worst_error: errors.worst,
            };
            let field = Field::new(domain.lattice, domain.kappa.clone(), &tree, mesh, &solved.numbering, &solved.solved.state.u);
            let parts = Parts { layout, plan: &plan, circuit: &run.circuit, measured: &fine, errors: &errors, field, stats };
            return Ok(parts.solution());
        }
        let marked = {
            let system = System::new(&mesh, &domain, Degree::Two, solved.gamma);
            let weight = goal(layout, &plan, &wet, &fine, &errors);
            mark(&system, &run.circuit, &solved.solved, &weight, tree.leaves.len())
        };
        let next = tree.clone().refine(&domain, &wanted, &marked);
        before = Some(Before { tree, mesh, numbering: solved.numbering, state: solved.solved.state, measured: fine });
        tree = next;
    }
    unreachable!()
}

/// The answer of one degree on one grid.
struct Answer {
    numbering: Numbering,
    solved: Solved,
    gamma: f64,
}

/// The grid before.
struct Before {
    tree: Tree,
    mesh: Mesh,
    numbering: Numbering,
    state: State,
    measured: Measured,
}

struct Run<'a> {
    layout: &'a Layout,
    plan: &'a SurfacePlan,
    domain: &'a Domain,
    circuit: Circuit,
    steps: usize,
}

impl Run<'_> {
    fn mesh(&mut self, tree: &Tree, first: bool) -> Result<Mesh, SolveError> {
        let mut mesh = Mesh::new(tree);
        let live = Live::new(&mesh, self.domain, self.layout);
        mesh.retain(&live.pieces);
        if first {
            for (b, body) in self.layout.bodies.iter().enumerate() {
                if body.role == Role::Part && !live.fed[b] {
                    return Err(SolveError::Layout(format!("no path for current from any anode to part `{}`", body.name)));
                }
            }
            self.circuit = Circuit::new(self.layout, &live.bodies).map_err(|e| SolveError::Layout(e.to_string()))?;
        }
        Ok(mesh)
    }

    fn degree(
        &mut self,
        mesh: &Mesh,
        degree: Degree,
        start: impl Fn(&System, &Self) -> State,
    ) -> Result<(Measured, Answer), SolveError> {
        let mut gamma = GAMMA;
        loop {
            let system = System::new(mesh, self.domain, degree, gamma);
            match minimise(&system, &self.circuit, start(&system, self)) {
                Ok(solved) => {
                    self.steps += solved.steps;
                    let measured = measure(&system, &self.circuit, &solved.state, self.plan.stretches.len());
                    return Ok((measured, Answer { numbering: system.numbering, solved, gamma }));
                }
                Err(Stalled::NotPositive) if gamma > 1e-4 => gamma *= 0.5,
                Err(_) => return Err(SolveError::NotConverged { grid: 0, steps: self.steps }),
            }
        }
    }

    fn state(&self, system: &System, u: Vec<f64>, free: Vec<f64>) -> State {
        State { u, free, eta: vec![0.0; system.boundary.points.len()] }
    }

    fn cold(&self, system: &System, guess: &start::Guess) -> State {
        let free = start::free_potentials(self.layout, &self.circuit, guess);
        self.state(system, vec![guess.bath_v; system.size()], free)
    }

    fn warm(&self, system: &System, mesh: &Mesh, before: &Before) -> State {
        let u = transfer::finer(&before.tree, &before.mesh, &before.numbering, &before.state.u, mesh, &system.numbering);
        self.state(system, u, before.state.free.clone())
    }
}

fn goal(layout: &Layout, plan: &SurfacePlan, lengths: &[f64], m: &Measured, errors: &Errors) -> Vec<f64> {
    let means = estimate::mean_magnitudes(layout, plan, lengths, m);
    plan.stretches
        .iter()
        .enumerate()
        .map(|(i, s)| {
            if lengths[i] <= 0.0 || layout.bodies[s.body].role != Role::Part {
                return 0.0;
            }
            let scale = (m.stretches[i].current / lengths[i]).abs().max(estimate::FLOOR * means[s.body]).max(1e-300);
            (errors.stretches[i] / scale).sqrt() / scale
        })
        .collect()
}

fn sagitta(layout: &Layout, owner: u32) -> f64 {
    let outline = if owner == crate::domain::TANK { &layout.tank } else { &layout.bodies[owner as usize].outline };
    let bend = outline.loops().iter().flat_map(|l| l.segments()).filter(|s| !s.is_line())
        .map(|s| s.curvature_at(0.5 * s.length()).abs()).fold(0.0, f64::max);
    if bend > 0.0 { 2e-4 / bend } else { 1.0 }
}
