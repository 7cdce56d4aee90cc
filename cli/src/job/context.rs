//! What the resolving stage carries along: the faults so far, and where every value came from.

use std::ops::Range;

use super::cell::{At, Slot};
use super::resolved::{Origin, Provenance};
use crate::bath::{End, Found, Sourced};
use crate::diagnostic::{Diagnostic, Source};
use crate::units::Quantity;

/// Faults, warnings and provenance of one job.
#[derive(Debug)]
pub struct Context<'t> {
    /// The file's text.
    pub text: &'t str,
    /// Everything that is wrong.
    pub faults: Vec<Diagnostic>,
    /// Everything to look at.
    pub warnings: Vec<Diagnostic>,
    /// Every value used.
    pub provenance: Vec<Provenance>,
    /// The job file as the user named it.
    pub name: &'t str,
    /// A library value that is set to an end of its range, by its dotted name.
    pub vary: Option<(&'t str, End)>,
}

impl<'t> Context<'t> {
    /// Nothing noted yet.
    pub fn new(source: &'t Source, faults: Vec<Diagnostic>, vary: Option<(&'t str, End)>) -> Self {
        let (warnings, provenance) = (Vec::new(), Vec::new());
        Self { text: &source.text, faults, warnings, provenance, name: &source.name, vary }
    }

    /// Notes a fault; returns `None` so that a reader can end with it.
    pub fn fault<T>(&mut self, diagnostic: Diagnostic) -> Option<T> {
        self.faults.push(diagnostic);
        None
    }

    /// Line of a byte of the file, from 1.
    pub fn line(&self, at: usize) -> usize {
        self.text.get(..at).map_or(1, |before| before.matches('\n').count() + 1)
    }

    /// The text of a place, without its quotes, on one line.
    pub fn written(&self, span: &Range<usize>) -> String {
        let text = self.text.get(span.clone()).unwrap_or_default();
        let plain = text.trim_matches(['"', '\'']);
        plain.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Notes that a value came from the job file.
    pub fn note_job(&mut self, key: impl Into<String>, span: &Range<usize>) {
        let value = self.written(span);
        let origin = Origin::Job { line: self.line(span.start) };
        self.provenance.push(Provenance { key: key.into(), value, origin });
    }

    /// A value of the library, noted; an end of its range if this job is to vary it.
    pub fn library<T: Clone>(&mut self, key: &str, bath: &Found, value: &Sourced<T>) -> T {
        self.library_as(key, bath, value, value.written.clone())
    }

    /// As [`Self::library`], with other words for the value.
    pub fn library_as<T: Clone>(
        &mut self,
        key: &str,
        bath: &Found,
        value: &Sourced<T>,
        written: String,
    ) -> T {
        let origin = Origin::Library {
            bath: bath.name.clone(),
            file: bath.file.as_ref().map(|file| file.name.clone()),
            source: value.source.clone(),
            confidence: value.confidence,
            range: value.written_range.clone(),
        };
        self.provenance.push(Provenance { key: key.to_owned(), value: written, origin });
        value.at(self.vary.filter(|(varied, _)| *varied == key).map(|(_, end)| end)).clone()
    }

    /// Faults noted since there were `before` of them are about the bath's own file, if it has one.
    pub fn blame(&mut self, bath: &Found, before: usize) {
        if let Some(file) = &bath.file {
            for fault in self.faults.iter_mut().skip(before) {
                fault.file = Some(std::sync::Arc::clone(file));
            }
        }
    }

    /// Notes a value that nobody stated.
    pub fn by_default(
        &mut self,
        key: impl Into<String>,
        value: impl Into<String>,
        reason: &'static str,
    ) {
        let origin = Origin::Default { reason };
        self.provenance.push(Provenance { key: key.into(), value: value.into(), origin });
    }

    /// A fault for a value outside its range.
    pub fn out_of_range<T>(&mut self, span: Range<usize>, what: &str, allowed: &str) -> Option<T> {
        let fault = Diagnostic::error("E011", format!("{what} must be {allowed}"));
        self.fault(fault.at(span, format!("expected a value that is {allowed}")))
    }

    /// The value, if it is more than zero.
    pub fn positive<Q: Quantity>(&mut self, at: &At<Q>, what: &str) -> Option<Q> {
        if at.value.si() > 0.0 {
            Some(at.value)
        } else {
            self.out_of_range(at.span.clone(), what, "greater than zero")
        }
    }

    /// The value, if it is more than zero.
    pub fn positive_number(&mut self, at: &At<f64>, what: &str) -> Option<f64> {
        if at.value > 0.0 {
            Some(at.value)
        } else {
            self.out_of_range(at.span.clone(), what, "greater than zero")
        }
    }

    /// The value of a key that must be there; a fault if it is not.
    pub fn required<'s, T>(
        &mut self,
        slot: &'s Slot<T>,
        key: &str,
        table: &str,
        span: Option<Range<usize>>,
        how: &str,
    ) -> Option<&'s At<T>> {
        if slot.is_missing() {
            let mut fault = Diagnostic::error("E006", format!("`{key}` is missing in {table}"));
            if let Some(span) = span {
                fault = fault.at(span, format!("`{key}` is not given here"));
            }
            self.faults.push(fault.help(how));
        }
        slot.get()
    }
}
