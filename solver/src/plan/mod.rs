//! Many layouts instead of one: what the planner compares, sweeps and searches.
//!
//! A [`Task`] is a layout with what is deposited and what is wanted of it; its [`Outcome`] is all
//! that a planner reads off it, and a [`Figure`] is one number of that with its uncertainty. A
//! [`Model`] makes tasks of the values of some [`Variable`]s: any function will do. [`sweep`] solves
//! many combinations of values, [`differences`] says what really differs between two outcomes.
pub mod answer;
pub mod cmaes;
pub mod compare;
pub mod figure;
pub mod model;
pub mod outcome;
pub(crate) mod room;
pub mod sample;
pub mod search;
pub(crate) mod simplex;
pub mod sweep;
pub mod variable;

pub use answer::Answer;
pub use compare::{Difference, differences};
pub use figure::{Dimension, Figure, Measured};
pub use model::{Blocked, Demands, Model, Task};
pub use outcome::{BURNING_SHARE, Feed, Growth, Outcome};
pub use search::search;
pub use sweep::{Found, sweep, try_values};
pub use variable::{Scale, Values, Variable};
