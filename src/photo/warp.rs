//! Planes seen through a projective map: a hot path, run with the widest vectors that the processor has.
use super::buffer::Buffer;
use super::model::Plane;
use super::sample::Cubic;
use crate::maths::homography::Homography;
use nalgebra::Matrix3;

/// `planes` (all of one size) seen through `map`, which takes px of the new planes to px of these: cubic convolution
/// (Keys 1981, a = -1/2), the border pixels repeated outwards.
pub(crate) fn warped<A, B, const N: usize>(planes: [&Plane; N], map: &Homography<A, B>, width: usize, height: usize) -> [Plane; N] {
    pulp::Arch::new().dispatch(Warp { planes, map: map.matrix(), width, height }).map(|data| Plane { width, height, data })
}

/// A warp as work for the processor's widest vectors.
struct Warp<'a, const N: usize> {
    planes: [&'a Plane; N],
    map: &'a Matrix3<f64>,
    width: usize,
    height: usize,
}

impl<const N: usize> pulp::WithSimd for Warp<'_, N> {
    type Output = [Buffer<f32>; N];
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        let mut out = [(); N].map(|()| Buffer::zeroed(self.width * self.height));
        let m = self.map;
        let mut places = vec![(0.0, 0.0); self.width];
        for j in 0..self.height {
            let y = j as f64;
            let row = [0, 1, 2].map(|r| m[(r, 1)] * y + m[(r, 2)]);
            for (i, p) in places.iter_mut().enumerate() {
                let x = i as f64;
                let z = 1.0 / (row[2] + m[(2, 0)] * x);
                *p = ((row[0] + m[(0, 0)] * x) * z, (row[1] + m[(1, 0)] * x) * z);
            }
            let mut rows = out.each_mut().map(|o| &mut o[j * self.width..(j + 1) * self.width]);
            for (i, &(x, y)) in places.iter().enumerate() {
                let at = Cubic::inside(self.planes[0].width, self.planes[0].height, x, y);
                for (p, row) in self.planes.iter().zip(&mut rows) {
                    row[i] = match &at {
                        Some(at) => at.of(p),
                        None => p.bicubic(x, y),
                    };
                }
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::homography::WorkPoint;

    #[test]
    fn beyond_the_horizon_there_are_levels_too() {
        let p = Plane::from_fn(20, 20, |x, y| (x + y) as f32);
        let [q] =
            warped([&p], &Homography::<WorkPoint, WorkPoint>::new(Matrix3::new(1.0, 0.0, 0.0, 0.0, 1.0, 0.0, -0.25, 0.0, 1.0)), 12, 12);
        assert!(q.data.len() == 144 && q.data.iter().all(|v| !v.is_finite() || (-20.0..=60.0).contains(v)));
    }

    #[test]
    fn a_warp_is_the_cubic_convolution_at_each_place() {
        let a = Plane::from_fn(23, 17, |x, y| (x * x + 3 * y) as f32 % 11.0);
        let b = Plane::from_fn(23, 17, |x, y| (x + y * y) as f32 % 7.0);
        let map = Matrix3::new(0.9, 0.2, -1.5, -0.1, 0.7, 2.0, 0.01, 0.004, 1.0);
        let [p, q] = warped([&a, &b], &Homography::<WorkPoint, WorkPoint>::new(map), 31, 20);
        for j in 0..20 {
            for i in 0..31 {
                let v = map * nalgebra::Vector3::new(i as f64, j as f64, 1.0);
                for (from, to) in [(&a, &p), (&b, &q)] {
                    let expected = from.bicubic(v.x / v.z, v.y / v.z);
                    assert!((to.data[j * 31 + i] - expected).abs() < 1e-4, "{i} {j}");
                }
            }
        }
    }
}
