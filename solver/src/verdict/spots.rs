//! Where the current density leaves the range in which the bath plates well.

use shapes::Point;

use super::Evidence;
use crate::solution::Stretch;

/// What is wrong at a spot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SpotKind {
    /// Above the window: rough, dark, burnt.
    Burning,
    /// Below the covering threshold: no metal.
    Bare,
    /// Between covering threshold and window: thin or dull.
    Poor,
}

/// Neighbouring stretches of one kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// What is wrong.
    pub kind: SpotKind,
    /// Index of the part.
    pub body: usize,
    /// Length along the outline, m.
    pub length_m: f64,
    /// Area, m².
    pub area_m2: f64,
    /// True if some of it is significant.
    pub significant: bool,
    /// Where the current density is farthest from the window.
    pub at: Point,
    /// The current density there, A/m².
    pub density_a_m2: f64,
}

/// All spots of all parts, burning before bare before poor, the longest first.
pub(super) fn spots(evidence: &Evidence<'_>) -> Vec<Spot> {
    let mut out: Vec<Spot> = evidence.parts().flat_map(|body| of_body(evidence, body)).collect();
    out.sort_by(|a, b| a.kind.cmp(&b.kind).then(b.length_m.total_cmp(&a.length_m)));
    out
}

fn kind(evidence: &Evidence<'_>, density: f64) -> Option<SpotKind> {
    let limits = &evidence.limits;
    let under = |limit: Option<crate::quantity::CurrentDensity>| {
        limit.is_some_and(|limit| density < limit.si())
    };
    if limits.window_max.is_some_and(|max| density > max.si()) {
        Some(SpotKind::Burning)
    } else if under(limits.bare_below) || density <= 0.0 {
        Some(SpotKind::Bare)
    } else if under(limits.window_min) {
        Some(SpotKind::Poor)
    } else {
        None
    }
}

fn of_body(evidence: &Evidence<'_>, body: usize) -> Vec<Spot> {
    let stretches = &evidence.solution.bodies[body].stretches;
    let mut out: Vec<(usize, usize, Spot)> = Vec::new();
    for (k, stretch) in stretches.iter().enumerate() {
        let Some(kind) = kind(evidence, stretch.current_density_a_m2) else { continue };
        let alone = Spot {
            kind,
            body,
            length_m: stretch.length_m,
            area_m2: stretch.area_m2,
            significant: evidence.is_significant(body, k),
            at: stretch.at,
            density_a_m2: stretch.current_density_a_m2,
        };
        match out.last_mut() {
            Some((_, last, spot))
                if *last + 1 == k && spot.kind == kind && adjoin(&stretches[*last], stretch) =>
            {
                *spot = join(*spot, alone);
                *last = k;
            }
            _ => out.push((k, k, alone)),
        }
    }
    close(stretches, &mut out);
    out.into_iter().map(|(_, _, spot)| spot).collect()
}

/// The last spot of a loop goes on in its first one where the loop closes.
fn close(stretches: &[Stretch], spots: &mut Vec<(usize, usize, Spot)>) {
    let mut k = 0;
    while k < spots.len() {
        let (first, _, spot) = spots[k];
        let lap = stretches[first].loop_index;
        let opens = first == 0 || stretches[first - 1].loop_index != lap;
        let partner = spots.iter().position(|(_, last, other)| {
            let ends = *last + 1 == stretches.len() || stretches[last + 1].loop_index != lap;
            stretches[*last].loop_index == lap && ends && other.kind == spot.kind
        });
        match partner {
            Some(p) if opens && p != k && adjoin(&stretches[spots[p].1], &stretches[first]) => {
                spots[p].2 = join(spots[p].2, spot);
                spots.remove(k);
            }
            _ => k += 1,
        }
    }
}

fn join(a: Spot, b: Spot) -> Spot {
    let beyond = |x: &Spot, y: &Spot| match a.kind {
        SpotKind::Burning => x.density_a_m2 > y.density_a_m2,
        SpotKind::Bare | SpotKind::Poor => x.density_a_m2 < y.density_a_m2,
    };
    let worst = if beyond(&b, &a) { b } else { a };
    Spot {
        length_m: a.length_m + b.length_m,
        area_m2: a.area_m2 + b.area_m2,
        significant: a.significant || b.significant,
        ..worst
    }
}

/// True if one stretch begins about where the other ends.
fn adjoin(a: &Stretch, b: &Stretch) -> bool {
    let apart = (a.at.x - b.at.x).hypot(a.at.y - b.at.y);
    a.loop_index == b.loop_index && apart <= 0.75 * (a.length_m + b.length_m)
}
