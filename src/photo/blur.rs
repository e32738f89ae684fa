//! Gaussian blur of a plane: a hot path, written as loops over whole rows that the compiler turns into vector code.
use super::buffer::Buffer;
use super::model::Plane;

/// Keeps a senseless sigma from asking for a senseless kernel.
const MAX_RADIUS: usize = 1024;

impl Plane {
    /// Blurred by a Gaussian of `sigma` px: separable, radius ceil(3 sigma) (at most 1024), weights exp(-k²/2 sigma²) made to sum to 1,
    /// the border pixel repeated outwards. A sigma that is 0, negative or not a number leaves the plane as it is.
    pub fn gaussian(&self, sigma: f64) -> Self {
        let sigma = sigma as f32;
        if self.data.is_empty() || self.width == 0 || self.height == 0 || !(sigma > 0.0 && sigma.is_finite()) {
            return self.clone();
        }
        // with the widest vectors the processor has; the sums and their order are the same with any
        let data = pulp::Arch::new().dispatch(Blur { plane: self, weights: half_kernel(sigma) });
        Self { width: self.width, height: self.height, data }
    }
}

/// A blur as work for the processor's widest vectors.
struct Blur<'a> {
    plane: &'a Plane,
    weights: Vec<f32>,
}

impl pulp::WithSimd for Blur<'_> {
    type Output = Buffer<f32>;
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Buffer<f32> {
        let (plane, weights) = (self.plane, &self.weights);
        let radius = weights.len() - 1;
        let mut data = Buffer::zeroed(plane.data.len());
        let last = plane.height - 1;
        let mut padded = vec![0.0; plane.width + 2 * radius];
        for (y, out) in data.chunks_exact_mut(plane.width).enumerate() {
            one_row(weights, &mut padded, |k| (plane.row(y.saturating_sub(k)), plane.row((y + k).min(last))), out);
        }
        data
    }
}

/// A Gaussian blur row by row, for who has the rows only for a while: what [`Plane::gaussian`] does, to the last bit.
pub(crate) struct RowBlur {
    weights: Vec<f32>,
    padded: Vec<f32>,
}

impl RowBlur {
    /// For rows of `width` px; `None` for a sigma that changes nothing.
    pub fn new(sigma: f64, width: usize) -> Option<Self> {
        let weights = half_kernel(Some(sigma as f32).filter(|s| *s > 0.0 && s.is_finite())?);
        Some(Self { padded: vec![0.0; width + 2 * (weights.len() - 1)], weights })
    }
    /// Rows to either side that take part.
    pub fn radius(&self) -> usize {
        self.weights.len() - 1
    }
    /// One blurred row. `pairs`: the rows 0, 1, .. px above and below it, the border's repeated outwards.
    pub fn row(&mut self, pairs: &[(&[f32], &[f32])], out: &mut [f32]) {
        pulp::Arch::new().dispatch(OneRow { blur: self, pairs, out });
    }
}

/// One row of a blur as work for the processor's widest vectors.
struct OneRow<'a> {
    blur: &'a mut RowBlur,
    pairs: &'a [(&'a [f32], &'a [f32])],
    out: &'a mut [f32],
}

impl pulp::WithSimd for OneRow<'_> {
    type Output = ();
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        let RowBlur { weights, padded } = self.blur;
        one_row(weights, padded, |k| self.pairs[k], self.out);
    }
}

/// One row blurred downwards into `padded`, which has room for the border at both ends, then along itself. `pair`: the rows so many px above
/// and below it.
#[inline(always)]
fn one_row<'r>(weights: &[f32], padded: &mut [f32], pair: impl Fn(usize) -> (&'r [f32], &'r [f32]), out: &mut [f32]) {
    let radius = weights.len() - 1;
    in_strips(&mut padded[radius..radius + out.len()], weights, pair);
    repeat_ends(padded, radius);
    blur_along(padded, weights, out);
}

/// Outputs that are summed up together: few enough to stay in vector registers.
const STRIP: usize = 64;

/// out = weights[0] a + sum of weights[k] (a + b) over the k-th rows (a, b), strip by strip.
#[inline(always)]
fn in_strips<'r>(out: &mut [f32], weights: &[f32], rows: impl Fn(usize) -> (&'r [f32], &'r [f32])) {
    for (s, out) in out.chunks_mut(STRIP).enumerate() {
        let (from, n) = (s * STRIP, out.len());
        let mut sums = [0f32; STRIP];
        for (k, &weight) in weights.iter().enumerate() {
            let (a, b) = rows(k);
            let (a, b) = (&a[from..from + n], &b[from..from + n]);
            if k == 0 {
                sums.iter_mut().zip(a).for_each(|(o, a)| *o = weight * a);
            } else if n == STRIP {
                add_pair(&mut sums, a, b, weight);
            } else {
                add_pair(&mut sums[..n], a, b, weight);
            }
        }
        out.copy_from_slice(&sums[..n]);
    }
}

/// Weights at 0, 1, .. ceil(3 sigma) px from the middle.
fn half_kernel(sigma: f32) -> Vec<f32> {
    let s = f64::from(sigma);
    let radius = ((3.0 * s).ceil() as usize).min(MAX_RADIUS);
    let raw: Vec<f64> = (0..=radius).map(|k| (-0.5 * (k as f64 / s).powi(2)).exp()).collect();
    let sum = 2.0 * raw.iter().sum::<f64>() - 1.0;
    raw.iter().map(|v| (v / sum) as f32).collect()
}

fn repeat_ends(padded: &mut [f32], radius: usize) {
    let end = padded.len() - radius;
    let (first, last) = (padded[radius], padded[end - 1]);
    padded[..radius].fill(first);
    padded[end..].fill(last);
}

/// `padded` is longer than `out` by the kernel's radius on both sides.
#[inline(always)]
fn blur_along(padded: &[f32], weights: &[f32], out: &mut [f32]) {
    let radius = weights.len() - 1;
    in_strips(out, weights, |k| (&padded[radius - k..], &padded[radius + k..]));
}

/// out += weight (a + b), element by element.
#[inline(always)]
fn add_pair(out: &mut [f32], a: &[f32], b: &[f32], weight: f32) {
    for ((o, a), b) in out.iter_mut().zip(a).zip(b) {
        *o += weight * (a + b);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chacha20::ChaCha8Rng;
    use image::{ImageBuffer, Luma};
    use imageproc::filter::{gaussian_blur_f32, separable_filter_equal};
    use rand::{RngExt, SeedableRng};

    fn noise(w: usize, h: usize) -> Plane {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let data = (0..w * h).map(|_| rng.random_range(0.0..255.0)).collect();
        Plane { width: w, height: h, data }
    }

    fn as_image(p: &Plane) -> ImageBuffer<Luma<f32>, Vec<f32>> {
        ImageBuffer::from_raw(p.width as u32, p.height as u32, p.data.to_vec()).unwrap()
    }

    fn largest_difference(a: &[f32], b: &[f32]) -> f32 {
        assert_eq!(a.len(), b.len());
        a.iter().zip(b).map(|(x, y)| (x - y).abs()).fold(0.0, f32::max)
    }

    #[test]
    fn agrees_with_another_library_given_the_same_kernel() {
        for (w, h, sigma) in [(61, 47, 1.5), (40, 33, 0.6), (9, 50, 4.0), (1, 30, 1.0), (30, 1, 1.0)] {
            let p = noise(w, h);
            let half = half_kernel(sigma);
            let kernel: Vec<f32> = half.iter().skip(1).rev().chain(&half).copied().collect();
            let theirs = separable_filter_equal(&as_image(&p), &kernel);
            assert!(largest_difference(&p.gaussian(f64::from(sigma)).data, theirs.as_raw()) < 1e-3, "{w} {h} {sigma}");
        }
    }

    #[test]
    fn agrees_with_another_library_s_gaussian() {
        // It stops at 2 sigma, this one at 3: of the variance 0.774 and 0.973 are kept (a normal law cut there), so a wave of
        // amplitude A is damped differently by about 0.5 (0.973 - 0.774) sigma² w² A, here 0.31, 0.70 and 1.95 levels.
        let (u, v, amplitude) = (0.15f32, 0.11f32, 90.0f32);
        let p = Plane::from_fn(80, 60, |x, y| 128.0 + amplitude * (u * x as f32).sin() * (v * y as f32).cos());
        for sigma in [1.0f32, 1.5, 2.5] {
            let theirs = gaussian_blur_f32(&as_image(&p), sigma);
            let difference = largest_difference(&p.gaussian(f64::from(sigma)).data, theirs.as_raw());
            let expected = 0.1 * sigma * sigma * (u * u + v * v) * amplitude;
            assert!(difference < expected, "{sigma}: {difference} > {expected}");
            assert!(largest_difference(&p.data, theirs.as_raw()) > 3.0 * difference);
        }
    }

    #[test]
    fn a_sine_is_damped_as_theory_says() {
        // The Fourier transform of a Gaussian: exp(-sigma² w² / 2). Cut at 3 sigma it loses 0.3 % of its weight.
        let (omega, sigma) = (0.4f32, 1.5f32);
        let p = Plane::from_fn(200, 40, |x, _| 100.0 * (omega * x as f32).sin());
        let blurred = p.gaussian(f64::from(sigma));
        let gain = (-0.5 * sigma * sigma * omega * omega).exp();
        for x in 10..190 {
            assert!((blurred.at(x, 20).unwrap() - gain * p.at(x, 20).unwrap()).abs() < 0.4, "{x}");
        }
    }

    #[test]
    fn a_flat_plane_stays_flat_and_odd_sigmas_change_nothing() {
        let flat = Plane::from_fn(5, 4, |_, _| 77.0);
        assert!(flat.gaussian(6.0).data.iter().all(|v| (v - 77.0).abs() < 1e-3));
        let p = noise(5, 4);
        assert!(p.gaussian(f64::from(f32::MAX)).data.iter().all(|v| v.is_finite()));
        for sigma in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(p.gaussian(sigma), p);
        }
        assert_eq!(Plane::default().gaussian(1.0), Plane::default());
    }
}
