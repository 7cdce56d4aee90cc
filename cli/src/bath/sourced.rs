//! A value of the library together with its range, where it comes from and how far it can be trusted.

use schemars::{Schema, SchemaGenerator, json_schema};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diagnostic::Diagnostic;
use crate::job::Form;
use crate::job::cell::{At, Cell, Reading};
use crate::units::nearest;

/// How far a value can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// Stated without a source in a file of the user's own.
    Own,
    /// Read in a publication, or a physical constant.
    High,
    /// A value that handbooks agree on.
    Medium,
    /// A guess that must be called one.
    Low,
}

impl Confidence {
    /// The word to show with the value.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Own => "your own",
            Self::High => "well known",
            Self::Medium => "typical",
            Self::Low => "assumed",
        }
    }
}

/// Which end of its range a value is set to, to see what leans on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The lower.
    Low,
    /// The upper.
    High,
}

/// Two ends of a range.
pub type Ends<T> = (T, T);

/// A value with its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// Between which values it lies, where that is known.
    pub range: Option<Ends<T>>,
    /// The value as written in the library file.
    pub written: String,
    /// The ends of the range as written.
    pub written_range: Option<Ends<String>>,
    /// The publication, or "from memory of ...".
    pub source: String,
    /// How far to trust it.
    pub confidence: Confidence,
}

impl<T> Sourced<T> {
    /// The value, or an end of its range where it has one.
    pub fn at(&self, end: Option<End>) -> &T {
        match (end, &self.range) {
            (Some(End::Low), Some((low, _))) => low,
            (Some(End::High), Some((_, high))) => high,
            _ => &self.value,
        }
    }
}

/// The keys of a value with its source.
const KEYS: [&str; 4] = ["value", "range", "source", "confidence"];

impl<T: Cell> Cell for Sourced<T> {
    /// A table { value, range, source, confidence }, or the plain value.
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        let stated = value
            .get_ref()
            .as_table()
            .filter(|table| table.iter().any(|(key, _)| KEYS.contains(&key.get_ref().as_ref())));
        let Some(table) = stated else {
            let at = At::<T>::read(value, reading)?;
            return Some(Self {
                written: written(&at.span, reading),
                value: at.value,
                range: None,
                written_range: None,
                source: "stated without a source".into(),
                confidence: Confidence::Own,
            });
        };
        unknown_keys(table, reading);
        let of = |wanted: &str| table.iter().find(|(k, _)| k.get_ref() == wanted).map(|(_, v)| v);
        let missing = |key: &str, reading: &mut Reading<'_>| {
            let fault = Diagnostic::error("E006", format!("`{key}` is missing in a bath value"));
            reading.fault(
                fault
                    .at(value.span(), format!("`{key}` is not given here"))
                    .help("a bath value has value, source and confidence, and range where it is known; or write the value alone if it is your own"),
            );
        };
        let inner = match of("value") {
            Some(inner) => At::<T>::read(inner, reading),
            None => {
                missing("value", reading);
                None
            }
        };
        let range = of("range").map(|range| <(At<T>, At<T>)>::read(range, reading));
        let source = match of("source") {
            Some(source) => String::read(source, reading),
            None => {
                missing("source", reading);
                None
            }
        };
        let confidence = match of("confidence") {
            Some(word) => confidence(word, reading),
            None => {
                missing("confidence", reading);
                None
            }
        };
        let range = match range {
            Some(range) => Some(range?),
            None => None,
        };
        let inner = inner?;
        let written_range =
            range.as_ref().map(|(l, h)| (written(&l.span, reading), written(&h.span, reading)));
        Some(Self {
            written: written(&inner.span, reading),
            value: inner.value,
            range: range.map(|(low, high)| (low.value, high.value)),
            written_range,
            source: source?,
            confidence: confidence?,
        })
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        let plain = T::schema(generator);
        let stated = json_schema!({
            "type": "object",
            "properties": {
                "value": plain,
                "range": { "type": "array", "items": [plain, plain], "minItems": 2, "maxItems": 2 },
                "source": { "type": "string" },
                "confidence": { "type": "string", "enum": ["high", "medium", "low"] },
            },
            "required": ["value", "source", "confidence"],
            "additionalProperties": false,
        });
        json_schema!({ "anyOf": [plain, stated] })
    }

    fn form() -> Form {
        T::form()
    }
}

fn written(span: &std::ops::Range<usize>, reading: &Reading<'_>) -> String {
    let text = reading.text.get(span.clone()).unwrap_or_default().trim_matches(['"', '\'']);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn unknown_keys(table: &DeTable<'_>, reading: &mut Reading<'_>) {
    for (key, _) in table.iter().filter(|(key, _)| !KEYS.contains(&key.get_ref().as_ref())) {
        let word: &str = key.get_ref();
        let list = format!("keys of a bath value: {}", KEYS.join(", "));
        let near = nearest(word, KEYS);
        let fault = Diagnostic::error("E003", format!("unknown key `{word}` in a bath value"))
            .at(key.span(), "not a key of this table")
            .help(near.map_or(list.clone(), |near| format!("did you mean `{near}`? {list}")));
        reading.fault(fault);
    }
}

fn confidence(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Confidence> {
    match String::read(value, reading)?.as_str() {
        "high" => Some(Confidence::High),
        "medium" => Some(Confidence::Medium),
        "low" => Some(Confidence::Low),
        other => {
            let fault = Diagnostic::error("E012", format!("unknown confidence `{other}`"))
                .at(value.span(), "expected a confidence")
                .help("high (published or physical), medium (handbooks agree), low (assumed)");
            reading.fault(fault);
            None
        }
    }
}
