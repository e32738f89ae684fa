//! Which part of a photo a picture shows, and where a photo pixel or a dial point lands on it.
use super::palette::GROUND_RGB;
use crate::photo::Photo;
use image::imageops::{self, FilterType};
use image::{Rgb, RgbImage};

/// A crop of a photo shown on a canvas.
///
/// Frames: photo px as in the library (0,0 = centre of the top-left pixel); canvas px with (0,0) at the top-left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Left and top edge of the crop in whole photo px from the top-left corner; may lie outside the photo.
    pub origin: [i64; 2],
    /// Width and height of the crop in photo px.
    pub crop: [u32; 2],
    /// Canvas px per photo px.
    pub scale: f64,
}

impl View {
    /// A square of half side `half` (photo px) round a photo point, shown `side` canvas px wide. `None` when it is more than
    /// three times as wide as the photo, or its middle far outside: no dial that was seen lies like that.
    pub fn square(photo: &Photo, centre: [f64; 2], half: f64, side: u32) -> Option<Self> {
        let longest = photo.width.max(photo.height) as f64;
        let n = (2.0 * half).round();
        if !(8.0..=3.0 * longest).contains(&n) || !centre.iter().all(|c| c.abs() <= 2.0 * longest) {
            return None;
        }
        let origin = centre.map(|c| (c + 0.5 - n / 2.0).round() as i64);
        Some(Self { origin, crop: [n as u32; 2], scale: f64::from(side) / n })
    }
    /// The whole photo, `side` canvas px wide; a photo higher than wide gets ground left and right of it.
    pub fn whole(photo: &Photo, side: u32) -> Self {
        let (w, h) = (photo.width.max(1) as u32, photo.height.max(1) as u32);
        let n = w.max(h);
        let left = -i64::from((n - w) / 2);
        Self { origin: [left, 0], crop: [n, h], scale: f64::from(side) / f64::from(n) }
    }
    /// Size on the canvas.
    pub fn size(&self) -> [u32; 2] {
        self.crop.map(|c| (f64::from(c) * self.scale).round().max(1.0) as u32)
    }
    /// Where a photo point lands on the canvas.
    pub fn place(&self, x: f64, y: f64) -> [f64; 2] {
        [(x + 0.5 - self.origin[0] as f64) * self.scale, (y + 0.5 - self.origin[1] as f64) * self.scale]
    }
    /// The crop at canvas size; ground where it leaves the photo. `None` when the photo has no pixels.
    pub fn picture(&self, photo: &Photo) -> Option<RgbImage> {
        let crop = cut(photo, self.origin, self.crop)?;
        let [w, h] = self.size();
        if [w, h] == self.crop {
            return Some(crop);
        }
        let filter = if self.scale < 1.0 { FilterType::Triangle } else { FilterType::CatmullRom };
        Some(imageops::resize(&crop, w, h, filter))
    }
}

/// A part of a photo, `size` px from `origin` on; ground where it leaves the photo. `None` when the photo has no pixels.
pub fn cut(photo: &Photo, origin: [i64; 2], size: [u32; 2]) -> Option<RgbImage> {
    let mut part = RgbImage::from_pixel(size[0], size[1], Rgb(GROUND_RGB));
    let stride = photo.width.checked_mul(3).filter(|s| *s > 0 && photo.rgb.len() >= s * photo.height)?;
    let inside = |o: i64, n: u32, full: usize| (o.max(0), (o + i64::from(n)).min(full as i64));
    let (x0, x1) = inside(origin[0], size[0], photo.width);
    let (y0, y1) = inside(origin[1], size[1], photo.height);
    if x1 <= x0 {
        return Some(part);
    }
    let (to, target_stride) = (3 * (x0 - origin[0]) as usize, 3 * size[0] as usize);
    let bytes = 3 * (x1 - x0) as usize;
    for y in y0..y1 {
        let from = y as usize * stride + 3 * x0 as usize;
        let start = (y - origin[1]) as usize * target_stride + to;
        if let (Some(source), Some(target)) = (photo.rgb.get(from..from + bytes), part.get_mut(start..start + bytes)) {
            target.copy_from_slice(source);
        }
    }
    Some(part)
}
