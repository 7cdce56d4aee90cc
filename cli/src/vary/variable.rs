//! One variable: what was typed, the place in the job file that it means, and how a value of it is
//! written there.

use std::sync::Arc;

use solver::plan::{Values, Variable};
use toml_edit::{Array, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::name;
use super::place::{self, Leaf, Place, Step};
use super::values::{self, Typed};
use crate::diagnostic::{Diagnostic, Source};
use crate::document::{plain, set, set_bath};
use crate::job::DrawingUnit;
use crate::units::{self, Kind};

/// Keys of which a table holds one: the one that is set takes the place of the others.
const ONE_OF: [(&str, [&str; 3]); 2] = [
    ("supply", ["current", "current_density", "voltage"]),
    ("run", ["time", "until", "ampere_hours"]),
];

/// A value of the job file that may take several values.
#[derive(Debug, Clone, PartialEq)]
pub struct Varying {
    /// Its name as typed and its values; numbers are in `unit`.
    pub variable: Variable,
    /// The unit of its numbers as typed: empty for plain numbers and for choices, and for
    /// coordinates typed without one.
    pub unit: String,
    /// How many values of a range were asked for.
    pub count: Option<usize>,
    /// What the numbers of a choice stand for.
    pub words: Vec<String>,
    /// Its value in the job file as it stands; `None` if the file does not state it.
    pub stated: Option<f64>,
    place: Place,
    drawing: DrawingUnit,
}

impl Varying {
    /// Reads `NAME=VALUES` for the job file `doc` with the drawing unit `drawing`.
    ///
    /// # Errors
    /// What is wrong with it; the message points into `text`.
    pub fn read(text: &str, doc: &DocumentMut, drawing: DrawingUnit) -> Result<Self, Diagnostic> {
        let typed = |fault: Diagnostic| {
            let source = Source { name: "--vary".into(), text: text.to_owned() };
            fault.in_file(&Arc::new(source))
        };
        let (words, start) = name::split(text).map_err(typed)?;
        let place = place::find(doc, &words).map_err(typed)?;
        let Typed { values, unit, count, words } =
            values::read(&text[start..], start, place.leaf).map_err(typed)?;
        let variable = Variable { name: text[..start - 1].trim().to_owned(), values };
        let mut varying = Self { variable, unit, count, words, stated: None, place, drawing };
        varying.stated = varying.stated_in(doc);
        Ok(varying)
    }

    /// True if both mean the same place of the file.
    pub fn same_place(&self, other: &Self) -> bool {
        self.place == other.place
    }

    /// The words of its choice, if it names baths.
    pub fn baths(&self) -> Option<&[String]> {
        self.is_bath().then_some(self.words.as_slice())
    }

    /// A value of it as people write it: `40 mm`, `watts-nickel`.
    pub fn text(&self, value: f64) -> String {
        match self.word(value) {
            Some(word) => word.to_owned(),
            None => {
                let unit = self.shown_unit();
                let number = tidy(value);
                if unit.is_empty() { number.to_string() } else { format!("{number} {unit}") }
            }
        }
    }

    /// The unit of its numbers, also where that is understood; empty for plain numbers and choices.
    pub fn shown_unit(&self) -> &str {
        match self.place.leaf {
            Leaf::Angle => "deg",
            Leaf::Coordinate | Leaf::Length if self.unit.is_empty() => self.drawing.name,
            _ => &self.unit,
        }
    }

    /// What a value of a choice stands for.
    pub fn word(&self, value: f64) -> Option<&str> {
        // values of a choice are small whole numbers
        self.words.get(value.max(0.0) as usize).map(String::as_str)
    }

    /// Sets it in `doc`.
    pub(super) fn set(&self, doc: &mut DocumentMut, value: f64) {
        if self.is_bath() {
            let Some(bath) = self.word(value) else { return };
            let same = doc.get("bath").and_then(|b| b.get("use")).and_then(Item::as_str);
            // the values that the job states are those of the bath that it names
            if same != Some(bath) {
                set_bath(doc, bath);
            }
        } else if let [.., Step::Key(_)] | [.., Step::Index(_)] = self.place.steps.as_slice() {
            put(doc.as_item_mut(), &self.place.steps, self.written(value));
            self.alone(doc);
        }
    }

    pub(super) fn is_bath(&self) -> bool {
        let steps = self.place.steps.as_slice();
        matches!(steps, [Step::Key(table), Step::Key(key)] if table == "bath" && key == "use")
    }

    /// Takes out what the value stands in place of.
    fn alone(&self, doc: &mut DocumentMut) {
        let (Some(Step::Key(top)), [way @ .., Step::Key(key)]) =
            (self.place.steps.first(), self.place.steps.as_slice())
        else {
            return;
        };
        let group =
            ONE_OF.iter().find(|(table, keys)| table == top && keys.contains(&key.as_str()));
        let Some((_, keys)) =
            group.filter(|_| way.iter().skip(1).all(|s| matches!(s, Step::Index(_))))
        else {
            return;
        };
        if let Some(table) = table_at(doc.as_item_mut(), way) {
            for other in keys.iter().filter(|other| *other != key) {
                table.remove(other);
            }
        }
    }

    /// A value in the form that the job file wants.
    fn written(&self, value: f64) -> Value {
        let value = tidy(value);
        let with_unit = || Value::from(format!("{value} {}", self.unit));
        match self.place.leaf {
            Leaf::Text => Value::from(self.word(value).unwrap_or_default()),
            Leaf::YesNo => Value::from(self.word(value) == Some("true")),
            Leaf::Quantity(_) => with_unit(),
            Leaf::Length | Leaf::Share if !self.unit.is_empty() => with_unit(),
            Leaf::Coordinate => number(tidy(value * self.per_unit())),
            _ => number(value),
        }
    }

    /// Drawing units in one unit of a coordinate.
    fn per_unit(&self) -> f64 {
        if self.unit.is_empty() || self.unit == self.drawing.name {
            return 1.0;
        }
        // the unit has been read before
        let metres = units::parse_si(&format!("1 {}", self.unit), Kind::Length).unwrap_or(1.0);
        metres / self.drawing.metres
    }

    /// The value that `doc` states, in the unit that was typed.
    fn stated_in(&self, doc: &DocumentMut) -> Option<f64> {
        let found = self.place.steps.iter().try_fold(doc.as_item(), |item, step| match step {
            Step::Key(key) => item.get(key),
            Step::Index(k) => item.get(*k),
        });
        let last = self.place.steps.iter().rev().find_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        });
        let Some(value) = found.and_then(Item::as_value) else {
            return matches!(last, Some("move" | "turn")).then_some(0.0);
        };
        let chosen = |word: &str| self.words.iter().position(|w| w == word).map(|k| k as f64);
        let in_unit = |kind: Kind, si: f64| {
            let at = |n: f64| units::parse_si(&format!("{n} {}", self.unit), kind).ok();
            let (zero, one) = (at(0.0)?, at(1.0)?);
            Some(tidy((si - zero) / (one - zero)))
        };
        let quantity = |kind: Kind| {
            let si = units::parse_si(value.as_str()?, kind).ok()?;
            in_unit(kind, si)
        };
        match self.place.leaf {
            Leaf::Text => chosen(value.as_str()?),
            Leaf::YesNo => chosen(if value.as_bool()? { "true" } else { "false" }),
            Leaf::Quantity(kind) => quantity(kind),
            Leaf::Number | Leaf::Angle => plain(value),
            Leaf::Coordinate => plain(value).map(|v| tidy(v / self.per_unit())),
            Leaf::Length => {
                let metres = match plain(value) {
                    Some(drawn) => drawn * self.drawing.metres,
                    None => units::parse_si(value.as_str()?, Kind::Length).ok()?,
                };
                match self.unit.is_empty() {
                    true => Some(tidy(metres / self.drawing.metres)),
                    false => in_unit(Kind::Length, metres),
                }
            }
            Leaf::Share => {
                let share = match plain(value) {
                    Some(share) => share,
                    None => units::parse_si(value.as_str()?, Kind::Fraction).ok()?,
                };
                if self.unit.is_empty() { Some(share) } else { in_unit(Kind::Fraction, share) }
            }
        }
    }
}

/// Twelve digits: what computing the values of a range leaves behind is cut off.
pub fn tidy(value: f64) -> f64 {
    format!("{value:.11e}").parse().map_or(value, |v: f64| v + 0.0)
}

/// A whole number without a point, as people write it.
fn number(value: f64) -> Value {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        Value::from(value as i64)
    } else {
        Value::from(value)
    }
}

/// Sets the value at the end of `steps`, making tables and pairs on the way.
fn put(item: &mut Item, steps: &[Step], mut value: Value) {
    match steps {
        [] => {
            if let Some(old) = item.as_value() {
                *value.decor_mut() = old.decor().clone();
            }
            *item = Item::Value(value);
        }
        [Step::Index(k), rest @ ..] => {
            if let Some(inner) = item.get_mut(*k) {
                put(inner, rest, value);
            }
        }
        [Step::Key(key), rest @ ..] => {
            let top = item.is_table();
            let Some(table) = item.as_table_like_mut() else { return };
            if let Some(inner) = table.get_mut(key) {
                return put(inner, rest, value);
            }
            let mut inner = match rest {
                [] => Item::Value(value.clone()),
                [Step::Index(_), ..] => Item::Value(Array::from_iter([0, 0]).into()),
                [Step::Key(_), ..] if top && key_is_table(key) => Item::Table(Table::new()),
                [Step::Key(_), ..] => Item::Value(InlineTable::new().into()),
            };
            put(&mut inner, rest, value);
            match inner {
                Item::Value(value) => {
                    set(table, key, value);
                    close_up(item);
                }
                inner => {
                    table.insert(key, inner);
                }
            }
        }
    }
}

/// Tables that stand at the top of a job file.
fn key_is_table(key: &str) -> bool {
    matches!(key, "run" | "want" | "solve")
}

/// `{ a = 1, b = 2 }` after a key was added to `{ a = 1 }`: the blank stays before the bracket.
fn close_up(item: &mut Item) {
    let Some(table) = item.as_inline_table_mut() else { return };
    let last = table.len().saturating_sub(1);
    for (k, (_, value)) in table.iter_mut().enumerate() {
        let suffix = if k == last { " " } else { "" };
        value.decor_mut().set_suffix(suffix);
    }
}

fn table_at<'i>(item: &'i mut Item, steps: &[Step]) -> Option<&'i mut dyn TableLike> {
    let found = steps.iter().try_fold(item, |item, step| match step {
        // `get_mut` of a missing key would make it
        Step::Key(key) => item.as_table_like_mut()?.get_mut(key),
        Step::Index(k) => item.get_mut(*k),
    });
    found?.as_table_like_mut()
}

/// How many values of it are tried in a full grid; `None` for a range without a number of values.
pub fn grid(varying: &Varying) -> Option<Vec<f64>> {
    let values = match (&varying.variable.values, varying.count) {
        (Values::Between { low, high, step: Some(step), .. }, Some(count)) => {
            let first = (low / step - 1e-9).ceil();
            let all = (0..count).map(|k| ((first + k as f64) * step).clamp(*low, *high));
            all.collect()
        }
        (values @ Values::Between { .. }, Some(count)) => values.grid(count),
        (Values::Between { .. }, None) => return None,
        (values, _) => values.grid(0),
    };
    Some(values.into_iter().map(tidy).collect())
}
