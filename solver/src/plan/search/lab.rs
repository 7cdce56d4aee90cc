//! Builds layouts, looks whether bodies have room, and solves.
use super::FIRST_LOOKS;
use super::islands::values_at;
use super::ledger::{Lab, Obstacle};
use crate::check::LayoutFault;
use crate::layout::Layout;
use crate::plan::answer::Answer;
use crate::plan::model::{Blocked, Model, Task};
use crate::plan::outcome::Outcome;
use crate::plan::room::{changed, tight};
use crate::plan::sample::even_point;
use crate::plan::variable::Variable;
use crate::solve::{SolveError, SolveSettings};
use crate::warm::{Warm, solve_warm};

/// Accuracy of the solves while searching.
pub(super) const LOOSE: f64 = 0.03;

pub(super) struct Bench<'a> {
    model: &'a dyn Model,
    /// The layout as it is, position by position: what is near there may stay as near.
    before: Vec<Layout>,
    clearance_m: f64,
    warm: Option<Warm>,
}

impl<'a> Bench<'a> {
    /// `own` are the values of the layout as it is; every loose solve starts from its answer, or
    /// from that of the first evenly spread point that makes a layout. Solves once if it can.
    pub fn new(
        model: &'a dyn Model,
        variables: &[Variable],
        own: Option<&[f64]>,
        clearance_m: f64,
    ) -> (Self, usize) {
        let layouts = |values: &[f64]| {
            let task = model.task(values).ok()?;
            let layouts: Vec<Layout> = task.case.positions.iter().map(|p| p.0.clone()).collect();
            Some((task, layouts)).filter(|(_, l)| l.iter().all(|l| l.check().is_ok()))
        };
        let as_it_is = own.and_then(layouts);
        let before = as_it_is.as_ref().map_or_else(Vec::new, |(_, layouts)| layouts.clone());
        let even = || {
            let point = |k| values_at(variables, &even_point(k, variables.len()));
            (0..FIRST_LOOKS).find_map(|k| layouts(&point(k)))
        };
        let (warm, solved) = match as_it_is.or_else(even) {
            // a part that turns is solved from nothing
            Some((task, layouts)) if layouts.len() == 1 => {
                (solve_warm(&layouts[0], &loosely(&task), None).ok().map(|(_, warm)| warm), 1)
            }
            _ => (None, 0),
        };
        (Self { model, before, clearance_m, warm }, solved)
    }

    /// What is in the way of a task's layouts.
    fn obstacle(&self, task: &Task) -> Option<Obstacle> {
        let layouts = task.case.positions.iter().map(|(l, _)| l).enumerate();
        layouts.into_iter().find_map(|(k, layout)| {
            let size = layout.tank.diagonal();
            if let Err(faults) = layout.check() {
                let first = faults.first()?;
                let by = faults.iter().map(|f| badness(f, size)).sum();
                return Some(Obstacle { blocked: Blocked { reason: words(first) }, by });
            }
            let before = self.before.get(k);
            let moved = changed(before, layout);
            let tight = moved
                .iter()
                .filter(|_| self.clearance_m > 0.0)
                .find_map(|&b| tight(before, layout, b, self.clearance_m))?;
            let name = |b: usize| &layout.bodies[b].name;
            let other = match tight.other {
                Some(other) => format!("`{}`", name(other)),
                None => "the tank's wall".to_owned(),
            };
            let reason = format!("`{}` is nearer than the clearance to {other}", name(tight.body));
            Some(Obstacle { blocked: Blocked { reason }, by: tight.short_m / size })
        })
    }
}

impl Lab for Bench<'_> {
    type Made = Task;

    fn make(&self, values: &[f64]) -> Result<Task, Obstacle> {
        let task = self.model.task(values).map_err(|blocked| Obstacle { blocked, by: 1.0 })?;
        match self.obstacle(&task) {
            Some(obstacle) => Err(obstacle),
            None => Ok(task),
        }
    }

    fn solve(&self, task: &Task, close: bool) -> Result<Outcome, SolveError> {
        // what is reported does not lean on where the search began
        let (settings, warm) = match close {
            true => (task.settings, None),
            false => (loosely(task), self.warm.as_ref()),
        };
        let answer = Answer::new(&task.case, &settings, warm)?;
        Ok(Outcome::of(&task.case, &task.demands, &answer))
    }
}

fn loosely(task: &Task) -> SolveSettings {
    SolveSettings { accuracy: task.settings.accuracy.max(LOOSE), ..task.settings }
}

/// A fault in words without measures, so that the same one can be counted.
fn words(fault: &LayoutFault) -> String {
    match fault {
        LayoutFault::Overlap { names: [a, b], .. } => format!("`{a}` overlaps `{b}`"),
        LayoutFault::BodyOutside { name, .. } => format!("`{name}` lies outside the tank"),
        other => other.to_string(),
    }
}

/// How bad a fault is: bodies that share more are farther from a layout. No unit.
fn badness(fault: &LayoutFault, size_m: f64) -> f64 {
    match fault {
        LayoutFault::Overlap { area_m2, .. } => area_m2.max(0.0).sqrt() / size_m,
        _ => 1.0,
    }
}
