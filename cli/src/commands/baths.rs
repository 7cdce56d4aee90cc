//! `throwmap baths`: the library, and where each of its values comes from.

use std::io;

use solver::quantity::{CurrentDensity, Potential, Temperature};

use crate::args::BathsOptions;
use crate::bath::{self, Entry, Found, LawEntry, Library, Sourced};
use crate::diagnostic::{Diagnostic, Source};
use crate::exit::ExitStatus;
use crate::job::cell::{At, Slot};
use crate::output::three;
use crate::terminal::Streams;
use crate::units::nearest;

/// Columns of a terminal that everybody has.
const WIDTH: usize = 80;

/// Lists the library, or shows one bath.
pub fn run(options: &BathsOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    // from this folder, as a job here would look for it
    let library = match bath::beside("-", options.file.as_deref()) {
        Ok(own) => Library::new(own),
        Err(faults) => {
            print(&faults, streams)?;
            return Ok(ExitStatus::BadInput);
        }
    };
    let Some(name) = &options.name else {
        list(&library, streams)?;
        return Ok(ExitStatus::Done);
    };
    let Some(found) = library.find(name) else {
        let names = library.names();
        let known = names.join(", ");
        let near = nearest(name, names.iter().map(String::as_str))
            .map_or(String::new(), |n| format!("did you mean `{n}`? "));
        writeln!(streams.err, "error: no bath `{name}` in the library; {near}baths: {known}")?;
        return Ok(ExitStatus::BadInput);
    };
    show(&found, streams)?;
    Ok(ExitStatus::Done)
}

fn print(faults: &[Diagnostic], streams: &mut Streams<'_>) -> io::Result<()> {
    let nowhere = Source { name: String::new(), text: String::new() };
    for fault in faults {
        writeln!(streams.err, "{}\n", fault.render(&nowhere, streams.terminal.colour))?;
    }
    Ok(())
}

fn list(library: &Library, streams: &mut Streams<'_>) -> io::Result<()> {
    writeln!(streams.out, "{:22} {:>6} {:>9} {:>6}  bath", "name", "degC", "A/dm2", "V")?;
    for found in library.names().iter().filter_map(|name| library.find(name)) {
        let entry = &found.entry;
        let window = entry.window.get().map(|at| &at.value);
        let current = window.map_or(String::new(), |w| {
            let end = |slot: &Slot<Sourced<CurrentDensity>>| {
                slot.get().map_or(String::new(), |at| short(at.value.value.to_a_dm2()))
            };
            format!("{}-{}", end(&w.min), end(&w.max))
        });
        let temperature = range(&entry.temperature, Temperature::to_celsius);
        let volts = range(&entry.tank_voltage, Potential::si);
        let title = entry.title.get().map_or("", |at| at.value.as_str());
        let line = format!("{:22} {temperature:>6} {current:>9} {volts:>6}  {title}", found.name);
        writeln!(streams.out, "{}", line.trim_end())?;
    }
    Ok(())
}

/// A number without trailing zeros.
fn short(value: f64) -> String {
    let text = three(value);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

fn range<Q: Copy>(slot: &Slot<Sourced<Q>>, number: impl Fn(Q) -> f64) -> String {
    let Some(At { value, .. }) = slot.get() else { return String::new() };
    match value.range {
        Some((low, high)) => format!("{}-{}", short(number(low)), short(number(high))),
        None => short(number(value.value)),
    }
}

fn show(found: &Found, streams: &mut Streams<'_>) -> io::Result<()> {
    let entry = &found.entry;
    let text = |slot: &Slot<String>| slot.get().map_or(String::new(), |at| at.value.clone());
    writeln!(streams.out, "{}: {}", found.name, text(&entry.title))?;
    if let Some(file) = &found.file {
        let based = entry.based_on.get().map(|at| format!(", based on `{}`", at.value));
        writeln!(streams.out, "from {}{}", file.name, based.unwrap_or_default())?;
    }
    wrapped(&text(&entry.composition), 0, streams)?;
    writeln!(streams.out)?;
    values(entry, streams)?;
    writeln!(streams.out)?;
    for note in entry.notes.get().into_iter().flat_map(|at| &at.value) {
        wrapped(&format!("Note: {}", note.value), 0, streams)?;
    }
    let keys: Vec<String> = entry
        .cautions
        .get()
        .into_iter()
        .flat_map(|at| at.value.iter().map(|key| key.value.clone()))
        .collect();
    for caution in bath::cautions(&keys) {
        wrapped(&format!("Caution: {}", caution.text), 0, streams)?;
    }
    let end = "Follow local codes, the safety data sheets and the advice of a qualified plating chemist, engineer and electrician.";
    wrapped(end, 0, streams)
}

fn values(entry: &Entry, streams: &mut Streams<'_>) -> io::Result<()> {
    line("metal", &entry.metal, streams)?;
    line("temperature", &entry.temperature, streams)?;
    line("conductivity", &entry.conductivity, streams)?;
    if let Some(at) = entry.conductivity_at.get() {
        let degrees = three(at.value.to_celsius());
        writeln!(streams.out, "{:25} {degrees} degC", "conductivity_at")?;
    }
    line("conductivity_per_kelvin", &entry.conductivity_per_kelvin, streams)?;
    law("cathode", &entry.cathode, streams)?;
    law("anode", &entry.anode, streams)?;
    if let Some(window) = entry.window.get() {
        line("window.min", &window.value.min, streams)?;
        line("window.default", &window.value.default, streams)?;
        line("window.max", &window.value.max, streams)?;
    }
    line("threshold", &entry.threshold, streams)?;
    line("efficiency", &entry.efficiency, streams)?;
    line("anode_material", &entry.anode_material, streams)?;
    if let Some(at) = entry.anode_kind.get() {
        writeln!(streams.out, "{:25} {}", "anode_kind", at.value)?;
    }
    line("anode_limit", &entry.anode_limit, streams)?;
    line("area_ratio", &entry.area_ratio, streams)?;
    line("hydrogen_share", &entry.hydrogen_share, streams)?;
    line("tank_voltage", &entry.tank_voltage, streams)
}

fn law(side: &str, slot: &Slot<LawEntry>, streams: &mut Streams<'_>) -> io::Result<()> {
    let Some(at) = slot.get() else { return Ok(()) };
    let law = &at.value;
    let word = law.law.get().map_or("", |at| at.value.as_str());
    writeln!(streams.out, "{:25} {word}", format!("{side}.law"))?;
    line(&format!("{side}.resistance"), &law.resistance, streams)?;
    line(&format!("{side}.exchange"), &law.exchange, streams)?;
    line(&format!("{side}.slope"), &law.slope, streams)?;
    line(&format!("{side}.rest"), &law.rest, streams)?;
    line(&format!("{side}.limiting"), &law.limiting, streams)
}

fn line<T>(key: &str, slot: &Slot<Sourced<T>>, streams: &mut Streams<'_>) -> io::Result<()> {
    let Some(at) = slot.get() else { return Ok(()) };
    let Sourced { written, written_range, source, confidence, .. } = &at.value;
    // a curve fills a line of its own, and so do the ends of its range
    if written.starts_with('[') {
        writeln!(streams.out, "{key}")?;
        wrapped(written, 4, streams)?;
        if let Some((low, high)) = written_range {
            wrapped(&format!("from {low}"), 4, streams)?;
            wrapped(&format!("to {high}"), 4, streams)?;
        }
    } else {
        let range =
            written_range.as_ref().map_or(String::new(), |(l, h)| format!("  ({l} to {h})"));
        let first = format!("{key:25} {written}");
        wrapped(&format!("{first}{range}"), 0, streams)?;
    }
    wrapped(&format!("{}: {source}", confidence.word()), 4, streams)
}

/// Writes text in lines of at most [`WIDTH`] columns; blanks inside the first line are kept.
fn wrapped(text: &str, indent: usize, streams: &mut Streams<'_>) -> io::Result<()> {
    let room = WIDTH - indent;
    let mut rest = text.trim_end();
    let mut hang = indent;
    while !rest.is_empty() {
        let room = room - (hang - indent);
        let count = rest.chars().count();
        let fits = rest.char_indices().nth(room).map_or(rest.len(), |(at, _)| at);
        let cut = match rest.get(..fits).and_then(|start| start.rfind(' ')) {
            Some(cut) if count > room && cut > 0 => cut,
            _ if count > room => fits,
            _ => rest.len(),
        };
        let (now, later) = rest.split_at(cut);
        writeln!(streams.out, "{:hang$}{}", "", now.trim_end())?;
        rest = later.trim_start();
        hang = indent + 2;
    }
    Ok(())
}
