//! How far out the reference photo shows print on the dial's own plane.
use crate::maths::homography::PlaneInPhoto;
use crate::maths::robust::high_median;
use crate::photo::Plane;

/// Beyond this radius (units of the marks' circle) nothing is used even where no bezel stands in the way.
pub const WIDEST: f64 = 2.8;

/// Least change of level over a ring-shaped edge, in medians of what the turns differ from it. A bezel goes all round; the edges of what a
/// cover mirrors cross the rings anyhow. Rings without a bezel have 0.4 at most, bezels 0.58 at least (28 references, drawn and photographed).
const ALL_ROUND: f32 = 0.5;

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::homography::Homography;
    use nalgebra::{Matrix2, Vector2};

    /// A face of 100 px a radius, with whatever is on it in levels.
    fn radius(of: impl Fn(f64, f64) -> f64) -> f64 {
        let luma = Plane::from_fn(400, 400, |i, j| {
            let grain = ((i * 7 + j * 13) % 5) as f64 - 2.0;
            (100.0 + grain + of((i as f64 - 200.0) / 100.0, (200.0 - j as f64) / 100.0)) as f32
        });
        print_radius(&luma, &Homography::affine(Matrix2::new(100.0, 0.0, 0.0, -100.0), Vector2::new(200.0, 200.0)), 100.0)
    }

    /// What a cover mirrors crosses the rings: an ellipse beside the pivot, a window's side. A bezel goes round.
    #[test]
    fn a_bezel_ends_the_print_and_a_mirrored_seat_does_not() {
        let bezel = |x: f64, y: f64| if x.hypot(y) > 1.2 { -40.0 } else { 0.0 };
        assert!((radius(bezel) - 1.175).abs() < 0.03, "{}", radius(bezel));
        let seat = |x: f64, y: f64| if ((x - 0.1) / 1.15).hypot((y + 0.15) / 1.05) > 1.0 { -40.0 } else { 0.0 };
        assert_eq!(radius(seat), WIDEST);
        let both = |x: f64, y: f64| bezel(x, y) + seat(x, y);
        assert!((radius(both) - 1.175).abs() < 0.05, "{}", radius(both));
        assert_eq!(radius(|_, _| 0.0), WIDEST);
    }
}
