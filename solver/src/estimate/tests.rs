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
fn quantiles_are_members_of_the_list() {
    let list: Vec<f64> = (1..=100).map(f64::from).collect();
    assert_eq!(quantile(&list, 0.95), 95.0);
    assert_eq!(quantile(&list, 1.0), 100.0);
    assert_eq!(quantile(&list, 0.0), 1.0);
    assert_eq!(quantile(&list[..1], 0.95), 1.0);
    assert_eq!(quantile(&[], 0.95), 0.0);
}

/// The first grid of two blocks with its answers, handed to `see`.
fn on_two_blocks(see: impl FnOnce(&Problem, &Level)) {
    let layout = two_blocks();
    let (mut problem, tree, mesh) = Problem::new(&layout, &SETTINGS).unwrap();
    let level =
        Level::solve(&mut problem, tree, Some(mesh), crate::level::Before::Nothing).unwrap();
    see(&problem, &level);
}

#[test]
fn only_stretches_that_miss_the_accuracy_ask_for_cells() {
    on_two_blocks(|problem, level| {
        let guess = guess(problem, level).unwrap();
        let measured = Errors { measured: true, ..guess.clone() };
        // a thousandth of what there is: nearly everything is far off, but a guess is not trusted to
        // say so; tips have no bound to reach
        for (errors, halvings) in [(&guess, 1), (&measured, 2)] {
            let wishes = goal(problem, level, errors, 1e-3 * errors.work.typical);
            for (s, w) in problem.plan.stretches.iter().zip(&wishes) {
                assert_eq!(w.weight > 0.0, !s.tip);
                assert_eq!(w.halvings, if s.tip { 0 } else { halvings });
            }
        }
        // a loose wish: nothing is open
        let wishes = goal(problem, level, &measured, 10.0 * measured.work.worst);
        assert!(wishes.iter().all(|w| w.weight == 0.0 && w.halvings == 0));
        // a finer answer is asked for every stretch
        assert!(every_stretch(problem, level).iter().all(|w| w.weight > 0.0 && w.halvings == 1));
    });
}

#[test]
fn a_measured_error_is_the_difference_and_what_the_finer_answer_may_be_off() {
    on_two_blocks(|problem, level| {
        let same = measured(problem, level, &level.fine, None);
        let size = |i: usize| (level.fine.stretches[i].current / problem.wet[i]).abs();
        // no difference: geometry and rounding are left
        for (i, e) in same.stretches.iter().enumerate() {
            assert!((e / (GEOMETRY * size(i)) - 1.0).abs() < 1e-3, "{e}");
        }
        // every stretch a thousandth off
        let mut finer = level.fine.clone();
        finer.stretches.iter_mut().for_each(|s| s.current *= 1.001);
        let off = measured(problem, level, &finer, None);
        for (i, (e, s)) in off.stretches.iter().zip(&same.stretches).enumerate() {
            assert!(e - s >= FINER * 1e-3 * size(i) * (1.0 - 1e-9), "{e}");
        }
        // the finer answer found on another grid
        let again = measured(problem, level, &level.fine, Some(&off));
        for ((again, same), off) in again.stretches.iter().zip(&same.stretches).zip(&off.stretches)
        {
            assert!((again - same - REST * off).abs() < 1e-9 * off);
        }
    });
}
