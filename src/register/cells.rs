//! Cells of the face, each with its own light: sums of the normal equations with gain and offset projected out.
use nalgebra::{DMatrix, DVector};

/// Number of geometric parameters.
pub const GEOMETRY: usize = 8;
/// Geometry and blur.
pub const ALL: usize = 11;

/// Cells along one side.
const SIDE: usize = 12;
/// Number of cells.
pub const CELLS: usize = SIDE * SIDE;

/// The cell of a dial point in a face that reaches out to `extent` units.
#[inline(always)]
pub fn cell_of(x: f64, y: f64, extent: f64) -> u16 {
    // truncated, and below 0 it is 0
    let at = |v: f64| (((v / extent + 1.0) * 0.5 * SIDE as f64) as usize).min(SIDE - 1);
    (at(y) * SIDE + at(x)) as u16
}

/// Weighted sums of one cell over its samples.
#[derive(Clone, Debug)]
pub struct CellSums {
    m: usize,
    count: usize,
    // design rows: the m parameters, then gain (reference level) and offset (1)
    normal: [[f64; WIDTH]; ALL + 2],
    right: [f64; WIDTH],
}

/// The parameters, gain and offset, filled up to whole vectors.
const WIDTH: usize = (ALL + 2).next_multiple_of(8);

impl CellSums {
    /// An empty cell for the first `m` parameters.
    pub fn new(m: usize) -> Self {
        Self { m, count: 0, normal: [[0.0; WIDTH]; ALL + 2], right: [0.0; WIDTH] }
    }
    /// Adds a sample: its derivatives, reference level, residual and weight.
    #[inline(always)]
    pub fn add(&mut self, j: &[f64; ALL], t: f64, residual: f64, weight: f64) {
        let m = self.m;
        let mut row = [0.0; WIDTH];
        row[..m].copy_from_slice(&j[..m]);
        row[m] = t;
        row[m + 1] = 1.0;
        for (sums, ra) in self.normal.iter_mut().zip(&row[..m + 2]) {
            let wa = weight * ra;
            // whole rows of a fixed width, though half would do: they fill vectors
            sums.iter_mut().zip(&row).for_each(|(sum, rb)| *sum += wa * rb);
        }
        let wr = weight * residual;
        self.right.iter_mut().zip(&row).for_each(|(sum, r)| *sum += wr * r);
        self.count += 1;
    }
    /// Normal matrix and right side of the m parameters after gain and offset are eliminated; `None` for a thin cell.
    pub fn reduced(&self) -> Option<(DMatrix<f64>, DVector<f64>)> {
        let m = self.m;
        if self.count < 12 {
            return None;
        }
        let at = |a: usize, b: usize| self.normal[a.min(b)][a.max(b)];
        // the 2 x 2 block of gain and offset; a little is added to the gain, which has a prior
        let (tt, t1, n1) = (at(m, m) * 1.02 + 1e-9, at(m, m + 1), at(m + 1, m + 1) + 1e-12);
        let det = tt * n1 - t1 * t1;
        if det <= 0.0 {
            return None;
        }
        let inv = [[n1 / det, -t1 / det], [-t1 / det, tt / det]];
        let solve = |u: f64, v: f64| [inv[0][0] * u + inv[0][1] * v, inv[1][0] * u + inv[1][1] * v];
        let mut n = DMatrix::zeros(m, m);
        let mut r = DVector::zeros(m);
        let rs = solve(self.right[m], self.right[m + 1]);
        for a in 0..m {
            r[a] = self.right[a] - at(a, m) * rs[0] - at(a, m + 1) * rs[1];
            for b in 0..m {
                let s = solve(at(b, m), at(b, m + 1));
                n[(a, b)] = at(a, b) - at(a, m) * s[0] - at(a, m + 1) * s[1];
            }
        }
        Some((n, r))
    }
}
