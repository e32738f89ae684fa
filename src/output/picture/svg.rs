//! Vector drawing: lines, areas and text, painted over a picture or written as SVG.
//!
//! Frame: canvas pixels with (0,0) at the top-left *corner*, x right, y down (as SVG has it).
use super::error::PictureError;
use super::figure::figures;
pub use super::letters::in_font;
use super::palette::GROUND_RGB;
use super::raster::paint;
use super::shape::Shape;
pub use super::shape::{Anchor, Stroke, Type};
use image::RgbImage;
use std::fmt::Write;

/// The typeface that a page is asked for; the pictures have theirs within.
const FAMILY: &str = "Inter";

/// A drawing under way.
#[derive(Clone, Debug, Default)]
pub struct Svg {
    shapes: Vec<Shape>,
}

impl Svg {
    /// An empty drawing.
    pub fn new() -> Self {
        Self::default()
    }
    /// A line through the points.
    pub fn line(&mut self, points: &[[f64; 2]], s: Stroke) {
        self.shapes.push(Shape::Line(points.to_vec(), s));
    }
    /// A filled area with the points as its corners.
    pub fn area(&mut self, points: &[[f64; 2]], colour: &'static str, opacity: f64) {
        self.shapes.push(Shape::Area(points.to_vec(), colour, opacity));
    }
    /// A ring.
    pub fn ring(&mut self, middle: [f64; 2], radius: f64, s: Stroke) {
        self.shapes.push(Shape::Ring(middle, radius, s));
    }
    /// A text with its baseline at the position.
    pub fn text(&mut self, at: [f64; 2], t: Type, words: &str) {
        self.runs(at, t, &[(words, t)]);
    }
    /// A line of text in several looks, one after the other; the anchor and the halo are those of `whole`.
    pub fn runs(&mut self, at: [f64; 2], whole: Type, runs: &[(&str, Type)]) {
        self.shapes.push(Shape::Text(at, whole, runs.iter().map(|(words, t)| (words.to_string(), *t)).collect()));
    }
    /// The drawing as an SVG document of its own, on the ground of the pictures. Letters become outlines, so that it looks the same
    /// wherever it is opened.
    ///
    /// # Errors
    /// When a font cannot be read (a fault of the program).
    pub fn document(&self, [w, h]: [u32; 2]) -> Result<String, PictureError> {
        let [r, g, b] = GROUND_RGB;
        let mut out = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\">\n");
        let _ = writeln!(out, r##"<rect width="{w}" height="{h}" fill="#{r:02x}{g:02x}{b:02x}"/>"##);
        figures(&self.shapes)?.iter().for_each(|f| out.push_str(&f.element()));
        out.push_str("</svg>\n");
        Ok(out)
    }
    /// The drawing as an element of a page that brings its colours (custom properties as colours) and typeface; `alt` says in words
    /// what it shows.
    pub fn inline(&self, [w, h]: [f64; 2], alt: &str) -> String {
        let body: String = self.shapes.iter().map(element).collect();
        format!("<svg viewBox=\"0 0 {w:.0} {h:.0}\" role=\"img\" aria-label=\"{}\">\n{body}</svg>", escaped(alt))
    }
    /// Paints the drawing over a picture.
    ///
    /// # Errors
    /// When the drawing cannot be painted (a fault of the program, not of the photo).
    pub fn over(&self, picture: RgbImage) -> Result<RgbImage, PictureError> {
        paint(&figures(&self.shapes)?, picture)
    }
}

/// A shape as an element of a page, text as text.
fn element(shape: &Shape) -> String {
    match shape {
        Shape::Line(points, s) => format!("<path d=\"{}\" {}/>\n", path(points), s.attributes()),
        Shape::Area(points, colour, opacity) => {
            format!("<path d=\"{} Z\" fill=\"{colour}\" fill-opacity=\"{opacity:.2}\"/>\n", path(points))
        }
        Shape::Ring([x, y], radius, s) => format!(
            "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius:.2}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:.2}\" stroke-opacity=\"{:.2}\"/>\n",
            s.colour, s.width, s.opacity
        ),
        Shape::Text(at, whole, runs) => text(*at, whole, runs),
    }
}

/// A line of text as an element of a page.
fn text([x, y]: [f64; 2], whole: &Type, runs: &[(String, Type)]) -> String {
    let anchor = match whole.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let halo = whole.halo.map_or(String::new(), |c| {
        format!(r#" paint-order="stroke" stroke="{c}" stroke-width="{:.1}" stroke-linejoin="round""#, whole.halo_width())
    });
    let mut out = format!(r#"<text x="{x:.1}" y="{y:.1}" font-family="{FAMILY}" text-anchor="{anchor}" xml:space="preserve"{halo}>"#);
    for (words, t) in runs {
        let weight = if t.bold { 700 } else { 400 };
        let _ = write!(out, r#"<tspan font-weight="{weight}" font-size="{:.1}" fill="{}">{}</tspan>"#, t.size, t.colour, escaped(words));
    }
    out.push_str("</text>\n");
    out
}

fn path(points: &[[f64; 2]]) -> String {
    let mut d = String::new();
    for (k, [x, y]) in points.iter().enumerate() {
        let _ = write!(d, "{}{x:.2},{y:.2} ", if k == 0 { "M" } else { "L" });
    }
    d
}

/// Text safe for XML, "?" for control characters.
fn escaped(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push('?'),
            c => out.push(c),
        }
    }
    out
}

/// Rough width of a text in canvas px, for wrapping and fitting: Inter's letters are about 0.55 of the size wide on average.
pub fn rough_width(words: &str, size: f64, bold: bool) -> f64 {
    let narrow = |c: char| matches!(c, 'i' | 'l' | 'j' | 't' | 'f' | 'r' | '.' | ',' | ':' | ' ' | '…' | '\'' | '|' | '°');
    let em: f64 = words.chars().map(|c| if narrow(c) { 0.34 } else { 0.62 }).sum();
    em * size * if bold { 1.06 } else { 1.0 }
}

/// Breaks a text into lines no wider than `width` canvas px.
pub fn wrap(words: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if rough_width(line, size, false) + rough_width(word, size, false) + 0.34 * size <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_string()),
        }
    }
    lines
}
