//! A drawing as SVG text: a file of its own that needs nothing else, or a piece of a web page.
//!
//! Images lie inside as PNG, letters as the program's own face. Every id begins with a prefix that
//! the caller chooses, so that several drawings can stand in one page without taking each other's
//! patterns and clip paths.

use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use svg::node::element::Image;

use super::drawing::{Drawing, PictureError, Raster, rounded};
use super::font;

impl Drawing {
    /// The page as an SVG file that needs neither other files nor installed fonts.
    ///
    /// # Errors
    /// [`PictureError`]: only for a fault of this program.
    pub fn svg(&self) -> Result<String, PictureError> {
        let page = self.svg_inline("")?;
        // the letters go right after the opening tag
        let end = page.find('>').map_or(0, |at| at + 1);
        let (open, rest) = page.split_at(end);
        Ok(format!("{open}\n<style>{}</style>{rest}\n", font_faces()))
    }

    /// The page as an SVG element for a web page; every id in it begins with `prefix`.
    ///
    /// The letters are those of the page: put [`font_faces`] into its style once.
    ///
    /// # Errors
    /// [`PictureError`]: only for a fault of this program.
    pub fn svg_inline(&self, prefix: &str) -> Result<String, PictureError> {
        let mut images = Vec::with_capacity(self.rasters().len());
        for raster in self.rasters() {
            images.push(image_element(raster)?);
        }
        Ok(with_prefix(&self.document(images).to_string(), prefix))
    }
}

/// CSS that brings the pictures' letters into a page, about 190 kB.
pub fn font_faces() -> String {
    let mut css = String::new();
    for (weight, data) in font::faces() {
        // writing to a string cannot fail
        let _ = write!(
            css,
            "@font-face{{font-family:'{}';font-weight:{};src:url(data:font/otf;base64,{})}}",
            font::FAMILY,
            weight.css(),
            STANDARD.encode(data)
        );
    }
    css
}

/// An image with its pixels inside.
fn image_element(raster: &Raster) -> Result<Image, PictureError> {
    let mut png = Vec::new();
    // pixels are either full or empty, so premultiplied and plain are the same
    PngEncoder::new_with_quality(&mut png, CompressionType::Default, FilterType::Adaptive)
        .write_image(
            &raster.rgba,
            raster.columns as u32,
            raster.rows as u32,
            ExtendedColorType::Rgba8,
        )?;
    let area = raster.area;
    Ok(Image::new()
        .set("x", rounded(area.x0))
        .set("y", rounded(area.y0))
        .set("width", rounded(area.width()))
        .set("height", rounded(area.height()))
        .set("preserveAspectRatio", "none")
        .set("href", format!("data:image/png;base64,{}", STANDARD.encode(png))))
}

/// Puts `prefix` before every id and every use of one, inside tags only: texts stay as they are.
fn with_prefix(page: &str, prefix: &str) -> String {
    if prefix.is_empty() {
        return page.to_owned();
    }
    let mut out = String::with_capacity(page.len() + 1024);
    for (k, piece) in page.split('<').enumerate() {
        if k > 0 {
            out.push('<');
        }
        // `<` and `>` in texts and values are escaped, so the first `>` ends the tag
        let (tag, text) = piece.split_at(piece.find('>').unwrap_or(0));
        out.push_str(
            &tag.replace(" id=\"", &format!(" id=\"{prefix}"))
                .replace("url(#", &format!("url(#{prefix}")),
        );
        out.push_str(text);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::drawing::TextStyle;
    use super::*;
    use shapes::{Point, Rect};

    fn picture() -> Drawing {
        let mut drawing = Drawing::new(100.0, 50.0);
        drawing.describe("Cup <1> & \"two\"", "id=\"x\" url(#y)");
        drawing.raster(Raster {
            area: Rect::new(10.0, 10.0, 30.0, 30.0),
            columns: 2,
            rows: 2,
            rgba: [0, 0, 255, 255].repeat(4),
        });
        drawing.clipped(Rect::new(0.0, 0.0, 90.0, 45.0), |drawing| {
            drawing.text(Point::new(5.0, 40.0), "a < b > c url(#d)", TextStyle::new(10.0));
        });
        drawing
    }

    /// An independent reader (`roxmltree` under `usvg`) finds every id and its uses prefixed, and
    /// the words as they were.
    #[test]
    fn ids_are_prefixed_and_words_are_not() {
        let page = picture().svg_inline("map-").unwrap();
        let tree = resvg::usvg::roxmltree::Document::parse(&page).unwrap();
        let values = |name: &str| -> Vec<String> {
            tree.descendants().filter_map(|n| n.attribute(name)).map(str::to_owned).collect()
        };
        assert_eq!(values("id"), ["map-clip1"]);
        assert_eq!(values("clip-path"), ["url(#map-clip1)"]);
        let words: String = tree.descendants().filter_map(|n| n.text()).collect();
        assert!(words.contains("a < b > c url(#d)"), "{words}");
        assert_eq!(values("aria-label").len(), 1);
    }

    /// The blue image of the file is where the PNG has it.
    #[test]
    fn the_file_holds_its_images_and_letters() {
        let page = picture().svg().unwrap();
        assert!(
            !page.contains("http://") || page.matches("http://").count() == 1,
            "only the namespace"
        );
        assert_eq!(page.matches("@font-face").count(), 2);
        let options = resvg::usvg::Options { fontdb: font::database(), ..Default::default() };
        let tree = resvg::usvg::Tree::from_str(&page, &options).unwrap();
        let mut pixmap = resvg::tiny_skia::Pixmap::new(100, 50).unwrap();
        resvg::render(&tree, Default::default(), &mut pixmap.as_mut());
        let pixel = pixmap.pixel(20, 20).unwrap();
        assert_eq!((pixel.red(), pixel.green(), pixel.blue()), (0, 0, 255));
        assert_eq!(pixmap.pixel(40, 20).unwrap().alpha(), 0);
    }

    #[test]
    fn the_same_drawing_gives_the_same_text() {
        assert_eq!(picture().svg().unwrap(), picture().svg().unwrap());
    }
}
