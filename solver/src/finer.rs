//! A finer answer, to measure the error of a grid's answer against.
//!
//! Halving a cell leaves a tenth of its error, so the difference to an answer on halved cells is the
//! error but for a tenth. One linear step from the answer at hand gives it: what is left of the laws'
//! curvature is of second order in that difference. Where that step is large Newton's method takes over. Cells at metal are halved, and elsewhere those that
//! matter for some stretch of it; the rest, more than half of all cells, would change next to nothing.

use std::sync::Arc;

use crate::estimate::every_stretch;
use crate::grid::mesh::Mesh;
use crate::hold;
use crate::level::{Level, THINNEST, state};
use crate::mark::{fine_enough, mark};
use crate::measure::{Measured, measure};
use crate::newton::Stalled;
use crate::pools::Live;
use crate::problem::Problem;
use crate::system::assemble::{Cells, GAMMA, System};
use crate::system::joint::{Elimination, Joint};
use crate::system::numbering::Degree;
use crate::transfer;

/// Share of what cells contribute to the error of all stretches that halved cells carry.
const BULK: f64 = 0.99;

/// What the stretches, bodies and supplies of `level` get on a finer grid.
pub(crate) fn measured(problem: &Problem, level: &Level) -> Result<Measured, Stalled> {
    let wishes = every_stretch(problem, level);
    let mut marked = mark(level, &problem.circuit, &wishes, BULK);
    // where metals touch the current grows without end as cells shrink: no error of the grid
    for (mark, fine) in marked.iter_mut().zip(fine_enough(level, &wishes)) {
        *mark = if fine { 0 } else { *mark };
    }
    let tree = level.tree.refine(problem.domain(), &problem.wanted, &marked);
    let mut mesh = Mesh::new(&tree);
    let live = Live::new(&mesh, problem.domain(), problem.layout);
    mesh.retain(&live.pieces);
    let mesh = Arc::new(mesh);
    // as on any grid, a matrix that is not positive definite wants thinner layers
    let mut gamma = GAMMA;
    loop {
        match on_mesh(problem, level, &mesh, gamma) {
            Err(Stalled::NotPositive) if gamma > THINNEST => gamma *= 0.5,
            found => return found,
        }
    }
}

fn on_mesh(
    problem: &Problem,
    level: &Level,
    mesh: &Arc<Mesh>,
    gamma: f64,
) -> Result<Measured, Stalled> {
    let cells = Cells::new(mesh, problem.domain(), gamma);
    let system = System::new(&cells, Degree::Two);
    let free = problem.circuit.injected.len();
    let joint = Joint::new(&system, free, problem.method, Elimination::Unknown)?;
    let u = transfer::finer(level, mesh, &system.numbering);
    let start = state(&system, u, level.solved.state.free.clone());
    let (circuit, solved) = hold::near(problem, &system, start, joint)?;
    Ok(measure(&system, problem, &circuit, &solved.state))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate;
    use crate::level::Before;
    use crate::sample::two_blocks;
    use crate::solve::{Method, SolveSettings};

    /// The answer with all cells halved.
    fn halved(problem: &mut Problem, level: &Level) -> Level {
        let all = vec![1; level.tree.leaves.len()];
        let tree = level.tree.refine(problem.domain(), &problem.wanted, &all);
        Level::solve(problem, tree, None, Before::Grid(level)).unwrap()
    }

    #[test]
    fn what_is_stated_covers_the_error_and_is_not_far_from_it() {
        let layout = two_blocks();
        let settings =
            SolveSettings { accuracy: 0.01, max_unknowns: 100_000, method: Method::Automatic };
        let (mut problem, tree, mesh) = Problem::new(&layout, &settings).unwrap();
        let level = Level::solve(&mut problem, tree, Some(mesh), Before::Nothing).unwrap();
        let finer = measured(&problem, &level).unwrap();
        let stated = estimate::measured(&problem, &level, &finer, None).stretches;
        let once = halved(&mut problem, &level);
        let truth = halved(&mut problem, &once);
        let density = |m: &Measured, i: usize| m.stretches[i].current / problem.wet[i];
        let error = |i| (density(&level.fine, i) - density(&truth.fine, i)).abs();
        let counted = (0..stated.len()).filter(|&i| !problem.plan.stretches[i].tip);
        let mut ratios: Vec<f64> = counted.map(|i| stated[i] / error(i)).collect();
        ratios.sort_by(f64::total_cmp);
        let beyond = ratios.iter().filter(|r| **r < 1.0).count();
        assert!(20 * beyond <= ratios.len(), "{beyond} of {} beyond", ratios.len());
        let middle = ratios[ratios.len() / 2];
        assert!(middle < 5.0, "stated {middle:.1} times the error");
    }
}
