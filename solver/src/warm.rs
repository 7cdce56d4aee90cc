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
use crate::grid::mesh::{Mesh, MeshPiece};
use crate::grid::tree::Wanted;
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

/// Solves `layout` to the accuracy of `settings` as [`solve`](crate::solve) does, and keeps what
/// layouts like it can start from: a body moved, a current changed, another law.
///
/// With `warm` it starts so itself. What is kept is some kilobytes for every hundred unknowns.
///
/// # Errors
/// [`SolveError`], as [`solve`](crate::solve).
///
/// # Examples
/// Two bars, and the anode moved nearer in ten steps:
/// ```
/// use shapes::{Outline, Point};
/// use solver::quantity::{
///     AreaResistance, Conductivity, Current, Length, Potential, Temperature,
/// };
/// use solver::{
///     Body, Drive, Kinetics, Law, Layout, Role, SolveSettings, Supply, Symmetry, solve_from,
///     solve_warm,
/// };
///
/// let bar = |name: &str, role, x| {
///     let kinetics = Kinetics::Linear { resistance: AreaResistance::new(1e-3) };
///     let law = Law { kinetics, limiting: None, rest: Potential::new(0.0) };
///     let outline = Outline::rect(Point::new(x, 0.05), (0.01, 0.06), 0.0)?;
///     Ok::<_, shapes::ShapeError>(Body::new(name, role, outline, law))
/// };
/// let layout = |x| {
///     Ok::<_, shapes::ShapeError>(Layout {
///         tank: Outline::rect(Point::new(0.1, 0.05), (0.2, 0.1), 0.0)?,
///         symmetry: Symmetry::Planar,
///         depth: Length::mm(100.0),
///         conductivity: Conductivity::new(10.0),
///         temperature: Temperature::celsius(50.0),
///         bodies: vec![bar("part", Role::Part, 0.16)?, bar("anode", Role::Anode, x)?],
///         supplies: vec![Supply::all(Drive::Current(Current::new(2.0)))],
///     })
/// };
/// let settings = SolveSettings { accuracy: 0.05, ..SolveSettings::default() };
/// let (base, warm) = solve_warm(&layout(0.04)?, &settings, None)?;
/// let mut volts = base.supplies[0].voltage_v;
/// for step in 1..=10 {
///     let nearer = solve_from(&layout(0.04 + 0.005 * f64::from(step))?, &settings, &warm)?;
///     assert!(nearer.supplies[0].voltage_v < volts);
///     volts = nearer.supplies[0].voltage_v;
/// }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve_warm(
    layout: &Layout,
    settings: &SolveSettings,
    warm: Option<&Warm>,
) -> Result<(Solution, Warm), SolveError> {
    let neighbour = warm.map(|w| w.0.as_ref());
    let (solution, kept) = run(layout, settings, neighbour, true, &mut |_| {})?;
    let kept = kept.expect("the first grid was to be kept, and it is solved in both degrees");
    Ok((solution, Warm(Arc::new(kept))))
}

/// Solves `layout` from the answer of a layout like it, by the same rule for stopping as
/// [`solve`](crate::solve), but its error is guessed from the difference to its answer of lower degree,
/// grown by what that was short of on the neighbour, and only measured where that guess is not good enough. Any layout will do as a start; one that is alike saves time, most where
/// only laws or supplies differ.
///
/// The start moves the answer by far less than its uncertainty, but it does move it. So start a
/// whole sweep from one base, not each layout from the one solved last: then no answer depends on
/// which thread came first.
///
/// # Errors
/// [`SolveError`], as [`solve`](crate::solve).
pub fn solve_from(
    layout: &Layout,
    settings: &SolveSettings,
    warm: &Warm,
) -> Result<Solution, SolveError> {
    run(layout, settings, Some(&warm.0), false, &mut |_| {}).map(|(solution, _)| solution)
}

/// The answer of another layout.
#[derive(Debug)]
pub(crate) struct Neighbour {
    /// On its first grid, which is that of layouts alike as well.
    answer: Answer,
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
    wanted: Wanted,
    first: Grid,
    trust: Option<f64>,
}

impl std::fmt::Debug for Grid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Grid")
    }
}

impl Neighbour {
    /// Of a solved layout, from its first grid and how many times a guess its errors are.
    pub(crate) fn new(problem: &Problem, first: Grid, trust: Option<f64>) -> Self {
        let [answer, low] = first.answers(problem.domain());
        let supplies = 0..problem.layout.supplies.len();
        let delivered = |s: usize| match problem.circuit.lines[s].source {
            Source::Current(i) => problem.parts_target(s).map(|target| [i, target]),
            Source::Stiff | Source::Leads(_) => None,
        };
        Self {
            answer,
            low,
            free: first.free(),
            delivered: supplies.map(delivered).collect(),
            middles: middles(problem.layout),
            domain: Arc::clone(problem.domain()),
            stretches: problem.plan.stretches.clone(),
            wiring: problem.wiring.clone(),
            roles: roles(problem.layout),
            wanted: problem.wanted.clone(),
            first,
            trust,
        }
    }

    /// How many times a guess the errors of layouts alike are, if that is known.
    pub(crate) fn trust(&self) -> Option<f64> {
        self.trust
    }

    /// The first grid, if another layout wants the same one: outlines, marks, bath and wiring are
    /// the same, and laws and supplies ask for cells of the same sizes: then the answer is the one it
    /// gets from nothing, whatever it starts from.
    pub(crate) fn grid_for(&self, problem: &Problem) -> Option<&Grid> {
        let same = self.domain.as_ref() == problem.domain().as_ref()
            && self.stretches == problem.plan.stretches
            && self.wanted == problem.wanted
            && self.wiring == problem.wiring
            && self.roles == roles(problem.layout);
        same.then_some(&self.first)
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

    /// For each piece of another layout's mesh where its potentials are read off, whatever the degree.
    pub(crate) fn sources(&self, problem: &Problem, mesh: &Mesh) -> Vec<Place> {
        let answer = &self.answer;
        let domain = problem.domain();
        let now = middles(problem.layout);
        let moved = |b: usize| match self.middles.get(b) {
            Some(before) if self.middles.len() == now.len() => *before - now[b],
            _ => Vec2::ZERO,
        };
        let moves: Vec<Vec2> = (0..now.len()).map(moved).collect();
        let metres = |[x, y]: [f64; 2]| domain.lattice.metres([x as i64, y as i64]);
        let source = |piece: &MeshPiece| {
            let owner = piece.piece().loops.iter().flatten().find_map(|c| {
                let e = &domain.edges[c.edge? as usize];
                (e.owner != TANK && e.tag != Tag::Interface).then_some(e.owner as usize)
            });
            let own = owner.map_or(Vec2::ZERO, |b| moves[b]);
            let material = piece.piece().material;
            if own == Vec2::ZERO
                && let Some(same) = answer.piece_of(&domain.lattice, piece.cell, material)
            {
                return Place::Piece(same);
            }
            let (low, side) = (piece.cell.low(), piece.cell.ticks() as f64);
            let [x, y] = inner_point(piece.piece());
            let inner = metres([low[0] as f64 + x * side, low[1] as f64 + y * side]);
            // where metal was, the bath beside the body that left
            let known = std::iter::once(&own)
                .chain(&moves)
                .find_map(|by| Some((answer.holder(inner + *by)?, *by)));
            let Some((base, by)) = known else { return Place::Nowhere };
            Place::Points(Box::new(std::array::from_fn(|k| {
                let at = metres(node(piece.cell, k)) + by;
                (answer.holder(at).unwrap_or(base), at)
            })))
        };
        mesh.pieces.iter().map(source).collect()
    }

    /// Potentials of the same degree at the unknowns of another layout's mesh, V.
    pub(crate) fn potentials(&self, problem: &Problem, from: &[Place], to: &Numbering) -> Vec<f64> {
        let answer = match to.degree {
            Degree::One => &self.low,
            Degree::Two => &self.answer,
        };
        let mut out = vec![problem.guess.bath_v; to.unknowns];
        for (p, from) in from.iter().enumerate() {
            match from {
                Place::Piece(piece) => set(to, p, answer.nodal(*piece), &mut out),
                Place::Points(points) => {
                    let values = points.map(|(piece, at)| answer.potential(piece, at));
                    set(to, p, &values, &mut out);
                }
                Place::Nowhere => {}
            }
        }
        out
    }
}

/// Where the potentials of a piece are read off in the neighbour's answers, which share a mesh.
pub(crate) enum Place {
    /// At the nodes of one of its pieces.
    Piece(usize),
    /// For each node in a piece, at a place, m.
    Points(Box<[(usize, Point); NODES]>),
    /// Nothing is known.
    Nowhere,
}

fn roles(layout: &Layout) -> Vec<Role> {
    layout.bodies.iter().map(|b| b.role).collect()
}

fn middles(layout: &Layout) -> Vec<Point> {
    layout.bodies.iter().map(|b| b.outline.bounds().center()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Drive, Supply};
    use crate::quantity::{Current, CurrentDensity, Potential};
    use crate::sample::{body, linear, rect, tafel, two_blocks};
    use crate::solve::solve;
    use crate::surface::SurfacePlan;

    const SETTINGS: SolveSettings = SolveSettings {
        accuracy: 0.02,
        max_unknowns: 400_000,
        method: crate::solve::Method::Automatic,
    };

    /// A part and an anode with Tafel's law, `amps` through them.
    fn job(amps: f64) -> Layout {
        let mut layout = two_blocks();
        layout.bodies[0].law = tafel(0.3, 0.12);
        layout.bodies[1].law = tafel(2.0, 0.06);
        layout.supplies = vec![Supply::all(Drive::Current(Current::new(amps)))];
        layout
    }

    fn moved(mut layout: Layout, by: f64) -> Layout {
        layout.bodies[1].outline = layout.bodies[1].outline.moved(Vec2::new(by, 0.0));
        layout
    }

    /// Largest difference of densities as a share of their uncertainty.
    fn apart(a: &Solution, b: &Solution) -> f64 {
        let mut worst: f64 = 0.0;
        for (a, b) in a.bodies.iter().zip(&b.bodies) {
            assert_eq!(a.stretches.len(), b.stretches.len());
            for (a, b) in a.stretches.iter().zip(&b.stretches) {
                let difference = (a.current_density_a_m2 - b.current_density_a_m2).abs();
                worst = worst.max(difference / b.uncertainty_a_m2);
            }
        }
        worst
    }

    fn cold(layout: &Layout) -> Solution {
        solve(layout, &SETTINGS, &mut |_| {}).unwrap()
    }

    #[test]
    fn a_moved_body_gets_the_answer_it_gets_from_nothing_in_fewer_steps() {
        let (_, warm) = solve_warm(&job(2.0), &SETTINGS, None).unwrap();
        for by in [1e-5, 0.003, -0.011] {
            let layout = moved(job(2.2), by);
            let (from, alone) = (solve_from(&layout, &SETTINGS, &warm).unwrap(), cold(&layout));
            // the grids are the same, and so is the minimum: only its rounding differs
            assert_eq!(from.stats.unknowns, alone.stats.unknowns);
            assert!(apart(&from, &alone) < 1e-3, "{by}: {}", apart(&from, &alone));
            assert!(from.stats.newton_steps < alone.stats.newton_steps, "{by}");
            assert!(from.current_balance.abs() < 1e-10);
        }
    }

    #[test]
    fn another_current_on_the_same_outlines_gets_the_answer_it_gets_from_nothing() {
        let (_, warm) = solve_warm(&job(2.0), &SETTINGS, None).unwrap();
        for amps in [2.01, 3.1] {
            let from = solve_from(&job(amps), &SETTINGS, &warm).unwrap();
            let alone = cold(&job(amps));
            assert_eq!(from.stats.unknowns, alone.stats.unknowns);
            assert!(apart(&from, &alone) < 1e-3, "{amps}: {}", apart(&from, &alone));
            assert!((from.supplies[0].current_a / amps - 1.0).abs() < 1e-8);
        }
    }

    #[test]
    fn a_layout_like_another_covers_its_error_with_a_guess() {
        let (_, warm) = solve_warm(&job(2.0), &SETTINGS, None).unwrap();
        // the guess by itself is far too small here
        assert!(warm.0.trust.unwrap() > 2.0);
        let fine = SolveSettings { accuracy: 2e-4, ..SETTINGS };
        for by in [0.0, 0.002, -0.011] {
            let layout = moved(job(2.5), by);
            let found = solve_from(&layout, &SETTINGS, &warm).unwrap();
            let truth = solve(&layout, &fine, &mut |_| {}).unwrap();
            // on the part, tips of its corners aside, as everywhere
            let plan = SurfacePlan::new(&layout).stretches.into_iter().filter(|s| s.body == 0);
            let (rows, true_rows) = (&found.bodies[0].stretches, &truth.bodies[0].stretches);
            let beyond: Vec<bool> = plan
                .zip(rows.iter().zip(true_rows))
                .filter(|(s, _)| !s.tip)
                .map(|(_, (a, b))| {
                    (a.current_density_a_m2 - b.current_density_a_m2).abs() > a.uncertainty_a_m2
                })
                .collect();
            let count = beyond.iter().filter(|b| **b).count();
            assert!(20 * count <= beyond.len(), "{by}: {count} of {}", beyond.len());
        }
    }

    #[test]
    fn there_and_back_on_the_same_grids_is_where_it_began() {
        let (base, warm) = solve_warm(&job(2.0), &SETTINGS, None).unwrap();
        let (_, there) = solve_warm(&job(3.1), &SETTINGS, Some(&warm)).unwrap();
        let back = solve_from(&job(2.0), &SETTINGS, &there).unwrap();
        assert!(apart(&back, &base) < 1e-3, "{}", apart(&back, &base));
    }

    #[test]
    fn the_same_start_gives_the_same_bits() {
        let (_, warm) = solve_warm(&job(2.0), &SETTINGS, None).unwrap();
        let layout = moved(job(2.5), 0.004);
        let run = || {
            let found = solve_from(&layout, &SETTINGS, &warm).unwrap();
            let row = |s: &crate::Stretch| s.current_density_a_m2.to_bits();
            found.bodies[0].stretches.iter().map(row).collect::<Vec<u64>>()
        };
        let first = run();
        solve_from(&moved(job(1.0), -0.01), &SETTINGS, &warm).unwrap();
        assert_eq!(first, run());
    }

    #[test]
    fn a_layout_unlike_the_base_is_solved_all_the_same() {
        let (_, warm) = solve_warm(&job(2.0), &SETTINGS, None).unwrap();
        let mut layout = job(2.0);
        let thief = Role::Thief { offset: Potential::new(-0.05) };
        layout.bodies.push(body("thief", thief, rect(0.031, 0.08, 0.05, 0.085), linear(2e-3)));
        layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(250.0)))];
        let from = solve_from(&layout, &SETTINGS, &warm).unwrap();
        assert!(apart(&from, &cold(&layout)) < 1e-3);
        assert!((from.bodies[0].density.mean / 250.0 - 1.0).abs() < 1e-8);
    }
}
