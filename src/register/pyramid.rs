//! A photo as a pyramid of luma planes.
use super::features::{Feature, detect};
use super::samples::bounds;
use crate::base::pose::mean_scale;
use crate::photo::{Photo, Plane};
use nalgebra::Matrix3;
use std::sync::OnceLock;

/// A photo as a pyramid of luma planes; level i is 2^i times smaller. Of the full size only the dial's part is made, when it is first
/// needed.
#[derive(Debug)]
pub struct Pyramid<'a> {
    photo: Option<&'a Photo>,
    full: OnceLock<Plane>,
    /// The dial's part of the full size: its left, top, right and bottom pixel.
    part: OnceLock<([usize; 4], Plane)>,
    /// From level 1 on.
    smaller: Vec<Plane>,
}

impl<'a> Pyramid<'a> {
    /// Of a photo.
    pub fn of(photo: &'a Photo) -> Self {
        Self {
            photo: Some(photo),
            full: OnceLock::new(),
            part: OnceLock::new(),
            smaller: halved(photo.half_luma(), photo.width.min(photo.height)),
        }
    }
    /// From the full-size luma.
    pub fn new(luma: Plane) -> Self {
        let smaller = halved(luma.half(), luma.width.min(luma.height));
        Self { photo: None, full: OnceLock::from(luma), part: OnceLock::new(), smaller }
    }
    fn level(&self, i: usize) -> &Plane {
        match i.checked_sub(1) {
            None => self.full.get_or_init(|| self.photo.map(Photo::luma).unwrap_or_default()),
            Some(i) => &self.smaller[i],
        }
    }
    fn longer_side(&self, i: usize) -> usize {
        let size = |w: usize, h: usize| w.max(h);
        match (i, self.photo) {
            (0, Some(p)) => size(p.width, p.height),
            _ => size(self.level(i).width, self.level(i).height),
        }
    }
    /// The first level whose longer side is at most `side` px; the last when none is.
    pub(super) fn below(&self, side: usize) -> usize {
        (0..self.smaller.len()).find(|&i| self.longer_side(i) <= side).unwrap_or(self.smaller.len())
    }
    /// Features of one level.
    pub(super) fn features(&self, level: usize) -> Vec<Feature> {
        detect(self.level(level), 0.6, 1.2, 1500, |_, _| true)
    }
    /// The level whose scale is nearest above `target` px per unit, for a dial at `h` (dial plane to full-size px) that is looked at
    /// out to `extent` units.
    pub(super) fn at(&self, h: &Matrix3<f64>, extent: f64, target: f64) -> Level<'_> {
        let scale = mean_scale(h);
        let mut i = 0;
        while i < self.smaller.len() && scale / (1 << (i + 1)) as f64 >= target {
            i += 1;
        }
        let part = if i == 0 && self.full.get().is_none() { self.photo.and_then(|p| self.part_of(p, h, extent)) } else { None };
        part.unwrap_or_else(|| Level { map: level_map(i), plane: self.level(i) })
    }
    /// The dial's part of the full-size photo; `None` when another part is known already, or it is most of the photo.
    fn part_of(&self, photo: &Photo, h: &Matrix3<f64>, extent: f64) -> Option<Level<'_>> {
        let [x0, y0, x1, y1] = bounds(h, extent, (photo.width, photo.height))?;
        if 5 * (x1 - x0) * (y1 - y0) > 4 * photo.width * photo.height {
            return None;
        }
        let ([left, top, right, bottom], plane) = self.part.get_or_init(|| {
            let room = 16 + (x1 - x0).max(y1 - y0) / 12;
            let [left, top] = [x0, y0].map(|v| v.saturating_sub(room));
            let (right, bottom) = ((x1 + room).min(photo.width - 1), (y1 + room).min(photo.height - 1));
            ([left, top, right, bottom], photo.luma_of(left, top, right + 1 - left, bottom + 1 - top))
        });
        // two pixels at an inner edge: nothing is interpolated beyond it
        let inside = |from: usize, to: usize, low: usize, high: usize, size: usize| {
            (from >= low + 2 || low == 0) && (to + 2 <= high || high + 1 == size)
        };
        let holds = inside(x0, x1, *left, *right, photo.width) && inside(y0, y1, *top, *bottom, photo.height);
        let shift = Matrix3::new(1.0, 0.0, -(*left as f64), 0.0, 1.0, -(*top as f64), 0.0, 0.0, 1.0);
        holds.then_some(Level { map: shift, plane })
    }
}

/// A level of a pyramid, or a part of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Level<'a> {
    /// Full-size px to px of the plane.
    pub map: Matrix3<f64>,
    /// The plane.
    pub plane: &'a Plane,
}

/// The levels from the first half on, as long as the one before is large enough; `side`: the shorter one of the full size.
fn halved(first: Plane, side: usize) -> Vec<Plane> {
    let mut levels = Vec::new();
    let mut before = side;
    let mut next = first;
    while levels.len() < 5 && before > 120 {
        before = next.width.min(next.height);
        let half = next.half();
        levels.push(std::mem::replace(&mut next, half));
    }
    levels
}

/// Full-size px to px of pyramid level `i` (pixel centres at integers).
pub fn level_map(i: usize) -> Matrix3<f64> {
    let f = (1u64 << i) as f64;
    Matrix3::new(1.0 / f, 0.0, 0.5 / f - 0.5, 0.0, 1.0 / f, 0.5 / f - 0.5, 0.0, 0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::pose::project;

    /// A dial of 40 px a unit at some places of a photo, asked one after another: what is made of a part is what the whole holds there.
    #[test]
    fn a_part_of_the_photo_is_the_photo_there() {
        let (width, height) = (400, 320);
        let rgb = (0..width * height * 3).map(|i| (i * i % 251) as u8).collect();
        let photo = Photo { width, height, rgb, hash: String::new(), taken_at: None, focal_ratio: None };
        let luma = photo.luma();
        let mut parts = 0;
        for first in [(150.0, 160.0), (30.0, 25.0), (385.0, 300.0)] {
            let pyramid = Pyramid::of(&photo);
            for (x, y) in [first, (first.0 + 3.0, first.1), (200.0, 100.0)] {
                let h = Matrix3::new(40.0, 0.0, x, 0.0, -40.0, y, 0.0, 0.0, 1.0);
                let level = pyramid.at(&h, 1.1, 35.0);
                parts += usize::from(level.plane.width < width);
                for (a, b) in [(0.0, 0.0), (0.9, 0.3), (-0.7, 0.7), (0.2, -1.0)] {
                    let full = project(&h, a, b);
                    let here = project(&(level.map * h), a, b);
                    if let Some(expected) = luma.bilinear(full.x, full.y) {
                        assert_eq!(level.plane.bilinear(here.x, here.y), Some(expected), "dial at {x}, {y}");
                    }
                }
            }
        }
        assert!(parts >= 6, "{parts}");
    }
}
