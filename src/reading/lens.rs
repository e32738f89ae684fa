//! A phone's very wide lens bends what lies far from the middle; nothing here corrects it, and the band does not count it.
use super::metrics::{PhotoMetrics, PlaceMetrics};
use crate::diagnostics::RemarkCriteria;

/// Radians of needle for each unit of k·d·a.
const TURN: f64 = 1.07;

/// Whether a very wide lens may have bent the dial.
///
/// A point at r half diagonals from the middle is moved to r·(1 + k·r²) (Brown 1966, first radial term). Over a dial of radius a, at
/// distance d from the middle, most of that is a size, a stretch and a tilt, which the registration takes up; what no plane explains
/// turns the needle by up to 1.07·k·d·a radians (`TURN`, worked out by bending printed rings and a needle; the test below does it again).
pub(super) fn may_bend(p: &PlaceMetrics, photo: &PhotoMetrics, c: &RemarkCriteria) -> bool {
    photo.focal_ratio.is_some_and(|f| f <= c.wide_lens) && matters(p.from_middle, p.radius, c)
}

/// The two conditions, for a dial of radius `radius` whose centre is `from_middle` off, both in half diagonals.
fn matters(from_middle: f64, radius: f64, c: &RemarkCriteria) -> bool {
    from_middle > c.lens_far_out || (TURN * c.lens_bent * from_middle * radius).to_degrees() > c.lens_turn_deg
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::homography::Homography;
    use crate::maths::point::{DialPoint, PhotoPoint};
    use nalgebra::{DMatrix, DVector, Vector2};

    fn on_ring(degrees: usize, radius: f64) -> Vector2<f64> {
        let (sin, cos) = (degrees as f64).to_radians().sin_cos();
        radius * Vector2::new(sin, cos)
    }

    /// The homography that takes `from` to `to`, by linear least squares with the last entry 1 (no place here is near the horizon).
    fn least_squares(from: &[Vector2<f64>], to: &[Vector2<f64>]) -> Homography<PhotoPoint, DialPoint> {
        let (mut a, mut b) = (DMatrix::zeros(2 * from.len(), 8), DVector::zeros(2 * from.len()));
        for (i, (p, q)) in from.iter().zip(to).enumerate() {
            for (o, v) in [(0, q.x), (1, q.y)] {
                let row = 2 * i + o;
                (a[(row, 3 * o)], a[(row, 3 * o + 1)], a[(row, 3 * o + 2)]) = (p.x, p.y, 1.0);
                (a[(row, 6)], a[(row, 7)], b[row]) = (-v * p.x, -v * p.y, v);
            }
        }
        let x = a.svd(true, true).solve(&b, 1e-12).unwrap();
        Homography::from_rows([[x[0], x[1], x[2]], [x[3], x[4], x[5]], [x[6], x[7], 1.0]])
    }

    /// Largest turn of a needle, radians, when a dial of radius `a` at distance `d` is bent by `k` and registered by its rings.
    fn worst_turn(k: f64, d: f64, a: f64) -> f64 {
        let bend = |p: Vector2<f64>| {
            let q = Vector2::new(d, 0.0) + a * p;
            q * (1.0 + k * q.norm_squared())
        };
        let print: Vec<_> = (0..72).flat_map(|i| [0.5, 0.7, 0.85, 1.0].map(|r| on_ring(5 * i, r))).collect();
        let seen: Vec<_> = print.iter().map(|p| bend(*p)).collect();
        let back = least_squares(&seen, &print);
        (0..360).step_by(5).fold(0.0, |worst, t| {
            let at = |r: f64| bend(on_ring(t, r));
            let along = back.at(at(0.9).x, at(0.9).y) - back.at(at(0.2).x, at(0.2).y);
            let turn = crate::maths::angle::wrap(along.x.atan2(along.y).to_degrees() - t as f64).to_radians();
            worst.max(turn.abs())
        })
    }

    #[test]
    fn the_rule_for_the_turn_of_the_needle_holds() {
        for k in [0.01, 0.03] {
            for (d, a) in [(0.25, 0.1), (0.25, 0.3), (0.5, 0.2), (0.65, 0.2), (0.8, 0.3)] {
                let (found, rule) = (worst_turn(k, d, a), TURN * k * d * a);
                // the rule is the term of lowest order: it is right to what k itself adds, some per cent
                assert!((0.93..1.07).contains(&(found / rule)), "k {k} d {d} a {a}: {found} against {rule}");
            }
        }
    }

    #[test]
    fn far_out_or_large_is_remarked_and_the_middle_is_not() {
        let at = |from_middle, radius| matters(from_middle, radius, &RemarkCriteria::default());
        assert!(at(0.55, 0.05) && at(0.4, 0.25));
        assert!(!at(0.0, 0.5) && !at(0.3, 0.1));
    }
}
