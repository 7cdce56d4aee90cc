//! `metal = "Ni"`, or its properties in a table.

use schemars::{Schema, SchemaGenerator, json_schema};
use toml::Spanned;
use toml::de::DeValue;

use super::cell::{Cell, Reading};
use super::tables::MetalTable;
use crate::bath::{self, Metal};
use crate::diagnostic::Diagnostic;
use crate::units::nearest;

/// The deposited metal as a job states it.
#[derive(Debug, Clone, PartialEq)]
pub enum MetalForm {
    /// By symbol.
    Known(Metal),
    /// By molar mass, density and valence.
    Stated(MetalTable),
}

impl Cell for MetalForm {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(symbol) => {
                if let Some(metal) = bath::metal(symbol) {
                    return Some(Self::Known(metal));
                }
                let known: Vec<&str> = bath::symbols().collect();
                let list = known.join(", ");
                let near = nearest(symbol, known.iter().copied())
                    .or_else(|| known.iter().copied().find(|k| k.split('(').next() == Some(symbol)));
                let fault = Diagnostic::error("E012", format!("unknown metal `{symbol}`"))
                    .at(value.span(), "expected the symbol of a metal, with its state where it matters")
                    .help(near.map_or_else(
                        || format!("metals: {list}; or give {{ molar_mass, density, valence }}"),
                        |near| format!("did you mean `{near}`? metals: {list}"),
                    ));
                reading.fault(fault);
                None
            }
            DeValue::Table(_) => MetalTable::read(value, reading).map(Self::Stated),
            _ => {
                reading.wrong_form(value, "a metal like \"Ni\", or { molar_mass, density, valence }");
                None
            }
        }
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        let names: Vec<&str> = bath::symbols().collect();
        json_schema!({ "anyOf": [{ "type": "string", "enum": names }, MetalTable::schema(generator)] })
    }
}
