//! Several runs beside each other: one row of figures for each, and what really differs.
//!
//! A difference counts only where it exceeds the numerical uncertainty of both figures together.

use super::format::{DisplayUnits, duration, percent, three};
use super::surface_csv::number;
use super::{Context, judge};

/// A figure with its numerical uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The figure.
    pub value: f64,
    /// Its uncertainty in the same unit.
    pub doubt: f64,
}

/// What a run comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What it is called: the job's file.
    pub name: String,
    /// Least thickness on the significant surface of all parts, m.
    pub least: Option<Measured>,
    /// Mean thickness there, m.
    pub mean: Option<Measured>,
    /// Greatest thickness there, m.
    pub greatest: Option<Measured>,
    /// Time until the least thickness that this job wants is there, s.
    pub seconds: Option<Measured>,
    /// Metal beyond it, kg; with it what thieves take.
    pub beyond_kg: Option<Measured>,
    /// Share of the parts' outlines that burns.
    pub burning: Option<f64>,
    /// Share of the parts' outlines that stays bare.
    pub bare: Option<f64>,
    /// Voltage of the first supply.
    pub volts: Option<Measured>,
    /// Uncertainty of the local current density at most places, a share.
    pub uncertainty: f64,
    /// Least thickness wanted, m.
    pub wanted_m: Option<f64>,
}

impl Row {
    /// The figures of a run.
    pub fn of(name: &str, context: &Context) -> Self {
        let (account, judged) = (context.account(), judge(context));
        let parts: Vec<_> =
            account.parts.iter().filter_map(|p| Some((p, p.significant?))).collect();
        let of = |value, doubt| Measured { value, doubt };
        let least = parts.iter().map(|(_, s)| of(s.min, s.min_uncertainty));
        let least = least.min_by(|a, b| a.value.total_cmp(&b.value));
        let greatest = parts.iter().map(|(_, s)| of(s.max, s.max_uncertainty));
        let area: f64 = parts.iter().map(|(p, _)| p.significant_area_m2).sum();
        let mean = |f: &dyn Fn(&solver::Spread) -> f64| -> f64 {
            parts.iter().map(|(p, s)| p.significant_area_m2 * f(s)).sum::<f64>() / area
        };
        let beyond: Option<f64> = account.parts.iter().map(|p| p.beyond_kg).sum();
        // metal beyond the specification is as uncertain as the mean thickness
        let relative = |m: Measured| if m.value > 0.0 { m.doubt / m.value } else { 0.0 };
        let mean = (area > 0.0).then(|| of(mean(&|s| s.mean), mean(&|s| s.mean_uncertainty)));
        Self {
            name: name.to_owned(),
            least,
            mean,
            greatest: greatest.max_by(|a, b| a.value.total_cmp(&b.value)),
            seconds: judged
                .seconds_to_min_thickness
                .map(|t| of(t, t * least.map_or(0.0, relative))),
            beyond_kg: beyond.map(|kg| {
                let kg = kg + context.thief_metal_kg();
                of(kg, kg * mean.map_or(0.0, relative))
            }),
            burning: judged.share_above_window,
            bare: judged.share_bare,
            volts: context
                .solution
                .supplies
                .first()
                .map(|s| of(s.voltage_v, s.voltage_uncertainty_v)),
            uncertainty: context.solution.stats.estimated_error,
            wanted_m: context.want.min_thickness.map(|l| l.si()),
        }
    }

    fn figures(&self) -> [(&'static str, Option<Measured>); 6] {
        [
            ("least thickness", self.least),
            ("mean thickness", self.mean),
            ("greatest thickness", self.greatest),
            ("time to the least wanted", self.seconds),
            ("metal beyond it", self.beyond_kg),
            ("voltage", self.volts),
        ]
    }
}

/// The rows as a table for people, and below it what differs from the first.
pub fn table(rows: &[Row], units: DisplayUnits) -> Vec<String> {
    let unit = units.thickness_unit();
    let head = [
        "job".to_owned(),
        format!("least {unit}"),
        format!("mean {unit}"),
        format!("greatest {unit}"),
        "time to wanted".to_owned(),
        "beyond g".to_owned(),
        "burning".to_owned(),
        "bare".to_owned(),
        "volts".to_owned(),
        "numerical ±".to_owned(),
    ];
    let none = || "-".to_owned();
    let thickness = |m: Option<Measured>| m.map_or_else(none, |m| three(units.thickness(m.value)));
    let share = |s: Option<f64>| s.map_or_else(none, percent);
    let mut cells = vec![head.to_vec()];
    cells.extend(rows.iter().map(|row| {
        vec![
            row.name.clone(),
            thickness(row.least),
            thickness(row.mean),
            thickness(row.greatest),
            match (row.wanted_m, row.seconds) {
                (None, _) => none(),
                (Some(_), Some(t)) => duration(t.value),
                (Some(_), None) => "never".into(),
            },
            row.beyond_kg.map_or_else(none, |m| three(m.value * 1e3)),
            share(row.burning),
            share(row.bare),
            row.volts.map_or_else(none, |m| three(m.value)),
            percent(row.uncertainty),
        ]
    }));
    let widths: Vec<usize> = (0..head.len())
        .map(|k| cells.iter().map(|row| row[k].chars().count()).max().unwrap_or(0))
        .collect();
    let mut lines: Vec<String> = cells
        .iter()
        .map(|row| {
            let padded = row.iter().zip(&widths).enumerate().map(|(k, (cell, width))| {
                let gap = " ".repeat(width - cell.chars().count());
                if k == 0 { format!("{cell}{gap}") } else { format!("{gap}{cell}") }
            });
            padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
        })
        .collect();
    if let Some((first, others)) = rows.split_first() {
        lines.push(String::new());
        lines.extend(others.iter().map(|other| difference(first, other)));
        let wants = rows.iter().map(|r| r.wanted_m);
        if wants.clone().any(|w| w != first.wanted_m) {
            lines.push(
                "The jobs want different thicknesses: each time and excess is for its own.".into(),
            );
        }
    }
    lines
}

/// What differs between two rows beyond the uncertainties of both.
fn difference(first: &Row, other: &Row) -> String {
    let (mut differs, mut same) = (Vec::new(), Vec::new());
    for ((what, a), (_, b)) in first.figures().into_iter().zip(other.figures()) {
        let (Some(a), Some(b)) = (a, b) else { continue };
        if (b.value - a.value).abs() <= a.doubt + b.doubt {
            same.push(what);
        } else if a.value > 0.0 {
            let change = 100.0 * (b.value / a.value - 1.0);
            let (sign, size) = if change < 0.0 { ("-", -change) } else { ("+", change) };
            differs.push(format!("{what} {sign}{} %", three(size)));
        } else {
            differs.push(format!("{what} from nothing"));
        }
    }
    let mut text = format!("{} against {}: ", other.name, first.name);
    if differs.is_empty() {
        text.push_str("no difference beyond the numerical uncertainty.");
    } else {
        text.push_str(&differs.join(", "));
        text.push('.');
        if !same.is_empty() {
            text.push_str(&format!(
                " No difference beyond the numerical uncertainty: {}.",
                same.join(", ")
            ));
        }
    }
    text
}

/// The rows for spreadsheets.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn compared_csv(rows: &[Row]) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "job",
        "least_um",
        "least_uncertainty_um",
        "mean_um",
        "mean_uncertainty_um",
        "greatest_um",
        "greatest_uncertainty_um",
        "time_to_wanted_s",
        "time_to_wanted_uncertainty_s",
        "metal_beyond_g",
        "metal_beyond_uncertainty_g",
        "voltage_V",
        "voltage_uncertainty_V",
        "burning_share",
        "bare_share",
        "wanted_um",
    ])?;
    for row in rows {
        let mut cells = vec![row.name.clone()];
        for (m, factor) in [
            (row.least, 1e6),
            (row.mean, 1e6),
            (row.greatest, 1e6),
            (row.seconds, 1.0),
            (row.beyond_kg, 1e3),
            (row.volts, 1.0),
        ] {
            cells.push(m.map(|m| number(m.value * factor)).unwrap_or_default());
            cells.push(m.map(|m| number(m.doubt * factor)).unwrap_or_default());
        }
        let plain = [row.burning, row.bare, row.wanted_m.map(|m| m * 1e6)];
        cells.extend(plain.map(|v| v.map(number).unwrap_or_default()));
        writer.write_record(cells)?;
    }
    writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(name: &str, least: f64, doubt: f64) -> Row {
        Row {
            name: name.into(),
            least: Some(Measured { value: least, doubt }),
            mean: None,
            greatest: None,
            seconds: None,
            beyond_kg: None,
            burning: Some(0.0),
            bare: None,
            volts: Some(Measured { value: 3.0, doubt: 0.01 }),
            uncertainty: 0.01,
            wanted_m: None,
        }
    }

    #[test]
    fn what_lies_within_both_uncertainties_is_no_difference() {
        let said = |b| difference(&row("a", 10e-6, 0.2e-6), &b);
        assert_eq!(
            said(row("b", 10.3e-6, 0.2e-6)),
            "b against a: no difference beyond the numerical uncertainty."
        );
        assert_eq!(
            said(row("b", 12e-6, 0.2e-6)),
            "b against a: least thickness +20.0 %. No difference beyond the numerical uncertainty: voltage."
        );
        assert_eq!(
            said(row("b", 5e-6, 0.0)),
            "b against a: least thickness -50.0 %. No difference beyond the numerical uncertainty: voltage."
        );
    }

    #[test]
    fn every_line_of_the_table_ends_in_the_same_column() {
        let lines = table(
            &[row("short", 1e-6, 0.0), row("a longer name", 123e-6, 0.0)],
            DisplayUnits::Metric,
        );
        let widths: Vec<usize> = lines[..3].iter().map(|l| l.chars().count()).collect();
        assert!(widths.iter().all(|w| *w == widths[0]), "{lines:#?}");
        assert!(lines[0].contains("least µm") && lines[2].contains("123"));
    }
}
