//! From a solved job to the bytes of its result files.

use std::path::{Path, PathBuf};

use rayon::prelude::*;
use solver::plan::{Answer, Outcome};
use solver::quantity::Time;
use solver::{
    Deposit, Layout, Position, Role, RunError, Sensitivity, Solution, averaged, peaks,
    smallest_feature,
};

use crate::bath;
use crate::files::Destination;
use crate::job::{Origin, Provenance, Resolved};
use crate::output::{
    Confidence, Context, DisplayUnits, Drawing, Findings, JobText, PictureError, PositionResult,
    RunDeposit, SourcedValue, Value, deposit_drawing, field_csv, field_vti, layout_drawing,
    map_drawing, pdf, profile_drawing, report_html, summary_json, surface_csv, surface_vtu,
};
use crate::outputs::{Content, Format, Output, Picture};

/// The result files of a run, in the order in which they are listed.
pub const KINDS: [&str; 6] =
    ["map.png", "deposit.png", "profile.png", "surface.csv", "field.csv", "summary.json"];

/// Path and content of result files.
pub type Files = Vec<(PathBuf, Vec<u8>)>;

/// A writer that failed.
pub type Fault = Box<dyn std::error::Error + Send + Sync>;

/// Where the results of a command go, and which it writes.
#[derive(Debug)]
pub struct Wanted<'a> {
    /// The folder and what may be written over.
    pub destination: Destination,
    /// Files asked for by name.
    pub named: &'a [Output],
    /// The usual set is written too.
    pub usual: bool,
}

impl<'a> Wanted<'a> {
    /// With files named, only these are written unless a folder is named too.
    pub fn new(job: &str, out_dir: Option<&Path>, named: &'a [Output], force: bool) -> Self {
        let usual = named.is_empty() || out_dir.is_some();
        Self { destination: Destination::new(job, out_dir, force), named, usual }
    }

    /// The paths of everything that is written; `kinds` is the usual set.
    pub fn paths<'k>(&self, kinds: impl IntoIterator<Item = &'k str>) -> Vec<PathBuf> {
        let usual = kinds.into_iter().filter(|_| self.usual);
        let usual = usual.map(|kind| self.destination.path(kind));
        usual.chain(self.named.iter().map(|output| output.path.clone())).collect()
    }
}

/// Units in which the people who drew this job think.
pub fn display_units(job: &Resolved) -> DisplayUnits {
    if matches!(job.unit.name, "in" | "ft" | "mil") {
        DisplayUnits::Us
    } else {
        DisplayUnits::Metric
    }
}

/// A solved job: the answer of every position, in their order; there is at least one.
#[derive(Debug)]
pub struct Solved {
    /// Layouts with their shares of the time.
    pub positions: Vec<(Layout, f64)>,
    /// The answers.
    pub solutions: Vec<Solution>,
    /// For each body and each of its stretches in the first answer whether it is significant.
    pub significant: Vec<Vec<bool>>,
}

impl Solved {
    /// The answer that maps and densities show.
    pub fn first(&self) -> &Solution {
        &self.solutions[0]
    }

    fn all(&self) -> Vec<Position<'_>> {
        let rows = self.positions.iter().zip(&self.solutions);
        rows.map(|((layout, share), solution)| Position { layout, solution, share: *share })
            .collect()
    }
}

/// What a solved job comes to, and the job as it was.
pub fn outcome(job: &Resolved, solved: Solved) -> (Solved, Outcome) {
    let case = job.case();
    let answer = Answer::of(&case, solved.solutions);
    let outcome = Outcome::of(&case, &job.demands(), &answer);
    let Answer { solutions, significant, .. } = answer;
    (Solved { solutions, significant, ..solved }, outcome)
}

/// The metal after the run, if the job states a metal and how long.
///
/// A run up to a thickness ends when the thinnest significant place has it.
///
/// # Errors
/// If the run never ends, because a place that counts gets no metal.
pub fn deposit(job: &Resolved, solved: &Solved) -> Result<Option<(Time, Deposit)>, RunError> {
    let Some((plating, length)) = job.plating.as_ref().and_then(|p| Some((p, p.length?))) else {
        return Ok(None);
    };
    let positions = solved.all();
    let after = |time: Time| averaged(&positions, &plating.metal, &plating.efficiency, time);
    let Some(second) = after(Time::new(1.0)) else { return Ok(None) };
    let current: f64 = positions.iter().map(|p| p.share * p.solution.total_current_a()).sum();
    let time = length.time(&second, &solved.first().bodies, Some(&solved.significant), current)?;
    Ok(after(time).map(|deposit| (time, deposit)))
}

/// What a run shows beside currents and thicknesses.
pub fn findings(job: &Resolved, solved: &Solved, leaning: Option<Sensitivity>) -> Findings {
    let places = job.positions.iter().flat_map(|positions| &positions.places);
    let positions: Vec<PositionResult> = places
        .zip(&solved.solutions)
        .map(|(place, solution)| PositionResult {
            place: *place,
            supplies: solution.supplies.clone(),
        })
        .collect();
    let peaks = if positions.is_empty() { Vec::new() } else { peaks(&solved.all()) };
    // nothing is plated without a time, so nothing can be thick
    let plated = job.plating.as_ref().is_some_and(|p| p.length.is_some());
    let parts = job.layout.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part);
    let smallest = |body: usize| {
        let found = solved.positions.iter().filter_map(|(at, _)| smallest_feature(at, body));
        found.min_by(|a, b| a.size_m.total_cmp(&b.size_m))
    };
    let features = parts.filter(|_| plated).filter_map(|(k, _)| Some((k, smallest(k)?))).collect();
    let metal_kg_c = job.plating.as_ref().map(|p| p.metal.mass_per_charge_kg_c());
    Findings { bath: job.bath.clone(), positions, peaks, metal_kg_c, features, leaning }
}

/// The values that entered the solve, for the reports.
pub fn sources(provenance: &[Provenance]) -> Vec<SourcedValue> {
    provenance
        .iter()
        .map(|value| {
            let confidence = match &value.origin {
                Origin::Job { .. } => Confidence::Given,
                Origin::Library { confidence, .. } => match confidence {
                    bath::Confidence::Own => Confidence::Given,
                    bath::Confidence::High => Confidence::High,
                    bath::Confidence::Medium => Confidence::Medium,
                    bath::Confidence::Low => Confidence::Low,
                },
                Origin::Default { .. } => Confidence::Medium,
            };
            SourcedValue {
                name: value.key.clone(),
                value: Value::Text(value.value.clone()),
                unit: String::new(),
                range: match &value.origin {
                    Origin::Library { range: Some((low, high)), .. } => {
                        Some([low.clone(), high.clone()])
                    }
                    _ => None,
                },
                source: value.origin.words(),
                confidence,
            }
        })
        .collect()
}

/// What the writers get to see.
pub fn context<'a>(
    job: &'a Resolved,
    solved: &'a Solved,
    deposit: Option<&'a (Time, Deposit)>,
    sources: &'a [SourcedValue],
    findings: &'a Findings,
    seconds: f64,
) -> Context<'a> {
    Context {
        title: &job.title,
        layout: &solved.positions[0].0,
        solution: solved.first(),
        deposit: deposit.map(|(time, deposit)| RunDeposit { time: *time, deposit }),
        window: job.window,
        want: job.want,
        units: display_units(job),
        sources,
        accuracy: job.settings.accuracy,
        seconds: Some(seconds),
        significant: Some(&solved.significant),
        findings,
    }
}

/// Everything that is asked for.
///
/// # Errors
/// Only for a fault of this program: all writers work in memory.
pub fn files(context: &Context<'_>, wanted: &Wanted<'_>, job: JobText<'_>) -> Result<Files, Fault> {
    let usual_set = KINDS.into_par_iter().filter(|_| wanted.usual);
    let usual_set =
        usual_set.map(|kind| Ok((wanted.destination.path(kind), usual(context, kind)?)));
    let named = wanted.named.par_iter().map(|output| {
        let bytes = match output.content {
            Content::Report => report_html(context, job)?.into_bytes(),
            other => content(context, other)?,
        };
        Ok((output.path.clone(), bytes))
    });
    usual_set.chain(named).collect()
}

/// The content of a file of the usual set.
///
/// # Errors
/// Only for a fault of this program.
pub fn usual(context: &Context<'_>, kind: &str) -> Result<Vec<u8>, Fault> {
    let output = Output::parse(kind)?;
    content(context, output.content)
}

/// The content of one file.
///
/// # Errors
/// Only for a fault of this program.
pub fn content(context: &Context<'_>, what: Content) -> Result<Vec<u8>, Fault> {
    Ok(match what {
        Content::Picture(picture, format) => {
            stored(&drawing(context, picture.unwrap_or(Picture::Map)), format)?
        }
        Content::AllPictures => {
            let all = [Picture::Map, Picture::Deposit, Picture::Profile, Picture::Layout];
            let drawings = all.map(|picture| drawing(context, picture));
            pdf(&drawings.each_ref())?
        }
        Content::Surface => surface_csv(context)?,
        Content::Field => field_csv(context)?,
        Content::Summary => summary_json(context)?.into_bytes(),
        Content::FieldVti => field_vti(context),
        Content::SurfaceVtu => surface_vtu(context),
        Content::Report => return Err("a report needs the text of its job".into()),
    })
}

/// One of the pictures.
pub fn drawing(context: &Context<'_>, picture: Picture) -> Drawing {
    match picture {
        Picture::Map => map_drawing(context),
        Picture::Deposit => deposit_drawing(context),
        Picture::Profile => profile_drawing(context),
        Picture::Layout => layout_drawing(context.title, context.layout, context.units),
    }
}

/// A drawing as the bytes of a file.
///
/// # Errors
/// Only for a fault of this program.
pub fn stored(drawing: &Drawing, format: Format) -> Result<Vec<u8>, PictureError> {
    match format {
        Format::Png => drawing.png(),
        Format::Svg => drawing.svg().map(String::into_bytes),
        Format::Pdf => drawing.pdf(),
    }
}
