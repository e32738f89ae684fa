//! A tick's centre line to some hundredths of a pixel: a bar with two soft edges, fitted to the photo's own pixels.
//!
//! Unknowns: sideways shift and turn about the middle, half width and its growth along the tick (wedges: without it the line would
//! lean to one of the edges), blur, and three levels (left, tick, right).
use crate::maths::minimise::{Loss, Model, Options, minimise_model};
use crate::maths::normal::{smooth_normal, smooth_normal_cdf};
use crate::maths::solve::Noise;
use crate::photo::Plane;
use nalgebra::{DMatrix, Vector2};

/// A refined centre line.
#[derive(Clone, Copy, Debug)]
pub struct TickLine {
    /// Two points on it, photo px, in the order given.
    pub line: [Vector2<f64>; 2],
    /// Standard uncertainty across at the middle, px.
    pub sigma: f64,
    /// Standard uncertainty of the direction, radians.
    pub sigma_angle: f64,
    /// Half width, px.
    pub half_width: f64,
    /// Blur of its edges, px, one sigma.
    pub blur: f64,
}

/// Neighbouring pixels share noise (JPEG, colour interpolation), so that the scatter alone promises too much.
const SHARED_NOISE: f64 = 1.5;

/// The bar: unknowns are its shift (px), its turn (radians), its half width (px), the log of its blur (px), the levels left of it, on it and
/// right of it, and the growth of its half width along it.
struct Bar<'a> {
    /// Along and across the line (px), level.
    pixels: &'a [(f64, f64, f64)],
}

/// Least and most log of a tick's blur, px.
const BLURS: f64 = 1.5;

impl Bar<'_> {
    /// How far a pixel lies inside of the bar's two edges, in blurs, with what the half width is there.
    #[inline(always)]
    fn inside(q: &[f64], per: f64, s: f64, t: f64) -> (f64, f64, f64) {
        let t = t - q[0] - q[1] * s;
        let half = (q[2] + q[7] * s).max(0.0);
        ((t + half) * per, (t - half) * per, half)
    }
    fn per_blur(q: &[f64]) -> f64 {
        (-q[3].clamp(-BLURS, BLURS)).exp()
    }
}

impl Model for Bar<'_> {
    fn residuals(&mut self, q: &[f64]) -> Vec<f64> {
        let per = Self::per_blur(q);
        let at = |(s, t, v): &(f64, f64, f64)| {
            let (a, b, _) = Self::inside(q, per, *s, *t);
            let (l, r) = (smooth_normal_cdf(a), smooth_normal_cdf(b));
            q[4] * (1.0 - l) + q[5] * (l - r) + q[6] * r - v
        };
        self.pixels.iter().map(at).collect()
    }
    fn jacobian(&mut self, q: &[f64], count: usize) -> Option<DMatrix<f64>> {
        let per = Self::per_blur(q);
        let blurs = f64::from(q[3].abs() < BLURS);
        let mut out = DMatrix::zeros(count, q.len());
        for (i, (s, t, _)) in self.pixels.iter().enumerate() {
            let (a, b, half) = Self::inside(q, per, *s, *t);
            let ((l, left), (r, right)) = (smooth_normal(a), smooth_normal(b));
            let (left, right) = ((q[5] - q[4]) * left, (q[6] - q[5]) * right);
            let shift = -(left + right) * per;
            let width = (left - right) * per * f64::from(half > 0.0);
            let row = [shift, s * shift, width, -(left * a + right * b) * blurs, 1.0 - l, l - r, r, s * width];
            row.into_iter().enumerate().for_each(|(j, v)| out[(i, j)] = v);
        }
        Some(out)
    }
}

/// Refines a line between two points; `None` when there is no bar there.
pub fn refine(luma: &Plane, line: [Vector2<f64>; 2], half_width: f64) -> Option<TickLine> {
    let middle = 0.5 * (line[0] + line[1]);
    let along = (line[1] - line[0]).normalize();
    let across = Vector2::new(-along.y, along.x);
    let half_length = 0.5 * (line[1] - line[0]).norm();
    let reach = half_width + 4.0;
    let (dx, dy) = (half_length * along.x.abs() + reach, half_length * along.y.abs() + reach);
    let clip = |v: f64, top: usize| v.clamp(0.0, top as f64 - 1.0) as usize;
    let mut pixels = Vec::new();
    for y in clip(middle.y - dy, luma.height)..=clip(middle.y + dy + 1.0, luma.height) {
        for x in clip(middle.x - dx, luma.width)..=clip(middle.x + dx + 1.0, luma.width) {
            let o = Vector2::new(x as f64, y as f64) - middle;
            let (s, t) = (o.dot(&along), o.dot(&across));
            if s.abs() <= half_length && t.abs() <= reach {
                pixels.push((s, t, luma.data[y * luma.width + x] as f64));
            }
        }
    }
    if pixels.len() < 40 {
        return None;
    }
    let mean = |from: f64, to: f64| {
        let v: Vec<f64> = pixels.iter().filter(|p| p.1 >= from && p.1 <= to).map(|p| p.2).collect();
        v.iter().sum::<f64>() / (v.len() as f64).max(1.0)
    };
    let start = [0.0, 0.0, half_width, -0.2, mean(-reach, -half_width - 1.5), mean(-0.7, 0.7), mean(half_width + 1.5, reach), 0.0];
    let scatter = 0.08 * (start[5] - 0.5 * (start[4] + start[6])).abs() + 1.0;
    let options = Options { loss: Loss::Cauchy(2.0 * scatter), noise: Noise::FromScatter, ..Options::default() };
    let fit = minimise_model(Bar { pixels: &pixels }, &start, options);
    let c = fit.covariance.as_ref()?;
    let (sigma, sigma_angle) = (SHARED_NOISE * c[(0, 0)].sqrt(), SHARED_NOISE * c[(1, 1)].sqrt());
    let good = fit.x[0].abs() < 2.0
        && fit.x[1].abs() < 0.35
        && fit.x[2] > 0.3
        && fit.x[7].abs() < 1.0
        && sigma.is_finite()
        && sigma_angle.is_finite();
    good.then(|| TickLine {
        line: [-half_length, half_length].map(|s| middle + along * s + across * (fit.x[0] + fit.x[1] * s)),
        sigma: sigma.max(0.005),
        sigma_angle: sigma_angle.max(2e-4),
        half_width: fit.x[2],
        blur: fit.x[3].clamp(-BLURS, BLURS).exp(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::normal::normal_cdf;

    /// A tick along x about (40, 40) with soft edges, `growth` of its half width along it, a point either side of its middle.
    fn drawn(growth: f64, turn: f64) -> Plane {
        Plane::from_fn(81, 81, |i, j| {
            let (x, y) = (i as f64 - 40.0, j as f64 - 40.0);
            let (s, t) = (x * turn.cos() + y * turn.sin(), y * turn.cos() - x * turn.sin());
            let half = 4.0 + growth * s;
            let on = normal_cdf((t + half) / 0.7) - normal_cdf((t - half) / 0.7);
            (50.0 + 150.0 * on) as f32
        })
    }

    /// The derivatives are those of the residuals (by differences to both sides).
    #[test]
    fn the_derivatives_are_those_of_the_residuals() {
        let pixels: Vec<_> = (0..400).map(|i| ((i % 20) as f64 - 9.5, 0.6 * (i / 20) as f64 - 6.0, (i % 7) as f64)).collect();
        let mut bar = Bar { pixels: &pixels };
        for q in [[0.3, 0.02, 3.0, -0.2, 40.0, 180.0, 60.0, 0.1], [0.0, 0.0, 1.0, 1.7, 200.0, 20.0, 210.0, -0.3]] {
            let own = bar.jacobian(&q, pixels.len()).unwrap();
            for j in 0..q.len() {
                let by = |d: f64| q.iter().enumerate().map(|(k, v)| v + if k == j { d } else { 0.0 }).collect::<Vec<f64>>();
                let (up, down) = (bar.residuals(&by(1e-5)), bar.residuals(&by(-1e-5)));
                for (i, (u, d)) in up.iter().zip(&down).enumerate() {
                    let numeric = (u - d) / 2e-5;
                    assert!((numeric - own[(i, j)]).abs() < 1e-3, "{j} at {:?}: {} for {numeric}", pixels[i], own[(i, j)]);
                }
            }
        }
    }

    #[test]
    fn the_middle_of_a_wedge_is_found_as_that_of_a_bar() {
        for (growth, turn) in [(0.0, 0.0), (0.0, 0.05), (0.15, 0.0), (0.15, 0.05), (-0.2, -0.03)] {
            let luma = drawn(growth, turn);
            let fit = refine(&luma, [Vector2::new(28.0, 40.4), Vector2::new(52.0, 40.4)], 4.5).unwrap();
            let d = fit.line[1] - fit.line[0];
            let middle = 0.5 * (fit.line[0] + fit.line[1]);
            assert!((d.y.atan2(d.x) - turn).abs() < 2e-3, "{growth} {turn}: {}", d.y.atan2(d.x));
            let off = (middle.y - 40.0) * turn.cos() - (middle.x - 40.0) * turn.sin();
            // 0.03 px: the soft edges of a wedge lean against the line across which the model softens them
            assert!(off.abs() < 0.04 && fit.sigma < 0.05, "{growth} {turn}: {off} ± {}", fit.sigma);
        }
    }
}
