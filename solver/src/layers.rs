//! Several deposits on one part, one over the other: copper, then nickel, then chromium.
//!
//! Each layer is solved in its own tank, where the part may hang elsewhere, turned or mirrored,
//! and where its outline is cut into other stretches because its neighbours differ. Here all of
//! them are laid onto the outline of the first: places are matched by arc length ([`Fit`]), and the
//! outline is cut wherever a stretch of any layer ends. On such a piece every layer is even, so
//! nothing is smoothed: each layer keeps its mass, its least and its greatest thickness, and the
//! total is their sum at every place.
//!
//! Means weigh by area. Around an axis the area within a stretch is taken as even along it.
//!
//! Limits: layers do not change the shape for the next one, and do not dissolve in its bath.

mod fit;

use shapes::{Outline, Point};

use crate::deposit::BodyDeposit;
use crate::solution::{BodyResult, Spread};
use crate::spread::Evenness;

pub use fit::Fit;

/// Cuts nearer to each other than this share of a loop are one cut: rounding.
const SAME_CUT: f64 = 1e-9;

/// One layer on one part.
#[derive(Debug, Clone, Copy)]
pub struct Coat<'a> {
    /// The part's outline in this layer's tank.
    pub outline: &'a Outline,
    /// The part's results there.
    pub result: &'a BodyResult,
    /// The metal on it.
    pub deposit: &'a BodyDeposit,
    /// For each stretch of `result`, whether it lies on the significant surface; `None` for all.
    pub significant: Option<&'a [bool]>,
}

/// All layers of a part on the first layer's outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// Pieces of the wetted outline, loop after loop, in order of arc length.
    pub places: Vec<Place>,
    /// Each layer, in order of plating.
    pub layers: Vec<Profile>,
    /// Their sum.
    pub total: Profile,
}

/// A short piece of the outline on which every layer is even.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Which closed loop of the outline (0 = outer).
    pub loop_index: usize,
    /// Arc length of its middle along the loop, m.
    pub s_m: f64,
    /// Its length, m.
    pub length_m: f64,
    /// Its area, m²: its share of the stretch of the first layer that reaches it.
    pub area_m2: f64,
    /// Its middle, m, as the part hangs in the first layer's tank.
    pub at: Point,
    /// Unit normal at the middle, out of the metal.
    pub normal: [f64; 2],
    /// True on the significant surface.
    pub significant: bool,
}

/// Thickness along the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Thickness on each place, m; zero where the bath does not reach.
    pub thickness_m: Vec<f64>,
    /// Uncertainty of each, m. Those of the total are sums: all layers may err the same way.
    pub uncertainty_m: Vec<f64>,
    /// Mean, least and greatest over the whole outline, m.
    pub thickness: Spread,
    /// Measures of evenness; `None` where nothing is deposited.
    pub evenness: Option<Evenness>,
}

/// Why layers cannot be laid on each other.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StackError {
    /// No layers, or no wetted outline in any.
    #[error("there is no wetted outline to lay layers on")]
    Nothing,
    /// An outline is not that of the first layer.
    #[error("the outline of layer {layer} is not that of layer 1, moved, turned or mirrored")]
    Shape {
        /// Which layer, from 1.
        layer: usize,
    },
}

/// Lays `coats` onto the outline of the first.
///
/// # Errors
/// [`StackError`] if an outline differs from the first in more than position, turn and mirror.
///
/// O(n²) for n stretches in all layers together.
pub fn stack(coats: &[Coat<'_>]) -> Result<Stack, StackError> {
    let first = coats.first().ok_or(StackError::Nothing)?;
    let mut laid = Vec::with_capacity(coats.len());
    for (index, coat) in coats.iter().enumerate() {
        let fit = match index {
            0 => Fit::itself(coat.outline),
            _ => Fit::of(coat.outline, first.outline)
                .ok_or(StackError::Shape { layer: index + 1 })?,
        };
        laid.push(pieces(coat, &fit, first.outline));
    }
    let mut places = Vec::new();
    let mut rows: Vec<Vec<(f64, f64)>> = vec![Vec::new(); coats.len()];
    for (l, curve) in first.outline.loops().iter().enumerate() {
        let on_loop: Vec<Vec<&Piece>> = laid
            .iter()
            .map(|layer| layer.iter().filter(|piece| piece.loop_index == l).collect())
            .collect();
        let total = curve.length();
        for (from, to) in cuts(on_loop.iter().flatten().copied(), total) {
            let found: Vec<Share> =
                on_loop.iter().map(|layer| Share::of(layer, from, to, total)).collect();
            if found.iter().all(|share| share.covered <= 0.5) {
                continue;
            }
            let s_m = curve.wrapped(0.5 * (from + to));
            let outward = curve.outward_at(s_m);
            places.push(Place {
                loop_index: l,
                s_m,
                length_m: to - from,
                area_m2: (to - from) * found.iter().find_map(Share::area_per_m).unwrap_or(0.0),
                at: curve.point_at(s_m),
                normal: [outward.x, outward.y],
                significant: found.iter().find_map(|share| share.significant).unwrap_or(true),
            });
            for (row, share) in rows.iter_mut().zip(&found) {
                row.push((share.thickness_m, share.uncertainty_m));
            }
        }
    }
    let total: Vec<(f64, f64)> = (0..places.len())
        .map(|k| rows.iter().map(|row| row[k]).fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1)))
        .collect();
    let layers: Option<Vec<Profile>> = rows.into_iter().map(|r| Profile::of(r, &places)).collect();
    let (Some(layers), Some(total)) = (layers, Profile::of(total, &places)) else {
        return Err(StackError::Nothing);
    };
    Ok(Stack { places, layers, total })
}

impl Profile {
    fn of(rows: Vec<(f64, f64)>, places: &[Place]) -> Option<Self> {
        let (thickness_m, uncertainty_m): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
        let areas: Vec<f64> = places.iter().map(|place| place.area_m2).collect();
        let at: Vec<Point> = places.iter().map(|place| place.at).collect();
        Some(Self {
            thickness: Spread::of(&thickness_m, &areas, &at, &uncertainty_m)?,
            evenness: Evenness::of(&thickness_m, &areas),
            thickness_m,
            uncertainty_m,
        })
    }
}

impl Stack {
    /// The sum of some layers, by their indices; those out of range count as nothing.
    ///
    /// `None` only for a stack without places.
    pub fn sum(&self, layers: &[usize]) -> Option<Profile> {
        let chosen: Vec<&Profile> = layers.iter().filter_map(|k| self.layers.get(*k)).collect();
        let add = |k: usize, value: fn(&Profile) -> &Vec<f64>| {
            chosen.iter().filter_map(|profile| value(profile).get(k)).sum()
        };
        let rows = (0..self.places.len())
            .map(|k| (add(k, |p| &p.thickness_m), add(k, |p| &p.uncertainty_m)))
            .collect();
        Profile::of(rows, &self.places)
    }

    /// Mean, least and greatest of a profile on the significant surface; `None` if there is none.
    pub fn on_significant(&self, profile: &Profile) -> Option<Spread> {
        let area = |place: &Place| if place.significant { place.area_m2 } else { 0.0 };
        let areas: Vec<f64> = self.places.iter().map(area).collect();
        let at: Vec<Point> = self.places.iter().map(|place| place.at).collect();
        Spread::of(&profile.thickness_m, &areas, &at, &profile.uncertainty_m)
    }
}

/// A stretch of a layer where it lies on the first layer's outline.
#[derive(Debug, Clone, Copy)]
struct Piece {
    loop_index: usize,
    from: f64,
    to: f64,
    thickness_m: f64,
    uncertainty_m: f64,
    area_per_m: f64,
    significant: Option<bool>,
}

/// The stretches of a layer on `outline`, that of the first layer.
fn pieces(coat: &Coat<'_>, fit: &Fit, outline: &Outline) -> Vec<Piece> {
    let rows = coat.result.stretches.iter().enumerate();
    let piece = |(k, stretch): (usize, &crate::solution::Stretch)| {
        let (loop_index, middle, stretched) = fit.place(stretch.loop_index, stretch.s_m)?;
        let middle = outline.loops().get(loop_index)?.wrapped(middle);
        let half = 0.5 * stretch.length_m * stretched;
        Some(Piece {
            loop_index,
            from: middle - half,
            to: middle + half,
            // outlines drawn twice differ by a hair in length; the metal stays the same
            thickness_m: coat.deposit.thickness_m.get(k)? / stretched,
            uncertainty_m: coat.deposit.uncertainty_m.get(k)? / stretched,
            area_per_m: stretch.area_m2 / (stretch.length_m * stretched),
            significant: coat.significant.and_then(|mask| mask.get(k).copied()),
        })
    };
    rows.filter_map(piece).collect()
}

/// What one layer has on a stretch of the first layer's outline.
#[derive(Debug, Clone, Copy, Default)]
struct Share {
    /// Share of the stretch that the layer's bath reaches.
    covered: f64,
    thickness_m: f64,
    uncertainty_m: f64,
    area_m: f64,
    significant: Option<bool>,
}

impl Share {
    fn of(layer: &[&Piece], from: f64, to: f64, total: f64) -> Self {
        let mut share = Self::default();
        let mut most = 0.0;
        for piece in layer {
            let common = common(piece, from, to, total) / (to - from);
            share.covered += common;
            share.thickness_m += common * piece.thickness_m;
            share.uncertainty_m += common * piece.uncertainty_m;
            share.area_m += common * piece.area_per_m;
            if common > most {
                most = common;
                share.significant = piece.significant;
            }
        }
        share
    }
}

impl Share {
    /// Area for each metre of outline, if the layer's bath reaches most of the stretch.
    fn area_per_m(&self) -> Option<f64> {
        (self.covered > 0.5).then(|| self.area_m / self.covered)
    }
}

/// Length that a piece and a stretch of the same loop have in common.
fn common(piece: &Piece, from: f64, to: f64, total: f64) -> f64 {
    // either may run over the start of the loop: pieces reach from −½ to 1½, stretches from 0 to 2
    let turns = [-total, 0.0, total, 2.0 * total];
    let overlap = |turn: f64| (to.min(piece.to + turn) - from.max(piece.from + turn)).max(0.0);
    turns.into_iter().map(overlap).sum()
}

/// The stretches between neighbouring ends of pieces, all round the loop.
fn cuts<'a>(pieces: impl Iterator<Item = &'a Piece>, total: f64) -> Vec<(f64, f64)> {
    let near = SAME_CUT * total;
    let mut ends: Vec<f64> = pieces
        .flat_map(|piece| [piece.from, piece.to])
        .map(|s| {
            let s = s.rem_euclid(total);
            // a hair before the start is the start
            if total - s <= near { 0.0 } else { s }
        })
        .collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup_by(|later, kept| *later - *kept <= near);
    let Some(first) = ends.first().copied() else { return Vec::new() };
    let mut ahead = ends.clone();
    ahead.rotate_left(1);
    if let Some(last) = ahead.last_mut() {
        *last = first + total;
    }
    ends.into_iter().zip(ahead).collect()
}

#[cfg(test)]
mod tests;
