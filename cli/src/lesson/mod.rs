//! Why recesses plate thin: a short page for the apprentice, every number solved when it is made.
//!
//! The lesson's own jobs are solved like any other; the sentences are put together from what comes
//! out, so that the page cannot say what the solver does not.

mod animate;
mod bars;
mod jobs;
mod reading;
mod words;

use askama::Template;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use rayon::prelude::*;

use crate::commands::report;
use crate::output::{Table, map_figure_png, three};
pub use animate::animation;
use jobs::{Aid, EVEN_GAP_MM, Recess};
pub use reading::{LessonError, Reading};
use words::{percent, um};

/// Share of the current that the inside anode gives in the lesson.
const INSIDE_SHARE: f64 = 0.3;

/// What the template shows.
#[derive(Template)]
#[template(path = "lesson/page.html")]
struct Page {
    version: &'static str,
    style: &'static str,
    depth: String,
    gap: String,
    opening: String,
    map: String,
    map_alt: String,
    paths: Table,
    path_words: Vec<String>,
    sections: Vec<Section>,
    aids: Vec<AidSection>,
    aid_table: Table,
    jobs: Vec<(String, String)>,
}

/// Some cases in a row.
struct Section {
    id: &'static str,
    heading: &'static str,
    words: String,
    bars: String,
    table: Table,
}

/// One thing that helps, or does not.
struct AidSection {
    heading: &'static str,
    words: String,
    map: String,
    alt: String,
}

/// The page and the jobs that it was made of, by name.
pub struct Lesson {
    /// One HTML file that needs nothing else.
    pub page: String,
    /// File names and job files.
    pub jobs: Vec<(String, String)>,
}

/// Solves everything and writes the page; `step` is told how many of how many jobs are solved.
///
/// # Errors
/// [`LessonError`]: only for a fault of this program.
pub fn lesson(step: &(dyn Fn(usize, usize) + Sync)) -> Result<Lesson, LessonError> {
    let base = Reading::new(FIRST, Recess::BASE)?;
    let (total_a, _) = base.supply();
    let asked = asked(total_a);
    let count = asked.len() + 1;
    let done = std::sync::atomic::AtomicUsize::new(1);
    let solved: Result<Vec<Reading>, LessonError> = asked
        .par_iter()
        .map(|(name, recess)| {
            let reading = Reading::new(name, *recess);
            step(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1, count);
            reading
        })
        .collect();
    let mut solved = solved?.into_iter();
    let mut take = |n: usize| solved.by_ref().take(n).collect::<Vec<_>>();
    let depths = take(DEPTHS_MM.len());
    let wagner = take(CONDUCTIVITIES_S_M.len());
    let gaps = take(GAPS_MM.len());
    let aids = take(4);
    let jobs = [(FIRST.to_owned(), Recess::BASE)]
        .iter()
        .chain(&asked)
        .map(|(name, recess)| (file_name(name), recess.job(name)))
        .collect::<Vec<_>>();
    let page = Page {
        version: env!("CARGO_PKG_VERSION"),
        style: concat!(
            include_str!("../../templates/report/style.css"),
            include_str!("../../templates/lesson/style.css")
        ),
        depth: base.recess.depth_mm.to_string(),
        gap: base.recess.gap_mm.to_string(),
        opening: opening(&base),
        map: map(&base)?,
        map_alt: format!(
            "Map of the current density in a tank with an anode on the left and a part with a recess on the right. White lines cut the current into equal shares; they crowd at the rim of the recess. {}",
            opening(&base)
        ),
        paths: path_table(&base),
        path_words: words::paths(&base.paths()),
        sections: vec![
            Section::new(
                "depth",
                "Deeper",
                "Depth of the recess",
                &depths,
                &|r| format!("{} mm deep", r.recess.depth_mm),
                words::Sayings {
                    rises: "The deeper the recess, the thicker the bottom.",
                    falls: "The deeper the recess, the more bath lies in its narrow path, and the thinner the bottom.",
                    mixed: "Depth alone does not decide here.",
                    hardly: "Depth hardly matters here.",
                },
            ),
            Section::new(
                "wagner",
                "Better and worse bath",
                "Conductivity and Wagner number",
                &wagner,
                &|r| {
                    let kappa = r.recess.conductivity_s_m.unwrap_or(f64::NAN);
                    format!("{kappa} S/m, Wa {}", three(r.wagner()))
                },
                words::Sayings {
                    rises: "The Wagner number compares the resistance of the reaction on the surface with that of the way through the bath. The better the bath conducts, the greater it is, the less the way matters, and the evener the deposit.",
                    falls: "Here a better conducting bath makes the deposit less even.",
                    mixed: "Conductivity alone does not decide here.",
                    hardly: "Conductivity hardly matters here.",
                },
            ),
            Section::new(
                "distance",
                "Anode nearer or farther",
                "Distance of the anode",
                &gaps,
                &|r| format!("anode at {} mm", r.recess.gap_mm),
                words::Sayings {
                    rises: "Moving the anode away makes the way to the rim longer too, so that the recess loses less by comparison.",
                    falls: "Moving the anode away makes the bottom thinner by comparison.",
                    mixed: "Distance alone does not decide here.",
                    hardly: "Distance hardly moves the share of the bottom: what counts lies in the recess itself. It moves the voltage.",
                },
            ),
        ],
        aids: aid_sections(&aids, &base)?,
        aid_table: {
            let names = [&base].into_iter().chain(&aids).map(title).collect::<Vec<_>>();
            let caption = "All of them, beside the recess with nothing but its anode";
            let rows = names.iter().zip([&base].into_iter().chain(&aids));
            compared(caption, "What is hung in the tank", rows)
        },
        jobs: jobs.clone(),
    };
    Ok(Lesson { page: page.render()?, jobs })
}

/// Names of the job files.
pub fn job_names() -> impl Iterator<Item = String> {
    let names = asked(1.0).into_iter().map(|(name, _)| file_name(&name));
    std::iter::once(file_name(FIRST)).chain(names)
}

/// Name of the recess that the others are compared with.
const FIRST: &str = "recess";

fn file_name(name: &str) -> String {
    format!("{}.toml", name.replace(' ', "-"))
}

/// The other cases by name, where the recess alone takes `total_a`.
fn asked(total_a: f64) -> Vec<(String, Recess)> {
    let of = |change: fn(&mut Recess, f64), value: f64| {
        let mut recess = Recess::BASE;
        change(&mut recess, value);
        recess
    };
    let mut asked: Vec<(String, Recess)> = Vec::new();
    for depth in DEPTHS_MM {
        asked.push((format!("depth {depth} mm"), of(|r, v| r.depth_mm = v, depth)));
    }
    for kappa in CONDUCTIVITIES_S_M {
        let recess = of(|r, v| r.conductivity_s_m = Some(v), kappa);
        asked.push((format!("conductivity {kappa} S per m"), recess));
    }
    for gap in GAPS_MM {
        asked.push((format!("anode at {gap} mm"), of(|r, v| r.gap_mm = v, gap)));
    }
    for (name, aid) in [
        ("inside anode", Aid::InsideAnode { total_a, share: INSIDE_SHARE }),
        ("conforming anode", Aid::ConformingAnode),
        ("shield", Aid::Shield),
        ("thief", Aid::Thief),
    ] {
        asked.push((name.into(), Recess { aid, ..Recess::BASE }));
    }
    asked
}

const DEPTHS_MM: [f64; 4] = [10.0, 20.0, 40.0, 80.0];
const CONDUCTIVITIES_S_M: [f64; 4] = [2.0, 5.0, 15.0, 50.0];
const GAPS_MM: [f64; 4] = [40.0, 80.0, 150.0, 300.0];

impl Section {
    fn new(
        id: &'static str,
        heading: &'static str,
        head: &'static str,
        readings: &[Reading],
        name: &dyn Fn(&Reading) -> String,
        sayings: words::Sayings,
    ) -> Self {
        let names: Vec<String> = readings.iter().map(name).collect();
        let words = words::row(readings, sayings);
        let all: Vec<&Reading> = readings.iter().collect();
        Self {
            id,
            heading,
            bars: bars::svg(
                &names,
                &all,
                &format!("Bars of the thickest place and of the bottom. {words}"),
            ),
            words,
            table: compared(heading, head, names.iter().zip(readings)),
        }
    }
}

fn opening(base: &Reading) -> String {
    let (amps, volts) = base.supply();
    format!(
        "In 30 minutes at {} A ({} V) the rim of the mouth gets {}, the middle of the bottom {}: {} of it.",
        three(amps),
        three(volts),
        um(base.rim),
        um(base.bottom),
        percent(base.evenness())
    )
}

fn path_table(base: &Reading) -> Table {
    let mut table = Table::new(
        "Paths to four places of the part: length of the tubes that end there, and resistance for one square centimetre of the place",
        &[
            "Path to",
            "Mean length of tubes",
            "Current density",
            "Volts lost in the bath",
            "Bath, 1 cm²",
            "Surface, 1 cm²",
        ],
    );
    for p in base.paths() {
        table.push(vec![
            p.place.word().to_owned(),
            p.length_m.map_or("none ends here".into(), |m| {
                format!("{} mm ({} of {})", three(m * 1e3), p.tubes, reading::TUBES)
            }),
            format!("{} A/dm²", three(p.density_a_m2 / 100.0)),
            format!("{} V", three(p.bath_v)),
            format!("{} Ω", three(p.bath_ohm_m2 * 1e4)),
            format!("{} Ω", three(p.surface_ohm_m2 * 1e4)),
        ]);
    }
    table
}

/// Bottom and rim from case to case.
fn compared<'a>(
    caption: &str,
    what: &str,
    cases: impl Iterator<Item = (&'a String, &'a Reading)>,
) -> Table {
    let head = [what, "Thickest place", "Middle of the bottom", "Bottom over thickest", "Voltage"];
    let mut table = Table::new(caption, &head);
    for (name, r) in cases {
        table.push(vec![
            name.clone(),
            um(r.rim),
            um(r.bottom),
            percent(r.evenness()),
            format!("{} V", three(r.supply().1)),
        ]);
    }
    table
}

fn title(r: &Reading) -> String {
    match r.recess.aid {
        Aid::None => "nothing but the anode".into(),
        Aid::InsideAnode { share, .. } => {
            format!("inside anode, {:.0} % of the current", share * 100.0)
        }
        Aid::ConformingAnode => format!("conforming anode, gap {EVEN_GAP_MM} mm"),
        Aid::Shield => "shields before the rim".into(),
        Aid::Thief => "thieves beside the rim".into(),
    }
}

fn aid_sections(aids: &[Reading], base: &Reading) -> Result<Vec<AidSection>, LessonError> {
    let said = [
        ("An inside anode", "A rod in the recess, on a rectifier of its own,"),
        ("A conforming anode", "An anode shaped after the recess"),
        ("A shield", "A pair of plastic sheets before the rim"),
        ("A thief", "A pair of sacrificial rods beside the rim"),
    ];
    aids.par_iter()
        .zip(said.par_iter())
        .map(|(reading, (heading, what))| {
            let words = words::aid(what, reading, base);
            let alt = format!("Map of the current density with {}. {words}", title(reading));
            Ok(AidSection { heading, map: map(reading)?, words, alt })
        })
        .collect()
}

/// The map in base 64.
fn map(reading: &Reading) -> Result<String, LessonError> {
    let findings = report::findings(&reading.job, &reading.solved, None);
    let deposit = Some(&reading.deposit);
    let context = report::context(&reading.job, &reading.solved, deposit, &[], &findings, 0.0);
    Ok(STANDARD.encode(map_figure_png(&context)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers on the page are those of a solve of the job that the page prints.
    #[test]
    fn the_page_says_what_its_jobs_give_and_says_it_twice() {
        let first = lesson(&|_, _| ()).expect("a lesson");
        let again =
            Reading::new("thief", Recess { aid: Aid::Thief, ..Recess::BASE }).expect("solved");
        assert!(first.page.contains(&um(again.bottom)) && first.page.contains(&um(again.rim)));
        assert!(first.page == lesson(&|_, _| ()).expect("a lesson").page);
        assert!(first.page.len() < 2_000_000, "{} bytes", first.page.len());
        assert!(!first.page.contains("http:") && !first.page.contains("https:"));
        for (name, text) in &first.jobs {
            let source = crate::diagnostic::Source { name: name.clone(), text: text.clone() };
            assert!(crate::job::resolve(&source).is_ok(), "{name}");
        }
        // every picture has words
        let images = first.page.matches("<img ").count();
        assert_eq!((images, first.page.matches(" alt=\"").count()), (5, 5));
    }
}
