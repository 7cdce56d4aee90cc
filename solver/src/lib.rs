//! Current distribution in a plating tank section.
pub mod check;
pub mod deposit;
pub mod faraday;
pub mod field;
pub mod kinetics;
pub mod layout;
pub mod quantity;
pub mod solution;
mod solve;
pub mod spread;

pub use check::LayoutFault;
pub use deposit::{BodyDeposit, Deposit, DepositSettings, Efficiency, EfficiencyError, deposit};
pub use faraday::{METALS, Metal, MetalError};
pub use field::{Field, FieldPoint};
pub use kinetics::{Direction, Kinetics, Law, LawError, Series, Surface};
pub use layout::{Body, Layout, Role, Supply};
pub use solution::{BodyResult, Solution, SolveStats, Spread, Stretch, SupplyResult, Wagner};
pub use spread::Evenness;
pub use solve::{Progress, SolveError, SolveSettings, solve};
