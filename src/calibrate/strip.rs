//! The reference face straight on with its paper colour taken off, and strips cut from it along a line.
use crate::maths::homography::PlaneInPhoto;
use crate::maths::robust::{high_median, ranked};
use crate::photo::Plane;
use crate::register::face::LineFrame;
use nalgebra::Vector3;

/// Straight-on colour picture minus the paper's colour by radius.
#[derive(Debug)]
pub struct Sheet {
    planes: [Plane; 3],
    /// The paper's levels by radius in px.
    paper: [Vec<f32>; 3],
    /// px per unit.
    pub k: f64,
    centre: f64,
}

const EXTENT: f64 = 1.12;

impl Sheet {
    /// From the photo's colour planes; `low..high` are the angles between which the face is bare paper but for its print.
    pub fn new(channels: &[Plane; 3], h: &PlaneInPhoto, k: f64, low: f64, high: f64) -> Self {
        let n = 2 * (k * EXTENT).ceil() as usize + 1;
        let centre = (n as f64 - 1.0) / 2.0;
        let [red, green, blue] = [0, 1, 2].map(|c| {
            let mut p = Plane::from_fn(n, n, |i, j| {
                let q = h.at((i as f64 - centre) / k, (centre - j as f64) / k);
                channels[c].clamped(q.x, q.y)
            });
            let paper = paper_by_radius(&p, centre, k, low, high);
            for j in 0..n {
                for i in 0..n {
                    let r = ((i as f64 - centre).hypot(j as f64 - centre) as usize).min(paper.len() - 1);
                    p.data[j * n + i] -= paper[r];
                }
            }
            (p.gaussian(0.8), paper)
        });
        Self { planes: [red.0, green.0, blue.0], paper: [red.1, green.1, blue.1], k, centre }
    }
    /// The paper's usual colour between two radii.
    pub fn paper(&self, from: f64, to: f64) -> Vector3<f64> {
        let at = |r: f64, n: usize| ((r * self.k) as usize).min(n);
        Vector3::from_fn(|c, _| {
            let levels = &self.paper[c];
            let (a, b) = (at(from, levels.len()), at(to, levels.len()));
            high_median(levels[a.min(b)..b].iter().map(|v| f64::from(*v))).unwrap_or(0.0)
        })
    }
    /// Colour minus paper at `s` along and `t` to the right of the direction.
    pub fn at(&self, angle: f64, s: f64, t: f64) -> Vector3<f64> {
        let (x, y) = LineFrame::new(angle, 0.0).point(s, t);
        let (u, v) = (self.centre + self.k * x, self.centre - self.k * y);
        Vector3::new(self.planes[0].clamped(u, v) as f64, self.planes[1].clamped(u, v) as f64, self.planes[2].clamped(u, v) as f64)
    }
}

/// Takes the median colour of both flanks off a row, so that light which changes over the face does not matter.
fn take_off_flanks(row: &mut [Vector3<f64>], t: &[f64]) {
    for c in 0..3 {
        let Some(flank) = high_median(row.iter().zip(t).filter(|(_, t)| t.abs() > 0.085).map(|(p, _)| p[c])) else { return };
        row.iter_mut().for_each(|p| p[c] -= flank);
    }
}

fn paper_by_radius(p: &Plane, centre: f64, k: f64, low: f64, high: f64) -> Vec<f32> {
    let n = (1.1 * k) as usize;
    let median: Vec<f32> = (0..n)
        .map(|r| {
            let steps = ((high - low + 20.0) / 0.7) as usize;
            let at = |i: usize| {
                let (s, c) = (low - 10.0 + 0.7 * i as f64).to_radians().sin_cos();
                p.clamped(centre + r as f64 * s, centre - r as f64 * c)
            };
            high_median((0..steps).map(at)).unwrap_or(0.0)
        })
        .collect();
    (0..n)
        .map(|i| {
            let w = &median[i.saturating_sub(6)..(i + 7).min(n)];
            w.iter().sum::<f32>() / w.len() as f32
        })
        .collect()
}

/// A strip along a line: rows at radii `s`, columns at offsets `t`.
#[derive(Debug)]
pub struct Strip {
    /// Radii.
    pub s: Vec<f64>,
    /// Offsets.
    pub t: Vec<f64>,
    /// px per unit.
    pub k: f64,
    cells: Vec<Vec<Vector3<f64>>>,
}

impl Strip {
    /// Cuts the strip about a line at this angle and offset.
    pub fn cut(sheet: &Sheet, angle: f64, offset: f64, k: f64) -> Self {
        let s: Vec<f64> = (0..(1.66 * k) as usize).map(|i| -0.6 + i as f64 / k).collect();
        let half = (0.16 * k).round() as i64;
        let t: Vec<f64> = (-half..=half).map(|i| i as f64 / k).collect();
        let cells = s
            .iter()
            .map(|&s| {
                let mut row: Vec<Vector3<f64>> = t.iter().map(|&t| sheet.at(angle, s, t + offset)).collect();
                take_off_flanks(&mut row, &t);
                row
            })
            .collect();
        Self { s, t, k, cells }
    }
    /// Median colour of the core between two radii.
    pub fn core_colour(&self, from: f64, to: f64) -> Option<Vector3<f64>> {
        let mut out = Vector3::zeros();
        for c in 0..3 {
            let mut v: Vec<f64> = Vec::new();
            for (row, s) in self.cells.iter().zip(&self.s) {
                if (from..to).contains(s) {
                    v.extend(row.iter().zip(&self.t).filter(|(_, t)| t.abs() < 0.012).map(|(p, _)| p[c]));
                }
            }
            out[c] = high_median(v)?;
        }
        (out.norm() > 4.0).then_some(out)
    }
    fn alpha(&self, i: usize, colour: &Vector3<f64>) -> Vec<f64> {
        let n = colour.dot(colour);
        self.cells[i].iter().map(|p| (p.dot(colour) / n).clamp(0.0, 1.0)).collect()
    }
    /// Change of angle (degrees) and offset that centres the needle, from the centroids of its cross sections.
    pub fn symmetry(&self, colour: &Vector3<f64>, from: f64, to: f64) -> Option<(f64, f64)> {
        let mut pts = Vec::new();
        for (i, s) in self.s.iter().enumerate().filter(|(_, s)| (from..to).contains(*s)) {
            let a = self.alpha(i, colour);
            let (mut w, mut m) = (0.0, 0.0);
            for (v, t) in a.iter().zip(&self.t).filter(|(_, t)| t.abs() < 0.075) {
                // a shadow beside the needle is a part of its contrast; it must not weigh
                let v = ((v - 0.35) / 0.5).clamp(0.0, 1.0);
                w += v;
                m += v * t;
            }
            if w > 2.0 {
                pts.push((*s, m / w, w));
            }
        }
        if pts.len() < 12 {
            return None;
        }
        // rows in which more than the needle shows (a numeral beside it) say nothing of its middle
        let usual = ranked(pts.iter().map(|p| p.2), |count| count * 2 / 5)?;
        let pts: Vec<(f64, f64)> = pts.into_iter().filter(|p| p.2 < 1.5 * usual).map(|p| (p.0, p.1)).collect();
        if pts.len() < 8 {
            return None;
        }
        let (mut a, mut b, mut sd) = (0.0, 0.0, 1.0);
        for _ in 0..10 {
            let w: Vec<f64> = pts.iter().map(|p| 1.0 / (1.0 + ((p.1 - a - b * p.0) / (1.5 * sd + 1e-4)).powi(2))).collect();
            let sw: f64 = w.iter().sum();
            let (mx, my) = pts.iter().zip(&w).fold((0.0, 0.0), |m, (p, w)| (m.0 + w * p.0 / sw, m.1 + w * p.1 / sw));
            let (sxx, sxy) =
                pts.iter().zip(&w).fold((0.0, 0.0), |m, (p, w)| (m.0 + w * (p.0 - mx).powi(2), m.1 + w * (p.0 - mx) * (p.1 - my)));
            b = sxy / sxx.max(1e-12);
            a = my - b * mx;
            sd = high_median(pts.iter().map(|p| (p.1 - a - b * p.0).abs()))?;
        }
        Some((b.atan().to_degrees(), a))
    }
    /// Needle share of each place, the smaller of the two mirror halves, row by row.
    pub fn symmetric_alpha(&self, colour: &Vector3<f64>) -> Vec<Vec<f64>> {
        (0..self.s.len())
            .map(|i| {
                let a = self.alpha(i, colour);
                let n = a.len();
                (0..n).map(|j| a[j].min(a[n - 1 - j])).collect()
            })
            .collect()
    }
    /// Mean sideways place of the tail (rows at negative radii with a width) by the centroids of its cross sections; 0 without one.
    pub fn tail_shift(&self, colour: &Vector3<f64>, half_width: &[f64]) -> f64 {
        let mut shifts: Vec<f64> = Vec::new();
        for (i, w) in half_width.iter().enumerate().filter(|(i, w)| self.s[*i] < 0.0 && **w > 0.0) {
            let a = self.alpha(i, colour);
            let (mut m, mut n) = (0.0, 0.0);
            for (v, t) in a.iter().zip(&self.t).filter(|(_, t)| t.abs() < w + 0.03) {
                let v = (v - 0.15).max(0.0);
                m += v * t;
                n += v;
            }
            if n > 1.0 {
                shifts.push(m / n);
            }
        }
        if shifts.len() < 5 {
            return 0.0;
        }
        high_median(shifts).map_or(0.0, |s| s.clamp(-0.03, 0.03))
    }
    /// Mean of a row over offsets of this size.
    pub fn mean(&self, row: &[f64], from: f64, to: f64) -> f64 {
        let v: Vec<f64> = row.iter().zip(&self.t).filter(|(_, t)| t.abs() >= from && t.abs() < to).map(|(v, _)| *v).collect();
        v.iter().sum::<f64>() / (v.len() as f64).max(1.0)
    }
    /// Offset at which a row falls to half its own core; NaN when it has none.
    pub fn half_width(&self, row: &[f64]) -> f64 {
        let peak = self.mean(row, 0.0, 0.012);
        if peak < 0.35 {
            return f64::NAN;
        }
        let mut j = row.len() / 2;
        while j + 1 < row.len() {
            if row[j + 1] < 0.5 * peak {
                let f = (row[j] - 0.5 * peak) / (row[j] - row[j + 1]).max(1e-6);
                return self.t[j] + f.clamp(0.0, 1.0) / self.k;
            }
            j += 1;
        }
        f64::NAN
    }
}
