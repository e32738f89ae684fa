//! The needle's pixels in the frame of the present line: shares of flank and needle, and how they change with the line.
use super::beside::Beside;
use super::blocks::LineVector;
use super::shape::{Shadow, Shape};
use crate::maths::normal::quick_normal_cdf;
use crate::rectify::Pixel;
use crate::register::face::LineFrame;
use nalgebra::Vector4;

/// Standard uncertainty of print below or beside the needle, as a share of its contrast.
const PRINT_DOUBT: f64 = 0.3;

/// The line and its nuisances in the course of the fit.
pub struct State {
    /// Offset, radii.
    pub d: f64,
    /// Degrees clockwise from up.
    pub angle: f64,
    /// Change of half width, radii.
    pub wider: f64,
    /// Log of the blur across, radii.
    pub log_blur: f64,
    /// Sideways place of the tail.
    pub tail: f64,
    /// Change of half width per radius.
    pub taper: f64,
    /// Usual step of the blocks.
    pub step: f64,
    /// Scatter that the robust weights use.
    pub scatter: f64,
    /// The needle's shadow, where there is one.
    pub shadow: Option<Shadow>,
    /// Its usual height in the blocks.
    pub shade: f64,
}

/// Standard deviations of blur beyond the outline to which the needle reaches.
const REACH: f64 = 2.5;

impl State {
    /// The line's frame.
    pub fn frame(&self) -> LineFrame {
        LineFrame::new(self.angle, self.d)
    }
    /// Whether the needle, its soft edge included, shows at a dial point.
    pub fn shows(&self, shape: &Shape, x: f64, y: f64) -> bool {
        let (s, t) = self.frame().along_across(x, y);
        let half = shape.half_width(s);
        half > 0.0 && t.abs() < half + self.wider.max(0.0) + REACH * self.log_blur.exp()
    }
}

/// How far off the line pixels take part, for a half width and a blur, radii.
///
/// A flank's level must be seen beyond the soft edge, or it passes for a shift of the edge: with 2.5 blurs the least possible error of a
/// needle narrower than its blur is 1.4 of what it is with known flanks, with four blurs 1.2.
pub fn window(half_width: f64, sigma: f64) -> f64 {
    let usual = (half_width + 0.03 + 2.5 * sigma).min(0.16);
    usual.max((half_width + 4.0 * sigma).min(FARTHEST))
}

/// Farthest off the line that pixels take part, radii.
const FARTHEST: f64 = 0.24;

/// One pixel in the frame of the present line.
pub struct Row {
    /// Block of length it belongs to.
    pub block: usize,
    /// Along the line, radii.
    pub s: f64,
    /// Shares of left flank, needle, right flank, and of the needle's shadow on the flanks.
    pub share: Vector4<f64>,
    /// Edge densities, left and right.
    edge: [f64; 2],
    z: [f64; 2],
    /// Evidence, the print below the needle accounted for.
    pub value: f64,
    print: f64,
    shaded: f64,
}

impl Row {
    /// `None` where the needle has no width, and beyond its flanks.
    #[inline(always)]
    pub fn new(p: &Pixel, shape: &Shape, state: &State, frame: &LineFrame, sigma: f64) -> Option<Self> {
        let (s, t) = frame.along_across(p.x, p.y);
        let t = if s < 0.0 { t - state.tail } else { t };
        let hw = shape.half_width(s);
        if hw <= 0.0 {
            return None;
        }
        let h = (hw + state.wider + state.taper * s.abs()).max(0.25 * sigma);
        if t.abs() > window(h, sigma) {
            return None;
        }
        let z = [(t + h) / sigma, (t - h) / sigma];
        let edge = z.map(|z| (-0.5 * z * z).exp());
        let (l, r) = (quick_normal_cdf(z[0], edge[0]), quick_normal_cdf(z[1], edge[1]));
        // print below the needle is hidden by it: the evidence there is the needle minus that print
        let value = p.value + (l - r) * p.print;
        let shaded = state.shadow.map_or(0.0, |d| d.share(shape, s, t));
        Some(Self {
            block: shape.block(s),
            s,
            share: Vector4::new(1.0 - l, l - r, r, (1.0 - l + r) * shaded),
            edge: edge.map(|e| e * 0.398_942_280_4),
            z,
            value,
            print: p.print,
            shaded,
        })
    }
    /// Weight of a place by how bare the face is below it: where print shows (or lies hidden), its blur and its hiding are known
    /// to some tenths of its contrast only.
    #[inline(always)]
    pub fn clear(&self, scatter: f64) -> f64 {
        let doubt = PRINT_DOUBT * self.print;
        scatter * scatter / (scatter * scatter + doubt * doubt)
    }
    /// Derivatives of the model by offset, angle (radians), width and log blur.
    #[inline(always)]
    pub fn derivatives(&self, levels: &Vector4<f64>, sigma: f64) -> LineVector {
        let peak = levels[1] - self.print;
        let shade = levels[3] * self.shaded;
        let l = (peak - levels[0] - shade) * self.edge[0] / sigma;
        let r = (levels[2] + shade - peak) * self.edge[1] / sigma;
        let tail = if self.s < 0.0 { -(l + r) } else { 0.0 };
        LineVector::from([-(l + r), -self.s * (l + r), l - r, -sigma * (self.z[0] * l + self.z[1] * r), tail, (l - r) * self.s.abs()])
    }
}

/// A place beside the needle for the search of its shadow; `None` where the needle itself shows.
pub fn beside(p: &Pixel, shape: &Shape, state: &State, frame: &LineFrame, sigma: f64) -> Option<Beside> {
    let (s, t) = frame.along_across(p.x, p.y);
    let own = shape.half_width(s) + state.wider.max(0.0) + 2.0 * sigma;
    (t.abs() > own && s > 0.0).then(|| (s, t, p.value.clamp(-1.5, 1.5), 1.0 / (1.0 + (4.0 * p.print).powi(2))))
}
