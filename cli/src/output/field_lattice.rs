//! The even lattice of points at which the field is written to files.
//!
//! The spacing is a round number of millimetres that gives about ten thousand points.

use rayon::prelude::*;
use shapes::Point;
use solver::FieldPoint;

use super::Context;
use super::scale::nice_step;

/// More points make a file that no spreadsheet likes and no plot needs.
const POINTS: f64 = 10_000.0;

/// The field at the points of the lattice, from left to right and then upwards.
#[derive(Debug)]
pub struct FieldLattice {
    /// Spacing, mm; coordinates are whole multiples of it.
    pub step_mm: f64,
    /// Multiple of the first column and of the lowest row.
    pub first: [i64; 2],
    /// Columns and rows.
    pub size: [usize; 2],
    /// Values, `None` inside bodies and outside the tank.
    pub values: Vec<Option<FieldPoint>>,
}

impl FieldLattice {
    /// Samples the field of the answer.
    pub fn of(context: &Context) -> Self {
        let tank = context.layout.tank.bounds();
        let (left, right) = (tank.x0 * 1e3, tank.x1 * 1e3);
        let (low, high) = (tank.y0 * 1e3, tank.y1 * 1e3);
        let step_mm = nice_step(((right - left) * (high - low) / POINTS).sqrt());
        let span = |from: f64, to: f64| {
            let (first, last) = ((from / step_mm).ceil() as i64, (to / step_mm).floor() as i64);
            (first, usize::try_from(last - first + 1).unwrap_or(0))
        };
        let ((first_column, columns), (first_row, rows)) = (span(left, right), span(low, high));
        let field = &context.solution.field;
        let values = (0..columns * rows)
            .into_par_iter()
            .map(|k| {
                let x_mm = (first_column + (k % columns) as i64) as f64 * step_mm;
                let y_mm = (first_row + (k / columns) as i64) as f64 * step_mm;
                field.at(Point::new(x_mm * 1e-3, y_mm * 1e-3))
            })
            .collect();
        Self { step_mm, first: [first_column, first_row], size: [columns, rows], values }
    }

    /// Coordinates of the k-th point, mm.
    pub fn at_mm(&self, k: usize) -> [f64; 2] {
        let [columns, _] = self.size;
        let along = |first: i64, steps: usize| (first + steps as i64) as f64 * self.step_mm;
        [along(self.first[0], k % columns), along(self.first[1], k / columns)]
    }
}
