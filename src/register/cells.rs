//! Cells of the face, each with its own light: sums of the normal equations with gain and offset projected out.
use super::align::ALL;
use nalgebra::{DMatrix, DVector};

/// Cells along one side.
const SIDE: usize = 12;
/// Number of cells.
pub const CELLS: usize = SIDE * SIDE;

/// The cell of a dial point in a face that reaches out to `extent` units.
pub fn cell_of(x: f64, y: f64, extent: f64) -> u16 {
    let at = |v: f64| (((v / extent + 1.0) * 0.5 * SIDE as f64).floor().max(0.0) as usize).min(SIDE - 1);
    (at(y) * SIDE + at(x)) as u16
}

/// Weighted sums of one cell over its samples.
#[derive(Clone, Debug)]
pub struct CellSums {
    m: usize,
    count: usize,
    // design rows: the m parameters, then gain (reference level) and offset (1)
    normal: [[f64; ALL + 2]; ALL + 2],
    right: [f64; ALL + 2],
}

impl CellSums {
    /// An empty cell for the first `m` parameters.
    pub fn new(m: usize) -> Self {
        Self { m, count: 0, normal: [[0.0; ALL + 2]; ALL + 2], right: [0.0; ALL + 2] }
    }
    /// Adds a sample: its derivatives, reference level, residual and weight.
    pub fn add(&mut self, j: &[f64; ALL], t: f64, residual: f64, weight: f64) {
        let m = self.m;
        let mut row = [0.0; ALL + 2];
        row[..m].copy_from_slice(&j[..m]);
        row[m] = t;
        row[m + 1] = 1.0;
        for (a, ra) in row.iter().enumerate().take(m + 2) {
            let wa = weight * ra;
            self.right[a] += wa * residual;
            for (sum, rb) in self.normal[a][a..m + 2].iter_mut().zip(&row[a..m + 2]) {
                *sum += wa * rb;
            }
        }
        self.count += 1;
    }
    /// Normal matrix and right side of the m parameters after gain and offset are eliminated; `None` for a thin cell.
    pub fn reduced(&self) -> Option<(DMatrix<f64>, DVector<f64>)> {
        let m = self.m;
        if self.count < 12 {
            return None;
        }
        let at = |a: usize, b: usize| if a <= b { self.normal[a][b] } else { self.normal[b][a] };
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
