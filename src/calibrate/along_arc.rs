//! Ticks that touch a drawn arc, or stand inside a rim: bars of the ring about it, in which the arc itself is the ground.
use super::polar::{Polar, R_IN};
use crate::maths::homography::PlaneInPhoto;
use crate::photo::Plane;
use crate::tick_detection::{Bar, Clear, marks};
use nalgebra::{Matrix2, Matrix3, Matrix5, Vector2, Vector5};
use std::f64::consts::TAU;

/// Degrees over which the middle level is the ground: an arc is as long, a tick is not half as wide.
const WINDOW: f64 = 14.0;
/// px per unit at which a ring is looked at.
const SCALE: f64 = 150.0;

/// Directions in which an arc is looked for again, and how far from where it was, from the first round to the last, radii.
const DIRECTIONS: usize = 180;
const ROUNDS: [f64; 4] = [0.36, 0.20, 0.10, 0.06];
/// Levels by which a line stands out, px beside which its ground is, and how far it may lie off the ring in a fit, share of the reach.
const LEAST_LINE: f64 = 6.0;
const BESIDE: f64 = 3.0;
const SCATTER: f64 = 0.25;

/// A circle seen obliquely, px of the view: the middle of its image, and the map of unit vectors to its points.
#[derive(Clone, Copy, Debug)]
pub struct Ring {
    /// The middle.
    pub centre: Vector2<f64>,
    shape: Matrix2<f64>,
}

impl Ring {
    /// A circle of this middle and radius.
    pub fn of(centre: Vector2<f64>, radius: f64) -> Self {
        Self { centre, shape: Matrix2::from_diagonal_element(radius) }
    }
    fn radius(&self) -> f64 {
        0.5 * self.shape.trace()
    }
    fn plane(&self) -> PlaneInPhoto {
        let (m, c) = (self.shape, self.centre);
        PlaneInPhoto::new(Matrix3::new(m.m11, -m.m12, c.x, m.m21, -m.m22, c.y, 0.0, 0.0, 1.0))
    }
    /// The same from the arc's own line in all directions: the set that it was found by may hold a needle or words too. As it is where too few
    /// directions show a line.
    pub fn again(mut self, luma: &Plane, bright: bool) -> Self {
        for reach in ROUNDS {
            let line = |k: usize| -> Option<Line> {
                let (s, c) = (TAU * k as f64 / DIRECTIONS as f64).sin_cos();
                let unit = Vector2::new(s, -c);
                let point = self.shape * unit;
                let px = point.norm();
                let level = |r: f64| luma.bilinear(self.centre.x + r * point.x, self.centre.y + r * point.y).map(f64::from);
                let height = |r: f64| -> Option<f64> {
                    let over = level(r)? - 0.5 * (level(r - BESIDE / px)? + level(r + BESIDE / px)?);
                    Some(if bright { over } else { -over })
                };
                let radii = (0..=(2.0 * reach * px) as usize).map(|i| 1.0 - reach + i as f64 / px);
                let best = radii.filter_map(|r| Some((height(r)?, r))).max_by(|a, b| a.0.total_cmp(&b.0))?;
                (best.0 > LEAST_LINE).then_some(Line { unit, radius: best.1 })
            };
            let lines: Vec<Line> = (0..DIRECTIONS).filter_map(line).collect();
            let Some(p) = fitted(&lines, SCATTER * reach).filter(|_| 4 * lines.len() > DIRECTIONS) else { return self };
            self.centre += self.shape * Vector2::new(p[1], p[2]);
            self.shape *= Matrix2::new(p[0] - p[3], -p[4], -p[4], p[0] + p[3]);
        }
        self
    }
}

/// A place on an arc: the direction, and its distance over that of the ring it was sought about.
struct Line {
    unit: Vector2<f64>,
    radius: f64,
}

/// Radius, shift in x and y and the two numbers of an oblique view (cos and sin of twice the direction) of the ring through lines, those off
/// it by more than `scatter` held down; the oblique view is held to what a tilt of some 30° makes.
fn fitted(lines: &[Line], scatter: f64) -> Option<Vector5<f64>> {
    let mut p = Vector5::new(1.0, 0.0, 0.0, 0.0, 0.0);
    for _ in 0..8 {
        let (mut n, mut v) = (Matrix5::zeros(), Vector5::zeros());
        (n[(3, 3)], n[(4, 4)]) = ((scatter / OBLIQUE).powi(2), (scatter / OBLIQUE).powi(2));
        for Line { unit, radius } in lines {
            let (x, y) = (unit.x, unit.y);
            let row = Vector5::new(1.0, x, y, y * y - x * x, -2.0 * x * y);
            let w = 1.0 / (1.0 + ((radius - row.dot(&p)) / scatter).powi(2)).powi(2);
            n += row * row.transpose() * w;
            v += row * (w * radius);
        }
        p = n.try_inverse()? * v;
    }
    (p.iter().all(|e| e.is_finite()) && (0.5..2.0).contains(&p[0]) && p[1].hypot(p[2]) < 0.5 && p[3].hypot(p[4]) < 0.3).then_some(p)
}

/// Width of the prior on the two numbers of an oblique view (a tilt of 30° makes 0.07).
const OBLIQUE: f64 = 0.07;

/// The bars of the ring about an arc, px of the view.
pub fn bars_along(luma: &Plane, arc: &Ring) -> Vec<Bar> {
    let ring = Polar::unwrap(luma, &arc.plane(), SCALE.min(arc.radius()));
    let ridge = ring.above_face(WINDOW);
    // two columns to a px at the radius 1; the seam is at the bottom, where a scale has its gap
    let width = ring.columns / 2;
    let level = |x: usize, y: usize| {
        let c = (2 * x + width) as i64;
        128.0 + 0.5 * (ridge.at(y, c) + ridge.at(y, c + 1))
    };
    let plane = Plane::from_fn(width, ring.rows, level);
    let px = arc.radius() * ring.dr;
    let photo = |b: Bar| -> Bar {
        let (s, c) = ring.angle(2.0 * b.centre.x + 0.5 + width as f64).to_radians().sin_cos();
        let (out, on) = (Vector2::new(s, -c), Vector2::new(c, s));
        let r = R_IN + b.centre.y * ring.dr;
        Bar {
            centre: arc.centre + arc.shape * out * r,
            along: (arc.shape * (out * b.along.y + on * (b.along.x * r))).normalize(),
            length: b.length * px,
            width: b.width * px,
            ..b
        }
    };
    let found = marks((width, ring.rows), &|[x, y, w, h]| plane.crop(x, y, w, h), Clear::ANYWHERE);
    found.bars.into_iter().map(photo).collect()
}
