//! The print on the rings of a dial, and how well a photo's rings correlate with it.
//!
//! Print is compared ring by ring about the middle, the slow change of light along each ring taken off.
use super::face::FaceModel;
use crate::maths::homography::PlaneInWork;
use crate::photo::Plane;
use nalgebra::Matrix3;
use std::f64::consts::TAU;

/// Directions of a ring.
pub(super) const TURNS: usize = 128;
/// Rings, and the radii (units) of the first and the last.
const RINGS: usize = 18;
const FROM: f64 = 0.5;
const TO: f64 = 1.02;
/// px per unit at which the reference is looked at.
const FINE: f64 = 40.0;
/// Directions to either side over which the light of a ring is averaged.
const SLOW: usize = 10;

/// The print of a dial on its rings.
#[derive(Clone, Debug)]
pub(super) struct Rings {
    print: Vec<[f32; TURNS]>,
    /// 1 where the print is known, else 0; the print is 0 there.
    seen: Vec<[f32; TURNS]>,
    /// Sum of the squared print.
    own: f32,
    /// Of the directions, see [`direction`].
    sines: [f32; TURNS],
    cosines: [f32; TURNS],
}

/// A ring of a photo, twice round, so that a turn of it lies in one piece.
pub(super) type Ring = [f32; 2 * TURNS];

impl Rings {
    /// Of the reference face.
    pub fn of(face: &FaceModel) -> Self {
        let canonical = face.canonical(FINE.min(face.dial.face.scale), TO + 0.1);
        let needle = face.reference_needle();
        let directions: [(f64, f64); TURNS] = std::array::from_fn(direction);
        let at = |r: f64, i: usize| (r * directions[i].0, r * directions[i].1);
        let soft = canonical.plane.gaussian(0.7);
        let votes = |r: f64, i: usize| f32::from(u8::from(face.votes(at(r, i).0, at(r, i).1, &needle)));
        let seen: Vec<[f32; TURNS]> = radii().map(|r| std::array::from_fn(|i| votes(r, i))).collect();
        let level = |r: f64, i: usize| {
            let (x, y) = at(r, i);
            let (u, v) = canonical.px(x, y);
            soft.clamped(u, v)
        };
        let print: Vec<[f32; TURNS]> = radii().zip(&seen).map(|(r, seen)| quick(&std::array::from_fn(|i| level(r, i)), seen)).collect();
        let own = print.as_flattened().iter().map(|v| v * v).sum();
        let [sines, cosines] = [directions.map(|d| d.0 as f32), directions.map(|d| d.1 as f32)];
        Self { print, seen, own, sines, cosines }
    }
    /// Correlation with the photo's rings at a place of the dial.
    pub fn place(&self, photo: &Plane, place: &PlaneInWork) -> f64 {
        let [likeness] = self.likeness(&self.shown(photo, place), 0);
        likeness
    }
    /// The rings of a photo at a place of the dial, an affine map.
    pub fn shown(&self, photo: &Plane, place: &PlaneInWork) -> Vec<Ring> {
        pulp::Arch::new().dispatch(Shown { photo, place: place.matrix().cast(), sines: &self.sines, cosines: &self.cosines })
    }
    /// Correlations with the photo's rings when the dial is turned clockwise by `turn` directions, and by 1 to N - 1 more.
    pub fn likeness<const N: usize>(&self, rings: &[Ring], turn: usize) -> [f64; N] {
        pulp::Arch::new().dispatch(Products { print: self, rings, turn })
    }
}

/// A direction of a ring as a unit vector (x right, y up), clockwise from up.
pub(super) fn direction(i: usize) -> (f64, f64) {
    (TAU * i as f64 / TURNS as f64).sin_cos()
}

fn radii() -> impl Iterator<Item = f64> {
    (0..RINGS).map(|i| FROM + (TO - FROM) * i as f64 / (RINGS - 1) as f64)
}

/// Sums along a ring from [`SLOW`] before its beginning to as many behind its end: see [`about`].
#[inline(always)]
fn sums(level: impl Fn(usize) -> f32) -> [f64; TURNS + 2 * SLOW + 1] {
    let mut out = [0f64; TURNS + 2 * SLOW + 1];
    for i in 0..TURNS + 2 * SLOW {
        out[i + 1] = out[i] + f64::from(level((i + TURNS - SLOW) % TURNS));
    }
    out
}

/// Of these [`sums`] what lies within [`SLOW`] directions of one.
#[inline(always)]
fn about(sums: &[f64; TURNS + 2 * SLOW + 1], i: usize) -> f64 {
    sums[i + 2 * SLOW + 1] - sums[i]
}

/// A ring without its slow change of light: what is not seen counts as nothing.
fn quick(ring: &[f32; TURNS], seen: &[f32; TURNS]) -> [f32; TURNS] {
    let (levels, counts) = (sums(|i| ring[i] * seen[i]), sums(|i| seen[i]));
    std::array::from_fn(|i| {
        let count = about(&counts, i);
        if count > 0.0 { seen[i] * (ring[i] - (about(&levels, i) / count) as f32) } else { 0.0 }
    })
}

/// Adds eight products of print and photo, and the photo's own square where the print is seen.
#[inline(always)]
fn add(both: &mut [f32; 8], other: &mut [f32; 8], [print, seen, photo]: [&[f32; 8]; 3]) {
    for i in 0..8 {
        both[i] += print[i] * photo[i];
        other[i] += seen[i] * photo[i] * photo[i];
    }
}

/// The rings of a photo at a place of the dial as work for the processor's widest vectors.
struct Shown<'a> {
    photo: &'a Plane,
    /// Dial plane to px, an affine map.
    place: Matrix3<f32>,
    sines: &'a [f32; TURNS],
    cosines: &'a [f32; TURNS],
}

impl pulp::WithSimd for Shown<'_> {
    type Output = Vec<Ring>;
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<Ring> {
        let mut out = vec![[0f32; 2 * TURNS]; RINGS];
        for (ring, r) in out.iter_mut().zip(radii()) {
            let (once, again) = ring.split_at_mut(TURNS);
            self.levels(r as f32, once);
            level_out(once);
            clip(once);
            again.copy_from_slice(once);
        }
        out
    }
}

impl Shown<'_> {
    /// Bilinear levels of the photo along a ring, those beyond its edge as at the edge; of a photo of 2 to 32,768 px a side, others are dark.
    /// Places are whole numbers of 32 bits on the way, which the processor makes of several at once.
    #[inline(always)]
    fn levels(&self, r: f32, out: &mut [f32]) {
        let (p, width) = (r * self.place, self.photo.width);
        let [right, bottom] = [width, self.photo.height].map(|n| (n as f32 - 1.001).max(0.0));
        let (mut first, mut across, mut down) = ([0u32; TURNS], [0f32; TURNS], [0f32; TURNS]);
        for (k, (s, c)) in self.sines.iter().zip(self.cosines).enumerate() {
            let u = (p[(0, 0)] * s + p[(0, 1)] * c + self.place[(0, 2)]).clamp(0.0, right);
            let v = (p[(1, 0)] * s + p[(1, 1)] * c + self.place[(1, 2)]).clamp(0.0, bottom);
            let (i, j) = (u as i32, v as i32);
            first[k] = (j * width as i32 + i) as u32;
            (across[k], down[k]) = (u - i as f32, v - j as f32);
        }
        for (k, level) in out.iter_mut().enumerate() {
            let at = first[k] as usize;
            if let (Some([a, b]), Some([c, d])) = (self.photo.data.get(at..at + 2), self.photo.data.get(at + width..at + width + 2)) {
                let (top, under) = (a + (b - a) * across[k], c + (d - c) * across[k]);
                *level = top + (under - top) * down[k];
            }
        }
    }
}

/// Takes the slow change of light off a ring all of which is seen, as [`quick`] does.
#[inline(always)]
fn level_out(ring: &mut [f32]) {
    const SHARE: f64 = 1.0 / (2 * SLOW + 1) as f64;
    let sums = sums(|i| ring[i]);
    for (i, level) in ring.iter_mut().enumerate() {
        *level -= (about(&sums, i) * SHARE) as f32;
    }
}

/// In a ring a needle or a glint counts no more than print may.
#[inline(always)]
fn clip(ring: &mut [f32]) {
    // sizes are in the order of their bits
    let mut sizes = [0u32; TURNS];
    for (size, level) in sizes.iter_mut().zip(&*ring) {
        *size = level.abs().to_bits();
    }
    let most = 4.0 * f32::from_bits(*sizes.select_nth_unstable(TURNS / 2).1) + 0.5;
    for level in ring {
        *level = level.max(-most).min(most);
    }
}

/// Correlations of a print with a photo's rings for some turns, one direction apart, as work for the processor's widest vectors.
struct Products<'a, const N: usize> {
    print: &'a Rings,
    rings: &'a [Ring],
    turn: usize,
}

impl<const N: usize> pulp::WithSimd for Products<'_, N> {
    type Output = [f64; N];
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> [f64; N] {
        // eight running sums for each turn, so that the compiler can keep them in vector registers
        let (mut both, mut other) = ([[0f32; 8]; N], [[0f32; 8]; N]);
        for ((print, seen), ring) in self.print.print.iter().zip(&self.print.seen).zip(self.rings) {
            let ((print, _), (seen, _)) = (print.as_chunks::<8>(), seen.as_chunks::<8>());
            for (k, (a, m)) in print.iter().zip(seen).enumerate() {
                let shown = ring[self.turn + 8 * k..].windows(8);
                for ((both, other), shown) in both.iter_mut().zip(&mut other).zip(shown) {
                    if let Some(b) = shown.first_chunk() {
                        add(both, other, [a, m, b]);
                    }
                }
            }
        }
        let mut out = [0.0; N];
        for ((likeness, both), other) in out.iter_mut().zip(both).zip(other) {
            let (both, other) = (both.iter().sum::<f32>(), other.iter().sum::<f32>());
            *likeness = f64::from(both) / f64::from(self.print.own * other + 1e-6).sqrt();
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dial::from_bytes;
    use crate::maths::homography::Homography;
    use nalgebra::{Matrix2, Vector2};

    fn rings() -> Rings {
        Rings::of(&FaceModel::new(from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap()))
    }

    fn photo() -> Plane {
        Plane::from_fn(90, 70, |x, y| ((x * x + 3 * y) % 97) as f32)
    }

    /// Inside and across each border a ring has the levels that single places have.
    #[test]
    fn levels_along_a_ring_are_those_of_its_places() {
        let (rings, photo) = (rings(), photo());
        for (x, y) in [(45.0, 35.0), (8.0, 30.0), (84.0, 41.0), (40.0, 3.0), (52.0, 66.0)] {
            let place = Matrix3::new(20.0, 3.0, x, -2.0, -17.0, y, 0.0, 0.0, 1.0);
            let shown = Shown { photo: &photo, place: place.cast(), sines: &rings.sines, cosines: &rings.cosines };
            let mut found = [0f32; TURNS];
            shown.levels(0.8, &mut found);
            for (level, (s, c)) in found.iter().zip((0..TURNS).map(direction)) {
                let p = place * nalgebra::Vector3::new(0.8 * s, 0.8 * c, 1.0);
                let expected = photo.clamped(p.x, p.y);
                assert!((level - expected).abs() < 0.15, "{level} for {expected} at {}, {}", p.x, p.y);
            }
        }
    }

    /// Turns that are correlated together are those that are correlated one by one.
    #[test]
    fn turns_are_the_same_one_by_one() {
        let (rings, photo) = (rings(), photo());
        let place = Homography::affine(Matrix2::new(30.0, 2.0, 1.0, -28.0), Vector2::new(44.0, 36.0));
        let shown = rings.shown(&photo, &place);
        for turn in [0, 60, 124] {
            let together: [f64; 4] = rings.likeness(&shown, turn);
            let alone: [f64; 4] = std::array::from_fn(|k| rings.likeness::<1>(&shown, turn + k)[0]);
            assert_eq!(together, alone);
        }
        let all: Vec<f64> = (0..TURNS).map(|turn| rings.likeness::<1>(&shown, turn)[0]).collect();
        assert!(all.iter().any(|l| (l - all[0]).abs() > 0.05));
    }
}
