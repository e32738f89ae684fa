//! The needle's outline and its shadow as this photo should show them.
use crate::dial::NeedleLook;
use crate::maths::normal::quick_normal_cdf;
use crate::maths::robust::median;

/// Length of a block, radii.
const BLOCK: f64 = 0.06;
/// The needle's outline as this photo should show it.
pub struct Shape<'a> {
    /// The look learned.
    pub look: &'a NeedleLook,
    /// Shift along the line by parallax, radii.
    pub along: f64,
    /// First radius of the outline and step.
    pub first: f64,
    /// See `first`.
    pub per: f64,
    /// Blur expected across the needle, radii.
    pub blur0: f64,
}

impl Shape<'_> {
    /// Half width at a place along the line, 0 where the needle is not seen.
    #[inline(always)]
    pub fn half_width(&self, s: f64) -> f64 {
        let u = (s - self.along - self.first) / self.per;
        if u < 0.0 || u as usize + 1 >= self.look.half_width.len() {
            return 0.0;
        }
        let i = u as usize;
        let (a, b) = (self.look.half_width[i], self.look.half_width[i + 1]);
        if a <= 0.0 || b <= 0.0 { 0.0 } else { a + (b - a) * (u - i as f64) }
    }
    /// Median half width where the needle is seen.
    pub fn usual_half_width(&self) -> f64 {
        let seen: Vec<f64> = self.look.half_width.iter().copied().filter(|w| *w > 0.0).collect();
        median(&seen).unwrap_or(f64::INFINITY)
    }
    #[inline(always)]
    pub(super) fn block(&self, s: f64) -> usize {
        ((s - self.along + 1.2) / BLOCK).max(0.0) as usize
    }
}

/// Where a shadow stands and how soft it is; radii.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shadow {
    /// Shift to the right of the needle's direction.
    pub across: f64,
    /// Shift along it.
    pub along: f64,
    /// Standard deviation of its edges.
    pub soft: f64,
}

/// Standard deviations of its edge beyond which a shadow is nothing (3e-5 of it is left).
const FAR: f64 = 4.0;

impl Shadow {
    /// Share of a place that lies in the shadow, 0..1.
    pub fn share(&self, shape: &Shape, s: f64, t: f64) -> f64 {
        let half = shape.half_width(s - self.along);
        if half <= 0.0 {
            return 0.0;
        }
        let t = t - self.across;
        // most places lie far outside
        if t.abs() > half + FAR * self.soft {
            return 0.0;
        }
        let below = |z: f64| quick_normal_cdf(z, (-0.5 * z * z).exp());
        below((t + half) / self.soft) - below((t - half) / self.soft)
    }
}
