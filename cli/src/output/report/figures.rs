//! The pictures of the page, each with its words and its tables.

use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use solver::Role;

use super::measure_points::GaugePoint;
use super::points::PlotJson;
use super::{Figure, ReportError, Table, settings, tables, words};
use crate::output::drawing::{Drawing, rounded};
use crate::output::format::duration;
use crate::output::page::Size;
use crate::output::places::Places;
use crate::output::{Context, deposit_picture, layout_picture, map, rack, rectifier};

/// Pixels for each pixel of the drawing: sharp on paper.
const FINE: u32 = 2;

/// The band of deposit along the outlines.
pub fn deposit(
    context: &Context,
    places: &Places,
    gauge: &[GaugePoint],
) -> Result<Figure, ReportError> {
    let drawing = deposit_picture::draw_sized(context, Size::Figure);
    let what = match context.deposit {
        Some(run) => format!("Thickness after {}", duration(run.time.si())),
        None => "Current density on the parts".into(),
    };
    let setting = rectifier::setting(context.solution);
    let lead = words::lead(context, places).into_iter().next().unwrap_or_default();
    Ok(Figure {
        alt: format!("{what} drawn as a band along the outline of each part. {lead}"),
        caption: format!(
            "{what} at {setting}, drawn along each part's outline, many times thicker than it is. {}{}",
            context.uncertainty_note(),
            if gauge.is_empty() { "" } else { " Letters: where to measure." },
        ),
        tables: tables::along(context, places),
        // a rack, cell by cell
        class: if drawing.plots().len() > rack::FEW { "many" } else { "" },
        ..figure("deposit", drawing, gauge)?
    })
}

/// The current density in the bath.
pub fn map(context: &Context) -> Result<Figure, ReportError> {
    let (drawing, ..) = map::draw_sized(context, Size::Figure);
    let names = |role: fn(Role) -> bool| {
        let all: Vec<&str> = context
            .layout
            .bodies
            .iter()
            .filter(|b| role(b.role))
            .map(|b| b.name.as_str())
            .collect();
        if all.len() > 6 { format!("{} of them", all.len()) } else { all.join(", ") }
    };
    Ok(Figure {
        alt: format!(
            "Map of the current density in the tank section. White lines, the walls of current tubes, run from the anodes ({}) to the parts ({}); they crowd where the density is high.",
            names(|r| r == Role::Anode),
            names(|r| r == Role::Part),
        ),
        caption: format!(
            "Current density in the bath at {}{}. Every tube between two white lines carries the same current.",
            rectifier::setting(context.solution),
            if context.findings.positions.is_empty() { "" } else { ", first position" },
        ),
        tables: vec![tables::bodies(context)],
        ..figure("map", drawing, &[])?
    })
}

/// The layout with its sizes.
pub fn layout(context: &Context) -> Result<Figure, ReportError> {
    let drawing =
        layout_picture::draw_sized(context.title, context.layout, context.units, Size::Figure);
    let told: Vec<String> =
        settings::hanging(context).rows.iter().take(8).map(|row| row.join(", ")).collect();
    Ok(Figure {
        alt: format!("Layout of the tank with sizes and clear distances. {}.", told.join("; ")),
        caption: format!(
            "How everything hangs: sizes, clear distances (blue) and corner numbers. Lengths in {}.",
            context.units.length_unit()
        ),
        ..figure("layout", drawing, &[])?
    })
}

fn figure(
    id: &'static str,
    mut drawing: Drawing,
    gauge: &[GaugePoint],
) -> Result<Figure, ReportError> {
    drawing.trim_foot();
    Ok(Figure {
        id,
        class: "",
        width: drawing.width,
        height: drawing.height,
        png: Some(STANDARD.encode(drawing.fine_png(FINE)?)),
        svg: overlay(&drawing, gauge),
        alt: String::new(),
        caption: String::new(),
        tables: Vec::<Table>::new(),
        plots: drawing.plots().iter().map(PlotJson::section).collect(),
    })
}

/// What lies over a picture: the letters of the places to measure, and later the chosen place.
fn overlay(drawing: &Drawing, gauge: &[GaugePoint]) -> String {
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" aria-hidden=\"true\">",
        drawing.width, drawing.height
    );
    for point in gauge {
        let shown = drawing.plots().iter().find(|p| p.body.is_none_or(|b| b == point.body));
        let Some(plot) = shown else { continue };
        let at = plot.view.pixel(point.at);
        let (x, y) = (rounded(at.x), rounded(at.y));
        // writing to a string cannot fail
        let _ = write!(
            svg,
            "<g class=\"tag\"><circle cx=\"{x}\" cy=\"{y}\" r=\"7.5\" /><text x=\"{x}\" y=\"{}\">{}</text></g>",
            rounded(at.y + 4.0),
            point.letter
        );
    }
    svg.push_str("</svg>");
    svg
}
