//! Many layouts instead of one: what the planner compares, sweeps and searches.
//!
//! A [`Task`] is a layout with what is deposited and what is wanted of it; its [`Outcome`] is all
//! that a planner reads off it, and a [`Figure`] is one number of that with its uncertainty. A
//! [`Model`] makes tasks of the values of some [`Variable`]s: any function will do. [`sweep`](sweep()) solves
//! many combinations of values, [`search`](search()) finds the best and keeps to limits,
//! [`differences`] says what really differs between two outcomes.
//!
//! # Examples
//! A bent plate before one anode. How long until its thinnest place has 5 µm, as the anode moves
//! away? And where, and how high, had it better hang?
//! ```
//! use shapes::{Outline, Point, ShapeError};
//! use solver::plan::search::{Aim, Axis, Better, Limit, Search, Watch};
//! use solver::plan::{Blocked, Demands, Figure, Scale, Task, Values, Variable, search, sweep};
//! use solver::quantity::{
//!     AreaResistance, Conductivity, CurrentDensity, Length, Potential, Temperature, Time,
//! };
//! use solver::{
//!     Body, Case, Drive, Efficiency, Kinetics, Law, Layout, Metal, Role, RunLength, SolveSettings,
//!     Supply, Symmetry,
//! };
//!
//! let law = Law {
//!     kinetics: Kinetics::Linear { resistance: AreaResistance::new(1e-3) },
//!     limiting: None,
//!     rest: Potential::new(0.0),
//! };
//! // the layout of an anode at (x, y), metres
//! let layout = |x: f64, y: f64| {
//!     let corners = [(40., 40.), (46., 40.), (46., 94.), (90., 94.), (90., 100.), (40., 100.)];
//!     let corners = corners.map(|(x, y)| Point::new(1e-3 * x, 1e-3 * y));
//!     let part = Outline::polygon(&corners, 0.0)?;
//!     let anode = Outline::rect(Point::new(x, y), (0.01, 0.04), 0.0)?;
//!     Ok::<_, ShapeError>(Layout {
//!         tank: Outline::rect(Point::new(0.125, 0.07), (0.25, 0.14), 0.0)?,
//!         symmetry: Symmetry::Planar,
//!         depth: Length::mm(200.0),
//!         conductivity: Conductivity::new(8.0),
//!         temperature: Temperature::celsius(50.0),
//!         bodies: vec![
//!             Body::new("angle", Role::Part, part, law.clone()),
//!             Body::new("anode", Role::Anode, anode, law.clone()),
//!         ],
//!         supplies: vec![Supply::all(Drive::MeanDensity(CurrentDensity::a_dm2(2.0)))],
//!     })
//! };
//! let nickel = Metal::named("Ni").expect("a known metal").clone();
//! let efficiency = Efficiency::constant(0.95)?;
//! // any function from values to a task is a model
//! let model = |values: &[f64]| -> Result<Task, Blocked> {
//!     let layout = layout(values[0], values[1])
//!         .map_err(|error| Blocked { reason: error.to_string() })?;
//!     let run = RunLength::Time(Time::minutes(20.0));
//!     Ok(Task {
//!         case: Case {
//!             positions: vec![(layout, 1.0)],
//!             plating: Some((nickel.clone(), efficiency.clone(), Some(run))),
//!             want: Some(Length::um(5.0)),
//!         },
//!         demands: Demands {
//!             burns_above: Some(CurrentDensity::a_dm2(8.0)),
//!             ..Demands::default()
//!         },
//!         settings: SolveSettings { accuracy: 0.05, ..SolveSettings::default() },
//!     })
//! };
//!
//! // a sweep: the nearer the anode hangs before the corner, the longer the far ends take
//! let places: Vec<Vec<f64>> = [0.12, 0.16, 0.20, 0.24].map(|x| vec![x, 0.06]).into();
//! let swept = sweep(&model, &places, None, &|| false, &|_, _| ());
//! let minutes: Vec<f64> = swept
//!     .iter()
//!     .filter_map(|found| Figure::TimeToWanted.of(found.as_ref()?.outcome()?))
//!     .map(|time| time.value / 60.0)
//!     .collect();
//! assert_eq!(minutes.len(), 4);
//!
//! // a search over both coordinates, five millimetres clear of everything, without burning
//! let between = |name: &str, low, high| Variable {
//!     name: name.into(),
//!     values: Values::Between { low, high, scale: Scale::Linear, step: Some(0.001) },
//! };
//! let axis = |figure| Axis { figure, better: Better::Less };
//! let found = search(
//!     &model,
//!     &Search {
//!         variables: vec![between("x", 0.06, 0.24), between("y", 0.03, 0.11)],
//!         own: Some(places[0].clone()),
//!         aim: Aim::least(Figure::TimeToWanted),
//!         limits: Limit::usual(&model(&places[0])?),
//!         clearance: Length::mm(5.0),
//!         front: [axis(Figure::TimeToWanted), axis(Figure::Wasted)],
//!         budget: 40,
//!         seed: 1,
//!         best: 2,
//!     },
//!     &Watch::NOBODY,
//! )?;
//! let best = &found.trials[found.best[0]];
//! let time = Figure::TimeToWanted.of(best.found.outcome().expect("solved")).expect("a time");
//! // better than every distance that was swept
//! assert!(minutes.iter().all(|m| time.value / 60.0 < *m));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
pub mod answer;
pub mod cmaes;
pub mod compare;
pub mod figure;
pub mod model;
pub mod outcome;
pub(crate) mod room;
pub mod sample;
pub mod search;
pub(crate) mod simplex;
pub mod sweep;
pub mod variable;

pub use answer::Answer;
pub use compare::{Difference, differences};
pub use figure::{Dimension, Figure, Measured};
pub use model::{Blocked, Demands, Model, Task};
pub use outcome::{BURNING_SHARE, Feed, Growth, Outcome};
#[doc(inline)]
pub use search::search;
pub use sweep::{Found, sweep, try_values};
pub use variable::{Scale, Values, Variable};
