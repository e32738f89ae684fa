//! The scale, the needle and the band drawn over a dial.
use super::palette::{BAND, NEEDLE, RIM, SCALE, TEXT, WARN};
use super::svg::{Anchor, Stroke, Svg, Type};
use super::view::View;
use crate::dial::{Dial, Mark, MarkKind};
use crate::maths::homography::PlaneInPhoto;
use crate::reading::NeedleEvidence;
use crate::scale::Scale;

/// Draws on the dial plane of one photo as seen through a view.
#[derive(Clone, Copy, Debug)]
pub struct Pen<'a> {
    /// Dial plane to px of the photo, or of the picture that stands for it.
    pub plane: &'a PlaneInPhoto,
    /// What the picture shows.
    pub view: View,
    /// Factor on line widths and letter sizes; 1 for a dial of about 350 px radius on the canvas.
    pub weight: f64,
}

impl Pen<'_> {
    /// A dial point on the canvas.
    pub fn at(&self, x: f64, y: f64) -> Option<[f64; 2]> {
        self.plane.seen_at(x, y).map(|[u, v]| self.view.place(u, v))
    }
    /// The point at a radius and an angle (degrees clockwise from straight up).
    pub fn polar(&self, radius: f64, angle: f64) -> Option<[f64; 2]> {
        let (s, c) = angle.to_radians().sin_cos();
        self.at(radius * s, radius * c)
    }
    /// The points of an arc, for a line or an area.
    pub fn arc(&self, radius: f64, from: f64, to: f64) -> Vec<[f64; 2]> {
        let steps = ((to - from).abs() / 2.0).ceil().clamp(2.0, 360.0) as usize;
        let angle = |k: usize| from + (to - from) * k as f64 / steps as f64;
        (0..=steps).filter_map(|k| self.polar(radius, angle(k))).collect()
    }
    /// A line with a dark rim, so that it shows on any ground.
    pub fn rimmed(&self, svg: &mut Svg, points: &[[f64; 2]], s: Stroke) {
        let width = s.width * self.weight;
        svg.line(points, Stroke { colour: RIM, width: width + 2.6 * self.weight, opacity: 0.55 * s.opacity, ..s });
        svg.line(points, Stroke { width, ..s });
    }
    /// The circle of the marks, the marks as ticks outside it, and the values of the labelled ones.
    pub fn scale(&self, svg: &mut Svg, dial: &Dial) {
        if let (Some(first), Some(last)) = (dial.marks.first(), dial.marks.last()) {
            self.rimmed(svg, &self.arc(1.0, first.angle, last.angle), Stroke::solid(SCALE, 2.8));
            let turn = if last.angle >= first.angle { 360.0 } else { -360.0 };
            let rest = self.arc(1.0, last.angle, first.angle + turn);
            svg.line(&rest, Stroke::solid(SCALE, 1.4 * self.weight).dashed(5.0 * self.weight).faded(0.5));
        }
        for mark in &dial.marks {
            let long = if mark.kind == MarkKind::Counted { 1.04 } else { 1.085 };
            let tick: Vec<_> = [1.0, long].iter().filter_map(|r| self.polar(*r, mark.angle)).collect();
            self.rimmed(svg, &tick, Stroke::solid(SCALE, 2.8));
        }
        for mark in labels(&dial.marks) {
            if let Some([x, y]) = self.polar(1.19, mark.angle) {
                let size = 34.0 * self.weight;
                let t = Type { size, bold: true, colour: TEXT, anchor: Anchor::Middle, halo: Some(RIM) };
                svg.text([x, y + 0.36 * size], t, &format!("{}", mark.value).replace('-', "−"));
            }
        }
    }
    /// The needle's line as fitted: solid where it was seen, dashed on to the marks.
    pub fn needle(&self, svg: &mut Svg, needle: &NeedleEvidence) {
        let (s, c) = needle.angle.to_radians().sin_cos();
        // To the right of the direction (x right, y up): a quarter turn clockwise.
        let at = |t: f64| self.at(t * s + needle.offset * c, t * c - needle.offset * s);
        let line = |a: f64, b: f64| [a, b].iter().filter_map(|t| at(*t)).collect::<Vec<_>>();
        let [near, far] = needle.span;
        self.rimmed(svg, &line(far, 1.0), Stroke::solid(NEEDLE, 2.0).dashed(9.0 * self.weight));
        self.rimmed(svg, &line(near, far), Stroke::solid(NEEDLE, 3.0));
    }
    /// A limit as a stroke across the circle of the marks, short of the numbers; `false` where it lies beyond the scale.
    pub fn limit(&self, svg: &mut Svg, dial: &Dial, limit: f64) -> bool {
        let (low, high) = dial.span();
        let Some(angle) = angle_for(&Scale::new(dial).points(), limit).filter(|_| low <= limit && limit <= high) else { return false };
        let stroke: Vec<_> = [0.86, 1.07].iter().filter_map(|r| self.polar(*r, angle)).collect();
        self.rimmed(svg, &stroke, Stroke::solid(WARN, 5.0));
        true
    }
    /// The 95 % band as a wedge from the pivot to outside the marks, between two angles.
    pub fn band(&self, svg: &mut Svg, from: f64, to: f64) {
        let Some(pivot) = self.at(0.0, 0.0) else { return };
        let mut wedge = vec![pivot];
        wedge.extend(self.arc(1.0, from, to));
        svg.area(&wedge, BAND, 0.45);
        for angle in [from, to] {
            let edge: Vec<_> = [0.0, 1.0].iter().filter_map(|r| self.polar(*r, angle)).collect();
            svg.line(&edge, Stroke::solid(BAND, 1.2 * self.weight).faded(0.9));
        }
        let mut block = self.arc(1.0, from, to);
        block.extend(self.arc(1.12, to, from));
        svg.area(&block, BAND, 0.85);
        block.extend(block.first().copied());
        svg.line(&block, Stroke::solid(TEXT, 1.6 * self.weight));
    }
}

/// The labelled marks that get their value written: all, or every n-th where they stand closer than 9 degrees.
fn labels(marks: &[Mark]) -> Vec<&Mark> {
    let labelled: Vec<&Mark> = marks.iter().filter(|m| m.kind != MarkKind::Counted).collect();
    let range = match (labelled.first(), labelled.last()) {
        (Some(a), Some(b)) => (b.angle - a.angle).abs(),
        _ => return labelled,
    };
    let apart = range / (labelled.len().max(2) - 1) as f64;
    let every = (9.0 / apart.max(0.1)).ceil().max(1.0) as usize;
    labelled.into_iter().step_by(every).collect()
}

/// The needle angle at which the dial shows a value: straight lines between the marks, for drawing only; beyond the ends
/// the outermost interval goes on.
pub fn angle_for(marks: &[Mark], value: f64) -> Option<f64> {
    let k = marks.iter().skip(1).position(|m| value <= m.value).unwrap_or(marks.len().saturating_sub(2));
    let (a, b) = (marks.get(k)?, marks.get(k + 1)?);
    let angle = a.angle + (value - a.value) / (b.value - a.value) * (b.angle - a.angle);
    angle.is_finite().then_some(angle)
}
