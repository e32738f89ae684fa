//! Vector drawing over a picture: lines, areas and text as SVG, rendered with the two embedded faces.
//!
//! Frame: canvas pixels with (0,0) at the top-left *corner*, x right, y down (as SVG has it).
//! The fonts are subsets of Inter (src/output/fonts, with their licence): Latin-1 and a few signs. A character that they
//! do not hold is shown as "?", because the renderer would drop it without a word.
use super::error::PictureError;
use super::palette::GROUND_RGB;
use image::RgbImage;
use resvg::tiny_skia::{IntSize, Pixmap, Transform};
use resvg::usvg::{self, fontdb};
use std::fmt::Write;
use std::sync::{Arc, OnceLock};

/// The family name that the embedded fonts carry.
pub const FAMILY: &str = "Inter";
const REGULAR: &[u8] = include_bytes!("../fonts/Inter-Regular.otf");
const BOLD: &[u8] = include_bytes!("../fonts/Inter-Bold.otf");

/// A stroke.
#[derive(Clone, Copy, Debug)]
pub struct Stroke {
    /// Colour, "#rrggbb".
    pub colour: &'static str,
    /// Width in canvas px.
    pub width: f64,
    /// 0 (clear) to 1 (solid).
    pub opacity: f64,
    /// Length of dashes and gaps; 0 = a solid line.
    pub dash: f64,
}

impl Stroke {
    /// A solid line.
    pub fn solid(colour: &'static str, width: f64) -> Self {
        Self { colour, width, opacity: 1.0, dash: 0.0 }
    }
    /// The same, dashed.
    pub fn dashed(self, dash: f64) -> Self {
        Self { dash, ..self }
    }
    /// The same, see-through.
    pub fn faded(self, opacity: f64) -> Self {
        Self { opacity, ..self }
    }
}

/// Which end of a text is at its position.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// The look of a text.
#[derive(Clone, Copy, Debug)]
pub struct Type {
    /// Size in canvas px.
    pub size: f64,
    /// Bold or regular.
    pub bold: bool,
    /// Colour, "#rrggbb".
    pub colour: &'static str,
    /// Which end is at the position.
    pub anchor: Anchor,
    /// Colour of a rim round the letters, for text over a photo.
    pub halo: Option<&'static str>,
}

/// A drawing under way.
#[derive(Clone, Debug, Default)]
pub struct Svg {
    body: String,
    /// Shown by a browser, which has letters that the embedded fonts lack.
    page: bool,
}

impl Svg {
    /// An empty drawing.
    pub fn new() -> Self {
        Self::default()
    }
    /// An empty drawing for a page: see [`Svg::inline`].
    pub fn for_page() -> Self {
        Self { body: String::new(), page: true }
    }
    /// A line through the points.
    pub fn line(&mut self, points: &[[f64; 2]], s: Stroke) {
        let dash = if s.dash > 0.0 { format!(r#" stroke-dasharray="{:.1}""#, s.dash) } else { String::new() };
        let _ = writeln!(
            self.body,
            r#"<path d="{}" fill="none" stroke="{}" stroke-width="{:.2}" stroke-opacity="{:.2}" stroke-linecap="round" stroke-linejoin="round"{dash}/>"#,
            path(points),
            s.colour,
            s.width,
            s.opacity
        );
    }
    /// A filled area with the points as its corners.
    pub fn area(&mut self, points: &[[f64; 2]], colour: &str, opacity: f64) {
        let _ = writeln!(self.body, r#"<path d="{} Z" fill="{colour}" fill-opacity="{opacity:.2}"/>"#, path(points));
    }
    /// A ring.
    pub fn ring(&mut self, [x, y]: [f64; 2], radius: f64, s: Stroke) {
        let _ = writeln!(
            self.body,
            r#"<circle cx="{x:.2}" cy="{y:.2}" r="{radius:.2}" fill="none" stroke="{}" stroke-width="{:.2}" stroke-opacity="{:.2}"/>"#,
            s.colour, s.width, s.opacity
        );
    }
    /// A text with its baseline at the position.
    pub fn text(&mut self, at: [f64; 2], t: Type, words: &str) {
        self.runs(at, t, &[(words, t)]);
    }
    /// A line of text in several looks, one after the other; the anchor and the halo are those of `whole`.
    pub fn runs(&mut self, [x, y]: [f64; 2], whole: Type, runs: &[(&str, Type)]) {
        let anchor = match whole.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let halo = whole.halo.map_or(String::new(), |c| {
            format!(r#" paint-order="stroke" stroke="{c}" stroke-width="{:.1}" stroke-linejoin="round""#, whole.size * 0.22)
        });
        let _ =
            write!(self.body, r#"<text x="{x:.1}" y="{y:.1}" font-family="{FAMILY}" text-anchor="{anchor}" xml:space="preserve"{halo}>"#);
        for (words, t) in runs {
            let weight = if t.bold { 700 } else { 400 };
            let _ = write!(
                self.body,
                r#"<tspan font-weight="{weight}" font-size="{:.1}" fill="{}">{}</tspan>"#,
                t.size,
                t.colour,
                escaped(words, self.page)
            );
        }
        self.body.push_str("</text>\n");
    }
    /// The drawing as an SVG document of its own, on the ground of the pictures. Letters become outlines, so that it looks the same
    /// wherever it is opened.
    ///
    /// # Errors
    /// When the drawing is not accepted (a fault of the program).
    pub fn document(&self, [w, h]: [u32; 2]) -> Result<String, PictureError> {
        let [r, g, b] = GROUND_RGB;
        let ground = format!(r##"<rect width="{w}" height="{h}" fill="#{r:02x}{g:02x}{b:02x}"/>"##);
        Ok(self.tree([w, h], &ground)?.to_string(&usvg::WriteOptions::default()))
    }
    /// The drawing as an element of a page that brings its colours (custom properties as colours) and typeface; `alt` says in words
    /// what it shows.
    pub fn inline(&self, [w, h]: [f64; 2], alt: &str) -> String {
        let alt = escaped(alt, true);
        format!("<svg viewBox=\"0 0 {w:.0} {h:.0}\" role=\"img\" aria-label=\"{alt}\">\n{}</svg>", self.body)
    }
    fn tree(&self, [w, h]: [u32; 2], ground: &str) -> Result<usvg::Tree, PictureError> {
        let text = format!(r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}">{ground}{}</svg>"#, self.body);
        let options = usvg::Options { fontdb: fonts(), font_family: FAMILY.to_string(), ..usvg::Options::default() };
        usvg::Tree::from_str(&text, &options).map_err(|e| PictureError::Drawing(e.to_string()))
    }
    /// Renders the drawing over a picture.
    ///
    /// # Errors
    /// When the drawing cannot be rendered (a fault of the program, not of the photo).
    pub fn over(&self, picture: RgbImage) -> Result<RgbImage, PictureError> {
        let (w, h) = picture.dimensions();
        let tree = self.tree([w, h], "")?;
        let rgba: Vec<u8> = picture.pixels().flat_map(|p| [p.0[0], p.0[1], p.0[2], 255]).collect();
        let size = IntSize::from_wh(w, h).ok_or(PictureError::Empty)?;
        let mut canvas = Pixmap::from_vec(rgba, size).ok_or(PictureError::Empty)?;
        resvg::render(&tree, Transform::identity(), &mut canvas.as_mut());
        let rgb: Vec<u8> = canvas.data().chunks_exact(4).flat_map(|p| p.iter().take(3).copied()).collect();
        RgbImage::from_raw(w, h, rgb).ok_or(PictureError::Empty)
    }
}

fn path(points: &[[f64; 2]]) -> String {
    let mut d = String::new();
    for (k, [x, y]) in points.iter().enumerate() {
        let _ = write!(d, "{}{x:.2},{y:.2} ", if k == 0 { "M" } else { "L" });
    }
    d
}

/// Text safe for XML; unless `any` letter may stand, "?" for those that the fonts do not hold.
fn escaped(words: &str, any: bool) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if any && !c.is_control() || in_font(c) => out.push(c),
            _ => out.push('?'),
        }
    }
    out
}

/// Whether the embedded fonts hold a character.
pub fn in_font(c: char) -> bool {
    matches!(c, ' '..='~' | '\u{a0}'..='\u{ff}' | '–' | '—' | '‘' | '’' | '“' | '”' | '•' | '…' | '′' | '″' | '−' | '≈' | '≤' | '≥' | 'Δ' | 'σ' | 'θ' | '→')
}

/// The embedded fonts.
pub fn fonts() -> Arc<fontdb::Database> {
    static FONTS: OnceLock<Arc<fontdb::Database>> = OnceLock::new();
    FONTS
        .get_or_init(|| {
            let mut db = fontdb::Database::new();
            db.load_font_data(REGULAR.to_vec());
            db.load_font_data(BOLD.to_vec());
            Arc::new(db)
        })
        .clone()
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
