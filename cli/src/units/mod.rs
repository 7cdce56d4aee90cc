//! Quantities as text, such as `"4 A/dm2"`, `"37 A/ft2"` or `"130 degF"`, read into SI types.
//!
//! A quantity is a number, an optional blank, and a unit. Metric and US shop units are equals.
//! `²` and `^2` are the same as `2`, `µ` the same as `u`, `Ω` as `ohm`, `°C` as `degC`.

mod atom;
mod dimension;
mod expression;
mod number;
mod quantity;
mod suggest;

use std::ops::Range;

pub use dimension::Kind;
pub use quantity::Quantity;
pub(crate) use suggest::nearest;

use expression::ExpressionError;
use number::NumberError;

/// Why a text is not the quantity that is wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitError {
    /// What is wrong.
    pub fault: Fault,
    /// Which bytes of the text are meant.
    pub span: Range<usize>,
    /// The kind that is wanted.
    pub wanted: Kind,
}

/// What is wrong with a quantity.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// Does not begin with a number.
    NoNumber,
    /// A decimal comma.
    Comma,
    /// Infinite, not a number, or too large for a number.
    NotFinite,
    /// A number without a unit.
    NoUnit,
    /// No such unit.
    UnknownUnit(String),
    /// The unit breaks the rules of writing units.
    BadUnit(&'static str),
    /// A known unit that measures something else.
    WrongKind(String, Option<Kind>),
}

/// Reads `text` as a quantity of type `Q`.
///
/// The value is in SI; whether it may be negative is for the caller to say.
///
/// # Errors
/// [`UnitError`] with the bytes of `text` that are at fault.
pub fn parse<Q: Quantity>(text: &str) -> Result<Q, UnitError> {
    parse_si(text, Q::KIND).map(Q::from_si)
}

/// The finite number at the front of `text` and the byte where it ends.
pub(crate) fn leading_number(text: &str) -> Option<(f64, usize)> {
    number::leading(text).ok()
}

/// Reads `text` as a quantity of `kind`, in SI.
///
/// # Errors
/// As [`parse`].
pub fn parse_si(text: &str, kind: Kind) -> Result<f64, UnitError> {
    let fail = |fault, span| Err(UnitError { fault, span, wanted: kind });
    let (value, end) = match number::leading(text) {
        Ok(found) => found,
        Err((NumberError::Missing, span)) => return fail(Fault::NoNumber, span),
        Err((NumberError::Comma, span)) => return fail(Fault::Comma, span),
        Err((NumberError::NotFinite, span)) => return fail(Fault::NotFinite, span),
    };
    let rest = text.get(end..).unwrap_or_default();
    let unit_text = rest.trim();
    if unit_text.is_empty() {
        return fail(Fault::NoUnit, 0..text.len());
    }
    let start = end + (rest.len() - rest.trim_start().len());
    let span = start..start + unit_text.len();
    let unit = match expression::parse(unit_text) {
        Ok(unit) => unit,
        Err(ExpressionError::Unknown(name)) => {
            let whole = span.clone();
            let part = text.get(span).and_then(|t| t.find(&name));
            let span = part.map_or(whole, |at| start + at..start + at + name.len());
            return fail(Fault::UnknownUnit(name), span);
        }
        Err(ExpressionError::Malformed(why)) => return fail(Fault::BadUnit(why), span),
    };
    if unit.dimension != kind.dimension() {
        let is = Kind::of(unit.dimension);
        return fail(Fault::WrongKind(unit_text.to_owned(), is), span);
    }
    let si = value * unit.factor + unit.offset;
    if si.is_finite() { Ok(si) } else { fail(Fault::NotFinite, 0..text.len()) }
}

impl UnitError {
    /// The error's code in messages.
    pub fn code(&self) -> &'static str {
        match self.fault {
            Fault::UnknownUnit(_) | Fault::BadUnit(_) => "E007",
            Fault::WrongKind(..) => "E008",
            Fault::NoUnit => "E009",
            Fault::NoNumber | Fault::Comma | Fault::NotFinite => "E010",
        }
    }

    /// The message without its place.
    pub fn message(&self) -> String {
        let wanted = self.wanted.words();
        match &self.fault {
            Fault::NoNumber => format!("{wanted} wanted, but this does not begin with a number"),
            Fault::Comma => "a decimal comma: write a point".to_owned(),
            Fault::NotFinite => format!("{wanted} must be a finite number"),
            Fault::NoUnit => format!("{wanted} needs a unit"),
            Fault::UnknownUnit(name) => format!("unknown unit `{name}`"),
            Fault::BadUnit(why) => format!("cannot read this unit: {why}"),
            Fault::WrongKind(unit, Some(is)) => {
                format!("{wanted} wanted, but `{unit}` is {}", is.words())
            }
            Fault::WrongKind(unit, None) => {
                format!("{wanted} wanted, but `{unit}` is something else")
            }
        }
    }

    /// What should stand at the place.
    pub fn label(&self) -> String {
        format!("expected {}, like \"{}\"", self.wanted.words(), self.wanted.example())
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        let known = format!("units: {}", self.wanted.units().join(", "));
        match &self.fault {
            Fault::UnknownUnit(name) => match suggest::unit(name, self.wanted) {
                Some(unit) => format!("did you mean `{unit}`? {known}"),
                None => known,
            },
            _ => known,
        }
    }
}

#[cfg(test)]
mod tests;
