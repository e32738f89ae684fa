//! The places beside the needle and what a shadow explains of them: a hot path, run with the widest vectors that the processor has.
use super::shape::{Shadow, Shape};
use crate::maths::normal::single_normal_cdf;

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
                let share = single_normal_cdf((t + half[i]) * per) - single_normal_cdf((t - half[i]) * per);
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
