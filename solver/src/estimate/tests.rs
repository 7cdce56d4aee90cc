use super::*;
use crate::layout::Role;
use crate::sample::{body, ideal, layout, rect, two_blocks};
use crate::solve::{Method, SolveSettings};

const SETTINGS: SolveSettings =
    SolveSettings { accuracy: 0.05, max_unknowns: 100_000, method: Method::Automatic };

fn block() -> SurfacePlan {
    let one = |x: f64| body("part", Role::Part, rect(x, 0.03, x + 0.02, 0.06), ideal());
    SurfacePlan::new(&layout(vec![one(0.03), one(0.13)]))
}

#[test]
fn an_error_is_shared_with_neighbours_on_the_same_loop_only() {
    let plan = block();
    let n = plan.stretches.len();
    let second = plan.stretches.iter().position(|s| s.body == 1).unwrap();
    // in the middle of a run without tips
    let quiet = |i: usize| (i - REACH..=i + REACH).all(|k| !plan.stretches[k].tip);
    let i = (REACH..n - REACH).find(|&i| quiet(i)).unwrap();
    let mut raw = vec![0.0; n];
    raw[i] = 1.0;
    let spread = spread_out(&plan, &raw);
    for (k, e) in spread.iter().enumerate() {
        assert_eq!(*e, if k.abs_diff(i) <= REACH { 1.0 } else { 0.0 }, "{k} of {i}");
    }
    // the first stretch of the second body says nothing about the last of the first
    let mut raw = vec![0.0; n];
    raw[second] = 1.0;
    assert!(spread_out(&plan, &raw)[..second].iter().all(|e| *e == 0.0));
}

#[test]
fn errors_of_tips_stay_at_the_tips() {
    let plan = block();
    let raw: Vec<f64> = plan.stretches.iter().map(|s| if s.tip { 1.0 } else { 0.0 }).collect();
    for (s, e) in plan.stretches.iter().zip(spread_out(&plan, &raw)) {
        assert_eq!(e, if s.tip { 1.0 } else { 0.0 });
    }
    // but a tip hears of its neighbours
    let raw: Vec<f64> = raw.iter().map(|r| 1.0 - r).collect();
    let beside = (1..plan.stretches.len())
        .find(|&i| plan.stretches[i - 1].tip && !plan.stretches[i].tip)
        .unwrap();
    assert_eq!(spread_out(&plan, &raw)[beside - 1], 1.0);
}

#[test]
fn a_figure_is_the_larger_of_two_differences() {
    let geometry = GEOMETRY * 10.0;
    // no coarser grid: a quarter of the difference between degrees
    assert_eq!(figure(0.8, None, false, 10.0), 0.2 + geometry);
    assert_eq!(figure(0.8, Some(0.1), false, 10.0), 0.2 + geometry);
    assert_eq!(figure(0.8, Some(0.5), false, 10.0), 0.5 + geometry);
    // where cells were halved: no more than the grids' difference + a tenth of the rest
    assert_eq!(figure(0.8, Some(0.05), true, 10.0), 0.05 + REST * 0.2 + geometry);
    // two grids that agree by luck do not make the answer exact
    assert!(figure(0.8, Some(0.0), true, 10.0) > geometry);
}

#[test]
fn quantiles_are_members_of_the_list() {
    let list: Vec<f64> = (1..=100).map(f64::from).collect();
    assert_eq!(quantile(&list, 0.95), 95.0);
    assert_eq!(quantile(&list, 1.0), 100.0);
    assert_eq!(quantile(&list, 0.0), 1.0);
    assert_eq!(quantile(&list[..1], 0.95), 1.0);
    assert_eq!(quantile(&[], 0.95), 0.0);
}

#[test]
fn no_stretch_is_farther_off_than_it_was_plus_what_it_has_moved() {
    let layout = two_blocks();
    let (mut problem, tree, mesh) = Problem::new(&layout, &SETTINGS).unwrap();
    let level =
        Level::solve(&mut problem, tree, Some(mesh), crate::level::Before::Nothing).unwrap();
    let left = vec![1.0; problem.plan.stretches.len()];
    let first = errors(&problem, &level, None, &left).local;
    // the same grid again: nothing has moved
    let better: Vec<f64> = first.iter().map(|e| 0.1 * e).collect();
    let worse: Vec<f64> = first.iter().map(|e| 10.0 * e).collect();
    let then = |known: &[f64]| errors(&problem, &level, Some((&level, known)), &left).local;
    assert_eq!(then(&better), better);
    assert_eq!(then(&worse), first);
    // cells were halved once more: a tenth of it is left
    let halved = vec![REST; left.len()];
    let again = errors(&problem, &level, Some((&level, &better)), &halved).local;
    for (a, b) in again.iter().zip(&better) {
        assert_eq!(*a, REST * b);
    }
}

#[test]
fn only_stretches_that_miss_the_accuracy_ask_for_cells() {
    let layout = two_blocks();
    let (mut problem, tree, mesh) = Problem::new(&layout, &SETTINGS).unwrap();
    let level =
        Level::solve(&mut problem, tree, Some(mesh), crate::level::Before::Nothing).unwrap();
    let left = vec![1.0; problem.plan.stretches.len()];
    let errors = errors(&problem, &level, None, &left);
    // a thousandth of what there is: nearly everything is far off, but one grid alone is not
    // trusted to say so; tips have no bound to reach
    for (known, halvings) in [(false, 1), (true, 2)] {
        let wishes = goal(&problem, &level, &errors, 1e-3 * errors.work.typical, known);
        for (s, w) in problem.plan.stretches.iter().zip(&wishes) {
            assert_eq!(w.weight > 0.0, !s.tip);
            assert_eq!(w.halvings, if s.tip { 0 } else { halvings });
        }
    }
    // a loose wish: nothing is open
    let wishes = goal(&problem, &level, &errors, 10.0 * errors.work.worst, true);
    assert!(wishes.iter().all(|w| *w == Wish::NOTHING));
}

fn claimed(layout: &crate::layout::Layout) -> (Vec<f64>, Vec<f64>) {
    let (mut problem, tree, mesh) = Problem::new(layout, &SETTINGS).unwrap();
    let level =
        Level::solve(&mut problem, tree, Some(mesh), crate::level::Before::Nothing).unwrap();
    let still = vec![0.0; problem.plan.stretches.len()];
    let moved: Vec<f64> = (0..still.len()).map(|i| if i % 7 == 3 { 1e6 } else { 0.0 }).collect();
    let of = |moved: &[f64]| claim::claims(&problem, &level.fine, &level.low, moved);
    (of(&still), of(&moved))
}

#[test]
fn what_is_stated_grows_with_the_current_where_everything_is_linear() {
    use crate::layout::{Drive, Supply};
    let with = |volts: f64| {
        let volts = crate::quantity::Potential::new(volts);
        crate::layout::Layout { supplies: vec![Supply::all(Drive::Voltage(volts))], ..two_blocks() }
    };
    let ((one, _), (three, _)) = (claimed(&with(1.0)), claimed(&with(3.0)));
    for (a, b) in one.iter().zip(&three) {
        assert!(*a > 0.0 && (b / a - 3.0).abs() < 1e-5, "{a} and {b}");
    }
}

#[test]
fn no_stretch_states_less_than_it_has_moved_since_the_grid_before() {
    let (still, moved) = claimed(&two_blocks());
    for (i, (a, b)) in still.iter().zip(&moved).enumerate() {
        assert!(*a < 1e5);
        // all else stays as it is
        assert!(if i % 7 == 3 { *b >= 1e6 } else { a == b }, "{i}: {a}, {b}");
    }
}
