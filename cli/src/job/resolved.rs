//! A job that has been read and checked: everything the solver and the reports need, in SI.

use std::ops::Range;

use solver::quantity::Time;
use solver::{Efficiency, Layout, Metal, Placement, RunLength, SolveSettings};

use super::bath_facts::BathFacts;
use crate::bath::Confidence;
use crate::diagnostic::Diagnostic;
use crate::output::{Want, Window};

/// A checked job.
#[derive(Debug, Clone)]
pub struct Resolved {
    /// What the job is about.
    pub title: String,
    /// Length unit of the drawing.
    pub unit: DrawingUnit,
    /// How the section is seen.
    pub section: Section,
    /// The tank with everything in it.
    pub layout: Layout,
    /// What is deposited; `None` if the job names no metal.
    pub plating: Option<Plating>,
    /// Positions that the part takes in turn; `None` if it rests where it is drawn.
    pub positions: Option<Positions>,
    /// Good current densities of the bath.
    pub window: Window,
    /// What else the bath wants and makes.
    pub bath: BathFacts,
    /// The specification.
    pub want: Want,
    /// How closely to solve.
    pub settings: SolveSettings,
    /// Where things stand in the file.
    pub places: Places,
    /// Every value used, with where it comes from.
    pub provenance: Vec<Provenance>,
    /// What to look out for with this bath.
    pub cautions: Vec<String>,
    /// Things the planner should look at.
    pub warnings: Vec<Diagnostic>,
}

/// Where things stand in the job file, for messages after the solve; bytes.
#[derive(Debug, Clone, PartialEq)]
pub struct Places {
    /// The shape of each body of the layout.
    pub bodies: Vec<Range<usize>>,
    /// Each supply.
    pub supplies: Vec<Range<usize>>,
    /// `[run]`, if there is one.
    pub run: Option<Range<usize>>,
}

/// The drawing's length unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawingUnit {
    /// Its name.
    pub name: &'static str,
    /// Metres in one.
    pub metres: f64,
}

/// The units a drawing may have.
pub const DRAWING_UNITS: &[DrawingUnit] = &[
    DrawingUnit { name: "mm", metres: 1e-3 },
    DrawingUnit { name: "cm", metres: 1e-2 },
    DrawingUnit { name: "m", metres: 1.0 },
    DrawingUnit { name: "um", metres: 1e-6 },
    DrawingUnit { name: "in", metres: 0.0254 },
    DrawingUnit { name: "ft", metres: 0.3048 },
    DrawingUnit { name: "mil", metres: 2.54e-5 },
];

/// How the section is seen; the answer does not depend on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Section {
    /// From above.
    Plan,
    /// From the side; the top edge is the liquid level.
    Elevation,
}

/// What is deposited, and how long.
#[derive(Debug, Clone, PartialEq)]
pub struct Plating {
    /// The metal.
    pub metal: Metal,
    /// Cathode efficiency against current density; zero below the covering threshold.
    pub efficiency: Efficiency,
    /// Plating time where the job states it as such.
    pub time: Option<Time>,
    /// How long the run is; without it there is a rate but no thickness.
    pub length: Option<RunLength>,
}

/// Positions that bodies take in turn.
#[derive(Debug, Clone, PartialEq)]
pub struct Positions {
    /// Where they stand, and for which share of the time.
    pub places: Vec<Placement>,
    /// Indices of the bodies that move.
    pub moving: Vec<usize>,
    /// Where the job states them, bytes.
    pub written: Range<usize>,
}

impl Resolved {
    /// The layout of every position with its share of the time; the drawn one for a part that rests.
    pub fn positions(&self) -> Vec<(Layout, f64)> {
        match &self.positions {
            None => vec![(self.layout.clone(), 1.0)],
            Some(positions) => {
                let places = positions.places.iter();
                places.map(|p| (p.apply(&self.layout, &positions.moving), p.share)).collect()
            }
        }
    }
}

/// One value that entered the solve.
#[derive(Debug, Clone, PartialEq)]
pub struct Provenance {
    /// Its dotted name, such as `bath.conductivity`.
    pub key: String,
    /// As written.
    pub value: String,
    /// Where it comes from.
    pub origin: Origin,
}

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Origin {
    /// The job file.
    Job {
        /// Line, from 1.
        line: usize,
    },
    /// The bath library.
    Library {
        /// Name of the entry.
        bath: String,
        /// The publication, or "from memory of ...".
        source: String,
        /// How far to trust it.
        confidence: Confidence,
        /// The user's own file, if it stands there.
        file: Option<String>,
        /// Ends of its range, as written.
        range: Option<(String, String)>,
    },
    /// Neither states it.
    Default {
        /// Why this value.
        reason: &'static str,
    },
}

impl Origin {
    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::Job { line } => format!("job file, line {line}"),
            Self::Library { bath, source, confidence, file, range } => {
                let from = file.as_ref().map_or("library".into(), |file| format!("{file},"));
                let range = range.as_ref().map_or(String::new(), |(l, h)| format!(", {l} to {h}"));
                format!("{from} `{bath}`, {}: {source}{range}", confidence.word())
            }
            Self::Default { reason } => format!("default: {reason}"),
        }
    }
}
