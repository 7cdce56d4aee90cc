//! A job as the solver's planner sees it.
use solver::plan::{Demands, Task};
use solver::{Case, SolveSettings};

use super::resolved::Resolved;

impl Resolved {
    /// What is in the tank, what is deposited and what is wanted.
    pub fn case(&self) -> Case {
        let plating = self.plating.as_ref();
        Case {
            positions: self.positions(),
            plating: plating.map(|p| (p.metal.clone(), p.efficiency.clone(), p.length)),
            want: self.want.min_thickness,
        }
    }

    /// What else it is judged by.
    pub fn demands(&self) -> Demands {
        Demands {
            most: self.want.max_thickness,
            covers_from: self.bath.threshold,
            low_below: self.window.min,
            burns_above: self.window.max,
            anode_max: self.bath.anode_limit,
        }
    }

    /// All of it, to be solved as closely as the job asks.
    pub fn task(&self) -> Task {
        self.task_to(self.settings)
    }

    /// The same with other settings of the solve.
    pub fn task_to(&self, settings: SolveSettings) -> Task {
        Task { case: self.case(), demands: self.demands(), settings }
    }
}
