//! Outlines out of drawing files: what the drawing office sends, made into closed outlines.
//!
//! Two steps. A reader ([`Drawing::dxf`], [`Drawing::svg`]) turns the file's entities into pieces
//! of lines, arcs and Béziers, each under its layer or its ids; [`Drawing::outline`] picks the
//! pieces of one name and joins them end to end into closed loops. Nothing here opens a file.
//!
//! What cannot be made into an outline is an error that says where in the drawing it is; nothing
//! is closed, bridged or dropped silently beyond the tolerance of joining.

mod dxf;
mod error;
mod join;
mod piece;
mod spline;
mod svg;

use kurbo::Rect;

pub use error::DrawingError;
pub(crate) use join::chains_of as chains;
pub(crate) use piece::bulge;

use crate::outline::Outline;
use piece::Piece;

/// Pieces of one drawing file, in the file's own coordinates, `y` upwards.
#[derive(Debug, Clone)]
pub struct Drawing {
    pieces: Vec<Piece>,
    /// "layer" or "id".
    kind: &'static str,
    /// Metres in one unit of the file, if the file says so.
    unit_m: Option<f64>,
    /// Kinds of things in the file that draw no outline, such as text.
    skipped: Vec<String>,
}

/// Ends this near to each other are joined, as a share of the extent of what is picked.
const JOIN_SHARE: f64 = 1e-5;

/// A file with more segments is refused: no workshop drawing of one section has as many.
pub(crate) const MOST_SEGMENTS: usize = 200_000;
/// Things looked at in all, copies counted: guards against blocks of blocks of blocks.
pub(crate) const MOST_VISITS: usize = 2_000_000;
/// A file of more bytes is refused.
pub(crate) const MOST_BYTES: usize = 32 << 20;

impl Drawing {
    /// Metres in one unit of the file, if the file says so.
    pub fn unit_m(&self) -> Option<f64> {
        self.unit_m
    }

    /// What its pieces are picked by: "layer" or "id".
    pub fn kind(&self) -> &'static str {
        self.kind
    }

    /// Layers or ids that hold pieces, in alphabetical order, each with how many it holds.
    pub fn names(&self) -> Vec<(String, usize)> {
        let mut counts = std::collections::BTreeMap::<&str, usize>::new();
        for name in self.pieces.iter().flat_map(|piece| &piece.names) {
            *counts.entry(name).or_default() += 1;
        }
        counts.into_iter().map(|(name, count)| (name.to_owned(), count)).collect()
    }

    /// The closed outline that the pieces named `pick` make; without a name, all pieces.
    ///
    /// Ends within `join` of each other (in the file's unit; by default a hundred-thousandth of
    /// the extent) become one. Loops inside others are holes.
    ///
    /// # Errors
    /// [`DrawingError`]: no such name, or several layers and none named; ends that meet nothing or
    /// more than one other end; pieces on top of each other; an outline that crosses itself.
    pub fn outline(&self, pick: Option<&str>, join: Option<f64>) -> Result<Outline, DrawingError> {
        let pieces: Vec<&Piece> = match pick {
            Some(name) => {
                self.pieces.iter().filter(|p| p.names.iter().any(|n| n == name)).collect()
            }
            None => self.pieces.iter().collect(),
        };
        if self.pieces.is_empty() {
            return Err(DrawingError::Empty { skipped: self.skipped.clone() });
        }
        if let (Some(wanted), true) = (pick, pieces.is_empty()) {
            return Err(DrawingError::UnknownName {
                kind: self.kind,
                wanted: wanted.to_owned(),
                names: self.names(),
            });
        }
        if pick.is_none() && self.kind == "layer" && self.names().len() > 1 {
            return Err(DrawingError::SeveralLayers { names: self.names() });
        }
        let bounds = pieces.iter().map(|p| p.bounds()).reduce(|a, b| a.union(b));
        let extent = bounds.unwrap_or(Rect::ZERO).size().to_vec2().hypot();
        let tolerance = join.unwrap_or(JOIN_SHARE * extent);
        let chains = join::chains(&pieces, tolerance)?;
        Outline::from_segments(chains).map_err(DrawingError::Shape)
    }
}

#[cfg(test)]
mod tests;
