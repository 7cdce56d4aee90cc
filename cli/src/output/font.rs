//! The typeface of the pictures: the same letters on every machine.
//!
//! Two faces are built into the binary and system fonts are never looked at, so a job gives the
//! same bytes everywhere. Widths come from the faces' own advance tables (kerning is left out:
//! it only narrows a line by a pixel or two).

use std::sync::{Arc, LazyLock};

use resvg::usvg::fontdb;
use ttf_parser::Face;

/// Family name inside both faces.
pub const FAMILY: &str = "Throwmap Sans";
static REGULAR: &[u8] = include_bytes!("../../assets/ThrowmapSans-Regular.otf");
static SEMIBOLD: &[u8] = include_bytes!("../../assets/ThrowmapSans-SemiBold.otf");

/// Stroke weight of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Titles and names.
    SemiBold,
}

impl Weight {
    /// The number CSS uses.
    pub fn css(self) -> u16 {
        match self {
            Weight::Regular => 400,
            Weight::SemiBold => 600,
        }
    }
}

/// The faces as the renderer wants them.
pub fn database() -> Arc<fontdb::Database> {
    static DATABASE: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
        let mut database = fontdb::Database::new();
        database.load_font_data(REGULAR.to_vec());
        database.load_font_data(SEMIBOLD.to_vec());
        Arc::new(database)
    });
    DATABASE.clone()
}

/// The faces as files, with their weights.
pub fn faces() -> [(Weight, &'static [u8]); 2] {
    [(Weight::Regular, REGULAR), (Weight::SemiBold, SEMIBOLD)]
}

/// Width of one line of text in pixels at a size in pixels.
pub fn width(text: &str, size: f64, weight: Weight) -> f64 {
    static FACES: LazyLock<[Option<Face<'static>>; 2]> =
        LazyLock::new(|| [REGULAR, SEMIBOLD].map(|data| Face::parse(data, 0).ok()));
    let face = &FACES[usize::from(weight == Weight::SemiBold)];
    let Some(face) = face else {
        // an average letter; the faces are ours and parse (tested below)
        return 0.6 * size * text.chars().count() as f64;
    };
    let units: f64 = text
        .chars()
        .map(|c| {
            let glyph = face.glyph_index(c).unwrap_or_default();
            f64::from(face.glyph_hor_advance(glyph).unwrap_or(0))
        })
        .sum();
    units / f64::from(face.units_per_em()) * size
}

/// Breaks a text into lines no wider than `limit`, between words; a longer word stands alone and
/// is cut with an ellipsis.
pub fn wrap(text: &str, size: f64, weight: Weight, limit: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let word = shorten(word, size, weight, limit);
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, weight) <= limit => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// The text, or as much of it as fits with an ellipsis.
pub fn shorten(text: &str, size: f64, weight: Weight, limit: f64) -> String {
    if width(text, size, weight) <= limit {
        return text.into();
    }
    let mut kept: String = text.into();
    while kept.pop().is_some() {
        let candidate = format!("{}…", kept.trim_end());
        if width(&candidate, size, weight) <= limit {
            return candidate;
        }
    }
    "…".into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_faces_parse_and_hold_the_signs_that_pictures_use() {
        for data in [REGULAR, SEMIBOLD] {
            let face = Face::parse(data, 0).unwrap();
            for c in "AZaz09µ²³·×−°≤≥±→∂Δκφη–…äöüßéñ≈▲▼●".chars()
            {
                assert!(face.glyph_index(c).is_some(), "no glyph for {c}");
            }
        }
        assert_eq!(database().len(), 2);
        assert!(database().faces().all(|f| f.families[0].0 == FAMILY));
    }

    #[test]
    fn wrapped_lines_keep_within_the_limit_and_lose_no_word() {
        let text = "Numerical uncertainty of the local current density ±1 % on the parts";
        let lines = wrap(text, 12.0, Weight::Regular, 140.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|l| width(l, 12.0, Weight::Regular) <= 140.0));
        assert_eq!(lines.join(" "), text);
        let cut = shorten("a_very_long_name_without_any_space", 12.0, Weight::Regular, 80.0);
        assert!(cut.ends_with('…') && width(&cut, 12.0, Weight::Regular) <= 80.0);
    }
}
