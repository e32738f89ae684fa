//! Sampling and resizing of one plane of pixels. Pixel (0,0) is the centre of the top-left pixel.
use super::buffer::Buffer;
use super::model::{Photo, Plane};

impl Photo {
    /// Brightness by ITU-R BT.601, the luma of JPEG: 0.299 R + 0.587 G + 0.114 B, levels 0..255.
    pub fn luma(&self) -> Plane {
        self.luma_of(0, 0, self.width, self.height)
    }
    /// The same of the part of `width` x `height` px whose top-left pixel is (x0, y0); it must lie inside the photo.
    pub(crate) fn luma_of(&self, x0: usize, y0: usize, width: usize, height: usize) -> Plane {
        part_of(&self.rgb, self.width, [x0, y0, width, height], luma)
    }
    /// The same at half the size, by the mean of 2 x 2 pixels: what [`Plane::half`] makes of [`Self::luma`], without the full size.
    pub fn half_luma(&self) -> Plane {
        self.half_luma_of(0, 0, self.width / 2, self.height / 2)
    }
    /// A part of [`Self::half_luma`], which must lie inside it.
    pub(crate) fn half_luma_of(&self, x0: usize, y0: usize, width: usize, height: usize) -> Plane {
        let level = |a: &[u8], b: &[u8]| 0.25 * (0.299 * four(a, b, 0) + 0.587 * four(a, b, 1) + 0.114 * four(a, b, 2));
        half_of(&self.rgb, self.width, [x0, y0, width, height], level)
    }
    /// The same at a quarter of the size, by the mean of 4 x 4 pixels.
    pub(crate) fn quarter_luma(&self) -> Plane {
        let (width, height) = (self.width / 4, self.height / 4);
        let mut data = Buffer::zeroed(width * height);
        let stride = 3 * self.width.max(1);
        let mut sums = vec![0u16; 12 * width];
        for (to, rows) in data.chunks_exact_mut(width.max(1)).zip(self.rgb.chunks_exact(4 * stride)) {
            sums.fill(0);
            for row in rows.chunks_exact(stride) {
                sums.iter_mut().zip(row).for_each(|(s, v)| *s += u16::from(*v));
            }
            for (t, s) in to.iter_mut().zip(sums.chunks_exact(12)) {
                let sum = |c: usize| f32::from(s[c] + s[c + 3] + s[c + 6] + s[c + 9]);
                *t = 0.0625 * (0.299 * sum(0) + 0.587 * sum(1) + 0.114 * sum(2));
            }
        }
        Plane { width, height, data }
    }
}

/// See [`Photo::luma`].
#[inline(always)]
pub(crate) fn luma(pixel: &[u8]) -> f32 {
    0.299 * f32::from(pixel[0]) + 0.587 * f32::from(pixel[1]) + 0.114 * f32::from(pixel[2])
}

/// A part (left, top, width, height) of RGB pixels. `level`: of a pixel.
pub(crate) fn part_of(rgb: &[u8], full_width: usize, [x0, y0, width, height]: [usize; 4], level: impl Fn(&[u8]) -> f32) -> Plane {
    let rows = rgb.chunks_exact(3 * full_width.max(1)).skip(y0);
    let mut data = Buffer::zeroed(width * height);
    for (to, row) in data.chunks_exact_mut(width.max(1)).zip(rows) {
        to.iter_mut().zip(row[3 * x0..3 * (x0 + width)].chunks_exact(3)).for_each(|(t, p)| *t = level(p));
    }
    Plane { width, height, data }
}

/// One channel of RGB pixels, `width` to a row, at half the size: what [`Plane::half`] makes of it, without the full size.
pub(crate) fn half_channel(rgb: &[u8], width: usize, channel: usize) -> Plane {
    let height = rgb.len() / (3 * width).max(1);
    half_of(rgb, width, [0, 0, width / 2, height / 2], |a, b| 0.25 * four(a, b, channel))
}

/// A part of RGB pixels at half the size: its left and top, width and height in px of the half. `level`: of two pixels and the two below.
fn half_of(rgb: &[u8], full_width: usize, [x0, y0, width, height]: [usize; 4], level: impl Fn(&[u8], &[u8]) -> f32) -> Plane {
    let mut data = Buffer::zeroed(width * height);
    let rows = rgb.chunks_exact(3 * full_width.max(1)).skip(2 * y0);
    let pairs = rows.clone().step_by(2).zip(rows.skip(1).step_by(2));
    for (to, (upper, lower)) in data.chunks_exact_mut(width.max(1)).zip(pairs) {
        let (upper, lower) = (&upper[6 * x0..6 * (x0 + width)], &lower[6 * x0..6 * (x0 + width)]);
        to.iter_mut().zip(upper.chunks_exact(6)).zip(lower.chunks_exact(6)).for_each(|((t, a), b)| *t = level(a, b));
    }
    Plane { width, height, data }
}

/// A channel of two RGB pixels and of two below them, summed up.
#[inline(always)]
fn four(a: &[u8], b: &[u8], channel: usize) -> f32 {
    f32::from(u16::from(a[channel]) + u16::from(a[channel + 3]) + u16::from(b[channel]) + u16::from(b[channel + 3]))
}

impl Plane {
    /// A plane of `width` x `height` px with the level `f(x, y)` at each pixel.
    pub fn from_fn(width: usize, height: usize, f: impl Fn(usize, usize) -> f32) -> Self {
        let mut data = Buffer::zeroed(width * height);
        for (y, row) in data.chunks_exact_mut(width.max(1)).enumerate() {
            row.iter_mut().enumerate().for_each(|(x, v)| *v = f(x, y));
        }
        Self { width, height, data }
    }

    /// One row of pixels; empty when there is no such row.
    pub fn row(&self, y: usize) -> &[f32] {
        let from = y.saturating_mul(self.width);
        self.data.get(from..from.saturating_add(self.width)).unwrap_or(&[])
    }

    /// The level at the pixel (x, y), `None` outside the plane.
    pub fn at(&self, x: usize, y: usize) -> Option<f32> {
        self.row(y).get(x).copied()
    }

    /// Whether (x, y) lies in the rectangle of the pixel centres; NaN does not.
    #[inline]
    pub fn holds(&self, x: f64, y: f64) -> bool {
        x >= 0.0 && y >= 0.0 && x <= self.width as f64 - 1.0 && y <= self.height as f64 - 1.0
    }

    /// The level at (x, y) by bilinear interpolation; `None` outside the rectangle of the pixel centres, so never extrapolated.
    #[inline]
    pub fn bilinear(&self, x: f64, y: f64) -> Option<f32> {
        if !self.holds(x, y) {
            return None;
        }
        let (left, top) = (x as usize, y as usize);
        let (fx, fy) = ((x - left as f64) as f32, (y - top as f64) as f32);
        let at = top * self.width + left;
        // On the last column or row the neighbour beyond has weight 0: the pixel itself stands in for it.
        let right = usize::from(left + 1 < self.width);
        let down = if top + 1 < self.height { self.width } else { 0 };
        let a = self.data.get(at)?;
        let b = self.data.get(at + right)?;
        let c = self.data.get(at + down)?;
        let d = self.data.get(at + down + right)?;
        let upper = a + fx * (b - a);
        let lower = c + fx * (d - c);
        Some(upper + fy * (lower - upper))
    }

    /// Half the size by the mean of 2 x 2 boxes; an odd last column or row is left out.
    ///
    /// The centre of coarse pixel 0 lies between the fine pixels 0 and 1: coarse = (fine - 0.5) / 2, fine = 2 coarse + 0.5.
    pub fn half(&self) -> Self {
        let (width, height) = (self.width / 2, self.height / 2);
        let mut data = Buffer::zeroed(width * height);
        for (y, to) in data.chunks_exact_mut(width.max(1)).enumerate() {
            to.iter_mut().zip(half_row(self.row(2 * y), self.row(2 * y + 1))).for_each(|(t, v)| *t = v);
        }
        Self { width, height, data }
    }

    /// The part of `width` x `height` px whose top-left pixel is (x0, y0); what lies outside the plane is left out, so the
    /// answer may be smaller, down to 0 x 0. A point (x, y) of the plane is (x - x0, y - y0) in it.
    pub fn crop(&self, x0: usize, y0: usize, width: usize, height: usize) -> Self {
        let width = width.min(self.width.saturating_sub(x0));
        let height = if width == 0 { 0 } else { height.min(self.height.saturating_sub(y0)) };
        let mut data = Buffer::zeroed(width * height);
        let rows = y0..y0.saturating_add(height);
        for (y, to) in rows.zip(data.chunks_exact_mut(width.max(1))) {
            to.copy_from_slice(&self.row(y)[x0..x0 + width]);
        }
        Self { width: if height == 0 { 0 } else { width }, height, data }
    }

    /// Slope in x and in y, levels per px: central differences, one-sided at the border, so that a ramp gives its slope everywhere.
    pub fn gradient(&self) -> (Self, Self) {
        let (w, h) = (self.width, self.height);
        let [mut dx, mut dy] = [(); 2].map(|()| Buffer::zeroed(w * h));
        let rows = dx.chunks_exact_mut(w.max(1)).zip(dy.chunks_exact_mut(w.max(1)));
        for (y, (dx, dy)) in rows.enumerate() {
            slope_along(self.row(y), dx);
            let (above, below) = (y.saturating_sub(1), (y + 1).min(h - 1));
            let scale = if below > above { 1.0 / (below - above) as f32 } else { 0.0 };
            dy.iter_mut().zip(self.row(above)).zip(self.row(below)).for_each(|((d, a), b)| *d = (b - a) * scale);
        }
        (Self { width: w, height: h, data: dx }, Self { width: w, height: h, data: dy })
    }
}

/// The means of 2 x 2 pixels of two rows.
#[inline(always)]
pub(crate) fn half_row(upper: &[f32], lower: &[f32]) -> impl Iterator<Item = f32> {
    upper.chunks_exact(2).zip(lower.chunks_exact(2)).map(|(a, b)| 0.25 * ((a[0] + a[1]) + (b[0] + b[1])))
}

/// `out`: zeros, as many as the row has pixels.
fn slope_along(row: &[f32], out: &mut [f32]) {
    if let ([first, second, ..], [.., before, last], [left, inner @ .., right]) = (row, row, out) {
        (*left, *right) = (second - first, last - before);
        inner.iter_mut().zip(row.iter().zip(&row[2..])).for_each(|(d, (a, b))| *d = 0.5 * (b - a));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp(w: usize, h: usize) -> Plane {
        Plane::from_fn(w, h, |x, y| 10.0 + 3.0 * x as f32 - 2.0 * y as f32)
    }

    #[test]
    fn luma_has_the_weights_of_bt_601() {
        let rgb = vec![255, 0, 0, 0, 255, 0, 0, 0, 255, 255, 255, 255];
        let photo = Photo { width: 2, height: 2, rgb: rgb.into(), hash: String::new(), taken_at: None, focal_ratio: None };
        let luma = photo.luma();
        for (found, expected) in luma.data.iter().zip([76.245, 149.685, 29.07, 255.0]) {
            assert!((found - expected).abs() < 1e-4);
        }
    }

    #[test]
    fn the_luma_of_a_part_is_the_part_of_the_luma() {
        let rgb = (0..7 * 5 * 3).map(|i| (i * 37 % 256) as u8).collect();
        let photo = Photo { width: 7, height: 5, rgb, hash: String::new(), taken_at: None, focal_ratio: None };
        for (x, y, w, h) in [(0, 0, 7, 5), (2, 1, 4, 3), (6, 4, 1, 1)] {
            assert_eq!(photo.luma_of(x, y, w, h), photo.luma().crop(x, y, w, h));
        }
    }

    #[test]
    fn smaller_lumas_are_halves_of_the_luma() {
        let near = |a: &Plane, b: &Plane| {
            (a.width, a.height, a.data.len()) == (b.width, b.height, b.data.len())
                && a.data.iter().zip(&b.data).all(|(a, b)| (a - b).abs() < 1e-3)
        };
        for (width, height) in [(7, 5), (13, 9), (3, 3), (1, 8), (2, 2)] {
            let rgb = (0..width * height * 3).map(|i| (i * 37 % 256) as u8).collect();
            let photo = Photo { width, height, rgb, hash: String::new(), taken_at: None, focal_ratio: None };
            let half = photo.luma().half();
            assert!(near(&photo.half_luma(), &half) && near(&photo.quarter_luma(), &half.half()), "{width} x {height}");
            for (x, y, w, h) in [(0, 0, half.width, half.height), (1, 1, half.width.saturating_sub(2), half.height.saturating_sub(1))] {
                if w > 0 && x + w <= half.width && y + h <= half.height {
                    assert!(near(&photo.half_luma_of(x, y, w, h), &half.crop(x, y, w, h)), "{width} x {height}: {x}, {y}, {w}, {h}");
                }
            }
        }
    }

    #[test]
    fn bilinear_is_exact_on_a_ramp_and_none_outside() {
        let p = ramp(7, 5);
        for (x, y) in [(0.0, 0.0), (6.0, 4.0), (2.25, 3.5), (6.0, 0.75), (5.999, 3.999), (0.5, 4.0)] {
            assert!((f64::from(p.bilinear(x, y).unwrap()) - (10.0 + 3.0 * x - 2.0 * y)).abs() < 1e-5, "{x} {y}");
        }
        for (x, y) in [(-1e-9, 1.0), (6.0 + 1e-9, 1.0), (1.0, -0.1), (1.0, 4.1), (f64::NAN, 1.0), (1.0, f64::NAN), (f64::INFINITY, 0.0)] {
            assert_eq!(p.bilinear(x, y), None, "{x} {y}");
        }
        assert_eq!(Plane::default().bilinear(0.0, 0.0), None);
        assert_eq!(ramp(1, 1).bilinear(0.0, 0.0), Some(10.0));
        assert_eq!((p.at(6, 4), p.at(7, 0), p.at(0, 5)), (Some(20.0), None, None));
    }

    #[test]
    fn half_keeps_the_half_pixel_relation() {
        let p = ramp(9, 6);
        let h = p.half();
        assert_eq!((h.width, h.height), (4, 3));
        for (x, y) in [(0.5, 0.5), (3.0, 2.0), (6.5, 4.5)] {
            let coarse = h.bilinear((x - 0.5) / 2.0, (y - 0.5) / 2.0).unwrap();
            assert!((coarse - p.bilinear(x, y).unwrap()).abs() < 1e-5);
        }
        assert_eq!(ramp(1, 8).half().data.len(), 0);
    }

    #[test]
    fn crop_moves_the_origin_and_never_leaves_the_plane() {
        let p = ramp(9, 6);
        let c = p.crop(2, 3, 4, 2);
        assert_eq!((c.width, c.height, c.at(1, 1)), (4, 2, p.at(3, 4)));
        let edge = p.crop(7, 5, 10, usize::MAX);
        assert_eq!((edge.width, edge.height, edge.data), (2, 1, vec![21.0, 24.0].into()));
        for (x, y, w, h) in [(9, 0, 3, 3), (0, 6, 3, 3), (0, 0, 0, 3), (usize::MAX, 0, 1, 1), (0, usize::MAX, 1, 1)] {
            assert_eq!(p.crop(x, y, w, h), Plane::default());
        }
    }

    #[test]
    fn gradient_of_a_ramp_is_its_slope_to_the_border() {
        let (dx, dy) = ramp(6, 5).gradient();
        assert!(dx.data.len() == 30 && dx.data.iter().all(|v| *v == 3.0));
        assert!(dy.data.len() == 30 && dy.data.iter().all(|v| *v == -2.0));
        let (dx, dy) = ramp(1, 1).gradient();
        assert_eq!((dx.data, dy.data), (vec![0.0].into(), vec![0.0].into()));
        assert_eq!(Plane::default().gradient().0, Plane::default());
    }

    #[test]
    fn gradient_of_a_sine_is_the_central_difference() {
        let p = Plane::from_fn(40, 1, |x, _| (0.3 * x as f32).sin());
        let (dx, _) = p.gradient();
        for x in 1..39 {
            // sin(a + h) - sin(a - h) = 2 cos a sin h.
            let expected = (0.3 * x as f32).cos() * 0.3f32.sin();
            assert!((dx.data[x] - expected).abs() < 1e-6);
        }
    }
}
