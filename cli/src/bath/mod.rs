//! The bath library: starting values for common plating solutions, each with its source.

mod entry;
mod sourced;

pub(crate) use entry::LawEntry;
pub use entry::{Entry, find, names};
pub use sourced::{Confidence, Sourced};
