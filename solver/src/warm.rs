//! Layouts alike solved from one another: what one answer leaves behind for its neighbours.
//!
//! A sweep moves an anode or turns up the current; the potential changes little. Newton's method
//! started from the neighbour's potential skips most of its steps. Around a body that has moved the
//! potential is read off in the body's own place: its surface carries its potential with it.

use std::sync::Arc;

use shapes::{Point, Vec2};

use crate::circuit::Source;
use crate::domain::{Domain, TANK, Tag};
use crate::field::Answer;
use crate::grid::mesh::Mesh;
use crate::layout::{Layout, Role};
use crate::level::Grid;
use crate::problem::Problem;
use crate::solution::Solution;
use crate::solve::{SolveError, SolveSettings, run};
use crate::start;
use crate::surface::PlanStretch;
use crate::system::basis::NODES;
use crate::system::numbering::{Degree, Numbering};
use crate::transfer::{inner_point, node, set};
use crate::wiring::Wiring;

/// What an answer leaves behind as the start for layouts like it; cheap to clone.
#[derive(Debug, Clone)]
pub struct Warm(Arc<Neighbour>);

/// Solves `layout` to the accuracy of `settings`, from the answer of a layout like it if there is
/// one: a body moved, a current changed. The answer is as good as that of [`solve`](crate::solve),
/// by the same rule for stopping; any layout will do as a start, one that is alike saves time.
///
/// The start moves the answer by less than its uncertainty, but it does move it. So start a
/// whole sweep from one base, not each layout from the one solved last: then no answer depends on
/// which thread came first.
///
/// # Errors
/// [`SolveError`], as [`solve`](crate::solve).
pub fn solve_warm(
    layout: &Layout,
    settings: &SolveSettings,
    warm: Option<&Warm>,
) -> Result<(Solution, Warm), SolveError> {
    let neighbour = warm.map(|w| w.0.as_ref());
    let (solution, kept) = run(layout, settings, neighbour, true, &mut |_| {})?;
    Ok((solution, Warm(Arc::new(kept))))
}

/// The answer of another layout.
#[derive(Debug)]
pub(crate) struct Neighbour {
    answer: Arc<Answer>,
    /// That of lower degree.
    low: Answer,
    free: Vec<f64>,
    /// What each supply by current delivers, A/m, and what it is asked for.
    delivered: Vec<Option<[f64; 2]>>,
    /// Middle of each body, m.
    middles: Vec<Point>,
    domain: Arc<Domain>,
    stretches: Vec<PlanStretch>,
    wiring: Wiring,
    roles: Vec<Role>,
    grids: Vec<Kept>,
}

/// A grid kept for layouts of the same outlines.
pub(crate) struct Kept {
    pub(crate) grid: Grid,
    /// Stretches whose cells were halved for it.
    pub(crate) halved: Vec<bool>,
}

impl std::fmt::Debug for Kept {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Kept")
    }
}

impl Neighbour {
    pub(crate) fn new(
        problem: &Problem,
        answer: Arc<Answer>,
        free: Vec<f64>,
        low: Answer,
        grids: Vec<Kept>,
    ) -> Self {
        let supplies = 0..problem.layout.supplies.len();
        let delivered = |s: usize| match problem.circuit.lines[s].source {
            Source::Current(i) => problem.parts_target(s).map(|target| [i, target]),
            Source::Stiff | Source::Leads(_) => None,
        };
        Self {
            answer,
            low,
            free,
            delivered: supplies.map(delivered).collect(),
            middles: middles(problem.layout),
            domain: Arc::clone(problem.domain()),
            stretches: problem.plan.stretches.clone(),
            wiring: problem.wiring.clone(),
            roles: roles(problem.layout),
            grids,
        }
    }

    /// The grids that serve another layout as they are: outlines, marks, bath and wiring are the
    /// same; laws and supplies may differ.
    pub(crate) fn grids_for(&self, problem: &Problem) -> &[Kept] {
        let same = self.domain.as_ref() == problem.domain().as_ref()
            && self.stretches == problem.plan.stretches
            && self.wiring == problem.wiring
            && self.roles == roles(problem.layout);
        if same { &self.grids } else { &[] }
    }

    /// Sets supplies that hold a mean density to what brought it here, in proportion to the wish.
    pub(crate) fn currents(&self, problem: &mut Problem) {
        if self.delivered.len() != problem.layout.supplies.len() {
            return;
        }
        for (s, delivered) in self.delivered.iter().enumerate() {
            if let (Some([i, target]), Some(wanted)) = (delivered, problem.parts_target(s))
                && *target > 0.0
            {
                problem.circuit.deliver(s, i * wanted / target);
            }
        }
    }

    /// Free potentials to start from, V.
    pub(crate) fn free(&self, problem: &Problem) -> Vec<f64> {
        if self.free.len() == problem.circuit.injected.len() {
            return self.free.clone();
        }
        start::free_potentials(problem.layout, &problem.circuit, &problem.guess)
    }

    /// Potentials of the same degree at the unknowns of another layout's mesh, V.
    pub(crate) fn potentials(&self, problem: &Problem, mesh: &Mesh, to: &Numbering) -> Vec<f64> {
        let answer = match to.degree {
            Degree::One => &self.low,
            Degree::Two => &self.answer,
        };
        let domain = problem.domain();
        let now = middles(problem.layout);
        let moved = |b: usize| match self.middles.get(b) {
            Some(before) if self.middles.len() == now.len() => *before - now[b],
            _ => Vec2::ZERO,
        };
        let moves: Vec<Vec2> = (0..now.len()).map(moved).collect();
        let place = |[x, y]: [f64; 2]| domain.lattice.metres([x as i64, y as i64]);
        let mut out = vec![problem.guess.bath_v; to.unknowns];
        for (p, piece) in mesh.pieces.iter().enumerate() {
            let owner = piece.piece().loops.iter().flatten().find_map(|c| {
                let e = &domain.edges[c.edge? as usize];
                (e.owner != TANK && e.tag != Tag::Interface).then_some(e.owner as usize)
            });
            let own = owner.map_or(Vec2::ZERO, |b| moves[b]);
            let (low, side) = (piece.cell.low(), piece.cell.ticks() as f64);
            let [x, y] = inner_point(piece.piece());
            let inner = place([low[0] as f64 + x * side, low[1] as f64 + y * side]);
            // where metal was, the bath beside the body that left
            let known = std::iter::once(&own)
                .chain(&moves)
                .find_map(|by| Some((answer.holder(inner + *by)?, *by)));
            let Some((base, by)) = known else { continue };
            let values: [f64; NODES] = std::array::from_fn(|k| {
                let at = place(node(piece.cell, k)) + by;
                answer.potential(answer.holder(at).unwrap_or(base), at)
            });
            set(to, p, &values, &mut out);
        }
        out
    }
}

fn roles(layout: &Layout) -> Vec<Role> {
    layout.bodies.iter().map(|b| b.role).collect()
}

fn middles(layout: &Layout) -> Vec<Point> {
    layout.bodies.iter().map(|b| b.outline.bounds().center()).collect()
}
