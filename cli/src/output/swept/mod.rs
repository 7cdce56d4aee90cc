//! What a sweep found: its table, its charts, and the best of it in words.

mod heat;
mod lines;
mod table;
mod words;

#[cfg(test)]
mod tests;

use solver::plan::{BURNING_SHARE, Dimension, Figure, Measured};

use super::drawing::Drawing;
use super::figures::shop_unit;
use super::format::DisplayUnits;

pub use table::{cells_of, header, read_row};
pub use words::report;

/// A variable of a sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Its dotted name.
    pub name: String,
    /// Unit of its values; empty for plain numbers and choices.
    pub unit: String,
    /// What the values of a choice stand for.
    pub words: Vec<String>,
    /// Values that are told apart in charts, rising: those of a grid, or the middles of equal shares.
    pub bins: Vec<f64>,
    /// The bins stand for ranges around them.
    pub binned: bool,
    /// Values lie at equal ratios.
    pub logarithmic: bool,
    /// Its value in the job as it stands.
    pub stated: Option<f64>,
}

impl Axis {
    /// Its name with the unit, for headings.
    pub fn heading(&self) -> String {
        if self.unit.is_empty() {
            self.name.clone()
        } else {
            format!("{} ({})", self.name, self.unit)
        }
    }

    /// A value in words, without the unit.
    fn value_text(&self, value: f64) -> String {
        match self.words.get(value.max(0.0) as usize) {
            Some(word) => word.clone(),
            None if self.binned => super::format::three(value),
            None => six(value),
        }
    }

    /// A value in words with the unit.
    fn value_words(&self, value: f64) -> String {
        let number = self.words.is_empty();
        let text = match number {
            true => six(value),
            false => self.value_text(value),
        };
        if number && !self.unit.is_empty() { format!("{text} {}", self.unit) } else { text }
    }

    /// The bin nearest to a value.
    fn bin(&self, value: f64) -> usize {
        let apart = |bin: f64| match self.logarithmic && bin > 0.0 && value > 0.0 {
            true => (bin / value).ln().abs(),
            false => (bin - value).abs(),
        };
        let bins = self.bins.iter().enumerate();
        bins.min_by(|a, b| apart(*a.1).total_cmp(&apart(*b.1))).map_or(0, |(k, _)| k)
    }
}

/// What became of a combination of values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// It is solved.
    Solved,
    /// The values make no layout.
    Blocked,
    /// The layout has no answer.
    Failed,
}

impl Status {
    /// Its word in tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Solved => "solved",
            Self::Blocked => "blocked",
            Self::Failed => "failed",
        }
    }
}

/// One combination of values.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its number, from 1.
    pub number: usize,
    /// Its values, one for each axis.
    pub values: Vec<f64>,
    /// Its figures in SI, in the order of [`Figure::ALL`].
    pub figures: Vec<Option<Measured>>,
    /// Whether the stated run meets what is wanted.
    pub meets: Option<bool>,
    /// What became of it.
    pub status: Status,
    /// Why it is not solved.
    pub reason: String,
}

impl Row {
    /// One of its figures.
    pub fn figure(&self, figure: Figure) -> Option<Measured> {
        let k = Figure::ALL.iter().position(|f| *f == figure)?;
        self.figures.get(k).copied().flatten()
    }

    /// True if no more than [`BURNING_SHARE`] of the parts' surface burns.
    fn does_not_burn(&self) -> bool {
        self.figure(Figure::Burning).is_none_or(|share| share.value <= BURNING_SHARE)
    }

    /// True if a significant place gets no metal.
    fn is_bare(&self) -> bool {
        self.figure(Figure::Least).is_some_and(|least| least.value <= 0.0)
    }
}

/// All of a sweep.
#[derive(Debug, Clone)]
pub struct Swept<'a> {
    /// The job's title.
    pub title: &'a str,
    /// What was varied.
    pub axes: Vec<Axis>,
    /// All combinations, in their order.
    pub rows: Vec<Row>,
    /// Units that people read.
    pub units: DisplayUnits,
    /// Least and greatest thickness of the specification, m; none where it is varied.
    pub wanted_m: [Option<f64>; 2],
}

/// What rows are ranked by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// The figure.
    pub figure: Figure,
    /// True if less is better.
    pub less: bool,
    /// All rows burn or leave a significant place bare: then they are ranked by how much of that.
    pub all: bool,
}

impl Aim {
    /// What it measures, in words.
    fn words(self) -> &'static str {
        match (self.all, self.figure) {
            (true, Figure::Burning) => "surface that burns or stays bare",
            (_, figure) => figure.words(),
        }
    }

    /// What a row comes to by it.
    fn of(self, row: &Row) -> Option<Measured> {
        if self.all && self.figure == Figure::Burning {
            let shares = [Figure::Burning, Figure::Bare].into_iter().filter_map(|f| row.figure(f));
            return shares
                .reduce(|a, b| Measured { value: a.value + b.value, doubt: a.doubt + b.doubt });
        }
        row.figure(self.figure)
    }
}

impl Swept<'_> {
    /// Time to what is wanted; where nothing is wanted, the least thickness; without a run, evenness;
    /// without a metal, the greatest current density. Where every row burns or leaves a significant
    /// place bare, the share of the surface that does.
    pub fn aim(&self) -> Aim {
        let known = |figure| self.rows.iter().any(|row| row.figure(figure).is_some());
        let order = [
            (Figure::TimeToWanted, true),
            (Figure::Least, false),
            (Figure::GreatestOverLeast, true),
        ];
        let found = order.into_iter().find(|(figure, _)| known(*figure));
        let (figure, less) = found.unwrap_or((Figure::PeakDensity, true));
        let aim = Aim { figure, less, all: false };
        if self.rows.iter().any(|row| self.worth(row, aim).is_some()) {
            return aim;
        }
        let shares = known(Figure::Burning) || known(Figure::Bare);
        let figure = if shares { Figure::Burning } else { Figure::PeakDensity };
        Aim { figure, less: true, all: true }
    }

    /// What a row comes to by the aim; `None` if it is not solved, burns, or leaves a significant
    /// place bare.
    pub fn worth(&self, row: &Row, aim: Aim) -> Option<Measured> {
        aim.of(row).filter(|_| aim.all || (row.does_not_burn() && !row.is_bare()))
    }

    /// Rows that neither burn nor stay bare, or all where every one does; the best first, equal ones in
    /// their order.
    pub fn best(&self) -> Vec<&Row> {
        let aim = self.aim();
        let mut rows: Vec<(f64, &Row)> =
            self.rows.iter().filter_map(|row| Some((self.worth(row, aim)?.value, row))).collect();
        rows.sort_by(|a, b| if aim.less { a.0.total_cmp(&b.0) } else { b.0.total_cmp(&a.0) });
        rows.into_iter().map(|(_, row)| row).collect()
    }

    /// Obstacles with how often they stood in the way, the commonest first.
    pub fn obstacles(&self) -> Vec<(&str, usize)> {
        let mut counts: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
        for row in self.rows.iter().filter(|row| row.status != Status::Solved) {
            *counts.entry(&row.reason).or_default() += 1;
        }
        let mut counts: Vec<(&str, usize)> = counts.into_iter().collect();
        counts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        counts
    }

    /// The charts with what their names end in: for one variable lines, else a map for each pair.
    pub fn charts(&self) -> Vec<(String, Drawing)> {
        match self.axes.len() {
            0 => Vec::new(),
            1 => vec![(String::new(), lines::drawing(self))],
            2 => vec![(String::new(), heat::drawing(self, [0, 1]))],
            n => {
                let pairs = (0..n).flat_map(|a| (a + 1..n).map(move |b| [a, b]));
                let named = |[a, b]: [usize; 2]| (format!(".{}-{}", a + 1, b + 1), [a, b]);
                pairs.map(named).map(|(name, pair)| (name, heat::drawing(self, pair))).collect()
            }
        }
    }

    /// A figure's unit for people, and how many of it one SI unit is.
    fn shown(&self, dimension: Dimension, greatest: f64) -> (&'static str, f64) {
        match dimension {
            Dimension::Time if greatest > 3.0 * 3600.0 => ("h", 1.0 / 3600.0),
            dimension => shop_unit(dimension, self.units),
        }
    }
}

/// Six digits, without zeros behind: enough for people.
fn six(value: f64) -> String {
    format!("{value:.5e}").parse::<f64>().map_or_else(|_| String::new(), |v| (v + 0.0).to_string())
}

/// Words with a unit, capital first.
fn heading(words: &str, unit: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
    let tail = letters.as_str();
    if unit.is_empty() { format!("{first}{tail}") } else { format!("{first}{tail} ({unit})") }
}
