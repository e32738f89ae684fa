//! The photo's light on the face: a gain (one for all colours) and an offset by colour, by cells, smooth in between.
use nalgebra::Vector3;

const SIDE: usize = 10;

/// A smooth map of gain and offsets over the face.
#[derive(Clone, Debug)]
pub struct PhotometricModel {
    extent: f64,
    global: f64,
    cells: Vec<(f64, [f64; 3], f64)>,
}

/// One place of the face: dial point, photo colour, reference colour.
pub type Place = (f32, f32, [f32; 3], [f32; 3]);

impl PhotometricModel {
    /// Fits the light to places of static print and bare face; what the reference lacks (needle, glare spots) is weighed down.
    pub fn fit(places: &[Place], extent: f64) -> Self {
        let mut weights = vec![1f32; places.len()];
        let mut model = Self { extent, global: 1.0, cells: vec![(1.0, [0.0; 3], 0.0); SIDE * SIDE] };
        for _ in 0..4 {
            model.regress(places, &weights);
            let errors: Vec<f32> = places.iter().map(|p| model.error(p).norm() as f32).collect();
            let mut sorted = errors.clone();
            let mid = sorted.len() / 2;
            if sorted.is_empty() {
                break;
            }
            let typical = 1.4826 * *sorted.select_nth_unstable_by(mid, f32::total_cmp).1 + 0.5;
            weights.iter_mut().zip(&errors).for_each(|(w, e)| *w = 1.0 / (1.0 + (e / (1.5 * typical)).powi(2)));
        }
        model
    }
    /// Photo colour minus the reference in the photo's model.
    pub fn error(&self, p: &Place) -> Vector3<f64> {
        let (a, b) = self.at(p.0 as f64, p.1 as f64);
        Vector3::from_fn(|c, _| p.2[c] as f64 - a * p.3[c] as f64 - b[c])
    }
    /// Gain of the face as a whole.
    pub fn global(&self) -> f64 {
        self.global
    }
    /// Gain and offsets at a dial point.
    pub fn at(&self, x: f64, y: f64) -> (f64, [f64; 3]) {
        let mut out = (0.0, [0.0; 3]);
        for (cell, w) in around(self.extent, x, y) {
            let c = &self.cells[cell];
            out.0 += w * c.0;
            for k in 0..3 {
                out.1[k] += w * c.1[k];
            }
        }
        out
    }
    /// The same along one axis of colour.
    pub(super) fn along(&self, axis: &Vector3<f64>) -> AxisModel {
        let cells = self.cells.iter().map(|c| (c.0, axis.dot(&Vector3::from(c.1)))).collect();
        AxisModel { extent: self.extent, global: self.global, cells }
    }
    fn regress(&mut self, places: &[Place], weights: &[f32]) {
        // per cell: n, sum m (3), sum p (3), sum mm, sum mp (all colours)
        let mut sums = vec![[0f64; 9]; SIDE * SIDE];
        let at = |v: f32| (((v as f64 / self.extent + 1.0) * 0.5 * SIDE as f64).max(0.0) as usize).min(SIDE - 1);
        for (p, &w) in places.iter().zip(weights) {
            let s = &mut sums[at(p.1) * SIDE + at(p.0)];
            let w = w as f64;
            s[0] += w;
            for c in 0..3 {
                let (m, q) = (p.3[c] as f64, p.2[c] as f64);
                s[1 + c] += w * m;
                s[4 + c] += w * q;
                s[7] += w * m * m;
                s[8] += w * m * q;
            }
        }
        let centred = |s: &[f64; 9]| {
            let n = s[0].max(1e-9);
            let (mut var, mut cov) = (s[7], s[8]);
            for c in 0..3 {
                var -= s[1 + c] * s[1 + c] / n;
                cov -= s[1 + c] * s[4 + c] / n;
            }
            (var.max(0.0), cov)
        };
        let (var, cov, n) = sums.iter().fold((0.0, 0.0, 0.0), |t, s| {
            let (v, c) = centred(s);
            (t.0 + v, t.1 + c, t.2 + s[0])
        });
        let global = (cov / (var + 1e-9)).clamp(0.02, 5.0);
        self.global = global;
        for (s, cell) in sums.iter().zip(self.cells.iter_mut()) {
            let (v, c) = centred(s);
            let prior = 0.15 * var * s[0] / (n + 1e-9) + 1e-6;
            let a = ((c + prior * global) / (v + prior)).clamp(0.02 * global, 3.0 * global);
            let b = [0, 1, 2].map(|k| (s[4 + k] - a * s[1 + k]) / s[0].max(1e-9));
            *cell = (a, b, s[0]);
        }
        fill(&mut self.cells, global);
    }
}

/// A light along one axis of colour.
pub(super) struct AxisModel {
    extent: f64,
    /// Gain of the face as a whole.
    pub global: f64,
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
