//! One file for each command.

pub mod baths;
pub mod check;
pub mod compare;
pub mod designation;
pub mod export;
pub mod init;
pub mod lesson;
mod load;
pub mod remedies;
pub(crate) mod report;
pub mod run;
pub mod schema;
pub mod search;
pub mod sensitivity;
mod sequence;
pub mod sweep;

#[cfg(test)]
mod deposit_tests;
#[cfg(test)]
mod search_tests;
#[cfg(test)]
mod tests;
