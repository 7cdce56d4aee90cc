//! `search.csv`: every combination that was tried.

use solver::plan::Found;
use solver::plan::search::{Merit, Searched};

use crate::output::number;
use crate::output::swept::{Axis, cells_of, header};
use crate::sweep::axis;
use crate::vary::{Varied, tidy};

/// One row for each combination, in the order in which they were tried: the columns of a sweep, then
/// what the search made of it.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn search_csv(varied: &Varied, found: &Searched) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    let axes: Vec<Axis> = varied.varying.iter().map(|v| axis(v, None)).collect();
    let mut head = header(&axes);
    head.extend(["limits", "aim", "best", "solved_closely"].map(str::to_owned));
    out.write_record(&head)?;
    for (k, trial) in found.trials.iter().enumerate() {
        let values: Vec<f64> = trial.values.iter().map(|v| tidy(*v)).collect();
        let mut row = cells_of(k + 1, &axes, &values, &trial.found);
        let (limits, aim) = match (&trial.found, found.merit(k)) {
            (Found::Solved(_), Merit::Good(aim)) => ("kept", number(aim)),
            (Found::Solved(_), _) => ("missed", String::new()),
            _ => ("", String::new()),
        };
        let best = found.best.iter().position(|b| *b == k).map(|b| (b + 1).to_string());
        let close = if trial.close { "yes" } else { "no" };
        row.extend([limits.to_owned(), aim, best.unwrap_or_default(), close.to_owned()]);
        out.write_record(&row)?;
    }
    out.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}
