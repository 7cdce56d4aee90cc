//! `search.csv`: every combination that was tried.

use solver::plan::search::{Merit, Searched};
use solver::plan::{Figure, Found};

use crate::output::{figure_column, number};
use crate::vary::Varied;

/// One row for each combination, in the order in which they were tried.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn search_csv(varied: &Varied, found: &Searched) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    let named = |varying: &crate::vary::Varying| match varying.shown_unit() {
        "" => varying.variable.name.clone(),
        unit => format!("{} ({unit})", varying.variable.name),
    };
    let mut head = vec!["number".to_owned()];
    head.extend(varied.varying.iter().map(named));
    head.extend(["result", "best", "close", "aim"].map(str::to_owned));
    for figure in Figure::ALL {
        let (name, unit, _) = figure_column(figure);
        head.push(format!("{name}{unit}"));
        head.push(format!("{name}_uncertainty{unit}"));
    }
    head.push("reason".to_owned());
    out.write_record(&head)?;
    for (k, trial) in found.trials.iter().enumerate() {
        let mut row = vec![(k + 1).to_string()];
        row.extend(varied.varying.iter().zip(&trial.values).map(|(varying, value)| {
            varying.word(*value).map_or_else(|| number(crate::vary::tidy(*value)), str::to_owned)
        }));
        let (result, aim) = match (&trial.found, found.merit(k)) {
            (Found::Blocked(_), _) => ("no layout", String::new()),
            (Found::Failed(_), _) => ("no answer", String::new()),
            (_, Merit::Good(aim)) => ("keeps to the limits", number(aim)),
            _ => ("beyond limits", String::new()),
        };
        let best = found.best.iter().position(|b| *b == k).map(|b| (b + 1).to_string());
        let close = if trial.close { "yes" } else { "no" };
        row.extend([result.to_owned(), best.unwrap_or_default(), close.to_owned(), aim]);
        for figure in Figure::ALL {
            let (_, _, factor) = figure_column(figure);
            let measured = trial.found.outcome().and_then(|o| figure.of(o));
            row.push(measured.map(|m| number(m.value * factor)).unwrap_or_default());
            row.push(measured.map(|m| number(m.doubt * factor)).unwrap_or_default());
        }
        row.push(match &trial.found {
            Found::Blocked(blocked) => blocked.reason.clone(),
            Found::Failed(error) => error.to_string(),
            Found::Solved(_) => String::new(),
        });
        out.write_record(&row)?;
    }
    out.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}
