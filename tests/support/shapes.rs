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

/// Along and across a segment, and its length.
fn along(a: (f64, f64), b: (f64, f64), p: (f64, f64)) -> (f64, f64, f64) {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let length = dx.hypot(dy);
    let (ux, uy) = (dx / length, dy / length);
    let (px, py) = (p.0 - a.0, p.1 - a.1);
    (px * ux + py * uy, px * uy - py * ux, length)
}

impl Shape {
    /// Whether the point lies inside.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        match *self {
            Shape::Bar { a, b, half } => {
                let (s, t, length) = along(a, b, (x, y));
                (0.0..=length).contains(&s) && t.abs() <= half
            }
            Shape::Pen { a, b, half } => {
                let (s, t, length) = along(a, b, (x, y));
                (s - s.clamp(0.0, length)).hypot(t) <= half
            }
            Shape::Arc { from, to, inner, outer } => {
                let r = x.hypot(y);
                (inner..=outer).contains(&r) && (x.atan2(y).to_degrees() - from).rem_euclid(360.0) <= to - from
            }
        }
    }
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
}

/// Buckets along one side.
const SIDE: usize = 96;

/// Coloured shapes, later ones on top, in a square plane of `-reach..reach`.
#[derive(Clone, Debug)]
pub struct Sheet {
    ground: Colour,
    reach: f64,
    shapes: Vec<(Shape, Colour)>,
    buckets: Vec<Vec<u32>>,
}

impl Sheet {
    /// Sorts the shapes into buckets.
    pub fn new(ground: Colour, reach: f64, shapes: Vec<(Shape, Colour)>) -> Self {
        let mut buckets = vec![Vec::new(); SIDE * SIDE];
        let cell = |v: f64| (((v / reach + 1.0) * 0.5 * SIDE as f64).floor().max(0.0) as usize).min(SIDE - 1);
        for (i, (shape, _)) in shapes.iter().enumerate() {
            let b = shape.bounds();
            for row in cell(b[1])..=cell(b[3]) {
                for column in cell(b[0])..=cell(b[2]) {
                    buckets[row * SIDE + column].push(i as u32);
                }
            }
        }
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
