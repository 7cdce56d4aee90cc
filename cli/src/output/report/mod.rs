//! One page for the customer, the operator and the file: verdict, pictures, settings, numbers,
//! assumptions, cautions and the job itself, in one HTML file that needs nothing else.
//!
//! Every number comes from the same [`Context`] as the verdict and the summary. The page reads
//! without a script; with it, a place of an outline is shown in all pictures at once.

mod chart;
mod figures;
mod measure_points;
mod points;
mod settings;
mod tables;
mod words;

use askama::Template;

use super::Context;
use super::drawing::PictureError;
use super::places::Places;
use super::web_table::Table;
use super::{account_text, findings_text, rectifier, verdict};

/// The job as it was read.
#[derive(Debug, Clone, Copy)]
pub struct JobText<'a> {
    /// Name of its file.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
}

/// A page that could not be made.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// A picture failed.
    #[error(transparent)]
    Picture(#[from] PictureError),
    /// The template failed; a fault of this program.
    #[error("the page could not be filled in: {0}")]
    Page(#[from] askama::Error),
    /// The points could not be written; a fault of this program.
    #[error("the points of the outlines could not be written: {0}")]
    Points(#[from] serde_json::Error),
}

/// What the template shows.
#[derive(Template)]
#[template(path = "report/page.html")]
struct Page {
    version: &'static str,
    style: &'static str,
    script: &'static str,
    title: String,
    bath: String,
    standing: words::Standing,
    lead: Vec<String>,
    warnings: Vec<String>,
    figures: Vec<Figure>,
    supplies: Table,
    orders: Vec<String>,
    layout: Figure,
    hanging: Table,
    points: Option<Table>,
    numbers: Vec<Table>,
    account: Vec<String>,
    trust: Vec<String>,
    values: Table,
    cautions: Vec<String>,
    repeat: String,
    job: String,
    job_class: &'static str,
    data: String,
}

/// A picture with what stands in for it.
#[derive(Debug)]
struct Figure {
    id: &'static str,
    /// For the style: `screen` is not printed, `many` is printed larger.
    class: &'static str,
    width: f64,
    height: f64,
    /// The picture in base 64; `None` where the drawing itself is in the page.
    png: Option<String>,
    /// The drawing, or what lies over the picture.
    svg: String,
    alt: String,
    caption: String,
    tables: Vec<Table>,
    plots: Vec<points::PlotJson>,
}

/// Lines of a job that fit on the printed page.
const PRINTED_LINES: usize = 70;

/// The page.
///
/// # Errors
/// [`ReportError`]: only for a fault of this program.
pub fn report_html(context: &Context, job: JobText<'_>) -> Result<String, ReportError> {
    let places = Places::of(context.layout);
    let gauge = measure_points::choose(context, &places);
    let mut figures = vec![figures::deposit(context, &places, &gauge)?, figures::map(context)?];
    figures.extend(chart::profile(context, &places, &gauge));
    let layout = figures::layout(context)?;
    let data = points::json(context, &places, figures.iter().chain([&layout]))?;
    let mut warnings = words::spots(context, &places);
    warnings.extend(account_text::overloaded(context));
    warnings.extend(rectifier::judged(context.solution));
    warnings.extend(findings_text::thick(context));
    let mut trust = vec![verdict::trust_line(context)];
    trust.extend(findings_text::leaning(context));
    let cautions = verdict::closing(&[], &context.findings.bath.cautions);
    let long = job.text.lines().count() > PRINTED_LINES;
    let name = std::path::Path::new(job.name).file_name();
    let name = name.map_or("job.toml".into(), |name| name.to_string_lossy());
    let page = Page {
        version: env!("CARGO_PKG_VERSION"),
        style: include_str!("../../../templates/report/style.css"),
        script: include_str!("../../../templates/report/hover.js"),
        title: context.title.to_owned(),
        bath: settings::bath(context),
        standing: words::standing(context),
        lead: words::lead(context, &places),
        warnings,
        figures,
        supplies: settings::supplies(context),
        orders: settings::orders(context),
        layout,
        hanging: settings::hanging(context),
        points: (!gauge.is_empty()).then(|| measure_points::table(context, &gauge)),
        numbers: tables::numbers(context, &places),
        account: account_text::lines(context),
        trust,
        values: tables::values(context),
        cautions: cautions.iter().map(|c| c.trim_start_matches("Caution. ").to_owned()).collect(),
        repeat: format!(
            "Save this as {} (with the drawings and bath files that it names beside it) and run: throwmap run {0}{}",
            name,
            if long {
                ". On paper it is left out for its length; it stands in the file of this page."
            } else {
                ""
            },
        ),
        job: job.text.to_owned(),
        job_class: if long { "long" } else { "" },
        data,
    };
    Ok(page.render()?)
}
