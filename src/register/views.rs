//! Features of the reference face under simulated viewpoints: tilt, azimuth and size.
//!
//! A feature is stored with the affine map from its own frame to the dial plane, so that a single match with a photo
//! feature already proposes where the whole dial is. Idea after Morel & Yu, "ASIFT", SIAM J. Imaging Sci. 2 (2009).
use super::face::FaceModel;
use super::features::{Feature, ViewFeature, detect};
use super::kept::print_of;
use super::packed::{pack, unpack_features};
use super::rendering::{Canonical, softened, to_soft};
use super::scale_space::OCTAVES;
use crate::maths::homography::{Homography, StraightPoint};
use crate::photo::{Plane, warped};
use nalgebra::{Matrix2, Vector2};
use std::borrow::Cow;
use std::sync::OnceLock;

/// px per unit of the simulated views before they are scaled.
const VIEW_SCALE: f64 = 160.0;

/// Features of the face under simulated views: the straight ones at once, the tilted ones when they are first needed.
#[derive(Debug)]
pub struct Views {
    straight: Vec<ViewFeature>,
    all: OnceLock<Vec<ViewFeature>>,
}

impl Views {
    /// The straight views as the dial keeps them, or prepared.
    pub fn new(face: &FaceModel) -> Self {
        let kept = face.dial.prepared.as_deref().and_then(|bytes| unpack_features(bytes, print_of(&face.dial)));
        let straight = kept.or_else(|| unpack_features(&pack((face.way(), 0), &straight(face), &[]), 0)).unwrap_or_default();
        Self { straight, all: OnceLock::new() }
    }
    /// Features of the face seen straight on.
    pub fn straight(&self) -> &[ViewFeature] {
        &self.straight
    }
    /// Whether the tilted views have been prepared.
    #[cfg(test)]
    pub fn tilted_made(&self) -> bool {
        self.all.get().is_some()
    }
    /// Features of the face under all views.
    pub fn all(&self, face: &FaceModel) -> &[ViewFeature] {
        self.all.get_or_init(|| {
            let canonical = straight_on(face, 1.0);
            let mut all = self.straight.clone();
            for a in 0..AZIMUTHS {
                for size in [1.0, 0.55] {
                    let azimuth = a as f64 * std::f64::consts::PI / AZIMUTHS as f64;
                    tilted(face, &canonical, 40f64.to_radians(), azimuth, size, &mut all);
                }
            }
            all
        })
    }
}

/// Features of the straight views.
pub(super) fn straight(face: &FaceModel) -> Vec<ViewFeature> {
    let mut found = Vec::new();
    for size in [1.0, 0.5] {
        let view = straight_on(face, size);
        features(face, &view.plane, Matrix2::new(view.k, 0.0, 0.0, -view.k), 300, &mut found);
    }
    found
}

/// Azimuths of the tilted views over half a turn.
const AZIMUTHS: usize = 6;

/// The face straight on at a share of the size that views have.
fn straight_on(face: &FaceModel, share: f64) -> Canonical {
    let extent = face.dial.face.print_radius + 0.03;
    let k = face.dial.face.scale.min(if face.is_wide() { 110.0 } else { VIEW_SCALE });
    face.canonical(share * k, extent)
}

/// A point of a picture of the face seen tilted: px, x right, y down.
struct TiltedPoint;

/// Features of the face tilted about an axis of this azimuth (radians), at this share of its size.
fn tilted(face: &FaceModel, canonical: &Canonical, tilt: f64, azimuth: f64, size: f64, out: &mut Vec<ViewFeature>) {
    let (s, c) = azimuth.sin_cos();
    let turn = Matrix2::new(c, -s, s, c);
    let squash = size * turn * Matrix2::new(1.0, 0.0, 0.0, tilt.cos()) * turn.transpose();
    let n = (canonical.plane.width as f64 * size).ceil() as usize;
    let (c0, c1) = (canonical.centre(), (n as f64 - 1.0) / 2.0);
    let Some(back) = squash.try_inverse() else { return };
    let shift = Vector2::repeat(c0) - back * Vector2::repeat(c1);
    let map = Homography::<TiltedPoint, StraightPoint>::affine(back, shift);
    let plane = &canonical.plane;
    let soft = softened(|| Cow::Borrowed(plane), || Cow::Owned(plane.half()), 1.0 / size);
    let [view] = warped([soft.as_ref()], &(to_soft(1.0 / size) * map), n, n);
    features(face, &view, squash * Matrix2::new(canonical.k, 0.0, 0.0, -canonical.k), 160, out);
}

/// The strongest features of a view that lie on print. `to_view`: dial plane (y up) to px from the view's middle.
fn features(face: &FaceModel, view: &Plane, to_view: Matrix2<f64>, most: usize, out: &mut Vec<ViewFeature>) {
    let centre = (view.width as f64 - 1.0) / 2.0;
    let Some(from_view) = to_view.try_inverse() else { return };
    let needle = face.reference_needle();
    let votes = |x: f64, y: f64| {
        let d = from_view * Vector2::new(x - centre, y - centre);
        face.votes(d.x, d.y, &needle) && face.may_have_print(d.x, d.y)
    };
    let found = detect(view, OCTAVES, 2.0, most, votes);
    out.extend(found.iter().map(|f| view_feature(f, &to_view, &from_view, centre)));
}

fn view_feature(f: &Feature, to_view: &Matrix2<f64>, from_view: &Matrix2<f64>, centre: f64) -> ViewFeature {
    let (s, c) = f.angle.sin_cos();
    let own = Matrix2::new(c, s, -s, c) / f.scale;
    let a = own * to_view;
    let t = own * Vector2::new(centre - f.x, centre - f.y);
    ViewFeature {
        place: from_view * Vector2::new(f.x - centre, f.y - centre),
        frame: Homography::affine(a, t),
        descriptor: f.descriptor.clone(),
    }
}
