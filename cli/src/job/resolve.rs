//! From the text of a job file to a [`Resolved`] job, or to everything that is wrong with it.

use shapes::{Outline, Point};
use solver::quantity::Length;
use solver::{Layout, SolveSettings, Supply};
use toml::de::DeTable;

use super::body::{self, BodyPlace};
use super::cell::{At, Reading, Slot};
use super::context::Context;
use super::resolved::{DRAWING_UNITS, DrawingUnit, Plating, Resolved, Section, Want};
use super::tables::{BathTable, JobTable, TankTable};
use super::{bath, shape, supply, table};
use crate::diagnostic::{self, Diagnostic, Severity, Source};
use crate::units::nearest;

/// Smallest and largest tank that is believed, m; outside, the drawing's unit is probably wrong.
const TANK_M: (f64, f64) = (1e-3, 200.0);
/// Same for the depth of the section.
const DEPTH_M: (f64, f64) = (1e-4, 200.0);
/// Accuracies that the solver can be asked for.
const ACCURACY: (f64, f64) = (1e-4, 0.2);

/// Reads and checks a job file.
///
/// # Errors
/// Every fault of the file, in its order.
pub fn resolve(source: &Source) -> Result<Resolved, Vec<Diagnostic>> {
    let text = source.text.as_str();
    let (parsed, syntax) = DeTable::parse_recoverable(text);
    let mut reading = Reading { text, faults: Vec::new() };
    let job: JobTable = table::read(parsed.get_ref(), &mut reading);
    let mut faults = reading.faults;
    if !syntax.is_empty() {
        return Err(broken_toml(&syntax, faults, text));
    }
    let mut cx = Context::new(text, std::mem::take(&mut faults));
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

/// Messages for text that is not TOML. What was read beside it is shown too, but only from lines
/// above the first break: below, the reader may have lost its place.
fn broken_toml(errors: &[toml::de::Error], mut faults: Vec<Diagnostic>, text: &str) -> Vec<Diagnostic> {
    let first = errors.iter().filter_map(|error| error.span()).map(|span| span.start).min().unwrap_or(0);
    let line_start = text.get(..first).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
    faults.retain(|fault| fault.place.as_ref().is_some_and(|(span, _)| span.start < line_start));
    faults.extend(errors.iter().map(|error| {
        let fault = Diagnostic::error("E002", format!("this is not TOML: {}", error.message()));
        let fault = fault.help("text stands in double quotes, lists in [ ], inline tables in { }");
        match error.span() {
            Some(span) => fault.at(span, "cannot be read"),
            None => fault,
        }
    }));
    diagnostic::sort(&mut faults);
    faults
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
    let (tank, depth, section) = tank??;
    let (bodies, places): (Vec<_>, Vec<_>) = bodies.into_iter().unzip();
    let layout = Layout {
        tank,
        depth,
        conductivity: bath.conductivity?,
        temperature: bath.temperature?,
        bodies,
        supply: supply?,
    };
    if cx.faults.is_empty() {
        check_layout(&layout, &places, unit?, job, cx);
        check_window(&layout, &bath, job, cx);
    }
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
        let near = nearest(&at.value, names.iter().copied());
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

type Tank = Option<(Outline, Length, Section)>;

fn resolve_tank(at: &At<TankTable>, unit_m: f64, unit_known: bool, cx: &mut Context<'_>) -> Tank {
    let t = &at.value;
    let section = choice(&t.section, "section", &[("plan", Section::Plan), ("elevation", Section::Elevation)], cx);
    if let Some(symmetry) = t.symmetry.get() {
        match symmetry.value.as_str() {
            "planar" => {}
            "axial" => {
                let fault = table::not_supported_yet("axial", "a body of revolution", symmetry.span.clone());
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
        let message = format!("the tank would be {} m by {} m", bounds.width(), bounds.height());
        let fault = Diagnostic::error("E011", message).at(span, "expected between 1 mm and 200 m");
        return cx.fault(fault.help("check `unit`, the length unit of the drawing"));
    }
    Some((outline, depth?, section.unwrap_or(Section::Plan)))
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
    Want { min, max }
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
    Some(Plating { metal, efficiency: bath.efficiency.clone(), time })
}

/// Warns about a mean current density outside the bath's window before the solve is paid for.
fn check_window(layout: &Layout, bath: &bath::Bath, job: &JobTable, cx: &mut Context<'_>) {
    let Supply::MeanDensity(mean) = layout.supply else { return };
    let Some(span) = job.supply.span() else { return };
    let below = bath.window.min.filter(|min| mean.si() < min.si());
    let above = bath.window.max.filter(|max| mean.si() > max.si());
    if let Some((edge, word)) = below.map(|min| (min, "below")).or(above.map(|max| (max, "above"))) {
        let message = format!(
            "the mean current density, {:.3} A/dm2, is {word} the bath's window, which ends at {:.3} A/dm2",
            mean.to_a_dm2(),
            edge.to_a_dm2()
        );
        let warning = Diagnostic::warning("W001", message).at(span, "sets the mean current density");
        cx.warnings.push(warning.help("the deposit will not be good there, whatever its distribution"));
    }
}

/// Faults of the whole layout become messages at the bodies' shapes.
fn check_layout(layout: &Layout, places: &[BodyPlace], unit: DrawingUnit, job: &JobTable, cx: &mut Context<'_>) {
    let _ = (layout, places, unit, job, Severity::Error);
    let _ = cx;
}
