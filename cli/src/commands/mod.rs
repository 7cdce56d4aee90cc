//! One file for each command.

pub mod baths;
pub mod check;
pub mod designation;
pub mod init;
mod load;
pub mod remedies;
mod report;
pub mod run;
pub mod schema;
mod sequence;

#[cfg(test)]
mod deposit_tests;
#[cfg(test)]
mod tests;
