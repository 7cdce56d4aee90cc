//! The search on formulas: no solve, so every optimum is known.
use super::*;
use crate::plan::model::Blocked;
use crate::plan::search::ledger::Obstacle;

/// Power to become least, anode density to be limited, by values; `None` makes no layout.
type Formula<'a> = dyn Fn(&[f64]) -> Option<[f64; 3]> + Sync + 'a;

struct Hill<'a>(&'a Formula<'a>);

impl Lab for Hill<'_> {
    type Made = [f64; 3];

    fn make(&self, values: &[f64]) -> Result<[f64; 3], Obstacle> {
        let blocked = Blocked { reason: "a rock".into() };
        (self.0)(values).ok_or(Obstacle { blocked, by: 1.0 })
    }

    fn solve(&self, made: &[f64; 3], _: bool) -> Result<Outcome, SolveError> {
        Ok(made_up(made[0], made[1], made[2]))
    }
}

fn find(formula: &Formula<'_>, what: &Search) -> Searched {
    run(&Hill(formula), what, &Watch::NOBODY, 0)
}

fn best(found: &Searched) -> (f64, Vec<f64>) {
    let trial = &found.trials[found.best[0]];
    let outcome = trial.found.outcome().expect("it is solved");
    (outcome.power_w.value, trial.values.clone())
}

fn square() -> Vec<Variable> {
    vec![between("a", 0.0, 2.0), between("b", -1.0, 1.0)]
}

/// Distance from a bottom at 10 above nothing, so that one per cent means something.
fn bowl(x: &[f64], at: [f64; 2]) -> f64 {
    10.0 + 8.0 * ((x[0] - at[0]).powi(2) + 3.0 * (x[1] - at[1]).powi(2))
}

fn deny(limit: f64) -> Vec<Limit> {
    vec![Limit { figure: Figure::AnodeDensity, bound: Bound::AtMost(limit) }]
}

#[test]
fn the_bottom_of_bowls_is_found_wherever_it_is() {
    for (k, at) in [[0.3, 0.4], [1.9, -0.9], [1.0, 0.0], [0.05, 0.95]].into_iter().enumerate() {
        let what = Search { seed: k as u64, ..plain(square(), Figure::Power, 120) };
        let found = find(&|x| Some([bowl(x, at), 0.0, 0.0]), &what);
        assert!(best(&found).0 < 10.01, "{at:?}: {:?}", best(&found));
        assert!(found.counts.solved <= 120, "{:?}", found.counts);
    }
}

/// The least of x + 2 y within the circle x² + y² <= 1/4 around (1, 0): at distance 1/2 along
/// (-1, -2)/√5, by Lagrange's rule.
#[test]
fn an_optimum_on_a_curved_limit_is_found_from_outside() {
    for seed in 0..4 {
        let what = Search {
            limits: deny(0.25),
            own: Some(vec![0.1, 0.9]),
            seed,
            ..plain(square(), Figure::Power, 150)
        };
        let circle =
            |x: &[f64]| Some([10.0 + x[0] + 2.0 * x[1], (x[0] - 1.0).powi(2) + x[1].powi(2), 0.0]);
        let least = 11.0 - 0.5 * 5f64.sqrt();
        let (found, values) = best(&find(&circle, &what));
        assert!(found < 1.01 * least, "{found} {least} {values:?}");
    }
}

/// The search begins at the bottom of one valley; the part of the other that lies deeper is a
/// circle of radius (2/30)^½, one twentieth of the square.
#[test]
fn the_deeper_of_two_valleys_is_found() {
    let valleys = |x: &[f64]| {
        let near = 12.0 + 20.0 * ((x[0] - 0.4).powi(2) + (x[1] + 0.5).powi(2));
        let far = 10.0 + 30.0 * ((x[0] - 1.6).powi(2) + (x[1] - 0.5).powi(2));
        Some([near.min(far), 0.0, 0.0])
    };
    for seed in 0..4 {
        let own = Some(vec![0.4, -0.5]);
        let what = Search { own, seed, ..plain(square(), Figure::Power, 150) };
        let found = find(&valleys, &what);
        assert!(best(&found).0 < 10.1, "{:?}", best(&found));
        // the other valley is among the best, well apart
        assert!(found.best.len() == 3);
    }
}

/// Nine tenths of the square make no layout; the least of the rest lies in a corner of it.
#[test]
fn rocks_all_around_cost_no_solve() {
    let rocks = |x: &[f64]| {
        let inside = (x[0] - 1.5).abs() < 0.32 && (x[1] - 0.4).abs() < 0.32;
        inside.then(|| [10.0 + x[0] + x[1], 0.0, 0.0])
    };
    let found = find(&rocks, &plain(square(), Figure::Power, 120));
    assert!(best(&found).0 < 1.01 * (10.0 + 1.18 + 0.08), "{:?}", best(&found));
    assert!(found.counts.blocked > 100 && found.counts.solved <= 120, "{:?}", found.counts);
    assert_eq!(found.reasons[0].0, "a rock");
}

/// Three baths with bowls of their own, and a count of anodes: the second bath with four is best.
#[test]
fn every_combination_of_few_choices_has_its_turn() {
    let mut variables = square();
    variables.push(Variable { name: "bath".into(), values: Values::Choice(3) });
    variables.push(Variable { name: "anodes".into(), values: Values::Listed(vec![1.0, 2.0, 4.0]) });
    let baths = |x: &[f64]| {
        let at = [[0.3, 0.4], [1.6, -0.6], [1.0, 0.9]][x[2] as usize];
        let bath = [2.0, 0.0, 1.0][x[2] as usize];
        Some([bowl(x, at) + bath + (4.0 - x[3]), 0.0, 0.0])
    };
    let (found, values) = best(&find(&baths, &plain(variables, Figure::Power, 250)));
    assert!(values[2] == 1.0 && values[3] == 4.0 && found < 10.1, "{found} {values:?}");
}

/// Six lists of ten values: a million combinations, with one best in each list.
#[test]
fn many_discrete_values_are_coordinates() {
    let list: Vec<f64> = (0..10).map(f64::from).collect();
    let variables: Vec<Variable> = (0..6)
        .map(|k| Variable { name: k.to_string(), values: Values::Listed(list.clone()) })
        .collect();
    let goal = [3.0, 7.0, 1.0, 8.0, 5.0, 2.0];
    let far = |x: &[f64]| {
        let squares = x.iter().zip(goal).map(|(x, g)| (x - g) * (x - g));
        Some([10.0 + squares.sum::<f64>(), 0.0, 0.0])
    };
    let (found, values) = best(&find(&far, &plain(variables, Figure::Power, 400)));
    assert!(found == 10.0, "{found} {values:?}");
}

#[test]
fn choices_alone_are_all_tried_and_then_it_ends() {
    let variables = vec![Variable { name: "bath".into(), values: Values::Choice(7) }];
    let fourth = |x: &[f64]| Some([10.0 + (x[0] - 4.0).abs(), 0.0, 0.0]);
    let found = find(&fourth, &plain(variables, Figure::Power, 100));
    assert_eq!(best(&found), (10.0, vec![4.0]));
    // the best three are solved again
    assert_eq!(found.counts.solved, 10);
}

/// Ten steps in each of two directions: a hundred layouts, however large the budget.
#[test]
fn steps_end_a_search_before_its_budget_does() {
    let stepped = |name: &str| {
        let values = Values::Between { low: 0.0, high: 9.0, scale: Scale::Linear, step: Some(1.0) };
        Variable { name: name.into(), values }
    };
    let what = plain(vec![stepped("a"), stepped("b")], Figure::Power, 2000);
    let found = find(&|x| Some([bowl(x, [3.2, 6.9]), 0.0, 0.0]), &what);
    assert_eq!(best(&found).1, [3.0, 7.0]);
    assert!(found.trials.len() <= 100, "{:?}", found.counts);
}

/// x² + y² against (x - 2)² + y²: the front is the line y = 0 between both bottoms.
#[test]
fn the_front_of_two_bowls_is_the_line_between_them() {
    let both = |x: &[f64]| {
        let power = x[0].powi(2) + x[1].powi(2);
        let density = (x[0] - 2.0).powi(2) + x[1].powi(2);
        Some([power, 0.0, density])
    };
    let term = |figure| Term { figure, better: Better::Less, weight: 1.0, unit: Some(1.0) };
    let axis = |figure| Axis { figure, better: Better::Less };
    let what = Search {
        aim: Aim(vec![term(Figure::Power), term(Figure::Density)]),
        front: [axis(Figure::Power), axis(Figure::Density)],
        ..plain(square(), Figure::Power, 150)
    };
    let found = find(&both, &what);
    let of = |&k: &usize| {
        let outcome = found.trials[k].found.outcome().expect("it is solved");
        [outcome.power_w.value, outcome.density_a_m2.value]
    };
    let points: Vec<[f64; 2]> = found.front.iter().map(of).collect();
    assert!(points.len() > 5, "{points:?}");
    assert!(points.windows(2).all(|p| p[0][0] < p[1][0] && p[0][1] > p[1][1]), "{points:?}");
    // of equal weights the middle is best
    let (_, values) = best(&found);
    assert!((values[0] - 1.0).abs() < 0.02 && values[1].abs() < 0.02, "{values:?}");
}

/// The layout as it is lies at the bottom, outside what may be varied: it is known, not reported.
#[test]
fn what_lies_outside_the_ranges_is_not_reported() {
    let own = Some(vec![5.0, 0.0]);
    let what = Search { own, ..plain(square(), Figure::Power, 80) };
    let found = find(&|x| Some([bowl(x, [5.0, 0.0]), 0.0, 0.0]), &what);
    assert_eq!(found.trials[found.own.expect("it is solved")].values, [5.0, 0.0]);
    // the nearest that is allowed
    assert!((best(&found).1[0] - 2.0).abs() < 1e-9, "{:?}", best(&found));
    assert!(found.front.iter().all(|&k| found.trials[k].values[0] <= 2.0));
}

#[test]
fn without_a_layout_that_keeps_to_the_limits_it_says_how_far_off_they_are() {
    let what = Search { limits: deny(0.5), ..plain(square(), Figure::Power, 80) };
    // never below 1
    let found = find(&|x| Some([1.0, 1.0 + bowl(x, [0.5, 0.5]) - 10.0, 0.0]), &what);
    assert!(found.best.is_empty());
    let block = found.blocks[0];
    assert_eq!(block.missed, found.trials.len());
    let nearest = block.nearest.expect("a figure").value;
    assert!((1.0..1.01).contains(&nearest), "{nearest}");
    let trial = &found.trials[found.nearest.expect("one that is nearest")];
    assert!(trial.close && matches!(found.merit(found.nearest.expect("known")), Merit::Beyond(_)));
}

#[test]
fn where_nothing_makes_a_layout_the_reasons_are_counted() {
    let found = find(&|_| None, &plain(square(), Figure::Power, 50));
    assert!(found.best.is_empty() && found.nearest.is_none() && found.counts.solved == 0);
    assert_eq!(found.reasons, [("a rock".to_owned(), found.trials.len())]);
}

#[test]
fn the_same_seed_has_the_same_answer_on_any_number_of_threads() {
    let hill = |x: &[f64]| (x[0] + x[1] > 0.2).then(|| [bowl(x, [0.3, 0.4]), x[0], 0.0]);
    let on = |threads, seed| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        let what = Search { limits: deny(0.25), seed, ..plain(square(), Figure::Power, 100) };
        let found = pool.install(|| find(&hill, &what));
        (found.trials, found.best, found.front)
    };
    assert_eq!(on(1, 3), on(4, 3));
    assert_ne!(on(1, 3).0, on(1, 4).0);
}

#[test]
fn a_search_that_is_stopped_reports_what_it_has() {
    let count = std::sync::atomic::AtomicUsize::new(0);
    let order = std::sync::atomic::Ordering::Relaxed;
    let step = |_: Step| {
        count.fetch_add(1, order);
    };
    let stop = || count.load(order) >= 20;
    let watch = Watch { progress: &step, stop: &stop };
    let hill = |x: &[f64]| Some([bowl(x, [0.3, 0.4]), 0.0, 0.0]);
    let found = run(&Hill(&hill), &plain(square(), Figure::Power, 500), &watch, 0);
    assert!(found.stopped && !found.best.is_empty() && found.counts.solved < 60);
    assert!(found.trials[found.best[0]].close);
}

#[test]
fn what_cannot_be_searched_is_refused() {
    let never = |_: &[f64]| Err(Blocked { reason: "no".into() });
    let ask = |what: &Search| search(&never, what, &Watch::NOBODY).map(|_| ());
    let what = plain(square(), Figure::Power, 10);
    assert_eq!(
        ask(&Search { variables: Vec::new(), ..what.clone() }),
        Err(SearchError::NoVariable)
    );
    assert_eq!(ask(&Search { aim: Aim(Vec::new()), ..what.clone() }), Err(SearchError::NoAim));
    let upside_down = vec![between("a", 2.0, 1.0)];
    assert_eq!(
        ask(&Search { variables: upside_down, ..what.clone() }),
        Err(SearchError::NoValues("a".into()))
    );
    let own = Some(vec![1.0]);
    assert_eq!(ask(&Search { own, ..what }), Err(SearchError::Own { found: 1, wanted: 2 }));
}

/// Two planes meet in a crease that falls along a = b + 1; its lower end has 10.
#[test]
fn a_crease_is_followed_to_its_lower_end() {
    let crease = |x: &[f64]| Some([10.0 + 4.0 * (x[0] - x[1] - 1.0).abs() + 1.5 * x[0], 0.0, 0.0]);
    for seed in 0..6 {
        let own = Some(vec![0.3, 0.7]);
        let found = find(&crease, &Search { own, seed, ..plain(square(), Figure::Power, 120) });
        assert!(best(&found).0 < 10.1, "{seed}: {:?}", best(&found));
    }
}
