//! The grain of a photo where the dial is: its noise from pixel to pixel, whatever the reference shows there.
use super::frames::bounds;
use crate::maths::homography::Homography;
use crate::maths::point::DialPoint;
use crate::maths::robust::high_median;
use crate::photo::Plane;

/// Places along one side of the dial at which the grain is looked at.
const SIDE: usize = 48;

/// Standard deviation of the noise of a photo's pixels over the dial's disc out to `extent` units, levels.
///
/// From second differences along rows and columns, the lesser of the two, so that an edge does not count, and their median (the idea is
/// that of J. Immerkær, "Fast noise variance estimation", CVIU 64 (1996)). What a phone's processing has smoothed is not in it.
pub(super) fn grain<A>(photo: &Plane, to_dial: &Homography<A, DialPoint>, extent: f64) -> f64 {
    let Some([x0, y0, x1, y1]) = to_dial.inverse().and_then(|h| bounds(&h, extent.min(1.1), (photo.width, photo.height))) else {
        return 0.0;
    };
    let places = |from: usize, to: usize| (from.max(1)..to).step_by(((to - from) / SIDE).max(1));
    let size = places(y0, y1).flat_map(|y| places(x0, x1).map(move |x| y * photo.width + x)).filter_map(|i| {
        let at = |j: usize| photo.data.get(j).copied();
        let (middle, w) = (2.0 * at(i)?, photo.width);
        let (across, down) = (at(i - 1)? - middle + at(i + 1)?, at(i.checked_sub(w)?)? - middle + at(i + w)?);
        Some(across.abs().min(down.abs()))
    });
    high_median(size).map_or(0.0, |middle| f64::from(middle) / LESSER)
}

/// Median of the lesser of the two differences for independent noise of one level (they share a pixel; 400,000 simulated).
const LESSER: f64 = 0.988;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::point::PhotoPoint;
    use nalgebra::{Matrix2, Vector2};

    /// A dial of 90 px in the middle of a picture.
    fn to_dial() -> Homography<PhotoPoint, DialPoint> {
        Homography::affine(Matrix2::new(1.0, 0.0, 0.0, -1.0) / 90.0, Vector2::new(-100.0, 100.0) / 90.0)
    }

    /// Sums of twelve evenly spread numbers have the standard deviation 1 (the central limit, common practice).
    fn noisy(sigma: f32, under: impl Fn(usize, usize) -> f32) -> Plane {
        let mut seed = 11u32;
        let mut one = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 8) as f32 / 16_777_216.0
        };
        let noise: Vec<f32> = (0..200 * 200).map(|_| (0..12).map(|_| one()).sum::<f32>() - 6.0).collect();
        Plane::from_fn(200, 200, |x, y| under(x, y) + sigma * noise[y * 200 + x])
    }

    #[test]
    fn grain_is_the_noise_whatever_stripes_and_shade_lie_under_it() {
        for sigma in [0.0, 1.5, 6.0] {
            let shade = grain(&noisy(sigma, |x, y| 40.0 + 0.3 * x as f32 + 0.1 * y as f32), &to_dial(), 1.0);
            assert!((shade - f64::from(sigma)).abs() < 0.01 + 0.06 * f64::from(sigma), "{sigma}: {shade}");
        }
        let stripes = grain(&noisy(0.0, |x, _| if x % 7 < 3 { 120.0 } else { 40.0 }), &to_dial(), 1.0);
        assert_eq!(stripes, 0.0, "an edge is no grain");
    }
}
