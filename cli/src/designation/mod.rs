//! Coating designations as they stand on drawings: `Fe/Cu20 Ni30b Cr r`, `Fe/Zn12`, `SC3`.
//!
//! [`parse`] reads what ISO 1456 and ASTM B456 define for copper, nickel and chromium, and what
//! ISO 2081 and ASTM B633 define for zinc. [`Designation::layers`] says what each coating needs at
//! its thinnest spot and from where that is known; [`explain`] says it in words. Nothing here
//! replaces the standards: buy and follow the current edition.

mod classes;
mod explain;
mod model;
mod parse;

#[cfg(test)]
mod tests;

pub use classes::{Entry, ServiceClass, entries};
pub use explain::{explain, explain_class};
pub use model::{Basis, Coat, Coating, Designation, Finish, Kind, Layer, Metal, Stated};
pub use parse::{DesignationError, parse};

/// The share of double nickel that its lower, semi-bright layer has at least: about 60 %, the
/// bright layer less than 40 % (nickel chapters of a finishing guidebook, 2011 to 2013, after ASTM
/// B456 for steel).
pub const SEMIBRIGHT_SHARE: f64 = 0.6;
