//! Aims, limits and clearance as typed: `--aim time:2`, `--limit 'volts<=6'`, `--clearance '5 mm'`.
//!
//! ```text
//! aim   = figure [ ":" weight [ "/" unit ] ]
//! limit = figure ( "<=" | ">=" ) value
//! ```
//! Of several aims each counts by its weight and its value in the job as it is, or by the unit that
//! is stated. A negative weight turns an aim round.

use std::ops::Range;
use std::sync::Arc;

use solver::plan::search::{Aim, Better, Bound, Limit, Term};
use solver::plan::{Dimension, Figure};
use solver::quantity::Length;

use crate::diagnostic::{Diagnostic, Source};
use crate::job::Resolved;
use crate::units::{self, Kind, leading_number, nearest};

/// Short names beside those of the figures.
const SHORT: [(&str, Figure); 5] = [
    ("time", Figure::TimeToWanted),
    ("waste", Figure::Wasted),
    ("even", Figure::GreatestOverLeast),
    ("volts", Figure::Voltage),
    ("amps", Figure::Current),
];

/// Units of kinds of which no job file has any.
const MASSES: [(&str, f64); 4] =
    [("g", 1e-3), ("kg", 1.0), ("mg", 1e-6), ("oz", 0.028_349_523_125)];
const POWERS: [(&str, f64); 2] = [("W", 1.0), ("kW", 1e3)];

/// Something typed behind an option.
struct Typed<'t> {
    option: &'static str,
    text: &'t str,
}

impl Typed<'_> {
    fn fault(&self, message: String, span: Range<usize>, label: &str) -> Diagnostic {
        let source = Source { name: self.option.into(), text: self.text.to_owned() };
        Diagnostic::error("E030", message).at(span, label).in_file(&Arc::new(source))
    }

    /// The figure of this name.
    fn figure(&self, span: Range<usize>) -> Result<Figure, Diagnostic> {
        let name = self.text[span.clone()].trim();
        let short = SHORT.iter().find(|(short, _)| *short == name).map(|(_, figure)| *figure);
        if let Some(figure) = short.or_else(|| Figure::ALL.into_iter().find(|f| f.name() == name)) {
            return Ok(figure);
        }
        let names = || SHORT.iter().map(|s| s.0).chain(Figure::ALL.map(Figure::name));
        let message = match name {
            "" => format!("{} needs a figure", self.option),
            name => format!("{}: no figure is called `{name}`", self.option),
        };
        let mut fault = self.fault(message, span, "expected the name of a figure");
        if let Some(near) = nearest(name, names()) {
            fault = fault.help(format!("did you mean `{near}`?"));
        }
        Err(fault.help(format!("figures: {}", names().collect::<Vec<_>>().join(", "))))
    }

    /// A value of a figure, SI.
    fn value(&self, figure: Figure, span: Range<usize>) -> Result<f64, Diagnostic> {
        let text = self.text[span.clone()].trim();
        let start = span.start + self.text[span.clone()].find(text).unwrap_or(0);
        let span = start..start + text.len();
        let plain = text.parse::<f64>().ok().filter(|v| v.is_finite());
        let named = |units: &[(&str, f64)]| {
            let (value, end) = leading_number(text)?;
            let unit = text[end..].trim();
            units.iter().find(|(name, _)| *name == unit).map(|(_, si)| value * si)
        };
        let one_of = |units: &[(&str, f64)]| {
            let names: Vec<&str> = units.iter().map(|u| u.0).collect();
            let label = format!("expected a number with one of the units {}", names.join(", "));
            named(units).ok_or_else(|| self.unread(figure, span.clone(), &label))
        };
        match (figure.dimension(), plain) {
            // volts and amps say their unit
            (Dimension::Number | Dimension::Potential | Dimension::Current, Some(value)) => {
                Ok(value)
            }
            (Dimension::Number, None) => Err(self.unread(figure, span, "expected a plain number")),
            (Dimension::Mass, _) => one_of(&MASSES),
            (Dimension::Power, _) => one_of(&POWERS),
            (dimension, _) => {
                let kind = kind(dimension);
                units::parse_si(text, kind).map_err(|error| {
                    let at = start + error.span.start..start + error.span.end;
                    let message = format!("{}: {}", self.option, error.message());
                    self.fault(message, at, &error.label()).help(error.help())
                })
            }
        }
    }

    fn unread(&self, figure: Figure, span: Range<usize>, label: &str) -> Diagnostic {
        let message = format!("{}: the value of `{}` cannot be read", self.option, figure.name());
        self.fault(message, span, label)
    }
}

fn kind(dimension: Dimension) -> Kind {
    match dimension {
        Dimension::Thickness => Kind::Length,
        Dimension::Time => Kind::Time,
        Dimension::Potential => Kind::Potential,
        Dimension::Current => Kind::Current,
        Dimension::CurrentDensity => Kind::CurrentDensity,
        Dimension::Share | Dimension::Number | Dimension::Mass | Dimension::Power => Kind::Fraction,
    }
}

/// Which way a figure is better, where nothing else is said.
pub fn better(figure: Figure) -> Better {
    match figure {
        Figure::Least | Figure::Wagner => Better::More,
        _ => Better::Less,
    }
}

/// Reads aims; without any it is the shortest time to the least wanted, or the evenest deposit where
/// the job wants no thickness.
///
/// # Errors
/// What is wrong with each, and what is allowed.
pub fn aim(texts: &[String], job: &Resolved) -> Result<Aim, Vec<Diagnostic>> {
    if texts.is_empty() {
        let figures = [Figure::TimeToWanted, Figure::GreatestOverLeast, Figure::Voltage];
        let figure = figures.into_iter().find(|f| lacks(*f, job).is_none());
        return Ok(Aim::least(figure.unwrap_or(Figure::Voltage)));
    }
    collected(texts.iter().map(|text| term(text, job))).map(Aim)
}

fn term(text: &str, job: &Resolved) -> Result<Term, Diagnostic> {
    let typed = Typed { option: "--aim", text };
    let name = text.find(':').unwrap_or(text.len());
    let figure = typed.figure(0..name)?;
    known(&typed, figure, 0..name, job)?;
    let mut term = Term { figure, better: better(figure), weight: 1.0, unit: None };
    let Some(rest) = text.get(name + 1..) else { return Ok(term) };
    let stroke = rest.find('/').map_or(text.len(), |at| name + 1 + at);
    let weight = text[name + 1..stroke].trim().parse::<f64>().ok();
    let Some(weight) = weight.filter(|w| w.is_finite() && *w != 0.0) else {
        let message = format!("--aim: the weight of `{}` cannot be read", figure.name());
        let label = "expected a number that is not zero";
        let fault = typed.fault(message, name + 1..stroke, label);
        return Err(
            fault.help("write FIGURE:WEIGHT, like time:2, or FIGURE:WEIGHT/UNIT, like waste:0.5/g")
        );
    };
    term.weight = weight.abs();
    if weight < 0.0 {
        term.better = match term.better {
            Better::Less => Better::More,
            Better::More => Better::Less,
        };
    }
    if let Some(unit) = text.get(stroke + 1..) {
        let one = format!("1 {}", unit.trim());
        let si = Typed { option: "--aim", text: &one }.value(figure, 0..one.len());
        let fault = |_| {
            let message = format!("--aim: `{}` is no unit of `{}`", unit.trim(), figure.name());
            typed.fault(message, stroke + 1..text.len(), "expected a unit of this figure")
        };
        term.unit = Some(si.map_err(fault)?);
    }
    Ok(term)
}

/// Reads limits; `usual` ones hold as well, except where a limit on the same figure is typed.
///
/// # Errors
/// What is wrong with each, and what is allowed.
pub fn limits(
    texts: &[String],
    usual: Vec<Limit>,
    job: &Resolved,
) -> Result<Vec<Limit>, Vec<Diagnostic>> {
    let own = collected(texts.iter().map(|text| limit(text, job)))?;
    let open = usual.into_iter().filter(|u| own.iter().all(|o| o.figure != u.figure));
    let mut all: Vec<Limit> = open.collect();
    all.extend(own);
    Ok(all)
}

fn limit(text: &str, job: &Resolved) -> Result<Limit, Diagnostic> {
    let typed = Typed { option: "--limit", text };
    let sign = ["<=", ">=", "≤", "≥", "<", ">"];
    let sign = sign.iter().find_map(|s| Some((text.find(s)?, *s)));
    let Some((at, sign)) = sign else {
        let fault =
            typed.fault("--limit: no bound is given".into(), 0..text.len(), "expected <= or >=");
        return Err(
            fault.help("write FIGURE<=VALUE or FIGURE>=VALUE, like 'volts<=6', 'burning<=2 %'")
        );
    };
    let figure = typed.figure(0..at)?;
    known(&typed, figure, 0..at, job)?;
    let value = typed.value(figure, at + sign.len()..text.len())?;
    let bound = match sign {
        "<=" | "≤" | "<" => Bound::AtMost(value),
        _ => Bound::AtLeast(value),
    };
    Ok(Limit { figure, bound })
}

/// Reads a clearance.
///
/// # Errors
/// What is wrong with it.
pub fn clearance(text: Option<&str>) -> Result<Length, Vec<Diagnostic>> {
    let Some(text) = text else { return Ok(Length::new(0.0)) };
    let typed = Typed { option: "--clearance", text };
    match units::parse::<Length>(text) {
        Ok(length) if length.si() >= 0.0 => Ok(length),
        Ok(_) => {
            let message = "--clearance: bodies cannot be nearer than touching".to_owned();
            Err(vec![typed.fault(message, 0..text.len(), "expected a length of zero or more")])
        }
        Err(error) => {
            let message = format!("--clearance: {}", error.message());
            let fault = typed.fault(message, error.span.clone(), &error.label());
            Err(vec![fault.help(error.help()).help("like 5 mm or 0.25 in")])
        }
    }
}

/// Reads the two figures of the front, `FIGURE,FIGURE`; without a text the aims come first.
///
/// # Errors
/// What is wrong with it.
pub fn front(
    text: Option<&str>,
    aim: &Aim,
    job: &Resolved,
) -> Result<[Figure; 2], Vec<Diagnostic>> {
    let Some(text) = text else {
        let usual = [
            Figure::TimeToWanted,
            Figure::Wasted,
            Figure::GreatestOverLeast,
            Figure::Voltage,
            Figure::Power,
        ];
        let mut all =
            aim.0.iter().map(|t| t.figure).chain(usual).filter(|f| lacks(*f, job).is_none());
        let first = all.next().unwrap_or(Figure::Voltage);
        return Ok([first, all.find(|f| *f != first).unwrap_or(Figure::Current)]);
    };
    let typed = Typed { option: "--front", text };
    let Some(comma) = text.find(',') else {
        let message = "--front: two figures are needed".to_owned();
        let fault = typed.fault(message, 0..text.len(), "expected FIGURE,FIGURE");
        return Err(vec![fault.help("like --front time,waste")]);
    };
    let mut out = Vec::new();
    let mut faults = Vec::new();
    for span in [0..comma, comma + 1..text.len()] {
        let found =
            typed.figure(span.clone()).and_then(|f| known(&typed, f, span, job).map(|()| f));
        match found {
            Ok(figure) => out.push(figure),
            Err(fault) => faults.push(fault),
        }
    }
    match <[Figure; 2]>::try_from(out) {
        Ok(two) => Ok(two),
        Err(_) => Err(faults),
    }
}

/// Refuses figures that the job cannot have.
fn known(
    typed: &Typed<'_>,
    figure: Figure,
    span: Range<usize>,
    job: &Resolved,
) -> Result<(), Diagnostic> {
    let Some((what, help)) = lacks(figure, job) else { return Ok(()) };
    let message = format!("{}: `{}` cannot be told: {what}", typed.option, figure.name());
    Err(typed.fault(message, span, figure.words()).help(help))
}

/// What a job must state for a figure and does not, and how it is stated.
pub fn lacks(figure: Figure, job: &Resolved) -> Option<(&'static str, &'static str)> {
    let metal = job.plating.is_none();
    let run = job.plating.as_ref().is_some_and(|p| p.length.is_none());
    let want = job.want.min_thickness.is_none();
    let no_metal = ("the job states no metal", "state [bath] metal");
    let no_run = ("the job states no run", "state [run] time = \"25 min\"");
    let no_want = ("the job wants no least thickness", "state [want] min_thickness = \"12 um\"");
    let no_window = ("the bath has no good range", "state [bath.window] max = \"6 A/dm2\"");
    match figure {
        Figure::GreatestOverLeast | Figure::Variation => metal.then_some(no_metal),
        Figure::Least
        | Figure::Mean
        | Figure::Greatest
        | Figure::Run
        | Figure::Metal
        | Figure::ThiefMetal => {
            if metal {
                Some(no_metal)
            } else {
                run.then_some(no_run)
            }
        }
        Figure::TimeToWanted | Figure::Wasted => {
            if metal {
                Some(no_metal)
            } else {
                want.then_some(no_want)
            }
        }
        Figure::Beyond => match (metal, run, want) {
            (true, _, _) => Some(no_metal),
            (_, true, _) => Some(no_run),
            (_, _, missing) => missing.then_some(no_want),
        },
        Figure::Burning => job.window.max.is_none().then_some(no_window),
        Figure::Low => job.window.min.is_none().then_some(no_window),
        Figure::Bare => job
            .bath
            .threshold
            .is_none()
            .then_some(("the bath has no covering threshold", "state [bath] threshold")),
        Figure::AnodeUse => job
            .bath
            .anode_limit
            .is_none()
            .then_some(("the bath has no limit of its anodes", "state [bath] anode_limit")),
        Figure::Density
        | Figure::PeakDensity
        | Figure::Current
        | Figure::Voltage
        | Figure::Power
        | Figure::AnodeDensity
        | Figure::Wagner => None,
    }
}

/// All values, or all faults.
fn collected<T>(
    found: impl Iterator<Item = Result<T, Diagnostic>>,
) -> Result<Vec<T>, Vec<Diagnostic>> {
    let (mut out, mut faults) = (Vec::new(), Vec::new());
    for one in found {
        match one {
            Ok(value) => out.push(value),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok(out) } else { Err(faults) }
}
