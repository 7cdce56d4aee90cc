//! What the planner may change: values of some variables, and the task that they make.
use crate::quantity::{CurrentDensity, Length};
use crate::sensitivity::Case;
use crate::solve::SolveSettings;

/// A layout with what is deposited, what is wanted of it, and how closely it is solved.
#[derive(Debug, Clone)]
pub struct Task {
    /// What is in the tank, what is deposited and what is wanted.
    pub case: Case,
    /// What else it is judged by.
    pub demands: Demands,
    /// How closely it is solved.
    pub settings: SolveSettings,
}

/// What a layout is judged by, beside the least thickness that its [`Case`] wants.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Demands {
    /// Greatest thickness allowed on the significant surface.
    pub most: Option<Length>,
    /// Below this the deposit covers nothing.
    pub covers_from: Option<CurrentDensity>,
    /// Below this it is thin or dull.
    pub low_below: Option<CurrentDensity>,
    /// Above this it burns.
    pub burns_above: Option<CurrentDensity>,
    /// Greatest good mean current density on an anode.
    pub anode_max: Option<CurrentDensity>,
}

/// Why values make no layout.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, thiserror::Error)]
#[error("{reason}")]
pub struct Blocked {
    /// In words that are the same for the same obstacle, without its measures: "`anode` overlaps
    /// `part`". They are counted.
    pub reason: String,
}

/// Makes tasks of values: what is swept or searched.
///
/// Any function from values to a task is a model. The same values must make the same task.
pub trait Model: Sync {
    /// The task of these values, one for each variable, in their order.
    ///
    /// # Errors
    /// [`Blocked`] where they make no sense together: bodies overlap, a current turns round.
    fn task(&self, values: &[f64]) -> Result<Task, Blocked>;
}

impl<F: Fn(&[f64]) -> Result<Task, Blocked> + Sync> Model for F {
    fn task(&self, values: &[f64]) -> Result<Task, Blocked> {
        self(values)
    }
}
