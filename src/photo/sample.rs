//! Values between pixels.
use super::Plane;

impl Plane {
    /// Bilinear value at (x, y), clamped to the picture's edge.
    #[inline(always)]
    pub fn clamped(&self, x: f64, y: f64) -> f32 {
        // truncation, not floor: no call into the maths library on the hot path
        if x >= 0.0 && y >= 0.0 {
            let (i, j) = (x as usize, y as usize);
            if i < self.width.saturating_sub(1) && j < self.height.saturating_sub(1) {
                let (u, v) = ((x - i as f64) as f32, (y - j as f64) as f32);
                let o = j * self.width + i;
                let (top, bottom) = (&self.data[o..o + 2], &self.data[o + self.width..o + self.width + 2]);
                return (top[0] + (top[1] - top[0]) * u) * (1.0 - v) + (bottom[0] + (bottom[1] - bottom[0]) * u) * v;
            }
        }
        self.clamped_at_edge(x, y)
    }

    #[cold]
    fn clamped_at_edge(&self, x: f64, y: f64) -> f32 {
        let (w, h) = (self.width as i64, self.height as i64);
        let (fx, fy) = (x.floor(), y.floor());
        let (i, j) = (near(fx, w), near(fy, h));
        let (u, v) = ((x - fx) as f32, (y - fy) as f32);
        let at = |i: i64, j: i64| self.data[(j.clamp(0, h - 1) * w + i.clamp(0, w - 1)) as usize];
        let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i, j + 1), at(i + 1, j + 1));
        (a + (b - a) * u) * (1.0 - v) + (c + (d - c) * u) * v
    }

    /// Cubic-convolution value (Keys 1981, a = -1/2) at (x, y), clamped to the picture's edge.
    #[inline(always)]
    pub fn bicubic(&self, x: f64, y: f64) -> f32 {
        match Cubic::inside(self.width, self.height, x, y) {
            Some(at) => at.of(self),
            None => self.bicubic_at_edge(x, y),
        }
    }

    #[cold]
    fn bicubic_at_edge(&self, x: f64, y: f64) -> f32 {
        let (w, h) = (self.width as i64, self.height as i64);
        let (fx, fy) = (x.floor(), y.floor());
        let (i, j) = (near(fx, w), near(fy, h));
        let (cx, cy) = (keys((x - fx) as f32), keys((y - fy) as f32));
        let mut sum = 0f32;
        for (r, wy) in cy.iter().enumerate() {
            let jj = (j - 1 + r as i64).clamp(0, h - 1);
            for (c, wx) in cx.iter().enumerate() {
                let ii = (i - 1 + c as i64).clamp(0, w - 1);
                sum += wy * wx * self.data[(jj * w + ii) as usize];
            }
        }
        sum
    }
}

/// A whole place, those far outside a side of `size` px brought near to it: the border's pixels are repeated there.
fn near(place: f64, size: i64) -> i64 {
    place.clamp(-4.0, size as f64 + 4.0) as i64
}

/// The 4 x 4 pixels round a place inside a plane, and their weights.
pub(super) struct Cubic {
    first: usize,
    across: [f32; 4],
    down: [f32; 4],
}

impl Cubic {
    /// `None` where not all 16 pixels lie in the plane, and where the place is not a number.
    #[inline(always)]
    pub fn inside(width: usize, height: usize, x: f64, y: f64) -> Option<Self> {
        if !(x >= 1.0 && y >= 1.0) {
            return None;
        }
        let (i, j) = (x as usize, y as usize);
        (i < width.saturating_sub(2) && j < height.saturating_sub(2)).then(|| Self {
            first: (j - 1) * width + i - 1,
            across: keys((x - i as f64) as f32),
            down: keys((y - j as f64) as f32),
        })
    }
    #[inline(always)]
    pub fn of(&self, plane: &Plane) -> f32 {
        // columns first: four sums side by side fit one vector register
        let mut columns = [0f32; 4];
        for (r, weight) in self.down.iter().enumerate() {
            let o = self.first + r * plane.width;
            columns.iter_mut().zip(&plane.data[o..o + 4]).for_each(|(c, v)| *c += weight * v);
        }
        let w = &self.across;
        (columns[0] * w[0] + columns[1] * w[1]) + (columns[2] * w[2] + columns[3] * w[3])
    }
}

#[inline(always)]
fn keys(t: f32) -> [f32; 4] {
    let (t2, t3) = (t * t, t * t * t);
    [-0.5 * t3 + t2 - 0.5 * t, 1.5 * t3 - 2.5 * t2 + 1.0, -1.5 * t3 + 2.0 * t2 + 0.5 * t, 0.5 * t3 - 0.5 * t2]
}
