//! From the text of a job file to a [`Resolved`] job, or to everything that is wrong with it.

use std::ops::Range;

use shapes::{Outline, Point};
use solver::quantity::{Conductivity, Length, Potential, Temperature};
use solver::{Layout, SolveSettings, Supply};
use toml::de::DeTable;

use super::body;
use super::cell::{At, Reading, Slot};
use super::context::Context;
use super::resolved::{DRAWING_UNITS, DrawingUnit, Plating, Resolved, Section};
use super::tables::{BathTable, JobTable, TankTable};
use super::{bath, layout_faults, shape, supply, syntax, table};
use crate::diagnostic::{self, Diagnostic, Source};
use crate::output::{Want, three};
use crate::units::nearest;

/// Smallest and largest tank that is believed, m; outside, the drawing's unit is probably wrong.
const TANK_M: (f64, f64) = (1e-3, 200.0);
/// Same for the depth of the section.
const DEPTH_M: (f64, f64) = (1e-4, 200.0);
/// Words people write for drawing units.
const UNIT_WORDS: &[(&str, &str)] = &[
    ("millimetre", "mm"),
    ("millimeter", "mm"),
    ("centimetre", "cm"),
    ("centimeter", "cm"),
    ("metre", "m"),
    ("meter", "m"),
    ("inch", "in"),
    ("inches", "in"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("thou", "mil"),
];
/// Accuracies that the solver can be asked for.
const ACCURACY: (f64, f64) = (1e-4, 0.2);

/// Reads and checks a job file.
///
/// # Errors
/// Every fault of the file, in its order.
pub fn resolve(source: &Source) -> Result<Resolved, Vec<Diagnostic>> {
    let text = source.text.as_str();
    let mut broken = syntax::faults(text);
    if !broken.is_empty() {
        diagnostic::sort(&mut broken);
        return Err(broken);
    }
    let parsed = DeTable::parse_recoverable(text).0;
    let mut reading = Reading { text, faults: Vec::new() };
    let job: JobTable = table::read(parsed.get_ref(), &mut reading);
    let faults = reading.faults;
    let mut cx = Context::new(text, faults);
    let resolved = build(&job, &mut cx);
    diagnostic::sort(&mut cx.faults);
    match resolved {
        Some(mut resolved) if cx.faults.is_empty() => {
            diagnostic::sort(&mut cx.warnings);
            resolved.warnings = cx.warnings;
            resolved.provenance = cx.provenance;
            Ok(resolved)
        }
        _ => Err(cx.faults),
    }
}

fn build(job: &JobTable, cx: &mut Context<'_>) -> Option<Resolved> {
    let unit = unit(job, cx);
    // with an unknown unit the shapes can still be checked, in any unit
    let unit_m = unit.map_or(1e-3, |unit| unit.metres);
    let how = "add [tank] with size = [600, 400] and depth = 300";
    let tank = cx.required(&job.tank, "tank", "the job file", None, how);
    let tank = tank.map(|at| resolve_tank(at, unit_m, unit.is_some(), cx));
    let bath_table = required_bath(job, cx);
    let bath = bath_table.map_or_else(bath::Bath::default, |at| bath::resolve(at, cx));
    let mut laws = bath.laws.clone();
    if bath_table.is_none() {
        // one message about the missing bath is enough
        (laws.cathode, laws.anode) = (Slot::Bad, Slot::Bad);
    }
    let before = cx.faults.len();
    let bodies = body::resolve(job, unit_m, &laws, cx);
    let complete = cx.faults.len() == before;
    let supply = supply::resolve(&job.supply, &bodies, complete, cx);
    let time = time(job, cx);
    let want = want(job, cx);
    let settings = settings(job, cx);
    let plating = plating(job, &bath, time, cx);
    let (tank, span, depth, section) = tank??;
    let (bodies, places): (Vec<_>, Vec<_>) = bodies.into_iter().unzip();
    // the shapes are checked against each other even if other values are still missing
    let layout = Layout {
        tank,
        depth: depth.unwrap_or(Length::new(1.0)),
        conductivity: bath.conductivity.unwrap_or(Conductivity::new(1.0)),
        temperature: bath.temperature.unwrap_or(Temperature::celsius(25.0)),
        bodies,
        supply: supply.unwrap_or(Supply::Voltage(Potential::new(1.0))),
    };
    let mut wrong = layout_faults::check(&layout, &places, &span, unit?);
    if !cx.faults.is_empty() {
        // parts and anodes may be missing because of their own faults
        wrong.retain(|fault| fault.place.is_some());
    }
    cx.faults.append(&mut wrong);
    (depth?, bath.conductivity?, bath.temperature?, supply?);
    check_window(&layout, &bath, job, cx);
    Some(Resolved {
        title: job.title.get().map_or_else(|| "Plating job".to_owned(), |at| at.value.clone()),
        unit: unit?,
        section,
        layout,
        plating,
        window: bath.window,
        want,
        settings: settings?,
        provenance: Vec::new(),
        cautions: bath.cautions,
        warnings: Vec::new(),
    })
}

fn unit(job: &JobTable, cx: &mut Context<'_>) -> Option<DrawingUnit> {
    let names: Vec<&str> = DRAWING_UNITS.iter().map(|unit| unit.name).collect();
    let how = format!("say in which unit the drawing is, like unit = \"mm\"; units: {}", names.join(", "));
    let at = cx.required(&job.unit, "unit", "the job file", None, &how)?;
    let known = DRAWING_UNITS.iter().find(|unit| unit.name == at.value);
    if known.is_none() {
        let near = nearest(&at.value, names.iter().copied()).or_else(|| {
            let word = nearest(&at.value, UNIT_WORDS.iter().map(|(word, _)| *word))?;
            UNIT_WORDS.iter().find(|(known, _)| *known == word).map(|(_, unit)| *unit)
        });
        let fault = Diagnostic::error("E012", format!("unknown drawing unit `{}`", at.value))
            .at(at.span.clone(), "expected a length unit");
        let help = near.map_or_else(|| how.clone(), |near| format!("did you mean `{near}`? {how}"));
        cx.faults.push(fault.help(help));
    }
    known.copied()
}

fn required_bath<'j>(job: &'j JobTable, cx: &mut Context<'_>) -> Option<&'j At<BathTable>> {
    let how = "add [bath] with use = \"watts-nickel\" (`throwmap baths` lists the library), or with its own values";
    cx.required(&job.bath, "bath", "the job file", None, how)
}

/// Outline and its place, depth (if it is usable), section.
type Tank = Option<(Outline, Range<usize>, Option<Length>, Section)>;

fn resolve_tank(at: &At<TankTable>, unit_m: f64, unit_known: bool, cx: &mut Context<'_>) -> Tank {
    let t = &at.value;
    let section = choice(&t.section, "section", &[("plan", Section::Plan), ("elevation", Section::Elevation)], cx);
    if let Some(symmetry) = t.symmetry.get() {
        match symmetry.value.as_str() {
            "planar" => {}
            "axial" => {
                let fault = table::not_supported_yet("`axial`", "a body of revolution", symmetry.span.clone());
                cx.faults.push(fault);
            }
            _ => {
                choice(&t.symmetry, "symmetry", &[("planar", ())], cx);
            }
        }
    }
    let how = "how far the section extends out of the page, in drawing units (depth = 300) or as text (\"12 in\")";
    let depth = cx.required(&t.depth, "depth", "[tank]", Some(at.span.clone()), how).and_then(|depth| {
        cx.from_job("tank.depth", &depth.span);
        let metres = depth.value.metres(unit_m);
        if (DEPTH_M.0..=DEPTH_M.1).contains(&metres) {
            return Some(Length::new(metres));
        }
        cx.out_of_range(depth.span.clone(), "the depth", "between 0.1 mm and 200 m")
    });
    let drawn = match (&t.size, &t.outline) {
        (Slot::Given(size), Slot::Missing) => {
            let (w, h) = (size.value.0.value, size.value.1.value);
            let made = Outline::rect(Point::new(w / 2.0, h / 2.0), (w, h), 0.0);
            match made {
                Ok(outline) => Some((outline, size.span.clone())),
                Err(error) => {
                    let fault = Diagnostic::error("E014", format!("this is no tank: {error}"));
                    cx.fault(fault.at(size.span.clone(), "expected [width, height]"))
                }
            }
        }
        (Slot::Missing, Slot::Given(outline)) => shape::tank(outline, cx),
        (Slot::Missing, Slot::Missing) => {
            let fault = Diagnostic::error("E006", "the tank has neither `size` nor `outline`");
            let fault = fault.at(at.span.clone(), "needs one of them");
            cx.fault(fault.help("size = [600, 400], or outline = { polygon = [[0,0], ...] }"))
        }
        (Slot::Given(size), Slot::Given(outline)) => {
            let fault = Diagnostic::error("E014", "the tank has both `size` and `outline`")
                .at(outline.span.clone(), "the second shape")
                .and(size.span.clone(), "the first shape");
            cx.fault(fault.help("keep one of them"))
        }
        _ => None,
    };
    let (outline, span) = drawn?;
    cx.from_job("tank", &span);
    let outline = outline.scaled(unit_m);
    let bounds = outline.bounds();
    let (least, most) = (bounds.width().min(bounds.height()), bounds.width().max(bounds.height()));
    if unit_known && !(least >= TANK_M.0 && most <= TANK_M.1) {
        let message = format!("the tank would be {} m by {} m", three(bounds.width()), three(bounds.height()));
        let fault = Diagnostic::error("E011", message).at(span, "expected between 1 mm and 200 m");
        return cx.fault(fault.help("check `unit`, the length unit of the drawing"));
    }
    Some((outline, span, depth, section.unwrap_or(Section::Plan)))
}

/// The value that a word stands for; unknown words are faults.
fn choice<T: Copy>(slot: &Slot<String>, key: &str, known: &[(&str, T)], cx: &mut Context<'_>) -> Option<T> {
    let at = slot.get()?;
    if let Some((_, value)) = known.iter().find(|(word, _)| *word == at.value) {
        return Some(*value);
    }
    let words: Vec<&str> = known.iter().map(|(word, _)| *word).collect();
    let near = nearest(&at.value, words.iter().copied());
    let fault = Diagnostic::error("E012", format!("unknown {key} `{}`", at.value))
        .at(at.span.clone(), format!("expected {}", words.join(" or ")));
    cx.fault(match near {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault,
    })
}

fn time(job: &JobTable, cx: &mut Context<'_>) -> Option<solver::quantity::Time> {
    let at = job.run.get()?.value.time.get()?;
    cx.from_job("run.time", &at.span);
    cx.positive(at, "the plating time")
}

fn want(job: &JobTable, cx: &mut Context<'_>) -> Want {
    let Some(at) = job.want.get() else { return Want::default() };
    let (min, max) = (at.value.min_thickness.get(), at.value.max_thickness.get());
    let min = min.and_then(|at| cx.positive(at, "the least thickness wanted"));
    let max = max.and_then(|at| cx.positive(at, "the greatest thickness allowed"));
    if let (Some(least), Some(most)) = (min, max)
        && least.si() >= most.si()
    {
        let fault = Diagnostic::error("E011", "the least thickness wanted is not below the greatest allowed");
        let place = at.value.max_thickness.span().unwrap_or(at.span.clone());
        cx.faults.push(fault.at(place, "expected more than `min_thickness`"));
    }
    Want { min_thickness: min, max_thickness: max }
}

fn settings(job: &JobTable, cx: &mut Context<'_>) -> Option<SolveSettings> {
    let slot = job.solve.get().map_or(&Slot::Missing, |at| &at.value.accuracy);
    match slot {
        Slot::Bad => None,
        Slot::Missing => {
            cx.by_default("solve.accuracy", "1 %", "not stated");
            Some(SolveSettings::default())
        }
        Slot::Given(at) => {
            cx.from_job("solve.accuracy", &at.span);
            if (ACCURACY.0..=ACCURACY.1).contains(&at.value.0) {
                return Some(SolveSettings { accuracy: at.value.0, ..SolveSettings::default() });
            }
            cx.out_of_range(at.span.clone(), "the accuracy", "between 0.01 % and 20 %")
        }
    }
}

fn plating(
    job: &JobTable,
    bath: &bath::Bath,
    time: Option<solver::quantity::Time>,
    cx: &mut Context<'_>,
) -> Option<Plating> {
    let wanted = job.want.get().filter(|at| !(at.value.min_thickness.is_missing() && at.value.max_thickness.is_missing()));
    let asked = job.run.span().filter(|_| time.is_some()).or(wanted.map(|at| at.span.clone()));
    let metal_missing = job.bath.get().is_some_and(|at| at.value.metal.is_missing() && at.value.r#use.is_missing());
    if let Some(span) = asked.filter(|_| bath.metal.is_none() && metal_missing) {
        let fault = Diagnostic::error("E006", "a thickness is asked for, but the bath names no metal");
        cx.faults.push(fault.at(span, "needs [bath] metal").help("like metal = \"Ni\", or name a bath of the library with `use`"));
    }
    if let Some(span) = wanted.map(|at| at.span.clone()).filter(|_| job.run.get().is_none_or(|at| at.value.time.is_missing())) {
        let fault = Diagnostic::error("E006", "a thickness is wanted, but the job states no plating time");
        cx.faults.push(fault.at(span, "needs [run] time").help("like [run] time = \"25 min\""));
    }
    let metal = bath.metal.clone()?;
    Some(Plating { metal, efficiency: bath.efficiency.clone()?, time })
}

/// Warns about a mean current density outside the bath's window before the solve is paid for.
fn check_window(layout: &Layout, bath: &bath::Bath, job: &JobTable, cx: &mut Context<'_>) {
    let Supply::MeanDensity(mean) = layout.supply else { return };
    let Some(span) = job.supply.span() else { return };
    let below = bath.window.min.filter(|min| mean.si() < min.si());
    let above = bath.window.max.filter(|max| mean.si() > max.si());
    if let Some((edge, word)) = below.map(|min| (min, "below")).or(above.map(|max| (max, "above"))) {
        let message = format!(
            "the mean current density, {} A/dm2, is {word} the bath's window, which ends at {} A/dm2",
            three(mean.to_a_dm2()),
            three(edge.to_a_dm2())
        );
        let warning = Diagnostic::warning("W001", message).at(span, "sets the mean current density");
        cx.warnings.push(warning.help("the deposit will not be good there, whatever its distribution"));
    }
}
