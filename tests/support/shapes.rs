//! Analytic shapes in a plane (x right, y up) and a bucket grid that finds those near a point.

/// A colour, levels 0..255.
pub type Colour = [f64; 3];

/// A filled shape.
#[derive(Clone, Debug)]
pub enum Shape {
    /// A straight bar with square ends from `a` to `b`.
    Bar { a: (f64, f64), b: (f64, f64), half: f64 },
    /// A pen stroke with round ends.
    Pen { a: (f64, f64), b: (f64, f64), half: f64 },
    /// Part of a ring: degrees clockwise from up (`from < to`), radii.
    Arc { from: f64, to: f64, inner: f64, outer: f64 },
}

/// A shape with what does not depend on the point looked at.
#[derive(Clone, Debug)]
enum Outline {
    /// A start, a direction of unit length, a length, half a width, and whether the ends are round.
    Along { a: (f64, f64), unit: (f64, f64), length: f64, half: f64, round: bool },
    /// Degrees clockwise from up at which it begins and that it spans, radii squared.
    Ring { from: f64, span: f64, inner: f64, outer: f64 },
}

impl Outline {
    fn of(shape: &Shape) -> Self {
        match *shape {
            Shape::Bar { a, b, half } | Shape::Pen { a, b, half } => {
                let (dx, dy) = (b.0 - a.0, b.1 - a.1);
                let length = dx.hypot(dy);
                Outline::Along { a, unit: (dx / length, dy / length), length, half, round: matches!(shape, Shape::Pen { .. }) }
            }
            Shape::Arc { from, to, inner, outer } => Outline::Ring { from, span: to - from, inner: inner * inner, outer: outer * outer },
        }
    }
    /// Whether the point lies inside.
    fn holds(&self, x: f64, y: f64) -> bool {
        match *self {
            Outline::Along { a, unit: (ux, uy), length, half, round } => {
                let (px, py) = (x - a.0, y - a.1);
                let (s, t) = (px * ux + py * uy, px * uy - py * ux);
                let beyond = s - s.clamp(0.0, length);
                if round { beyond * beyond + t * t <= half * half } else { beyond == 0.0 && t.abs() <= half }
            }
            Outline::Ring { from, span, inner, outer } => {
                (inner..=outer).contains(&(x * x + y * y)) && (x.atan2(y).to_degrees() - from).rem_euclid(360.0) <= span
            }
        }
    }
}

impl Shape {
    /// Left, bottom, right, top.
    fn bounds(&self) -> [f64; 4] {
        match *self {
            Shape::Bar { a, b, half } | Shape::Pen { a, b, half } => {
                let h = 1.5 * half;
                [a.0.min(b.0) - h, a.1.min(b.1) - h, a.0.max(b.0) + h, a.1.max(b.1) + h]
            }
            Shape::Arc { outer, .. } => [-outer, -outer, outer, outer],
        }
    }
    /// Whether a square of the plane may hold a part of it.
    fn may_meet(&self, [left, bottom, right, top]: [f64; 4]) -> bool {
        let Shape::Arc { inner, outer, .. } = *self else { return true };
        let nearest = 0f64.clamp(left, right).hypot(0f64.clamp(bottom, top));
        let farthest = left.abs().max(right.abs()).hypot(bottom.abs().max(top.abs()));
        nearest <= outer && farthest >= inner
    }
}

/// Buckets along one side.
const SIDE: usize = 96;

/// Coloured shapes, later ones on top, in a square plane of `-reach..reach`.
#[derive(Clone, Debug)]
pub struct Sheet {
    ground: Colour,
    reach: f64,
    shapes: Vec<(Outline, Colour)>,
    buckets: Vec<Vec<u32>>,
}

impl Sheet {
    /// Sorts the shapes into buckets.
    pub fn new(ground: Colour, reach: f64, shapes: Vec<(Shape, Colour)>) -> Self {
        let mut buckets = vec![Vec::new(); SIDE * SIDE];
        let cell = |v: f64| (((v / reach + 1.0) * 0.5 * SIDE as f64).floor().max(0.0) as usize).min(SIDE - 1);
        let edge = |i: usize| (i as f64 / SIDE as f64 * 2.0 - 1.0) * reach;
        for (i, (shape, _)) in shapes.iter().enumerate() {
            let b = shape.bounds();
            for row in cell(b[1])..=cell(b[3]) {
                for column in cell(b[0])..=cell(b[2]) {
                    if shape.may_meet([edge(column), edge(row), edge(column + 1), edge(row + 1)]) {
                        buckets[row * SIDE + column].push(i as u32);
                    }
                }
            }
        }
        let shapes = shapes.iter().map(|(shape, colour)| (Outline::of(shape), *colour)).collect();
        Self { ground, reach, shapes, buckets }
    }
    /// Colour at a point.
    pub fn colour(&self, x: f64, y: f64) -> Colour {
        let cell = |v: f64| ((v / self.reach + 1.0) * 0.5 * SIDE as f64).floor();
        let (c, r) = (cell(x), cell(y));
        let side = 0.0..SIDE as f64;
        if !side.contains(&c) || !side.contains(&r) {
            return self.ground;
        }
        let near = &self.buckets[r as usize * SIDE + c as usize];
        near.iter().rev().map(|&i| &self.shapes[i as usize]).find(|(s, _)| s.holds(x, y)).map_or(self.ground, |(_, c)| *c)
    }
}
