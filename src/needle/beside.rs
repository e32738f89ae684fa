//! The places beside the needle and what a shadow explains of them: a hot path, run with the widest vectors that the processor has.
use super::shape::{Shadow, Shape};

/// A place beside the needle: along, across, evidence, weight.
pub type Beside = (f64, f64, f64, f64);

/// Places that are summed up side by side: the sums and their order are the same with any vectors.
const LANES: usize = 16;

/// Some places, by what is known of them; a multiple of [`LANES`], filled up with places of no weight.
pub(super) struct Places {
    along: Vec<f64>,
    across: Vec<f32>,
    value: Vec<f32>,
    weight: Vec<f32>,
}

impl Places {
    /// Every so many of some places, so that about `most` are left.
    pub fn thinned(places: &[Beside], most: usize) -> Self {
        let some: Vec<Beside> = places.iter().step_by(places.len() / most + 1).copied().collect();
        let full = some.len().next_multiple_of(LANES);
        let filled = |of: fn(&Beside) -> f64| some.iter().map(of).chain(std::iter::repeat(0.0)).take(full);
        let narrow = |of| filled(of).map(|v| v as f32).collect();
        Self { along: filled(|p| p.0).collect(), across: narrow(|p| p.1), value: narrow(|p| p.2), weight: narrow(|p| p.3) }
    }
    /// Half width of the outline, shifted along the line, at each place.
    pub fn halves(&self, shape: &Shape, along: f64) -> Vec<f32> {
        self.along.iter().map(|s| shape.half_width(s - along) as f32).collect()
    }
    /// Height of a shadow and share of the variance that it explains, by weighted regression on its share. `halves`: by its shift along.
    pub fn test(&self, halves: &[f32], shadow: &Shadow) -> Option<(f64, f64)> {
        let [n, x, y, xx, xy, yy] = pulp::Arch::new().dispatch(Sums { places: self, halves, shadow });
        let (xx, xy, yy) = (xx - x * x / n, xy - x * y / n, yy - y * y / n);
        (n > 0.0 && xx > 1e-6 * n && yy > 0.0).then(|| (xy / xx, xy * xy / (xx * yy)))
    }
}

/// The weighted sums of a regression: 1, share, value, and their products.
struct Sums<'a> {
    places: &'a Places,
    halves: &'a [f32],
    shadow: &'a Shadow,
}

impl pulp::WithSimd for Sums<'_> {
    type Output = [f64; 6];
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> [f64; 6] {
        let (p, at, per) = (self.places, self.shadow.across as f32, (1.0 / self.shadow.soft) as f32);
        let mut sums = [[0f32; LANES]; 6];
        let rows = p.across.as_chunks::<LANES>().0.iter().zip(p.value.as_chunks::<LANES>().0);
        let more = p.weight.as_chunks::<LANES>().0.iter().zip(self.halves.as_chunks::<LANES>().0);
        for ((t, v), (w, half)) in rows.zip(more) {
            for i in 0..LANES {
                let t = t[i] - at;
                let share = cdf((t + half[i]) * per) - cdf((t - half[i]) * per);
                let (weighted, value) = (w[i] * share, w[i] * v[i]);
                sums[0][i] += w[i];
                sums[1][i] += weighted;
                sums[2][i] += value;
                sums[3][i] += weighted * share;
                sums[4][i] += weighted * v[i];
                sums[5][i] += value * v[i];
            }
        }
        sums.map(|lanes| lanes.iter().map(|v| f64::from(*v)).sum())
    }
}

/// Normal distribution function without an exponential (Abramowitz & Stegun 7.1.28, error of erf below 3e-7).
#[inline(always)]
fn cdf(z: f32) -> f32 {
    let x = z.abs() * std::f32::consts::FRAC_1_SQRT_2;
    let p = 1.0
        + x * (0.070_523_08
            + x * (0.042_282_01 + x * (0.009_270_527 + x * (0.000_152_014_3 + x * (0.000_276_567_2 + x * 0.000_043_063_8)))));
    let p4 = (p * p) * (p * p);
    let tail = 0.5 / ((p4 * p4) * (p4 * p4));
    if z < 0.0 { tail } else { 1.0 - tail }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::student::normal_cdf;

    /// Against the distribution of a general statistics library.
    #[test]
    fn the_quick_distribution_function_is_right_to_a_millionth() {
        for i in -60..=60 {
            let z = 0.1 * f64::from(i);
            assert!((f64::from(cdf(z as f32)) - normal_cdf(z)).abs() < 1e-6, "{z}");
        }
    }
}
