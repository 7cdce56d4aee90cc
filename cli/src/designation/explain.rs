//! Says in words what a designation asks for.

use super::SEMIBRIGHT_SHARE;
use super::classes::{self, Entry, ServiceClass, entries};
use super::model::{Basis, Designation, Kind, Metal, Stated};

/// What `designation` asks for, line by line, from the basis outwards.
pub fn explain(designation: &Designation) -> Vec<String> {
    let standards = match designation.is_zinc() {
        true => "zinc on iron and steel, after ISO 2081 and ASTM B633",
        false => "copper, nickel and chromium, after ISO 1456 and ASTM B456",
    };
    let mut lines = vec![format!("{designation}: {standards}")];
    let basis = designation.basis;
    lines.push(format!("  {}  on {}", basis.symbol(), basis.words()));
    for layer in designation.layers() {
        let kind = layer.kind.map(|k| format!(", {}: {}", k.letters(), k.words()));
        let name = layer.metal.name();
        let kind = kind.unwrap_or_default();
        lines.push(format!(
            "  {}  {name}, at least {} µm{kind}",
            layer.metal.symbol(),
            layer.least_um
        ));
        if let Stated::Implied(why) = layer.stated {
            lines.push(format!("      {why}"));
        }
        if layer.kind == Some(Kind::Multilayer) {
            lines.push(format!(
                "      of it at least {:.1} µm ({:.0} %) semi-bright nickel below, the bright nickel above less than {:.1} µm (nickel chapters of a finishing guidebook, after ASTM B456 for steel)",
                SEMIBRIGHT_SHARE * layer.least_um,
                100.0 * SEMIBRIGHT_SHARE,
                (1.0 - SEMIBRIGHT_SHARE) * layer.least_um,
            ));
        }
    }
    for finish in &designation.finishes {
        lines.push(format!("  {}  {} (from memory of ISO 2081, ASTM B633 and ISO 19598; it is explained, not checked)", finish.to_string().trim(), finish.words()));
    }
    lines.push("Each figure is the least local thickness anywhere on the significant surface: unless the drawing marks it, all that a ball of 20 mm can touch (ISO 27830).".into());
    lines.extend(undercoat(designation));
    let stated = designation.class;
    let reached = classes::reached(designation);
    match reached {
        Some(class) => lines.push(format!(
            "Reaches service class {class} ({}) of the tables known here.",
            class.words()
        )),
        None => lines.extend(stated.map(|class| {
            format!(
                "Service class {class} ({}): compare with the table of your edition.",
                class.words()
            )
        })),
    }
    lines.push(FOLLOW.into());
    lines
}

const FOLLOW: &str = "For planning only: buy and follow the current edition of the standard.";

/// What some basis metals need below nickel.
fn undercoat(designation: &Designation) -> Option<String> {
    let first = designation.coats.first()?;
    let copper_um = first.stated_um.filter(|_| first.metal == Metal::Copper);
    match designation.basis {
        Basis::ZincAlloy if copper_um.is_none_or(|um| um < 5.0) => Some(
            "Note: zinc alloys take at least 5 µm of copper first, 8 µm on complex shapes (from memory of ISO 1456 and ASTM B456).".into(),
        ),
        Basis::Aluminium => {
            Some("Note: aluminium is zincated or stannated before the first layer (common practice, no source).".into())
        }
        Basis::Plastic => {
            Some("Note: plastic is made conductive before the first layer; copper below the nickel takes up its expansion (common practice, no source).".into())
        }
        _ => None,
    }
}

/// What a service class asks for, on one basis or on all.
pub fn explain_class(class: ServiceClass, basis: Option<Basis>) -> Vec<String> {
    let mut lines = vec![format!("{class}: {} service", class.words())];
    let of_class =
        |entry: &Entry| entry.class == class && basis.is_none_or(|basis| entry.basis == basis);
    let mut last = None;
    for entry in entries().filter(of_class) {
        let heading = (entry.basis, entry.designation.starts_with("Fe/Zn"));
        if last != Some(heading) {
            let what = if heading.1 { "zinc" } else { "nickel and chromium" };
            lines.push(format!("  {what} on {}:", entry.basis.words()));
            last = Some(heading);
        }
        lines.push(format!("    {:22} {}", entry.designation, entry.source));
    }
    if last.is_none() {
        lines.push("  the tables known here have no line for it".into());
    }
    lines.push(
        "Other ways to reach it may stand in your edition, such as copper below less nickel."
            .into(),
    );
    lines.push(FOLLOW.into());
    lines
}
