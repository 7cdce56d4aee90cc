//! A user's own bath file: `baths.toml` beside the job, or another that the job names.
//!
//! Each table of it is one bath, in the grammar of the library's files. A bath that has the name of
//! a library bath, or says `based_on`, takes from it what it does not state itself.

use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use toml::de::DeTable;

use super::check;
use super::entry::Entry;
use super::library::{built_in, built_in_names};
use crate::diagnostic::{self, Diagnostic, Source};
use crate::job::cell::{Cell, Reading};
use crate::job::load;
use crate::units::nearest;

/// Baths that one may be based on, one on the other: nobody reads through more.
const MOST_ANCESTORS: usize = 20;

/// Baths in one file: more is not a shop's list.
const MOST_BATHS: usize = 200;

/// The name that is looked for beside a job.
const USUAL: &str = "baths.toml";

/// A user's own baths, complete with what they inherit.
#[derive(Debug, Clone)]
pub struct OwnFile {
    /// The file.
    pub source: Arc<Source>,
    baths: Vec<(String, Entry)>,
}

impl OwnFile {
    /// The names of its baths, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.baths.iter().map(|(name, _)| name.as_str())
    }

    /// The bath of this name.
    pub fn find(&self, name: &str) -> Option<&Entry> {
        self.baths.iter().find(|(known, _)| known == name).map(|(_, entry)| entry)
    }

    /// Reads the text of a bath file.
    ///
    /// # Errors
    /// Everything that is wrong with it, with places in this file.
    pub fn read(source: Source) -> Result<Self, Vec<Diagnostic>> {
        let source = Arc::new(source);
        let in_file = |faults: Vec<Diagnostic>| -> Vec<Diagnostic> {
            faults.into_iter().map(|fault| fault.in_file(&source)).collect()
        };
        let text = source.text.as_str();
        let table = DeTable::parse(text).map_err(|error| {
            let message = error.message().replace('\n', " ");
            let fault = Diagnostic::error("E002", format!("this is not TOML: {message}"));
            let fault = match error.span() {
                Some(span) => fault.at(span, "cannot be read"),
                None => fault,
            };
            in_file(vec![fault])
        })?;
        let mut reading = Reading { text, faults: Vec::new() };
        let mut stated: Vec<(String, Entry, Range<usize>)> = Vec::new();
        for (name, value) in table.get_ref() {
            if let Some(entry) = Entry::read(value, &mut reading) {
                stated.push((name.get_ref().to_string(), entry, name.span()));
            }
        }
        stated.sort_by_key(|(.., span)| span.start);
        let mut faults = reading.faults;
        if let Some((.., span)) = stated.get(MOST_BATHS) {
            let message = format!("a bath file holds at most {MOST_BATHS} baths");
            faults.push(Diagnostic::error("E011", message).at(span.clone(), "one too many"));
            return Err(in_file(faults));
        }
        let mut baths = Vec::new();
        for (name, _, span) in &stated {
            match inherit(name, &stated, &mut Vec::new()) {
                Ok(entry) => {
                    for fault in check::faults(&entry) {
                        if !faults.contains(&fault) {
                            faults.push(fault);
                        }
                    }
                    baths.push((name.clone(), entry));
                }
                Err(fault) => {
                    let place = fault.place.is_none().then(|| span.clone());
                    let fault = match place {
                        Some(span) => fault.at(span, "this bath"),
                        None => *fault,
                    };
                    if !faults.contains(&fault) {
                        faults.push(fault);
                    }
                }
            }
        }
        diagnostic::sort(&mut faults);
        if faults.is_empty() { Ok(Self { source, baths }) } else { Err(in_file(faults)) }
    }
}

/// A bath with everything that it inherits; `children` are those that ask for it.
fn inherit(
    name: &str,
    stated: &[(String, Entry, Range<usize>)],
    children: &mut Vec<String>,
) -> Result<Entry, Box<Diagnostic>> {
    let own =
        stated.iter().find(|(known, ..)| known == name && !children.iter().any(|c| c == name));
    let Some((_, entry, _)) = own else {
        // a bath that is based on its own name means the library's
        return built_in(name).ok_or_else(|| {
            let known: Vec<&str> =
                stated.iter().map(|(n, ..)| n.as_str()).chain(built_in_names()).collect();
            let circle = children.iter().any(|c| c == name);
            let message = if circle {
                format!("bath `{name}` is based on itself")
            } else {
                format!("no bath `{name}` to be based on")
            };
            let near = nearest(name, known.iter().copied()).filter(|_| !circle);
            let list = format!("baths: {}", known.join(", "));
            let fault = Diagnostic::error("E012", message);
            let help = near.map_or(list.clone(), |near| format!("did you mean `{near}`? {list}"));
            let child = children.last().and_then(|c| stated.iter().find(|(n, ..)| n == c));
            let place = child.and_then(|(_, entry, _)| entry.based_on.span());
            let fault = match place {
                Some(span) => fault.at(span, "expected the name of a bath"),
                None => fault,
            };
            Box::new(fault.help(help))
        });
    };
    children.push(name.to_owned());
    if children.len() > MOST_ANCESTORS {
        let message = format!("bath `{name}` is based on others more than {MOST_ANCESTORS} deep");
        let fault = Diagnostic::error("E012", message).help("base it on the first of them");
        return Err(Box::new(fault));
    }
    let parent = match entry.based_on.get() {
        Some(parent) => Some(inherit(&parent.value, stated, children)?),
        None => built_in(name),
    };
    Ok(match parent {
        Some(parent) => entry.clone().based(&parent),
        None => entry.clone(),
    })
}

/// The path of a file as the job file `job` names it: from the job's own folder.
pub fn path_beside(job: &str, file: &str) -> PathBuf {
    let folder = if job == "-" { None } else { Path::new(job).parent() };
    folder.map_or_else(|| PathBuf::from(file), |folder| folder.join(file))
}

/// The user's own bath file for the job `job`: the one it names, else `baths.toml` beside it, if
/// there is one.
///
/// # Errors
/// Everything that is wrong with the file; also if a named file cannot be read.
pub fn beside(job: &str, named: Option<&str>) -> Result<Option<OwnFile>, Vec<Diagnostic>> {
    let path = path_beside(job, named.unwrap_or(USUAL));
    if !path.is_file() {
        return match named {
            None => Ok(None),
            Some(file) => {
                let fault = Diagnostic::error("E001", format!("there is no bath file `{file}`"));
                Err(vec![fault.help(format!("looked for {}", path.display()))])
            }
        };
    }
    match load(&path.to_string_lossy()) {
        Ok(source) => OwnFile::read(source).map(Some),
        Err(fault) => Err(vec![*fault]),
    }
}
