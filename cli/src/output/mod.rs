//! Everything that leaves the program: pictures, tables, the summary and the verdict.
//!
//! Each writer takes a [`Context`] and gives back bytes or text; nothing here touches a file, so
//! that the caller decides about names and overwriting, and tests need no disk.

mod account;
mod account_json;
mod account_text;
mod band;
mod bodies;
pub mod chart;
mod compared;
mod comparison;
mod deposit_picture;
mod drawing;
mod field_csv;
mod field_lattice;
mod figures;
mod findings;
mod findings_json;
mod findings_text;
mod font;
mod format;
mod frame;
mod front;
mod judged;
mod labels;
mod layout_picture;
mod legend;
mod map;
mod masks;
mod page;
mod pdf;
mod places;
mod plane;
mod profile;
mod profile_picture;
mod rack;
mod rectifier;
mod report;
mod round;
mod scale;
mod spots;
mod stack;
mod summary;
mod surface_csv;
pub mod swept;
mod vector;
mod verdict;
mod vtk;
mod web_table;

#[cfg(test)]
mod findings_tests;
#[cfg(test)]
mod gallery;
#[cfg(test)]
mod mock;
#[cfg(test)]
mod snapshots;

use solver::quantity::{CurrentDensity, Length, Time};
use solver::{BodyDeposit, Deposit, Layout, Role, Solution};

pub use compared::{Row, compared_csv, table};
pub use comparison::{Compared, MOST_COMPARED, comparison_drawing};
pub use deposit_picture::{deposit_drawing, deposit_png};
pub use drawing::{Anchor, Drawing, FAINT, PictureError, TextStyle, line, rectangle, text_area};
pub use field_csv::field_csv;
pub use figures::{figure_text, measured_text};
pub use findings::{Findings, PositionResult, Spot, SpotPlaces};
pub use format::{DisplayUnits, duration, plus_minus, three};
pub use frame::Frame;
pub use front::{Front, front_drawing};
pub use layout_picture::{layout_drawing, layout_png};
pub use map::{map_drawing, map_figure_png, map_png};
pub use page::View;
pub use pdf::pdf;
pub use places::{Places, words as place_words};
pub use profile_picture::{profile_drawing, profile_png};
pub use report::{JobText, ReportError, report_html};
pub use stack::{
    LayerRun, PartStack, StackContext, judge_stack, stack_csv, stack_drawing, stack_json,
    stack_png, stack_verdict,
};
pub use summary::{summary_json, summary_schema};
pub use surface_csv::{number, surface_csv};
pub use vector::font_faces;
pub use verdict::{Judgement, judge, verdict};
pub use vtk::{field_vti, surface_vtu};
pub use web_table::Table;

/// What every writer gets to see.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// The job's title.
    pub title: &'a str,
    /// What was solved.
    pub layout: &'a Layout,
    /// The answer.
    pub solution: &'a Solution,
    /// Thickness after the run; `None` when the job states no time.
    pub deposit: Option<RunDeposit<'a>>,
    /// Current densities between which the bath plates well.
    pub window: Window,
    /// The specification.
    pub want: Want,
    /// Units that people read.
    pub units: DisplayUnits,
    /// Bath values used, each with where it comes from.
    pub sources: &'a [SourcedValue],
    /// Relative accuracy of the local current density that was asked for.
    pub accuracy: f64,
    /// Wall-clock time of the solve, s; `None` keeps the summary the same byte for byte.
    pub seconds: Option<f64>,
    /// For each body and stretch, whether it lies on the significant surface, where that is known.
    pub significant: Option<&'a [Vec<bool>]>,
    /// Spots, positions, thick deposits, leaning values.
    pub findings: &'a Findings,
}

/// What a run leaves on the bodies.
#[derive(Debug, Clone, Copy)]
pub struct RunDeposit<'a> {
    /// How long the run is.
    pub time: Time,
    /// The metal after it.
    pub deposit: &'a Deposit,
}

/// Range of current density in which a bath plates well.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Window {
    /// Below it the deposit is dull, thin or missing.
    pub min: Option<CurrentDensity>,
    /// Above it the deposit burns.
    pub max: Option<CurrentDensity>,
}

/// The wanted thickness.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Want {
    /// Least thickness anywhere on the significant surface of a part.
    pub min_thickness: Option<Length>,
    /// Greatest thickness anywhere on the significant surface of a part.
    pub max_thickness: Option<Length>,
}

/// One value that went into the solve, with its source.
#[derive(Debug, Clone, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct SourcedValue {
    /// What it is, e.g. `conductivity`.
    pub name: String,
    /// The value in `unit`, or words for a law or a curve.
    pub value: Value,
    /// Its unit; empty for words.
    pub unit: String,
    /// Ends of its range, where that is known.
    pub range: Option<[String; 2]>,
    /// Where it comes from: a publication, the job file, common practice.
    pub source: String,
    /// How far it can be trusted.
    pub confidence: Confidence,
}

/// A number or words.
#[derive(Debug, Clone, PartialEq, serde::Serialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum Value {
    /// A plain number.
    Number(f64),
    /// Anything that is not one number.
    Text(String),
}

/// How far a value can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// Stated in the job file.
    Given,
    /// Measured and published for such a bath.
    High,
    /// Published for a similar bath.
    Medium,
    /// A guess within the usual range.
    Low,
}

impl<'a> Context<'a> {
    /// The metal that the run leaves on a body; anodes get none.
    fn deposit_on(&self, body: usize) -> Option<&'a BodyDeposit> {
        let result = self.solution.bodies.get(body)?;
        let run = self.deposit.filter(|_| result.role != Role::Anode)?;
        run.deposit.of_body(body)
    }

    /// Names of the values that are guesses.
    fn assumed(&self) -> Vec<&str> {
        let low = |s: &&SourcedValue| s.confidence == Confidence::Low;
        self.sources.iter().filter(low).map(|s| s.name.as_str()).collect()
    }

    /// One line on how far the numbers can be trusted.
    fn uncertainty_note(&self) -> String {
        let stats = &self.solution.stats;
        let mut note = format!(
            "Numerical uncertainty of the local current density on the parts: ±{} for 95 % of the outline, ±{} at worst (corners aside).",
            format::percent(stats.estimated_error),
            format::percent(stats.worst_error),
        );
        let assumed = self.assumed();
        if !assumed.is_empty() {
            let words: Vec<String> = assumed.iter().map(|key| format::bath_words(key)).collect();
            note.push_str(&format!(" Assumed, not measured: {}.", words.join(", ")));
        }
        note
    }
}
