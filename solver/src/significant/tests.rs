use super::*;
use crate::check::LayoutFault;
use crate::layout::{Drive, Supply};
use crate::quantity::CurrentDensity;
use crate::sample::{ideal, linear, plates, two_blocks};
use crate::solve::{SolveSettings, solve};

fn span(from_m: f64, to_m: f64) -> Span {
    Span { loop_index: 0, from_m, to_m }
}

fn solved(layout: &Layout) -> Solution {
    let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
    solve(layout, &settings, &mut |_| {}).expect("a solution")
}

#[test]
fn a_stretch_may_run_over_the_start_of_its_loop() {
    let over = span(0.09, 0.12);
    for (s, on) in [(0.095, true), (0.01, true), (0.03, false), (0.08, false), (0.19, true)] {
        assert_eq!(over.holds(0, s, 0.1), on, "{s}");
    }
    assert!(!over.holds(1, 0.095, 0.1));
}

#[test]
fn masks_take_away_from_what_is_significant() {
    let mut part = two_blocks().bodies[0].clone();
    part.significant.only = Some(vec![span(0.0, 0.05)]);
    part.significant.except = vec![span(0.01, 0.02)];
    part.masked = vec![span(0.04, 0.06)];
    let on = |s: f64| part.is_significant(0, s);
    assert_eq!([0.005, 0.015, 0.03, 0.045, 0.055].map(on), [true, false, true, false, false]);
}

#[test]
fn rows_end_where_a_mark_ends_and_masked_ones_are_missing() {
    let mut layout = two_blocks();
    let free = solved(&layout);
    let part = &mut layout.bodies[0];
    let total = part.outline.loops()[0].length();
    // from inside one side to inside another, over the start of the loop
    part.masked = vec![span(total - 0.0123, total + 0.0077)];
    part.significant.except = vec![span(0.0311, 0.0402)];
    let found = solved(&layout);
    let rows = &found.bodies[0].stretches;
    let wetted: f64 = rows.iter().map(|r| r.length_m).sum();
    assert!((wetted - (total - 0.02)).abs() < 1e-7, "{wetted}");
    assert!(rows.iter().all(|r| !layout.bodies[0].is_masked(0, r.s_m)));
    let marked = layout.significant_rows(&found);
    let length = |on: bool| -> f64 {
        rows.iter().zip(&marked[0]).filter(|(_, m)| **m == on).map(|(r, _)| r.length_m).sum()
    };
    assert!((length(false) - 0.0091).abs() < 1e-7, "{}", length(false));
    assert!((found.bodies[0].area_m2 - wetted).abs() < 1e-12, "the sample is 1 m deep");
    // a mask takes current away at a fixed voltage, and the field keeps its balance
    assert!(found.bodies[0].current_a < free.bodies[0].current_a);
    assert!(found.current_balance.abs() < 1e-10);
}

#[test]
fn a_mask_on_a_plate_leaves_a_strip_of_the_same_mean() {
    // plates as end walls: with half of one masked the rest carries what its mean density says
    let mut layout = plates(linear(1e-2), ideal());
    let part = &mut layout.bodies[0];
    // right side of the plate, from its lower end beneath the tank to half of the tank's height
    let (l, s, _) = part.outline.nearest(Point::new(0.031, 0.05));
    let (_, low, _) = part.outline.nearest(Point::new(0.031, -0.01));
    part.masked = vec![Span { loop_index: l, from_m: low, to_m: s }];
    layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::new(300.0)))];
    let found = solved(&layout);
    assert!((found.bodies[0].area_m2 - 0.05).abs() < 1e-7, "{}", found.bodies[0].area_m2);
    assert!((found.bodies[0].current_a - 15.0).abs() < 1e-6);
    // the bare edge beside the mask takes the most
    let at = found.bodies[0].density.max_at;
    assert!((at.y - 0.05).abs() < 1e-3, "{at}");
}

#[test]
fn spans_off_the_outline_and_masks_all_over_are_faults() {
    let fault = |mark: &dyn Fn(&mut Body)| {
        let mut layout = two_blocks();
        mark(&mut layout.bodies[0]);
        layout.check().err().unwrap_or_default()
    };
    let total = two_blocks().bodies[0].outline.loops()[0].length();
    assert_eq!(fault(&|b| b.masked = vec![span(0.01, 0.02)]), vec![]);
    for wrong in
        [span(0.02, 0.01), span(0.0, 1.01 * total), Span { loop_index: 1, ..span(0.0, 0.01) }]
    {
        let by_mask = fault(&|b| b.masked = vec![wrong]);
        let by_mark = fault(&|b| b.significant.only = Some(vec![wrong]));
        for found in [by_mask, by_mark] {
            assert!(matches!(found.as_slice(), [LayoutFault::Span { body: 0, .. }]), "{found:?}");
        }
    }
    for all in [vec![span(0.0, total)], vec![span(0.01, 0.05), span(0.04, total + 0.01)]] {
        let found = fault(&|b| b.masked = all.clone());
        assert!(matches!(found.as_slice(), [LayoutFault::AllMasked { body: 0, .. }]), "{found:?}");
    }
}
