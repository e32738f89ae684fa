//! A plain dial whose needle is an even bar with Gaussian edges, drawn in closed form and put in white noise: the one picture for
//! which the least possible error of the needle's angle is known exactly.
//!
//! The face is even out to r = 1; a broad smooth ring beyond it tells the photo's gain. The registration is given exactly.
use super::light::normal;
use chacha20::ChaCha8Rng;
use nalgebra::{DMatrix, Matrix2, Matrix3};
use needleband::dial::{Dial, Face, Mark, MarkKind, NeedleLook, Stand};
use needleband::maths::blur::BlurCovariance;
use needleband::maths::homography::{PlaneInFace, PlaneInPhoto};
use needleband::maths::normal::normal_cdf;
use needleband::maths::units::Unit;
use needleband::needle::{Candidate, NeedleFit, Parallax, fit};
use needleband::photo::Photo;
use needleband::rectify::{Evidence, InpaintedReference, Work};
use needleband::register::Registration;
use needleband::register::face::FaceModel;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;

/// Levels of the paper and of the needle above it.
const PAPER: f64 = 95.0;
pub const CONTRAST: f64 = 60.0;
/// Where the outline ends, radii; where it begins at the nearest; evidence begins 0.02 beyond that.
const TIP: f64 = 0.95;
const ROOT: f64 = 0.04;
/// Smallest dial, px per unit: shorter bars show beside a wide hub only.
const SMALLEST: f64 = 60.0;
/// How near the needle's axis passes the pivot: the spread that `needle::fit` states for it, radii.
const AXIS: f64 = 0.012;

/// A bar in noise.
#[derive(Clone, Copy, Debug)]
pub struct Bar {
    /// Length that is fitted, px.
    pub length: f64,
    /// Half width, px.
    pub half: f64,
    /// Standard deviation of the blur, px.
    pub blur: f64,
    /// Contrast over the standard deviation of the noise.
    pub contrast: f64,
}

impl Bar {
    /// px per unit.
    fn scale(&self) -> f64 {
        (self.length / (TIP - ROOT - 0.02)).max(SMALLEST)
    }
    /// From where to where the outline knows the needle, radii.
    fn span(&self) -> [f64; 2] {
        [TIP - 0.02 - self.length / self.scale(), TIP]
    }
    /// Noise of one colour, levels: the three colours' mean has the noise asked for; rounding to whole levels adds 1/12 level².
    fn noise(&self) -> f64 {
        (3.0 * (CONTRAST / self.contrast).powi(2) - 1.0 / 12.0).max(0.0).sqrt()
    }
    /// Least variance of the bar's place in one row, px²: both edges give 2 sqrt(pi) s sigma²/A² each when they are far apart;
    /// their overlap takes exp(-h²/s²) of it.
    pub fn row_variance(&self) -> f64 {
        let overlap = (-(self.half / self.blur).powi(2)).exp();
        std::f64::consts::PI.sqrt() * self.blur / self.contrast.powi(2) / (1.0 - overlap)
    }
    /// Least standard deviation of the angle, radians, when the bar is known to pass the pivot within the spread `AXIS`
    /// (the bound with a prior, Van Trees 1968): the inverse of the information of (offset, angle).
    pub fn bound(&self) -> f64 {
        let (a, b) = (self.scale() * TIP - self.length, self.scale() * TIP);
        let moment = |k: i32| (b.powi(k + 1) - a.powi(k + 1)) / f64::from(k + 1) / self.row_variance();
        let prior = (AXIS * self.scale()).powi(-2);
        Matrix2::new(moment(0) + prior, moment(1), moment(1), moment(2)).try_inverse().unwrap()[(1, 1)].sqrt()
    }
    /// The same without any knowledge of the offset: sqrt(12) sd / L^1.5.
    pub fn free_bound(&self) -> f64 {
        (12.0 * self.row_variance()).sqrt() / self.length.powf(1.5)
    }
    /// Seeds that no other corner uses.
    fn seed(&self, i: u64) -> u64 {
        (self.length * 1e9 + self.blur * 1e6 + self.contrast * 1e3) as u64 * 10 + 2 * i
    }
    fn size(&self) -> (usize, usize) {
        let k = self.scale();
        // the needle points up: a strip about it and the ring above it are all that is looked at
        ((0.9 * k) as usize | 1, (1.25 * k) as usize)
    }
    fn homography(&self) -> Matrix3<f64> {
        let k = self.scale();
        let (w, h) = self.size();
        Matrix3::new(k, 0.0, 0.5 * (w as f64 - 1.0), 0.0, -k, h as f64 - 0.1 * k, 0.0, 0.0, 1.0)
    }
    /// Paper with the smooth ring.
    fn paper(r: f64) -> f64 {
        PAPER + 90.0 * (1.0 - ((r - 1.06) / 0.06).powi(2)).max(0.0).powi(2)
    }
    /// Pixels of the face and, when given, of a needle at an angle (degrees) and offset (radii), with noise from a seed.
    fn photo(&self, needle: Option<(f64, f64, u64)>) -> Photo {
        let ((width, height), h, k) = (self.size(), self.homography(), self.scale());
        let mut rng = ChaCha8Rng::seed_from_u64(needle.map_or(0, |n| n.2));
        let mut rgb = Vec::with_capacity(3 * width * height);
        for i in 0..width * height {
            let (x, y) = (((i % width) as f64 - h[(0, 2)]) / k, (h[(1, 2)] - (i / width) as f64) / k);
            let mut level = Self::paper(x.hypot(y));
            if let Some((angle, offset, _)) = needle {
                let (s, c) = angle.to_radians().sin_cos();
                let (along, across) = (x * s + y * c, k * (x * c - y * s - offset));
                if (0.0..1.0).contains(&along) && across.abs() < self.half + 7.0 * self.blur {
                    let edge = |t: f64| normal_cdf(t / self.blur);
                    level += CONTRAST * (edge(across + self.half) - edge(across - self.half));
                }
            }
            for _ in 0..3 {
                let noise = if needle.is_some() { self.noise() * normal(&mut rng) } else { 0.0 };
                rgb.push((level + noise).round().clamp(0.0, 255.0) as u8);
            }
        }
        Photo { width, height, rgb: rgb.into(), hash: String::new(), taken_at: None, focal_ratio: None }
    }
    fn look(&self) -> NeedleLook {
        let span = self.span();
        let step = (span[1] - span[0]) / 80.0;
        // a zero before and after ends the outline
        let radii: Vec<f64> = (-1..=81).map(|i| span[0] + step * f64::from(i)).collect();
        let seen = |r: &f64| *r > span[0] - 1e-9 && *r < span[1] + 1e-9;
        NeedleLook {
            stand: Stand::default(),
            angle: 0.0,
            offset: 0.0,
            half_width: radii.iter().map(|r| if seen(r) { self.half / self.scale() } else { 0.0 }).collect(),
            radii,
            tail_shift: 0.0,
            span,
            contrast: [CONTRAST; 3],
            axis: [1.0 / (3.0 * CONTRAST); 3],
        }
    }
    fn dial(&self) -> Dial {
        let bare = self.photo(None);
        let mark = |value: f64| Mark {
            value,
            angle: value,
            kind: MarkKind::Angle,
            terms: BTreeMap::new(),
            value_terms: BTreeMap::new(),
            click: None,
        };
        let face = Face {
            width: bare.width,
            height: bare.height,
            rgb: bare.rgb,
            jpeg: Vec::new(),
            plane: PlaneInFace::new(self.homography()),
            scale: self.scale(),
            tilt: 0.0,
            print_radius: 1.12,
            cover_radius: 0.01,
            plane_terms: Vec::new(),
            uncovered: Vec::new(),
            camera: None,
        };
        Dial {
            name: "bar".into(),
            unit: Unit::C,
            id: "bar".into(),
            marks: vec![mark(-20.0), mark(20.0)],
            face,
            needle: self.look(),
            focal_ratio: None,
            reference: String::new(),
            declared: needleband::dial::Declared::default(),
            questions: Vec::new(),
            version: needleband::dial::FORMAT_VERSION,
            prepared: None,
        }
    }
    fn registration(&self) -> Registration {
        Registration {
            dial_to_photo: PlaneInPhoto::new(self.homography()),
            covariance: DMatrix::zeros(8, 8),
            print_match: 1.0,
            seen: 1.0,
            contradicted: 0.0,
            matches: 0,
            scale: self.scale(),
            blur: BlurCovariance::round(0.0),
            noise: 1.0,
            gain: 1.0,
        }
    }
    /// The needle fitted in `n` pictures of it, each at an angle and offset of its own: fit and error of the angle, radians.
    pub fn fits(&self, n: u64) -> Vec<(NeedleFit, f64)> {
        use rayon::prelude::*;
        let dial = self.dial();
        let (reference, registration) = (InpaintedReference::new(&FaceModel::new(dial.clone())), self.registration());
        let one = |seed: u64| {
            let mut rng = ChaCha8Rng::seed_from_u64(self.seed(seed));
            let (angle, offset) = (rng.random_range(-12.0..12.0), AXIS * normal(&mut rng));
            let photo = self.photo(Some((angle, offset, self.seed(seed) + 1)));
            let work = Work::cut(&photo, &registration.dial_to_photo, registration.scale, 1.12).unwrap();
            let evidence = Evidence::new(&reference, &work, &registration);
            let start = Candidate { angle: angle.round(), offset: 0.0125 * (offset / 0.0125).round(), score: 1.0 };
            let parallax = Parallax { shift: [0.0; 2], spread: 0.5, axis: (0.0, 0.012), view: Matrix2::zeros() };
            let found = fit(&evidence, &work, &dial.needle, &start, &parallax, self.blur / self.scale()).expect("no needle");
            let error = (found.angle - angle).to_radians();
            (found, error)
        };
        (0..n).into_par_iter().map(one).collect()
    }
}
