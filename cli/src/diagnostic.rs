//! One message about a job file: what is wrong, where, what is allowed there, what to do.

use std::ops::Range;
use std::sync::Arc;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet, renderer::DecorStyle};

/// The text that messages point into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Its name as the user typed it.
    pub name: String,
    /// Its content.
    pub text: String,
}

/// How grave a message is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// The job cannot be solved.
    Error,
    /// The job can be solved, but the planner should look at this.
    Warning,
}

/// One message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// `E...` for errors, `W...` for warnings.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong, in one sentence.
    pub message: String,
    /// Where, with a word on what is expected there.
    pub place: Option<(Range<usize>, String)>,
    /// Other places that belong to it.
    pub related: Vec<(Range<usize>, String)>,
    /// What to do, one line each.
    pub help: Vec<String>,
    /// The file it points into, if that is not the job file.
    pub file: Option<Arc<Source>>,
}

impl Diagnostic {
    /// An error without a place.
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            message: message.into(),
            place: None,
            related: Vec::new(),
            help: Vec::new(),
            file: None,
        }
    }

    /// A warning without a place.
    pub fn warning(code: &'static str, message: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(code, message) }
    }

    /// The same message with its place and what is expected there.
    #[must_use]
    pub fn at(mut self, span: Range<usize>, label: impl Into<String>) -> Self {
        self.place = Some((span, label.into()));
        self
    }

    /// The same message with a second place.
    #[must_use]
    pub fn and(mut self, span: Range<usize>, label: impl Into<String>) -> Self {
        self.related.push((span, label.into()));
        self
    }

    /// The same message with one more line of advice.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }

    /// The same message about another file than the job file.
    #[must_use]
    pub fn in_file(mut self, file: &Arc<Source>) -> Self {
        self.file = Some(Arc::clone(file));
        self
    }

    /// Line and column of its place, both from 1.
    pub fn line_column(&self, source: &Source) -> Option<(usize, usize)> {
        let source = self.file.as_deref().unwrap_or(source);
        let (span, _) = self.place.as_ref()?;
        let before = source.text.get(..span.start)?;
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let line = before.matches('\n').count() + 1;
        Some((line, before[line_start..].chars().count() + 1))
    }

    /// The message as people read it, with the excerpt underlined.
    pub fn render(&self, source: &Source, colour: bool) -> String {
        let source = self.file.as_deref().unwrap_or(source);
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let title = level.primary_title(self.message.as_str()).id(self.code);
        let mut group = match &self.place {
            Some((span, label)) => {
                let place =
                    AnnotationKind::Primary.span(clip(&source.text, span)).label(label.as_str());
                let others = self.related.iter().map(|(span, label)| {
                    AnnotationKind::Context.span(clip(&source.text, span)).label(label.as_str())
                });
                title.element(
                    Snippet::source(source.text.as_str())
                        .path(source.name.as_str())
                        .annotation(place)
                        .annotations(others),
                )
            }
            None => title.element(annotate_snippets::Origin::path(source.name.as_str())),
        };
        for help in &self.help {
            group = group.element(Level::HELP.message(help.as_str()));
        }
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        renderer.decor_style(DecorStyle::Ascii).render(&[group])
    }
}

/// `span` within `text`, on character borders, ending on the line on which it begins: a table of
/// many lines is pointed at by its first.
fn clip(text: &str, span: &Range<usize>) -> Range<usize> {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    if let Some(line_end) = text[start..].find(['\n', '\r']) {
        end = end.min(start + line_end);
    }
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    start..end.max(start)
}

/// Brings messages into the order of the file; those about other files and those without a place
/// come first.
pub fn sort(diagnostics: &mut [Diagnostic]) {
    let start = |d: &Diagnostic| d.place.as_ref().map_or(0, |(span, _)| span.start);
    diagnostics.sort_by_key(|d| (d.file.is_none(), start(d)));
}
