//! Current distribution in a plating tank section.
pub mod check;
mod circuit;
pub mod deposit;
mod domain;
mod estimate;
pub mod faraday;
pub mod feature;
pub mod field;
mod grid;
pub mod kinetics;
pub mod layers;
pub mod layout;
mod level;
mod mark;
mod measure;
mod newton;
mod pools;
pub mod positions;
mod problem;
pub mod quantity;
mod results;
#[cfg(test)]
mod sample;
pub mod sensitivity;
mod significant;
pub mod solution;
mod solve;
pub mod spread;
mod start;
mod surface;
mod system;
mod transfer;
mod tubes;
mod union;
pub mod until;

pub use check::LayoutFault;
pub use deposit::{BodyDeposit, Deposit, DepositSettings, Efficiency, EfficiencyError, deposit};
pub use faraday::{METALS, Metal, MetalError};
pub use feature::{Feature, FeatureKind, smallest_feature};
pub use field::{Field, FieldPoint};
pub use kinetics::{Direction, Kinetics, Law, LawError, Series, Surface};
pub use layers::{Coat, Fit, Place, Profile, Stack, StackError, stack};
pub use layout::{Body, Drive, Layout, Rating, Role, Span, Supply, Symmetry};
pub use positions::{Placement, Position, averaged, peaks, solve_all};
pub use sensitivity::{Case, Figures, Leaning, Sensitivity, Variation, sensitivity};
pub use significant::Significance;
pub use solution::{
    BodyResult, Solution, SolveStats, Spread, Stretch, SupplyResult, SupplyState, Wagner,
};
pub use solve::{Method, Progress, SolveError, SolveSettings, solve};
pub use spread::Evenness;
pub use tubes::{Tube, current_tubes};
pub use until::{RunError, RunLength, least_on_parts};
