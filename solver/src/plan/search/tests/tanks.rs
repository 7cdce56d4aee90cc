//! The search on real layouts, loosely solved, against grids of all values.
use super::*;
use crate::layout::{Drive, Layout, Role, Supply};
use crate::plan::model::{Blocked, Demands, Task};
use crate::plan::sample::grid;
use crate::plan::sweep::sweep;
use crate::quantity::CurrentDensity;
use crate::sample::{body, layout, linear, rect};
use crate::sensitivity::Case;
use crate::solve::SolveSettings;
use crate::until::RunLength;
use crate::{Efficiency, METALS};

/// Nickel at 3 A/dm² for ten minutes, 5 µm wanted.
fn task(layout: Layout) -> Task {
    let nickel = METALS.iter().find(|m| m.symbol == "Ni").expect("nickel").clone();
    let run = RunLength::Time(crate::quantity::Time::minutes(10.0));
    let efficiency = Efficiency::constant(0.95).expect("a share");
    Task {
        case: Case {
            positions: vec![(layout, 1.0)],
            plating: Some((nickel, efficiency, Some(run))),
            want: Some(Length::um(5.0)),
        },
        demands: Demands { burns_above: Some(CurrentDensity::a_dm2(6.0)), ..Demands::default() },
        settings: SolveSettings { accuracy: 0.03, ..SolveSettings::default() },
    }
}

fn held(bodies: Vec<crate::Body>) -> Layout {
    let mut layout = layout(bodies);
    layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::a_dm2(3.0)))];
    layout
}

/// A plate midway, its faces to the left and right, and an anode on either side at free distances.
fn between_anodes(values: &[f64]) -> Result<Task, Blocked> {
    let part = body("part", Role::Part, rect(0.098, 0.03, 0.102, 0.07), linear(1e-3));
    let anode = |name: &str, x: f64| {
        body(name, Role::Anode, rect(x - 0.004, 0.02, x + 0.004, 0.08), linear(1e-4))
    };
    Ok(task(held(vec![part, anode("left", 0.1 - values[0]), anode("right", 0.1 + values[1])])))
}

fn distances() -> Vec<Variable> {
    vec![between("left", 0.02, 0.09), between("right", 0.02, 0.09)]
}

#[test]
fn of_two_anodes_at_free_distances_the_symmetric_layout_is_evenest() {
    let what = Search {
        own: Some(vec![0.03, 0.08]),
        ..plain(distances(), Figure::GreatestOverLeast, 150)
    };
    let found = search(&between_anodes, &what, &Watch::NOBODY).expect("it can be searched");
    let values = &found.trials[found.best[0]].values;
    assert!((values[0] - values[1]).abs() < 0.003, "{values:?}");
    // and no layout of a grid is more than one per cent better
    let points = grid(&distances().iter().map(|v| v.values.grid(7)).collect::<Vec<_>>());
    let all = sweep(&between_anodes, &points, None, &|| false, &|_, _| ());
    let of = |f: &Found| Figure::GreatestOverLeast.of(f.outcome()?).map(|m| m.value);
    let least = all.iter().flatten().filter_map(of).fold(f64::INFINITY, f64::min);
    let best = of(&found.trials[found.best[0]].found).expect("a ratio");
    assert!(best < 1.01 * least, "{best} {least} {values:?}");
}

/// The anode hides behind a shield unless it is moved up; all of the part's height counts.
fn behind_a_shield(values: &[f64]) -> Result<Task, Blocked> {
    let part = body("part", Role::Part, rect(0.03, 0.03, 0.04, 0.07), linear(1e-3));
    let shield = body("shield", Role::Shield, rect(0.09, 0.0, 0.094, 0.05), linear(1e-3));
    let [x, y] = [values[0], values[1]];
    let anode =
        body("anode", Role::Anode, rect(x - 0.004, y - 0.015, x + 0.004, y + 0.015), linear(1e-4));
    Ok(task(held(vec![part, shield, anode])))
}

#[test]
fn an_anode_that_may_go_anywhere_ends_where_a_fine_grid_has_its_best() {
    let variables = vec![between("x", 0.055, 0.19), between("y", 0.02, 0.08)];
    let what = Search {
        own: Some(vec![0.15, 0.03]),
        clearance: Length::mm(4.0),
        ..plain(variables.clone(), Figure::TimeToWanted, 90)
    };
    let found = search(&behind_a_shield, &what, &Watch::NOBODY).expect("it can be searched");
    let (bench, _) = Bench::new(&behind_a_shield, &variables, what.own.as_deref(), 4e-3);
    let points = grid(&variables.iter().map(|v| v.values.grid(9)).collect::<Vec<_>>());
    let open: Vec<Vec<f64>> = points.into_iter().filter(|p| bench.make(p).is_ok()).collect();
    let all = sweep(&behind_a_shield, &open, None, &|| false, &|_, _| ());
    let of = |f: &Found| Figure::TimeToWanted.of(f.outcome()?).map(|m| m.value);
    let least = all.iter().flatten().filter_map(of).fold(f64::INFINITY, f64::min);
    let best = &found.trials[found.best[0]];
    let seconds = of(&best.found).expect("a time");
    assert!(seconds < 1.01 * least, "{seconds} {least} {:?}", best.values);
    // the anode keeps clear of the shield and of the walls
    assert!((best.values[0] - 0.092).abs() > 0.0099 || best.values[1] > 0.0689, "{best:?}");
}

#[test]
fn a_limit_on_burning_holds_for_the_layout_that_is_reported() {
    // the current is free: the quickest would burn
    let model = |values: &[f64]| {
        let mut task = between_anodes(&[0.05, values[0]])?;
        task.case.positions[0].0.supplies[0].drive =
            Drive::MeanDensity(CurrentDensity::new(values[1]));
        task.settings.accuracy = 0.01;
        Ok(task)
    };
    let variables = vec![between("right", 0.02, 0.09), between("density", 200.0, 900.0)];
    let base = model(&[0.05, 300.0]).expect("a task");
    let what = Search {
        limits: Limit::usual(&base),
        own: Some(vec![0.05, 300.0]),
        ..plain(variables, Figure::TimeToWanted, 70)
    };
    assert_eq!(what.limits[0].figure, Figure::Burning);
    let found = search(&model, &what, &Watch::NOBODY).expect("it can be searched");
    let trial = |k: usize| found.trials[k].found.outcome().expect("it is solved");
    let (best, own) = (trial(found.best[0]), trial(found.own.expect("it is solved")));
    assert!(best.burning.expect("a share").value <= crate::plan::BURNING_SHARE);
    let seconds = |o: &Outcome| o.seconds_to_wanted().expect("a time").value;
    assert!(seconds(best) < 0.9 * seconds(own), "{} {}", seconds(best), seconds(own));
}

#[test]
fn real_solves_have_the_same_answer_on_one_thread_and_on_four() {
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        let what = Search {
            own: Some(vec![0.03, 0.08]),
            ..plain(distances(), Figure::GreatestOverLeast, 24)
        };
        let run = || search(&between_anodes, &what, &Watch::NOBODY).expect("it can be searched");
        let found = pool.install(run);
        (found.trials, found.best)
    };
    assert_eq!(on(1), on(4));
}

/// Without room for the clearance anywhere it says between which bodies.
#[test]
fn a_clearance_that_nothing_keeps_is_what_blocks() {
    let what =
        Search { clearance: Length::mm(95.0), ..plain(distances(), Figure::GreatestOverLeast, 20) };
    let found = search(&between_anodes, &what, &Watch::NOBODY).expect("it can be searched");
    assert!(found.best.is_empty());
    assert!(found.reasons[0].0.contains("is nearer than the clearance to"), "{:?}", found.reasons);
}
