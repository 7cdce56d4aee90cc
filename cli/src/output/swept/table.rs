//! The table of a sweep for spreadsheets: one row for each combination, units in the column names.

use solver::plan::{Figure, Found, Measured};

use super::{Axis, Row, Status};
use crate::output::figures::{figure_cells, figure_columns, read_figure};
use crate::output::surface_csv::number;

/// Columns behind the figures.
const LAST: [&str; 3] = ["meets", "status", "reason"];

/// The names of the columns.
pub fn header(axes: &[Axis]) -> Vec<String> {
    let figures = Figure::ALL.into_iter().flat_map(figure_columns);
    let mut out = vec!["point".to_owned()];
    out.extend(axes.iter().map(Axis::heading));
    out.extend(figures);
    out.extend(LAST.map(str::to_owned));
    out
}

/// The cells of combination `number`.
pub fn cells_of(number_of: usize, axes: &[Axis], values: &[f64], found: &Found) -> Vec<String> {
    let outcome = found.outcome();
    let mut out = vec![number_of.to_string()];
    out.extend(axes.iter().zip(values).map(|(axis, value)| {
        axis.words.get(value.max(0.0) as usize).cloned().unwrap_or_else(|| number(*value))
    }));
    for figure in Figure::ALL {
        out.extend(figure_cells(figure, outcome.and_then(|o| figure.of(o))));
    }
    let meets = outcome.and_then(|o| o.meets());
    out.push(meets.map_or("", |yes| if yes { "yes" } else { "no" }).to_owned());
    let (status, reason) = match found {
        Found::Solved(_) => (Status::Solved, String::new()),
        Found::Blocked(blocked) => (Status::Blocked, blocked.reason.clone()),
        Found::Failed(error) => (Status::Failed, error.to_string()),
    };
    out.push(status.word().to_owned());
    // one line for each combination
    out.push(reason.split_whitespace().collect::<Vec<_>>().join(" "));
    out
}

/// A row of the table read back, with its values as they were meant; `None` if it is damaged.
pub fn read_row(cells: &[String], points: &[Vec<f64>]) -> Option<Row> {
    let number: usize = cells.first()?.parse().ok()?;
    let values = points.get(number.checked_sub(1)?)?.clone();
    let start = 1 + values.len();
    let figures = Figure::ALL
        .iter()
        .enumerate()
        .map(|(k, figure)| read_figure(*figure, [0, 1].map(|at| cells.get(start + 2 * k + at))));
    let figures: Vec<Option<Measured>> = figures.collect();
    let [meets, status, reason] = cells.get(start + 2 * figures.len()..)? else { return None };
    let known = [Status::Solved, Status::Blocked, Status::Failed];
    let status = known.into_iter().find(|s| s.word() == status)?;
    let meets = match meets.as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    };
    Some(Row { number, values, figures, meets, status, reason: reason.clone() })
}
