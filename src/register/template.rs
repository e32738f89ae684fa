//! The reference face blurred as the photo is, with its derivatives: what the photo's pixels are compared with.
use super::face::{Canonical, FaceModel};
use crate::maths::robust::per_mille;
use crate::photo::{Buffer, Plane};
use std::sync::Arc;

/// Blur as a covariance in canonical px²: (xx, xy, yy), x right, y down.
pub type Blur = [f64; 3];

/// Places of the canonical picture that may vote at all (reference side), reusable for every photo at this `k`.
#[derive(Clone, Debug)]
pub struct Base {
    /// The unblurred canonical picture.
    pub canonical: Canonical,
    votes: Vec<bool>,
}

/// What the photo is compared with at one blur.
#[derive(Clone, Debug)]
pub struct Template {
    /// px per unit.
    pub k: f64,
    /// Side length in px.
    pub n: usize,
    /// Blurred reference luma.
    pub t: Plane,
    /// Derivatives per canonical px (x right, y down).
    pub tx: Plane,
    /// See `tx`.
    pub ty: Plane,
    /// Its blur against the reference.
    pub blur: Blur,
    /// Where there is print to compare.
    pub mask: Arc<Vec<bool>>,
}

impl Base {
    /// The reference at `k` px per unit, out to `extent` units.
    pub fn new(face: &FaceModel, k: f64, extent: f64) -> Self {
        let canonical = face.canonical(k, extent + 0.01);
        let votes = face.voting(&canonical, extent);
        Self { canonical, votes }
    }
    /// The template at a blur; `hidden` names dial points that must not vote in this photo (its needle). `mask`: where there is
    /// print to compare, when that is known from a blur near this one.
    pub fn template(&self, blur: Blur, mask: Option<&Arc<Vec<bool>>>, hidden: impl Fn(f64, f64) -> bool) -> Template {
        let t = blurred(&self.canonical.plane, blur);
        let (tx, ty) = t.gradient();
        let mask = mask.cloned().unwrap_or_else(|| Arc::new(self.print(&tx, &ty, hidden)));
        Template { k: self.canonical.k, n: t.width, t, tx, ty, blur, mask }
    }
    fn print(&self, tx: &Plane, ty: &Plane, hidden: impl Fn(f64, f64) -> bool) -> Vec<bool> {
        let n = tx.width;
        let strength: Vec<f32> = tx.data.iter().zip(&ty.data).map(|(a, b)| (a * a + b * b).sqrt()).collect();
        let mut mask = self.mask(&strength, n);
        for (i, m) in mask.iter_mut().enumerate().filter(|(_, m)| **m) {
            let (x, y) = self.canonical.dial(i % n, i / n);
            *m = !hidden(x, y);
        }
        mask
    }
    /// Voting places with a gradient worth comparing, grown by two pixels so that both sides of an edge take part.
    fn mask(&self, strength: &[f32], n: usize) -> Vec<bool> {
        let mut voting: Vec<f32> = strength.iter().zip(&self.votes).filter(|(_, v)| **v).map(|(s, _)| *s).collect();
        let ranks = (per_mille(&mut voting, 998), per_mille(&mut voting, 500));
        let (Some(most), Some(middle)) = ranks else { return vec![false; n * n] };
        // most of a face is bare: the median gradient is the reference's own grain, which no photo shares
        let threshold = (0.12 * most).max(4.0 * middle);
        let mut strong: Vec<bool> = strength.iter().zip(&self.votes).map(|(s, v)| *s > threshold && *v).collect();
        strong.chunks_exact_mut(n).for_each(|row| [0, 1, n - 2, n - 1].into_iter().for_each(|x| row[x] = false));
        [0, 1, n - 2, n - 1].into_iter().for_each(|y| strong[y * n..(y + 1) * n].fill(false));
        let mut mask = grown(&strong, n, 2);
        mask.iter_mut().zip(&self.votes).for_each(|(m, v)| *m &= *v);
        mask
    }
}

/// A mask grown by so many px to all sides; rows of `n`.
pub(super) fn grown(mask: &[bool], n: usize, by: usize) -> Vec<bool> {
    let mut wide = vec![false; mask.len()];
    for (row, out) in mask.chunks_exact(n).zip(wide.chunks_exact_mut(n)) {
        for x in (0..n).filter(|&x| row[x]) {
            out[x.saturating_sub(by)..(x + by + 1).min(n)].fill(true);
        }
    }
    let mut out = wide.clone();
    for y in 0..n {
        let below = (y + by).min(n - 1);
        for other in y.saturating_sub(by)..=below {
            let (to, from) = (&mut out[y * n..(y + 1) * n], &wide[other * n..(other + 1) * n]);
            to.iter_mut().zip(from).for_each(|(t, f)| *t |= f);
        }
    }
    out
}

/// Gaussian blur with a covariance: the round part first, then the rest along its direction.
pub fn blurred(p: &Plane, blur: Blur) -> Plane {
    let [a, b, c] = blur;
    let mean = 0.5 * (a + c);
    let diff = (0.25 * (a - c) * (a - c) + b * b).sqrt();
    let (large, small) = ((mean + diff).max(0.0), (mean - diff).max(0.0));
    let round = if small > 0.02 { p.gaussian(small.sqrt()) } else { p.clone() };
    let rest = large - small;
    if rest < 0.05 {
        return round;
    }
    let angle = 0.5 * (2.0 * b).atan2(a - c);
    along(&round, angle, rest.sqrt())
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
