//! A conforming anode: a bent sheet that follows the hollow at an even gap.
use shapes::{Point, Vec2};

use crate::layout::Role;
use crate::remedy::edit::{Edit, Form};
use crate::remedy::pocket::Pocket;
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene};

use super::inside::thin_pockets;

/// Points along the hollow from which the sheet is laid out.
const POINTS: usize = 160;
/// Corners of the sheet stay this near to the even gap, as a share of it.
const STRAIGHT: f64 = 0.05;

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    thin_pockets(scene).filter_map(|pocket| sheet(scene, pocket)).collect()
}

fn sheet<'a>(scene: &'a Scene<'a>, pocket: &'a Pocket) -> Option<Proposal<'a>> {
    pocket.mouth_m?;
    let thickness =
        scene.whole((0.1 * pocket.width_m).clamp(2.0 * scene.step(), 5.0 * scene.step()));
    let most = 0.5 * pocket.width_m - 0.5 * thickness;
    let gap = Dim::new("gap", Measure::Length, scene.clearance, most, scene.step())?;
    let back =
        Dim::new("rim set back by", Measure::Length, 0.0, 0.7 * pocket.depth_m, scene.step())?;
    let like = scene.anodes().next()?;
    let name = scene.name("conforming anode");
    let build = move |x: &[f64]| {
        let [gap, back] = x else { return None };
        let points = even_gap(pocket, gap + 0.5 * thickness, *back)?;
        let fine = 0.1 * scene.step();
        let tidy = |p: Point| Point::new((p.x / fine).round() * fine, (p.y / fine).round() * fine);
        let form = Form::Strip { points: points.into_iter().map(tidy).collect(), thickness };
        Some(vec![Edit::Add { role: Role::Anode, name: name.clone(), form, like }])
    };
    let dims = vec![gap, back];
    Some(Proposal { kind: Kind::Conforming, dims, build: Box::new(build), case: None })
}

/// A line that keeps `gap` to the hollow's outline, from `back` behind its mouth on.
fn even_gap(pocket: &Pocket, gap: f64, back: f64) -> Option<Vec<Point>> {
    let length: f64 = pocket.outline.windows(2).map(|c| (c[1] - c[0]).hypot()).sum();
    let step = length / POINTS as f64;
    let mut line = Vec::new();
    for chord in pocket.outline.windows(2) {
        let along = chord[1] - chord[0];
        let count = (along.hypot() / step).ceil().max(1.0) as usize;
        // the part lies on the left of its outline, the bath on the right
        let outward = Vec2::new(along.y, -along.x) / along.hypot();
        for k in 0..=count {
            let at = chord[0] + along * (k as f64 / count as f64);
            let lifted = at + outward * gap;
            let behind = (lifted - pocket.mouth).dot(pocket.inward()) >= back;
            // what lies nearer to another stretch is left out: there the line turns
            if behind && pocket.distance(lifted) > gap * (1.0 - 1e-3) {
                line.push(lifted);
            }
        }
    }
    (line.len() > 1).then(|| simpler(&line, STRAIGHT * gap)).filter(|line| line.len() > 1)
}

/// The line with fewer points, none left out that lies farther than `tolerance` from it
/// (Douglas and Peucker 1973).
fn simpler(line: &[Point], tolerance: f64) -> Vec<Point> {
    let [first, .., last] = line else { return line.to_vec() };
    let along = *last - *first;
    let off = |p: &Point| {
        if along.hypot() > 0.0 {
            (along.cross(*p - *first) / along.hypot()).abs()
        } else {
            (*p - *first).hypot()
        }
    };
    let inner = (1..line.len() - 1).map(|k| (k, off(&line[k])));
    match inner.max_by(|a, b| a.1.total_cmp(&b.1)) {
        Some((k, far)) if far > tolerance => {
            let mut out = simpler(&line[..=k], tolerance);
            out.pop();
            out.extend(simpler(&line[k..], tolerance));
            out
        }
        _ => vec![*first, *last],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::remedy::pocket::pockets;
    use crate::sample::{body, linear, polygon};

    /// A hollow of 40 mm by 30 mm: the line at 10 mm is a U with its corners 10 mm from both walls.
    #[test]
    fn the_line_keeps_its_gap_and_turns_at_the_corners() {
        let cup = polygon(&[
            [0.02, 0.02],
            [0.08, 0.02],
            [0.08, 0.06],
            [0.07, 0.06],
            [0.07, 0.03],
            [0.03, 0.03],
            [0.03, 0.06],
            [0.02, 0.06],
        ]);
        let pocket = &pockets(0, &body("cup", Role::Part, cup, linear(1e-3)))[0];
        let line = even_gap(pocket, 0.01, 0.0).expect("a line");
        let corners = [[0.06, 0.06], [0.06, 0.04], [0.04, 0.04], [0.04, 0.06]];
        assert_eq!(line.len(), 4, "{line:?}");
        for (p, c) in line.iter().zip(corners) {
            assert!((*p - Point::new(c[0], c[1])).hypot() < 1.5e-3, "{p:?} {c:?}");
        }
    }
}
