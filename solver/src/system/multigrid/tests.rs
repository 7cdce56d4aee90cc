use shapes::{Outline, Point};

use super::forest::Forest;
use super::interpolation::Interpolation;
use crate::layout::{Drive, Layout, Role, Supply};
use crate::level::Level;
use crate::problem::Problem;
use crate::quantity::{Conductivity, Current};
use crate::sample::{
    KAPPA, bilinear, body, grid, ideal, linear, node, polygon, rect, star, tafel, two_blocks,
};
use crate::solve::{Method, SolveSettings};
use crate::system::basis::NODES;
use crate::system::numbering::{Degree, Numbering};

#[test]
fn forests_get_coarser_and_keep_neighbours_within_one_level() {
    let g = grid(&two_blocks(), 3, 5, 9);
    let mut forest = Forest::new(&g.mesh);
    for _ in 0..4 {
        let (coarser, parent) = forest.coarser();
        assert!(coarser.cells.len() * 3 < forest.cells.len() * 2, "{}", coarser.cells.len());
        for (p, &c) in parent.iter().enumerate() {
            let (cell, up) = (forest.cells[p], coarser.cells[c as usize]);
            assert!(up == cell || up == cell.parent());
        }
        for l in &coarser.links {
            let (a, b) = (coarser.cells[l.a], coarser.cells[l.b]);
            assert_eq!(a.level - b.level, u8::from(l.half.is_some()));
            // sides touch
            let (axis, low) = [(1, true), (0, false), (1, false), (0, true)][l.side];
            let (mine, other) = if low { (a.low(), b.high()) } else { (a.high(), b.low()) };
            assert_eq!(mine[axis], other[axis]);
        }
        forest = coarser;
    }
}

#[test]
fn a_thin_sheet_separates_its_two_sides_on_every_forest() {
    let mut l = two_blocks();
    l.bodies.push(body("sheet", Role::Shield, rect(0.1, -0.01, 0.1002, 0.11), ideal()));
    let g = grid(&l, 3, 5, 7);
    let mut forest = Forest::new(&g.mesh);
    // the part's side is left of the sheet
    let sheet = g.domain.lattice.ticks(Point::new(0.1001, 0.05))[0];
    let mut left: Vec<Option<bool>> = forest
        .cells
        .iter()
        .map(|c| {
            let clear = (c.high()[0] as f64) < sheet || (c.low()[0] as f64) > sheet;
            clear.then_some((c.high()[0] as f64) < sheet)
        })
        .collect();
    while forest.cells.len() > 8 {
        let (coarser, parent) = forest.coarser();
        let mut next = vec![None; coarser.cells.len()];
        for (p, &c) in parent.iter().enumerate() {
            let Some(side) = left[p] else { continue };
            let known: &mut Option<bool> = &mut next[c as usize];
            assert!(known.is_none_or(|k| k == side), "one piece on both sides of the sheet");
            *known = Some(side);
        }
        if coarser.cells.len() == forest.cells.len() {
            break;
        }
        (forest, left) = (coarser, next);
    }
    assert!(left.contains(&Some(true)) && left.contains(&Some(false)));
}

#[test]
fn bilinear_polynomials_reach_the_finer_level_unchanged() {
    let g = grid(&two_blocks(), 3, 4, 7);
    let fine = Forest::new(&g.mesh);
    let (coarse, parent) = fine.coarser();
    let level = |p: usize| coarse.cells[p].level;
    let from = Numbering::of(coarse.cells.len(), &level, &coarse.links, Degree::One);
    let low = Numbering::new(&g.mesh, Degree::One);
    let high = Numbering::new(&g.mesh, Degree::Two);
    let sampled = |n: &Numbering, forest: &Forest| {
        let mut u = vec![f64::NAN; n.unknowns];
        for (p, &cell) in forest.cells.iter().enumerate() {
            for k in 0..NODES {
                if let [(i, c)] = n.terms(p, k)
                    && *c == 1.0
                {
                    u[*i as usize] = bilinear(node(cell, k));
                }
            }
        }
        u
    };
    let steps = [
        Interpolation::new((&low, &fine.cells), (&from, &coarse.cells), &|p| parent[p] as usize, 1),
        Interpolation::new((&high, &fine.cells), (&low, &fine.cells), &|p| p, 1),
    ];
    let ends = [((&low, &fine), (&from, &coarse)), ((&high, &fine), (&low, &fine))];
    for (step, ((to, to_forest), (of, of_forest))) in steps.iter().zip(ends) {
        let mut coarse_values = sampled(of, of_forest);
        coarse_values.push(7.0);
        let mut found = vec![0.0; to.unknowns + 1];
        step.product(&coarse_values, &mut found);
        assert_eq!(found.pop(), Some(7.0), "free potentials go through");
        for (x, y) in found.iter().zip(sampled(to, to_forest)) {
            assert!((x - y).abs() < 1e-13, "{x} against {y}");
        }
    }
}

/// Layouts whose matrices are hard in different ways.
fn hard() -> Vec<(&'static str, Layout)> {
    let base = two_blocks;
    let with = |name, extra| {
        let mut l = base();
        l.bodies.push(extra);
        (name, l)
    };
    let screen = |name, share: f64| {
        let role = Role::Screen { conductivity: Conductivity::new(share * KAPPA) };
        with(name, body("basket", role, rect(0.081, 0.02, 0.113, 0.071), ideal()))
    };
    let mut primary = base();
    primary.bodies[0].outline = polygon(&star([0.05, 0.05], &[0.03, 0.022, 0.031, 0.019, 0.027]));
    primary.bodies.iter_mut().for_each(|b| b.law = ideal());
    let mut steep = base();
    steep.bodies[0].law = tafel(1e-3, 0.03);
    steep.supplies = vec![Supply::all(Drive::Current(Current::new(20.0)))];
    let mut weak = base();
    weak.bodies.iter_mut().for_each(|b| b.law = linear(1e3));
    let ring = Outline::ring(Point::new(0.1, 0.05), 0.02, 0.0198).unwrap();
    vec![
        ("plain", base()),
        ("primary", primary),
        ("steep law at a set current", steep),
        ("hardly any conduction through the surfaces", weak),
        with(
            "floating",
            body("bar", Role::Floating, rect(0.09, 0.031, 0.117, 0.052), linear(1e-4)),
        ),
        with("thin sheet", body("sheet", Role::Shield, rect(0.1, 0.01, 0.1003, 0.09), ideal())),
        with("closed ring", body("ring", Role::Floating, ring, ideal())),
        screen("screen", 0.3),
        screen("screen that hardly conducts", 1e-6),
        screen("screen that conducts far better", 1e4),
    ]
}

fn solved<'a>(layout: &'a Layout, method: Method, accuracy: f64) -> (Problem<'a>, Level) {
    let settings = SolveSettings { accuracy, method, ..SolveSettings::default() };
    let (mut problem, tree, mesh) = Problem::new(layout, &settings).unwrap();
    let level =
        Level::solve(&mut problem, tree, Some(mesh), crate::level::Before::Nothing).unwrap();
    (problem, level)
}

#[test]
fn direct_and_multigrid_answers_agree_in_a_dozen_iterations() {
    for (name, layout) in hard() {
        let (_, direct) = solved(&layout, Method::Direct, 0.005);
        let (_, multigrid) = solved(&layout, Method::Multigrid, 0.005);
        assert_eq!(direct.solved.joint.iterations(), 0);
        let iterations = multigrid.solved.joint.iterations();
        assert!((1..=12).contains(&iterations), "{name}: {iterations} iterations");
        let traffic: f64 = direct.fine.bodies.iter().map(|c| c.abs()).sum();
        for (a, b) in direct.fine.bodies.iter().zip(&multigrid.fine.bodies) {
            assert!((a - b).abs() < 1e-8 * traffic, "{name}: {a} A/m against {b} A/m");
        }
        let metal: f64 = direct.fine.stretches.iter().map(|s| s.surface).sum();
        for (a, b) in direct.fine.stretches.iter().zip(&multigrid.fine.stretches) {
            let off = (a.current - b.current).abs();
            assert!(off < 1e-8 * traffic * (a.surface / metal).max(1e-3), "{name}: {off} A/m");
        }
        let left: f64 = multigrid.fine.bodies.iter().sum();
        assert!(left.abs() < 1e-11 * traffic, "{name}: {left} A/m of {traffic} left over");
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let layout = two_blocks();
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| solved(&layout, Method::Multigrid, 0.01).1.solved.state.u.clone())
    };
    assert_eq!(with(1), with(3));
}
