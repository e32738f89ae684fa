//! The dial's part of the photo at a working resolution, as colour planes.
use crate::maths::homography::{Homography, PlaneInPhoto, PlaneInWork, WorkPoint, WorkToPlane};
use crate::maths::point::PhotoPoint;
use crate::photo::{Photo, Plane, part_of};

/// Colour planes of the photo round the dial.
#[derive(Clone, Debug)]
pub struct Work {
    /// Red, green, blue.
    pub planes: [Plane; 3],
    /// Dial plane to px of these planes.
    pub homography: PlaneInWork,
    /// px of these planes to dial plane.
    pub back: WorkToPlane,
    /// px per unit.
    pub scale: f64,
    /// Photo px to px of these planes.
    from_photo: Homography<PhotoPoint, WorkPoint>,
    shrunk: f64,
}

/// Finer than this (px per unit) nothing is gained on the needle; the photo is averaged down by twos.
const FINEST: f64 = 460.0;

impl Work {
    /// Cuts the dial out to `extent` units. `None` when it lies outside the photo.
    pub fn cut(photo: &Photo, homography: &PlaneInPhoto, scale: f64, extent: f64) -> Option<Self> {
        let mut level = 0;
        while scale / (1u64 << level) as f64 > FINEST {
            level += 1;
        }
        let [x0, y0, x1, y1] = homography.box_of_circle(extent, 32);
        let clip = |v: f64, top: usize| v.clamp(0.0, top as f64 - 1.0) as usize;
        if ![x0, y0, x1, y1].iter().all(|v| v.is_finite()) {
            return None;
        }
        let even = !((1usize << level) - 1);
        let (x0, y0) = (clip(x0 - 3.0, photo.width) & even, clip(y0 - 3.0, photo.height) & even);
        let (x1, y1) = (clip(x1 + 4.0, photo.width), clip(y1 + 4.0, photo.height));
        if x1 < x0 + 16 || y1 < y0 + 16 {
            return None;
        }
        let part = [x0, y0, x1 - x0 + 1, y1 - y0 + 1];
        let planes = [0, 1, 2].map(|c| (0..level).fold(part_of(&photo.rgb, photo.width, part, |p| f32::from(p[c])), |p, _| p.half()));
        let shift = Homography::<PhotoPoint, PhotoPoint>::shifted(-(x0 as f64), -(y0 as f64));
        let (from_photo, shrunk) = (Homography::halved(level) * shift, (1u64 << level) as f64);
        let h = from_photo * *homography;
        Some(Self { planes, homography: h, back: h.inverse()?, scale: scale / shrunk, from_photo, shrunk })
    }
    /// The same pixels, the dial being at another place nearby. `None`, and nothing is moved, for a map that has no inverse.
    pub fn place(&mut self, homography: &PlaneInPhoto, scale: f64) -> Option<()> {
        let h = self.from_photo * *homography;
        self.back = h.inverse()?;
        (self.homography, self.scale) = (h, scale / self.shrunk);
        Some(())
    }
}
