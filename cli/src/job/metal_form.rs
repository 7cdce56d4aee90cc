//! `metal = "Ni"`, or its properties in a table.

use schemars::{Schema, SchemaGenerator, json_schema};
use solver::{METALS, Metal};
use toml::Spanned;
use toml::de::DeValue;

use super::cell::{Cell, Reading};
use super::form::Form;
use super::tables::MetalTable;
use crate::diagnostic::Diagnostic;
use crate::units::nearest;

fn symbols() -> Vec<&'static str> {
    METALS.iter().map(|metal| metal.symbol.as_ref()).collect()
}

/// The deposited metal as a job states it.
#[derive(Debug, Clone, PartialEq)]
pub enum MetalForm {
    /// By symbol.
    Known(Metal),
    /// An element of which baths hold several states, such as "Cu".
    Element(String),
    /// By molar mass, density and valence.
    Stated(MetalTable),
}

impl Cell for MetalForm {
    fn read(value: &Spanned<DeValue<'_>>, reading: &mut Reading<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(symbol) => {
                if let Some(metal) = Metal::named(symbol) {
                    return Some(Self::Known(metal.clone()));
                }
                if Metal::of_element(symbol).next().is_some() {
                    return Some(Self::Element(symbol.to_string()));
                }
                let list = symbols().join(", ");
                let near = nearest(symbol, symbols());
                let fault = Diagnostic::error("E012", format!("unknown metal `{symbol}`"))
                    .at(
                        value.span(),
                        "expected the symbol of a metal, with its state where it matters",
                    )
                    .help(near.map_or_else(
                        || format!("metals: {list}; or give {{ molar_mass, density, valence }}"),
                        |near| format!("did you mean `{near}`? metals: {list}"),
                    ));
                reading.fault(fault);
                None
            }
            DeValue::Table(_) => MetalTable::read(value, reading).map(Self::Stated),
            _ => {
                reading
                    .wrong_form(value, "a metal like \"Ni\", or { molar_mass, density, valence }");
                None
            }
        }
    }

    fn schema(generator: &mut SchemaGenerator) -> Schema {
        let names = symbols();
        json_schema!({ "anyOf": [{ "type": "string", "enum": names }, MetalTable::schema(generator)] })
    }

    fn form() -> Form {
        Form::Either(Box::new([Form::Text, MetalTable::form()]))
    }
}
