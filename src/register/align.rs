//! Direct alignment of a photo to the printed reference face.
//!
//! Every photo pixel p near print is compared with the blurred reference at q = W p (dial plane): I(p) = a_c T(q) + b_c, with a
//! gain and an offset for each cell c of the face, so that shade, vignetting and glare do not pull. Gauss–Newton on the eight
//! parameters of a small homography on the dial side, W <- (1 + D) W, gains and offsets projected out cell by cell; robust
//! weights for what the reference does not have. Measuring on the photo's own pixels keeps their noise independent.
use super::cells::{CELLS, CellSums, cell_of};
use super::template::{Blur, Template};
use crate::base::pose::project;
use crate::photo::Plane;
use nalgebra::{DMatrix, DVector, Matrix3};

/// Number of geometric parameters.
pub const GEOMETRY: usize = 8;
/// Geometry and blur.
pub const ALL: usize = 11;

/// One photo pixel against the reference.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Cell of the face.
    pub cell: u16,
    /// Photo level.
    pub i: f32,
    /// Reference level.
    pub t: f32,
    /// Derivatives of the reference per dial unit (x right, y up).
    pub gx: f32,
    /// See `gx`.
    pub gy: f32,
    /// Dial point.
    pub x: f32,
    /// Dial point.
    pub y: f32,
    /// Second derivatives per canonical px², halved: change per unit of blur covariance.
    pub bl: [f32; 3],
}

/// The state of an alignment.
#[derive(Clone, Debug)]
pub struct Aligned {
    /// Photo px to dial plane.
    pub w: Matrix3<f64>,
    /// Blur covariance of the photo against the reference, canonical px².
    pub blur: Blur,
    /// Covariance of the eight parameters (dial side), cluster-robust.
    pub covariance: DMatrix<f64>,
    /// Per cell: variance of the reference print (weight) and correlation with the photo.
    pub cells: Vec<(f64, f64)>,
    /// Per cell: gain and offset.
    pub light: Vec<(f64, f64)>,
    /// Robust noise of the comparison, photo levels.
    pub noise: f64,
    /// Length of the last step, dial units.
    pub step: f64,
}

/// Photo pixels that compare with print.
pub fn samples(photo: &Plane, template: &Template, w: &Matrix3<f64>, extent: f64, with_blur: bool) -> Vec<Sample> {
    let mut out = Vec::new();
    let Some(h) = w.try_inverse() else { return out };
    let Some((x0, y0, x1, y1)) = bounds(&h, extent, photo) else { return out };
    let (n, k) = (template.n, template.k);
    let c = (n as f64 - 1.0) / 2.0;
    let top = n as f64 - 3.0;
    for py in y0..=y1 {
        let y = py as f64;
        let row = [0, 1, 2].map(|r| w[(r, 1)] * y + w[(r, 2)]);
        for px in x0..=x1 {
            let x = px as f64;
            let z = 1.0 / (row[2] + w[(2, 0)] * x);
            let (qx, qy) = ((row[0] + w[(0, 0)] * x) * z, (row[1] + w[(1, 0)] * x) * z);
            let (u, v) = (c + k * qx, c - k * qy);
            if !(u >= 2.0 && v >= 2.0 && u < top && v < top) || !template.mask[(v + 0.5) as usize * n + (u + 0.5) as usize] {
                continue;
            }
            let kf = k as f32;
            let (tx, ty) = (template.tx.clamped(u, v), template.ty.clamped(u, v));
            let bl = if with_blur { second(template, u, v) } else { [0.0; 3] };
            out.push(Sample {
                cell: cell_of(qx, qy, extent),
                i: photo.data[py * photo.width + px],
                t: template.t.bicubic(u, v),
                gx: tx * kf,
                gy: -ty * kf,
                x: qx as f32,
                y: qy as f32,
                bl,
            });
        }
    }
    out
}

/// Second derivatives of the reference, halved: change of level per unit of blur covariance.
fn second(template: &Template, u: f64, v: f64) -> [f32; 3] {
    [
        0.25 * (template.tx.clamped(u + 1.0, v) - template.tx.clamped(u - 1.0, v)),
        0.5 * (template.tx.clamped(u, v + 1.0) - template.tx.clamped(u, v - 1.0)),
        0.25 * (template.ty.clamped(u, v + 1.0) - template.ty.clamped(u, v - 1.0)),
    ]
}

/// Photo rectangle that holds the dial out to `extent` units; `None` when it lies outside the picture.
pub fn bounds(h: &Matrix3<f64>, extent: f64, photo: &Plane) -> Option<(usize, usize, usize, usize)> {
    let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    for i in 0..32 {
        let (s, c) = (i as f64 * std::f64::consts::PI / 16.0).sin_cos();
        let q = project(h, extent * s, extent * c);
        if !(q.x.is_finite() && q.y.is_finite()) {
            return None;
        }
        (x0, y0, x1, y1) = (x0.min(q.x), y0.min(q.y), x1.max(q.x), y1.max(q.y));
    }
    let (x0, y0) = (x0.max(1.0), y0.max(1.0));
    let (x1, y1) = (x1.min(photo.width as f64 - 2.0), y1.min(photo.height as f64 - 2.0));
    (x1 > x0 + 8.0 && y1 > y0 + 8.0).then(|| (x0 as usize, y0 as usize, x1 as usize, y1 as usize))
}

/// Where the map is expected: photo px to dial plane, and the information (inverse covariance) of the eight parameters about it.
#[derive(Clone, Debug)]
pub struct Prior {
    /// Expected map.
    pub w: Matrix3<f64>,
    /// Information.
    pub information: DMatrix<f64>,
}

impl Prior {
    /// The eight parameters by which `w` differs from the expected map.
    fn difference(&self, w: &Matrix3<f64>) -> Option<DVector<f64>> {
        let d = w * self.w.try_inverse()?;
        let d = d / d[(2, 2)];
        Some(DVector::from_vec(vec![d[(0, 0)] - 1.0, d[(0, 1)], d[(0, 2)], d[(1, 0)], d[(1, 1)] - 1.0, d[(1, 2)], d[(2, 0)], d[(2, 1)]]))
    }
}

/// What an alignment estimates, and how long.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    /// Units out to which the face is compared.
    pub extent: f64,
    /// Most rounds of Gauss-Newton.
    pub rounds: usize,
    /// The template's blur, when its change is to be estimated too.
    pub blur: Option<Blur>,
    /// Holds the map near an expected one.
    pub prior: Option<&'a Prior>,
}

/// Aligns at a fixed template from a starting map; `None` when too little print is seen.
pub fn align(photo: &Plane, template: &Template, start: &Matrix3<f64>, task: Task) -> Option<Aligned> {
    let mut w = *start;
    let mut state = None;
    for round in 0..task.rounds.max(1) {
        let s = samples(photo, template, &w, task.extent, task.blur.is_some());
        if s.len() < 60 {
            return None;
        }
        let a = one_round(&s, &w, &task, round > 0 || task.rounds <= 2)?;
        w = a.w;
        let small = a.step * template.k < 0.004;
        state = Some(a);
        if small {
            break;
        }
    }
    state
}

fn one_round(s: &[Sample], w: &Matrix3<f64>, task: &Task, judge_cells: bool) -> Option<Aligned> {
    let (sums, weights, noise) = light(s, judge_cells);
    let mut system = System::new(s, &weights, &sums, task.blur.is_some());
    if let Some(prior) = task.prior {
        system.hold(prior, w)?;
    }
    let inverse = system.inverse()?;
    let mut x = &inverse * &system.right;
    let size = x.iter().take(GEOMETRY).fold(0.0f64, |a, b| a.max(b.abs()));
    if size > 0.08 {
        x *= 0.08 / size;
    }
    let d = Matrix3::new(1.0 + x[0], x[1], x[2], x[3], 1.0 + x[4], x[5], x[6], x[7], 1.0);
    Some(Aligned {
        w: d * w,
        blur: task.blur.map_or([0.0; 3], |b| [b[0] + x[8], b[1] + x[9], b[2] + x[10]]),
        covariance: system.covariance(&inverse),
        cells: sums.iter().map(|c| (c.print, c.correlation)).collect(),
        light: sums.iter().map(|c| c.light).collect(),
        noise,
        step: size.min(0.08),
    })
}

/// Normal equations of a round, and the scores of the cells from which the covariance is built.
struct System {
    normal: DMatrix<f64>,
    right: DVector<f64>,
    scores: Vec<DVector<f64>>,
    prior: DMatrix<f64>,
}

impl System {
    fn new(s: &[Sample], weights: &[f32], sums: &[CellLight], with_blur: bool) -> Self {
        let m = if with_blur { ALL } else { GEOMETRY };
        let mut cells: Vec<CellSums> = (0..CELLS).map(|_| CellSums::new(m)).collect();
        for (p, &wt) in s.iter().zip(weights) {
            if wt > 1e-4 {
                let (a, b) = sums[p.cell as usize].light;
                cells[p.cell as usize].add(&jacobian(p, a as f32), p.t as f64, (p.i as f64) - a * p.t as f64 - b, wt as f64);
            }
        }
        let mut out =
            Self { normal: DMatrix::zeros(m, m), right: DVector::zeros(m), scores: Vec::new(), prior: DMatrix::zeros(GEOMETRY, GEOMETRY) };
        for (n, v) in cells.iter().filter_map(CellSums::reduced) {
            out.normal += n;
            out.right += &v;
            out.scores.push(v);
        }
        out
    }
    fn hold(&mut self, prior: &Prior, w: &Matrix3<f64>) -> Option<()> {
        let pull = &prior.information * prior.difference(w)?;
        let mut corner = self.normal.view_mut((0, 0), (GEOMETRY, GEOMETRY));
        corner += &prior.information;
        let mut right = self.right.rows_mut(0, GEOMETRY);
        right -= pull;
        self.prior = prior.information.clone();
        Some(())
    }
    fn inverse(&self) -> Option<DMatrix<f64>> {
        let mut n = self.normal.clone();
        let m = n.nrows();
        let ridge = 1e-7 * n.trace() / m as f64 + 1e-9;
        for i in 0..m {
            n[(i, i)] += ridge;
        }
        Some(n.cholesky()?.inverse())
    }
    /// Cluster-robust: cells are the clusters, so that noise which neighbours share counts as one. A prior counts with its own width.
    fn covariance(&self, inverse: &DMatrix<f64>) -> DMatrix<f64> {
        let m = inverse.nrows();
        let mut meat = self.scores.iter().fold(DMatrix::zeros(m, m), |b, g| b + g * g.transpose());
        meat *= self.scores.len() as f64 / (self.scores.len() as f64 - m as f64).max(1.0);
        let mut corner = meat.view_mut((0, 0), (GEOMETRY, GEOMETRY));
        corner += &self.prior;
        let robust = inverse * meat * inverse;
        robust.view((0, 0), (GEOMETRY, GEOMETRY)).into_owned()
    }
}

fn jacobian(p: &Sample, a: f32) -> [f64; ALL] {
    let (gx, gy, x, y) = ((a * p.gx) as f64, (a * p.gy) as f64, p.x as f64, p.y as f64);
    let q = gx * x + gy * y;
    let b = |i: usize| (a * p.bl[i]) as f64;
    [gx * x, gx * y, gx, gy * x, gy * y, gy, -q * x, -q * y, b(0), b(1), b(2)]
}

/// What one cell says of the light.
#[derive(Clone, Copy, Debug, Default)]
struct CellLight {
    light: (f64, f64),
    correlation: f64,
    /// Sum of squared print deviations in the cell: how much there is to compare.
    print: f64,
}

/// Gains and offsets by cell, robust weights by sample, robust noise.
fn light(s: &[Sample], judge_cells: bool) -> (Vec<CellLight>, Vec<f32>, f64) {
    let mut weights = vec![1f32; s.len()];
    let mut cells = vec![CellLight::default(); CELLS];
    let mut noise = 1.0;
    let mut residual = vec![0f32; s.len()];
    for pass in 0..3 {
        regress(s, &weights, &mut cells, pass == 0);
        for (r, p) in residual.iter_mut().zip(s) {
            let (a, b) = cells[p.cell as usize].light;
            *r = p.i - a as f32 * p.t - b as f32;
        }
        let mut size: Vec<f32> = residual.iter().map(|r| r.abs()).collect();
        let mid = size.len() / 2;
        let (_, median, _) = size.select_nth_unstable_by(mid, f32::total_cmp);
        noise = (1.4826 * *median as f64).max(0.3);
        for ((w, r), p) in weights.iter_mut().zip(&residual).zip(s) {
            let z = *r / (2.5 * noise as f32);
            *w = 1.0 / (1.0 + z * z);
            if judge_cells {
                *w *= (((cells[p.cell as usize].correlation - 0.25) / 0.4).clamp(0.0, 1.0)) as f32;
            }
        }
    }
    weights.iter_mut().for_each(|w| *w /= (noise * noise) as f32);
    (cells, weights, noise)
}

fn regress(s: &[Sample], weights: &[f32], cells: &mut [CellLight], plain: bool) {
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
        let (cov, var, vi) = (c[4] - c[1] * c[2] / c[0], c[3] - c[1] * c[1] / c[0], c[5] - c[2] * c[2] / c[0]);
        let prior = 0.05 * c[0] * var_all / n_all;
        let a = ((cov + prior * a0) / (var + prior + 1e-9)).clamp(0.0, 4.0 * a0);
        l.light = (a, (c[2] - a * c[1]) / c[0]);
        if plain {
            l.correlation = cov / (var * vi + 1e-9).sqrt();
            l.print = var;
        }
    }
}
