//! Current distribution in a plating tank section.
mod circuit;
mod domain;
pub mod field;
mod grid;
pub mod kinetics;
pub mod layout;
mod measure;
mod newton;
mod pools;
pub mod quantity;
pub mod solution;
mod solve;
mod start;
mod surface;
mod system;
mod transfer;
mod union;

pub use field::{Field, FieldPoint};
pub use kinetics::{Direction, Kinetics, Law, LawError, Series, Surface};
pub use layout::{Body, Layout, Role, Supply};
pub use solution::{BodyResult, Solution, SolveStats, Spread, Stretch, SupplyResult, Wagner};
pub use solve::{Progress, SolveError, SolveSettings, solve};
