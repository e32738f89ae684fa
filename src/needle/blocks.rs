//! One block of the needle's length: three levels (left flank, needle, right flank) are eliminated, the line's parameters remain.
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// Parameters of the line: offset, angle, change of half width, log blur, sideways shift of the tail, taper.
pub const LINE: usize = 6;
/// Square matrix of the line's parameters.
pub type LineMatrix = SMatrix<f64, LINE, LINE>;
/// Vector of the line's parameters.
pub type LineVector = SVector<f64, LINE>;

/// Weighted sums of a block: parameters (see [`LINE`]), levels (left, needle, right).
#[derive(Clone, Debug, Default)]
pub struct Block {
    /// Pixels.
    pub n: usize,
    levels: Matrix3<f64>,
    right: Vector3<f64>,
    cross: SMatrix<f64, LINE, 3>,
    normal: LineMatrix,
    gradient: LineVector,
}

impl Block {
    /// Adds a pixel to the sums for the levels alone: shares of left, needle, right and the value.
    pub fn add_levels(&mut self, share: &Vector3<f64>, value: f64, weight: f64) {
        self.n += 1;
        self.levels += share * share.transpose() * weight;
        self.right += share * (weight * value);
    }
    /// Levels by least squares; the flanks are drawn to each other, the needle to `usual` above them, weakly.
    pub fn solve(&self, usual: f64) -> Option<Vector3<f64>> {
        let total = self.levels.trace();
        if self.n < 6 || total <= 0.0 {
            return None;
        }
        // priors: left - right = 0 and needle - mean(flanks) = usual, each worth a few per cent of the data
        let e = 0.02 * total;
        let (p, q) = (Vector3::new(1.0, 0.0, -1.0), Vector3::new(-0.5, 1.0, -0.5));
        let n = self.levels + p * p.transpose() * e + q * q.transpose() * e;
        Some(n.try_inverse()? * (self.right + q * (usual * e)))
    }
    /// Adds a pixel to the sums for the line: derivatives, shares, residual, weight.
    pub fn add_line(&mut self, j: &LineVector, share: &Vector3<f64>, residual: f64, weight: f64) {
        self.normal += j * j.transpose() * weight;
        self.gradient += j * (weight * residual);
        self.cross += j * share.transpose() * weight;
    }
    /// Normal matrix and right side of the line's parameters with the levels eliminated. The residuals must be those of the
    /// solved levels, so that the levels' own gradient is (nearly) zero.
    pub fn reduced(&self) -> Option<(LineMatrix, LineVector)> {
        let e = 0.02 * self.levels.trace();
        let (p, q) = (Vector3::new(1.0, 0.0, -1.0), Vector3::new(-0.5, 1.0, -0.5));
        let inverse = (self.levels + p * p.transpose() * e + q * q.transpose() * e).try_inverse()?;
        Some((self.normal - self.cross * inverse * self.cross.transpose(), self.gradient))
    }
}
