//! The bath library: starting values for common plating solutions, each with its source.

mod entry;
mod sourced;

pub use entry::{Entry, find, names};
pub use sourced::{Confidence, Sourced};
pub(crate) use entry::LawEntry;
