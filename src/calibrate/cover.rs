//! A round cover over the pivot (a hub's cap), found by its rim.
use crate::maths::homography::PlaneInPhoto;
use crate::maths::robust::high_median;
use crate::photo::Plane;
use nalgebra::{Matrix3, Vector2, Vector3};
use std::f64::consts::TAU;

/// Radii (units of the marks' circle) of covers over a pivot.
const COVERS: std::ops::Range<f64> = 0.05..0.6;
/// Radii (units) that are tried first, and how far the middle may lie from the plane's pivot.
const TRIED: [f64; 2] = [0.1, 0.52];
const REACH: f64 = 0.07;
/// Directions in which the rim is looked for, and how many at least must show it.
const TURNS: usize = 90;
const FEWEST: usize = 30;
/// Standard uncertainty of the middle: of a rim without a flaw, px, and against the scatter of the rim about its circle. On 160 drawn
/// references, eight dials by day and night, the middle lies 0.9 px beside the pivot's normal at a scatter of 0.5 px, 1.1 at 1, 1.8 at 2 and
/// 3.3 at 3 (root mean squares across the way the view is tilted).
const FLAWLESS: f64 = 0.7;
const PER_SCATTER: f64 = 1.1;

/// A cover that was found.
#[derive(Clone, Copy, Debug)]
pub struct Cover {
    /// Its middle, photo px.
    pub centre: Vector2<f64>,
    /// Standard uncertainty of that, px each way.
    pub sigma: f64,
    /// Its radius, units.
    pub radius: f64,
}

/// A circle in the photo, px.
#[derive(Clone, Copy)]
struct Circle {
    x: f64,
    y: f64,
    radius: f64,
}

/// Levels across circles of a photo.
struct Edges {
    gx: Plane,
    gy: Plane,
    /// Edges above this count as much: the needle and print must not outweigh a rim, levels per px.
    limit: f64,
    turns: Vec<f64>,
}

/// The cover over the pivot; `None` when there is none.
pub fn cover(luma: &Plane, h: &PlaneInPhoto, scale: f64) -> Option<Cover> {
    let edges = Edges::of(luma)?;
    let mut circle = edges.clearest(h.at(0.0, 0.0), scale);
    for _ in 0..5 {
        circle = refined(&circle, &edges.rim(&circle))?;
    }
    let off = high_median(edges.rim(&circle).iter().map(|(_, r)| (r - circle.radius).abs() as f32))?;
    let radius = circle.radius / scale;
    // what has grown or shrunk far beyond where it was looked for is no hub
    COVERS.contains(&radius).then(|| Cover {
        centre: Vector2::new(circle.x, circle.y),
        sigma: FLAWLESS.hypot(PER_SCATTER * f64::from(off)),
        radius,
    })
}

impl Edges {
    fn of(luma: &Plane) -> Option<Self> {
        let (gx, gy) = luma.gaussian(1.5).gradient();
        let limit = 3.0 * f64::from(high_median(gx.data.iter().zip(&gy.data).step_by(7).map(|(a, b)| a.hypot(*b)))?);
        Some(Self { gx, gy, limit, turns: (0..TURNS).map(|i| i as f64 * TAU / TURNS as f64).collect() })
    }
    /// The change of level across a circle in one direction.
    fn across(&self, circle: &Circle, radius: f64, turn: f64) -> f64 {
        let (s, c) = turn.sin_cos();
        let (u, v) = (circle.x + radius * c, circle.y + radius * s);
        (f64::from(self.gx.clamped(u, v)) * c + f64::from(self.gy.clamped(u, v)) * s).abs().min(self.limit)
    }
    /// The circle near the pivot with the most edge all round.
    fn clearest(&self, near: Vector2<f64>, scale: f64) -> Circle {
        let mut best = (0.0, Circle { x: near.x, y: near.y, radius: 0.2 * scale });
        let reach = (REACH * scale / 3.0) as i64;
        for i in -reach..=reach {
            for j in -reach..=reach {
                let mut circle = Circle { x: near.x + 3.0 * i as f64, y: near.y + 3.0 * j as f64, radius: TRIED[0] * scale };
                while circle.radius < TRIED[1] * scale {
                    let all = self.turns.iter().map(|&a| self.across(&circle, circle.radius, a)).sum::<f64>() / TURNS as f64;
                    if all > best.0 {
                        best = (all, circle);
                    }
                    circle.radius += 2.0;
                }
            }
        }
        best.1
    }
    /// Direction and radius of the clearest edge near the circle, where there is one.
    fn rim(&self, circle: &Circle) -> Vec<(f64, f64)> {
        let clearest = |a: f64| {
            (-16..=16)
                .map(|i| circle.radius + 0.5 * i as f64)
                .map(|r| (self.across(circle, r, a), r))
                .fold((0.0, circle.radius), |b, c| if c.0 > b.0 { c } else { b })
        };
        self.turns.iter().map(|&a| (a, clearest(a))).filter(|(_, (v, _))| *v > 0.5 * self.limit).map(|(a, (_, r))| (a, r)).collect()
    }
}

/// The circle through its rim: r(a) = r0 + dx cos a + dy sin a, far points pulling less; `None` with too few.
fn refined(circle: &Circle, rim: &[(f64, f64)]) -> Option<Circle> {
    if rim.len() < FEWEST {
        return None;
    }
    let (mut n, mut v) = (Matrix3::zeros(), Vector3::zeros());
    for (a, r) in rim {
        let row = Vector3::new(a.cos(), a.sin(), 1.0);
        let e = r - circle.radius;
        let w = 1.0 / (1.0 + e * e);
        n += row * row.transpose() * w;
        v += row * w * e;
    }
    let d = n.try_inverse()? * v;
    Some(Circle { x: circle.x + d.x, y: circle.y + d.y, radius: circle.radius + d.z })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::homography::Homography;
    use nalgebra::Matrix2;

    /// A hub of 40 px at (150.6, 149.3) on a face whose marks' circle has 200 px about (152, 150).
    fn photo() -> (Plane, PlaneInPhoto) {
        let luma = Plane::from_fn(300, 300, |x, y| {
            let (dx, dy) = (x as f64 - 150.6, y as f64 - 149.3);
            let inside = (0.5 + (40.0 - dx.hypot(dy)) / 2.0).clamp(0.0, 1.0);
            let grain = ((x * 7 + y * 13) % 5) as f64 - 2.0;
            (90.0 + grain - 60.0 * inside) as f32
        });
        (luma, Homography::affine(Matrix2::new(200.0, 0.0, 0.0, -200.0), Vector2::new(152.0, 150.0)))
    }

    #[test]
    fn the_middle_of_a_hub_is_found_and_is_less_sure_where_its_rim_is_rough() {
        let (luma, h) = photo();
        let whole = cover(&luma, &h, 200.0).unwrap();
        assert!((whole.centre - Vector2::new(150.6, 149.3)).norm() < 0.4, "{whole:?}");
        // beyond the limit all edges count alike, so that a soft rim is taken by its inner side
        assert!((0.16..0.2).contains(&whole.radius) && (FLAWLESS..1.0).contains(&whole.sigma), "{whole:?}");
        // a rim that goes in and out by 4 px
        let rough = Plane::from_fn(300, 300, |x, y| {
            let (dx, dy) = (x as f64 - 150.6, y as f64 - 149.3);
            let radius = 40.0 + 4.0 * (5.0 * dy.atan2(dx)).sin();
            (90.0 + ((x * 7 + y * 13) % 5) as f64 - 60.0 * (0.5 + (radius - dx.hypot(dy)) / 2.0).clamp(0.0, 1.0)) as f32
        });
        let rough = cover(&rough, &h, 200.0).unwrap();
        assert!(rough.sigma > 2.0 * whole.sigma && (rough.centre - whole.centre).norm() < rough.sigma, "{rough:?}");
    }
}
