//! How a dial is turned inside a round outline: the print on its rings, all turns compared.
//!
//! Within an outline the dial's place is known but for its turn and for how large the marks' circle is in it.
use super::outline::Ellipse;
use super::rings::{Rings, TURNS, direction};
use crate::maths::homography::{Homography, PlaneInWork};
use crate::maths::point::DialPoint;
use crate::photo::Plane;
use nalgebra::{Matrix2, Vector2};
use std::f64::consts::TAU;

/// Radius of the outline over that of the marks' circle: what is tried, 8 % apart.
const SIZES: [f64; 5] = [1.0, 1.08, 1.17, 1.26, 1.36];
/// A rim that stands before the face is seen beside it, by up to so much (units), and the face is narrower that way than what is seen of it.
const BESIDE: f64 = 0.11;
const NARROWER: f64 = 0.88;
/// Directions in which that is tried.
const WAYS: usize = 8;
/// Turns that are correlated together: one after another each sum would wait for the one before.
const AT_ONCE: usize = 4;
const _: () = assert!(TURNS.is_multiple_of(AT_ONCE));
/// Steps (units) by which a place is refined, and how often each is tried at most.
const STEPS: [f64; 3] = [0.06, 0.03, 0.015];
const ROUNDS: usize = 4;
/// Likeness of a place before it is refined, and after a round of it, below which it is left as it is; a place counts from
/// [`super::SearchCriteria::likeness`]. Of 4,632 places of the two sets of renderings (each dial in each photo) 425 ended above 0.4: none of
/// them began below 0.2 or stood below 0.24 after a round; half of the others did.
const AT_FIRST: f64 = 0.2;
const AFTER_A_ROUND: f64 = 0.24;

/// A place of the dial inside an outline, and how well its rings correlate there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turned {
    /// Dial plane to px of the outline's picture.
    pub homography: PlaneInWork,
    /// Correlation, -1..1.
    pub likeness: f64,
}

impl Rings {
    /// Places inside an outline of `photo`: for each size and side the turns that no turn near by betters.
    pub fn within(&self, photo: &Plane, outline: &Ellipse) -> Vec<Turned> {
        let places = SIZES.iter().flat_map(|size| beside(&Ellipse { shape: outline.shape / *size, ..*outline }));
        places.flat_map(|place| self.turned(photo, &place)).collect()
    }
    fn turned(&self, photo: &Plane, place: &Ellipse) -> Vec<Turned> {
        // dial (x right, y up) to px (y down)
        let upright = Homography::affine(place.shape * Matrix2::new(1.0, 0.0, 0.0, -1.0), place.centre);
        let rings = self.shown(photo, &upright);
        let likeness: Vec<f64> = (0..TURNS).step_by(AT_ONCE).flat_map(|turn| self.likeness::<AT_ONCE>(&rings, turn)).collect();
        let peak = |i: usize| (1..=3).all(|d| likeness[i] > likeness[(i + d) % TURNS] && likeness[i] >= likeness[(i + TURNS - d) % TURNS]);
        (0..TURNS)
            .filter(|&i| peak(i))
            .map(|i| {
                let (s, c) = direction(i);
                Turned { homography: upright * Homography::affine(Matrix2::new(c, s, -s, c), Vector2::zeros()), likeness: likeness[i] }
            })
            .collect()
    }
    /// A place moved, turned, stretched and sheared until its rings correlate best, by smaller and smaller steps.
    pub fn refined(&self, photo: &Plane, start: &Turned) -> Turned {
        let at = |homography: PlaneInWork| Turned { homography, likeness: self.place(photo, &homography) };
        let mut best = *start;
        if best.likeness < AT_FIRST {
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
                if best.likeness < AFTER_A_ROUND {
                    return best;
                }
                if best.likeness <= before {
                    break;
                }
            }
        }
        best
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dial::from_bytes;
    use crate::maths::homography::StraightPoint;
    use crate::photo::warped;
    use crate::register::face::FaceModel;
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
            // the same place said to be less alike is left, and refined from the least likeness on
            let from = |likeness: f64| rings.refined(&photo, &Turned { likeness, ..found[0] }).homography;
            assert!(from(AT_FIRST - 0.01) == found[0].homography && from(AT_FIRST + 0.01) != found[0].homography);
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
