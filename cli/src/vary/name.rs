//! The words of a dotted name: `anode."left 2".move.x`.

use std::ops::Range;

use crate::diagnostic::Diagnostic;

/// One word of a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// Without its quotes.
    pub text: String,
    /// Its bytes in what was typed, quotes included.
    pub span: Range<usize>,
    /// True if it stood in quotes: then it is never a number.
    pub quoted: bool,
}

impl Word {
    /// The number that it is, from 1.
    pub fn number(&self) -> Option<usize> {
        self.text.parse().ok().filter(|n| !self.quoted && *n > 0)
    }
}

/// Splits `name.of.a.value=values` into its words and the byte where the values begin.
///
/// # Errors
/// What is missing, and where.
pub fn split(text: &str) -> Result<(Vec<Word>, usize), Diagnostic> {
    let how = "write NAME=VALUES, like anode.left.move.x=40..160mm/13; names with dots or blanks \
               stand in quotes: anode.\"left 2\".move.x";
    let fault = |message: &str, span: Range<usize>, label: &str| {
        Err(Diagnostic::error("E027", message).at(span, label).help(how))
    };
    let mut words = Vec::new();
    let mut at = 0;
    loop {
        let rest = &text[at..];
        let start = at + (rest.len() - rest.trim_start().len());
        let mut word = match text[start..].chars().next() {
            Some(quote @ ('"' | '\'')) => {
                let inside = start + quote.len_utf8();
                let Some(end) = text[inside..].find(quote).map(|end| inside + end) else {
                    return fault("a quote is not closed", start..text.len(), "begins here");
                };
                let span = start..end + quote.len_utf8();
                Word { text: text[inside..end].to_owned(), span, quoted: true }
            }
            _ => {
                let end = text[start..].find(['.', '=']).map_or(text.len(), |end| start + end);
                let plain = text[start..end].trim_end();
                let span = start..start + plain.len();
                Word { text: plain.to_owned(), span, quoted: false }
            }
        };
        let after = text.get(word.span.end..).unwrap_or_default();
        let next = word.span.end + (after.len() - after.trim_start().len());
        if word.text.is_empty() {
            word.span.end = (word.span.start + 1).min(text.len());
            return fault("a word of the name is missing", word.span, "expected a name");
        }
        words.push(word);
        match text.get(next..).and_then(|rest| rest.chars().next()) {
            Some('.') => at = next + 1,
            Some('=') => return Ok((words, next + 1)),
            None => return fault("no values are given", 0..text.len(), "expected `=` and values"),
            Some(_) => {
                return fault("the name cannot be read", next..text.len(), "expected `.` or `=`");
            }
        }
    }
}
