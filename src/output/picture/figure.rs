//! What is drawn as outlines, letters too: what is painted and what a document of its own holds are the same.
use super::error::PictureError;
use super::letters::Typeface;
use super::shape::{Anchor, Shape, Stroke, Type};
use std::fmt::Write;
use tiny_skia::{Path, PathBuilder, PathSegment};

/// An outline and how it is shown.
#[derive(Clone, Debug)]
pub(super) struct Figure {
    /// Canvas px.
    pub path: Path,
    /// How it is shown.
    pub finish: Finish,
}

/// How an outline is shown.
#[derive(Clone, Copy, Debug)]
pub(super) enum Finish {
    /// Filled: colour "#rrggbb" and opacity.
    Filled(&'static str, f64),
    /// Stroked, with round ends and corners.
    Stroked(Stroke),
}

/// All shapes as outlines, in the order in which they are painted. What has no extent or no finite place is left out.
///
/// # Errors
/// When a font cannot be read (a fault of the program).
pub(super) fn figures(shapes: &[Shape]) -> Result<Vec<Figure>, PictureError> {
    let faces = [Typeface::embedded(false)?, Typeface::embedded(true)?];
    let mut out = Vec::new();
    for shape in shapes {
        match shape {
            Shape::Line(points, s) => out.extend(figure(along(points), Finish::Stroked(*s))),
            Shape::Area(points, colour, opacity) => {
                let mut corners = along(points);
                corners.close();
                out.extend(figure(corners, Finish::Filled(colour, *opacity)));
            }
            Shape::Ring([x, y], radius, s) => {
                let mut ring = PathBuilder::new();
                ring.push_circle(*x as f32, *y as f32, *radius as f32);
                out.extend(figure(ring, Finish::Stroked(*s)));
            }
            Shape::Text(at, whole, runs) => text(*at, whole, runs, &faces, &mut out),
        }
    }
    Ok(out)
}

/// A line of text: all rims, then all letters, so that no rim covers the letter before.
fn text([x, y]: [f64; 2], whole: &Type, runs: &[(String, Type)], faces: &[Typeface; 2], out: &mut Vec<Figure>) {
    let face = |t: &Type| &faces[usize::from(t.bold)];
    let widths: Vec<f64> = runs.iter().map(|(words, t)| face(t).width(words, t.size)).collect();
    let total: f64 = widths.iter().sum();
    let mut left = match whole.anchor {
        Anchor::Start => x,
        Anchor::Middle => x - 0.5 * total,
        Anchor::End => x - total,
    };
    let mut letters = Vec::new();
    for ((words, t), width) in runs.iter().zip(widths) {
        let mut outline = PathBuilder::new();
        face(t).outline(words, t.size, [left, y], &mut outline);
        letters.extend(figure(outline, Finish::Filled(t.colour, 1.0)));
        left += width;
    }
    if let Some(colour) = whole.halo {
        let rim = Finish::Stroked(Stroke::solid(colour, whole.halo_width()));
        out.extend(letters.iter().map(|l| Figure { finish: rim, ..l.clone() }));
    }
    out.append(&mut letters);
}

fn figure(path: PathBuilder, finish: Finish) -> Option<Figure> {
    path.finish().map(|path| Figure { path, finish })
}

fn along(points: &[[f64; 2]]) -> PathBuilder {
    let mut path = PathBuilder::new();
    for (k, [x, y]) in points.iter().map(|p| p.map(|v| v as f32)).enumerate() {
        if k == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
    }
    path
}

impl Figure {
    /// As an SVG element.
    pub fn element(&self) -> String {
        let look = match self.finish {
            Finish::Filled(colour, opacity) => format!(r#"fill="{colour}" fill-opacity="{opacity:.2}""#),
            Finish::Stroked(s) => s.attributes(),
        };
        format!("<path d=\"{}\" {look}/>\n", data(&self.path))
    }
}

/// An outline as SVG's path data, to a hundredth of a px.
fn data(path: &Path) -> String {
    let mut d = String::new();
    for segment in path.segments() {
        let _ = match segment {
            PathSegment::MoveTo(p) => write!(d, "M{:.2} {:.2}", p.x, p.y),
            PathSegment::LineTo(p) => write!(d, "L{:.2} {:.2}", p.x, p.y),
            PathSegment::QuadTo(a, p) => write!(d, "Q{:.2} {:.2} {:.2} {:.2}", a.x, a.y, p.x, p.y),
            PathSegment::CubicTo(a, b, p) => write!(d, "C{:.2} {:.2} {:.2} {:.2} {:.2} {:.2}", a.x, a.y, b.x, b.y, p.x, p.y),
            PathSegment::Close => write!(d, "Z"),
        };
    }
    d
}
