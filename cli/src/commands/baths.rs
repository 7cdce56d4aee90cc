//! `throwmap baths`: the library, and where each of its values comes from.

use std::io;

use crate::args::BathsOptions;
use crate::bath::{self, Entry, LawEntry, Sourced};
use crate::exit::ExitStatus;
use crate::job::cell::Slot;
use crate::terminal::Streams;
use crate::units::nearest;

/// Lists the library, or shows one bath.
pub fn run(options: &BathsOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let Some(name) = &options.name else {
        for name in bath::names() {
            let title = bath::find(name).and_then(|e| e.title.get().map(|at| at.value.clone()));
            writeln!(streams.out, "{name:24} {}", title.unwrap_or_default())?;
        }
        return Ok(ExitStatus::Done);
    };
    let Some(entry) = bath::find(name) else {
        let known = bath::names().collect::<Vec<_>>().join(", ");
        let near =
            nearest(name, bath::names()).map_or(String::new(), |n| format!("did you mean `{n}`? "));
        writeln!(streams.err, "error: no bath `{name}` in the library; {near}baths: {known}")?;
        return Ok(ExitStatus::BadInput);
    };
    show(name, &entry, streams)?;
    Ok(ExitStatus::Done)
}

fn show(name: &str, entry: &Entry, streams: &mut Streams<'_>) -> io::Result<()> {
    let text = |slot: &Slot<String>| slot.get().map_or(String::new(), |at| at.value.clone());
    writeln!(streams.out, "{name}: {}", text(&entry.title))?;
    writeln!(streams.out, "{}\n", text(&entry.composition))?;
    line("metal", &entry.metal, streams)?;
    line("temperature", &entry.temperature, streams)?;
    line("conductivity", &entry.conductivity, streams)?;
    law("cathode", &entry.cathode, streams)?;
    law("anode", &entry.anode, streams)?;
    if let Some(window) = entry.window.get() {
        line("window.min", &window.value.min, streams)?;
        line("window.max", &window.value.max, streams)?;
    }
    line("efficiency", &entry.efficiency, streams)?;
    writeln!(streams.out)?;
    for caution in entry.cautions.get().into_iter().flat_map(|at| &at.value) {
        writeln!(streams.out, "Caution: {}", caution.value)?;
    }
    writeln!(
        streams.out,
        "Follow local codes, the safety data sheets and the advice of a qualified plating chemist."
    )
}

fn law(side: &str, slot: &Slot<LawEntry>, streams: &mut Streams<'_>) -> io::Result<()> {
    let Some(at) = slot.get() else { return Ok(()) };
    let law = &at.value;
    let word = law.law.get().map_or("", |at| at.value.as_str());
    writeln!(streams.out, "{side:20} law {word}")?;
    line(&format!("{side}.resistance"), &law.resistance, streams)?;
    line(&format!("{side}.exchange"), &law.exchange, streams)?;
    line(&format!("{side}.slope"), &law.slope, streams)?;
    line(&format!("{side}.rest"), &law.rest, streams)?;
    line(&format!("{side}.limiting"), &law.limiting, streams)
}

fn line<T>(key: &str, slot: &Slot<Sourced<T>>, streams: &mut Streams<'_>) -> io::Result<()> {
    let Some(at) = slot.get() else { return Ok(()) };
    let Sourced { written, source, confidence, .. } = &at.value;
    writeln!(streams.out, "{key:20} {written}\n{:20}   {}: {source}", "", confidence.word())
}
