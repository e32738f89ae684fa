//! Scale-invariant features: extrema of differences of Gaussians with orientation and gradient-histogram descriptors.
//!
//! Method after Lowe, "Distinctive image features from scale-invariant keypoints", IJCV 60 (2004), with the square-root
//! normalisation of Arandjelović & Zisserman (CVPR 2012). Positions are px of the given plane, pixel centres at integers.
use crate::photo::Plane;

/// Length of a descriptor.
pub const LENGTH: usize = 128;
const STEPS: usize = 3;
const BASE_SIGMA: f64 = 1.6;
const EDGE_RATIO: f32 = 12.0;

/// A keypoint with its descriptor.
#[derive(Clone, Debug)]
pub struct Feature {
    /// px.
    pub x: f64,
    /// px.
    pub y: f64,
    /// Scale (Gaussian sigma), px.
    pub scale: f64,
    /// Gradient direction, radians, x right and y down.
    pub angle: f64,
    /// Unit-length descriptor.
    pub descriptor: Vec<f32>,
}

struct Candidate {
    octave: usize,
    level: usize,
    x: f64,
    y: f64,
    sigma: f64,
    strength: f32,
}

/// Finds features; the strongest `most` by contrast. `blur` is the Gaussian sigma the picture already has, px.
/// `keep` says where features may lie.
pub fn detect(plane: &Plane, blur: f64, threshold: f32, most: usize, keep: impl Fn(f64, f64) -> bool) -> Vec<Feature> {
    let octaves = pyramid(plane, blur);
    let mut found = Vec::new();
    for (o, levels) in octaves.iter().enumerate() {
        let dog: Vec<Plane> = levels.windows(2).map(|w| difference(&w[1], &w[0])).collect();
        extrema(&dog, o, threshold, &mut found);
    }
    found.retain(|c| {
        let f = (1u64 << c.octave) as f64;
        keep(c.x * f + 0.5 * (f - 1.0), c.y * f + 0.5 * (f - 1.0))
    });
    found.sort_by(|a, b| b.strength.total_cmp(&a.strength));
    found.truncate(most);
    let mut out = Vec::with_capacity(found.len() * 5 / 4);
    for c in &found {
        describe(&octaves[c.octave][c.level], c, &mut out);
    }
    out
}

fn pyramid(plane: &Plane, blur: f64) -> Vec<Vec<Plane>> {
    let mut octaves = Vec::new();
    let mut base = plane.gaussian((BASE_SIGMA * BASE_SIGMA - blur * blur).max(0.01).sqrt());
    while base.width >= 24 && base.height >= 24 && octaves.len() < 6 {
        let mut levels = vec![base];
        for s in 1..STEPS + 3 {
            let (a, b) = (level_sigma(s as f64 - 1.0), level_sigma(s as f64));
            let next = levels[s - 1].gaussian((b * b - a * a).sqrt());
            levels.push(next);
        }
        base = levels[STEPS].half();
        octaves.push(levels);
    }
    octaves
}

fn level_sigma(s: f64) -> f64 {
    BASE_SIGMA * 2f64.powf(s / STEPS as f64)
}

fn difference(a: &Plane, b: &Plane) -> Plane {
    Plane { width: a.width, height: a.height, data: a.data.iter().zip(&b.data).map(|(x, y)| x - y).collect() }
}

fn extrema(dog: &[Plane], octave: usize, threshold: f32, out: &mut Vec<Candidate>) {
    let (w, h) = (dog[0].width, dog[0].height);
    for s in 1..=STEPS {
        let d = &dog[s].data;
        for y in 5..h.saturating_sub(5) {
            for x in 5..w.saturating_sub(5) {
                let v = d[y * w + x];
                if v.abs() < 0.5 * threshold || !is_extremum(dog, s, x, y, v) {
                    continue;
                }
                if let Some(c) = refine(dog, octave, s, x, y, threshold) {
                    out.push(c);
                }
            }
        }
    }
}

fn is_extremum(dog: &[Plane], s: usize, x: usize, y: usize, v: f32) -> bool {
    let w = dog[0].width;
    let max = v > 0.0;
    // the own level first: it decides most cases
    for l in [s, s - 1, s + 1] {
        let d = &dog[l].data;
        for j in y - 1..=y + 1 {
            for i in x - 1..=x + 1 {
                let n = d[j * w + i];
                if (max && n > v) || (!max && n < v) {
                    return false;
                }
            }
        }
    }
    true
}

fn refine(dog: &[Plane], octave: usize, s: usize, x: usize, y: usize, threshold: f32) -> Option<Candidate> {
    let w = dog[0].width;
    let at = |l: usize, i: usize, j: usize| dog[l].data[j * w + i];
    let v = at(s, x, y);
    let g =
        [0.5 * (at(s, x + 1, y) - at(s, x - 1, y)), 0.5 * (at(s, x, y + 1) - at(s, x, y - 1)), 0.5 * (at(s + 1, x, y) - at(s - 1, x, y))];
    let dxx = at(s, x + 1, y) + at(s, x - 1, y) - 2.0 * v;
    let dyy = at(s, x, y + 1) + at(s, x, y - 1) - 2.0 * v;
    let dss = at(s + 1, x, y) + at(s - 1, x, y) - 2.0 * v;
    let dxy = 0.25 * (at(s, x + 1, y + 1) - at(s, x - 1, y + 1) - at(s, x + 1, y - 1) + at(s, x - 1, y - 1));
    let dxs = 0.25 * (at(s + 1, x + 1, y) - at(s + 1, x - 1, y) - at(s - 1, x + 1, y) + at(s - 1, x - 1, y));
    let dys = 0.25 * (at(s + 1, x, y + 1) - at(s + 1, x, y - 1) - at(s - 1, x, y + 1) + at(s - 1, x, y - 1));
    let (tr, det) = (dxx + dyy, dxx * dyy - dxy * dxy);
    if det <= 0.0 || tr * tr * EDGE_RATIO > (EDGE_RATIO + 1.0) * (EDGE_RATIO + 1.0) * det {
        return None;
    }
    let m = nalgebra::Matrix3::new(dxx, dxy, dxs, dxy, dyy, dys, dxs, dys, dss);
    let o = m.lu().solve(&nalgebra::Vector3::new(-g[0], -g[1], -g[2]))?;
    if o.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let o = o.map(|v| v.clamp(-0.6, 0.6));
    let strength = (v + 0.5 * (g[0] * o[0] + g[1] * o[1] + g[2] * o[2])).abs();
    (strength >= threshold).then(|| Candidate {
        octave,
        level: s,
        x: x as f64 + o[0] as f64,
        y: y as f64 + o[1] as f64,
        sigma: level_sigma(s as f64 + o[2] as f64),
        strength,
    })
}

fn gradient(p: &Plane, x: i64, y: i64) -> Option<(f32, f32)> {
    if x < 1 || y < 1 || x as usize + 1 >= p.width || y as usize + 1 >= p.height {
        return None;
    }
    let i = y as usize * p.width + x as usize;
    Some((p.data[i + 1] - p.data[i - 1], p.data[i + p.width] - p.data[i - p.width]))
}

/// atan2(y, x) to 1e-4 rad (polynomial of Abramowitz & Stegun 4.4.47): directions are binned to 10° and 45° anyway.
#[inline]
fn direction(x: f32, y: f32) -> f32 {
    let (a, b) = (x.abs(), y.abs());
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    let z = low / high.max(1e-12);
    let s = z * z;
    let mut r = z * (0.999_866 + s * (-0.330_299_5 + s * (0.180_141 + s * (-0.085_133 + s * 0.020_835_1))));
    if b > a {
        r = std::f32::consts::FRAC_PI_2 - r;
    }
    if x < 0.0 {
        r = std::f32::consts::PI - r;
    }
    if y < 0.0 { -r } else { r }
}

/// Main gradient directions round the keypoint (36 bins, peaks of 80 % and more of the highest), then a descriptor each.
fn describe(level: &Plane, c: &Candidate, out: &mut Vec<Feature>) {
    let mut hist = [0f32; 36];
    let s = 1.5 * c.sigma;
    let r = (3.0 * s).round() as i64;
    let (cx, cy) = (c.x.round() as i64, c.y.round() as i64);
    for y in cy - r..=cy + r {
        for x in cx - r..=cx + r {
            let Some((gx, gy)) = gradient(level, x, y) else { continue };
            let d2 = ((x as f64 - c.x).powi(2) + (y as f64 - c.y).powi(2)) / (2.0 * s * s);
            let a = direction(gx, gy) / std::f32::consts::TAU * 36.0;
            hist[(a.round() as i64).rem_euclid(36) as usize] += (gx * gx + gy * gy).sqrt() * (-d2 as f32).exp();
        }
    }
    for _ in 0..4 {
        let h = hist;
        for i in 0..36 {
            hist[i] = (h[(i + 35) % 36] + h[i] + h[(i + 1) % 36]) / 3.0;
        }
    }
    let top = hist.iter().fold(0f32, |a, &b| a.max(b));
    let f = (1u64 << c.octave) as f64;
    for i in 0..36 {
        let (l, m, n) = (hist[(i + 35) % 36], hist[i], hist[(i + 1) % 36]);
        if m < 0.8 * top || m <= l || m < n {
            continue;
        }
        let d = (0.5 * (l - n) / (l + n - 2.0 * m)) as f64;
        let angle = (i as f64 + if d.is_finite() { d } else { 0.0 }) * std::f64::consts::TAU / 36.0;
        if let Some(descriptor) = descriptor(level, c, angle) {
            out.push(Feature { x: c.x * f + 0.5 * (f - 1.0), y: c.y * f + 0.5 * (f - 1.0), scale: c.sigma * f, angle, descriptor });
        }
    }
}

/// 4 x 4 places by 8 directions, trilinear, over a window of 12 sigma.
fn descriptor(level: &Plane, c: &Candidate, angle: f64) -> Option<Vec<f32>> {
    let (sa, ca) = angle.sin_cos();
    let cell = 3.0 * c.sigma;
    let r = (cell * 2.5 * std::f64::consts::SQRT_2 + 0.5) as i64;
    let (cx, cy) = (c.x.round() as i64, c.y.round() as i64);
    let mut d = vec![0f32; LENGTH];
    for y in cy - r..=cy + r {
        for x in cx - r..=cx + r {
            let (dx, dy) = (x as f64 - c.x, y as f64 - c.y);
            let u = ((ca * dx + sa * dy) / cell) as f32;
            let v = ((-sa * dx + ca * dy) / cell) as f32;
            if u.abs() >= 2.5 || v.abs() >= 2.5 {
                continue;
            }
            let Some((gx, gy)) = gradient(level, x, y) else { continue };
            let m = (gx * gx + gy * gy).sqrt() * (-(u * u + v * v) / 8.0).exp();
            let o = ((direction(gx, gy) - angle as f32) / std::f32::consts::TAU * 8.0).rem_euclid(8.0);
            spread(&mut d, u + 1.5, v + 1.5, o, m);
        }
    }
    let n: f32 = d.iter().map(|v| v * v).sum::<f32>().sqrt();
    if n <= 0.0 {
        return None;
    }
    d.iter_mut().for_each(|v| *v = (*v / n).min(0.2));
    let l1: f32 = d.iter().sum();
    d.iter_mut().for_each(|v| *v = (*v / l1).sqrt());
    Some(d)
}

fn spread(d: &mut [f32], u: f32, v: f32, o: f32, m: f32) {
    let (u0, v0, o0) = (u.floor(), v.floor(), o.floor());
    for (i, wu) in [(u0, 1.0 - (u - u0)), (u0 + 1.0, u - u0)] {
        if !(0.0..4.0).contains(&i) {
            continue;
        }
        for (j, wv) in [(v0, 1.0 - (v - v0)), (v0 + 1.0, v - v0)] {
            if !(0.0..4.0).contains(&j) {
                continue;
            }
            let at = (j as usize * 4 + i as usize) * 8;
            let k = o0 as usize % 8;
            d[at + k] += m * wu * wv * (1.0 - (o - o0));
            d[at + (k + 1) % 8] += m * wu * wv * (o - o0);
        }
    }
}
