//! The photo's light on the face: a gain by cells, coloured as the whole face's light is, and an offset by colour and cell, smooth in between.
use crate::maths::robust::high_median;
use nalgebra::Vector3;

const SIDE: usize = 10;

/// A smooth map of gain and offsets over the face.
#[derive(Clone, Debug)]
pub struct PhotometricModel {
    extent: f64,
    global: f64,
    /// Gain of each colour against the gain of all: print that is grey by day is orange by night.
    tint: Vector3<f64>,
    cells: Vec<(f64, [f64; 3], f64)>,
}

/// Weight of a gray light in the light's colour, as a share of the print there is: a colour that the print has little of says little of it.
const GREY: f64 = 0.1;
/// How far the tint may go, against the mean of the colours.
const TINT: [f64; 2] = [0.05, 3.0];
/// What print may differ from the model in any case, as a share of its contrast: without it what stands out clearest, print lit in the
/// dark, would be what fits worst.
const ANYWAY: f64 = 0.2;

/// How far a face may be darker against its print in the same light, in contrasts of the print, and most of one colour's gain over another's.
/// In the reference's own light they are 0.24 and 1.05 at most (five photographs looked at with their own dial file, six renderings of a
/// dial), by day and dusk the tint is 1.42 at most (renderings); of eight looks at needles that had lost their colour, one of them is 0.73 or
/// 1.49 at least. A lighter face says nothing: any reflection lays a veil over it.
const SAME_OFFSET: f64 = 0.35;
const SAME_TINT: f64 = 1.45;

/// One place of the face: dial point, photo colour, reference colour.
pub type Place = (f32, f32, [f32; 3], [f32; 3]);

impl PhotometricModel {
    /// Fits the light to places of static print and bare face; what the reference lacks (needle, glare spots) is weighed down.
    pub fn fit(places: &[Place], extent: f64) -> Self {
        let mut weights = vec![1f32; places.len()];
        let mut model = Self { extent, global: 1.0, tint: Vector3::repeat(1.0), cells: vec![(1.0, [0.0; 3], 0.0); SIDE * SIDE] };
        for _ in 0..4 {
            let paper = model.regress(places, &weights);
            let errors: Vec<f32> = places.iter().map(|p| model.error(p).norm() as f32).collect();
            let Some(middle) = high_median(errors.iter().copied()) else { break };
            let typical = 1.4826 * middle + 0.5;
            for ((w, e), p) in weights.iter_mut().zip(&errors).zip(places) {
                let print = ANYWAY as f32 * model.contrast(p, &paper);
                *w = 1.0 / (1.0 + e * e / (2.25 * (typical * typical + print * print)));
            }
        }
        model
    }
    /// Photo colour minus the reference in the photo's model.
    pub fn error(&self, p: &Place) -> Vector3<f64> {
        let (a, b) = self.at(p.0 as f64, p.1 as f64);
        Vector3::from_fn(|c, _| p.2[c] as f64 - a[c] * p.3[c] as f64 - b[c])
    }
    /// Levels by which the print at a place stands out in the photo's light. `paper`: mean reference colour by cell.
    fn contrast(&self, p: &Place, paper: &[[f32; 3]]) -> f32 {
        let cell = self.cell(p);
        let own = |c: usize| self.tint[c] as f32 * (p.3[c] - paper[cell][c]);
        self.cells[cell].0 as f32 * (own(0).powi(2) + own(1).powi(2) + own(2).powi(2)).sqrt()
    }
    fn cell(&self, p: &Place) -> usize {
        let at = |v: f32| (((v as f64 / self.extent + 1.0) * 0.5 * SIDE as f64).max(0.0) as usize).min(SIDE - 1);
        at(p.1) * SIDE + at(p.0)
    }
    /// Whether the light is another than the reference's, more or less of it apart: other colours, or a face that is darker against its
    /// print. `grey`: weights of the colours that make the print's contrast in the reference one.
    pub(super) fn is_other_light(&self, grey: &Vector3<f64>) -> bool {
        let (sum, n) = self.cells.iter().fold((0.0, 0.0), |(sum, n), c| (sum + grey.dot(&Vector3::from(c.1)) * c.2, n + c.2));
        -sum / f64::max(n, 1e-9) / self.global > SAME_OFFSET || self.tint.max() / self.tint.min() > SAME_TINT
    }
    /// Gain of the face as a whole.
    pub fn global(&self) -> f64 {
        self.global
    }
    /// Gain and offset by colour at a dial point.
    pub fn at(&self, x: f64, y: f64) -> (Vector3<f64>, [f64; 3]) {
        let mut out = (0.0, [0.0; 3]);
        for (cell, w) in around(self.extent, x, y) {
            let c = &self.cells[cell];
            out.0 += w * c.0;
            for k in 0..3 {
                out.1[k] += w * c.1[k];
            }
        }
        (self.tint * out.0, out.1)
    }
    /// The same along one axis of colour. `contrast`: the needle's colour against the paper in the reference.
    pub(super) fn along(&self, axis: &Vector3<f64>, contrast: &Vector3<f64>) -> AxisModel {
        let cells = self.cells.iter().map(|c| (c.0, axis.dot(&Vector3::from(c.1)))).collect();
        let axis = axis.component_mul(&self.tint);
        let unit = self.global * axis.dot(contrast).max(LEAST_UNIT);
        AxisModel { extent: self.extent, axis, global: self.global, unit: unit.max(0.05), cells }
    }
    /// Mean reference colour by cell.
    fn regress(&mut self, places: &[Place], weights: &[f32]) -> Vec<[f32; 3]> {
        let mut sums = vec![CellSums::default(); SIDE * SIDE];
        for (p, &w) in places.iter().zip(weights) {
            sums[self.cell(p)].add(p, f64::from(w));
        }
        let (var, cov, n) = sums.iter().fold((Vector3::zeros(), Vector3::zeros(), 0.0), |t: (Vector3<f64>, Vector3<f64>, f64), s| {
            let (v, c) = s.centred();
            (t.0 + v, t.1 + c, t.2 + s.n)
        });
        let common = (cov.sum() / (var.sum() + 1e-9)).clamp(0.02, 5.0);
        let grey = GREY * var.sum() / 3.0 + 1e-9;
        let tint = cov.zip_map(&var, |c, v| ((c + grey * common) / (v + grey) / common).clamp(TINT[0], TINT[1]));
        let mean = tint.sum() / 3.0;
        self.tint = tint / mean;
        self.global = (common * mean).clamp(0.02, 5.0);
        let of_tint = |v: &Vector3<f64>| v.dot(&self.tint.component_mul(&self.tint));
        for (s, cell) in sums.iter().zip(self.cells.iter_mut()) {
            let (v, c) = s.centred();
            let prior = 0.15 * of_tint(&var) * s.n / (n + 1e-9) + 1e-6;
            let a = (c.dot(&self.tint) + prior * self.global) / (of_tint(&v) + prior);
            let a = a.clamp(0.02 * self.global, 3.0 * self.global);
            let b = s.photo - self.tint.component_mul(&s.reference) * a;
            *cell = (a, (b / s.n.max(1e-9)).into(), s.n);
        }
        fill(&mut self.cells, self.global);
        sums.iter().map(|s| s.reference.map(|v| (v / s.n.max(1e-9)) as f32).into()).collect()
    }
}

/// Least evidence of the needle's own colour in the photo's light, against the reference's.
const LEAST_UNIT: f64 = 0.3;

/// Weighted sums of a cell: number, reference, photo, squares of the reference and products with the photo, by colour.
#[derive(Clone, Default)]
struct CellSums {
    n: f64,
    reference: Vector3<f64>,
    photo: Vector3<f64>,
    squares: Vector3<f64>,
    products: Vector3<f64>,
}

impl CellSums {
    fn add(&mut self, p: &Place, w: f64) {
        let (m, q) = (Vector3::from(p.3).map(f64::from), Vector3::from(p.2).map(f64::from));
        self.n += w;
        self.reference += m * w;
        self.photo += q * w;
        self.squares += m.component_mul(&m) * w;
        self.products += m.component_mul(&q) * w;
    }
    /// Sums about the means: of the reference's squares, and of the products.
    fn centred(&self) -> (Vector3<f64>, Vector3<f64>) {
        let mean = self.reference / self.n.max(1e-9);
        let var = self.squares - mean.component_mul(&self.reference);
        (var.map(|v| v.max(0.0)), self.products - mean.component_mul(&self.photo))
    }
}

/// A light along one axis of colour.
pub(super) struct AxisModel {
    extent: f64,
    /// Weights of the reference's colours in the photo's light.
    pub axis: Vector3<f64>,
    /// Gain of the face as a whole.
    pub global: f64,
    /// Evidence that a needle as in the reference shows in the photo's light.
    pub unit: f64,
    cells: Vec<(f64, f64)>,
}

impl AxisModel {
    /// Gain and offset at a dial point.
    #[inline]
    pub fn at(&self, x: f64, y: f64) -> (f64, f64) {
        around(self.extent, x, y).iter().fold((0.0, 0.0), |out, &(cell, w)| {
            let c = self.cells[cell];
            (out.0 + w * c.0, out.1 + w * c.1)
        })
    }
}

/// The four cells round a dial point and their weights.
#[inline]
fn around(extent: f64, x: f64, y: f64) -> [(usize, f64); 4] {
    let to = |v: f64| ((v / extent + 1.0) * 0.5 * SIDE as f64 - 0.5).clamp(0.0, SIDE as f64 - 1.001);
    let (u, v) = (to(x), to(y));
    let (i, j) = (u as usize, v as usize);
    let (fu, fv) = (u - i as f64, v - j as f64);
    let first = j * SIDE + i;
    [(first, (1.0 - fu) * (1.0 - fv)), (first + 1, fu * (1.0 - fv)), (first + SIDE, (1.0 - fu) * fv), (first + SIDE + 1, fu * fv)]
}

/// Cells without places take the mean of their neighbours, from the inside out.
fn fill(cells: &mut [(f64, [f64; 3], f64)], global: f64) {
    for _ in 0..SIDE {
        let before = cells.to_vec();
        for j in 0..SIDE {
            for i in 0..SIDE {
                if before[j * SIDE + i].2 > 8.0 {
                    continue;
                }
                let (mut n, mut b) = (0.0, [0.0; 3]);
                for (di, dj) in [(-1i64, 0i64), (1, 0), (0, -1), (0, 1)] {
                    let (u, v) = (i as i64 + di, j as i64 + dj);
                    if (0..SIDE as i64).contains(&u) && (0..SIDE as i64).contains(&v) {
                        let c = &before[v as usize * SIDE + u as usize];
                        if c.2 > 8.0 {
                            n += 1.0;
                            (0..3).for_each(|k| b[k] += c.1[k]);
                        }
                    }
                }
                if n > 0.0 {
                    cells[j * SIDE + i] = (global, b.map(|v| v / n), 9.0);
                }
            }
        }
    }
}
