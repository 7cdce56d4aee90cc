//! Why a drawing gives no outline.

use kurbo::Point;
use thiserror::Error;

use crate::error::{ShapeError, number, place};

/// Why a drawing gives no outline; places are in the drawing's own coordinates.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum DrawingError {
    /// Not a file of this kind, or damaged.
    #[error("this is not a readable {format} file: {why}")]
    Damaged {
        /// "DXF" or "SVG".
        format: &'static str,
        /// What the reader found.
        why: String,
    },
    /// More than a drawing of a section holds.
    #[error("the drawing has more than {most} {what}")]
    TooLarge {
        /// What there is too much of.
        what: &'static str,
        /// The most that is read.
        most: usize,
    },
    /// A block that holds itself.
    #[error("block `{block}` holds itself, directly or through other blocks")]
    Recursive {
        /// Name of the block.
        block: String,
    },
    /// Nothing that draws an outline.
    #[error("the drawing holds nothing that draws an outline{}", only(.skipped))]
    Empty {
        /// What it holds instead.
        skipped: Vec<String>,
    },
    /// A name that nothing in the drawing has.
    #[error("the drawing has no {kind} `{wanted}`; it has {}", list(.names))]
    UnknownName {
        /// "layer" or "id".
        kind: &'static str,
        /// The name asked for.
        wanted: String,
        /// Names that exist, each with how many pieces it holds.
        names: Vec<(String, usize)>,
    },
    /// Several layers, and none named.
    #[error("the drawing has several layers: {}; say which one", list(.names))]
    SeveralLayers {
        /// Layers, each with how many pieces it holds.
        names: Vec<(String, usize)>,
    },
    /// A thing that is drawn out of the plane of the page.
    #[error("{what} at {} does not lie in the plane of the drawing", place(*.at))]
    NotFlat {
        /// Kind of thing.
        what: &'static str,
        /// Where.
        at: Point,
    },
    /// A thing whose numbers make no sense.
    #[error("{what} at {} cannot be drawn: {why}", place(*.at))]
    Senseless {
        /// Kind of thing.
        what: &'static str,
        /// Where.
        at: Point,
        /// What is wrong with it.
        why: &'static str,
    },
    /// An end that meets no other.
    #[error(
        "the outline is open at {}: the nearest other end is {} away at {}, and ends are joined up to {}",
        place(*.at), number(*.gap), place(*.nearest), number(*.tolerance)
    )]
    Open {
        /// The end.
        at: Point,
        /// The nearest end of anything else, or the piece's own other end.
        nearest: Point,
        /// How far that is.
        gap: f64,
        /// Ends nearer than this are joined.
        tolerance: f64,
    },
    /// More than two ends in one place.
    #[error("{count} ends meet at {}: it is not clear which way the outline goes on", place(*.at))]
    Branch {
        /// Where.
        at: Point,
        /// How many.
        count: usize,
    },
    /// Two pieces in one place.
    #[error("two lines lie on top of each other at {}", place(*.at))]
    Duplicate {
        /// The middle of both.
        at: Point,
    },
    /// Closed, but not a sensible outline.
    #[error(transparent)]
    Shape(ShapeError),
}

/// Names as a person lists them; a long list ends in how many more there are.
fn list(names: &[(String, usize)]) -> String {
    const MOST: usize = 12;
    let mut words: Vec<String> = names
        .iter()
        .take(MOST)
        .map(|(name, count)| {
            let plural = if *count == 1 { "" } else { "s" };
            format!("`{name}` ({count} piece{plural})")
        })
        .collect();
    if names.len() > MOST {
        words.push(format!("{} more", names.len() - MOST));
    }
    if words.is_empty() { "none".to_owned() } else { words.join(", ") }
}

fn only(skipped: &[String]) -> String {
    if skipped.is_empty() { String::new() } else { format!(", only {}", skipped.join(", ")) }
}
