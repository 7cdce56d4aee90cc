//! Drawings as PDF, one on each A4 page, ready to print: lines stay lines and text stays text.
//!
//! A page stands upright or lies on its side, whichever shows its drawing larger.

use krilla::Document;
use krilla::SerializeSettings;
use krilla::geom::{Size, Transform};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};

use super::drawing::{Drawing, PictureError};

/// Short and long side of A4, points (210 × 297 mm, 72 points to the inch).
const A4: (f64, f64) = (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0);
/// Margin that every printer leaves, points (8 mm).
const MARGIN: f64 = 8.0 / 25.4 * 72.0;
/// Points in a pixel at its natural size: 96 pixels to the inch. Small drawings are not blown up
/// beyond it.
const NATURAL: f64 = 0.75;

impl Drawing {
    /// The drawing as a PDF of one A4 page.
    ///
    /// # Errors
    /// [`PictureError`]: only for a fault of this program.
    pub fn pdf(&self) -> Result<Vec<u8>, PictureError> {
        pdf(&[self])
    }
}

/// Several drawings as one PDF, each on an A4 page of its own.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn pdf(drawings: &[&Drawing]) -> Result<Vec<u8>, PictureError> {
    write(drawings, SerializeSettings::default())
}

fn write(drawings: &[&Drawing], settings: SerializeSettings) -> Result<Vec<u8>, PictureError> {
    let mut document = Document::new_with(settings);
    let mut metadata = Metadata::new().language("en".into()).creator("throwmap".into());
    if let Some(first) = drawings.first() {
        metadata = metadata.title(first.title().to_owned());
    }
    document.set_metadata(metadata);
    for drawing in drawings {
        let tree = drawing.tree(&drawing.svg_inline("")?)?;
        let place = Place::of(drawing.width, drawing.height);
        let sizes = (
            PageSettings::from_wh(place.page.0 as f32, place.page.1 as f32),
            Size::from_wh(
                (drawing.width * place.scale) as f32,
                (drawing.height * place.scale) as f32,
            ),
        );
        let (Some(page), Some(size)) = sizes else {
            let (width, height) = (drawing.width as u32, drawing.height as u32);
            return Err(PictureError::Size { width, height });
        };
        let mut page = document.start_page_with(page);
        let mut surface = page.surface();
        surface.push_transform(&Transform::from_translate(
            place.corner.0 as f32,
            place.corner.1 as f32,
        ));
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| PictureError::Pdf("the drawing does not fit its page".into()))?;
        surface.pop();
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|error| PictureError::Pdf(format!("{error:?}")))
}

/// Where a drawing goes on its page, points.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    page: (f64, f64),
    corner: (f64, f64),
    scale: f64,
}

impl Place {
    /// The larger of both ways to lay the page.
    fn of(width: f64, height: f64) -> Self {
        let fit = |page: (f64, f64)| {
            let room = (page.0 - 2.0 * MARGIN, page.1 - 2.0 * MARGIN);
            let scale = (room.0 / width).min(room.1 / height).min(NATURAL);
            let corner = ((page.0 - width * scale) / 2.0, (page.1 - height * scale) / 2.0);
            Self { page, corner, scale }
        };
        let (upright, lying) = (fit(A4), fit((A4.1, A4.0)));
        if lying.scale > upright.scale { lying } else { upright }
    }
}

#[cfg(test)]
mod tests {
    use super::super::drawing::TextStyle;
    use super::*;
    use shapes::Point;

    fn picture() -> Drawing {
        let mut drawing = Drawing::new(1200.0, 700.0);
        drawing.describe("A cup", "Deposit");
        drawing.text(Point::new(50.0, 60.0), "12.5 µm·A/dm²", TextStyle::new(14.0).bold());
        drawing
    }

    #[test]
    fn a_wide_drawing_lies_on_its_side_within_the_margins() {
        let wide = Place::of(1200.0, 700.0);
        assert!(wide.page.0 > wide.page.1);
        assert!(wide.corner.0 >= MARGIN - 1e-9 && wide.corner.1 >= MARGIN - 1e-9);
        let tall = Place::of(700.0, 1400.0);
        assert!(tall.page.0 < tall.page.1);
        assert!((tall.corner.1 + 1400.0 * tall.scale + MARGIN - tall.page.1).abs() < 1e-9);
        assert_eq!(Place::of(100.0, 80.0).scale, NATURAL);
    }

    #[test]
    fn the_same_drawings_give_the_same_bytes() {
        let picture = picture();
        let twice = || pdf(&[&picture, &picture]).unwrap();
        assert_eq!(twice(), twice());
    }

    /// The bytes of every string that the text objects show, two for each glyph, in order.
    fn shown(pdf: &str) -> Vec<u8> {
        let mut out = Vec::new();
        for block in pdf.split("BT\n").skip(1) {
            let (block, _) = block.split_once("\nET").unwrap();
            let mut letters = block.chars();
            while let Some(letter) = letters.next() {
                match letter {
                    '<' => {
                        let hex: Vec<char> = letters.by_ref().take_while(|c| *c != '>').collect();
                        let digit = |c: char| c.to_digit(16).unwrap() as u8;
                        out.extend(hex.chunks(2).map(|pair| 16 * digit(pair[0]) + digit(pair[1])));
                    }
                    '(' => out.extend(literal(&mut letters)),
                    _ => {}
                }
            }
        }
        out
    }

    /// The bytes of a string in round brackets, whose escapes section 7.3.4.2 of PDF 1.7 lists.
    fn literal(letters: &mut std::str::Chars<'_>) -> Vec<u8> {
        let mut out = Vec::new();
        while let Some(letter) = letters.next().filter(|letter| *letter != ')') {
            let escaped = if letter == '\\' { letters.next() } else { None };
            out.push(match escaped {
                None => letter as u8,
                Some('n') => b'\n',
                Some('r') => b'\r',
                Some('t') => b'\t',
                Some('b') => 8,
                Some('f') => 12,
                Some(digit @ '0'..='7') => {
                    let rest: String = letters.by_ref().take(2).collect();
                    u8::from_str_radix(&format!("{digit}{rest}"), 8).unwrap()
                }
                Some(other) => other as u8,
            });
        }
        out
    }

    /// Text is there as text: the glyphs in the order in which the page shows them, taken through
    /// the font's own map back to Unicode (PDF 1.7, section 9.10.3), spell the words.
    #[test]
    fn words_can_be_searched_and_copied() {
        let settings = SerializeSettings {
            pretty: true,
            compress_content_streams: false,
            ..Default::default()
        };
        let bytes = write(&[&picture()], settings).unwrap();
        let text: String = bytes.iter().map(|byte| char::from(*byte)).collect();
        let (_, map) = text.split_once("beginbfchar\n").unwrap();
        let (map, _) = map.split_once("endbfchar").unwrap();
        let letter = |glyph: &[u8]| {
            let wanted = format!("<{:02X}{:02X}> <", glyph[0], glyph[1]);
            let line = map.lines().find(|line| line.starts_with(&wanted)).unwrap();
            let code = line[wanted.len()..].trim_end_matches('>');
            char::from_u32(u32::from_str_radix(code, 16).unwrap()).unwrap()
        };
        let words: String = shown(&text).chunks(2).map(letter).collect();
        assert_eq!(words, "12.5 µm·A/dm²");
    }
}
