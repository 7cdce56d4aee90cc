//! Moving a body by a little moves every answer by about as little.
//!
//! Every reported value may move by a tenth of its stated uncertainty plus its true change. A grid
//! that fits itself to the answer decides cell by cell, and a decision may tip over under any move
//! however small: of all values one in a thousand is allowed more, up to its uncertainty.
use checks::cases::build::{body, layout, linear, none, rect, tafel};
use checks::random;
use checks::values::values;
use shapes::{Outline, Point, Vec2};
use solver::quantity::*;
use solver::{Body, Drive, Layout, Role, Solution, SolveSettings, solve};

fn solved(layout: &Layout) -> Option<Solution> {
    solve(
        layout,
        &SolveSettings { accuracy: 0.01, max_unknowns: 60_000, ..SolveSettings::default() },
        &mut |_| {},
    )
    .ok()
}

fn moved(layout: &Layout, body: usize, by: Vec2) -> Layout {
    let mut l = layout.clone();
    l.bodies[body].outline = l.bodies[body].outline.moved(by);
    l
}

/// The layout without the bodies that come near an earlier one or the wall, where a contact that
/// opens or closes is a true jump; `None` if too little is left.
fn apart(mut l: Layout) -> Option<Layout> {
    let near = 1e-3 * l.tank.diagonal();
    let tank = l.tank.clone();
    let mut kept: Vec<Body> = Vec::new();
    for b in l.bodies {
        let free = |other: &Outline| !b.outline.touches(other, near);
        if free(&tank) && kept.iter().all(|k| free(&k.outline)) {
            kept.push(b);
        }
    }
    l.bodies = kept;
    (l.check().is_ok() && l.bodies.len() > 1).then_some(l)
}

/// Shares of the uncertainty by which values move.
#[derive(Default)]
struct Moves {
    shares: Vec<(f64, String)>,
}

impl Moves {
    fn compare(&mut self, what: &str, before: &Solution, after: &Solution, smooth: &[f64]) {
        let (a, b) = (values(before), values(after));
        assert_eq!(a.len(), b.len(), "{what}: rows come or go");
        for (k, (x, y)) in a.iter().zip(&b).enumerate() {
            let role = before.bodies[x.body].role;
            // the current of what floats is zero, its uncertainty rounding
            if x.uncertainty <= 0.0 || (x.kind == 'b' && !matches!(role, Role::Part | Role::Anode))
            {
                continue;
            }
            let change = (x.value - y.value).abs() - smooth.get(k).copied().unwrap_or(0.0);
            let share = change.max(0.0) / x.uncertainty.max(y.uncertainty);
            self.shares.push((share, format!("{what}: {x:?} {y:?}")));
        }
    }

    fn judge(mut self, what: &str) {
        self.shares.sort_by(|a, b| a.0.total_cmp(&b.0));
        let n = self.shares.len();
        let at = |q: f64| self.shares[(q * (n - 1) as f64) as usize].0;
        let beyond = self.shares.iter().filter(|s| s.0 > 0.1).count();
        println!(
            "{what}: {n} values; median {:.1e}, 99 % {:.1e}, 99.9 % {:.1e}, most {:.1e} of the \
             uncertainty; {beyond} beyond a tenth",
            at(0.5),
            at(0.99),
            at(0.999),
            at(1.0)
        );
        let worst = &self.shares[n - 1];
        assert!(n > 1000, "{n} values");
        assert!(1000 * beyond <= n, "{beyond} of {n} beyond a tenth, {}", worst.1);
        assert!(worst.0 <= 1.0, "{:.2} uncertainties: {}", worst.0, worst.1);
    }
}

const WAYS: [Vec2; 3] = [Vec2::new(1.0, 0.0), Vec2::new(0.0, -1.0), Vec2::new(-0.6, 0.8)];

#[test]
fn a_thousandth_of_a_cell_moves_nothing() {
    let mut moves = Moves::default();
    let mut used = 0;
    for seed in 40_000..40_150 {
        let Some(l) = apart(random::layout(seed)) else { continue };
        let Some(before) = solved(&l) else { continue };
        used += 1;
        for body in 0..2 {
            let way = WAYS[(seed as usize + body) % 3];
            let by = way * (1e-3 * before.stats.finest_cell_m);
            let after = solved(&moved(&l, body, by)).unwrap_or_else(|| panic!("{seed}: lost"));
            moves.compare(&format!("seed {seed} body {body}"), &before, &after, &[]);
        }
    }
    assert!(used >= 8, "{used} layouts");
    moves.judge("a thousandth of a cell");
}

/// Sixty steps through a few cells, in a layout with corners, a curve, a sheet and steep kinetics.
#[test]
fn a_drag_through_a_few_cells_is_smooth() {
    let rod = Outline::disc(Point::new(0.12, 0.17), 0.03).expect("a disc");
    let bodies = vec![
        body("bar", Role::Part, rect(0.1, 0.06, 0.16, 0.1), tafel(1.0, 0.06)),
        body("rod", Role::Part, rod, linear(5e-4)),
        body("sheet", Role::Shield, rect(0.25, 0.0, 0.2505, 0.12), none()),
        body("anode", Role::Anode, rect(0.4, 0.05, 0.42, 0.2), linear(2e-4)),
    ];
    let supply = Drive::MeanDensity(CurrentDensity::new(250.0));
    let l = layout(rect(0.0, 0.0, 0.5, 0.25), 20.0, bodies, supply);
    let mut moves = Moves::default();
    for (body, way) in
        [(0, Vec2::new(0.8, 0.6)), (1, Vec2::new(0.3, -1.0)), (2, Vec2::new(1.0, 0.0))]
    {
        let cell = solved(&l).expect("a solution").stats.finest_cell_m;
        let steps: Vec<Solution> = (0..=60)
            .map(|k| {
                solved(&moved(&l, body, way * (0.05 * f64::from(k) * cell))).expect("a solution")
            })
            .collect();
        // the true change of one step: a sixtieth of the whole way's, with room for curvature
        let (first, last) = (values(&steps[0]), values(&steps[60]));
        let smooth: Vec<f64> =
            first.iter().zip(&last).map(|(a, b)| 2.0 * (a.value - b.value).abs() / 60.0).collect();
        for (k, pair) in steps.windows(2).enumerate() {
            moves.compare(&format!("body {body} step {k}"), &pair[0], &pair[1], &smooth);
        }
    }
    moves.judge("drag");
}
