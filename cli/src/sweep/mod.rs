//! A sweep: which combinations of values are solved, and what is kept of it on disk.

mod record;

use std::fmt::Write as _;

use solver::plan::sample::{grid as product, spread};
use solver::plan::{Model, Values};

pub use record::{Journal, Record, Rows, read_journal, read_rows, record_path, table_bytes};

use crate::diagnostic::{Diagnostic, Source};
use crate::job::Resolved;
use crate::output::swept::{Axis, header};
use crate::vary::{Varied, Varying, grid, tidy};

/// Combinations solved at most.
const MOST_POINTS: usize = 1_000_000;
/// Shares that a sampled range is divided into for charts, at most.
const MOST_BINS: usize = 12;

/// What is to be solved.
#[derive(Debug)]
pub struct Setup {
    /// The job with its variables.
    pub varied: Varied,
    /// All combinations of values, in the order of the table.
    pub points: Vec<Vec<f64>>,
    /// The variables, for tables and charts.
    pub axes: Vec<Axis>,
    /// What makes this sweep the same as another.
    pub record: Record,
}

impl Setup {
    /// The sweep of `job`, read from `source`, over the variables `vary`: all combinations, or
    /// `sample` spread evenly.
    ///
    /// # Errors
    /// Everything that is wrong with the variables.
    pub fn new(
        source: &Source,
        job: &Resolved,
        vary: &[String],
        sample: Option<usize>,
    ) -> Result<Self, Vec<Diagnostic>> {
        if vary.is_empty() {
            let fault = Diagnostic::error("E027", "nothing is varied");
            let help = "say what: --vary anode.left.move.x=40..160mm/13; may be repeated";
            return Err(vec![fault.help(help)]);
        }
        let varied = Varied::new(source, job, vary)?;
        let points = match sample {
            Some(count) if (1..=MOST_POINTS).contains(&count) => {
                let points = spread(&varied.variables(), count);
                points.into_iter().map(|p| p.into_iter().map(tidy).collect()).collect()
            }
            Some(_) => return Err(vec![too_many()]),
            None => full(&varied)?,
        };
        let axes = varied.varying.iter().map(|v| axis(v, sample)).collect();
        let record = Record {
            throwmap: env!("CARGO_PKG_VERSION").to_owned(),
            job: source.text.clone(),
            vary: vary.to_vec(),
            sample,
            points: points.len(),
            inputs: inputs(&varied, job, &points),
            part: None,
        };
        Ok(Self { varied, points, axes, record })
    }

    /// The names of the columns.
    pub fn header(&self) -> Vec<String> {
        header(&self.axes)
    }
}

fn full(varied: &Varied) -> Result<Vec<Vec<f64>>, Vec<Diagnostic>> {
    let mut all = Vec::new();
    let mut faults = Vec::new();
    let mut count = 1usize;
    for varying in &varied.varying {
        match grid(varying) {
            Some(values) => {
                count = count.saturating_mul(values.len());
                all.push(values);
            }
            None => {
                let name = &varying.variable.name;
                let fault = Diagnostic::error("E028", format!("how many values of `{name}`?"));
                faults.push(fault.help(
                    "write LOW..HIGHunit/COUNT, or --sample COUNT for so many combinations in all",
                ));
            }
        }
    }
    if count > MOST_POINTS {
        faults.push(too_many());
    }
    if faults.is_empty() { Ok(product(&all)) } else { Err(faults) }
}

fn too_many() -> Diagnostic {
    Diagnostic::error("E028", "the number of combinations must be from 1 to 1000000")
        .help("--sample COUNT solves so many of them, spread evenly")
}

/// A variable as tables and charts show it.
pub fn axis(varying: &Varying, sample: Option<usize>) -> Axis {
    let values = &varying.variable.values;
    let (bins, binned) = match (values, sample) {
        (Values::Between { .. }, Some(count)) => {
            // some two or three points to a cell of two ranges, so that few stay empty
            let bins = ((count as f64 / 2.5).sqrt().ceil() as usize).clamp(2, MOST_BINS);
            let middle = |k: usize| tidy(values.at((k as f64 + 0.5) / bins as f64));
            let mut bins: Vec<f64> = (0..bins).map(middle).collect();
            bins.dedup();
            (bins, true)
        }
        _ => (grid(varying).unwrap_or_default(), false),
    };
    let logarithmic =
        matches!(values, Values::Between { scale: solver::plan::Scale::Logarithmic, .. });
    Axis {
        name: varying.variable.name.clone(),
        unit: varying.shown_unit().to_owned(),
        words: varying.words.clone(),
        bins,
        binned,
        logarithmic,
        stated: varying.stated,
    }
}

/// A checksum of what the job file means, with the drawings and bath files that it names: they may
/// change while its text stays.
fn inputs(varied: &Varied, job: &Resolved, points: &[Vec<f64>]) -> String {
    let mut text = String::new();
    let (layout, plating) = (job.positions(), &job.plating);
    let _ = write!(text, "{layout:?}{plating:?}{:?}{:?}{:?}", job.window, job.want, job.settings);
    for (k, varying) in varied.varying.iter().enumerate() {
        for choice in 0..varying.words.len() {
            let first = points.iter().find(|p| p.get(k) == Some(&(choice as f64)));
            if let Some(point) = first {
                let _ = write!(text, "{:?}", varied.task(point));
            }
        }
    }
    // Fowler, Noll, Vo: FNV-1a with 64 bits
    let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{hash:016x}")
}
