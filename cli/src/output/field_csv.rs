//! `field.csv`: potential and current density on an even lattice of points in the bath.
//!
//! Rows run from left to right and then upwards; points inside bodies and outside the tank are
//! left out.

use super::Context;
use super::field_lattice::FieldLattice;
use super::surface_csv::number;

/// Header of `field.csv`.
pub const HEADER: [&str; 5] = ["x_mm", "y_mm", "potential_V", "ix_A_m2", "iy_A_m2"];

/// The table as CSV bytes.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn field_csv(context: &Context) -> Result<Vec<u8>, csv::Error> {
    let lattice = FieldLattice::of(context);
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for (k, value) in lattice.values.iter().enumerate() {
        if let Some(value) = value {
            let ([x_mm, y_mm], [ix, iy]) = (lattice.at_mm(k), value.current_a_m2);
            writer.write_record([x_mm, y_mm, value.potential_v, ix, iy].map(number))?;
        }
    }
    writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}
