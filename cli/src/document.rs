//! Changes to the text of a job file: values set where they stand, comments and order kept.

use shapes::{Point, Vec2};
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TableLike, Value};

use crate::diagnostic::Source;

/// The arrays of bodies.
pub const ROLES: [&str; 6] = ["part", "anode", "shield", "thief", "floating", "screen"];

/// The job with another bath, which brings its own values.
pub fn with_bath(source: &Source, bath: &str) -> Source {
    let mut text = source.text.clone();
    if let Ok(mut doc) = source.text.parse::<DocumentMut>() {
        set_bath(&mut doc, bath);
        text = doc.to_string();
    }
    Source { name: source.name.clone(), text }
}

/// Names another bath, which brings its own values; only the bath file stays.
pub fn set_bath(doc: &mut DocumentMut, bath: &str) {
    let file = doc.get("bath").and_then(|b| b.get("file")).cloned();
    let Some(table) = doc.get_mut("bath").and_then(Item::as_table_like_mut) else { return };
    let others: Vec<String> = table.iter().map(|(key, _)| key.to_owned()).collect();
    for key in others.iter().filter(|key| *key != "use") {
        table.remove(key);
    }
    set(table, "use", bath.into());
    if let Some(file) = file {
        table.insert("file", file);
    }
}

/// Turns `[anode]` into `[[anode]]`, so that another can follow; `None` if it is written inline.
pub fn many(doc: &mut DocumentMut, key: &str) -> Option<()> {
    match doc.get_mut(key) {
        None | Some(Item::ArrayOfTables(_)) => {}
        Some(item @ Item::Table(_)) => {
            let Item::Table(table) = std::mem::take(item) else { return None };
            let mut list = ArrayOfTables::new();
            list.push(table);
            *item = Item::ArrayOfTables(list);
        }
        Some(_) => return None,
    }
    Some(())
}

/// The first table of `[[supply]]`.
pub fn first_supply(doc: &mut DocumentMut) -> Option<&mut dyn TableLike> {
    match doc.get_mut("supply")? {
        Item::ArrayOfTables(list) => list.get_mut(0).map(|t| t as &mut dyn TableLike),
        item => item.as_table_like_mut(),
    }
}

/// The table of a body, or of the body that it is a copy of.
pub fn table_of<'a>(doc: &'a mut DocumentMut, name: &str) -> Option<&'a mut dyn TableLike> {
    let is = |table: &dyn TableLike| {
        let own = table.get("name").and_then(Item::as_str)?;
        let copy = |base: &str| table.get("repeat").is_some() && base == own;
        (own == name || name.rsplit_once('-').is_some_and(|(base, _)| copy(base))).then_some(())
    };
    let mut place = None;
    for role in ROLES {
        match doc.get(role) {
            Some(Item::ArrayOfTables(list)) => {
                if let Some(k) = list.iter().position(|t| is(t).is_some()) {
                    place = Some((role, k));
                }
            }
            Some(item) if item.as_table_like().is_some_and(|t| is(t).is_some()) => {
                place = Some((role, 0));
            }
            _ => {}
        }
    }
    let (role, k) = place?;
    match doc.get_mut(role)? {
        Item::ArrayOfTables(list) => list.get_mut(k).map(|t: &mut Table| t as _),
        item => item.as_table_like_mut(),
    }
}

/// Adds to `move`.
pub fn shift(table: &mut dyn TableLike, by: Vec2) {
    let old = |k: usize| {
        let list = table.get("move").and_then(Item::as_array);
        list.and_then(|a| a.get(k)).and_then(plain).unwrap_or(0.0)
    };
    let to = Point::new(old(0), old(1)) + by;
    set(table, "move", Value::Array(pair(to)));
}

/// Sets a value where it stands, with the comment behind it kept.
pub fn set(table: &mut dyn TableLike, key: &str, mut value: Value) {
    if let Some(old) = table.get_mut(key).and_then(Item::as_value_mut) {
        *value.decor_mut() = old.decor().clone();
        *old = value;
    } else {
        table.insert(key, Item::Value(value));
    }
}

/// The number that an item holds.
pub fn number(item: &Item) -> Option<f64> {
    item.as_value().and_then(plain)
}

/// The number that a value holds.
pub fn plain(value: &Value) -> Option<f64> {
    value.as_float().or_else(|| value.as_integer().map(|n| n as f64))
}

/// Millionths of a drawing unit are enough.
pub fn tidy(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

/// A value of six digits, without a tail of rounding.
pub fn digits(value: f64) -> f64 {
    let size = 10f64.powi(6 - value.abs().max(1e-12).log10().ceil() as i32);
    (value * size).round() / size
}

/// A whole number without a point, as people write it.
pub fn written(value: f64) -> Value {
    let value = tidy(value);
    if value.fract() == 0.0 && value.abs() < 1e15 {
        Value::from(value as i64)
    } else {
        Value::from(value)
    }
}

/// A pair of coordinates.
pub fn pair(at: Point) -> Array {
    [written(at.x), written(at.y)].into_iter().collect()
}
