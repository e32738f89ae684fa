//! What a drawing is made of: lines, areas, rings and text, canvas px.

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
    /// As SVG's attributes, with round ends and corners.
    pub(super) fn attributes(&self) -> String {
        let dash = if self.dash > 0.0 { format!(r#" stroke-dasharray="{:.1}""#, self.dash) } else { String::new() };
        format!(
            r#"fill="none" stroke="{}" stroke-width="{:.2}" stroke-opacity="{:.2}" stroke-linecap="round" stroke-linejoin="round"{dash}"#,
            self.colour, self.width, self.opacity
        )
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

impl Type {
    /// Width of the stroke that makes the rim, canvas px.
    pub(super) fn halo_width(&self) -> f64 {
        0.22 * self.size
    }
}

/// What is drawn.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    /// A line through points.
    Line(Vec<[f64; 2]>, Stroke),
    /// A filled area: its corners, colour and opacity.
    Area(Vec<[f64; 2]>, &'static str, f64),
    /// A ring: its middle and radius.
    Ring([f64; 2], f64, Stroke),
    /// A line of text in several looks; anchor and halo are those of the first `Type`.
    Text([f64; 2], Type, Vec<(String, Type)>),
}
