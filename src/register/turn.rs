//! How a dial is turned inside a round outline: the print on its rings, all turns compared.
//!
//! Within an outline the dial's place is known but for its turn and for how large the marks' circle is in it. Print is compared ring by
//! ring about the middle, the slow change of light along each ring taken off, by correlation over all turns.
use super::face::FaceModel;
use super::outline::Ellipse;
use crate::maths::homography::{Homography, PlaneInWork};
use crate::maths::point::DialPoint;
use crate::photo::Plane;
use nalgebra::{Matrix2, Matrix3, Vector2};
use std::f64::consts::TAU;

/// Directions of a ring.
const TURNS: usize = 128;
/// Rings, and the radii (units) of the first and the last.
const RINGS: usize = 18;
const FROM: f64 = 0.5;
const TO: f64 = 1.02;
/// px per unit at which the reference is looked at.
const FINE: f64 = 40.0;
/// Radius of the outline over that of the marks' circle: what is tried, 8 % apart.
const SIZES: [f64; 5] = [1.0, 1.08, 1.17, 1.26, 1.36];
/// A rim that stands before the face is seen beside it, by up to so much (units), and the face is narrower that way than what is seen of it.
const BESIDE: f64 = 0.11;
const NARROWER: f64 = 0.88;
/// Directions in which that is tried.
const WAYS: usize = 8;
/// Directions to either side over which the light of a ring is averaged.
const SLOW: usize = 10;
/// Turns whose correlations are summed together: one after another each sum would wait for the one before.
const TOGETHER: usize = 4;
/// Steps (units) by which a place is refined, and how often each is tried at most.
const STEPS: [f64; 3] = [0.06, 0.03, 0.015];
const ROUNDS: usize = 4;
/// Correlation of a place before it is refined, and after a round of it, below which it ends there. Of 4,632 places of the renderings (each dial
/// in each photo) 425 ended above 0.4: none of them began below 0.2 or stood below 0.24 after a round; half of the others did.
const BEGUN: f64 = 0.2;
const HOPELESS: f64 = 0.24;

/// The print of a dial on its rings.
#[derive(Clone, Debug)]
pub(super) struct Rings {
    print: Vec<[f32; TURNS]>,
    /// 1 where the print is known, else 0; the print is 0 there.
    seen: Vec<[f32; TURNS]>,
    /// Sum of the squared print.
    own: f32,
    /// Unit vectors of the directions (x right, y up), clockwise from up.
    directions: [(f64, f64); TURNS],
    sines: [f32; TURNS],
    cosines: [f32; TURNS],
}

/// A ring of a photo, twice round, so that a turn of it lies in one piece.
type Ring = [f32; 2 * TURNS];

/// A place of the dial inside an outline, and how well its rings correlate there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turned {
    /// Dial plane to px of the outline's picture.
    pub homography: PlaneInWork,
    /// Correlation, -1..1.
    pub likeness: f64,
}

impl Rings {
    /// Of the reference face.
    pub fn of(face: &FaceModel) -> Self {
        let canonical = face.canonical(FINE.min(face.dial.face.scale), TO + 0.1);
        let needle = face.reference_needle();
        let directions = directions();
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
        Self { print, seen, own, directions, sines, cosines }
    }
    /// Places inside an outline of `photo`: for each size and side the turns that no turn near by betters.
    pub fn within(&self, photo: &Plane, outline: &Ellipse) -> Vec<Turned> {
        let places = SIZES.iter().flat_map(|size| beside(&Ellipse { shape: outline.shape / *size, ..*outline }));
        places.flat_map(|place| self.turned(photo, &place)).collect()
    }
    fn turned(&self, photo: &Plane, place: &Ellipse) -> Vec<Turned> {
        // dial (x right, y up) to px (y down)
        let upright = Homography::affine(place.shape * Matrix2::new(1.0, 0.0, 0.0, -1.0), place.centre);
        let rings = self.shown(photo, &upright);
        let likeness: Vec<f64> = (0..TURNS).step_by(TOGETHER).flat_map(|turn| self.likeness::<TOGETHER>(&rings, turn)).collect();
        let peak = |i: usize| (1..=3).all(|d| likeness[i] > likeness[(i + d) % TURNS] && likeness[i] >= likeness[(i + TURNS - d) % TURNS]);
        (0..TURNS)
            .filter(|&i| peak(i))
            .map(|i| {
                let (s, c) = self.directions[i];
                Turned { homography: upright * Homography::affine(Matrix2::new(c, s, -s, c), Vector2::zeros()), likeness: likeness[i] }
            })
            .collect()
    }
    /// A place moved, turned, stretched and sheared until its rings correlate best, by smaller and smaller steps.
    pub fn refined(&self, photo: &Plane, start: &Turned) -> Turned {
        let at = |homography: PlaneInWork| Turned { homography, likeness: self.place(photo, &homography) };
        let mut best = *start;
        if best.likeness < BEGUN {
            return best;
        }
        for step in STEPS {
            for _ in 0..ROUNDS {
                let before = best.likeness;
                for way in 0..6 {
                    for sign in [step, -step] {
                        let other = at(best.homography * moved(way, sign));
                        if other.likeness > best.likeness {
                            best = other;
                        }
                    }
                }
                if best.likeness < HOPELESS {
                    return best;
                }
                if best.likeness <= before {
                    break;
                }
            }
        }
        best
    }
    /// Correlation with the photo's rings at a place of the dial.
    fn place(&self, photo: &Plane, place: &PlaneInWork) -> f64 {
        let [likeness] = self.likeness(&self.shown(photo, place), 0);
        likeness
    }
    /// The rings of a photo at a place of the dial, an affine map.
    fn shown(&self, photo: &Plane, place: &PlaneInWork) -> Vec<Ring> {
        pulp::Arch::new().dispatch(Shown { photo, place: place.matrix().cast(), sines: &self.sines, cosines: &self.cosines })
    }
    /// Correlations with the photo's rings when the dial is turned clockwise by so many directions, and by one more each.
    fn likeness<const N: usize>(&self, rings: &[Ring], turn: usize) -> [f64; N] {
        pulp::Arch::new().dispatch(Products { print: self, rings, turn })
    }
}

/// A place of the marks' circle, and those beside it.
fn beside(place: &Ellipse) -> Vec<Ellipse> {
    let ways = (0..WAYS).flat_map(|i| {
        let (s, c) = (TAU * i as f64 / WAYS as f64).sin_cos();
        let way = Vector2::new(s, c);
        [1.0, NARROWER].map(|narrow| Ellipse {
            centre: place.centre + BESIDE * place.radius() * way,
            shape: (Matrix2::identity() - (1.0 - narrow) * way * way.transpose()) * place.shape,
            ..*place
        })
    });
    std::iter::once(*place).chain(ways).collect()
}

/// A small change of a place on the dial's side: to the right, up, larger, turned, stretched, sheared.
fn moved(way: usize, by: f64) -> Homography<DialPoint, DialPoint> {
    let a = match way {
        2 => Matrix2::new(by, 0.0, 0.0, by),
        3 => Matrix2::new(0.0, by, -by, 0.0),
        4 => Matrix2::new(by, 0.0, 0.0, -by),
        5 => Matrix2::new(0.0, by, by, 0.0),
        _ => Matrix2::zeros(),
    };
    Homography::affine(Matrix2::identity() + a, Vector2::new(if way == 0 { by } else { 0.0 }, if way == 1 { by } else { 0.0 }))
}

/// The directions of a ring as unit vectors (x right, y up), clockwise from up.
fn directions() -> [(f64, f64); TURNS] {
    std::array::from_fn(|i| (TAU * i as f64 / TURNS as f64).sin_cos())
}

fn radii() -> impl Iterator<Item = f64> {
    (0..RINGS).map(|i| FROM + (TO - FROM) * i as f64 / (RINGS - 1) as f64)
}

/// A ring without its slow change of light: what is not seen counts as nothing.
fn quick(ring: &[f32; TURNS], seen: &[f32; TURNS]) -> [f32; TURNS] {
    // sums from SLOW before the ring's beginning to SLOW behind its end
    let mut sums = [(0f64, 0f64); TURNS + 2 * SLOW + 1];
    for i in 0..TURNS + 2 * SLOW {
        let at = (i + TURNS - SLOW) % TURNS;
        sums[i + 1] = (sums[i].0 + f64::from(ring[at] * seen[at]), sums[i].1 + f64::from(seen[at]));
    }
    std::array::from_fn(|i| {
        let (from, to) = (sums[i], sums[i + 2 * SLOW + 1]);
        let count = to.1 - from.1;
        if count > 0.0 { seen[i] * (ring[i] - ((to.0 - from.0) / count) as f32) } else { 0.0 }
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
    /// Bilinear levels of the photo along a ring, those beyond its edge as at the edge.
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

/// Takes the slow change of light off a ring all of which is seen.
#[inline(always)]
fn level_out(ring: &mut [f32]) {
    const SHARE: f64 = 1.0 / (2 * SLOW + 1) as f64;
    let mut sums = [0f64; TURNS + 2 * SLOW + 1];
    for i in 0..TURNS + 2 * SLOW {
        sums[i + 1] = sums[i] + f64::from(ring[(i + TURNS - SLOW) % TURNS]);
    }
    for (i, level) in ring.iter_mut().enumerate() {
        *level -= ((sums[i + 2 * SLOW + 1] - sums[i]) * SHARE) as f32;
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
        *level = level.clamp(-most, most);
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
    use crate::maths::homography::StraightPoint;
    use crate::photo::warped;
    use crate::register::outline::outlines;

    fn face() -> FaceModel {
        FaceModel::new(from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap())
    }

    /// The face as a lit disc on dark ground, turned and squashed, brighter to one side.
    fn shown(face: &FaceModel, place: &PlaneInWork) -> Plane {
        let canonical = face.canonical(60.0, 1.3);
        let c = canonical.centre();
        let back = place.inverse().unwrap();
        let upright = Homography::<_, StraightPoint>::affine(Matrix2::new(60.0, 0.0, 0.0, -60.0), Vector2::repeat(c));
        let [straight] = warped([&canonical.plane], &(upright * back), 300, 240);
        Plane::from_fn(300, 240, |x, y| {
            let q = back.at(x as f64, y as f64);
            let glow = 40.0 + 25.0 * q.x as f32;
            if q.norm() < 1.12 { glow + 0.3 * straight.data[y * 300 + x] } else { 4.0 }
        })
    }

    #[test]
    fn the_turn_of_a_dial_in_its_outline_is_found() {
        let face = face();
        let rings = Rings::of(&face);
        for turn in [-130.0_f64, 8.0, 77.0] {
            let (s, c) = turn.to_radians().sin_cos();
            let truth = Homography::affine(
                Matrix2::new(70.0, 4.0, 4.0, 58.0) * Matrix2::new(1.0, 0.0, 0.0, -1.0) * Matrix2::new(c, s, -s, c),
                Vector2::new(150.0, 118.0),
            );
            let photo = shown(&face, &truth);
            let outline = outlines(&photo, 15.0, 1);
            let mut found = rings.within(&photo, &outline[0]);
            found.sort_by(|a, b| b.likeness.total_cmp(&a.likeness));
            let best = rings.refined(&photo, &found[0]);
            let off = |(x, y): (f64, f64)| (best.homography.at(x, y) - truth.at(x, y)).norm();
            let worst = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)].map(off).into_iter().fold(0.0, f64::max);
            assert!(worst < 3.0 && best.likeness > 0.7, "{turn}: {worst} px off, likeness {}", best.likeness);
        }
    }

    #[test]
    fn another_picture_is_not_alike() {
        let rings = Rings::of(&face());
        let stripes = Plane::from_fn(300, 240, |x, y| if (x + 2 * y) % 26 < 13 { 90.0 } else { 40.0 });
        let place = Homography::affine(Matrix2::new(70.0, 0.0, 0.0, -70.0), Vector2::new(150.0, 120.0));
        assert!(rings.place(&stripes, &place).abs() < 0.3);
    }
}
