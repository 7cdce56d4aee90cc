//! A value of the library together with where it comes from and how far it can be trusted.

use schemars::{Schema, SchemaGenerator};
use toml::Spanned;
use toml::de::DeValue;

use crate::job::cell::{At, Cell, Reading};

/// How far a value can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
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
            Self::High => "well known",
            Self::Medium => "typical",
            Self::Low => "assumed",
        }
    }
}

/// A value with its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// As written in the library file.
    pub written: String,
    /// The publication, or "from memory of ...".
    pub source: String,
    /// How far to trust it.
    pub confidence: Confidence,
}

impl<T: Cell> Cell for Sourced<T> {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        let table = value.get_ref().as_table()?;
        let inner =
            table.iter().find(|(key, _)| key.get_ref() == "value").map(|(_, inner)| inner)?;
        let at = At::<T>::read(inner, reading)?;
        let text = |wanted: &str| {
            let found = table.iter().find(|(key, _)| key.get_ref() == wanted);
            found.and_then(|(_, value)| value.get_ref().as_str()).map(str::to_owned)
        };
        let confidence = match text("confidence")?.as_str() {
            "high" => Confidence::High,
            "medium" => Confidence::Medium,
            "low" => Confidence::Low,
            _ => return None,
        };
        let written =
            reading.text.get(at.span.clone()).unwrap_or_default().trim_matches('"').to_owned();
        Some(Self { value: at.value, written, source: text("source")?, confidence })
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        T::schema(generator)
    }
}
