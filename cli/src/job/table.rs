//! Declares the tables of a job file once: keys, types, hover texts, and the keys of later work.

use std::ops::Range;

use schemars::{Schema, SchemaGenerator};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::cell::Reading;
use crate::diagnostic::Diagnostic;
use crate::units::nearest;

/// A table of a file with a fixed set of keys.
pub trait Table: Default {
    /// What it is called in messages.
    const NAME: &'static str;
    /// Its keys, in the order of the manual.
    const KEYS: &'static [&'static str];
    /// Keys that are reserved, each with what it will do.
    const LATER: &'static [(&'static str, &'static str)];

    /// Reads the value of one of [`Self::KEYS`].
    fn take(&mut self, key: &str, value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>);

    /// Marks an absent key as misspelt, so that nobody complains that it is missing as well.
    fn spoil(&mut self, key: &str);
}

/// The name of a field as a key: `r#use` stands for `use`.
pub fn key(field: &'static str) -> &'static str {
    field.strip_prefix("r#").unwrap_or(field)
}

/// Reads every key of `table`; unknown and reserved ones become faults.
pub fn read<T: Table>(table: &DeTable<'_>, reading: &mut Reading<'_>) -> T {
    let mut out = T::default();
    let mut misspelt = Vec::new();
    for (name, value) in table.iter() {
        let text: &str = name.get_ref();
        if T::KEYS.iter().any(|known| key(known) == text) {
            out.take(text, value, reading);
        } else if let Some((_, what)) = T::LATER.iter().find(|(later, _)| *later == text) {
            reading.fault(not_supported_yet(&format!("`{text}`"), what, name.span()));
        } else {
            let (fault, near) = unknown_key::<T>(text, name.span());
            reading.fault(fault);
            misspelt.extend(near);
        }
    }
    for near in misspelt {
        out.spoil(near);
    }
    out
}

/// The fault for something of the grammar that this version does not do.
pub fn not_supported_yet(word: &str, what: &str, span: Range<usize>) -> Diagnostic {
    Diagnostic::error("E004", format!("{word} is not supported yet"))
        .at(span, what)
        .help("take it out; it would change the answer, so it is not ignored")
}

/// The fault, and the key that was probably meant.
fn unknown_key<T: Table>(word: &str, span: Range<usize>) -> (Diagnostic, Option<&'static str>) {
    let known: Vec<&str> = T::KEYS.iter().map(|k| key(k)).collect();
    let later = T::LATER.iter().map(|(k, _)| *k);
    let near = nearest(word, known.iter().copied().chain(later));
    let fault = Diagnostic::error("E003", format!("unknown key `{word}` in {}", T::NAME));
    let fault = fault.at(span, "not a key of this table");
    let list = format!("keys of {}: {}", T::NAME, known.join(", "));
    let help = near.map_or(list.clone(), |near| format!("did you mean `{near}`? {list}"));
    (fault.help(help), near)
}

/// A schema with its hover text.
pub fn described(schema: Schema, lines: &[&str]) -> Schema {
    let mut schema = schema;
    let text: Vec<&str> = lines.iter().map(|line| line.trim()).collect();
    if !text.is_empty() {
        schema.insert("description".into(), text.join(" ").into());
    }
    schema
}

/// A table's schema from its properties.
pub fn object(lines: &[&str], properties: Vec<(&'static str, Schema)>) -> Schema {
    let mut map = serde_json::Map::new();
    for (name, schema) in properties {
        map.insert(key(name).to_owned(), schema.into());
    }
    let mut schema = described(Schema::default(), lines);
    schema.insert("type".into(), "object".into());
    schema.insert("properties".into(), map.into());
    schema.insert("additionalProperties".into(), false.into());
    schema
}

/// The schema of a table, by reference.
pub fn reference<T: schemars::JsonSchema>(generator: &mut SchemaGenerator) -> Schema {
    generator.subschema_for::<T>()
}

/// Declares a table: a struct of [`Slot`](super::cell::Slot)s, its reader and its schema.
macro_rules! table {
    (
        $(#[doc = $doc:literal])*
        $name:ident, $title:literal {
            $( $(#[doc = $field_doc:literal])* $field:ident : $type:ty, )*
        }
        later { $( $later:literal : $what:literal, )* }
    ) => {
        $(#[doc = $doc])*
        #[derive(Debug, Clone, PartialEq, Default)]
        pub struct $name {
            $( $(#[doc = $field_doc])* pub $field: $crate::job::cell::Slot<$type>, )*
        }

        impl $crate::job::table::Table for $name {
            const NAME: &'static str = $title;
            const KEYS: &'static [&'static str] = &[$( stringify!($field), )*];
            const LATER: &'static [(&'static str, &'static str)] = &[$( ($later, $what), )*];

            fn take(
                &mut self,
                key: &str,
                value: &toml::Spanned<toml::de::DeValue<'_>>,
                reading: &mut $crate::job::cell::Reading<'_>,
            ) {
                $( if key == $crate::job::table::key(stringify!($field)) {
                    self.$field = $crate::job::cell::slot(value, reading);
                } )*
            }

            fn spoil(&mut self, key: &str) {
                $( if key == $crate::job::table::key(stringify!($field)) && self.$field.is_missing() {
                    self.$field = $crate::job::cell::Slot::Bad;
                } )*
            }
        }

        impl $crate::job::cell::Cell for $name {
            fn read(
                value: &toml::Spanned<toml::de::DeValue<'_>>,
                reading: &mut $crate::job::cell::Reading<'_>,
            ) -> Option<Self> {
                match value.get_ref().as_table() {
                    Some(table) => Some($crate::job::table::read(table, reading)),
                    None => {
                        reading.wrong_form(value, concat!("a table (", $title, ")"));
                        None
                    }
                }
            }

            fn schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                $crate::job::table::reference::<Self>(generator)
            }

            fn form() -> $crate::job::Form {
                $crate::job::Form::Table($crate::job::TableForm {
                    name: $title,
                    keys: || vec![$( $crate::job::table::key(stringify!($field)), )*],
                    of: |key| {
                        $( if key == $crate::job::table::key(stringify!($field)) {
                            return Some(<$type as $crate::job::cell::Cell>::form());
                        } )*
                        None
                    },
                })
            }
        }

        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                let properties = vec![$( (
                    stringify!($field),
                    $crate::job::table::described(
                        <$type as $crate::job::cell::Cell>::schema(generator),
                        &[$( $field_doc ),*],
                    ),
                ), )*];
                $crate::job::table::object(&[$( $doc ),*], properties)
            }
        }
    };
}
pub(crate) use table;
