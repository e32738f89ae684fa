//! The face's picture, cut out of the reference photo.
use super::geometry::DialPlane;
use super::marks::plane_shifts;
use crate::dial::{DialFileError, Face, FaceFrame};
use crate::maths::homography::{FacePoint, Homography};
use crate::maths::point::PhotoPoint;
use crate::maths::pose::{camera_centre, tilt_degrees};
use crate::photo::Photo;

/// Cuts the part of the photo that holds the print.
pub fn cut_face(photo: &Photo, plane: &DialPlane, print_radius: f64, cover_radius: f64) -> Result<Face, DialFileError> {
    let h = plane.homography;
    let [x0, y0, x1, y1] = h.box_of_circle(print_radius.max(1.1) + 0.08, 64);
    let clip = |v: f64, top: usize| v.max(0.0).min(top as f64 - 1.0) as usize;
    let (x0, y0) = (clip(x0, photo.width), clip(y0, photo.height));
    let (x1, y1) = (clip(x1.ceil(), photo.width), clip(y1.ceil(), photo.height));
    let (width, height) = (x1 - x0 + 1, y1 - y0 + 1);
    let mut rgb = Vec::with_capacity(3 * width * height);
    for y in y0..=y1 {
        rgb.extend_from_slice(&photo.rgb[3 * (y * photo.width + x0)..3 * (y * photo.width + x1 + 1)]);
    }
    let shift = Homography::<PhotoPoint, FacePoint>::shifted(-(x0 as f64), -(y0 as f64));
    let camera = camera_centre(&h, &plane.camera);
    let tilt = camera.map_or(0.0, |c| tilt_degrees(&c));
    let plane_terms = plane_shifts(plane).into_iter().map(|m| shift * m).collect();
    let (scale, uncovered, camera) = (plane.pose.scale, Vec::new(), camera.map(|c| c.into()));
    let frame = FaceFrame { plane: shift * h, scale, tilt, print_radius, cover_radius, plane_terms, uncovered, camera };
    Face::from_rgb(&rgb, width, height, frame)
}
