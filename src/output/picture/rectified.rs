//! A photo's dial as if seen straight on and upright, at a chosen size. For showing only: nothing is measured on it.
use super::palette::GROUND_RGB;
use super::view::cut;
use crate::maths::homography::{Homography, WorkPoint};
use crate::maths::point::{DialPoint, PhotoPoint};
use crate::photo::Photo;
use crate::reading::Evidence;
use image::imageops::{self, FilterType};
use image::{Rgb, RgbImage};
use imageproc::geometric_transformations::{Border, Interpolation, Projection, warp_into};
use nalgebra::{Matrix2, Vector2};

/// A point of a window: px of a picture of its own (0,0 = centre of the top-left pixel).
pub struct WindowPoint;

/// A window on the dial plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Width and height, px.
    pub size: [u32; 2],
    /// Radius of the marks' circle in the window, px; the pivot is in the middle.
    pub radius: f64,
}

impl Window {
    /// Dial plane to window px.
    pub fn plane(&self) -> Homography<DialPoint, WindowPoint> {
        let centre = Vector2::from(self.size.map(|n| f64::from(n) / 2.0 - 0.5));
        Homography::affine(Matrix2::new(self.radius, 0.0, 0.0, -self.radius), centre)
    }
    /// The photo's dial in the window; `None` when the geometry does not allow it (dial edge-on or beyond the camera).
    pub fn picture(&self, photo: &Photo, evidence: &Evidence) -> Option<RgbImage> {
        let to_photo = evidence.homography * self.plane().inverse()?;
        let (origin, size) = self.footprint(&to_photo, photo)?;
        let part = cut(photo, origin, size)?;
        // Shrunk first where the photo is much finer than the window, or the warp would skip pixels.
        let shrink = (1.5 * self.radius / evidence.radius_px).min(1.0);
        let [w, h] = size.map(|n| (f64::from(n) * shrink).round().max(1.0) as u32);
        let part = if shrink < 1.0 { imageops::resize(&part, w, h, FilterType::Triangle) } else { part };
        let (fx, fy) = (f64::from(w) / f64::from(size[0]), f64::from(h) / f64::from(size[1]));
        let shift = |o: i64, f: f64| (0.5 - o as f64) * f - 0.5;
        let shifts = Vector2::new(shift(origin[0], fx), shift(origin[1], fy));
        let to_part = Homography::<PhotoPoint, WorkPoint>::affine(Matrix2::new(fx, 0.0, 0.0, fy), shifts);
        let from_part = (to_part * to_photo).inverse()?.normalised();
        let row_major: Vec<f32> = from_part.rows().as_flattened().iter().map(|v| *v as f32).collect();
        let projection = Projection::from_matrix(row_major.try_into().ok()?)?;
        let mut out = RgbImage::new(self.size[0], self.size[1]);
        warp_into(&part, projection, Interpolation::Bicubic, Border::Constant(Rgb(GROUND_RGB)), &mut out);
        Some(out)
    }
    /// Where the window lies in the photo: the box round its corners, within the photo. (origin, size)
    fn footprint(&self, to_photo: &Homography<WindowPoint, PhotoPoint>, photo: &Photo) -> Option<([i64; 2], [u32; 2])> {
        let [w, h] = self.size.map(f64::from);
        let corners: Option<Vec<[f64; 2]>> =
            [[0.0, 0.0], [w, 0.0], [0.0, h], [w, h]].iter().map(|c| to_photo.seen_at(c[0], c[1])).collect();
        let corners = corners?;
        let reach = |k: usize, full: usize| {
            let low = corners.iter().map(|c| c[k]).fold(f64::INFINITY, f64::min).floor().max(0.0) as i64;
            let high = corners.iter().map(|c| c[k]).fold(f64::NEG_INFINITY, f64::max).ceil().min(full as f64) as i64;
            (high > low).then_some((low, (high - low) as u32))
        };
        let ((x, w), (y, h)) = (reach(0, photo.width)?, reach(1, photo.height)?);
        Some(([x, y], [w, h]))
    }
}
