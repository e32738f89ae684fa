//! How far out the reference photo shows print on the dial's own plane, and a cover over the pivot.
use crate::maths::homography::PlaneInPhoto;
use crate::maths::robust::high_median;
use crate::photo::Plane;
use nalgebra::Vector2;

/// Beyond this radius (units of the marks' circle) nothing is used even where no bezel stands in the way.
const WIDEST: f64 = 2.8;

/// Least change of level over a ring-shaped edge, in medians of what the turns differ from it. A bezel goes all round; the edges of what a
/// cover mirrors cross the rings anyhow. Rings without a bezel have 0.4 at most, bezels 0.58 at least (28 references, drawn and photographed).
const ALL_ROUND: f32 = 0.5;

/// Radii (units of the marks' circle) of covers over a pivot.
const COVERS: std::ops::Range<f64> = 0.05..0.6;

/// Radius out to which the face is used: just inside the first ring-shaped edge (a bezel stands off the face), or `WIDEST`.
pub fn print_radius(luma: &Plane, h: &PlaneInPhoto, scale: f64) -> f64 {
    let k = scale.min(160.0);
    let soft = luma.gaussian((0.45 * scale / k).max(0.5));
    let rows = (1.5 * k) as usize;
    let ring: Vec<Vec<f32>> = (0..rows)
        .map(|r| {
            (0..360)
                .map(|a| {
                    let (s, c) = (a as f64).to_radians().sin_cos();
                    let q = h.at(r as f64 / k * s, r as f64 / k * c);
                    soft.clamped(q.x, q.y)
                })
                .collect()
        })
        .collect();
    let noise = ring.windows(2).flat_map(|w: &[Vec<f32>]| w[0].iter().zip(&w[1]).map(|(a, b)| (a - b).abs()));
    let least = (0.25 * (high_median(noise).unwrap_or(0.0) + 0.3)).max(0.6);
    // where a ring-shaped edge begins
    let mut begun: Option<f64> = None;
    for r in 2..rows - 2 {
        let radius = r as f64 / k;
        if !(1.03..1.42).contains(&radius) {
            continue;
        }
        let Some((step, scatter)) = radial_step(&ring[r - 1], &ring[r + 1]) else { continue };
        begun = (step.abs() > least).then(|| begun.unwrap_or(radius));
        if let Some(begun) = begun.filter(|_| step.abs() > ALL_ROUND * scatter) {
            return (begun - 0.025).max(1.01);
        }
    }
    WIDEST
}

/// Median change of level from a ring to the next but one, per ring, and the median of what the turns differ from it.
fn radial_step(inner: &[f32], outer: &[f32]) -> Option<(f32, f32)> {
    let steps: Vec<f32> = inner.iter().zip(outer).map(|(a, b)| 0.5 * (b - a)).collect();
    let step = high_median(steps.iter().copied())?;
    Some((step, high_median(steps.iter().map(|s| (s - step).abs()))?))
}

/// Centre (photo px) and radius (units) of a round cover over the pivot, by its rim; `None` when there is none.
pub fn cover(luma: &Plane, h: &PlaneInPhoto, scale: f64) -> Option<(Vector2<f64>, f64)> {
    let (gx, gy) = luma.gaussian(1.5).gradient();
    let near = h.at(0.0, 0.0);
    let limit = 3.0 * high_median(gx.data.iter().zip(&gy.data).step_by(7).map(|(a, b)| a.hypot(*b)))?;
    let edge = |x: f64, y: f64, rho: f64, a: f64| {
        let (s, c) = a.sin_cos();
        let (u, v) = (x + rho * c, y + rho * s);
        ((gx.clamped(u, v) as f64 * c + gy.clamped(u, v) as f64 * s).abs()).min(limit as f64)
    };
    let turns: Vec<f64> = (0..90).map(|i| i as f64 * std::f64::consts::TAU / 90.0).collect();
    let mut best = (0.0, near.x, near.y, 0.2 * scale);
    let reach = (0.07 * scale / 3.0) as i64;
    for i in -reach..=reach {
        for j in -reach..=reach {
            let (x, y) = (near.x + 3.0 * i as f64, near.y + 3.0 * j as f64);
            let mut rho = 0.1 * scale;
            while rho < 0.52 * scale {
                let v = turns.iter().map(|&a| edge(x, y, rho, a)).sum::<f64>() / 90.0;
                if v > best.0 {
                    best = (v, x, y, rho);
                }
                rho += 2.0;
            }
        }
    }
    let (_, mut x, mut y, mut rho) = best;
    for _ in 0..5 {
        let mut pts = Vec::new();
        for &a in &turns {
            let (v, d) = (-16..=16)
                .map(|i| 0.5 * i as f64)
                .map(|d| (edge(x, y, rho + d, a), d))
                .fold((0.0, 0.0), |b, c| if c.0 > b.0 { c } else { b });
            if v > 0.5 * limit as f64 {
                pts.push((a, rho + d));
            }
        }
        if pts.len() < 30 {
            return None;
        }
        // rho(a) = r0 + dx cos a + dy sin a
        let mut n = nalgebra::Matrix3::zeros();
        let mut v = nalgebra::Vector3::zeros();
        for (a, r) in &pts {
            let row = nalgebra::Vector3::new(a.cos(), a.sin(), 1.0);
            let e: f64 = r - rho;
            let w = 1.0 / (1.0 + e * e);
            n += row * row.transpose() * w;
            v += row * w * e;
        }
        let d = n.try_inverse()? * v;
        (x, y, rho) = (x + d.x, y + d.y, rho + d.z);
    }
    // the search goes from 0.1 to 0.52; what has grown or shrunk far beyond is no hub
    COVERS.contains(&(rho / scale)).then(|| (Vector2::new(x, y), rho / scale))
}
