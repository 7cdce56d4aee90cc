//! What the solver is checked against: closed forms, and body-fitted reference answers.
//!
//! A [`Reference`] is a layout together with its true currents and densities, however they were
//! found; [`compare`](compare::compare) measures a solution against it.
pub mod agree;
pub mod cases;
pub mod closed_form;
pub mod compare;
pub mod dice;
pub mod draws;
pub mod fixture;
pub mod hostile;
pub mod pose;
pub mod profile;
pub mod proof;
pub mod random;
pub mod reference;
pub mod truth;
pub mod values;
pub mod verdict;
pub mod walk;

pub use compare::{Comparison, Errors, compare};
pub use pose::Pose;
pub use reference::{Reference, load_fixtures, load_held_out};
