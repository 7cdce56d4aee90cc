//! `surface.csv`: one row for each short stretch of a wetted metal outline, in order along it.
//!
//! `s_mm`, `x_mm`, `y_mm` are the stretch's middle, the other values means over it:
//! `length_mm` along the outline, `area_mm2` of surface.
//! Numbers have full digits: the shortest text that reads back as the same double. A cell is empty
//! where a value is not known (no deposit without a time, no mark without a significant surface).
//! `spot` is `bare`, `low` or `burning` on parts and thieves outside the bath's window, else empty.

use solver::BodyResult;

use super::Context;

/// Header of `surface.csv`.
pub const HEADER: [&str; 15] = [
    "body",
    "s_mm",
    "length_mm",
    "area_mm2",
    "x_mm",
    "y_mm",
    "nx",
    "ny",
    "potential_V",
    "overpotential_V",
    "current_density_A_m2",
    "thickness_um",
    "significant",
    "spot",
    "uncertainty_percent",
];

/// The table as CSV bytes.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn surface_csv(context: &Context) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for (index, body) in context.solution.bodies.iter().enumerate() {
        rows(context, index, body, &mut writer)?;
    }
    writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}

fn rows(
    context: &Context,
    index: usize,
    body: &BodyResult,
    writer: &mut csv::Writer<Vec<u8>>,
) -> Result<(), csv::Error> {
    let thickness = context.deposit_on(index).map(|d| &d.thickness_m);
    let significant = context.significant_on(index);
    for (row, stretch) in body.stretches.iter().enumerate() {
        let density = stretch.current_density_a_m2;
        let percent = (density != 0.0).then(|| 100.0 * (stretch.uncertainty_a_m2 / density).abs());
        writer.write_record([
            body.name.clone(),
            number(stretch.s_m * 1e3),
            number(stretch.length_m * 1e3),
            number(stretch.area_m2 * 1e6),
            number(stretch.at.x * 1e3),
            number(stretch.at.y * 1e3),
            number(stretch.normal[0]),
            number(stretch.normal[1]),
            number(stretch.potential_v),
            number(stretch.overpotential_v),
            number(density),
            thickness.and_then(|t| t.get(row)).map(|t| number(t * 1e6)).unwrap_or_default(),
            significant
                .and_then(|s| s.get(row))
                .map(|s| if *s { "yes" } else { "no" })
                .unwrap_or_default()
                .into(),
            context.spot(index, row).word().into(),
            percent.map(number).unwrap_or_default(),
        ])?;
    }
    Ok(())
}

/// Full digits; empty for what is not a number; no negative zero.
pub fn number(value: f64) -> String {
    if value.is_finite() { format!("{}", value + 0.0) } else { String::new() }
}
