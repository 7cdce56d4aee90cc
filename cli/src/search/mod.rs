//! A search over a job file: aims and limits as typed, and what was found in words, tables and
//! job files.

pub mod aims;
mod tables;
mod words;

pub use tables::search_csv;
pub use words::{Said, axes, run_minutes, runs_until_wanted};

use solver::plan::{Scale, Values, Variable};
use toml_edit::{DocumentMut, Item, Table};

use crate::document::set;
use crate::vary::{Varying, grid, tidy};

/// A variable as it is searched: a range with a number of values is the list of them, one without
/// has steps that can be measured at the tank, a hundredth of the range at most.
pub fn searched(varying: &Varying) -> Variable {
    let name = varying.variable.name.clone();
    let values = match &varying.variable.values {
        Values::Between { low, high, scale: Scale::Linear, step: None }
            if varying.count.is_none() =>
        {
            let step = tidy(10f64.powi(((high - low) / 100.0).log10().floor() as i32));
            let step = (step > 0.0 && step.is_finite()).then_some(step);
            Values::Between { low: *low, high: *high, scale: Scale::Linear, step }
        }
        Values::Between { step: None, .. } => {
            grid(varying).map_or_else(|| varying.variable.values.clone(), Values::Listed)
        }
        other => other.clone(),
    };
    Variable { name, values }
}

/// A job file with another length of the run.
pub fn with_run(text: &str, minutes: f64) -> String {
    let Ok(mut doc) = text.parse::<DocumentMut>() else { return text.to_owned() };
    let time = format!("{} min", tidy(minutes));
    if doc.get("run").and_then(Item::as_table_like).is_none() {
        doc.insert("run", Item::Table(Table::new()));
    }
    if let Some(run) = doc.get_mut("run").and_then(Item::as_table_like_mut) {
        run.remove("until");
        run.remove("ampere_hours");
        set(run, "time", time.into());
    }
    doc.to_string()
}

/// A job file with another title.
pub fn with_title(text: &str, title: &str) -> String {
    let Ok(mut doc) = text.parse::<DocumentMut>() else { return text.to_owned() };
    set(doc.as_table_mut(), "title", title.into());
    doc.to_string()
}
