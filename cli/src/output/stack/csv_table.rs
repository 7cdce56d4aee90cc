//! `surface.csv` of a sequence: one row for each piece of outline, one column for each layer.
//!
//! Pieces end wherever a stretch of any layer ends, so every layer is even on each of them. Places
//! are those of the part in the first layer's tank. Numbers have full digits.

use super::StackContext;
use crate::output::surface_csv::number;

/// The table as CSV bytes.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn stack_csv(context: &StackContext) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let fixed = ["body", "s_mm", "length_mm", "x_mm", "y_mm", "nx", "ny"].map(str::to_owned);
    let layers = context.layers.iter().map(|l| format!("thickness_{}_um", l.file_name));
    let last = ["thickness_total_um", "significant", "uncertainty_total_um"].map(str::to_owned);
    let header: Vec<String> = fixed.into_iter().chain(layers).chain(last).collect();
    writer.write_record(&header)?;
    for part in context.parts {
        let stack = &part.stack;
        for (k, place) in stack.places.iter().enumerate() {
            let um = |values: &[f64]| values.get(k).map(|t| number(t * 1e6)).unwrap_or_default();
            let mut row = vec![
                part.name.to_owned(),
                number(place.s_m * 1e3),
                number(place.length_m * 1e3),
                number(place.at.x * 1e3),
                number(place.at.y * 1e3),
                number(place.normal[0]),
                number(place.normal[1]),
            ];
            row.extend(stack.layers.iter().map(|layer| um(&layer.thickness_m)));
            row.push(um(&stack.total.thickness_m));
            row.push(if place.significant { "yes" } else { "no" }.into());
            row.push(um(&stack.total.uncertainty_m));
            writer.write_record(&row)?;
        }
    }
    writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}
