//! Values that may be written in more than one form.

use schemars::{Schema, SchemaGenerator, json_schema};
use solver::quantity::{CurrentDensity, Fraction, Length};
use toml::Spanned;
use toml::de::DeValue;

use super::cell::{At, Cell, Reading};
use super::form::Form;

/// A coordinate pair in drawing units.
pub type Pair = (At<f64>, At<f64>);

/// A length: a plain number in the drawing's unit, or text with a unit of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrawnLength {
    /// In the drawing's unit.
    Drawing(f64),
    /// With its own unit.
    Stated(Length),
}

impl DrawnLength {
    /// In metres, `unit_m` being the drawing's unit.
    pub fn metres(self, unit_m: f64) -> f64 {
        match self {
            Self::Drawing(value) => value * unit_m,
            Self::Stated(length) => length.si(),
        }
    }
}

impl Cell for DrawnLength {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(_) => Length::read(value, reading).map(Self::Stated),
            DeValue::Integer(_) | DeValue::Float(_) => f64::read(value, reading).map(Self::Drawing),
            _ => {
                reading.wrong_form(
                    value,
                    "a number in the drawing's unit, or a length like \"12 in\"",
                );
                None
            }
        }
    }

    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["number", "string"] })
    }

    fn form() -> Form {
        Form::Length
    }
}

/// A share: a number from 0 to 1, or text in percent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share(pub f64);

impl Cell for Share {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::Integer(_) | DeValue::Float(_) => f64::read(value, reading).map(Self),
            DeValue::String(_) => Fraction::read(value, reading).map(|share| Self(share.si())),
            _ => {
                reading.wrong_form(value, "a number from 0 to 1, or a share like \"95 %\"");
                None
            }
        }
    }

    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["number", "string"] })
    }

    fn form() -> Form {
        Form::Share
    }
}

/// Cathode efficiency: one share, or a table against current density.
#[derive(Debug, Clone, PartialEq)]
pub enum Efficiency {
    /// The same at every current density.
    Constant(Share),
    /// Points of a curve.
    Table(Vec<At<(At<CurrentDensity>, At<Share>)>>),
}

impl Cell for Efficiency {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::Array(_) => Vec::read(value, reading).map(Self::Table),
            DeValue::Integer(_) | DeValue::Float(_) | DeValue::String(_) => {
                Share::read(value, reading).map(Self::Constant)
            }
            _ => {
                let forms =
                    "a share like 0.95, or a list like [[\"0 A/dm2\", 0.85], [\"4 A/dm2\", 0.95]]";
                reading.wrong_form(value, forms);
                None
            }
        }
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        let table = Vec::<At<(At<CurrentDensity>, At<Share>)>>::schema(generator);
        json_schema!({ "anyOf": [Share::schema(generator), table] })
    }

    fn form() -> Form {
        let table = Vec::<At<(At<CurrentDensity>, At<Share>)>>::form();
        Form::Either(Box::new([Form::Share, table]))
    }
}

/// One table, or a list of them (`[supply]` and `[[supply]]`).
#[derive(Debug, Clone, PartialEq)]
pub struct OneOrMany<T>(pub Vec<At<T>>);

impl<T: Cell> Cell for OneOrMany<T> {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        if value.get_ref().is_array() {
            Vec::read(value, reading).map(Self)
        } else {
            At::read(value, reading).map(|one| Self(vec![one]))
        }
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        let one = T::schema(generator);
        json_schema!({ "anyOf": [one, { "type": "array", "items": one }] })
    }

    fn form() -> Form {
        Form::OneOrMany(Box::new(T::form()))
    }
}
