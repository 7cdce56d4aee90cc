//! A second anode on the side that no anode stands on: the cure of the one-sided rack.
use shapes::{Point, Vec2};

use crate::layout::Role;
use crate::remedy::edit::{Edit, Form};
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene, unit};

/// Sides tried at most.
const SIDES: usize = 2;

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    let around = scene.parts_box();
    let mean = scene.base.mean_m_s;
    let rows = scene.solved.rows();
    // how much metal is missing on what faces each side
    let missing = |way: Vec2| -> f64 {
        let each =
            rows.iter().map(|r| (mean - r.rate).max(0.0) * r.area_m2 * r.outward.dot(way).max(0.0));
        each.sum()
    };
    let taken = |way: Vec2| {
        scene.anodes().any(|b| {
            let from = scene.layout.bodies[b].outline.bounds().center() - around.center();
            let half = 0.5 * (way.x.abs() * around.width() + way.y.abs() * around.height());
            from.dot(way) > half
        })
    };
    let mut sides: Vec<(f64, f64)> = [0.0, 90.0, 180.0, 270.0]
        .into_iter()
        .filter(|&side| !taken(unit(side)) && missing(unit(side)) > 0.0)
        .map(|side| (side, missing(unit(side))))
        .collect();
    sides.sort_by(|a, b| b.1.total_cmp(&a.1));
    let sides = sides.into_iter().take(SIDES);
    sides.filter_map(|(side, _)| at_side(scene, side)).collect()
}

fn at_side<'a>(scene: &'a Scene<'a>, side: f64) -> Option<Proposal<'a>> {
    let way = unit(side);
    let (around, tank) = (scene.parts_box(), scene.layout.tank.bounds());
    let across = way.x.abs() * around.height() + way.y.abs() * around.width();
    let across_tank = way.x.abs() * tank.height() + way.y.abs() * tank.width();
    let face =
        around.center() + Vec2::new(0.5 * around.width() * way.x, 0.5 * around.height() * way.y);
    let wall = match side {
        0.0 => tank.x1 - face.x,
        90.0 => tank.y1 - face.y,
        180.0 => face.x - tank.x0,
        _ => face.y - tank.y0,
    };
    let bar = scene.bar_m();
    let least = (0.1 * across).max(2.0 * scene.clearance);
    let gap = Dim::new("gap", Measure::Length, least, wall - bar - scene.clearance, scene.step())?;
    let longest = (1.5 * across).min(across_tank - 2.0 * scene.clearance);
    let length = Dim::new("length", Measure::Length, 0.2 * across, longest, scene.step())?;
    let like = scene.anodes().next()?;
    let name = scene.name("second anode");
    let build = move |x: &[f64]| {
        let [gap, length] = x else { return None };
        let at: Point = scene.whole_point(face + way * (gap + 0.5 * bar));
        let size = if way.x != 0.0 { (bar, *length) } else { (*length, bar) };
        let form = Form::Rect { at, size, turn_deg: 0.0 };
        Some(vec![Edit::Add { role: Role::Anode, name: name.clone(), form, like }])
    };
    let dims = vec![gap, length];
    Some(Proposal { kind: Kind::SecondAnode, dims, build: Box::new(build), case: None })
}
