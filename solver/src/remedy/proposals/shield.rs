//! Shields before the hot edges: plastic strips that stand across the way of the current.
use crate::layout::Role;
use crate::remedy::edit::{Edit, Form};
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene};

use super::edges::{before, hot, size};

/// Thickness of plastic sheet (common practice, no source), m.
const SHEET_M: f64 = 4e-3;

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    strips(scene).into_iter().collect()
}

fn strips<'a>(scene: &'a Scene<'a>) -> Option<Proposal<'a>> {
    let edges = hot(scene);
    let size = size(scene);
    let sheet = scene.whole(SHEET_M.min(0.1 * size)).max(scene.step());
    let gap = Dim::new("gap", Measure::Length, scene.clearance, 0.3 * size, scene.step())?;
    let width = Dim::new("width", Measure::Length, 2.0 * sheet, 0.7 * size, scene.step())?;
    let names: Vec<String> =
        (1..=edges.len()).map(|k| scene.name(&format!("edge shield {k}"))).collect();
    (!edges.is_empty()).then_some(())?;
    let build = move |x: &[f64]| {
        let [gap, width] = x else { return None };
        let strip = |(edge, name): (&(shapes::Point, f64), &String)| {
            let at = scene.whole_point(before(*edge, gap + 0.5 * sheet));
            let degrees = edge.1.rem_euclid(180.0);
            let (size, turn_deg) = match degrees {
                0.0 => ((sheet, *width), 0.0),
                90.0 => ((*width, sheet), 0.0),
                other => ((sheet, *width), other),
            };
            let form = Form::Rect { at, size, turn_deg };
            Edit::Add { role: Role::Shield, name: name.clone(), form, like: 0 }
        };
        Some(edges.iter().zip(&names).map(strip).collect())
    };
    let dims = vec![gap, width];
    Some(Proposal { kind: Kind::Shield, dims, build: Box::new(build), case: None })
}
