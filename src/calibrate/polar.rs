//! A ring of the face as a polar picture: rows are radii, columns angles.
use crate::maths::homography::Homography;
use crate::maths::point::DialPoint;
use crate::maths::ranks::Chosen;
use crate::maths::robust::high_median;
use crate::photo::Plane;

/// Radius of the first row, units.
pub const R_IN: f64 = 0.70;
const R_OUT: f64 = 1.22;

/// A connected set of bright polar pixels: (row, column), columns unwrapped.
pub type Stroke = Vec<(usize, i64)>;

/// First and last row, first and last column of a stroke.
pub fn bounds(stroke: &Stroke) -> Option<([usize; 2], [i64; 2])> {
    let (rows, columns) = (|| stroke.iter().map(|s| s.0), || stroke.iter().map(|s| s.1));
    Some(([rows().min()?, rows().max()?], [columns().min()?, columns().max()?]))
}

/// The polar picture: rows are radii, columns angles (full circle).
#[derive(Clone, Debug)]
pub struct Polar {
    /// Angles over the full circle.
    pub columns: usize,
    /// Radii.
    pub rows: usize,
    /// Units from row to row.
    pub dr: f64,
    /// Levels, row by row; above what lies round about from [`Self::above_face`] on.
    pub ridge: Vec<f32>,
}

impl Polar {
    /// Degrees clockwise from up of a column.
    pub fn angle(&self, c: f64) -> f64 {
        c * 360.0 / self.columns as f64
    }
    /// Column of an angle.
    pub fn column(&self, deg: f64) -> f64 {
        deg.rem_euclid(360.0) / 360.0 * self.columns as f64
    }
    /// Radius of a row, units.
    pub fn radius(&self, r: f64) -> f64 {
        R_IN + r * self.dr
    }
    /// Value at a row and a column, which wraps.
    pub fn at(&self, r: usize, c: i64) -> f32 {
        self.ridge[r * self.columns + c.rem_euclid(self.columns as i64) as usize]
    }
    /// Unwraps the ring about the pivot of a plane (dial plane to px, px per unit): its levels as they are.
    pub fn unwrap<P>(luma: &Plane, h: &Homography<DialPoint, P>, scale: f64) -> Self {
        let columns = ((std::f64::consts::TAU * scale * 2.0).round() as usize).clamp(720, 8000);
        let dr = 1.0 / scale.min(700.0);
        let rows = ((R_OUT - R_IN) / dr).ceil() as usize;
        let mut ridge = Vec::with_capacity(rows * columns);
        let directions: Vec<(f64, f64)> = (0..columns).map(|c| (c as f64 / columns as f64 * std::f64::consts::TAU).sin_cos()).collect();
        for r in 0..rows {
            let radius = R_IN + r as f64 * dr;
            for (s, co) in &directions {
                let q = h.at(radius * s, radius * co);
                ridge.push(luma.bicubic(q.x, q.y));
            }
        }
        Self { columns, rows, dr, ridge }
    }
    /// The same above the middle level over `window` degrees, so that what changes slowly with the angle does not count and strokes up to
    /// some 40 % of it wide stand out over all their length.
    pub fn above_face(&self, window: f64) -> Self {
        let window = ((self.columns as f64 * window / 360.0) as usize).max(9);
        let row = |row: &[f32]| -> Vec<f32> { row.iter().zip(running_median(row, window)).map(|(v, m)| v - m).collect() };
        Self { ridge: self.ridge.chunks(self.columns).flat_map(row).collect(), ..*self }
    }
    /// Makes ticks positive (they may be dark) and returns their usual height; `None` when the clicks show no ridge.
    pub fn polarise(&mut self, clicks: &[(f64, f64)]) -> Option<f32> {
        let reach = (5.0 * 2.0) as i64;
        let mut found = Vec::new();
        for &(x, y) in clicks {
            let c = self.column(x.atan2(y).to_degrees()).round() as i64;
            let r = ((x.hypot(y) - R_IN) / self.dr).round() as i64;
            let mut best = 0f32;
            for rr in (r - 12).max(1)..=(r + 8).min(self.rows as i64 - 2) {
                for cc in c - reach..=c + reach {
                    let v = (-1..=1).map(|d| self.at((rr + d) as usize, cc)).sum::<f32>() / 3.0;
                    if v.abs() > best.abs() {
                        best = v;
                    }
                }
            }
            found.push(best);
        }
        found.sort_by(f32::total_cmp);
        let sign = if found.iter().sum::<f32>() < 0.0 { -1.0 } else { 1.0 };
        if sign < 0.0 {
            self.ridge.iter_mut().for_each(|v| *v = -*v);
        }
        let level = high_median(found.iter().map(|v| v * sign))?;
        (level > 2.0).then_some(level)
    }
}

/// High median over a window that wraps, taken at a coarse step and held in between.
fn running_median(row: &[f32], window: usize) -> Vec<f32> {
    let (n, step) = (row.len() as i64, (window / 8).max(1));
    let half = (window as i64 / 2).min((n - 1) / 2);
    let mut inside = Chosen::none_of(row);
    let mut from = step as i64 / 2 - half;
    (from..from + 2 * half + 1).for_each(|i| inside.put(i.rem_euclid(n) as usize));
    let mut out = Vec::with_capacity(row.len());
    for held in row.chunks(step) {
        let median = inside.at(half as usize).unwrap_or(0.0);
        out.extend(held.iter().map(|_| median));
        for _ in held {
            inside.take(from.rem_euclid(n) as usize);
            inside.put((from + 2 * half + 1).rem_euclid(n) as usize);
            from += 1;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the median of each window by itself, with values that occur often.
    #[test]
    fn the_running_median_is_that_of_each_window() {
        for (n, window, kinds) in [(720usize, 9usize, 5usize), (720, 48, 1000), (801, 133, 40)] {
            let row: Vec<f32> = (0..n).map(|i| ((i * i * 37 + i * 11) % kinds) as f32 - 2.0).collect();
            let (step, half) = (window / 8, window as i64 / 2);
            for (at, m) in running_median(&row, window).into_iter().enumerate() {
                let mid = (at / step * step + step / 2) as i64;
                let around = (mid - half..=mid + half).map(|i| row[i.rem_euclid(n as i64) as usize]);
                assert_eq!(Some(m), high_median(around), "{at} of {n}, {window}");
            }
        }
    }
}
