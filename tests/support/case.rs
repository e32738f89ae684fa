//! Calibrating on one drawn picture and reading others of the same dial.
use super::draw::{Drawn, Picture};
use super::light::{Light, normal};
use super::looks;
use super::plan::Plan;
use super::view::View;
use chacha20::ChaCha8Rng;
use needleband::calibrate::{Calibration, Request, calibrate};
use needleband::dial::{Dial, Face};
use needleband::maths::angle::wrap;
use needleband::maths::point::PhotoPoint;
use needleband::photo::Photo;
use needleband::reading::{Outcome, Reader, Reading};
use rand::SeedableRng;
use std::sync::LazyLock;

/// How a person clicks.
#[derive(Clone, Copy, Debug)]
pub struct Clicks {
    /// Standard deviation of each coordinate, px.
    pub noise: f64,
    pub pivot: bool,
    pub seed: u64,
}

impl Clicks {
    pub const EXACT: Self = Self { noise: 0.0, pivot: true, seed: 0 };
    /// The numbered marks of a picture, clicked at the outer end of each tick.
    pub fn request(&self, plan: &Plan, picture: &Picture) -> Request {
        let mut rng = ChaCha8Rng::seed_from_u64(self.seed);
        let mut hand = |p: PhotoPoint| PhotoPoint::new(p.x + self.noise * normal(&mut rng), p.y + self.noise * normal(&mut rng));
        let marks = plan.labels.iter().map(|v| (*v, hand(picture.place(plan.angle(*v), plan.reach(*v))))).collect();
        let pivot = self.pivot.then(|| hand(picture.pivot));
        Request { unit: plan.unit, name: plan.name.to_string(), marks, angles: Vec::new(), pivot, rim: None, tick_step: None }
    }
}

/// A dial, calibrated.
pub struct Known {
    pub drawn: Drawn,
    pub calibration: Calibration,
    pub reader: Reader,
    /// The picture it was calibrated on.
    pub reference: Picture,
}

impl Known {
    /// Calibrates on a picture of the needle at `value`, with clicks of 1 px noise and a pivot click.
    pub fn new(plan: Plan, value: f64, view: &View) -> Self {
        Self::with(plan, value, view, &Light::default(), Clicks { noise: 1.0, pivot: true, seed: 5 })
    }
    /// The same in a given light with given clicks.
    pub fn with(plan: Plan, value: f64, view: &View, light: &Light, clicks: Clicks) -> Self {
        let drawn = Drawn::new(plan);
        let reference = drawn.at(value, view, light);
        let request = clicks.request(&drawn.plan, &reference);
        let calibration = calibrate(&reference.photo, &request).unwrap_or_else(|e| panic!("{}: {e}", drawn.plan.name));
        let reader = Reader::new(calibration.dial.clone());
        Self { drawn, calibration, reader, reference }
    }
    /// Reads a photo.
    pub fn read(&self, photo: &Photo) -> Outcome {
        self.reader.read(photo).outcome
    }
    /// Reads the needle at a value.
    pub fn read_at(&self, value: f64, view: &View, light: &Light) -> Outcome {
        self.read(&self.drawn.at(value, view, light).photo)
    }
}

/// The usual reference: a person holds the phone some degrees off straight.
pub fn reference_view() -> View {
    View::straight(640, 480, 168.0).tilted(6.0, 40.0).at(9.3, -6.6)
}

pub static NIGHT: LazyLock<Known> = LazyLock::new(|| Known::new(looks::night(), 72.0, &reference_view()));
pub static DAY: LazyLock<Known> = LazyLock::new(|| Known::new(looks::day(), 61.0, &View::straight(640, 480, 150.0).tilted(5.0, -70.0)));
pub static FEW: LazyLock<Known> = LazyLock::new(|| Known::new(looks::few(), 128.0, &reference_view()));
pub static BACK: LazyLock<Known> = LazyLock::new(|| Known::new(looks::back(), 47.0, &reference_view().rolled(4.0)));

/// All four.
pub fn all() -> [&'static Known; 4] {
    [&NIGHT, &DAY, &FEW, &BACK]
}

/// The reading, or a panic that says what was answered instead.
pub fn reading(outcome: Outcome, what: &str) -> Reading {
    match outcome {
        Outcome::Reading(r) => r,
        other => panic!("{what}: {other:?}"),
    }
}

/// Where the stored face lies in the reference photo: the whole-pixel shift at which its levels are nearest to the photo's.
pub fn crop(photo: &Photo, face: &Face) -> (usize, usize) {
    let points: Vec<usize> = (0..400).map(|i| i * 7919 % (face.width * face.height)).collect();
    let apart = |x: usize, y: usize| -> u32 {
        let level = |rgb: &[u8], i: usize| u32::from(rgb[3 * i]);
        let at = |i: usize| (y + i / face.width) * photo.width + x + i % face.width;
        points.iter().map(|&i| level(&face.rgb, i).abs_diff(level(&photo.rgb, at(i)))).sum()
    };
    let places = (0..=photo.height - face.height).flat_map(|y| (0..=photo.width - face.width).map(move |x| (x, y)));
    places.min_by_key(|&(x, y)| apart(x, y)).unwrap()
}

/// The calibrated pivot in reference photo px.
pub fn pivot_found(photo: &Photo, dial: &Dial) -> PhotoPoint {
    let (x, y) = crop(photo, &dial.face);
    let p = dial.face.plane.at(0.0, 0.0);
    PhotoPoint::new(p.x + x as f64, p.y + y as f64)
}

/// Errors of the marks' angles, degrees, after the turn of the whole dial is taken out: the photo's up is not the dial's.
pub fn mark_errors(plan: &Plan, dial: &Dial) -> Vec<f64> {
    let raw: Vec<f64> = dial.marks.iter().map(|m| wrap(m.angle - plan.angle(m.value))).collect();
    let first = raw[0];
    let mean = raw.iter().map(|r| wrap(r - first)).sum::<f64>() / raw.len() as f64;
    raw.iter().map(|r| wrap(r - first - mean)).collect()
}
