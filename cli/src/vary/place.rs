//! Finds the place in a job file that a dotted name means.

use std::ops::Range;

use toml_edit::{DocumentMut, Item, TableLike};

use super::name::Word;
use crate::diagnostic::Diagnostic;
use crate::document::ROLES;
use crate::job::{Cell, Form, JobTable, TableForm};
use crate::units::{Kind, nearest};

/// One step from the top of a job file to a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// To the value of a key.
    Key(String),
    /// To an element of a list, from 0.
    Index(usize),
}

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leaf {
    /// Text.
    Text,
    /// true or false.
    YesNo,
    /// A number of nothing.
    Number,
    /// Degrees.
    Angle,
    /// A plain number in the drawing's unit.
    Coordinate,
    /// A length: in the drawing's unit, or with a unit of its own.
    Length,
    /// A share: a plain number, or in percent.
    Share,
    /// A quantity with its unit.
    Quantity(Kind),
}

/// A value of a job file.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The way to it.
    pub steps: Vec<Step>,
    /// What it is.
    pub leaf: Leaf,
}

/// Plain numbers that are no coordinates.
const NUMBERS: [&str; 9] = [
    "from_corner",
    "to_corner",
    "scale",
    "join",
    "count",
    "valence",
    "alpha_anodic",
    "alpha_cathodic",
    "shares",
];
/// Pairs that are no coordinates.
const NUMBER_PAIRS: [&str; 1] = ["area_ratio"];
/// Numbers in degrees.
const ANGLES: [&str; 2] = ["turn", "angles"];
/// Tables that may be begun with one key alone, since no key of theirs is needed.
const OPEN: [&str; 7] = ["window", "cathode", "anode", "limit", "run", "want", "solve"];
/// Pairs that are zero where they are not stated.
const ZERO: [&str; 1] = ["move"];

/// Finds what `words` mean in the job file `doc`.
///
/// # Errors
/// What is not there, what is there instead, and the nearest name to the one that was typed.
pub fn find(doc: &DocumentMut, words: &[Word]) -> Result<Place, Diagnostic> {
    if doc.contains_key("layer") {
        let fault = Diagnostic::error("E027", "a sequence of layers cannot be varied yet");
        return Err(fault.help("name the job file of one layer, or write its tables into one"));
    }
    let end = words.last().map_or(0, |w| w.span.end);
    let mut walk = Walk { words, next: 0, steps: Vec::new(), whose: "the job file".into(), end };
    let leaf = walk.go(Some(doc.as_item()), &JobTable::form())?;
    Ok(Place { steps: walk.steps, leaf })
}

struct Walk<'w> {
    words: &'w [Word],
    next: usize,
    steps: Vec<Step>,
    /// Where the walk has come to, in words.
    whose: String,
    end: usize,
}

impl Walk<'_> {
    fn go(&mut self, item: Option<&Item>, form: &Form) -> Result<Leaf, Diagnostic> {
        match form {
            Form::Table(table) => self.table(item, table),
            Form::OneOrMany(one) => self.many(item, one),
            Form::Pair(both) => {
                let k = self.side()?;
                if item.is_none() && !self.key().is_some_and(|key| ZERO.contains(&key)) {
                    return Err(self.absent());
                }
                self.steps.push(Step::Index(k));
                let list = item.and_then(Item::as_array);
                if item.is_some() && list.and_then(|l| l.get(k)).is_none() {
                    return Err(self.absent());
                }
                self.go(item.and_then(|i| i.get(k)), &both[k])
            }
            Form::List(inner) => {
                let Some(item) = item else { return Err(self.absent()) };
                let count = item.as_array().map_or(0, toml_edit::Array::len);
                let k = self.index(count)?;
                self.steps.push(Step::Index(k));
                self.go(item.get(k), inner)
            }
            Form::Either(both) => {
                let table = item.is_some_and(|i| i.is_array() || i.is_table_like());
                self.go(item, &both[usize::from(table)])
            }
            Form::Text => self.leaf(Leaf::Text),
            Form::YesNo => self.leaf(Leaf::YesNo),
            Form::Length => self.leaf(Leaf::Length),
            Form::Share => self.leaf(Leaf::Share),
            Form::Quantity(kind) => self.leaf(Leaf::Quantity(*kind)),
            Form::Number => {
                let leaf = match self.key() {
                    Some(key) if ANGLES.contains(&key) => Leaf::Angle,
                    Some(key) if NUMBERS.contains(&key) || NUMBER_PAIRS.contains(&key) => {
                        Leaf::Number
                    }
                    _ => Leaf::Coordinate,
                };
                self.leaf(leaf)
            }
        }
    }

    fn table(&mut self, item: Option<&Item>, form: &TableForm) -> Result<Leaf, Diagnostic> {
        let keys = (form.keys)();
        let table = item.and_then(Item::as_table_like);
        if item.is_some() && table.is_none() {
            return Err(self.absent());
        }
        let stated: Vec<&str> =
            table.into_iter().flat_map(TableLike::iter).map(|(k, _)| k).collect();
        let Some(word) = self.words.get(self.next) else {
            let message = format!("{} is a table, not a value", self.whose);
            let fault = self.fault(message, self.last(), "expected one of its keys behind it");
            return Err(fault.help(format!("it holds: {}", list(&stated))));
        };
        let Some(child) = (form.of)(&word.text) else {
            let near = nearest(&word.text, keys.iter().copied());
            let message = format!("no key `{}` in {}", word.text, self.whose);
            let fault = self.fault(message, word.span.clone(), "not a key of this table");
            return Err(hints(fault, near, &[("it holds", &stated), ("it may hold", &keys)]));
        };
        let top = self.steps.is_empty();
        if (top && ["title", "unit"].contains(&word.text.as_str()))
            || word.text == "name" && self.named()
        {
            let message = format!("`{}` is not for varying", word.text);
            return Err(self.fault(message, word.span.clone(), "nothing to compute with"));
        }
        let inner = table.and_then(|t| t.get(&word.text));
        let inside = matches!(child, Form::Table(_) | Form::OneOrMany(_));
        if inner.is_none() && inside && !OPEN.contains(&word.text.as_str()) {
            let message = format!("there is no `{}` in {}", word.text, self.whose);
            let fault = self.fault(message, word.span.clone(), "not in this file");
            let fault = fault.help(format!("it holds: {}", list(&stated)));
            let Form::Table(form) = &child else { return Err(fault) };
            let way = format!(
                "once the job has this `{}`, its values can be varied: {}",
                word.text,
                list(&(form.keys)())
            );
            return Err(fault.help(way));
        }
        self.whose = match (top, ROLES.contains(&word.text.as_str())) {
            (true, true) => word.text.clone(),
            (true, false) => format!("[{}]", word.text),
            _ => format!("`{}` of {}", word.text, self.whose),
        };
        self.steps.push(Step::Key(word.text.clone()));
        self.next += 1;
        self.go(inner, &child)
    }

    /// One of several tables: by name, by number, or the sole one.
    fn many(&mut self, item: Option<&Item>, form: &Form) -> Result<Leaf, Diagnostic> {
        let Some(item) = item else { return Err(self.absent()) };
        let tables: Vec<&Item> = match item {
            Item::ArrayOfTables(list) => (0..list.len()).filter_map(|k| item.get(k)).collect(),
            item if item.is_array() => {
                let count = item.as_array().map_or(0, toml_edit::Array::len);
                (0..count).filter_map(|k| item.get(k)).collect()
            }
            item => vec![item],
        };
        let name = |k: &usize| tables.get(*k)?.get("name").and_then(Item::as_str);
        let names: Vec<&str> = (0..tables.len()).filter_map(|k| name(&k)).collect();
        let word = self.words.get(self.next);
        let called = word.and_then(|w| (0..tables.len()).find(|k| name(k) == Some(&w.text)));
        let numbered = word.and_then(Word::number).map(|n| n - 1).filter(|k| *k < tables.len());
        let kind = self.whose.clone();
        let chosen = match (called.or(numbered), word) {
            (Some(k), _) => {
                self.next += 1;
                k
            }
            (None, Some(word)) if tables.len() == 1 && self.is_key(form, word) => 0,
            (None, None) if tables.len() == 1 => 0,
            (None, word) => {
                let given = word.map_or("", |w| w.text.as_str());
                let copies = given.rsplit_once('-').filter(|(base, _)| names.contains(base));
                let near = nearest(given, names.iter().copied());
                let message = match word {
                    None => format!("there are {} tables of this kind: {kind}", tables.len()),
                    Some(_) => format!("there is no {kind} `{given}`"),
                };
                let at = word.map_or(self.last(), |w| w.span.clone());
                let fault = self.fault(message, at, "expected a name, or a number from 1");
                let fault = hints(fault, near, &[("there is", &names)]);
                return Err(match copies {
                    Some((base, _)) => {
                        fault.help(format!("copies of `{base}` are varied together"))
                    }
                    None => fault,
                });
            }
        };
        self.whose = match name(&chosen) {
            Some(name) => format!("{kind} `{name}`"),
            None => kind,
        };
        if !item.is_table_like() {
            self.steps.push(Step::Index(chosen));
        }
        self.go(tables.get(chosen).copied(), form)
    }

    /// True for a word that could be the next key of the sole table: then no name has been meant.
    fn is_key(&self, form: &Form, word: &Word) -> bool {
        let Form::Table(table) = form else { return false };
        let more = self.next + 1 < self.words.len();
        // with one word left it can only be a key
        (table.of)(&word.text).is_some() || !more || nearest(&word.text, (table.keys)()).is_some()
    }

    /// 0 for x, 1 for y.
    fn side(&mut self) -> Result<usize, Diagnostic> {
        let word = self.words.get(self.next);
        let k = match word.map(|w| w.text.as_str()) {
            Some("x" | "1") => 0,
            Some("y" | "2") => 1,
            _ => {
                let message = format!("{} is a pair", self.whose);
                let at = word.map_or(self.last(), |w| w.span.clone());
                let label = "expected .x or .y behind it";
                return Err(self.fault(message, at, label).help(".1 and .2 will do as well"));
            }
        };
        self.next += 1;
        Ok(k)
    }

    /// A number from 1 to `count`, as an index from 0.
    fn index(&mut self, count: usize) -> Result<usize, Diagnostic> {
        let word = self.words.get(self.next);
        match word.and_then(Word::number).filter(|n| *n <= count) {
            Some(n) => {
                self.next += 1;
                Ok(n - 1)
            }
            None => {
                let message = format!("{} is a list of {count}", self.whose);
                let at = word.map_or(self.last(), |w| w.span.clone());
                Err(self.fault(message, at, &format!("expected a number from 1 to {count}")))
            }
        }
    }

    fn leaf(&self, leaf: Leaf) -> Result<Leaf, Diagnostic> {
        match self.words.get(self.next) {
            None => Ok(leaf),
            Some(word) => {
                let message = format!("{} is a single value", self.whose);
                Err(self.fault(message, word.span.clone(), "nothing is inside it"))
            }
        }
    }

    /// The last key on the way.
    fn key(&self) -> Option<&str> {
        self.steps.iter().rev().find_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        })
    }

    /// True where `name` is that of a body or supply, not of a drawing.
    fn named(&self) -> bool {
        self.key().is_some_and(|key| ROLES.contains(&key) || key == "supply")
    }

    fn last(&self) -> Range<usize> {
        self.words.get(self.next.saturating_sub(1)).map_or(0..self.end, |w| w.span.clone())
    }

    fn absent(&self) -> Diagnostic {
        let message = format!("{} is not in the file in this form", self.whose);
        self.fault(message, self.last(), "nothing to vary").help("write it into the job file first")
    }

    fn fault(&self, message: String, span: Range<usize>, label: &str) -> Diagnostic {
        Diagnostic::error("E027", message).at(span, label)
    }
}

fn list(words: &[&str]) -> String {
    if words.is_empty() { "nothing".into() } else { words.join(", ") }
}

/// The fault with what was probably meant, and lists of what there is.
fn hints(fault: Diagnostic, near: Option<&str>, lists: &[(&str, &[&str])]) -> Diagnostic {
    let fault = match near {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault,
    };
    lists.iter().fold(fault, |fault, (what, words)| fault.help(format!("{what}: {}", list(words))))
}
