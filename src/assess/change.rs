//! The smallest change that a dial can show with so many photos a side.
//!
//! A change counts as shown when its 95 % band leaves out zero. It is told of the change that is shown in 95 of 100 comparisons
//! ([`Expected`]), in the middle of the scale or as near to it as the needle moves on both sides of the change.
use super::repeats::Repeats;
use crate::dial::Dial;
use crate::maths::power::Expected;
use crate::plan::{Place, place};
use crate::scale::Scale;

/// What one photo adds to a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhotoNoise {
    /// One sigma, dial unit: what the photo explains and the wander.
    pub sigma: f64,
    /// The part that no photo explains, one sigma: the needle's wander between photos. 0 where none is known.
    pub wander: f64,
    /// Where it is from.
    pub from: NoiseFrom,
}

/// Where a photo's share is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoiseFrom {
    /// No photo was given: [`USUAL_TIP`] at [`USUAL_WIDTH`].
    Assumed,
    /// What the one photo given explains of itself.
    Explained,
    /// Repeated readings.
    Seen,
}

/// How well a usual photo fixes the needle's tip, px, one sigma (72 renderings of four dials: half of them better than 0.1, nine of ten
/// better than 0.3).
pub const USUAL_TIP: f64 = 0.3;
/// Width of the dial in a usual photo, px.
pub const USUAL_WIDTH: f64 = 400.0;

impl PhotoNoise {
    /// For want of a photo. `per_degree`: dial unit per degree of needle.
    pub(super) fn assumed(dial: &Dial, per_degree: f64) -> Self {
        let degrees = (USUAL_TIP / (0.5 * USUAL_WIDTH * dial.needle.span[1])).to_degrees();
        Self { sigma: degrees * per_degree, wander: 0.0, from: NoiseFrom::Assumed }
    }
    /// From the readings: as far as they lie apart, never less than they explain of themselves.
    pub(super) fn seen(repeats: &Repeats) -> Self {
        let explained = repeats.expected;
        match repeats.sd {
            None => Self { sigma: explained, wander: 0.0, from: NoiseFrom::Explained },
            Some(sd) => {
                let wander = (sd * sd - explained * explained).max(0.0).sqrt();
                Self { sigma: sd.max(explained), wander, from: NoiseFrom::Seen }
            }
        }
    }
    /// What the photo explains, one sigma.
    fn explained(self) -> f64 {
        (self.sigma * self.sigma - self.wander * self.wander).max(0.0).sqrt()
    }
}

/// The smallest change for a number of photos.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Smallest {
    /// Photos on each side.
    pub photos: usize,
    /// The change; `None` when no change that fits on the scale is shown.
    pub change: Option<Shown>,
}

/// A change that is shown, in the dial's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// How large it is.
    pub size: f64,
    /// The higher of its two temperatures.
    pub at: f64,
    /// One sigma of what the dial and what is declared of the gauge leave in it, however many photos.
    pub fixed: f64,
}

/// Photos a side for which it is told.
const PHOTOS: [usize; 4] = [1, 3, 5, 10];
/// Places on each side of the middle of the scale that are tried.
const PLACES: usize = 100;
/// Rounds in which the size and what the dial leaves in it settle.
const ROUNDS: usize = 60;
/// Sizes that differ by no more than this share are one.
const SAME: f64 = 1e-3;
/// Sigmas of a photo by which the needle must stand clear of a flat zone.
const CLEAR: f64 = 3.0;

/// The smallest change for several numbers of photos. Counts: the photos, the dial's marks, plane and shape as far as they do not cancel
/// between the two places, gauge accuracy and stiction as declared. Does not count: unlike conditions.
pub(super) fn smallest(dial: &Dial, scale: &Scale, noise: PhotoNoise) -> Vec<Smallest> {
    PHOTOS.into_iter().map(|photos| Smallest { photos, change: shown(dial, scale, noise, photos) }).collect()
}

fn shown(dial: &Dial, scale: &Scale, noise: PhotoNoise, photos: usize) -> Option<Shown> {
    let limit = |fixed: f64| Expected { photos, fixed, reading: noise.explained(), wander: noise.wander }.detection_limit();
    let mut size = limit(0.0);
    for _ in 0..ROUNDS {
        let here = nearest_middle(dial, scale, size, CLEAR * noise.sigma)?;
        let next = limit(here.fixed);
        // from below, so that a place that changes with the size cannot send it to and fro
        if next <= size * (1.0 + SAME) {
            return Some(Shown { size: size.max(next), at: here.at, fixed: here.fixed });
        }
        size = next;
    }
    None
}

/// The place for a change of this size whose middle is nearest to that of the scale, both its ends `clear` of the flat zones.
fn nearest_middle(dial: &Dial, scale: &Scale, size: f64, clear: f64) -> Option<Place> {
    let (low, high) = dial.span();
    let (middle, half) = (0.5 * (low + high), 0.5 * size);
    let step = 0.5 * (high - low) / PLACES as f64;
    let fits = |v: f64| v >= low && v <= high && !dial.declared.flats.iter().any(|(a, b)| v > a - clear && v < b + clear);
    let centres = (0..=PLACES).flat_map(|k| [middle + step * k as f64, middle - step * k as f64]);
    centres.filter(|c| fits(c - half) && fits(c + half)).find_map(|c| place(dial, scale, c + half, size))
}
