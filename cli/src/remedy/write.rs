//! Writes a remedy as a complete job file: the user's own text with comments and order kept, values
//! changed where they stand, new bodies added at the end.

use std::fmt::Write as _;
use std::path::Path;

use shapes::{Point, Vec2};
use solver::remedy::{Edit, Form, Remedy};
use solver::{Drive, Layout, Role};
use toml_edit::{Array, DocumentMut, InlineTable, Item, Value};

use crate::diagnostic::Source;
use crate::document::{
    digits, first_supply, many, number, pair, set, set_bath, shift, table_of, tidy,
};
use crate::job::{Resolved, resolve};
use crate::vary::rebase;

/// Shape keys of a body, and what goes with them.
const SHAPES: [&str; 11] = [
    "rect",
    "disc",
    "ring",
    "polygon",
    "path",
    "file",
    "strip",
    "corner_radius",
    "mirror",
    "turn",
    "move",
];

/// The text of the job with a remedy, and what it resolves to; `None` where the file is drawn in a
/// way that the change cannot be written into, which is found by reading the text back. The files that
/// the job names are named from the folder `to`, where the text is to stand.
pub fn job_text(
    source: &Source,
    job: &Resolved,
    remedy: &Remedy,
    title: &str,
    to: &Path,
) -> Option<(String, Resolved)> {
    let mut doc = source.text.parse::<DocumentMut>().ok()?;
    let unit_m = job.unit.metres;
    if let Some(bath) = &remedy.bath {
        set_bath(&mut doc, bath);
    }
    let words = format!("{}: {title}", job.title);
    set(doc.as_table_mut(), "title", words.into());
    let mut added = String::new();
    let mut names: Vec<String> = job.layout.bodies.iter().map(|b| b.name.clone()).collect();
    for edit in &remedy.edits {
        match edit {
            Edit::Add { role, name, form, .. } => {
                many(&mut doc, role.word())?;
                let _ = write!(added, "\n[[{}]]\nname = \"{name}\"\n", role.word());
                added.push_str(&form_text(form, unit_m));
                listed(&mut doc, *role, name);
                names.push(name.clone());
            }
            Edit::Move { bodies, by } => {
                let table = table_of(&mut doc, names.get(*bodies.first()?)?)?;
                shift(table, *by / unit_m);
            }
            // copies of one table turn with it
            Edit::Turn { body, .. } if is_copy(job, *body) => {}
            Edit::Turn { body, degrees, .. } => {
                let table = table_of(&mut doc, names.get(*body)?)?;
                let before = table.get("turn").and_then(number).unwrap_or(0.0);
                let turn = tidy(before + degrees);
                let turn = if turn > 180.0 { turn - 360.0 } else { turn };
                set(table, "turn", tidy(turn).into());
            }
            Edit::Reshape { body, form } => {
                let table = table_of(&mut doc, names.get(*body)?)?;
                for key in SHAPES {
                    table.remove(key);
                }
                let Form::Rect { at, size, .. } = form else { return None };
                table.insert("rect", Item::Value(rect(*at, *size, unit_m).into()));
            }
            Edit::OwnSupply { name, main, current } => {
                let text = own_supply(&mut doc, job, (name, main), names.last()?, current.si())?;
                added.push_str(&text);
            }
            // set at the end, to what all edits together come to
            Edit::Drive { .. } => {}
            Edit::Run { seconds } => run_time(&mut doc, &mut added, *seconds),
        }
    }
    drives(&mut doc, &mut added, remedy);
    let mut text = doc.to_string();
    if !added.is_empty() {
        if !text.ends_with('\n') {
            text.push('\n');
        }
        let _ = write!(text, "\n# Added by `throwmap remedies`: {title}.\n{}", added.trim_start());
    }
    let written = |text: &str| Source { name: source.name.clone(), text: text.to_owned() };
    let mut read = resolve(&written(&text)).ok()?;
    let wanted = &remedy.case.positions.first()?.0;
    // a body that is turned turns about its own middle in the file: the rest is a shift
    let still = rests(wanted, &read, &read.positions().first()?.0);
    if !still.is_empty() {
        let mut doc = text.parse::<DocumentMut>().ok()?;
        for (name, by) in still {
            shift(table_of(&mut doc, &name)?, by / unit_m);
        }
        text = doc.to_string();
        read = resolve(&written(&text)).ok()?;
    }
    if !same(wanted, &read.positions().first()?.0) {
        return None;
    }
    let mut doc = text.parse::<DocumentMut>().ok()?;
    rebase(&mut doc, &source.name, to);
    Some((doc.to_string(), read))
}

/// True if an earlier body comes from the same table.
fn is_copy(job: &Resolved, body: usize) -> bool {
    let places = &job.places.bodies;
    places.get(body).is_some_and(|place| places[..body].contains(place))
}

/// Adds a new electrode to the first supply, if that names what it feeds.
fn listed(doc: &mut DocumentMut, role: Role, name: &str) {
    let key = match role {
        Role::Anode => "anodes",
        Role::Thief { .. } => "cathodes",
        _ => return,
    };
    let list = first_supply(doc).and_then(|t| t.get_mut(key)).and_then(Item::as_array_mut);
    if let Some(list) = list {
        list.push(name);
    }
}

/// Names what the first supply feeds, and the text of the second.
fn own_supply(
    doc: &mut DocumentMut,
    job: &Resolved,
    (name, main): (&str, &str),
    anode: &str,
    amps: f64,
) -> Option<String> {
    many(doc, "supply")?;
    let first = job.layout.supplies.first()?;
    let named = |list: Vec<usize>| -> Array {
        list.into_iter().map(|b| job.layout.bodies[b].name.as_str()).collect()
    };
    let cathodes = named(job.layout.cathodes_of(first));
    let anodes = named(job.layout.anodes_of(first));
    let list = cathodes.to_string();
    let table = first_supply(doc)?;
    set(table, "name", main.into());
    set(table, "anodes", Value::Array(anodes));
    set(table, "cathodes", Value::Array(cathodes));
    Some(format!(
        "\n[[supply]]\nname = \"{name}\"\nanodes = [\"{anode}\"]\ncathodes = {}\ncurrent = \"{amps} A\"\n",
        list.trim()
    ))
}

/// Every supply at what the remedy's layout gives; the last, where it is new, stands in `added`.
fn drives(doc: &mut DocumentMut, added: &mut String, remedy: &Remedy) {
    let Some((layout, _)) = remedy.case.positions.first() else { return };
    if !remedy.edits.iter().any(|e| matches!(e, Edit::Drive { .. } | Edit::OwnSupply { .. })) {
        return;
    }
    for (k, supply) in layout.supplies.iter().enumerate() {
        let (key, text) = match supply.drive {
            Drive::Current(a) => ("current", format!("{} A", digits(a.si()))),
            Drive::MeanDensity(i) => ("current_density", format!("{} A/dm2", digits(i.to_a_dm2()))),
            Drive::Voltage(v) => ("voltage", format!("{} V", digits(v.si()))),
        };
        let table: Option<&mut dyn toml_edit::TableLike> = match doc.get_mut("supply") {
            Some(Item::ArrayOfTables(list)) => list.get_mut(k).map(|t| t as _),
            Some(item) if k == 0 => item.as_table_like_mut(),
            _ => None,
        };
        match table {
            Some(table) => set(table, key, text.into()),
            None => {
                let lines = added.lines().map(|line| {
                    let old = line.starts_with("current = ");
                    if old { format!("current = \"{text}\"\n") } else { format!("{line}\n") }
                });
                *added = lines.collect();
            }
        }
    }
}

fn run_time(doc: &mut DocumentMut, added: &mut String, seconds: f64) {
    let text = format!("{} min", tidy(seconds / 60.0));
    match doc.get_mut("run").and_then(Item::as_table_like_mut) {
        Some(run) => {
            run.remove("until");
            run.remove("ampere_hours");
            set(run, "time", text.into());
        }
        None => {
            let _ = write!(added, "\n[run]\ntime = \"{text}\"\n");
        }
    }
}

fn rect(at: Point, size: (f64, f64), unit_m: f64) -> InlineTable {
    let mut out = InlineTable::new();
    out.insert("at", Value::Array(pair(at_unit(at, unit_m))));
    out.insert("size", Value::Array(pair(Point::new(size.0 / unit_m, size.1 / unit_m))));
    out
}

fn at_unit(at: Point, unit_m: f64) -> Point {
    Point::new(at.x / unit_m, at.y / unit_m)
}

fn form_text(form: &Form, unit_m: f64) -> String {
    match form {
        Form::Rect { at, size, turn_deg } => {
            let mut text = format!("rect = {}\n", rect(*at, *size, unit_m).to_string().trim());
            if *turn_deg != 0.0 {
                let _ = writeln!(text, "turn = {}", tidy(*turn_deg));
            }
            text
        }
        Form::Disc { at, radius } => format!(
            "disc = {{ at = {}, radius = {} }}\n",
            pair(at_unit(*at, unit_m)).to_string().trim(),
            tidy(radius / unit_m)
        ),
        Form::Strip { points, thickness } => {
            let points: Vec<String> = points
                .iter()
                .map(|p| pair(at_unit(*p, unit_m)).to_string().trim().into())
                .collect();
            let (points, thickness) = (points.join(", "), tidy(thickness / unit_m));
            format!("strip = {{ points = [{points}], thickness = {thickness} }}\n")
        }
    }
}

/// How near two outlines must be to be the same, as a share of the tank.
const SAME: f64 = 1e-7;

/// Bodies that lie elsewhere than wanted, with how far they must still be shifted, m.
fn rests(wanted: &Layout, job: &Resolved, read: &Layout) -> Vec<(String, Vec2)> {
    let size = wanted.tank.diagonal();
    let mut out: Vec<(String, Vec2)> = Vec::new();
    for (k, found) in read.bodies.iter().enumerate().filter(|(k, _)| !is_copy(job, *k)) {
        let Some(body) = wanted.bodies.iter().find(|b| b.name == found.name) else { continue };
        let start = |b: &solver::Body| b.outline.loops()[0].point_at(0.0);
        let by = start(body) - start(found);
        if by.hypot() > SAME * size {
            out.push((job.layout.bodies[k].name.clone(), by));
        }
    }
    out
}

/// True if the file that was written draws what was solved.
fn same(wanted: &Layout, read: &Layout) -> bool {
    let size = wanted.tank.diagonal();
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-5 * a.abs().max(b.abs());
    let body = |body: &solver::Body| {
        read.bodies.iter().any(|found| {
            let (a, b) = (body.outline.loops(), found.outline.loops());
            let points = |l: &shapes::Loop, k: f64| l.point_at(0.25 * k * l.length());
            found.name == body.name
                && found.role == body.role
                && a.len() == b.len()
                && a.iter().zip(b).all(|(a, b)| {
                    (0..4).all(|k| {
                        let k = f64::from(k);
                        (points(a, k) - points(b, k)).hypot() <= 10.0 * SAME * size
                    })
                })
        })
    };
    let supply = |(a, b): (&solver::Supply, &solver::Supply)| match (a.drive, b.drive) {
        (Drive::Current(a), Drive::Current(b)) => close(a.si(), b.si()),
        (Drive::MeanDensity(a), Drive::MeanDensity(b)) => close(a.si(), b.si()),
        (Drive::Voltage(a), Drive::Voltage(b)) => close(a.si(), b.si()),
        _ => false,
    };
    wanted.bodies.len() == read.bodies.len()
        && wanted.bodies.iter().all(body)
        && wanted.supplies.len() == read.supplies.len()
        && wanted.supplies.iter().zip(&read.supplies).all(supply)
}
