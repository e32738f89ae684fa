//! What happens to the light between the dial and the file: blur, motion, glare, gain, noise, rounding.
use chacha20::ChaCha8Rng;
use needleband::photo::{Photo, sha256_hex};
use rand::{RngExt, SeedableRng};

/// Light, lens and sensor.
#[derive(Clone, Copy, Debug)]
pub struct Light {
    pub gain: f64,
    pub offset: f64,
    /// Relative change of brightness across the picture's width and height.
    pub slope: (f64, f64),
    /// Standard deviation of the noise, levels.
    pub noise: f64,
    /// Standard deviation of the blur, px.
    pub blur: f64,
    /// Length (px) and direction (degrees, x right to y down) of a movement.
    pub motion: (f64, f64),
    /// A bright spot: middle (px), standard deviation (px), height (levels).
    pub glare: Option<(f64, f64, f64, f64)>,
    pub seed: u64,
}

impl Default for Light {
    fn default() -> Self {
        Self { gain: 1.0, offset: 0.0, slope: (0.0, 0.0), noise: 1.5, blur: 0.8, motion: (0.0, 0.0), glare: None, seed: 1 }
    }
}

/// One colour plane.
pub struct Layer {
    pub width: usize,
    pub height: usize,
    pub data: Vec<f64>,
}

impl Layer {
    fn get(&self, x: i64, y: i64) -> f64 {
        let (x, y) = (x.clamp(0, self.width as i64 - 1), y.clamp(0, self.height as i64 - 1));
        self.data[y as usize * self.width + x as usize]
    }
    fn map(&self, f: impl Fn(i64, i64) -> f64) -> Self {
        let (w, h) = (self.width as i64, self.height as i64);
        Self {
            width: self.width,
            height: self.height,
            data: (0..h).flat_map(|y| (0..w).map(move |x| (x, y))).map(|(x, y)| f(x, y)).collect(),
        }
    }
    fn bilinear(&self, x: f64, y: f64) -> f64 {
        let (i, j) = (x.floor(), y.floor());
        let (u, v, i, j) = (x - i, y - j, i as i64, j as i64);
        let row = |j: i64| self.get(i, j) * (1.0 - u) + self.get(i + 1, j) * u;
        row(j) * (1.0 - v) + row(j + 1) * v
    }
    /// Gaussian blur, sampled kernel out to four standard deviations.
    fn blurred(self, sigma: f64) -> Self {
        if sigma <= 0.0 {
            return self;
        }
        let reach = (4.0 * sigma).ceil() as usize;
        let raw: Vec<f64> = (0..=2 * reach).map(|i| (-0.5 * ((i as f64 - reach as f64) / sigma).powi(2)).exp()).collect();
        let sum: f64 = raw.iter().sum();
        let kernel: Vec<f64> = raw.iter().map(|v| v / sum).collect();
        let (width, height) = (self.width, self.height);
        let beyond = |i: usize, size: usize| (i.max(reach) - reach).min(size - 1);
        let mut across = vec![0.0; width * height];
        for (row, out) in self.data.chunks_exact(width).zip(across.chunks_exact_mut(width)) {
            let wide: Vec<f64> = (0..width + 2 * reach).map(|x| row[beyond(x, width)]).collect();
            kernel.iter().enumerate().for_each(|(i, k)| add(out, &wide[i..i + width], *k));
        }
        let mut data = vec![0.0; width * height];
        for (y, out) in data.chunks_exact_mut(width).enumerate() {
            kernel.iter().enumerate().for_each(|(i, k)| add(out, &across[beyond(y + i, height) * width..][..width], *k));
        }
        Self { width, height, data }
    }
    /// The mean over a straight movement about the true place.
    fn moved(self, length: f64, direction: f64) -> Self {
        let steps = (2.0 * length).ceil() as i64;
        if steps == 0 {
            return self;
        }
        let (s, c) = direction.to_radians().sin_cos();
        let at = |i: i64| length * (i as f64 / steps as f64 - 0.5);
        self.map(|x, y| (0..=steps).map(|i| self.bilinear(x as f64 + c * at(i), y as f64 + s * at(i))).sum::<f64>() / (steps + 1) as f64)
    }
}

/// Adds a weighted row to another.
fn add(out: &mut [f64], row: &[f64], weight: f64) {
    out.iter_mut().zip(row).for_each(|(o, v)| *o += weight * v);
}

impl Light {
    /// Three planes of scene levels to the bytes of a photo.
    pub fn expose(&self, layers: [Layer; 3]) -> Vec<u8> {
        let (width, height) = (layers[0].width, layers[0].height);
        let layers = layers.map(|l| l.blurred(self.blur)).map(|l| l.moved(self.motion.0, self.motion.1));
        let mut rng = ChaCha8Rng::seed_from_u64(self.seed);
        let mut out = Vec::with_capacity(3 * width * height);
        for i in 0..width * height {
            let (x, y) = ((i % width) as f64, (i / width) as f64);
            let shade = 1.0 + self.slope.0 * (x / width as f64 - 0.5) + self.slope.1 * (y / height as f64 - 0.5);
            let spot = self.glare.map_or(0.0, |(gx, gy, sd, level)| level * (-0.5 * ((x - gx).hypot(y - gy) / sd).powi(2)).exp());
            for l in &layers {
                let level = (self.gain * l.data[i] * shade + self.offset + spot).clamp(0.0, 255.0);
                out.push(byte(level + self.noise * normal(&mut rng)));
            }
        }
        out
    }
}

/// A photo in new noise of standard deviation `noise`, levels.
pub fn renoised(photo: &Photo, noise: f64, seed: u64) -> Photo {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let rgb: Vec<u8> = photo.rgb.iter().map(|v| byte(f64::from(*v) + noise * normal(&mut rng))).collect();
    Photo { hash: sha256_hex(&rgb), rgb: rgb.into(), ..photo.clone() }
}

/// The nearest byte.
fn byte(level: f64) -> u8 {
    (level + 0.5).clamp(0.0, 255.0) as u8
}

/// A standard normal number (Box and Muller 1958).
pub fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (1.0 - rng.random::<f64>(), rng.random());
    (-2.0 * u.ln()).sqrt() * cosine(v)
}

/// Cosine of so many whole turns, 0 to 1, to 1e-12 (Taylor series in the first quarter): there are three to a pixel.
fn cosine(turns: f64) -> f64 {
    let half = (turns - 0.5).abs();
    let (quarter, sign) = if half > 0.25 { (0.5 - half, 1.0) } else { (half, -1.0) };
    let x = (std::f64::consts::TAU * quarter).powi(2);
    let parts = [1.0 / 2.0, 1.0 / 12.0, 1.0 / 30.0, 1.0 / 56.0, 1.0 / 90.0, 1.0 / 132.0, 1.0 / 182.0, 1.0 / 240.0];
    let series = parts.iter().rev().fold(1.0, |sum, part| 1.0 - x * sum * part);
    sign * series
}

#[test]
fn the_quick_cosine_is_the_cosine() {
    for i in 0..1000 {
        let turns = f64::from(i) / 1000.0;
        assert!((cosine(turns) - (std::f64::consts::TAU * turns).cos()).abs() < 1e-12, "{turns}");
    }
}
