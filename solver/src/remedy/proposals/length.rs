//! Anodes shorter than the work (or longer): ends that see less of the anode get less. Plain upright
//! bars only; all are cut by the same share about their middle.
use shapes::Rect;

use crate::remedy::edit::{Edit, Form};
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene};

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    let groups = scene.groups_of(scene.anodes());
    let bars: Option<Vec<(usize, Rect)>> = groups
        .iter()
        .map(|group| match group[..] {
            [body] => bar(scene, body).map(|bounds| (body, bounds)),
            _ => None,
        })
        .collect();
    let Some(bars) = bars.filter(|bars| !bars.is_empty()) else { return Vec::new() };
    let Some(dim) = Dim::new("length over the present one", Measure::Share, 0.2, 1.3, 0.01) else {
        return Vec::new();
    };
    let build = move |x: &[f64]| {
        let share = *x.first()?;
        let cut = |(body, bounds): &(usize, Rect)| {
            let (w, h) = (bounds.width(), bounds.height());
            let long = |m: f64| scene.whole(m * share).max(scene.step());
            let size = if h >= w { (w, long(h)) } else { (long(w), h) };
            let form = Form::Rect { at: bounds.center(), size, turn_deg: 0.0 };
            Edit::Reshape { body: *body, form }
        };
        Some(bars.iter().map(cut).collect())
    };
    vec![Proposal { kind: Kind::Length, dims: vec![dim], build: Box::new(build), case: None }]
}

/// The box of an upright bar, at least twice as long as thick; `None` for anything else.
fn bar(scene: &Scene<'_>, body: usize) -> Option<Rect> {
    let outline = &scene.layout.bodies[body].outline;
    let bounds = outline.bounds();
    let (w, h) = (bounds.width(), bounds.height());
    let plain = (outline.area() - w * h).abs() < 1e-6 * w * h && outline.loops().len() == 1;
    (plain && w.max(h) >= 2.0 * w.min(h)).then_some(bounds)
}
