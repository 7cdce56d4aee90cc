//! One file for each command.

pub mod baths;
pub mod check;
pub mod init;
mod load;
pub mod run;
pub mod schema;
