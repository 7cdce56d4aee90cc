//! Thieves beside the hot edges: bare rods on the cathode bus that take what the edge would get.
use crate::layout::Role;
use crate::quantity::Potential;
use crate::remedy::edit::{Edit, Form};
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene};

use super::edges::{before, hot, size};

/// Rods are no thicker than this (common practice, no source), m.
const ROD_M: f64 = 0.01;

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    rods(scene).into_iter().collect()
}

fn rods<'a>(scene: &'a Scene<'a>) -> Option<Proposal<'a>> {
    let edges = hot(scene);
    let size = size(scene);
    let half = 0.5 * scene.step();
    let gap = Dim::new("gap", Measure::Length, scene.clearance, 0.3 * size, scene.step())?;
    let most = ROD_M.min(0.15 * size);
    let radius = Dim::new("radius", Measure::Length, (0.01 * size).max(2.0 * half), most, half)?;
    let names: Vec<String> = (1..=edges.len()).map(|k| scene.name(&format!("thief {k}"))).collect();
    let like = scene.parts().next()?;
    (!edges.is_empty()).then_some(())?;
    let build = move |x: &[f64]| {
        let [gap, radius] = x else { return None };
        let rod = |(edge, name): (&(shapes::Point, f64), &String)| {
            let at = scene.whole_point(before(*edge, gap + radius));
            let form = Form::Disc { at, radius: *radius };
            let role = Role::Thief { offset: Potential::new(0.0) };
            Edit::Add { role, name: name.clone(), form, like }
        };
        Some(edges.iter().zip(&names).map(rod).collect())
    };
    let dims = vec![gap, radius];
    Some(Proposal { kind: Kind::Thief, dims, build: Box::new(build), case: None })
}
