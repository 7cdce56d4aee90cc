//! Anodes nearer or farther: all of them by the same way, each towards its nearest part. Farther
//! evens out most racks; nearer helps a part that is to get more on one side.
use shapes::{Point, Vec2};

use crate::remedy::edit::Edit;
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene, tidy, unit};

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    let groups = scene.groups_of(scene.anodes());
    let towards: Option<Vec<(Vec<usize>, Vec2)>> =
        groups.into_iter().map(|g| towards(scene, &g).map(|way| (g, way))).collect();
    let Some(rows) = towards.filter(|rows| !rows.is_empty()) else { return Vec::new() };
    let travel = |sign: f64| {
        let each = rows.iter().map(|(group, way)| scene.travel(group, *way * sign));
        each.fold(f64::INFINITY, f64::min)
    };
    let (nearer, farther) = (travel(1.0), travel(-1.0));
    let Some(dim) = Dim::new("nearer by", Measure::Length, -farther, nearer, scene.step()) else {
        return Vec::new();
    };
    let build = move |x: &[f64]| {
        let by = *x.first()?;
        let edit =
            |(group, way): &(Vec<usize>, Vec2)| Edit::Move { bodies: group.clone(), by: *way * by };
        (by != 0.0).then(|| rows.iter().map(edit).collect())
    };
    vec![Proposal { kind: Kind::Distance, dims: vec![dim], build: Box::new(build), case: None }]
}

/// From the anodes of a group to the nearest part, as a tidy direction.
fn towards(scene: &Scene<'_>, group: &[usize]) -> Option<Vec2> {
    let anode = |b: usize| &scene.layout.bodies[b].outline;
    let centre = group.iter().map(|&b| anode(b).bounds().center().to_vec2());
    let centre = (centre.fold(Vec2::ZERO, |s, c| s + c) / group.len() as f64).to_point();
    let to: Point = scene.parts_box().center();
    // a long row feeds what lies beside it: the direction across it counts
    let bounds = group.iter().map(|&b| anode(b).bounds()).reduce(|a, b| a.union(b))?;
    let way = to - centre;
    let way = if bounds.height() > 2.0 * bounds.width() {
        Vec2::new(way.x, 0.0)
    } else if bounds.width() > 2.0 * bounds.height() {
        Vec2::new(0.0, way.y)
    } else {
        way
    };
    (way.hypot() > 0.0).then(|| unit(tidy(way)))
}
