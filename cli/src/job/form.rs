//! What may stand at a place of a job file: its tables and values as data, for those who change
//! values by name.

use crate::units::Kind;

/// The form of a value.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// Text in quotes.
    Text,
    /// true or false.
    YesNo,
    /// A plain number.
    Number,
    /// Text that holds a quantity with its unit.
    Quantity(Kind),
    /// A length: a plain number in the drawing's unit, or text with a unit of its own.
    Length,
    /// A share: a plain number, or text in percent.
    Share,
    /// Two values.
    Pair(Box<[Form; 2]>),
    /// Any number of values.
    List(Box<Form>),
    /// One table or a list of them.
    OneOrMany(Box<Form>),
    /// The first where a plain value stands, the second where a table or list does.
    Either(Box<[Form; 2]>),
    /// A table.
    Table(TableForm),
}

/// The form of a table.
#[derive(Debug, Clone, Copy)]
pub struct TableForm {
    /// What it is called in messages.
    pub name: &'static str,
    /// Its keys, in the order of the manual.
    pub keys: fn() -> Vec<&'static str>,
    /// The form of the value of a key.
    pub of: fn(&str) -> Option<Form>,
}

impl PartialEq for TableForm {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl Form {
    /// A pair of two forms.
    pub fn pair(first: Self, second: Self) -> Self {
        Self::Pair(Box::new([first, second]))
    }
}
