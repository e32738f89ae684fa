//! A photo as a pyramid of luma planes.
use super::features::{Feature, detect};
use crate::photo::{Photo, Plane};
use nalgebra::Matrix3;
use std::sync::OnceLock;

/// A photo as a pyramid of luma planes; level i is 2^i times smaller. The full size is made when it is first needed: a large photo
/// of a dial that fills it is read without.
#[derive(Debug)]
pub struct Pyramid<'a> {
    photo: Option<&'a Photo>,
    full: OnceLock<Plane>,
    /// From level 1 on.
    smaller: Vec<Plane>,
}

impl<'a> Pyramid<'a> {
    /// Of a photo.
    pub fn of(photo: &'a Photo) -> Self {
        Self { photo: Some(photo), full: OnceLock::new(), smaller: halved(photo.half_luma(), photo.width.min(photo.height)) }
    }
    /// From the full-size luma.
    pub fn new(luma: Plane) -> Self {
        let smaller = halved(luma.half(), luma.width.min(luma.height));
        Self { photo: None, full: OnceLock::from(luma), smaller }
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
    /// Level index and plane whose scale is nearest above `target` px per unit, for a dial of `scale` px per unit.
    pub fn at(&self, scale: f64, target: f64) -> (usize, &Plane) {
        let mut i = 0;
        while i < self.smaller.len() && scale / (1 << (i + 1)) as f64 >= target {
            i += 1;
        }
        (i, self.level(i))
    }
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
