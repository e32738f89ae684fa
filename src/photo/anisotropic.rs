//! Gaussian blur of a plane that is wider in one direction than across it, as a moving hand makes it.
use super::buffer::Buffer;
use super::model::Plane;
use crate::maths::blur::BlurCovariance;

impl Plane {
    /// Blurred by a Gaussian with a covariance in its px²: the round part first, then the rest along its direction.
    pub fn blurred<P>(&self, blur: &BlurCovariance<P>) -> Self {
        let (large, small, angle) = blur.principal();
        let round = if small > 0.02 { self.gaussian(small.sqrt()) } else { self.clone() };
        let rest = large - small;
        if rest < 0.05 { round } else { along(&round, angle, rest.sqrt()) }
    }
}

/// One-dimensional Gaussian along a direction, in steps of one row or column with linear interpolation across, so that it runs
/// over whole rows. The direction is right-handed in px (x right, y down).
fn along(p: &Plane, angle: f64, sigma: f64) -> Plane {
    let (s, c) = angle.sin_cos();
    let flat = c.abs() >= s.abs();
    let per_step = if flat { c.abs() } else { s.abs() };
    let tilt = if flat { s / c } else { c / s };
    // a step of one row or column is 1 / per_step px long along the direction
    let steps = (3.0 * sigma * per_step).ceil() as i64;
    let mut taps: Vec<(i64, f64, f32)> =
        (-steps..=steps).map(|i| (i, i as f64 * tilt, (-0.5 * (i as f64 / (sigma * per_step)).powi(2)).exp() as f32)).collect();
    let total: f32 = taps.iter().map(|t| t.2).sum();
    taps.iter_mut().for_each(|t| t.2 /= total);
    let (w, h) = (p.width as i64, p.height as i64);
    let mut data = Buffer::zeroed(p.data.len());
    for (y, out) in data.chunks_exact_mut(p.width).enumerate() {
        for &(i, across, weight) in &taps {
            let whole = across.floor();
            let f = (across - whole) as f32;
            for (extra, share) in [(0, 1.0 - f), (1, f)] {
                let (dx, dy) = if flat { (i, whole as i64 + extra) } else { (whole as i64 + extra, i) };
                let row = (y as i64 + dy).clamp(0, h - 1) as usize;
                add_shifted(out, &p.data[row * p.width..(row + 1) * p.width], dx, share * weight, w);
            }
        }
    }
    Plane { width: p.width, height: p.height, data }
}

/// out[x] += weight * row[x + dx], the row's ends repeated.
fn add_shifted(out: &mut [f32], row: &[f32], dx: i64, weight: f32, w: i64) {
    if weight == 0.0 {
        return;
    }
    let (from, to) = ((-dx).clamp(0, w) as usize, (w - dx).clamp(0, w) as usize);
    for o in &mut out[..from] {
        *o += weight * row[0];
    }
    if to > from {
        let start = (from as i64 + dx) as usize;
        for (o, v) in out[from..to].iter_mut().zip(&row[start..start + to - from]) {
            *o += weight * v;
        }
    }
    for o in &mut out[to.max(from)..] {
        *o += weight * row[row.len() - 1];
    }
}
