//! `field.csv`: potential and current density on an even lattice of points in the bath.
//!
//! The spacing is a round number of millimetres that gives about ten thousand points; rows run
//! from left to right and then upwards; points inside bodies and outside the tank are left out.

use rayon::prelude::*;
use shapes::Point;
use solver::FieldPoint;

use super::Context;
use super::scale::nice_step;
use super::surface_csv::number;

/// Header of `field.csv`.
pub const HEADER: [&str; 5] = ["x_mm", "y_mm", "potential_V", "ix_A_m2", "iy_A_m2"];
/// More points make a file that no spreadsheet likes and no plot needs.
const POINTS: f64 = 10_000.0;

/// The table as CSV bytes.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn field_csv(context: &Context) -> Result<Vec<u8>, csv::Error> {
    let tank = context.layout.tank.bounds();
    let (left, right) = (tank.x0 * 1e3, tank.x1 * 1e3);
    let (low, high) = (tank.y0 * 1e3, tank.y1 * 1e3);
    let step_mm = nice_step(((right - left) * (high - low) / POINTS).sqrt());
    let multiples =
        |from: f64, to: f64| ((from / step_mm).ceil() as i64, (to / step_mm).floor() as i64);
    let (first_column, last_column) = multiples(left, right);
    let (first_row, last_row) = multiples(low, high);
    let field = &context.solution.field;
    let rows: Vec<Vec<(f64, f64, FieldPoint)>> = (first_row..=last_row)
        .into_par_iter()
        .map(|row| {
            let y_mm = row as f64 * step_mm;
            (first_column..=last_column)
                .filter_map(|column| {
                    let x_mm = column as f64 * step_mm;
                    let value = field.at(Point::new(x_mm * 1e-3, y_mm * 1e-3))?;
                    Some((x_mm, y_mm, value))
                })
                .collect()
        })
        .collect();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for (x_mm, y_mm, value) in rows.into_iter().flatten() {
        let [ix, iy] = value.current_a_m2;
        writer.write_record([x_mm, y_mm, value.potential_v, ix, iy].map(number))?;
    }
    writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}
