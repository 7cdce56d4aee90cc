//! The bath library: starting values for common plating solutions, each with its source.

mod caution;
mod check;
mod entry;
mod library;
mod own;
mod sourced;

pub use caution::{CAUTIONS, Caution, caution, cautions};
pub use entry::{Entry, LawEntry, WindowEntry};
pub use library::{Found, Library};
pub use own::{OwnFile, beside, path_beside};
pub use sourced::{Confidence, End, Sourced};

#[cfg(test)]
mod tests;
