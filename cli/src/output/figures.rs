//! The planner's figures in shop units, with their uncertainty.

use solver::plan::{Dimension, Figure, Measured};

use super::format::{DisplayUnits, duration, percent, plus_minus, three};

/// Unit in which a figure is shown; empty for plain numbers.
pub fn figure_unit(figure: Figure, units: DisplayUnits) -> &'static str {
    match figure.dimension() {
        Dimension::Thickness => units.thickness_unit(),
        Dimension::Time => "min",
        Dimension::Mass => "g",
        Dimension::Share => "%",
        Dimension::Number => "",
        Dimension::Potential => "V",
        Dimension::Current => "A",
        Dimension::CurrentDensity => units.density_unit(),
        Dimension::Power => "W",
    }
}

/// A figure in SI as a number in [`figure_unit`].
pub fn figure_number(figure: Figure, si: f64, units: DisplayUnits) -> f64 {
    match figure.dimension() {
        Dimension::Thickness => units.thickness(si),
        Dimension::Time => si / 60.0,
        Dimension::Mass => 1e3 * si,
        Dimension::Share => 100.0 * si,
        Dimension::CurrentDensity => units.density(si),
        Dimension::Number | Dimension::Potential | Dimension::Current | Dimension::Power => si,
    }
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
    let number = |si| figure_number(figure, si, units);
    let text = plus_minus(number(value), number(doubt));
    match figure_unit(figure, units) {
        "" => text,
        unit => format!("{text} {unit}"),
    }
}
