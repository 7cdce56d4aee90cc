//! The planner's figures for people and for programs: units, names of columns, uncertainty.

use solver::plan::{Dimension, Figure, Measured};

use super::format::{DisplayUnits, duration, percent, plus_minus, three};
use super::surface_csv::number;

/// Unit in which people read a dimension, empty for plain numbers, and how many of it one SI unit is.
pub fn shop_unit(dimension: Dimension, units: DisplayUnits) -> (&'static str, f64) {
    match dimension {
        Dimension::Thickness => (units.thickness_unit(), units.thickness(1.0)),
        Dimension::Time => ("min", 1.0 / 60.0),
        Dimension::Mass => ("g", 1e3),
        Dimension::Share => ("%", 100.0),
        Dimension::Number => ("", 1.0),
        Dimension::Potential => ("V", 1.0),
        Dimension::Current => ("A", 1.0),
        Dimension::CurrentDensity => (units.density_unit(), units.density(1.0)),
        Dimension::Power => ("W", 1.0),
    }
}

/// Unit in which a figure is shown; empty for plain numbers.
pub fn figure_unit(figure: Figure, units: DisplayUnits) -> &'static str {
    shop_unit(figure.dimension(), units).0
}

/// A figure in SI as a number in [`figure_unit`].
pub fn figure_number(figure: Figure, si: f64, units: DisplayUnits) -> f64 {
    shop_unit(figure.dimension(), units).1 * si
}

/// Unit of a dimension in the column names of tables for programs, and how many of it one SI unit is.
fn column_unit(dimension: Dimension) -> (&'static str, f64) {
    match dimension {
        Dimension::Thickness => ("_um", 1e6),
        Dimension::Time => ("_s", 1.0),
        Dimension::Mass => ("_g", 1e3),
        Dimension::Share => ("_share", 1.0),
        Dimension::Number => ("", 1.0),
        Dimension::Potential => ("_V", 1.0),
        Dimension::Current => ("_A", 1.0),
        Dimension::CurrentDensity => ("_A_dm2", 1e-2),
        Dimension::Power => ("_W", 1.0),
    }
}

/// Names of the two columns of a figure: itself and its uncertainty.
pub fn figure_columns(figure: Figure) -> [String; 2] {
    let (unit, name) = (column_unit(figure.dimension()).0, figure.name().replace('-', "_"));
    [format!("{name}{unit}"), format!("{name}_uncertainty{unit}")]
}

/// What stands in the two columns; nothing where there is no such figure.
pub fn figure_cells(figure: Figure, measured: Option<Measured>) -> [String; 2] {
    let factor = column_unit(figure.dimension()).1;
    let cell =
        |of: &dyn Fn(Measured) -> f64| measured.map(|m| number(factor * of(m))).unwrap_or_default();
    [cell(&|m| m.value), cell(&|m| m.doubt)]
}

/// A figure read back from its two columns.
pub fn read_figure(figure: Figure, cells: [Option<&String>; 2]) -> Option<Measured> {
    let factor = column_unit(figure.dimension()).1;
    let [value, doubt] = cells.map(|cell| cell.and_then(|text| text.parse::<f64>().ok()));
    Some(Measured { value: value? / factor, doubt: doubt? / factor })
}

/// What a figure is and its unit, for the head of an axis.
pub fn figure_heading(figure: Figure, units: DisplayUnits) -> String {
    match figure_unit(figure, units) {
        "" => figure.words().to_owned(),
        unit => format!("{}, {unit}", figure.words()),
    }
}

/// A figure in SI with its unit.
pub fn figure_text(figure: Figure, si: f64, units: DisplayUnits) -> String {
    match figure.dimension() {
        Dimension::Time => duration(si),
        Dimension::Share => percent(si),
        Dimension::Number => three(si),
        _ => format!("{} {}", three(figure_number(figure, si, units)), figure_unit(figure, units)),
    }
}

/// A figure with its uncertainty and unit.
pub fn measured_text(figure: Figure, measured: Measured, units: DisplayUnits) -> String {
    let Measured { value, doubt } = measured;
    if value == 0.0 || figure.dimension() == Dimension::Share && doubt < 5e-4 {
        return figure_text(figure, value, units);
    }
    let shown = |si| figure_number(figure, si, units);
    let text = plus_minus(shown(value), shown(doubt));
    match figure_unit(figure, units) {
        "" => text,
        unit => format!("{text} {unit}"),
    }
}
