//! One block of the needle's length: four levels (left flank, needle, right flank, shadow) are eliminated, the line's parameters remain.
use nalgebra::{Matrix4, SMatrix, SVector, Vector4};

/// Parameters of the line: offset, angle, change of half width, log blur, sideways shift of the tail, taper.
pub const LINE: usize = 6;
/// Square matrix of the line's parameters.
pub type LineMatrix = SMatrix<f64, LINE, LINE>;
/// Vector of the line's parameters.
pub type LineVector = SVector<f64, LINE>;

/// Weighted sums of a block: parameters (see [`LINE`]), levels (left, needle, right, shadow).
#[derive(Clone, Debug, Default)]
pub struct Block {
    /// Pixels.
    pub n: usize,
    levels: Matrix4<f64>,
    right: Vector4<f64>,
    cross: SMatrix<f64, LINE, 4>,
    normal: LineMatrix,
    gradient: LineVector,
}

impl Block {
    /// Adds a pixel to the sums for the levels alone: shares of left, needle, right, shadow and the value.
    #[inline(always)]
    pub fn add_levels(&mut self, share: &Vector4<f64>, value: f64, weight: f64) {
        self.n += 1;
        self.levels += share * share.transpose() * weight;
        self.right += share * (weight * value);
    }
    /// Levels by least squares; the flanks are drawn to each other, the needle to `usual` above them, the shadow to `shade`, weakly.
    pub fn solve(&self, usual: f64, shade: f64) -> Option<Vector4<f64>> {
        let total = self.levels.trace();
        if self.n < 6 || total <= 0.0 {
            return None;
        }
        let (_, q, r) = priors();
        let e = PRIOR * total;
        Some((self.levels + held(e)).try_inverse()? * (self.right + (q * usual + r * shade) * e))
    }
    /// Adds a pixel to the sums for the line: derivatives, shares, residual, weight.
    #[inline(always)]
    pub fn add_line(&mut self, j: &LineVector, share: &Vector4<f64>, residual: f64, weight: f64) {
        self.normal += j * j.transpose() * weight;
        self.gradient += j * (weight * residual);
        self.cross += j * share.transpose() * weight;
    }
    /// Normal matrix and right side of the line's parameters with the levels eliminated. The residuals must be those of the
    /// solved levels, so that the levels' own gradient is (nearly) zero.
    pub fn reduced(&self) -> Option<(LineMatrix, LineVector)> {
        let inverse = (self.levels + held(PRIOR * self.levels.trace())).try_inverse()?;
        Some((self.normal - self.cross * inverse * self.cross.transpose(), self.gradient))
    }
}

/// Weight of what is expected of the levels, as a share of the data's.
const PRIOR: f64 = 0.02;

/// left - right = 0; needle - mean(flanks) = its usual step; shadow = its usual height.
fn priors() -> (Vector4<f64>, Vector4<f64>, Vector4<f64>) {
    (Vector4::new(1.0, 0.0, -1.0, 0.0), Vector4::new(-0.5, 1.0, -0.5, 0.0), Vector4::new(0.0, 0.0, 0.0, 1.0))
}

/// The normal matrix of the priors, each with this weight.
fn held(weight: f64) -> Matrix4<f64> {
    let (p, q, r) = priors();
    (p * p.transpose() + q * q.transpose() + r * r.transpose()) * weight
}
