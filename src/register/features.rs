//! Scale-invariant features: extrema of differences of Gaussians with orientation and gradient-histogram descriptors.
//!
//! Method after Lowe, "Distinctive image features from scale-invariant keypoints", IJCV 60 (2004), with the square-root
//! normalisation of Arandjelović & Zisserman (CVPR 2012). Positions are px of the given plane, pixel centres at integers.
use super::scale_space::{Candidate, LevelRows, scale_space};
use crate::maths::homography::Homography;
use crate::maths::point::DialPoint;
use crate::photo::Plane;
use nalgebra::{Matrix2, Vector2};

/// Length of a descriptor.
pub const LENGTH: usize = 128;

/// A keypoint with its descriptor.
#[derive(Clone, Debug)]
pub struct Feature {
    /// px.
    pub x: f64,
    /// px.
    pub y: f64,
    /// Scale (Gaussian sigma), px.
    pub scale: f64,
    /// Gradient direction, radians, x right and y down.
    pub angle: f64,
    /// Unit-length descriptor.
    pub descriptor: Vec<f32>,
}

/// A point of a feature's own frame: unit = its scale, x along its direction, y down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FeaturePoint;

/// A reference feature.
#[derive(Clone, Debug)]
pub struct ViewFeature {
    /// Place in the dial plane.
    pub place: Vector2<f64>,
    /// Dial plane to its own frame.
    pub frame: Homography<DialPoint, FeaturePoint>,
    /// Descriptor, of unit length to a few thousandths.
    pub descriptor: Vec<f32>,
}

impl Feature {
    /// As a plane of twice the size has it.
    pub(super) fn doubled(self) -> Self {
        Self { x: 2.0 * self.x + 0.5, y: 2.0 * self.y + 0.5, scale: 2.0 * self.scale, ..self }
    }
    /// Its own frame to px.
    pub fn frame<P>(&self) -> Homography<FeaturePoint, P> {
        let (s, c) = self.angle.sin_cos();
        Homography::affine(Matrix2::new(c, -s, s, c) * self.scale, Vector2::new(self.x, self.y))
    }
}

/// Gaussian sigma that a picture is taken to have already, px.
const BLUR: f64 = 0.6;

/// Finds features of the first octaves; the strongest `most` by contrast. `keep` says where features may lie.
pub fn detect(plane: &Plane, octaves: usize, threshold: f32, most: usize, keep: impl Fn(f64, f64) -> bool) -> Vec<Feature> {
    let mut found: Vec<(f32, Vec<Feature>)> = Vec::new();
    let mut least = threshold;
    scale_space(plane, BLUR, octaves, threshold, |level, c| {
        let f = (1u64 << c.octave) as f64;
        if c.strength < least || !keep(c.x * f + 0.5 * (f - 1.0), c.y * f + 0.5 * (f - 1.0)) {
            return;
        }
        let mut features = Vec::new();
        describe(level, c, &mut features);
        found.push((c.strength, features));
        if found.len() > most + most / 4 {
            strongest(&mut found, most);
            least = found.last().map_or(threshold, |f| f.0);
        }
    });
    strongest(&mut found, most);
    found.into_iter().flat_map(|f| f.1).collect()
}

/// Leaves the strongest, in order.
fn strongest(found: &mut Vec<(f32, Vec<Feature>)>, most: usize) {
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.truncate(most);
}

/// atan2(y, x) to 1e-4 rad (polynomial of Abramowitz & Stegun 4.4.47): directions are binned to 10° and 45° anyway.
#[inline(always)]
fn direction(x: f32, y: f32) -> f32 {
    let (a, b) = (x.abs(), y.abs());
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    let z = low / high.max(1e-12);
    let s = z * z;
    let mut r = z * (0.999_866 + s * (-0.330_299_5 + s * (0.180_141 + s * (-0.085_133 + s * 0.020_835_1))));
    if b > a {
        r = std::f32::consts::FRAC_PI_2 - r;
    }
    if x < 0.0 {
        r = std::f32::consts::PI - r;
    }
    if y < 0.0 { -r } else { r }
}

/// The pixels within a distance of a keypoint, with Gaussian weights along x and along y.
struct Window {
    x: std::ops::RangeInclusive<usize>,
    y: std::ops::RangeInclusive<usize>,
    wx: Vec<f32>,
    wy: Vec<f32>,
}

/// A window's row is taken in pieces of so many pixels.
const PIECE: usize = 32;
/// Of a window every second pixel of every second row is looked at (all of such a row are reckoned, since that is done for several together): what
/// is described is blurred by 2 px and more, which leaves 0.7 % of the amplitude of waves that so many pixels do not show (reckoned).
const EVERY: usize = 2;

impl Window {
    /// Pixels within `reach` px whose gradient exists; `None` when there are none. `sigma`: of the weights, px.
    fn new(level: &LevelRows, c: &Candidate, reach: f64, sigma: f64) -> Option<Self> {
        let range = |at: f64, size: usize| {
            // whole steps to either side: the pixel in the middle is one of those that are looked at
            let middle = at.round();
            let [down, up] = [middle - 1.0, size as f64 - 2.0 - middle].map(|room| (reach.min(room) / EVERY as f64).floor() * EVERY as f64);
            (down >= 0.0 && up >= 0.0).then_some((middle - down) as usize..=(middle + up) as usize)
        };
        let (x, y) = (range(c.x, level.width)?, range(c.y, level.height)?);
        let weights = |r: &std::ops::RangeInclusive<usize>, at: f64| {
            r.clone().map(|i| (-(i as f64 - at).powi(2) / (2.0 * sigma * sigma)).exp() as f32).collect()
        };
        Some(Self { wx: weights(&x, c.x), wy: weights(&y, c.y), x, y })
    }
    /// Calls `f` with x, y, the gradient's direction and its weighted length at each pixel. Those of a piece of a row are reckoned
    /// together; what is made of them goes pixel by pixel.
    #[inline(always)]
    fn each(&self, level: &LevelRows, mut f: impl FnMut(usize, usize, f32, f32)) {
        let (mut directions, mut lengths) = ([0f32; PIECE], [0f32; PIECE]);
        for (y, wy) in self.y.clone().zip(&self.wy).step_by(EVERY) {
            let (above, row, below) = (level.row(y - 1), level.row(y), level.row(y + 1));
            for (i, wx) in self.wx.chunks(PIECE).enumerate() {
                let (from, n) = (self.x.start() + i * PIECE, wx.len());
                let (left, right) = (&row[from - 1..from - 1 + n], &row[from + 1..from + 1 + n]);
                let (above, below) = (&above[from..from + n], &below[from..from + n]);
                for k in 0..n {
                    let (gx, gy) = (right[k] - left[k], below[k] - above[k]);
                    directions[k] = direction(gx, gy);
                    lengths[k] = (gx * gx + gy * gy).sqrt() * (wx[k] * wy);
                }
                for (k, (turn, length)) in directions[..n].iter().zip(&lengths[..n]).enumerate().step_by(EVERY) {
                    f(from + k, y, *turn, *length);
                }
            }
        }
    }
}

/// Gradients round a keypoint by direction, 36 bins, as work for the processor's widest vectors.
struct Directions<'a> {
    level: &'a LevelRows,
    window: &'a Window,
}

impl pulp::WithSimd for Directions<'_> {
    type Output = [f32; 36];
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> [f32; 36] {
        let mut hist = [0f32; 36];
        self.window.each(self.level, |_, _, turn, length| {
            // rounded to the nearest bin; a direction is -pi to pi
            hist[(turn * (36.0 / std::f32::consts::TAU) + 36.5) as usize % 36] += length;
        });
        hist
    }
}

/// Main gradient directions round the keypoint (36 bins, peaks of 80 % and more of the highest), then a descriptor each.
fn describe(level: &LevelRows, c: &Candidate, out: &mut Vec<Feature>) {
    let s = 1.5 * c.sigma;
    let Some(window) = Window::new(level, c, (3.0 * s).round(), s) else { return };
    let mut hist = pulp::Arch::new().dispatch(Directions { level, window: &window });
    for _ in 0..4 {
        let h = hist;
        for i in 0..36 {
            hist[i] = (h[(i + 35) % 36] + h[i] + h[(i + 1) % 36]) / 3.0;
        }
    }
    let top = hist.iter().fold(0f32, |a, &b| a.max(b));
    let f = (1u64 << c.octave) as f64;
    for i in 0..36 {
        let (l, m, n) = (hist[(i + 35) % 36], hist[i], hist[(i + 1) % 36]);
        if m < 0.8 * top || m <= l || m < n {
            continue;
        }
        let d = (0.5 * (l - n) / (l + n - 2.0 * m)) as f64;
        let angle = (i as f64 + if d.is_finite() { d } else { 0.0 }) * std::f64::consts::TAU / 36.0;
        if let Some(descriptor) = descriptor(level, c, angle) {
            out.push(Feature { x: c.x * f + 0.5 * (f - 1.0), y: c.y * f + 0.5 * (f - 1.0), scale: c.sigma * f, angle, descriptor });
        }
    }
}

/// How far the window of a descriptor reaches, px, for a scale.
pub(super) fn reach(sigma: f64) -> f64 {
    let whole = (3.0 * sigma * 2.5 * std::f64::consts::SQRT_2 + 0.5).floor();
    (whole / EVERY as f64).floor() * EVERY as f64
}

/// 4 x 4 places by 8 directions, trilinear, over a window of 12 sigma.
fn descriptor(level: &LevelRows, c: &Candidate, angle: f64) -> Option<Vec<f32>> {
    let window = Window::new(level, c, reach(c.sigma), 6.0 * c.sigma)?;
    let mut d = pulp::Arch::new().dispatch(Cells { level, window: &window, c, angle });
    let n: f32 = d.iter().map(|v| v * v).sum::<f32>().sqrt();
    if n <= 0.0 {
        return None;
    }
    d.iter_mut().for_each(|v| *v = (*v / n).min(0.2));
    let l1: f32 = d.iter().sum();
    d.iter_mut().for_each(|v| *v = (*v / l1).sqrt());
    Some(d)
}

/// Cells to a row of [`Cells`]: four and one more on either side, which takes what falls beside them.
const ROW: usize = 6;

/// The gradients of a window by place and direction, as work for the processor's widest vectors.
struct Cells<'a> {
    level: &'a LevelRows,
    window: &'a Window,
    c: &'a Candidate,
    angle: f64,
}

impl pulp::WithSimd for Cells<'_> {
    type Output = Vec<f32>;
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<f32> {
        let (sa, ca) = self.angle.sin_cos();
        let cell = 3.0 * self.c.sigma;
        let (across, along) = ((ca / cell) as f32, (sa / cell) as f32);
        let (x0, y0, angle) = (self.c.x as f32, self.c.y as f32, self.angle as f32);
        let mut sums = [[0f32; 8]; ROW * ROW];
        self.window.each(self.level, |x, y, direction, length| {
            let (dx, dy) = (x as f32 - x0, y as f32 - y0);
            let (u, v) = (across * dx + along * dy, across * dy - along * dx);
            if u.abs() < 2.5 && v.abs() < 2.5 {
                let turn = (direction - angle) * (8.0 / std::f32::consts::TAU);
                let turn = if turn < 0.0 { turn + 16.0 } else { turn };
                spread(&mut sums, u + 1.5, v + 1.5, turn, length);
            }
        });
        (1..5).flat_map(|j| &sums[j * ROW + 1..j * ROW + 5]).flatten().copied().collect()
    }
}

/// `u`, `v`: place in cells, -1 to 4; `o`: direction in eighths, not negative.
#[inline(always)]
fn spread(sums: &mut [[f32; 8]; ROW * ROW], u: f32, v: f32, o: f32, m: f32) {
    // truncated after a shift that keeps them positive: no call into the maths library on the hot path
    let (iu, iv, io) = ((u + 1.0) as usize, (v + 1.0) as usize, o as usize);
    let (fu, fv, fo) = (u + 1.0 - iu as f32, v + 1.0 - iv as f32, o - io as f32);
    for (i, wu) in [(iu, 1.0 - fu), (iu + 1, fu)] {
        for (j, wv) in [(iv, 1.0 - fv), (iv + 1, fv)] {
            let share = m * wu * wv;
            let cell = &mut sums[j.min(ROW - 1) * ROW + i.min(ROW - 1)];
            cell[io % 8] += share * (1.0 - fo);
            cell[(io + 1) % 8] += share * fo;
        }
    }
}
