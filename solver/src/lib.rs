//! Current distribution in a plating tank section.
pub mod check;
mod circuit;
pub mod deposit;
mod domain;
mod estimate;
pub mod faraday;
pub mod feature;
pub mod field;
mod finer;
mod grid;
mod hold;
pub mod kinetics;
pub mod layers;
pub mod layout;
mod level;
mod loads;
mod mark;
mod measure;
mod newton;
pub mod plan;
mod pools;
pub mod positions;
mod problem;
pub mod quantity;
pub mod remedy;
mod results;
#[cfg(test)]
mod sample;
pub mod screen;
pub mod sensitivity;
mod short;
mod significant;
pub mod solution;
mod solve;
pub mod spread;
pub mod stages;
mod start;
mod surface;
mod system;
pub mod tolerance;
mod transfer;
mod tubes;
mod union;
pub mod until;
pub mod verdict;
mod warm;
mod weld;
mod wiring;

pub use check::LayoutFault;
pub use deposit::{BodyDeposit, Deposit, DepositSettings, Efficiency, EfficiencyError, deposit};
pub use faraday::{METALS, Metal, MetalError};
pub use feature::{Feature, FeatureKind, smallest_feature};
pub use field::{Field, FieldPoint};
pub use kinetics::{Direction, Kinetics, Law, LawError, Series, Surface};
pub use layers::{Coat, Fit, Place, Profile, Stack, StackError, stack};
pub use layout::{Body, Drive, Layout, Rating, Role, Span, Supply, Symmetry};
pub use positions::{Placement, Position, averaged, peaks, solve_all};
pub use screen::Openings;
pub use sensitivity::{
    Case, Figures, Leaning, Sensitivity, Variation, sensitivity, sensitivity_on_significant,
};
pub use significant::Significance;
pub use solution::{
    BodyResult, Solution, SolveStats, Spread, Stretch, SupplyResult, SupplyState, Wagner,
};
pub use solve::{Method, Progress, SolveError, SolveSettings, preflight, solve};
pub use spread::Evenness;
pub use tubes::{Tube, current_tubes};
pub use until::{RunError, RunLength, least_on_parts};
pub use verdict::Verdict;
pub use warm::{Warm, solve_from, solve_warm};
pub use wiring::WiringFault;
