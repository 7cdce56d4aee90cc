//! The job file: read, checked, and turned into a [`Resolved`] job in SI units.
//!
//! Two stages, each of which collects all its faults before it gives up: *reading* (TOML, keys,
//! units: `cell`, `table`, `tables`, `forms`) and *resolving* (ranges, laws, shapes, names, the
//! bath library: the other modules).

mod bath;
mod bath_facts;
mod body;
pub(crate) mod cell;
mod coating;
mod context;
mod drawing_file;
mod follow;
mod form;
pub(crate) mod forms;
mod law;
mod layout_faults;
mod marks;
pub(crate) mod metal_form;
mod resolve;
mod resolved;
mod run_table;
mod screen;
mod sequence;
mod shape;
mod source;
mod supply;
mod syntax;
pub(crate) mod table;
mod tables;
mod tank;
mod task;
mod yield_values;

pub use bath_facts::{AnodeKind, BathFacts};
pub(crate) use cell::Cell;
pub use coating::{Demand, Limit};
pub(crate) use form::{Form, TableForm};
pub use resolve::{resolve, resolve_at};
pub use resolved::{
    DrawingUnit, Origin, Places, Plating, Positions, Provenance, Resolved, Section,
};
pub use sequence::{Faults, LayerJob, Sequence, is_sequence, resolve_sequence};
pub use source::load;
pub use tables::JobTable;

#[cfg(test)]
mod tests;

#[cfg(test)]
mod drawing_tests;
#[cfg(test)]
mod follow_tests;
