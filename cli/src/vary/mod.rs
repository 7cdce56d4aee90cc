//! Numbers of a job file varied by name: `--vary anode.left.move.x=40..160mm/13`.
//!
//! A dotted name is the way through the file: table, then the name of a body or its number from 1 (a
//! sole one may be left out), key, and for pairs and lists `.x`, `.y` or a number from 1. [`Varied`]
//! is the job with its variables: it makes the job file of any values, comments and order kept, and
//! is the [`Model`] that is swept or searched.

mod folder;
mod name;
mod place;
#[cfg(test)]
mod tests;
mod values;
mod variable;

use std::path::Path;

use solver::plan::{Blocked, Model, Task, Variable};
use toml_edit::DocumentMut;

pub use folder::rebase;
pub use variable::{Varying, grid, tidy};

use crate::bath::{self, Library};
use crate::diagnostic::{Diagnostic, Source};
use crate::document::set;
use crate::job::{Resolved, resolve};
use crate::units::nearest;

/// A job with what is varied in it.
#[derive(Debug, Clone)]
pub struct Varied {
    /// The job file as it stands.
    pub source: Source,
    /// What is varied, in the order typed.
    pub varying: Vec<Varying>,
    title: String,
    doc: DocumentMut,
}

impl Varied {
    /// The job `job`, read from `source`, with the variables of `texts`, each `NAME=VALUES`.
    ///
    /// # Errors
    /// Everything that is wrong with the texts; each message points into its own.
    pub fn new(source: &Source, job: &Resolved, texts: &[String]) -> Result<Self, Vec<Diagnostic>> {
        let doc = source.text.parse::<DocumentMut>().map_err(|error| {
            // what has been resolved is TOML
            vec![Diagnostic::error("E002", format!("this is not TOML: {}", error.message()))]
        })?;
        let mut faults = Vec::new();
        let mut varying: Vec<Varying> = Vec::new();
        for text in texts {
            match Varying::read(text, &doc, job.unit) {
                Ok(new) => {
                    let name = &new.variable.name;
                    if let Some(same) = varying.iter().find(|v| v.same_place(&new)) {
                        let message =
                            format!("`{name}` is varied twice, also as `{}`", same.variable.name);
                        faults
                            .push(Diagnostic::error("E027", message).help("take one of them out"));
                    }
                    faults.extend(unknown_bath(&new, source, &doc));
                    varying.push(new);
                }
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() {
            let (source, title) = (source.clone(), job.title.clone());
            Ok(Self { source, varying, title, doc })
        } else {
            Err(faults)
        }
    }

    /// The title of the job as it stands.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The variables, for the solver.
    pub fn variables(&self) -> Vec<Variable> {
        self.varying.iter().map(|v| v.variable.clone()).collect()
    }

    /// The job as it stands with these values set; it is still called and titled as before.
    pub fn at(&self, values: &[f64]) -> Source {
        Source { name: self.source.name.clone(), text: self.document(values).to_string() }
    }

    /// The job of these values.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn job(&self, values: &[f64]) -> Result<Resolved, Vec<Diagnostic>> {
        resolve(&self.at(values))
    }

    /// The complete job file of these values for the folder `to`: its title says the values, and the
    /// files that it names are named from there.
    pub fn job_text(&self, values: &[f64], to: &Path) -> String {
        let mut doc = self.document(values);
        let title = format!("{}: {}", self.title, self.words(values));
        set(doc.as_table_mut(), "title", title.into());
        rebase(&mut doc, &self.source.name, to);
        doc.to_string()
    }

    /// The values in words: `anode.left.move.x = 60 mm, supply.current = 40 A`.
    pub fn words(&self, values: &[f64]) -> String {
        let each = self.varying.iter().zip(values);
        let each = each.map(|(v, x)| format!("{} = {}", v.variable.name, v.text(*x)));
        each.collect::<Vec<_>>().join(", ")
    }

    fn document(&self, values: &[f64]) -> DocumentMut {
        let mut doc = self.doc.clone();
        // another bath brings its own values; what else is varied of the bath comes after
        let mut all: Vec<_> = self.varying.iter().zip(values).collect();
        all.sort_by_key(|(v, _)| !v.is_bath());
        for (varying, value) in all {
            varying.set(&mut doc, *value);
        }
        doc
    }
}

impl Model for Varied {
    fn task(&self, values: &[f64]) -> Result<Task, Blocked> {
        let job = self.job(values).map_err(|faults| Blocked { reason: reason(&faults) })?;
        Ok(job.task())
    }
}

/// The first fault without its measures, so that the same obstacle reads the same wherever it
/// stands in the way.
fn reason(faults: &[Diagnostic]) -> String {
    let Some(fault) = faults.first() else { return "the job cannot be used".into() };
    let mut quote = None;
    let mut end = fault.message.len();
    for (at, c) in fault.message.char_indices() {
        match (quote, c) {
            (None, '`' | '"') => quote = Some(c),
            (Some(open), c) if c == open => quote = None,
            (None, '0'..='9') => {
                end = at;
                break;
            }
            _ => {}
        }
    }
    let mut text = fault.message[..end].trim_end();
    loop {
        let cut = text.trim_end_matches([' ', ',', ';', ':', '(', '[', '-', '−', '=']);
        let last = cut.rsplit(' ').next().unwrap_or_default();
        let dangling = ["by", "at", "not", "to", "from", "of", "is", "x", "than", "for", "example"];
        text = match dangling.contains(&last) {
            true => cut[..cut.len() - last.len()].trim_end(),
            false if cut.len() < text.len() => cut,
            false => return text.to_owned(),
        };
    }
}

fn unknown_bath(varying: &Varying, source: &Source, doc: &DocumentMut) -> Option<Diagnostic> {
    let baths = varying.baths()?;
    let file = doc.get("bath").and_then(|b| b.get("file")).and_then(toml_edit::Item::as_str);
    // a bath file with faults has been refused before
    let library = Library::new(bath::beside(&source.name, file).ok()?);
    let names = library.names();
    let wrong = baths.iter().find(|bath| library.find(bath).is_none())?;
    let fault = Diagnostic::error("E012", format!("no bath `{wrong}` in the library"));
    let near = nearest(wrong, names.iter().map(String::as_str));
    let fault = match near {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault,
    };
    Some(fault.help(format!("baths: {}", names.join(", "))))
}
