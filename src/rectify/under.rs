//! The reference face without its needle under a strip of the photo, along an axis of colour.
use super::paint::{along_axis, covered, mixed, paint_over};
use crate::dial::NeedleLook;
use crate::maths::blur::BlurCovariance;
use crate::maths::point::DialPoint;
use crate::photo::Plane;
use crate::register::face::{FaceModel, NeedlePlace};
use crate::register::rendering::{Grid, Softened};
use nalgebra::{Vector2, Vector3};

/// px per unit above which nothing is gained on the needle's edges.
const FINEST: f64 = 300.0;

/// The reference picture, and what must be known to take its needle off.
#[derive(Clone, Debug)]
pub(super) struct FineReference {
    colours: Softened<'static, 3>,
    covering: NeedleLook,
    /// Angle and offset of the reference's needle.
    needle: (f64, f64),
    /// Colour of the paper by radius, steps of 0.01.
    paper: Vec<[f32; 3]>,
}

/// A point of a strip: px along it and across it.
#[derive(Clone, Debug)]
struct StripPoint;

/// A strip of the reference.
#[derive(Clone, Debug)]
pub(super) struct Strip {
    grid: Grid<StripPoint>,
    plane: Plane,
}

impl FineReference {
    pub fn new(face: &FaceModel, paper: &[[f32; 3]]) -> Self {
        let dial = &face.dial;
        Self {
            colours: face.colours(dial.face.scale.min(FINEST)),
            covering: face.covering().clone(),
            needle: (dial.needle.angle, dial.needle.offset),
            paper: paper.to_vec(),
        }
    }
    /// The reference within the rectangle of these dial points (given round it) as a photo of this blur shows it; its colours weighted by
    /// `axis`.
    pub fn strip(&self, blur: &BlurCovariance<DialPoint>, corners: &[Vector2<f64>; 4], axis: &Vector3<f64>) -> Strip {
        let grid = Grid::<StripPoint>::over(corners, self.colours.k);
        let blur = self.colours.lacking(blur, &grid);
        // beyond its ends as far as the blur looks
        let grid = grid.wider((3.0 * blur.trace().max(0.0).sqrt() + 4.0).ceil() as usize);
        let mut plane = mixed(axis, self.colours.on(&grid).each_ref());
        let (needle, to_dial) = (NeedlePlace::new(&self.covering, self.needle.0, self.needle.1), grid.to_dial());
        let covered = covered((plane.width, plane.height), &needle, |i, j| {
            let p = to_dial.at(i as f64, j as f64);
            (p.x, p.y)
        });
        paint_over(&mut plane, &covered, |step| along_axis(axis, self.paper[step]));
        Strip { plane: plane.blurred(&blur), grid }
    }
}

impl Strip {
    /// The level at a dial point; the border's beyond the strip.
    pub fn at(&self, x: f64, y: f64) -> f32 {
        let (u, v) = self.grid.px(x, y);
        self.plane.clamped(u, v)
    }
}
