//! The table of proof: every number of the literature that the solver is held against, in one list.
//!
//! Each row names problem, source, quantity, expected and computed value, error and how much of it
//! is allowed. `tests/tests/proof.rs` asserts all rows; the binary `proof` renders them as
//! Markdown, which is kept in `tests/PROOF.md` and compared with what is measured by the same test.
//!
//! Each submodule is one family of cells and gives [`Section`]s. "Computed" as a source means an
//! independent calculation of this project (boundary elements, a series, a conformal map), not
//! printed anywhere.
pub mod cell;
pub mod corners;
pub mod cylinders;
pub mod disks;
pub mod edges;
pub mod hull;
pub mod local;
pub mod page;
pub mod reliefs;
pub mod round;
pub mod slots;
pub mod strips;
pub mod two_distances;

use solver::{Layout, Solution, SolveSettings, solve};

/// How an error is measured against its tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// |computed − expected| / |expected|.
    Relative,
    /// |computed − expected|.
    Absolute,
    /// |computed − expected| / this value.
    Against(f64),
}

/// One check.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What is solved.
    pub problem: String,
    /// Which number of its answer.
    pub quantity: String,
    /// What it should be.
    pub expected: f64,
    /// What the solver gives.
    pub computed: f64,
    /// Error allowed.
    pub tolerance: f64,
    /// How the error is measured.
    pub measure: Measure,
}

/// Checks that share a source.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// What it is about.
    pub title: &'static str,
    /// Where the expected values come from.
    pub source: &'static str,
    /// What a reader must know to judge the rows; may be empty.
    pub note: &'static str,
    /// The checks.
    pub rows: Vec<Row>,
}

impl Row {
    /// A row whose error is relative.
    pub fn relative(
        problem: impl Into<String>,
        quantity: impl Into<String>,
        expected: f64,
        computed: f64,
        tolerance: f64,
    ) -> Self {
        let measure = Measure::Relative;
        let (problem, quantity) = (problem.into(), quantity.into());
        Self { problem, quantity, expected, computed, tolerance, measure }
    }

    /// A row whose error is absolute.
    pub fn absolute(
        problem: impl Into<String>,
        quantity: impl Into<String>,
        expected: f64,
        computed: f64,
        tolerance: f64,
    ) -> Self {
        let row = Self::relative(problem, quantity, expected, computed, tolerance);
        Self { measure: Measure::Absolute, ..row }
    }

    /// The error; infinite if it is not a number.
    pub fn error(&self) -> f64 {
        let off = (self.computed - self.expected).abs();
        let error = match self.measure {
            Measure::Relative => off / self.expected.abs(),
            Measure::Absolute => off,
            Measure::Against(scale) => off / scale,
        };
        if error.is_nan() { f64::INFINITY } else { error }
    }

    /// True if the error is within what is allowed.
    pub fn holds(&self) -> bool {
        self.error() <= self.tolerance
    }

    /// Change of the computed value that the tolerance allows.
    pub fn slack(&self) -> f64 {
        match self.measure {
            Measure::Relative => self.tolerance * self.expected.abs(),
            Measure::Absolute => self.tolerance,
            Measure::Against(scale) => self.tolerance * scale,
        }
    }
}

/// Accuracy that is asked of the solver in every row unless the row says otherwise.
pub const ASKED: f64 = 0.003;

/// Solves at [`ASKED`].
///
/// # Panics
/// If the layout cannot be solved: every layout here must.
pub fn answer(layout: &Layout) -> Solution {
    answer_at(layout, ASKED)
}

/// Solves at the given accuracy.
///
/// # Panics
/// If the layout cannot be solved.
pub fn answer_at(layout: &Layout, accuracy: f64) -> Solution {
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    solve(layout, &settings, &mut |_| {}).unwrap_or_else(|e| panic!("a layout of the proof: {e}"))
}

/// Every section, in the order of the page.
pub fn sections() -> Vec<Section> {
    let mut out = vec![local::closed_forms()];
    out.extend(strips::sections());
    out.extend(cylinders::sections());
    out.extend(corners::sections());
    out.extend(reliefs::sections());
    out.extend(slots::sections());
    out.extend(round::sections());
    out.extend(disks::sections());
    out.push(local::around_an_axis());
    out.extend(two_distances::sections());
    out.extend(hull::sections());
    out.extend(edges::sections());
    out.push(local::body_fitted());
    out.push(local::library());
    out
}
