//! Where a part gets too little and where too much, and why: what an experienced plater would see,
//! each reason with the number that it is read from.
use shapes::{Point, Vec2};

use super::pocket::{Pocket, pockets};
use super::sight::Sight;
use crate::layout::{Layout, Role};
use crate::plan::Answer;
use crate::plan::answer::Row;
use crate::solution::Wagner;

/// Below this share of the mean a place is thin.
pub const THIN: f64 = 0.7;
/// Above this multiple of the mean a place is thick.
pub const THICK: f64 = 1.5;

/// Why a place gets what it gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// It lies in a hollow.
    Recess {
        /// How far behind the mouth, m.
        depth_m: f64,
        /// Mean width of the hollow, m.
        width_m: f64,
        /// Share of the half plane before it that its own part leaves open.
        open: f64,
    },
    /// It faces away from every anode.
    Dark {
        /// Share of the anodes' outline that lies before it.
        faces: f64,
    },
    /// Another body stands between it and the anodes.
    Shaded {
        /// Which.
        by: usize,
        /// Share of the anodes before it that this body hides.
        share: f64,
    },
    /// It is farther from the nearest anode than the rest.
    Far {
        /// Its distance, m.
        distance_m: f64,
        /// Mean distance of the significant surface, m.
        mean_m: f64,
    },
    /// It is nearer to an anode than the rest.
    Near {
        /// Its distance, m.
        distance_m: f64,
        /// Mean distance of the significant surface, m.
        mean_m: f64,
    },
    /// It is an outside edge: the outline turns here.
    Edge {
        /// By how much, degrees.
        turn_deg: f64,
    },
    /// It stands free at the end of a row or a rack, or just before the anodes: none of the above.
    Exposed {
        /// Share of the half plane before it that its own part leaves open.
        open: f64,
    },
}

/// A place that is thin or thick.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// Which part.
    pub body: usize,
    /// Where it is worst, m.
    pub at: Point,
    /// Out of the metal, over the whole place.
    pub outward: Vec2,
    /// Its middle, moved outward as far as the place reaches, m: before this point stands what
    /// shields an edge.
    pub tip: Point,
    /// Thickness there over the mean of the significant surface.
    pub over_mean: f64,
    /// Share of the significant area that belongs to it.
    pub area_share: f64,
    /// Why, the weightiest first.
    pub reasons: Vec<Reason>,
}

/// What is uneven, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// Thin places, the thinnest first.
    pub thin: Vec<Spot>,
    /// Thick places, the thickest first.
    pub thick: Vec<Spot>,
    /// Hollows of all parts, the deepest against its width first.
    pub pockets: Vec<Pocket>,
    /// Ratio of polarization to solution resistance.
    pub wagner: Wagner,
}

impl Diagnosis {
    /// True if no place is thin or thick.
    pub fn is_even(&self) -> bool {
        self.thin.is_empty() && self.thick.is_empty()
    }
}

/// Places of either kind at most.
const SPOTS: usize = 6;
/// Rows within this share of the part's size belong to one place.
const ONE_PLACE: f64 = 0.15;
/// Nearer (farther) than the mean by this much counts.
const NEAR: f64 = 0.75;
/// Less open than this is a recess.
const COVERED: f64 = 0.6;
/// A body that hides this share of the anodes shades.
const SHADE: f64 = 0.3;
/// Less of the anodes before it than this is dark.
const DARK: f64 = 0.1;
/// An outline that turns by more than this within a place is an edge, degrees.
const TURN: f64 = 50.0;

/// Looks at the first position of a solved layout.
pub fn diagnose(layout: &Layout, solved: &Answer) -> Diagnosis {
    let rows = solved.rows();
    let area: f64 = rows.iter().map(|r| r.area_m2).sum();
    let mean = rows.iter().map(|r| r.rate * r.area_m2).sum::<f64>() / area;
    let parts = layout.bodies.iter().enumerate().filter(|(_, b)| b.role == Role::Part);
    let mut pockets: Vec<Pocket> = parts.flat_map(|(k, b)| pockets(k, b)).collect();
    pockets.sort_by(|a, b| b.aspect().total_cmp(&a.aspect()));
    let wagner = solved.solutions[0].wagner;
    let mut out = Diagnosis { thin: Vec::new(), thick: Vec::new(), pockets, wagner };
    let sound = mean > 0.0 && mean.is_finite();
    if !sound {
        return out;
    }
    let gap = |row: &Row| {
        let anodes = layout.bodies.iter().filter(|b| b.role == Role::Anode);
        anodes.map(|b| b.outline.distance(row.at)).fold(f64::INFINITY, f64::min)
    };
    let gaps = rows.iter().map(|r| gap(r) * r.area_m2).sum::<f64>() / area;
    let look = Look { layout, sight: Sight::new(layout), mean, area, mean_gap_m: gaps };
    let mut order: Vec<Row> = rows.clone();
    order.sort_by(|a, b| a.rate.total_cmp(&b.rate));
    let thin: Vec<Row> = order.iter().copied().filter(|r| r.rate < THIN * mean).collect();
    let thick: Vec<Row> = order.iter().rev().copied().filter(|r| r.rate > THICK * mean).collect();
    out.thin = look.spots(&thin, &rows, &out.pockets, true);
    out.thick = look.spots(&thick, &rows, &out.pockets, false);
    out
}

struct Look<'a> {
    layout: &'a Layout,
    sight: Sight,
    mean: f64,
    area: f64,
    mean_gap_m: f64,
}

impl Look<'_> {
    /// Places made of rows that lie near each other; `rows` begins with the worst.
    fn spots(&self, rows: &[Row], all: &[Row], pockets: &[Pocket], thin: bool) -> Vec<Spot> {
        let mut taken = vec![false; rows.len()];
        let mut out = Vec::new();
        for k in 0..rows.len() {
            if taken[k] || out.len() == SPOTS {
                continue;
            }
            let worst = rows[k];
            let reach = ONE_PLACE * self.layout.bodies[worst.body].outline.diagonal();
            let near = |row: &Row| row.body == worst.body && (row.at - worst.at).hypot() <= reach;
            let (mut area, mut middle) = (0.0, Vec2::ZERO);
            for (row, taken) in rows.iter().zip(&mut taken) {
                if !*taken && near(row) {
                    *taken = true;
                    area += row.area_m2;
                    middle += row.at.to_vec2() * row.area_m2;
                }
            }
            let middle = (middle / area).to_point();
            let around: Vec<&Row> = all.iter().filter(|r| near(r)).collect();
            let sum = around.iter().fold(Vec2::ZERO, |s, r| s + r.outward * r.area_m2);
            let outward = if sum.hypot() > 0.0 { sum / sum.hypot() } else { worst.outward };
            let reach = around.iter().map(|r| (r.at - middle).dot(outward)).fold(0.0, f64::max);
            let reasons =
                if thin { self.why_thin(&worst, pockets) } else { self.why_thick(&worst, &around) };
            out.push(Spot {
                body: worst.body,
                at: worst.at,
                outward,
                tip: middle + outward * reach,
                over_mean: worst.rate / self.mean,
                area_share: area / self.area,
                reasons,
            });
        }
        out
    }

    fn gap(&self, at: Point) -> f64 {
        let anodes = self.layout.bodies.iter().filter(|b| b.role == Role::Anode);
        anodes.map(|b| b.outline.distance(at)).fold(f64::INFINITY, f64::min)
    }

    fn why_thin(&self, row: &Row, pockets: &[Pocket]) -> Vec<Reason> {
        let mut out = Vec::new();
        let open = self.sight.cover(row.body, row.at, row.outward).open;
        let size = self.layout.bodies[row.body].outline.diagonal();
        let own = pockets.iter().filter(|p| p.body == row.body);
        let here = own.filter(|p| p.distance(row.at) < 1e-3 * size);
        if let Some(pocket) = here.max_by(|a, b| a.aspect().total_cmp(&b.aspect()))
            && open < COVERED
        {
            let depth_m = match pocket.mouth_m {
                Some(_) => pocket.depth_of(row.at),
                None => pocket.depth_m,
            };
            out.push(Reason::Recess { depth_m, width_m: pocket.width_m, open });
        }
        let view = self.sight.anodes(row.body, row.at, row.outward);
        if view.faces < DARK {
            out.push(Reason::Dark { faces: view.faces });
        } else if let Some((by, share)) = view.hidden_by
            && share > SHADE
        {
            out.push(Reason::Shaded { by, share });
        }
        let distance_m = self.gap(row.at);
        if distance_m > self.mean_gap_m / NEAR {
            out.push(Reason::Far { distance_m, mean_m: self.mean_gap_m });
        }
        if out.is_empty() {
            out.push(Reason::Exposed { open });
        }
        out
    }

    fn why_thick(&self, row: &Row, around: &[&Row]) -> Vec<Reason> {
        let mut out = Vec::new();
        let angle = |r: &&Row| libm::acos(r.outward.dot(row.outward).clamp(-1.0, 1.0));
        let turn_deg = around.iter().map(angle).fold(0.0, f64::max).to_degrees();
        let open = self.sight.cover(row.body, row.at, row.outward).open;
        if turn_deg > TURN && open > COVERED {
            out.push(Reason::Edge { turn_deg });
        }
        let distance_m = self.gap(row.at);
        if distance_m < self.mean_gap_m * NEAR {
            out.push(Reason::Near { distance_m, mean_m: self.mean_gap_m });
        }
        if out.is_empty() {
            out.push(Reason::Exposed { open });
        }
        out
    }
}
