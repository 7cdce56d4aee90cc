//! Which values are tried together: a full grid, or points spread evenly.
use super::variable::Variable;

/// Every combination of some values of each variable, the last variable changing fastest.
pub fn grid(values: &[Vec<f64>]) -> Vec<Vec<f64>> {
    values.iter().fold(vec![Vec::new()], |rows, values| {
        let longer = rows.iter().flat_map(|row| {
            values.iter().map(move |v| row.iter().copied().chain([*v]).collect::<Vec<f64>>())
        });
        longer.collect()
    })
}

/// `count` combinations spread evenly over all that the variables allow, always the same ones; more
/// of them go on where fewer ended. Combinations that steps or lists make equal are kept once.
pub fn spread(variables: &[Variable], count: usize) -> Vec<Vec<f64>> {
    let mut out: Vec<Vec<f64>> = Vec::new();
    let mut seen = std::collections::BTreeSet::new();
    for k in 0..count {
        let places = even_point(k, variables.len());
        let values: Vec<f64> =
            variables.iter().zip(places).map(|(v, place)| v.values.at(place)).collect();
        if seen.insert(values.iter().map(|v| v.to_bits()).collect::<Vec<u64>>()) {
            out.push(values);
        }
    }
    out
}

/// The k-th point of an additive recurrence with the powers of the generalised golden ratio
/// (Roberts 2018, "The unreasonable effectiveness of quasirandom sequences"): evenly spread in the
/// unit cube of any number of dimensions.
pub fn even_point(k: usize, dimensions: usize) -> Vec<f64> {
    let mut ratio = 2.0f64;
    for _ in 0..40 {
        ratio = libm::pow(1.0 + ratio, 1.0 / (dimensions as f64 + 1.0));
    }
    let step = |d: usize| libm::pow(ratio, -(d as f64 + 1.0));
    (0..dimensions).map(|d| (0.5 + (k as f64) * step(d)).fract()).collect()
}

#[cfg(test)]
mod tests {
    use super::super::variable::{Scale, Values};
    use super::*;

    #[test]
    fn a_grid_has_every_combination_once() {
        let rows = grid(&[vec![1.0, 2.0], vec![5.0, 6.0, 7.0]]);
        assert_eq!(rows.len(), 6);
        assert_eq!((&rows[0][..], &rows[1][..]), (&[1.0, 5.0][..], &[1.0, 6.0][..]));
        assert_eq!(grid(&[]), [Vec::<f64>::new()]);
    }

    /// Every sixteenth of the square gets its share of 512 points to within a quarter: random points
    /// would miss that in most cells.
    #[test]
    fn spread_points_leave_no_part_empty() {
        let values = Values::Between { low: 0.0, high: 4.0, scale: Scale::Linear, step: None };
        let variable = |name: &str| Variable { name: name.into(), values: values.clone() };
        let rows = spread(&[variable("a"), variable("b")], 512);
        let mut cells = [0; 16];
        for row in &rows {
            cells[row[0] as usize * 4 + row[1] as usize] += 1;
        }
        assert!(cells.iter().all(|n| (24..=40).contains(n)), "{cells:?}");
        assert_eq!(rows[..100], spread(&[variable("a"), variable("b")], 100)[..]);
    }
}
