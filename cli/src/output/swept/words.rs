//! The best of a sweep in words, and which variable matters most.

use solver::plan::{Figure, Measured};

use super::{Axis, Row, Status, Swept};
use crate::output::figures::figure_text;
use crate::output::format::percent;

/// Rows told at most.
const TOLD: usize = 5;

/// Everything, line by line.
pub fn report(swept: &Swept) -> Vec<String> {
    let count = |status| swept.rows.iter().filter(|row| row.status == status).count();
    let names: Vec<&str> = swept.axes.iter().map(|axis| axis.name.as_str()).collect();
    let mut out = vec![format!("{}: {}", swept.title, names.join(", "))];
    let (solved, blocked, failed) =
        (count(Status::Solved), count(Status::Blocked), count(Status::Failed));
    let mut text = format!("{} combinations, {solved} solved", swept.rows.len());
    if blocked > 0 {
        text += &format!(", {blocked} make no layout");
    }
    if failed > 0 {
        text += &format!(", {failed} have no answer");
    }
    out.push(text + ".");
    let obstacles = swept.obstacles();
    for (reason, count) in obstacles.iter().take(3) {
        let times = if *count == 1 { "once".to_owned() } else { format!("{count} times") };
        out.push(format!("  {times}: {reason}"));
    }
    if obstacles.len() > 3 {
        out.push("  and others: see the table".into());
    }
    if solved > 0 {
        best(swept, &mut out);
        out.extend(weights(swept));
    }
    out
}

fn best(swept: &Swept, out: &mut Vec<String>) {
    let (aim, best) = (swept.aim(), swept.best());
    let Some(first) = best.first() else { return };
    let way = if aim.less { "least" } else { "greatest" };
    if aim.all {
        out.push(
            "Every one burns on more than 1 % of the surface or leaves a significant place bare; the least of it:".into(),
        );
    } else {
        out.push(format!(
        "Best by {} ({way} first), of the {} that neither burn on more than 1 % of the surface nor leave a significant place bare:",
        aim.words(),
        best.len()
    ));
    }
    let told: Vec<&Row> = best.iter().copied().take(TOLD).collect();
    out.extend(table(swept, &told));
    let worth = |row: &Row| swept.worth(row, aim);
    let top = worth(first);
    let tied = best
        .iter()
        .skip(1)
        .filter_map(|row| worth(row).zip(top))
        .take_while(|(a, b)| !a.differs(b));
    let tied = tied.count();
    if tied > 0 {
        let rows = if tied == 1 { "row does".into() } else { format!("{tied} rows do") };
        out.push(format!(
            "The next {rows} not differ from the first beyond the numerical uncertainty."
        ));
    }
}

fn table(swept: &Swept, rows: &[&Row]) -> Vec<String> {
    let figures: Vec<Figure> = [
        Figure::TimeToWanted,
        Figure::Least,
        Figure::Greatest,
        Figure::GreatestOverLeast,
        Figure::Wasted,
        Figure::Burning,
        Figure::Bare,
        Figure::PeakDensity,
        Figure::Voltage,
    ]
    .into_iter()
    .filter(|f| rows.iter().any(|row| row.figure(*f).is_some()))
    .collect();
    let mut head = vec!["point".to_owned()];
    head.extend(swept.axes.iter().map(|axis| axis.name.clone()));
    head.extend(figures.iter().map(|f| f.name().replace('-', " ")));
    head.push("meets".into());
    let mut cells = vec![head];
    cells.extend(rows.iter().map(|row| {
        let mut line = vec![row.number.to_string()];
        line.extend(swept.axes.iter().zip(&row.values).map(|(a, v)| a.value_words(*v)));
        line.extend(figures.iter().map(|f| shown(swept, *f, row.figure(*f))));
        line.push(row.meets.map_or("-", |yes| if yes { "yes" } else { "no" }).into());
        line
    }));
    let width = |k: usize| {
        cells.iter().filter_map(|c| c.get(k)).map(|c| c.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..cells[0].len()).map(width).collect();
    let pad = |(cell, width): (&String, &usize)| {
        format!("{}{cell}", " ".repeat(width.saturating_sub(cell.chars().count())))
    };
    let lines = cells.iter().map(|line| line.iter().zip(&widths).map(pad).collect::<Vec<_>>());
    lines.map(|line| format!("  {}", line.join("  "))).collect()
}

fn shown(swept: &Swept, figure: Figure, measured: Option<Measured>) -> String {
    let Some(m) = measured else { return "-".into() };
    figure_text(figure, m.value, swept.units)
}

/// How much of the spread of what is aimed for each variable explains by itself: the variance of
/// the means of its values over the variance of all (Sobol's first-order index, estimated from what
/// was solved). Logarithms, so that a factor counts the same everywhere.
fn weights(swept: &Swept) -> Option<String> {
    let aim = swept.aim();
    let rows: Vec<(f64, &Row)> = swept
        .rows
        .iter()
        .filter_map(|row| Some((aim.of(row)?.value, row)))
        .filter(|(value, _)| *value > 0.0)
        .map(|(value, row)| (value.ln(), row))
        .collect();
    if swept.axes.len() < 2 || rows.len() < 4 {
        return None;
    }
    let mean = rows.iter().map(|(v, _)| v).sum::<f64>() / rows.len() as f64;
    let all: f64 = rows.iter().map(|(v, _)| (v - mean) * (v - mean)).sum();
    if all < 1e-12 * rows.len() as f64 {
        return Some(format!("None of the variables moves the {}.", aim.words()));
    }
    let share = |(k, axis): (usize, &Axis)| {
        let mut sums = vec![(0.0, 0.0); axis.bins.len().max(1)];
        for (value, row) in &rows {
            let bin = row.values.get(k).map_or(0, |v| axis.bin(*v));
            if let Some(sum) = sums.get_mut(bin) {
                *sum = (sum.0 + value - mean, sum.1 + 1.0);
            }
        }
        let between: f64 = sums.iter().filter(|s| s.1 > 0.0).map(|s| s.0 * s.0 / s.1).sum();
        let share = between / all;
        // few points in many bins explain something by chance: take that off (epsilon squared); a
        // full grid holds every combination, so there nothing is left to chance
        let (points, bins) = (rows.len() as f64, sums.iter().filter(|s| s.1 > 0.0).count() as f64);
        let share = match axis.binned && points > bins {
            true => (1.0 - (1.0 - share) * (points - 1.0) / (points - bins)).max(0.0),
            false => share,
        };
        (share, axis.name.clone())
    };
    let mut shares: Vec<(f64, String)> = swept.axes.iter().enumerate().map(share).collect();
    shares.sort_by(|a, b| b.0.total_cmp(&a.0));
    let words: Vec<String> =
        shares.iter().map(|(s, name)| format!("{name} {}", percent(*s))).collect();
    let rest = 1.0 - shares.iter().map(|(s, _)| s).sum::<f64>();
    let rest = match rest > 0.02 {
        true => format!("; {} is their interplay", percent(rest)),
        false => String::new(),
    };
    Some(format!(
        "Of the spread of the {} each explains by itself: {}{rest}.",
        aim.words(),
        words.join(", ")
    ))
}
