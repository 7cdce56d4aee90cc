//! Reading one value of a TOML file, with every fault noted and none of them final.
//!
//! serde stops at the first fault of a document. A job file with three slips must show all three,
//! so the reader here walks the spanned tree of the `toml` crate: a value that cannot be read
//! leaves a [`Slot::Bad`] behind and the walk goes on.

use std::ops::Range;

use schemars::{Schema, SchemaGenerator, json_schema};
use toml::Spanned;
use toml::de::DeValue;

use crate::diagnostic::Diagnostic;
use crate::units::{self, Quantity};

use super::form::Form;

/// A value with its place in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Its bytes in the file.
    pub span: Range<usize>,
}

/// What a file says for one key.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Slot<T> {
    /// Nothing.
    #[default]
    Missing,
    /// Something that cannot be used; already reported.
    Bad,
    /// A value.
    Given(At<T>),
}

impl<T> Slot<T> {
    /// The value, if there is a usable one.
    pub fn get(&self) -> Option<&At<T>> {
        match self {
            Self::Given(at) => Some(at),
            Self::Missing | Self::Bad => None,
        }
    }

    /// True if the key does not occur.
    pub fn is_missing(&self) -> bool {
        matches!(self, Self::Missing)
    }

    /// The place of the value, if there is a usable one.
    pub fn span(&self) -> Option<Range<usize>> {
        self.get().map(|at| at.span.clone())
    }
}

/// What the reader knows while it walks a file.
#[derive(Debug, Default)]
pub struct Reading<'t> {
    /// The file's text.
    pub text: &'t str,
    /// Everything that is wrong so far.
    pub faults: Vec<Diagnostic>,
}

impl Reading<'_> {
    /// Notes a fault.
    pub fn fault(&mut self, diagnostic: Diagnostic) {
        self.faults.push(diagnostic);
    }

    /// Notes that a value is not of the expected form.
    pub fn wrong_form(&mut self, value: &Spanned<DeValue<'_>>, expected: &str) {
        let found = match value.get_ref() {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let message = format!("{expected} wanted, but this is {found}");
        self.fault(
            Diagnostic::error("E005", message).at(value.span(), format!("expected {expected}")),
        );
    }
}

/// A value that a job file can hold.
pub trait Cell: Sized {
    /// Reads it; `None` after the fault has been noted.
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self>;

    /// Its form for editors.
    fn schema(generator: &mut SchemaGenerator) -> Schema;

    /// Its form for those who change values by name.
    fn form() -> Form;
}

/// Reads `value` into a slot.
pub fn slot<T: Cell>(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Slot<T> {
    match T::read(value, reading) {
        Some(read) => Slot::Given(At { value: read, span: value.span() }),
        None => Slot::Bad,
    }
}

impl<T: Cell> Cell for At<T> {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        T::read(value, reading).map(|read| Self { value: read, span: value.span() })
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        T::schema(generator)
    }

    fn form() -> Form {
        T::form()
    }
}

impl Cell for String {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            _ => {
                reading.wrong_form(value, "text in quotes");
                None
            }
        }
    }

    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string" })
    }

    fn form() -> Form {
        Form::Text
    }
}

impl Cell for bool {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::Boolean(yes) => Some(*yes),
            _ => {
                reading.wrong_form(value, "true or false");
                None
            }
        }
    }

    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "boolean" })
    }

    fn form() -> Form {
        Form::YesNo
    }
}

/// The number in a TOML value, if it is one; it may be infinite.
pub fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse().ok(),
        DeValue::Integer(whole) if whole.radix() == 10 => whole.as_str().parse().ok(),
        DeValue::Integer(whole) => {
            // more than 64 bits in hexadecimal: no drawing needs that, but it must not vanish
            let read = i64::from_str_radix(whole.as_str(), whole.radix());
            Some(read.map_or(f64::INFINITY, |n| n as f64))
        }
        _ => None,
    }
}

impl Cell for f64 {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match number(value.get_ref()) {
            Some(number) if number.is_finite() => Some(number),
            Some(_) => {
                let fault = Diagnostic::error("E010", "a number must be finite");
                reading.fault(fault.at(value.span(), "expected a finite number"));
                None
            }
            None => {
                reading.wrong_form(value, "a plain number");
                None
            }
        }
    }

    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "number" })
    }

    fn form() -> Form {
        Form::Number
    }
}

impl<Q: Quantity> Cell for Q {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        let kind = Q::KIND;
        let DeValue::String(text) = value.get_ref() else {
            let Some(number) = number(value.get_ref()) else {
                reading.wrong_form(value, &format!("{} like \"{}\"", kind.words(), kind.example()));
                return None;
            };
            let unit = kind.units().first().copied().unwrap_or_default();
            let fault = Diagnostic::error("E009", format!("{} needs its unit", kind.words()))
                .at(value.span(), format!("expected text with a unit, like \"{}\"", kind.example()))
                .help(format!(
                    "write \"{number} {unit}\" if that is the unit; units: {}",
                    kind.units().join(", ")
                ));
            reading.fault(fault);
            return None;
        };
        match units::parse(text) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                let span = inside(reading.text, &value.span(), text, &error.span);
                let fault = Diagnostic::error(error.code(), error.message());
                reading.fault(fault.at(span, error.label()).help(error.help()));
                None
            }
        }
    }

    fn schema(_: &mut SchemaGenerator) -> Schema {
        let kind = Q::KIND;
        let known = kind.units().join(", ");
        let words = kind.words();
        json_schema!({
            "type": "string",
            "description": format!("{words} with its unit ({known})"),
            "examples": [kind.example()],
        })
    }

    fn form() -> Form {
        Form::Quantity(Q::KIND)
    }
}

/// Place in the file of a part of a text value; the whole value if it is written with escapes.
pub(super) fn inside(
    file: &str,
    whole: &Range<usize>,
    text: &str,
    part: &Range<usize>,
) -> Range<usize> {
    let written = file.get(whole.clone()).unwrap_or_default();
    match written.find(text) {
        Some(at) if !part.is_empty() && !text.is_empty() => {
            whole.start + at + part.start..whole.start + at + part.end
        }
        _ => whole.clone(),
    }
}

impl<T: Cell> Cell for Vec<At<T>> {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        let Some(list) = value.get_ref().as_array() else {
            reading.wrong_form(value, "a list in square brackets");
            return None;
        };
        // every element is read, so that every fault is found
        let read: Vec<Option<At<T>>> = list.iter().map(|item| At::read(item, reading)).collect();
        read.into_iter().collect()
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "array", "items": T::schema(generator) })
    }

    fn form() -> Form {
        Form::List(Box::new(T::form()))
    }
}

impl<A: Cell, B: Cell> Cell for (At<A>, At<B>) {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref().as_array().map(|list| list.iter().collect::<Vec<_>>()) {
            Some(list) if list.len() == 2 => {
                let (first, second) = (At::read(list[0], reading), At::read(list[1], reading));
                Some((first?, second?))
            }
            Some(list) => {
                let fault = Diagnostic::error(
                    "E005",
                    format!("two values wanted, but here are {}", list.len()),
                );
                reading.fault(fault.at(value.span(), "expected a pair [a, b]"));
                None
            }
            None => {
                reading.wrong_form(value, "a pair [a, b]");
                None
            }
        }
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        let items = [A::schema(generator), B::schema(generator)];
        json_schema!({ "type": "array", "items": items, "minItems": 2, "maxItems": 2 })
    }

    fn form() -> Form {
        Form::pair(A::form(), B::form())
    }
}
