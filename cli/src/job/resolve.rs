//! From the text of a job file to a [`Resolved`] job, or to everything that is wrong with it.

use solver::quantity::{Conductivity, Length, Potential, Temperature};
use solver::{Drive, Layout, RunLength, SolveSettings, Supply, Symmetry};
use toml::de::DeTable;

use super::body;
use super::cell::{At, Reading, Slot};
use super::context::Context;
use super::resolved::{DRAWING_UNITS, DrawingUnit, Places, Plating, Resolved};
use super::tables::{BathTable, JobTable};
use super::{bath, coating, follow, layout_faults, marks, run_table, supply, syntax, table, tank};
use crate::bath::End;
use crate::diagnostic::{self, Diagnostic, Source};
use crate::output::{Want, three};
use crate::units::nearest;

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
/// Diameter of the ball of ISO 27830 and ISO 1456, m.
const BALL_M: f64 = 0.02;
/// Accuracies that the solver can be asked for.
const ACCURACY: (f64, f64) = (1e-4, 0.2);

/// Reads and checks a job file.
///
/// # Errors
/// Every fault of the file, in its order.
pub fn resolve(source: &Source) -> Result<Resolved, Vec<Diagnostic>> {
    resolve_at(source, None)
}

/// As [`resolve`], with one value of the bath library at an end of its range: `vary` names it as
/// the provenance does. A name that is not used changes nothing.
///
/// # Errors
/// Every fault of the file, in its order.
pub fn resolve_at(source: &Source, vary: Option<(&str, End)>) -> Result<Resolved, Vec<Diagnostic>> {
    let text = source.text.as_str();
    let mut broken = syntax::faults(text);
    if !broken.is_empty() {
        diagnostic::sort(&mut broken);
        return Err(broken);
    }
    let parsed = DeTable::parse_recoverable(text).0;
    if let Some((key, _)) = parsed.get_ref().iter().find(|(key, _)| key.get_ref() == "layer") {
        let fault = Diagnostic::error("E022", "a sequence of layers cannot stand here");
        let fault = fault.at(key.span(), "expected the job of a single bath");
        return Err(vec![
            fault.help("take [[layer]] out, or name this file itself on the command line"),
        ]);
    }
    resolve_tree(source, parsed.get_ref(), vary)
}

/// As [`resolve_at`], for a job given as the tree of its tables; all places in it are places of
/// `source`.
///
/// # Errors
/// As [`resolve`].
pub(super) fn resolve_tree(
    source: &Source,
    tree: &DeTable<'_>,
    vary: Option<(&str, End)>,
) -> Result<Resolved, Vec<Diagnostic>> {
    let mut reading = Reading { text: &source.text, faults: Vec::new() };
    let job: JobTable = table::read(tree, &mut reading);
    let faults = reading.faults;
    let mut cx = Context::new(source, faults, vary);
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
    let tank = tank.map(|at| tank::resolve(at, unit_m, unit.is_some(), cx));
    let bath_table = required_bath(job, cx);
    let bath = bath_table.map_or_else(bath::Bath::default, |at| bath::resolve(at, cx));
    let mut laws = bath.laws.clone();
    if bath_table.is_none() {
        // one message about the missing bath is enough
        (laws.cathode, laws.anode) = (Slot::Bad, Slot::Bad);
    }
    let before = cx.faults.len();
    let hall = tank.as_ref().and_then(Option::as_ref).map(|tank| follow::Hall {
        tank: tank.outline.scaled(unit_m.recip()),
        axis: tank.symmetry == Symmetry::Axial,
        unit_m,
    });
    let bodies = body::resolve(job, unit_m, &laws, bath.conductivity, hall.as_ref(), cx);
    let complete = cx.faults.len() == before;
    let supplies = supply::resolve(&job.supply, &bodies, complete, cx);
    let driven = supplies.is_some();
    let stand_in = || (Supply::all(Drive::Voltage(Potential::new(1.0))), 0..0);
    let (supplies, supply_places): (Vec<_>, Vec<_>) =
        supplies.unwrap_or_else(|| vec![stand_in()]).into_iter().unzip();
    let length = run_table::length(job, cx);
    let positions = run_table::positions(job, unit_m, &bodies, cx);
    let mut want = want(job, cx);
    let settings = settings(job, cx);
    let plating = plating(job, &bath, length, cx);
    coating::of_one_bath(job, plating.as_ref(), &mut want, cx);
    let tank::Tank { outline, span, symmetry, depth, section } = tank??;
    let (bodies, places): (Vec<_>, Vec<_>) = bodies.into_iter().unzip();
    // the shapes are checked against each other even if other values are still missing
    let mut layout = Layout {
        tank: outline,
        symmetry,
        depth: depth.unwrap_or(Length::new(1.0)),
        conductivity: bath.conductivity.unwrap_or(Conductivity::new(1.0)),
        temperature: bath.temperature.unwrap_or(Temperature::celsius(25.0)),
        bodies,
        supplies,
    };
    marks::by_ball(&mut layout, &places, ball(job, cx));
    let mut wrong = layout_faults::check(&layout, (&places, &supply_places, &span), unit?);
    if let Some(Some(positions)) = positions.as_ref().filter(|_| wrong.is_empty()) {
        wrong = run_table::check(&layout, positions, (&places, &supply_places, &span), unit?);
    }
    if !cx.faults.is_empty() {
        // parts and anodes may be missing because of their own faults
        wrong.retain(|fault| fault.place.is_some());
    }
    cx.faults.append(&mut wrong);
    // without these the layout above holds stand-ins
    let (Some(_), Some(_), Some(_), true) = (depth, bath.conductivity, bath.temperature, driven)
    else {
        return None;
    };
    check_window(&layout, &bath, &supply_places, cx);
    Some(Resolved {
        title: title(job),
        unit: unit?,
        section,
        layout,
        plating,
        positions: positions?,
        window: bath.window,
        want,
        settings: settings?,
        places: Places {
            bodies: places.into_iter().map(|place| place.shape).collect(),
            supplies: supply_places,
            run: job.run.get().and_then(|at| at.value.until.span()).or(job.run.span()),
        },
        provenance: Vec::new(),
        cautions: bath.facts.cautions.iter().map(|caution| caution.text.to_owned()).collect(),
        bath: bath.facts,
        warnings: Vec::new(),
    })
}

/// The job's title on one line.
pub(super) fn title(job: &JobTable) -> String {
    let words = job.title.get().map_or("", |at| at.value.as_str()).split_whitespace();
    let title = words.collect::<Vec<_>>().join(" ");
    if title.is_empty() { "Plating job".to_owned() } else { title }
}

fn unit(job: &JobTable, cx: &mut Context<'_>) -> Option<DrawingUnit> {
    let names: Vec<&str> = DRAWING_UNITS.iter().map(|unit| unit.name).collect();
    let how = format!(
        "say in which unit the drawing is, like unit = \"mm\"; units: {}",
        names.join(", ")
    );
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

pub(super) fn want(job: &JobTable, cx: &mut Context<'_>) -> Want {
    let Some(at) = job.want.get() else {
        return Want::default();
    };
    let (min, max) = (at.value.min_thickness.get(), at.value.max_thickness.get());
    let min = min.and_then(|at| cx.positive(at, "the least thickness wanted"));
    let max = max.and_then(|at| cx.positive(at, "the greatest thickness allowed"));
    if let (Some(least), Some(most)) = (min, max)
        && least.si() >= most.si()
    {
        let fault = Diagnostic::error(
            "E011",
            "the least thickness wanted is not below the greatest allowed",
        );
        let place = at.value.max_thickness.span().unwrap_or(at.span.clone());
        cx.faults.push(fault.at(place, "expected more than `min_thickness`"));
    }
    Want { min_thickness: min, max_thickness: max }
}

/// Diameter of the ball that touches the significant surface.
fn ball(job: &JobTable, cx: &mut Context<'_>) -> Length {
    let slot = job.want.get().map_or(&Slot::Missing, |at| &at.value.significant_ball);
    if let Slot::Given(at) = slot {
        cx.note_job("want.significant_ball", &at.span);
        if at.value.si() >= 0.0 {
            return at.value;
        }
        let _: Option<()> = cx.out_of_range(at.span.clone(), "the ball's diameter", "zero or more");
    } else if matches!(slot, Slot::Missing) {
        cx.by_default("want.significant_ball", "20 mm", "ISO 27830 and ISO 1456");
    }
    Length::new(BALL_M)
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
            cx.note_job("solve.accuracy", &at.span);
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
    length: Option<RunLength>,
    cx: &mut Context<'_>,
) -> Option<Plating> {
    let wanted = job.want.get().filter(|at| {
        let want = &at.value;
        !(want.min_thickness.is_missing()
            && want.max_thickness.is_missing()
            && want.designation.is_missing())
    });
    let asked = job.run.span().filter(|_| length.is_some()).or(wanted.map(|at| at.span.clone()));
    let metal_missing =
        job.bath.get().is_some_and(|at| at.value.metal.is_missing() && at.value.r#use.is_missing());
    if let Some(span) = asked.filter(|_| bath.metal.is_none() && metal_missing) {
        let fault =
            Diagnostic::error("E006", "a thickness is asked for, but the bath names no metal");
        cx.faults.push(
            fault
                .at(span, "needs [bath] metal")
                .help("like metal = \"Ni\", or name a bath of the library with `use`"),
        );
    }
    if let Some(span) = wanted
        .map(|at| at.span.clone())
        .filter(|_| job.run.get().is_none_or(|at| !run_table::is_stated(&at.value)))
    {
        let fault =
            Diagnostic::error("E006", "a thickness is wanted, but the job states no plating time");
        cx.faults.push(
            fault
                .at(span, "needs [run] time, until or ampere_hours")
                .help("like [run] time = \"25 min\""),
        );
    }
    let metal = bath.metal.clone()?;
    let time = run_table::stated_time(length);
    let mut efficiency = bath.efficiency.clone()?;
    if let Some(threshold) = bath.facts.threshold {
        efficiency = efficiency.with_threshold(threshold);
    }
    Some(Plating { metal, efficiency, time, length })
}

/// Warns about a mean current density outside the bath's window before the solve is paid for.
fn check_window(
    layout: &Layout,
    bath: &bath::Bath,
    places: &[std::ops::Range<usize>],
    cx: &mut Context<'_>,
) {
    for (supply, span) in layout.supplies.iter().zip(places) {
        let Drive::MeanDensity(mean) = supply.drive else { continue };
        let below = bath.window.min.filter(|min| mean.si() < min.si()).map(|min| (min, "below"));
        let above = bath.window.max.filter(|max| mean.si() > max.si()).map(|max| (max, "above"));
        let Some((edge, word)) = below.or(above) else { continue };
        let message = format!(
            "the mean current density, {} A/dm2, is {word} the bath's window, which ends at {} A/dm2",
            three(mean.to_a_dm2()),
            three(edge.to_a_dm2())
        );
        let warning = Diagnostic::warning("W001", message)
            .at(span.clone(), "sets the mean current density")
            .help("the deposit will not be good there, whatever its distribution");
        cx.warnings.push(warning);
    }
}
