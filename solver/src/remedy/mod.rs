//! What to do about an uneven deposit: looks at a solved layout as an experienced plater would,
//! tries what the trade would try, and ranks it by what it brings.
//!
//! [`remedies`] solves the layout, says where it is thin or thick and why ([`diagnosis`]), makes
//! proposals with free dimensions (an anode in the hollow, a second one on the dark side, shields or
//! thieves at hot edges, ...), finds good dimensions for each on loose solves, and solves the best
//! to the accuracy asked for. All are judged by the same rule, see [`judge`].
//!
//! ```
//! use shapes::{Outline, Point};
//! use solver::quantity::{
//!     AreaResistance, Conductivity, CurrentDensity, Length, Potential, Temperature, Time,
//! };
//! use solver::remedy::{Kind, Rank, Subject, remedies};
//! use solver::{
//!     Body, Case, Drive, Efficiency, Kinetics, Law, Layout, Metal, Role, RunLength, SolveSettings,
//!     Supply, Symmetry,
//! };
//!
//! // a plate with an anode on one side only: its back stays thin
//! let law = Law {
//!     kinetics: Kinetics::Linear { resistance: AreaResistance::new(1e-3) },
//!     limiting: None,
//!     rest: Potential::new(0.0),
//! };
//! let bar = |name: &str, role, x, w, h| {
//!     let outline = Outline::rect(Point::new(x, 0.1), (w, h), 0.0)?;
//!     Ok::<_, shapes::ShapeError>(Body::new(name, role, outline, law.clone()))
//! };
//! let layout = Layout {
//!     tank: Outline::rect(Point::new(0.15, 0.1), (0.3, 0.2), 0.0)?,
//!     symmetry: Symmetry::Planar,
//!     depth: Length::mm(200.0),
//!     conductivity: Conductivity::new(8.0),
//!     temperature: Temperature::celsius(50.0),
//!     bodies: vec![
//!         bar("plate", Role::Part, 0.15, 0.006, 0.08)?,
//!         bar("left", Role::Anode, 0.03, 0.02, 0.16)?,
//!     ],
//!     supplies: vec![Supply::all(Drive::MeanDensity(CurrentDensity::a_dm2(3.0)))],
//! };
//! let nickel = Metal::named("Ni").expect("a known metal").clone();
//! let run = RunLength::Time(Time::minutes(25.0));
//! let subject = Subject {
//!     case: Case {
//!         positions: vec![(layout, 1.0)],
//!         plating: Some((nickel, Efficiency::constant(0.95)?, Some(run))),
//!         want: Some(Length::um(9.0)),
//!     },
//!     most: None,
//!     burns_above: None,
//!     anode_max: None,
//!     groups: Vec::new(),
//!     step_m: 1e-3,
//!     baths: Vec::new(),
//!     settings: SolveSettings { accuracy: 0.02, ..SolveSettings::default() },
//! };
//! let found = remedies(&subject, &|_| ())?;
//! let best = &found.rows[0];
//! assert_eq!(best.rank, Rank::Enough);
//! assert!(best.kinds.contains(&Kind::SecondAnode));
//! assert!(best.standing.seconds < found.base.seconds);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Limits: dimensions are found with some dozens of solves, so the best is near the optimum and not
//! proven to be it. Bodies are simple: rods, bars, sheets. Baths are taken as they stand. What a
//! proposal costs in money or labour is not known here; parts to be made are counted.

pub mod diagnosis;
pub mod edit;
pub mod judge;
pub mod pocket;
pub mod proposal;
mod proposals;
mod rank;
mod search;
mod sight;
#[cfg(test)]
mod tests;
mod trial;

pub use crate::plan::BURNING_SHARE;
pub use diagnosis::{Diagnosis, Reason, Spot};
pub use edit::{Edit, Form, apply};
pub use judge::{Goal, Standing};
pub use pocket::Pocket;
pub use proposal::{Dim, Kind, Measure};
pub use rank::{OVERLOAD, Outcome, Rank, Remedies, Remedy, RemedyError, Risk, Step, remedies};

use crate::quantity::{CurrentDensity, Length, Time};
use crate::sensitivity::Case;
use crate::solve::SolveSettings;
use crate::until::RunLength;

/// A job whose deposit is to be helped.
#[derive(Debug, Clone)]
pub struct Subject {
    /// What is in the tank, what is deposited and what is wanted.
    pub case: Case,
    /// Greatest thickness allowed on the significant surface.
    pub most: Option<Length>,
    /// Above this the deposit burns.
    pub burns_above: Option<CurrentDensity>,
    /// Greatest good mean current density on an anode.
    pub anode_max: Option<CurrentDensity>,
    /// Bodies that are drawn together and can only be moved together; those not listed stand alone.
    pub groups: Vec<Vec<usize>>,
    /// Dimensions are whole multiples of this, m: what can be measured at the tank.
    pub step_m: f64,
    /// Other baths that are at hand: name, the job with that bath, and above what it burns.
    pub baths: Vec<(String, Case, Option<CurrentDensity>)>,
    /// How closely the ranked layouts are solved.
    pub settings: SolveSettings,
}

/// `case` with `edits` made in every position; `None` where they make no sense.
pub fn edited(case: &Case, edits: &[Edit]) -> Option<Case> {
    let positions = case.positions.iter().map(|(l, share)| Some((apply(l, edits)?, *share)));
    let mut out = case.clone();
    out.positions = positions.collect::<Option<_>>()?;
    for edit in edits {
        if let (Edit::Run { seconds }, Some(plating)) = (edit, &mut out.plating) {
            plating.2 = Some(RunLength::Time(Time::new(*seconds)));
        }
    }
    Some(out)
}
