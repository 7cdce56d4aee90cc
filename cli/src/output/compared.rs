//! Several runs beside each other: one row of figures for each, and what really differs.
//!
//! A difference counts only where it exceeds the numerical uncertainty of both figures together.

use solver::plan::{Difference, Dimension, Figure, Measured, Outcome, differences};

use super::figures::{figure_cells, figure_columns, figure_number};
use super::format::{DisplayUnits, duration, percent, three};
use super::surface_csv::number;

/// What is compared, in the order of the columns.
const FIGURES: [Figure; 9] = [
    Figure::Least,
    Figure::Mean,
    Figure::Greatest,
    Figure::GreatestOverLeast,
    Figure::TimeToWanted,
    Figure::Beyond,
    Figure::Burning,
    Figure::Bare,
    Figure::Voltage,
];

/// A run with what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What it is called: the job's file.
    pub name: String,
    /// Its figures.
    pub outcome: Outcome,
}

/// The rows as a table for people, and below it what differs from the first.
pub fn table(rows: &[Row], units: DisplayUnits) -> Vec<String> {
    let head: Vec<String> = std::iter::once("job".to_owned())
        .chain(FIGURES.map(|figure| column(figure, units)))
        .chain(["numerical ±".to_owned()])
        .collect();
    let mut cells = vec![head.clone()];
    cells.extend(rows.iter().map(|row| {
        let figures = FIGURES.map(|figure| cell(figure, &row.outcome, units));
        let error = percent(row.outcome.estimated_error);
        std::iter::once(row.name.clone()).chain(figures).chain([error]).collect()
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
        let wants = rows.iter().map(|r| r.outcome.wanted_m);
        if wants.clone().any(|w| w != first.outcome.wanted_m) {
            lines.push(
                "The jobs want different thicknesses: each time and excess is for its own.".into(),
            );
        }
    }
    lines
}

/// Head of a column.
fn column(figure: Figure, units: DisplayUnits) -> String {
    let thickness = |word: &str| format!("{word} {}", units.thickness_unit());
    match figure {
        Figure::Least | Figure::Mean | Figure::Greatest => thickness(figure.name()),
        Figure::GreatestOverLeast => "greatest/least".into(),
        Figure::TimeToWanted => "time to wanted".into(),
        Figure::Beyond => "beyond g".into(),
        Figure::Voltage => "volts".into(),
        _ => figure.name().into(),
    }
}

/// A figure in the unit of its column.
fn cell(figure: Figure, outcome: &Outcome, units: DisplayUnits) -> String {
    let Some(Measured { value, .. }) = figure.of(outcome) else {
        let never = figure == Figure::TimeToWanted && never(outcome);
        return if never { "never".into() } else { "-".into() };
    };
    match figure.dimension() {
        Dimension::Time => duration(value),
        Dimension::Share => percent(value),
        _ => three(figure_number(figure, value, units)),
    }
}

/// True if what is wanted is never there.
fn never(outcome: &Outcome) -> bool {
    outcome.growth.is_some() && outcome.wanted_m.is_some() && outcome.seconds_to_wanted().is_none()
}

/// What differs between two rows beyond the uncertainties of both.
fn difference(first: &Row, other: &Row) -> String {
    let found = differences(&first.outcome, &other.outcome, &FIGURES);
    let (differs, same): (Vec<&Difference>, Vec<&Difference>) =
        found.iter().partition(|d| d.is_real());
    let mut differs: Vec<String> = differs.into_iter().map(changed).collect();
    match (never(&first.outcome), never(&other.outcome)) {
        (false, true) => differs.push("what is wanted is never there".into()),
        (true, false) => differs.push("what is wanted is there in time".into()),
        _ => {}
    }
    let mut text = format!("{} against {}: ", other.name, first.name);
    if differs.is_empty() {
        text.push_str("no difference beyond the numerical uncertainty.");
        return text;
    }
    text.push_str(&differs.join(", "));
    text.push('.');
    // of two that burn nowhere nothing need be said
    let same = same.iter().filter(|d| d.from.value != 0.0 || d.to.value != 0.0);
    let same: Vec<&str> = same.map(|d| d.figure.words()).collect();
    if !same.is_empty() {
        text.push_str(&format!(
            " No difference beyond the numerical uncertainty: {}.",
            same.join(", ")
        ));
    }
    text
}

/// A change in words: shares as they are, all else against the first.
fn changed(difference: &Difference) -> String {
    let what = difference.figure.words();
    match (difference.figure.dimension(), difference.relative()) {
        (Dimension::Share, _) => format!(
            "{what} {} instead of {}",
            percent(difference.to.value),
            percent(difference.from.value)
        ),
        (_, None) => format!("{what} from nothing"),
        (_, Some(change)) if change >= 2.0 => {
            format!("{what} {} times as great", three(1.0 + change))
        }
        (_, Some(change)) => {
            let sign = if change < 0.0 { '-' } else { '+' };
            format!("{what} {sign}{} %", three(100.0 * change.abs()))
        }
    }
}

/// The rows for spreadsheets.
///
/// # Errors
/// None in practice: the table is written to memory.
pub fn compared_csv(rows: &[Row]) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let names = FIGURES.into_iter().flat_map(figure_columns);
    let head = std::iter::once("job".to_owned()).chain(names).chain(["wanted_um".to_owned()]);
    writer.write_record(head)?;
    for row in rows {
        let mut cells = vec![row.name.clone()];
        for figure in FIGURES {
            cells.extend(figure_cells(figure, figure.of(&row.outcome)));
        }
        cells.push(row.outcome.wanted_m.map(|m| number(m * 1e6)).unwrap_or_default());
        writer.write_record(cells)?;
    }
    writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}

#[cfg(test)]
mod tests {
    use solver::plan::{Feed, Growth};

    use super::*;

    /// A run of 1000 s with this least thickness and the share that burns; 30 µm at most.
    fn row(name: &str, least_m: f64, doubt_m: f64, burning: f64) -> Row {
        let exact = |value| Measured { value, doubt: 0.0 };
        let growth = |m: f64, doubt: f64| Measured { value: m / 1e3, doubt: doubt / 1e3 };
        let place = shapes::Point::ORIGIN;
        let outcome = Outcome {
            growth: Some(Growth {
                least: growth(least_m, doubt_m),
                mean: growth(20e-6, 1e-6),
                greatest: growth(30e-6, 1e-6),
                least_at: place,
                greatest_at: place,
                variation: 0.2,
                none: 0.0,
            }),
            run_s: Some(1e3),
            wanted_m: None,
            most_m: None,
            metal_kg_s: 0.0,
            thief_kg_s: 0.0,
            beyond_kg: None,
            wasted_kg: None,
            burning: Some(exact(burning)),
            low: None,
            bare: Some(exact(0.0)),
            bearable: 1.0,
            density_a_m2: exact(300.0),
            peak_a_m2: exact(400.0),
            feeds: vec![Feed {
                name: "main".into(),
                amps: exact(10.0),
                volts: Measured { value: 3.0, doubt: 0.01 },
                load: None,
            }],
            power_w: exact(30.0),
            anode_a_m2: 100.0,
            anode_use: None,
            wagner: 0.5,
            estimated_error: 0.01,
        };
        Row { name: name.into(), outcome }
    }

    #[test]
    fn what_lies_within_both_uncertainties_is_no_difference() {
        let said = |b| difference(&row("a", 10e-6, 0.2e-6, 0.0), &b);
        assert_eq!(
            said(row("b", 10.3e-6, 0.2e-6, 0.0)),
            "b against a: no difference beyond the numerical uncertainty."
        );
        let rest =
            "No difference beyond the numerical uncertainty: mean thickness, greatest thickness";
        assert_eq!(
            said(row("b", 12e-6, 0.2e-6, 0.0)),
            format!(
                "b against a: least thickness +20.0 %, greatest over least thickness -16.7 %. {rest}, voltage."
            )
        );
        // 30/5 beside 30/10, each with the 1/30 of the greatest and its own share of the least
        assert_eq!(
            said(row("b", 5e-6, 0.0, 0.035)),
            format!(
                "b against a: least thickness -50.0 %, greatest over least thickness +100 %, surface that burns 3.5 % instead of 0 %. {rest}, voltage."
            )
        );
    }

    #[test]
    fn what_is_never_there_is_said() {
        let wants = |mut row: Row, least: f64| {
            row.outcome.wanted_m = Some(5e-6);
            if let Some(growth) = &mut row.outcome.growth {
                growth.least = Measured { value: least / 1e3, doubt: 0.0 };
            }
            row
        };
        let (a, b) = (row("a", 1e-6, 0.0, 0.0), row("b", 1e-6, 0.0, 0.0));
        let rows = [wants(a, 10e-6), wants(b, 0.0)];
        let lines = table(&rows, DisplayUnits::Metric);
        assert!(lines[2].contains("never") && !lines[1].contains("never"), "{lines:#?}");
        assert!(lines.iter().any(|l| l.contains("what is wanted is never there")), "{lines:#?}");
    }

    #[test]
    fn names_of_columns_carry_their_units() {
        let csv = compared_csv(&[row("a", 1e-6, 0.0, 0.25)]).expect("in memory");
        let mut read = csv::Reader::from_reader(csv.as_slice());
        let head = read.headers().expect("a head").clone();
        let of = |name: &str| head.iter().position(|h| h == name).expect("a column");
        let cells = read.records().next().expect("a row").expect("whole");
        // 30 µm over 1 µm
        for (name, value) in [
            ("least_um", 1.0),
            ("greatest_over_least", 30.0),
            ("burning_share", 0.25),
            ("voltage_uncertainty_V", 0.01),
        ] {
            let found: f64 = cells[of(name)].parse().expect("a number");
            assert!((found / value - 1.0).abs() < 1e-12, "{name}: {found}");
        }
    }

    #[test]
    fn every_line_of_the_table_ends_in_the_same_column() {
        let lines = table(
            &[row("short", 1e-6, 0.0, 0.0), row("a longer name", 123e-6, 0.0, 0.01)],
            DisplayUnits::Metric,
        );
        let widths: Vec<usize> = lines[..3].iter().map(|l| l.chars().count()).collect();
        assert!(widths.iter().all(|w| *w == widths[0]), "{lines:#?}");
        assert!(lines[0].contains("least µm") && lines[2].contains("123"));
    }
}
