//! Current distribution in a plating tank section.
pub mod field;
pub mod kinetics;
pub mod layout;
pub mod quantity;
pub mod solution;
mod solve;

pub use field::{Field, FieldPoint};
pub use kinetics::{Direction, Kinetics, Law, LawError, Series, Surface};
pub use layout::{Body, Layout, Role, Supply};
pub use solution::{BodyResult, Solution, SolveStats, Spread, Stretch, SupplyResult, Wagner};
pub use solve::{Progress, SolveError, SolveSettings, solve};
