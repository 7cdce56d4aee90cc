//! One drawing for every picture: vectors as SVG over rasters, turned into PNG without system fonts;
//! `vector` writes it as SVG, `pdf` as PDF.
//!
//! Coordinates are pixels, y down. Every text goes through [`Drawing::text`], which keeps its box,
//! so that tests can show that no label is cut or covers another.

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use resvg::tiny_skia::{FilterQuality, IntSize, Pixmap, PixmapPaint, PixmapRef, Transform};
use resvg::usvg;
use shapes::{Point, Rect};
use svg::node::Node;
use svg::node::element::{ClipPath, Definitions, Group, Rectangle, Text as SvgText};

use super::font::{self, Weight};
use super::page::View;

/// A picture that could not be turned into PNG.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// The drawing is not valid SVG; a fault of this program.
    #[error("the picture's drawing is not valid: {0}")]
    Drawing(String),
    /// The picture is empty or too large.
    #[error("a picture of {width} x {height} pixels cannot be made")]
    Size {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// The PNG writer failed.
    #[error("the picture could not be written as PNG: {0}")]
    Png(#[from] image::ImageError),
    /// The PDF writer failed.
    #[error("the picture could not be written as PDF: {0}")]
    Pdf(String),
}

/// Which end of a text sits at its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The point is the left end.
    Start,
    /// The point is the middle.
    Middle,
    /// The point is the right end.
    End,
}

/// How a text looks.
#[derive(Debug, Clone, Copy)]
pub struct TextStyle {
    /// Height of the letters in pixels (the font size).
    pub size: f64,
    /// Stroke weight.
    pub weight: Weight,
    /// Which end sits at the point.
    pub anchor: Anchor,
    /// Colour.
    pub fill: &'static str,
    /// Reads upwards instead of to the right.
    pub upright: bool,
}

impl TextStyle {
    /// Running text in near black, from its left end.
    pub const fn new(size: f64) -> Self {
        Self { size, weight: Weight::Regular, anchor: Anchor::Start, fill: INK, upright: false }
    }

    /// The same in the heavier face.
    pub const fn bold(self) -> Self {
        Self { weight: Weight::SemiBold, ..self }
    }

    /// The same, held at another end.
    pub const fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    /// The same in another colour.
    pub const fn coloured(self, fill: &'static str) -> Self {
        Self { fill, ..self }
    }

    /// The same, reading upwards.
    pub const fn upright(self) -> Self {
        Self { upright: true, ..self }
    }
}

/// Near black for text and lines.
pub const INK: &str = "#1a1a1a";
/// Grey for what stands back.
pub const FAINT: &str = "#5f5f5f";

/// A text and the box it fills.
#[derive(Debug, Clone)]
pub struct TextBox {
    /// The words.
    pub text: String,
    /// Pixels it covers.
    pub area: Rect,
}

/// An image under the vectors, premultiplied RGBA.
#[derive(Debug, Clone)]
pub struct Raster {
    /// Pixels of the page that it covers.
    pub area: Rect,
    /// Columns.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// `4 × columns × rows` bytes, top row first.
    pub rgba: Vec<u8>,
}

/// A page being drawn.
#[derive(Debug)]
pub struct Drawing {
    /// Pixels across.
    pub width: f64,
    /// Pixels down.
    pub height: f64,
    rasters: Vec<Raster>,
    definitions: Definitions,
    content: Group,
    texts: Vec<TextBox>,
    title: String,
    subtitle: String,
    clips: usize,
    plots: Vec<Plot>,
}

/// Where in a drawing the tank is shown, so that others can point at places in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plot {
    /// How the tank maps onto the page.
    pub view: View,
    /// The only body that is shown; `None` for all.
    pub body: Option<usize>,
}

impl Drawing {
    /// An empty white page.
    pub fn new(width: f64, height: f64) -> Self {
        Self {
            width: width.ceil(),
            height: height.ceil(),
            rasters: Vec::new(),
            definitions: Definitions::new(),
            content: Group::new(),
            texts: Vec::new(),
            title: String::new(),
            subtitle: String::new(),
            clips: 0,
            plots: Vec::new(),
        }
    }

    /// Puts a shape on top of what is there.
    pub fn add(&mut self, node: impl Into<Box<dyn Node>>) {
        self.content.append(node);
    }

    /// Keeps a pattern or clip path for use by its id.
    pub fn define(&mut self, node: impl Into<Box<dyn Node>>) {
        self.definitions.append(node);
    }

    /// Draws what `content` draws, but only inside `area`.
    pub fn clipped(&mut self, area: Rect, content: impl FnOnce(&mut Self)) {
        self.clips += 1;
        let id = format!("clip{}", self.clips);
        self.define(ClipPath::new().set("id", id.clone()).add(rectangle(area)));
        let outside = std::mem::replace(&mut self.content, Group::new());
        content(self);
        let inside = std::mem::replace(&mut self.content, outside);
        self.content.append(inside.set("clip-path", format!("url(#{id})")));
    }

    /// Draws what `content` draws inside `half`, and its mirror image on the other side of the
    /// upright line at `x`.
    pub fn mirrored(&mut self, half: Rect, x: f64, content: impl FnOnce(&mut Self)) {
        self.clips += 1;
        let id = format!("clip{}", self.clips);
        self.define(ClipPath::new().set("id", id.clone()).add(rectangle(half)));
        let outside = std::mem::replace(&mut self.content, Group::new());
        content(self);
        let inside = std::mem::replace(&mut self.content, outside);
        let inside = inside.set("clip-path", format!("url(#{id})"));
        let turned = format!("matrix(-1 0 0 1 {} 0)", rounded(2.0 * x));
        self.content.append(Group::new().set("transform", turned).add(inside.clone()));
        self.content.append(inside);
    }

    /// Puts an image under all vectors.
    pub fn raster(&mut self, raster: Raster) {
        self.rasters.push(raster);
    }

    /// Writes one line of text with its baseline at `at`.
    pub fn text(&mut self, at: Point, text: &str, style: TextStyle) {
        let area = text_area(at, text, style);
        let anchor = match style.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let mut node = SvgText::new(text)
            .set("font-size", rounded(style.size))
            .set("font-weight", style.weight.css())
            .set("fill", style.fill)
            .set("text-anchor", anchor);
        let (x, y) = (rounded(at.x), rounded(at.y));
        if style.upright {
            node = node.set("transform", format!("translate({x} {y}) rotate(-90)"));
        } else {
            node = node.set("x", x).set("y", y);
        }
        self.content.append(node);
        self.texts.push(TextBox { text: text.into(), area });
    }

    /// Writes one line of text on a pale plate, for places where the ground is busy.
    pub fn text_on_plate(&mut self, at: Point, text: &str, style: TextStyle) {
        let area = text_area(at, text, style).inflate(3.0, 1.5);
        self.content.append(
            rectangle(area).set("rx", 2.5).set("fill", "#ffffff").set("fill-opacity", 0.88),
        );
        self.text(at, text, style);
    }

    /// Notes that the tank, or one body, is shown here.
    pub fn plot(&mut self, view: View, body: Option<usize>) {
        self.plots.push(Plot { view, body });
    }

    /// Where the tank is shown.
    pub fn plots(&self) -> &[Plot] {
        &self.plots
    }

    /// Takes away the white below the last text.
    pub fn trim_foot(&mut self) {
        let last = self.texts.iter().map(|text| text.area.y1).fold(0.0, f64::max);
        self.height = self.height.min((last + 8.0).ceil());
    }

    /// Every text on the page with its box, in the order of writing.
    pub fn texts(&self) -> &[TextBox] {
        &self.texts
    }

    /// Says what the page shows, for those who cannot see it and for the files' properties.
    pub fn describe(&mut self, title: &str, subtitle: &str) {
        self.title = title.into();
        self.subtitle = subtitle.into();
    }

    /// What the page is headed with.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The images, lowest first.
    pub(super) fn rasters(&self) -> &[Raster] {
        &self.rasters
    }

    /// The page as an SVG document with `images` under the vectors.
    pub(super) fn document(&self, images: Vec<svg::node::element::Image>) -> svg::Document {
        let mut document = svg::Document::new()
            .set("width", self.width)
            .set("height", self.height)
            .set("viewBox", (0, 0, self.width, self.height))
            .set("font-family", format!("'{}', sans-serif", font::FAMILY))
            .set("role", "img");
        if !self.title.is_empty() {
            document = document.set("aria-label", format!("{}. {}", self.title, self.subtitle));
        }
        for image in images {
            document = document.add(image);
        }
        document.add(self.definitions.clone()).add(self.content.clone())
    }

    /// SVG text as the renderers want it.
    pub(super) fn tree(&self, text: &str) -> Result<usvg::Tree, PictureError> {
        let options = usvg::Options {
            fontdb: font::database(),
            font_family: font::FAMILY.into(),
            ..usvg::Options::default()
        };
        usvg::Tree::from_str(text, &options).map_err(|e| PictureError::Drawing(e.to_string()))
    }

    /// The page as PNG bytes; the same drawing gives the same bytes on every machine.
    ///
    /// # Errors
    /// [`PictureError`]: only for a page without area or a fault of this program.
    pub fn png(&self) -> Result<Vec<u8>, PictureError> {
        self.png_times(1, CompressionType::Fast)
    }

    /// The same with `times` as many pixels each way, small on disk rather than quick.
    ///
    /// # Errors
    /// As [`Self::png`].
    pub fn fine_png(&self, times: u32) -> Result<Vec<u8>, PictureError> {
        self.png_times(times, CompressionType::Best)
    }

    /// The pixels of the page.
    ///
    /// # Errors
    /// As [`Self::png`].
    pub fn rgb(&self) -> Result<image::RgbImage, PictureError> {
        let pixmap = self.pixels(1)?;
        let (width, height) = (pixmap.width(), pixmap.height());
        let rgb = pixmap.data().chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect();
        image::RgbImage::from_raw(width, height, rgb).ok_or(PictureError::Size { width, height })
    }

    fn png_times(&self, times: u32, effort: CompressionType) -> Result<Vec<u8>, PictureError> {
        let pixmap = self.pixels(times)?;
        let rgb: Vec<u8> = pixmap.data().chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect();
        let mut bytes = Vec::with_capacity(rgb.len() / 8);
        // fast compression: a tenth of the time of the best for a few percent of the size
        PngEncoder::new_with_quality(&mut bytes, effort, FilterType::Adaptive).write_image(
            &rgb,
            pixmap.width(),
            pixmap.height(),
            ExtendedColorType::Rgb8,
        )?;
        Ok(bytes)
    }

    fn pixels(&self, times: u32) -> Result<Pixmap, PictureError> {
        let scale = times as f32;
        let (width, height) = (self.width as u32 * times, self.height as u32 * times);
        let mut pixmap = Pixmap::new(width, height).ok_or(PictureError::Size { width, height })?;
        pixmap.fill(resvg::tiny_skia::Color::WHITE);
        for raster in &self.rasters {
            draw_raster(&mut pixmap, raster, scale);
        }
        let tree = self.tree(&self.document(Vec::new()).to_string())?;
        resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixmap.as_mut());
        Ok(pixmap)
    }
}

fn draw_raster(pixmap: &mut Pixmap, raster: &Raster, scale: f32) {
    let size = IntSize::from_wh(raster.columns as u32, raster.rows as u32);
    let source = size.and_then(|s| PixmapRef::from_bytes(&raster.rgba, s.width(), s.height()));
    let Some(source) = source else { return };
    let transform = Transform::from_row(
        (raster.area.width() / raster.columns as f64) as f32,
        0.0,
        0.0,
        (raster.area.height() / raster.rows as f64) as f32,
        raster.area.x0 as f32,
        raster.area.y0 as f32,
    );
    let transform = transform.post_scale(scale, scale);
    let paint = PixmapPaint { quality: FilterQuality::Bilinear, ..PixmapPaint::default() };
    pixmap.draw_pixmap(0, 0, source, &paint, transform, None);
}

/// The box that a line of text fills, with ascenders and descenders.
pub fn text_area(at: Point, text: &str, style: TextStyle) -> Rect {
    let width = font::width(text, style.size, style.weight);
    let (up, down) = (0.76 * style.size, 0.22 * style.size);
    let before = match style.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => width / 2.0,
        Anchor::End => width,
    };
    if style.upright {
        Rect::new(at.x - up, at.y + before - width, at.x + down, at.y + before)
    } else {
        Rect::new(at.x - before, at.y - up, at.x - before + width, at.y + down)
    }
}

/// A rectangle element over an area.
pub fn rectangle(area: Rect) -> Rectangle {
    Rectangle::new()
        .set("x", rounded(area.x0))
        .set("y", rounded(area.y0))
        .set("width", rounded(area.width()))
        .set("height", rounded(area.height()))
}

/// A straight line element.
pub fn line(from: Point, to: Point) -> svg::node::element::Line {
    svg::node::element::Line::new()
        .set("x1", rounded(from.x))
        .set("y1", rounded(from.y))
        .set("x2", rounded(to.x))
        .set("y2", rounded(to.y))
}

/// Path data through the points of a loop or open line.
pub fn path_data(points: impl IntoIterator<Item = Point>, closed: bool) -> String {
    use std::fmt::Write as _;
    let mut data = String::new();
    for (index, p) in points.into_iter().enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        // writing to a string cannot fail
        let _ = write!(data, "{letter}{} {}", rounded(p.x), rounded(p.y));
    }
    if closed && !data.is_empty() {
        data.push('Z');
    }
    data
}

/// Hundredths of a pixel: finer cannot be seen and makes the SVG long.
pub fn rounded(pixels: f64) -> f64 {
    (pixels * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A red raster over the left half, black letters in the middle of the right half: pixels say so.
    #[test]
    fn rasters_lie_under_vectors_and_text_lands_in_its_box() {
        let mut drawing = Drawing::new(200.0, 60.0);
        drawing.raster(Raster {
            area: Rect::new(0.0, 0.0, 100.0, 60.0),
            columns: 2,
            rows: 2,
            rgba: [255, 0, 0, 255].repeat(4),
        });
        let style = TextStyle::new(20.0).bold().anchored(Anchor::Middle);
        drawing.text(Point::new(150.0, 40.0), "µm²", style);
        let image = image::load_from_memory(&drawing.png().unwrap()).unwrap().to_rgb8();
        assert_eq!(image.dimensions(), (200, 60));
        assert_eq!(image.get_pixel(50, 30).0, [255, 0, 0]);
        assert_eq!(image.get_pixel(110, 5).0, [255, 255, 255]);
        let area = drawing.texts()[0].area;
        let dark: Vec<(u32, u32)> = image
            .enumerate_pixels()
            .filter(|(_, _, p)| p.0.iter().all(|c| *c < 120))
            .map(|(x, y, _)| (x, y))
            .collect();
        assert!(dark.len() > 40, "{} dark pixels", dark.len());
        for (x, y) in dark {
            let p = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
            assert!(area.inflate(1.0, 1.0).contains(p), "ink at {p:?} outside {area:?}");
        }
    }

    #[test]
    fn the_same_drawing_gives_the_same_bytes() {
        let draw = || {
            let mut drawing = Drawing::new(80.0, 30.0);
            drawing.text(Point::new(5.0, 20.0), "12.5 A/dm²", TextStyle::new(12.0));
            drawing.png().unwrap()
        };
        assert_eq!(draw(), draw());
    }

    #[test]
    fn an_empty_page_is_an_error_and_not_a_panic() {
        assert!(matches!(Drawing::new(0.0, 10.0).png(), Err(PictureError::Size { .. })));
    }
}
