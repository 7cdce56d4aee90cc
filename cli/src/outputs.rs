//! Files asked for by name: what `-o bell.map.svg` means.
//!
//! The suffix says the format, the last part of the rest which picture or table: `bell.map.svg`,
//! `profile.pdf`, `field.csv`.

use std::path::PathBuf;

/// A file that the user asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Output {
    /// Where it goes.
    pub path: PathBuf,
    /// What is in it.
    pub content: Content,
    /// The part of the name before the picture or table, if any: of a sequence it may name a layer.
    pub before: Option<String>,
}

/// What a result file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Content {
    /// One picture; none for what the job shows first.
    Picture(Option<Picture>, Format),
    /// Every picture, one on each page.
    AllPictures,
    /// Rows along the outlines.
    Surface,
    /// Rows on a lattice in the bath.
    Field,
    /// Every number, for programs.
    Summary,
    /// One page for people.
    Report,
    /// The lattice in the bath, for visualization programs.
    FieldVti,
    /// The outlines, for visualization programs.
    SurfaceVtu,
}

/// Which picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Picture {
    /// Current density in the bath.
    Map,
    /// Metal drawn on the outlines.
    Deposit,
    /// Thickness along the outlines.
    Profile,
    /// The job, drawn with dimensions.
    Layout,
}

/// How a picture is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Pixels.
    Png,
    /// Vectors for screens and web pages.
    Svg,
    /// Vectors for print.
    Pdf,
}

/// Names of the pictures.
const PICTURES: [(&str, Picture); 4] = [
    ("map", Picture::Map),
    ("deposit", Picture::Deposit),
    ("profile", Picture::Profile),
    ("layout", Picture::Layout),
];
/// What may be asked for.
const ALLOWED: &str = "allowed are .png, .svg and .pdf for pictures (map, deposit, profile, layout, as in bell.map.svg), .csv for tables (surface, field), .json for the summary, .html for the report, .vti for the bath and .vtu for the outlines";

impl Output {
    /// The meaning of a file name.
    ///
    /// # Errors
    /// What is wrong with it and what is allowed, for people.
    pub fn parse(name: &str) -> Result<Self, String> {
        let path = PathBuf::from(name);
        let lower = |text: Option<&std::ffi::OsStr>| {
            text.map(|text| text.to_string_lossy().to_lowercase()).unwrap_or_default()
        };
        let suffix = lower(path.extension());
        let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        let stem = stem.unwrap_or_default();
        let (before, last) = match stem.rsplit_once('.') {
            Some((before, last)) => (Some(before), last),
            None => (None, stem.as_str()),
        };
        let word = last.to_lowercase();
        let picture = PICTURES.iter().find(|(name, _)| *name == word).map(|(_, picture)| *picture);
        let content = match suffix.as_str() {
            "png" => Content::Picture(picture, Format::Png),
            "svg" => Content::Picture(picture, Format::Svg),
            "pdf" if picture.is_some() => Content::Picture(picture, Format::Pdf),
            "pdf" => Content::AllPictures,
            "csv" if word == "field" => Content::Field,
            "csv" => Content::Surface,
            "json" => Content::Summary,
            "html" => Content::Report,
            "vti" => Content::FieldVti,
            "vtu" => Content::SurfaceVtu,
            "" => return Err(format!("it has no suffix; {ALLOWED}")),
            other => return Err(format!("nothing is written as .{other}; {ALLOWED}")),
        };
        let named = picture.is_some() || ["field", "surface", "summary"].contains(&word.as_str());
        let before = if named { before } else { Some(stem.as_str()) };
        let before = before.map(|text| text.rsplit('.').next().unwrap_or(text).to_owned());
        Ok(Self { path, content, before })
    }

    /// As [`Self::parse`], for a command that draws only the layout.
    ///
    /// # Errors
    /// The same.
    pub fn parse_layout(name: &str) -> Result<Self, String> {
        let only =
            "check draws the layout only, as .png, .svg or .pdf; `throwmap run` writes the rest";
        let output = Self::parse(name).map_err(|_| only.to_owned())?;
        let content = match output.content {
            Content::Picture(None | Some(Picture::Layout), format) => {
                Content::Picture(Some(Picture::Layout), format)
            }
            Content::AllPictures => Content::Picture(Some(Picture::Layout), Format::Pdf),
            _ => return Err(only.into()),
        };
        Ok(Self { content, ..output })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_say_what_is_meant() {
        use Content::{AllPictures, Field, Summary, Surface};
        use Format::{Pdf, Png, Svg};
        let cases = [
            ("bell.map.svg", Content::Picture(Some(Picture::Map), Svg), Some("bell")),
            ("profile.pdf", Content::Picture(Some(Picture::Profile), Pdf), None),
            ("out/deposit.PNG", Content::Picture(Some(Picture::Deposit), Png), None),
            (
                "x.1-copper.layout.svg",
                Content::Picture(Some(Picture::Layout), Svg),
                Some("1-copper"),
            ),
            ("bell.png", Content::Picture(None, Png), Some("bell")),
            ("bell.pdf", AllPictures, Some("bell")),
            ("bell.csv", Surface, Some("bell")),
            ("field.csv", Field, None),
            ("bell.field.csv", Field, Some("bell")),
            ("summary.json", Summary, None),
        ];
        for (name, content, before) in cases {
            let output = Output::parse(name).expect(name);
            assert_eq!((output.content, output.before.as_deref()), (content, before), "{name}");
        }
    }

    #[test]
    fn what_is_not_written_is_refused_with_what_is() {
        for name in ["bell", "bell.jpg", "bell.map", "", "."] {
            let error = Output::parse(name).expect_err(name);
            assert!(error.contains(".svg") && error.contains(".json"), "{name}: {error}");
        }
        for name in ["x.map.svg", "x.json", "x.gif"] {
            assert!(Output::parse_layout(name).is_err(), "{name}");
        }
        assert!(Output::parse_layout("x.svg").is_ok());
    }
}
