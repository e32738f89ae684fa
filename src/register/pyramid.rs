//! A photo as a pyramid of luma planes.
use super::features::{Feature, detect};
use super::frames::bounds;
use super::scale_space::OCTAVES;
use crate::maths::homography::{Homography, PlaneInPhoto, WorkPoint};
use crate::maths::point::PhotoPoint;
use crate::photo::{Photo, Plane};
use std::sync::OnceLock;

/// A photo as a pyramid of luma planes; level i is 2^i times smaller. A level is made when it is first needed, and of levels 0 and 1 only
/// the dial's part where that is enough.
#[derive(Debug)]
pub struct Pyramid<'a> {
    photo: Option<&'a Photo>,
    size: (usize, usize),
    whole: Vec<OnceLock<Plane>>,
    /// The dial's part of levels 0 and 1: its left, top, right and bottom pixel.
    parts: [OnceLock<([usize; 4], Plane)>; 2],
}

/// Least contrast of a feature, grey levels, and how many are sought in one level: the strongest.
const CONTRAST: f32 = 1.2;
const FEATURES: usize = 1500;

/// Longer side, px, of a photo of which level 2 is made without level 1.
const LARGE: usize = 2200;

impl<'a> Pyramid<'a> {
    /// Of a photo.
    pub fn of(photo: &'a Photo) -> Self {
        Self::sized(Some(photo), (photo.width, photo.height))
    }
    /// From the full-size luma.
    pub fn new(luma: Plane) -> Self {
        let mut out = Self::sized(None, (luma.width, luma.height));
        out.whole[0] = OnceLock::from(luma);
        out
    }
    fn sized(photo: Option<&'a Photo>, size: (usize, usize)) -> Self {
        // up to five times half of it, as long as the level before is large enough
        let levels = (0..5).take_while(|i| size.0.min(size.1) >> i > 120).count();
        Self { photo, size, whole: (0..=levels).map(|_| OnceLock::new()).collect(), parts: Default::default() }
    }
    /// One level as a whole.
    pub(super) fn level(&self, i: usize) -> &Plane {
        self.whole[i].get_or_init(|| match (i, self.photo) {
            (0, photo) => photo.map(Photo::luma).unwrap_or_default(),
            (1, Some(photo)) => photo.half_luma(),
            (2, Some(photo)) if self.size.0.max(self.size.1) > LARGE => photo.quarter_luma(),
            _ => self.level(i - 1).half(),
        })
    }
    /// The first level whose longer side is at most `side` px; the last when none is.
    pub(super) fn below(&self, side: usize) -> usize {
        let last = self.whole.len() - 1;
        (0..last).find(|&i| self.size.0.max(self.size.1) >> i <= side).unwrap_or(last)
    }
    /// Features of one level.
    pub(super) fn features(&self, level: usize) -> Vec<Feature> {
        detect(self.level(level), OCTAVES, CONTRAST, FEATURES, |_, _| true)
    }
    /// Features of a level: its finest octave is searched, larger ones are those of the level of half the size, `coarse`.
    pub(super) fn finer_features(&self, level: usize, coarse: Vec<Feature>) -> Vec<Feature> {
        let mut all = detect(self.level(level), 1, CONTRAST, FEATURES, |_, _| true);
        all.extend(coarse.into_iter().map(Feature::doubled));
        all
    }
    /// The level whose scale is nearest above `target` px per unit, for a dial that is looked at out to `extent` units.
    pub(super) fn at(&self, h: &PlaneInPhoto, extent: f64, target: f64) -> Level<'_> {
        let scale = h.mean_scale();
        let mut i = 0;
        while i + 1 < self.whole.len() && scale / (1 << (i + 1)) as f64 >= target {
            i += 1;
        }
        let part = if i < self.parts.len() && self.whole[i].get().is_none() { self.part_of(i, h, extent) } else { None };
        part.unwrap_or_else(|| Level { from_photo: Homography::halved(i), plane: self.level(i) })
    }
    /// The dial's part of one of the first levels; `None` when another part is known already, or it is most of the photo.
    fn part_of(&self, level: usize, h: &PlaneInPhoto, extent: f64) -> Option<Level<'_>> {
        let photo = self.photo?;
        let (width, height) = (self.size.0 >> level, self.size.1 >> level);
        let [x0, y0, x1, y1] = bounds(&(Homography::<_, WorkPoint>::halved(level) * *h), extent, (width, height))?;
        if 5 * (x1 - x0) * (y1 - y0) > 4 * width * height {
            return None;
        }
        let ([left, top, right, bottom], plane) = self.parts[level].get_or_init(|| {
            let room = 16 + (x1 - x0).max(y1 - y0) / 12;
            let [left, top] = [x0, y0].map(|v| v.saturating_sub(room));
            let (right, bottom) = ((x1 + room).min(width - 1), (y1 + room).min(height - 1));
            let (w, h) = (right + 1 - left, bottom + 1 - top);
            ([left, top, right, bottom], if level == 0 { photo.luma_of(left, top, w, h) } else { photo.half_luma_of(left, top, w, h) })
        });
        // two pixels at an inner edge: nothing is interpolated beyond it
        let inside = |from: usize, to: usize, low: usize, high: usize, size: usize| {
            (from >= low + 2 || low == 0) && (to + 2 <= high || high + 1 == size)
        };
        let holds = inside(x0, x1, *left, *right, width) && inside(y0, y1, *top, *bottom, height);
        let shift = Homography::<WorkPoint, WorkPoint>::shifted(-(*left as f64), -(*top as f64));
        holds.then_some(Level { from_photo: shift * Homography::halved(level), plane })
    }
}

/// A level of a pyramid, or a part of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Level<'a> {
    /// Full-size px to px of the plane.
    pub from_photo: Homography<PhotoPoint, WorkPoint>,
    /// The plane.
    pub plane: &'a Plane,
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{Matrix2, Vector2};

    /// A dial of 40 px a unit of level 0 and of level 1, at some places of a photo, asked one after another: what is made of a
    /// part is what the whole holds there.
    #[test]
    fn a_part_of_the_photo_is_the_photo_there() {
        for shrunk in [1, 2] {
            let (width, height) = (400 * shrunk, 320 * shrunk);
            let rgb = (0..width * height * 3).map(|i| (i * i % 251) as u8).collect();
            let photo = Photo { width, height, rgb, hash: String::new(), taken_at: None, focal_ratio: None };
            let whole = if shrunk == 1 { photo.luma() } else { photo.half_luma() };
            let size = shrunk as f64;
            let mut parts = 0;
            for first in [(150.0, 160.0), (30.0, 25.0), (385.0, 300.0)] {
                let pyramid = Pyramid::of(&photo);
                for (x, y) in [first, (first.0 + 3.0, first.1), (200.0, 100.0)] {
                    let h = PlaneInPhoto::affine(Matrix2::new(40.0, 0.0, 0.0, -40.0) * size, Vector2::new(x, y) * size);
                    let map = Homography::<_, WorkPoint>::halved(shrunk - 1) * h;
                    let level = pyramid.at(&h, 1.1, 35.0);
                    parts += usize::from(level.plane.width < 400);
                    for (a, b) in [(0.0, 0.0), (0.9, 0.3), (-0.7, 0.7), (0.2, -1.0)] {
                        let (there, here) = (map.at(a, b), (level.from_photo * h).at(a, b));
                        if let Some(expected) = whole.bilinear(there.x, there.y) {
                            let found = level.plane.bilinear(here.x, here.y).unwrap();
                            assert!((found - expected).abs() < 1e-3, "dial at {x}, {y}, of level {}", shrunk - 1);
                        }
                    }
                }
            }
            assert!(parts >= 6, "{parts}");
        }
    }

    /// Sought in its finest octave only, with what the level of half the size has shown: a level's features are nearly all there.
    #[test]
    fn what_is_not_in_the_finest_octave_is_known_from_the_coarser_level() {
        let photo = crate::photo::decode(&std::fs::read("samples/gearbox-oil/before/5.jpg").unwrap()).unwrap();
        let pyramid = Pyramid::of(&photo);
        let whole = pyramid.features(0);
        let (finest, all) = (pyramid.finer_features(0, Vec::new()), pyramid.finer_features(0, pyramid.features(1)));
        let same = |a: &Feature, b: &Feature| {
            (a.x - b.x).hypot(a.y - b.y) < 0.5 * a.scale && (a.scale / b.scale).ln().abs() < 0.2 && (a.angle - b.angle).cos() > 0.95
        };
        let share = |found: &[Feature]| whole.iter().filter(|w| found.iter().any(|f| same(w, f))).count() as f64 / whole.len() as f64;
        assert!(whole.len() > 100 && share(&all) > 0.9, "{} of {}", share(&all), whole.len());
        assert!(share(&finest) < share(&all) - 0.1, "{} without the coarser level", share(&finest));
    }

    /// Level 2 of a large photo is made without level 1; it is the half of it all the same.
    #[test]
    fn levels_are_halves_of_those_before() {
        for (width, height) in [(2300, 130), (500, 333), (120, 400)] {
            let rgb = (0..width * height * 3).map(|i| (i * i % 251) as u8).collect();
            let photo = Photo { width, height, rgb, hash: String::new(), taken_at: None, focal_ratio: None };
            let pyramid = Pyramid::of(&photo);
            let mut expected = photo.luma();
            for i in 0..pyramid.whole.len() {
                // from the last to the first and back, so that each is made by itself
                let last = pyramid.level(pyramid.whole.len() - 1);
                let level = pyramid.level(i);
                assert_eq!((level.width, level.height), (expected.width, expected.height));
                assert!(level.data.iter().zip(&expected.data).all(|(a, b)| (a - b).abs() < 1e-3), "{width} x {height}, level {i}");
                assert!(last.width.min(last.height) > 55);
                expected = expected.half();
            }
            assert!(expected.width.min(expected.height) <= 60 || pyramid.whole.len() == 6);
        }
    }
}
