//! Dots and squares for ticks: marks that are as wide as long have a place and no direction of their own.
use super::polar::{Polar, Stroke, bounds};
use super::tick::{NO_DIRECTION, TICK_END, Tick};
use crate::maths::homography::Homography;
use crate::maths::point::DialPoint;
use nalgebra::Vector2;

/// Widest and narrowest, against its length.
const ROUND: std::ops::Range<f64> = 0.75..1.35;
/// Least area against that of an ellipse with the same second moments: 1 for a disc, 0.95 for a square, 0.9 and less for numerals.
const FULL: f64 = 0.92;
/// Lengths, units: a lamp or a hub is larger, the point of a numeral smaller.
const LENGTH: std::ops::Range<f64> = 0.018..0.16;
/// Standard uncertainty of a dot's middle, px: what print and colour interpolation leave of a mean over some hundred pixels.
const MIDDLE: f64 = 0.1;

/// The dot that a connected set of polar pixels is; `None` when it is none. `level`: the usual height of a tick; `h`: dial plane to photo px.
pub fn locate<P>(p: &Polar, stroke: &Stroke, level: f32, h: &Homography<DialPoint, P>) -> Option<Tick> {
    let ([r0, r1], [c0, c1]) = bounds(stroke)?;
    if r0 < MARGIN || r1 + MARGIN >= p.rows || r1 - r0 < 5 {
        return None;
    }
    let across = |columns: f64, r: f64| p.angle(columns).to_radians() * p.radius(r);
    let shape = Shape::of(stroke.iter().map(|&(r, c)| (r as f64 * p.dr, across(c as f64 - c0 as f64, r as f64))));
    let one = p.dr * across(1.0, 0.5 * (r0 + r1) as f64);
    let (along, wide) = (4.0 * shape.var.0.sqrt(), 4.0 * shape.var.1.sqrt());
    let full = one * stroke.len() as f64 / (4.0 * std::f64::consts::PI * shape.determinant().max(1e-12).sqrt());
    if !ROUND.contains(&(wide / along)) || full < FULL || !LENGTH.contains(&along) {
        return None;
    }
    // the middle of what stands above the face
    let (mut sum, mut row, mut column) = (0.0, 0.0, 0.0);
    for r in r0 - MARGIN..=r1 + MARGIN {
        for c in c0 - MARGIN as i64..=c1 + MARGIN as i64 {
            let v = f64::from((p.at(r, c) - 0.15 * level).clamp(0.0, 2.0 * level));
            sum += v;
            row += v * r as f64;
            column += v * c as f64;
        }
    }
    let (radius, angle) = (p.radius(row / sum), p.angle(column / sum));
    let (s, c) = angle.to_radians().sin_cos();
    let photo = |r: f64| -> Vector2<f64> { h.at(r * s, r * c) };
    let half = 0.5 * along;
    let unit = (photo(radius + half) - photo(radius - half)).norm() / along;
    Some(Tick {
        line: [photo(radius - 0.5 * half), photo(radius + 0.5 * half)],
        sigma: MIDDLE,
        sigma_angle: NO_DIRECTION,
        half_width: 0.5 * wide * unit,
        outer: photo(radius + half),
        inner: photo(radius - half),
        radii: [radius + half, radius - half],
        angle,
        sigma_end: TICK_END,
    })
}

/// Polar pixels round a dot that its middle is taken over as well.
const MARGIN: usize = 3;

/// Second moments of a set of places.
struct Shape {
    var: (f64, f64),
    cov: f64,
}

impl Shape {
    fn of(places: impl Iterator<Item = (f64, f64)> + Clone) -> Self {
        let n = places.clone().count().max(1) as f64;
        let mean = places.clone().fold((0.0, 0.0), |m, (x, y)| (m.0 + x / n, m.1 + y / n));
        let (mut var, mut cov) = ((0.0, 0.0), 0.0);
        for (x, y) in places {
            let (dx, dy) = (x - mean.0, y - mean.1);
            var = (var.0 + dx * dx / n, var.1 + dy * dy / n);
            cov += dx * dy / n;
        }
        Self { var, cov }
    }
    fn determinant(&self) -> f64 {
        self.var.0 * self.var.1 - self.cov * self.cov
    }
}

#[cfg(test)]
mod tests {
    use super::super::ticks;
    use crate::maths::angle::wrap;
    use crate::maths::homography::PlaneInPhoto;
    use crate::photo::Plane;
    use nalgebra::{Matrix2, Vector2};

    /// A face of 200 px per unit about (300, 300) that is light where `ink(x, y)` of a dial point is positive, its edge a pixel wide.
    fn face(ink: impl Fn(f64, f64) -> f64) -> (Plane, PlaneInPhoto) {
        let plane = Plane::from_fn(601, 601, |i, j| {
            let (x, y) = ((i as f64 - 300.0) / 200.0, (300.0 - j as f64) / 200.0);
            (60.0 + 150.0 * (0.5 + 200.0 * ink(x, y)).clamp(0.0, 1.0)) as f32
        });
        (plane, PlaneInPhoto::affine(Matrix2::new(200.0, 0.0, 0.0, -200.0), Vector2::repeat(300.0)))
    }
    fn at(deg: f64, r: f64) -> (f64, f64) {
        (r * deg.to_radians().sin(), r * deg.to_radians().cos())
    }
    const LABELLED: [f64; 3] = [-60.0, 0.0, 60.0];
    const BETWEEN: [f64; 2] = [-31.0, 29.0];
    fn clicks() -> Vec<(f64, f64)> {
        LABELLED.map(|a| at(a, 1.0)).to_vec()
    }

    #[test]
    fn dots_large_and_small_are_found_where_they_are() {
        let dots = || LABELLED.iter().map(|a| (*a, 0.05)).chain(BETWEEN.iter().map(|a| (*a, 0.03)));
        let (plane, h) = face(|x, y| {
            let inside = |(a, radius): (f64, f64)| {
                let c = at(a, 1.0 - radius);
                radius - (x - c.0).hypot(y - c.1)
            };
            dots().map(inside).fold(f64::MIN, f64::max)
        });
        let found = ticks::find(&plane, &h, 200.0, &clicks());
        assert_eq!(found.len(), 5, "{found:#?}");
        for t in found {
            assert!(t.is_dot());
            let off = dots().map(|(a, _)| wrap(a - t.angle).abs()).fold(f64::MAX, f64::min);
            // 0.05 px at 200 px per unit
            assert!(off < 0.015, "{} is {off} degrees off", t.angle);
            assert!((t.radii[0] - 1.0).abs() < 0.005, "{:?}", t.radii);
        }
    }

    /// Noughts stand where dots do, and are none.
    #[test]
    fn rings_are_no_dots() {
        let (plane, h) = face(|x, y| {
            let ring = |a: f64| {
                let c = at(a, 0.95);
                0.012 - ((x - c.0).hypot(y - c.1) - 0.038).abs()
            };
            LABELLED.iter().chain(&BETWEEN).map(|a| ring(*a)).fold(f64::MIN, f64::max)
        });
        assert!(ticks::find(&plane, &h, 200.0, &clicks()).iter().all(|t| !t.is_dot()));
    }
}
