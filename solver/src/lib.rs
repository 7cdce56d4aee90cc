//! Current distribution in a plating tank section.
pub mod field;
pub mod kinetics;
pub mod layout;
pub mod quantity;
pub mod solution;
mod solve;
mod tubes;

pub use field::{Field, FieldPoint};
pub use kinetics::{Kinetics, Law};
pub use layout::{Body, Layout, Role, Supply};
pub use solution::{BodyResult, Solution, SolveStats, Spread, Stretch, SupplyResult, Wagner};
pub use solve::{Progress, SolveError, SolveSettings, solve};
pub use tubes::{Tube, current_tubes};
