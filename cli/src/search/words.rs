//! What a search found, in words and in a table for people.

use solver::plan::search::{Better, Block, Bound, Limit, Searched, Trial};
use solver::plan::{Figure, Measured, Outcome};

use crate::output::{DisplayUnits, figure_text, measured_text, three};
use crate::vary::Varied;

/// Figures shown of every layout, as far as it has them, behind those that are aimed at or limited.
const SHOWN: [Figure; 10] = [
    Figure::TimeToWanted,
    Figure::Wasted,
    Figure::GreatestOverLeast,
    Figure::Least,
    Figure::Greatest,
    Figure::Burning,
    Figure::Bare,
    Figure::Voltage,
    Figure::Current,
    Figure::AnodeUse,
];

/// What is said about.
pub struct Said<'a> {
    /// The job with its variables.
    pub varied: &'a Varied,
    /// Figures that are aimed at, then those that are limited.
    pub figures: Vec<Figure>,
    /// All limits.
    pub limits: &'a [Limit],
    /// The job's title.
    pub title: &'a str,
    /// Shop units.
    pub units: DisplayUnits,
}

impl Said<'_> {
    /// Everything, line by line. `files` are the job files of the best.
    pub fn lines(&self, found: &Searched, files: &[String]) -> Vec<String> {
        let mut out = vec![format!("{}: {}", self.title, self.aim()), self.counts(found)];
        let layouts: Vec<(String, &Trial)> = match (found.best.as_slice(), found.nearest) {
            ([], None) => Vec::new(),
            ([], Some(nearest)) => vec![("nearest".to_owned(), &found.trials[nearest])],
            (best, _) => {
                let numbered = best.iter().enumerate();
                numbered.map(|(k, &trial)| ((k + 1).to_string(), &found.trials[trial])).collect()
            }
        };
        if !layouts.is_empty() {
            out.push(String::new());
            let own = found.own.map(|own| ("as it is".to_owned(), &found.trials[own]));
            out.extend(self.table(own.into_iter().chain(layouts)));
            out.push(String::new());
        }
        if found.best.is_empty() {
            out.extend(self.blocked(found));
        } else {
            out.extend(self.gain(found));
            for (k, file) in files.iter().enumerate() {
                out.push(format!("  {}: throwmap run {file}", k + 1));
            }
        }
        out
    }

    /// The figures that are aimed at.
    fn aims(&self) -> &[Figure] {
        let count = self.figures.len().saturating_sub(self.limits.len());
        &self.figures[..count]
    }

    fn aim(&self) -> String {
        let words: Vec<&str> = self.aims().iter().map(|f| f.words()).collect();
        let limits: Vec<String> = self.limits.iter().map(|l| limit_text(l, self.units)).collect();
        let mut text = format!("searched for the best {}", words.join(" and "));
        if !limits.is_empty() {
            text.push_str(&format!("; {}", limits.join(", ")));
        }
        text
    }

    fn counts(&self, found: &Searched) -> String {
        let counts = &found.counts;
        let mut text = format!(
            "{} layouts solved, {} of them to the job's accuracy",
            counts.solved, counts.close
        );
        if counts.blocked > 0 {
            text.push_str(&format!("; {} combinations make no layout", counts.blocked));
        }
        if counts.failed > 0 {
            text.push_str(&format!("; {} have no answer", counts.failed));
        }
        text.push('.');
        if found.stopped {
            text.push_str(" Stopped early: this is the best so far.");
        }
        text
    }

    /// A column for each layout: its values, then its figures.
    fn table<'t>(&self, layouts: impl Iterator<Item = (String, &'t Trial)>) -> Vec<String> {
        let layouts: Vec<(String, &Trial)> = layouts.collect();
        let mut rows: Vec<Vec<String>> = vec![
            std::iter::once(String::new()).chain(layouts.iter().map(|l| l.0.clone())).collect(),
        ];
        for (k, varying) in self.varied.varying.iter().enumerate() {
            let values = layouts.iter().map(|(_, trial)| varying.text(trial.values[k]));
            rows.push(std::iter::once(varying.variable.name.clone()).chain(values).collect());
        }
        for figure in self.shown() {
            let of = |trial: &Trial| trial.found.outcome().and_then(|o| figure.of(o));
            if layouts.iter().all(|(_, trial)| of(trial).is_none()) {
                continue;
            }
            let texts = layouts.iter().map(|(_, trial)| match of(trial) {
                Some(measured) => measured_text(figure, measured, self.units),
                None => "never".to_owned(),
            });
            rows.push(std::iter::once(figure.words().to_owned()).chain(texts).collect());
        }
        columns(&rows)
    }

    fn shown(&self) -> Vec<Figure> {
        let mut out: Vec<Figure> = Vec::new();
        for figure in self.figures.iter().copied().chain(SHOWN) {
            if !out.contains(&figure) {
                out.push(figure);
            }
        }
        out
    }

    /// What the best gains over the layout as it is, and which others are as good.
    fn gain(&self, found: &Searched) -> Vec<String> {
        let Some(&figure) = self.figures.first() else { return Vec::new() };
        let of = |trial: usize| found.trials[trial].found.outcome().and_then(|o| figure.of(o));
        let mut out = Vec::new();
        if let Some(own) = found.own {
            let of =
                |trial: usize, figure: Figure| figure.of(found.trials[trial].found.outcome()?);
            let both = |f: &Figure| Some((*f, of(own, *f)?, of(found.best[0], *f)?));
            let changes: Vec<String> = self
                .aims()
                .iter()
                .filter_map(both)
                .map(|(figure, own, best)| change(figure, own, best))
                .collect();
            if !changes.is_empty() {
                out.push(format!("1 against the job as it is: {}.", changes.join(", ")));
            }
        }
        if let Some(own) = found.own.and_then(|own| found.trials[own].found.outcome()) {
            let broken: Vec<String> = self
                .limits
                .iter()
                .filter(|l| !l.is_kept(own))
                .map(|l| l.figure.words().to_owned())
                .collect();
            if !broken.is_empty() {
                out.push(format!("As it is, the job misses limits: {}.", broken.join(", ")));
            }
        }
        let best = of(found.best[0]);
        let same = found
            .best
            .iter()
            .enumerate()
            .skip(1)
            .filter(|(_, trial)| best.zip(of(**trial)).is_some_and(|(a, b)| !a.differs(&b)));
        let same: Vec<String> = same.map(|(k, _)| (k + 1).to_string()).collect();
        if !same.is_empty() {
            let words = figure.words();
            out.push(format!(
                "In {words} no different from 1 beyond the numerical uncertainty: {}.",
                same.join(", ")
            ));
        }
        out
    }

    fn blocked(&self, found: &Searched) -> Vec<String> {
        let mut out = vec![match found.nearest {
            Some(_) => {
                "No layout keeps to all limits; `nearest` misses them by the least.".to_owned()
            }
            None => "No combination of values makes a layout that can be solved.".to_owned(),
        }];
        out.push("In the way:".into());
        // where nothing else makes a layout, limits that the job itself misses are not what blocks
        if found.nearest.is_some() {
            out.extend(found.blocks.iter().map(|block| format!("  {}", self.block(block, found))));
        }
        if found.bare > 0 {
            out.push(format!(
                "  a place that counts stays bare, or may: in {} of {} layouts. Let the current go \
                 higher, or bring an anode nearer to it",
                found.bare,
                solved(found)
            ));
        }
        for (reason, count) in found.reasons.iter().take(5) {
            out.push(format!("  {reason}: {count} of the combinations tried"));
        }
        if found.nearest.is_none() {
            out.push("Give the values more room, or ask for a smaller --clearance.".into());
        }
        out
    }

    fn block(&self, block: &Block, found: &Searched) -> String {
        let figure = block.limit.figure;
        let solved = solved(found);
        let text = |m: Option<Measured>| {
            m.map_or_else(|| "none".to_owned(), |m| measured_text(figure, m, self.units))
        };
        let extreme = match block.limit.bound {
            Bound::AtMost(_) => "least",
            Bound::AtLeast(_) => "most",
        };
        let mut out = format!(
            "{}: {} of {solved} layouts miss it; the {extreme} of all is {}, `nearest` has {}",
            limit_text(&block.limit, self.units),
            block.missed,
            text(block.best),
            text(block.nearest)
        );
        if let Some(advice) = advice(&block.limit) {
            out.push_str(&format!(". {advice}"));
        }
        out
    }
}

fn solved(found: &Searched) -> usize {
    found.trials.iter().filter(|t| t.found.outcome().is_some()).count()
}

/// A limit in words.
pub fn limit_text(limit: &Limit, units: DisplayUnits) -> String {
    let value = figure_text(limit.figure, limit.bound.value(), units);
    let bound = match limit.bound {
        Bound::AtMost(_) => "at most",
        Bound::AtLeast(_) => "at least",
    };
    format!("{} {bound} {value}", limit.figure.words())
}

/// What a plater would vary besides.
fn advice(limit: &Limit) -> Option<&'static str> {
    let Bound::AtMost(_) = limit.bound else { return None };
    Some(match limit.figure {
        Figure::Burning | Figure::PeakDensity => {
            "Let the current go lower, anodes farther off, or hang shields or thieves at the hot edges"
        }
        Figure::Low | Figure::Bare => {
            "Let the current go higher, or bring an anode nearer to the dark places"
        }
        Figure::Voltage | Figure::Power => {
            "Let anodes come nearer or be larger, the current go lower, or the bath be another"
        }
        Figure::AnodeDensity | Figure::AnodeUse => "Let there be more or larger anodes",
        Figure::TimeToWanted => {
            "Let the current go higher, or bring an anode nearer to the thinnest place"
        }
        Figure::GreatestOverLeast | Figure::Variation | Figure::Greatest => {
            "Let anodes go farther off or to both sides, or hang shields or thieves at the hot edges"
        }
        _ => return None,
    })
}

fn change(figure: Figure, own: Measured, best: Measured) -> String {
    let words = figure.words();
    if !own.differs(&best) {
        return format!("{words} the same within the numerical uncertainty");
    }
    if own.value <= 0.0 {
        return format!("{words} from nothing");
    }
    let percent = 100.0 * (best.value / own.value - 1.0);
    let sign = if percent < 0.0 { "−" } else { "+" };
    format!("{words} {sign}{} %", three(percent.abs()))
}

/// Cells in columns: the first flush left, the others flush right.
fn columns(rows: &[Vec<String>]) -> Vec<String> {
    let count = rows.first().map_or(0, Vec::len);
    let widths: Vec<usize> = (0..count)
        .map(|k| rows.iter().map(|row| row[k].chars().count()).max().unwrap_or(0))
        .collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).enumerate().map(|(k, (cell, width))| {
            let gap = " ".repeat(width - cell.chars().count());
            if k == 0 { format!("{cell}{gap}") } else { format!("{gap}{cell}") }
        });
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}

/// True if a job file of these aims and limits is to run until the least wanted is there, not for
/// the time that the job states.
pub fn runs_until_wanted(figures: &[Figure]) -> bool {
    figures.iter().any(|f| matches!(f, Figure::TimeToWanted | Figure::Wasted))
}

/// Length of that run: whole tenths of a minute, never less than it takes.
pub fn run_minutes(outcome: &Outcome) -> Option<f64> {
    let seconds = outcome.seconds_to_wanted()?.value;
    seconds.is_finite().then(|| 0.1 * (seconds / 6.0).ceil())
}

/// Which way figures of a front are better.
pub fn axes(figures: [Figure; 2]) -> [solver::plan::search::Axis; 2] {
    figures.map(|figure| solver::plan::search::Axis { figure, better: better(figure) })
}

fn better(figure: Figure) -> Better {
    super::aims::better(figure)
}
