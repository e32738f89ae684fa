//! The photo's light on the print: a gain and an offset for each cell, robust weights for each pixel.
use super::cells::CELLS;
use super::samples::Sample;
use crate::maths::robust::high_median;

/// What one cell says of the model.
#[derive(Clone, Copy, Debug, Default)]
pub struct CellModel {
    /// Gain and offset.
    pub gain_offset: (f64, f64),
    /// Correlation of photo and reference.
    pub correlation: f64,
    /// Sum of squared print deviations in the cell: how much there is to compare.
    pub print: f64,
    /// The same of the photo, and the number of pixels.
    photo: f64,
    count: f64,
    /// The photo shows clear structure here, but not that of the print: another numeral, another dial.
    pub contradicts: bool,
}

impl CellModel {
    /// Correlation of the reference with what the photo would show without its `grain` (levels): noise in the photo alone lowers a
    /// correlation by the root of the share that it has of the photo's variance (C. Spearman, Am. J. Psychol. 15, 1904, 72, attenuation).
    pub fn agreement(&self, grain: f64) -> f64 {
        let share = 1.0 - self.count * grain * grain / (self.photo + 1e-9);
        (self.correlation / share.max(LEAST_SHARE).sqrt()).clamp(-1.0, 1.0)
    }
}

/// Least share of a cell's variance that counts as more than grain: fine print and cloth look like grain too, so no agreement grows by more
/// than an eighth.
const LEAST_SHARE: f64 = 0.8;

/// Gains and offsets by cell, robust weights by sample, robust noise.
pub fn model(s: &[Sample], judge_cells: bool) -> (Vec<CellModel>, Vec<f32>, f64) {
    pulp::Arch::new().dispatch(Fit { samples: s, judge_cells })
}

/// The fit of the light as work for the processor's widest vectors.
struct Fit<'a> {
    samples: &'a [Sample],
    judge_cells: bool,
}

impl pulp::WithSimd for Fit<'_> {
    type Output = (Vec<CellModel>, Vec<f32>, f64);
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        fitted(self.samples, self.judge_cells)
    }
}

#[inline(always)]
fn fitted(s: &[Sample], judge_cells: bool) -> (Vec<CellModel>, Vec<f32>, f64) {
    let mut weights = vec![1f32; s.len()];
    let mut cells = vec![CellModel::default(); CELLS];
    let mut noise = 1.0;
    let mut residual = vec![0f32; s.len()];
    for pass in 0..3 {
        regress(s, &weights, &mut cells, pass == 0);
        for (r, p) in residual.iter_mut().zip(s) {
            let (a, b) = cells[p.cell as usize].gain_offset;
            *r = p.i - a as f32 * p.t - b as f32;
        }
        let median = high_median(residual.iter().map(|r| r.abs())).unwrap_or(0.0);
        noise = (1.4826 * median as f64).max(0.3);
        for ((w, r), p) in weights.iter_mut().zip(&residual).zip(s) {
            let z = *r / (2.5 * noise as f32);
            *w = 1.0 / (1.0 + z * z);
            if judge_cells {
                *w *= (((cells[p.cell as usize].correlation - 0.25) / 0.4).clamp(0.0, 1.0)) as f32;
            }
        }
    }
    weights.iter_mut().for_each(|w| *w /= (noise * noise) as f32);
    contradict(&mut cells, noise);
    (cells, weights, noise)
}

/// Marks the cells whose structure is clear in the photo, as strong as the print should be there, and yet not the print's.
fn contradict(cells: &mut [CellModel], noise: f64) {
    let good: Vec<&CellModel> = cells.iter().filter(|c| c.correlation > 0.6).collect();
    let weight: f64 = good.iter().map(|c| c.print).sum();
    let gain = good.iter().map(|c| c.print * c.gain_offset.0).sum::<f64>() / (weight + 1e-9);
    for c in cells.iter_mut() {
        let grain = c.count * noise * noise;
        let expected = gain * gain * c.print;
        c.contradicts = c.correlation < 0.45 && expected > 4.0 * grain && c.photo - grain > 0.3 * expected;
    }
}

#[inline(always)]
fn regress(s: &[Sample], weights: &[f32], cells: &mut [CellModel], plain: bool) {
    let mut m = vec![[0f64; 6]; CELLS];
    for (p, &w) in s.iter().zip(weights) {
        let (c, w, t, i) = (&mut m[p.cell as usize], if plain { 1.0 } else { w as f64 + 1e-6 }, p.t as f64, p.i as f64);
        for (a, v) in c.iter_mut().zip([1.0, t, i, t * t, t * i, i * i]) {
            *a += w * v;
        }
    }
    let (mut cov_all, mut var_all, mut n_all) = (0.0, 0.0, 0.0);
    for c in m.iter().filter(|c| c[0] > 0.0) {
        cov_all += c[4] - c[1] * c[2] / c[0];
        var_all += c[3] - c[1] * c[1] / c[0];
        n_all += c[0];
    }
    let a0 = (cov_all / (var_all + 1e-9)).max(0.02);
    for (c, l) in m.iter().zip(cells.iter_mut()).filter(|(c, _)| c[0] > 0.0) {
        let cov = c[4] - c[1] * c[2] / c[0];
        // of equal levels rounding leaves a little less than nothing, whose root is no number
        let [var, vi] = [c[3] - c[1] * c[1] / c[0], c[5] - c[2] * c[2] / c[0]].map(|v| v.max(0.0));
        let prior = 0.05 * c[0] * var_all / n_all;
        let a = ((cov + prior * a0) / (var + prior + 1e-9)).clamp(0.0, 4.0 * a0);
        l.gain_offset = (a, (c[2] - a * c[1]) / c[0]);
        if plain {
            l.correlation = cov / (var * vi + 1e-9).sqrt();
            (l.print, l.photo, l.count) = (var, vi, c[0]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cells of equal levels in the photo, in the reference and in both: their sums cancel to rounding.
    #[test]
    fn cells_of_equal_levels_agree_to_a_number() {
        let at = |cell: u16, i: f32, t: f32| Sample { cell, i, t, gx: 0.0, gy: 0.0, x: 0.0, y: 0.0, bl: [0.0; 3] };
        let mut cancelled = 0;
        for level in 1..200u16 {
            let (l, n) = (f32::from(level) / 3.0, 100 + 37 * usize::from(level % 7));
            let samples: Vec<Sample> =
                (0..n).flat_map(|k| [at(0, l, l), at(1, l, k as f32), at(2, k as f32, l), at(3, k as f32, k as f32)]).collect();
            let (cells, ..) = model(&samples, true);
            for c in &cells[..4] {
                assert!(c.print >= 0.0 && c.photo >= 0.0 && c.agreement(1.0).is_finite(), "{level}: {c:?}");
            }
            let sum = |of: fn(f32) -> f64| samples.iter().filter(|s| s.cell == 0).map(|s| of(s.t)).sum::<f64>();
            cancelled += usize::from(sum(|t| f64::from(t).powi(2)) - sum(f64::from).powi(2) / (n as f64) < 0.0);
        }
        assert!(cancelled > 10, "no sum fell below nothing: the case shows nothing");
    }
}
